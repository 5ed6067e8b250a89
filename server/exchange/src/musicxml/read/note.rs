//! Notes, chords, rests and grace notes.

use super::measure::PartReader;
use super::notations::is_dotted;
use super::tree::Element;
use crate::sheet::{Beam, Event, Kind, Lyric, Note};
use recte_theory::{Letter, Pitch, Time};

const SOFT_HYPHEN: char = '\u{ad}';

/// What a `<note>` holds, as far as it is read in one go.
#[derive(Default)]
struct Parts<'t, 'a> {
    chord: bool,
    cue: bool,
    tied: bool,
    dotted: bool,
    courtesy: bool,
    grace: Option<Element<'t, 'a>>,
    pitch: Option<Pitch>,
    rest: Option<Element<'t, 'a>>,
    voice: &'t str,
    sign: &'t str,
    dots: u32,
    ratio: Option<(u32, u32)>,
    beam: Option<&'t str>,
    second_beam: Option<&'t str>,
    notations: Vec<Element<'t, 'a>>,
    lyrics: Vec<Element<'t, 'a>>,
}

impl Parts<'_, '_> {
    fn note(&self, pitch: Pitch) -> Note {
        Note { pitch, tied: self.tied, dotted: self.dotted, courtesy: self.courtesy }
    }
}

impl PartReader {
    pub(super) fn note(&mut self, element: Element<'_, '_>) -> Result<(), String> {
        let parts = self.parts(element)?;
        if parts.chord && parts.rest.is_none() {
            if let Some(last) = self.last {
                self.join_chord(last, &parts);
                return Ok(());
            }
            self.notice("a chord note follows no note; it stands alone");
        }
        let grace = parts.grace.is_some();
        let sign = sign_length(parts.sign, parts.dots);
        let typed = self.duration(element)?;
        let (duration, ratio) = if grace {
            (Time::ZERO, (1, 1))
        } else {
            let whole_measure = parts.rest.is_some_and(|rest| rest.attribute_is("measure", "yes"));
            self.length(&parts, typed, sign.filter(|_| !whole_measure))?
        };
        let kind = match (parts.grace, parts.rest) {
            (_, Some(rest)) => Kind::Rest {
                hidden: element.attribute_is("print-object", "no"),
                whole_measure: rest.attribute_is("measure", "yes"),
            },
            (Some(grace), None) => Kind::Grace {
                slashed: grace.attribute_is("slash", "yes"),
                sign: sign.unwrap_or(Time::new(1, 8)),
            },
            _ => Kind::Notes,
        };
        self.strange(element, &parts);
        let beam = self.beam(&parts);
        let mut event = Event {
            voice: self.voice(parts.voice),
            staff: self.staff(element),
            onset: self.position,
            duration,
            ratio,
            tuplet_starts: false,
            tuplet_ends: false,
            kind,
            notes: Vec::new(),
            beam,
            marks: Vec::new(),
            lyrics: Vec::new(),
            slurs: Vec::new(),
        };
        self.part.staves = self.part.staves.max(event.staff);
        if let Some(pitch) = parts.pitch {
            event.notes.push(parts.note(pitch));
        } else if parts.rest.is_none() {
            return Err("a note has no pitch".to_owned());
        }
        for notations in &parts.notations {
            self.notations(*notations, &mut event);
        }
        self.lyrics(&parts, &mut event);
        if parts.rest.is_none() && element.attribute_is("print-object", "no") {
            self.unprinted.push(self.now.events.len());
        }
        self.push(event);
        if !grace {
            self.advance(duration)?;
        }
        Ok(())
    }

    fn parts<'t, 'a>(&mut self, element: Element<'t, 'a>) -> Result<Parts<'t, 'a>, String> {
        let mut parts = Parts::default();
        for child in element.children() {
            match child.name() {
                "chord" => parts.chord = true,
                "cue" => parts.cue = true,
                "grace" => parts.grace = Some(child),
                "pitch" => parts.pitch = Some(self.pitch(child)?),
                "unpitched" => parts.pitch = Some(unpitched(child)),
                "rest" => parts.rest = Some(child),
                "tie" => parts.tied |= child.attribute_is("type", "start"),
                "voice" => parts.voice = child.text(),
                "type" => parts.sign = child.text(),
                "dot" => parts.dots += 1,
                "accidental" => {
                    parts.courtesy = child.attribute_is("cautionary", "yes")
                        || child.attribute_is("parentheses", "yes");
                }
                "time-modification" => {
                    let bounds = 1..=128;
                    let number = |name| child.number(name).filter(|n| bounds.contains(n));
                    parts.ratio = number("actual-notes").zip(number("normal-notes"));
                }
                "beam" => match child.attribute("number").as_deref() {
                    None | Some("1") => parts.beam = Some(child.text()),
                    Some("2") => parts.second_beam = Some(child.text()),
                    _ => {}
                },
                "notations" => {
                    let starts = |tied: Element<'_, '_>| tied.attribute_is("type", "start");
                    parts.tied |= child.all("tied").any(starts);
                    let dotted = |tied: Element<'_, '_>| starts(tied) && is_dotted(tied);
                    parts.dotted |= child.all("tied").any(dotted);
                    parts.notations.push(child);
                }
                "lyric" => parts.lyrics.push(child),
                _ => {}
            }
        }
        Ok(parts)
    }

    fn pitch(&mut self, element: Element<'_, '_>) -> Result<Pitch, String> {
        let step = element.text_of("step");
        let mut chars = step.chars();
        let letter = chars.next().and_then(Letter::from_char).filter(|_| chars.as_str().is_empty());
        let letter = letter.ok_or_else(|| format!("“{step}” is no step of the scale, A to G"))?;
        let octave = element.text_of("octave");
        let number = octave.parse::<i8>().ok().filter(|octave| (-2..=12).contains(octave));
        let octave = number.ok_or_else(|| format!("“{octave}” is no octave, 0 to 9"))?;
        let alter = self.alter(element.text_of("alter"));
        let pitch = Pitch::new(letter, alter, octave);
        if alter.abs() <= 2 {
            return Ok(pitch);
        }
        self.notice("a triple accidental is written by another name for the same sound");
        Ok(pitch.transposed(alter.signum().into(), 0))
    }

    /// How long an event lasts, and in whose time. What the file counts goes before what the sign says, but for
    /// a count that had to be rounded.
    fn length(
        &mut self,
        parts: &Parts<'_, '_>,
        counted: Option<Time>,
        sign: Option<Time>,
    ) -> Result<(Time, (u32, u32)), String> {
        let ratio = parts.ratio.unwrap_or((1, 1));
        let signed = sign.map(|sign| sign * Time::new(ratio.1.into(), ratio.0.into()));
        let duration = match (counted, signed) {
            (Some(counted), None) => counted,
            (Some(counted), Some(signed)) if counted == signed => counted,
            (Some(counted), Some(signed)) => {
                let unit = self.time(Time::WHOLE)?;
                let away = if counted > signed { counted - signed } else { signed - counted };
                if away < unit && parts.ratio.is_some() {
                    signed
                } else {
                    self.notice(
                        "a note or rest lasts another time than its sign says; its time is kept",
                    );
                    counted
                }
            }
            (None, Some(signed)) => {
                self.notice("a note has no duration; its sign is taken for it");
                signed
            }
            (None, None) => return Err("a note has neither a duration nor a type".to_owned()),
        };
        let written = duration * Time::new(ratio.0.into(), ratio.1.into());
        if written.denominator().count_ones() == 1 {
            return Ok((duration, ratio));
        }
        Ok((duration, natural_ratio(duration)))
    }

    fn join_chord(&mut self, last: usize, parts: &Parts<'_, '_>) {
        let Some(event) = self.now.events.get_mut(last) else { return };
        if let Some(pitch) = parts.pitch {
            event.notes.push(parts.note(pitch));
        }
        if parts.notations.is_empty() {
            return;
        }
        // Taken out while its marks are read, for these may add notices.
        let mut event = self.now.events.remove(last);
        for element in &parts.notations {
            self.notations(*element, &mut event);
        }
        self.now.events.insert(last, event);
    }

    fn beam(&mut self, parts: &Parts<'_, '_>) -> Beam {
        let beam = match parts.beam {
            Some("begin") => Beam::Begins,
            Some("continue" | "end") => Beam::GoesOn,
            _ => Beam::None,
        };
        self.part.beamed |= parts.beam.is_some() && parts.grace.is_none();
        if beam == Beam::GoesOn && self.second_beam_ended && parts.second_beam == Some("begin") {
            self.notice("second beams that break inside a beam are joined");
        }
        if parts.grace.is_none() {
            self.second_beam_ended = parts.second_beam == Some("end");
        }
        beam
    }

    /// What has no sign in text.
    fn strange(&mut self, element: Element<'_, '_>, parts: &Parts<'_, '_>) {
        if parts.cue {
            self.notice("cue notes are written like others");
        }
        if let Some(head) = element.child("notehead").map(|head| head.text())
            && !matches!(head, "normal" | "")
        {
            self.notice(format!("note heads of another shape ({head}) are written like others"));
        }
    }

    fn lyrics(&mut self, parts: &Parts<'_, '_>, event: &mut Event) {
        for element in &parts.lyrics {
            let mut lyric = Lyric {
                verse: element.attribute("number").unwrap_or("1".into()).into_owned(),
                text: String::new(),
                joined: false,
                extended: false,
            };
            for child in element.children() {
                match child.name() {
                    "text" => lyric.text.push_str(child.full_text()),
                    "elision" => {
                        let sign = child.full_text();
                        // These stand for the little arc that has no place here but a space.
                        let arc = matches!(sign.trim(), "" | "~" | "_");
                        lyric.text.push_str(if arc { " " } else { sign });
                    }
                    "syllabic" => lyric.joined = matches!(child.text(), "begin" | "middle"),
                    "extend" => lyric.extended = true,
                    "humming" | "laughing" => self.notice("humming and laughing are left out"),
                    _ => {}
                }
            }
            lyric.text = lyric.text.split_whitespace().collect::<Vec<_>>().join(" ");
            // Some type the hyphen into the text; a soft one is seen only where a word breaks.
            let begun = lyric.text.trim_end_matches([SOFT_HYPHEN, '-', ' ']).len();
            if 0 < begun && begun < lyric.text.len() {
                lyric.text.truncate(begun);
                lyric.joined = true;
            }
            lyric.text.retain(|c| c != SOFT_HYPHEN);
            if matches!(event.kind, Kind::Rest { .. } | Kind::Grace { .. }) {
                if !lyric.text.is_empty() {
                    self.notice(format!("“{}” stands under no note and is left out", lyric.text));
                }
                continue;
            }
            event.lyrics.push(lyric);
        }
    }
}

/// Where it stands on the staff; in the middle if nothing is said.
fn unpitched(element: Element<'_, '_>) -> Pitch {
    let letter = element.text_of("display-step").chars().next().and_then(Letter::from_char);
    let octave = element.number("display-octave").filter(|octave| (0..=9).contains(octave));
    match letter.zip(octave) {
        Some((letter, octave)) => Pitch::new(letter, 0, octave),
        None => Pitch::new(Letter::B, 0, 4),
    }
}

/// The length of a note by its name and dots.
pub(super) fn sign_length(name: &str, dots: u32) -> Option<Time> {
    let plain = match name {
        "maxima" => Time::new(8, 1),
        "long" => Time::new(4, 1),
        "breve" => Time::new(2, 1),
        "whole" => Time::WHOLE,
        "half" => Time::new(1, 2),
        "quarter" => Time::new(1, 4),
        "eighth" => Time::new(1, 8),
        "16th" => Time::new(1, 16),
        "32nd" => Time::new(1, 32),
        "64th" => Time::new(1, 64),
        "128th" => Time::new(1, 128),
        "256th" => Time::new(1, 256),
        "512th" => Time::new(1, 512),
        "1024th" => Time::new(1, 1024),
        _ => return None,
    };
    let power = 1_i64 << dots.min(8);
    Some(plain * Time::new(2 * power - 1, power))
}

/// In whose time a length lies that no plain sign has: a third of a quarter is one of three in the time of two.
pub(crate) fn natural_ratio(duration: Time) -> (u32, u32) {
    let bottom = duration.denominator();
    let odd = bottom >> bottom.trailing_zeros();
    match u32::try_from(odd) {
        Ok(odd @ 3..=128) => (odd, 1 << (31 - odd.leading_zeros())),
        _ => (1, 1),
    }
}
