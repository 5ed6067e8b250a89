//! One event as `note` elements.

use super::around::{SlurEnd, Sung};
use super::notations::Notations;
use super::xml::Xml;
use recte_score::signs::{Beams, Piece};
use recte_score::{Event, Note, Tuplet};
use recte_theory::Pitch;

/// What one event is written with.
pub(super) struct Written<'a> {
    pub(super) event: &'a Event,
    /// Its notes with the pitches they are written at; none of them for a rest.
    pub(super) notes: Vec<(&'a Note, Pitch)>,
    /// What it is drawn as, with the divisions each lasts: none for a grace note.
    pub(super) pieces: &'a [(Piece, i64)],
    pub(super) voice: usize,
    pub(super) beams: &'a Beams,
    /// The tuplet it is in, and whether it begins or ends it.
    pub(super) tuplet: Option<(Tuplet, bool, bool)>,
    pub(super) slurs: &'a [SlurEnd],
    pub(super) sung: &'a [Sung],
    pub(super) notations: Notations<'a>,
    /// Whether its notes stand on a percussion staff, at no definite pitch.
    pub(super) unpitched: bool,
    /// Whether it is not printed.
    pub(super) hidden: bool,
    /// Whether it is a rest of a whole bar.
    pub(super) whole_bar: bool,
}

/// Which of an event's pieces and notes is being written.
#[derive(Clone, Copy)]
struct At {
    first_piece: bool,
    last_piece: bool,
    first_note: bool,
}

impl Written<'_> {
    pub(super) fn write(&self, xml: &mut Xml) {
        let last = self.pieces.len().saturating_sub(1);
        for (number, (piece, ticks)) in self.pieces.iter().enumerate() {
            let mut at =
                At { first_piece: number == 0, last_piece: number == last, first_note: true };
            if self.notes.is_empty() {
                self.note(xml, None, piece, *ticks, at);
            }
            for note in &self.notes {
                self.note(xml, Some(*note), piece, *ticks, at);
                at.first_note = false;
            }
        }
    }

    fn note(
        &self,
        xml: &mut Xml,
        note: Option<(&Note, Pitch)>,
        piece: &Piece,
        duration: i64,
        at: At,
    ) {
        let attributes: &[(&str, &str)] = if self.hidden { &[("print-object", "no")] } else { &[] };
        xml.within("note", attributes, |xml| {
            let grace = self.event.grace;
            if grace {
                let slash: &[(&str, &str)] =
                    if self.event.slashed { &[("slash", "yes")] } else { &[] };
                xml.empty("grace", slash);
            }
            if !at.first_note {
                xml.empty("chord", &[]);
            }
            self.sound(xml, note);
            if !grace {
                xml.number("duration", duration);
            }
            let ties = note.map_or((false, false), |(note, _)| {
                (note.tied_in || !at.first_piece, note.tied_out || !at.last_piece)
            });
            if !grace {
                tie(xml, "tie", ties, false);
            }
            xml.number("voice", self.voice as i64);
            self.shape(xml, note, piece, at);
            let starts = self.notation(ties, at);
            if starts {
                let note = note.map(|(note, _)| note);
                xml.within("notations", &[], |xml| self.notations(xml, note, ties, at));
            }
            if at.first_note && at.first_piece {
                self.sung.iter().for_each(|sung| lyric(xml, sung));
            }
        });
    }

    fn sound(&self, xml: &mut Xml, note: Option<(&Note, Pitch)>) {
        let Some((_, pitch)) = note else {
            let whole: &[(&str, &str)] = if self.whole_bar { &[("measure", "yes")] } else { &[] };
            return xml.empty("rest", whole);
        };
        let letter = pitch.name.letter.to_char().to_string();
        if self.unpitched {
            return xml.within("unpitched", &[], |xml| {
                xml.text("display-step", &[], &letter);
                xml.number("display-octave", pitch.octave.into());
            });
        }
        xml.within("pitch", &[], |xml| {
            xml.text("step", &[], &letter);
            if pitch.name.alter != 0 {
                xml.number("alter", pitch.name.alter.into());
            }
            xml.number("octave", pitch.octave.into());
        });
    }

    /// Type, dots, accidental, ratio and beams.
    fn shape(&self, xml: &mut Xml, note: Option<(&Note, Pitch)>, piece: &Piece, at: At) {
        if let Some(sign) = piece.sign.filter(|_| !self.whole_bar) {
            xml.text("type", &[], sign.name());
            (0..sign.dots).for_each(|_| xml.empty("dot", &[]));
        }
        let typed = note.filter(|_| at.first_piece).and_then(|(note, _)| note.accidental);
        if let Some(accidental) = typed.and_then(accidental) {
            xml.text("accidental", &[], accidental);
        }
        if let Some((actual, normal)) = piece.ratio.filter(|_| piece.sign.is_some()) {
            xml.within("time-modification", &[], |xml| {
                xml.number("actual-notes", actual);
                xml.number("normal-notes", normal);
            });
        }
        if at.first_note && at.first_piece {
            for (level, part) in (1..=8usize).zip(self.beams) {
                xml.text("beam", &[("number", &level.to_string())], part.words());
            }
        }
    }

    /// Whether anything hangs on the note.
    fn notation(&self, ties: (bool, bool), at: At) -> bool {
        let tied = !self.event.grace && (ties.0 || ties.1);
        let first = at.first_piece && at.first_note;
        let tuplet = self.tuplet.is_some_and(|(_, starts, stops)| {
            at.first_note && (starts && at.first_piece || stops && at.last_piece)
        });
        let slur = self.slurs.iter().any(|slur| slur_here(slur, at));
        tied || tuplet || slur || first && !self.notations.is_empty()
    }

    fn notations(&self, xml: &mut Xml, note: Option<&Note>, ties: (bool, bool), at: At) {
        if !self.event.grace {
            let dotted = note.is_some_and(|note| note.tie_dotted && at.last_piece);
            tie(xml, "tied", ties, dotted);
        }
        for slur in self.slurs.iter().filter(|slur| slur_here(slur, at)) {
            let number = slur.number.to_string();
            let mut attributes = vec![
                ("type", if slur.start { "start" } else { "stop" }),
                ("number", number.as_str()),
            ];
            if slur.dotted && slur.start {
                attributes.push(("line-type", "dotted"));
            }
            xml.empty("slur", &attributes);
        }
        if let Some((tuplet, starts, stops)) = self.tuplet.filter(|_| at.first_note) {
            if starts && at.first_piece {
                tuplet_begins(xml, tuplet);
            }
            if stops && at.last_piece {
                xml.empty("tuplet", &[("type", "stop"), ("number", "1")]);
            }
        }
        if at.first_piece && at.first_note {
            self.notations.write(xml);
        }
    }
}

/// What the sign asks for, whatever lengths its notes have.
fn tuplet_begins(xml: &mut Xml, tuplet: Tuplet) {
    xml.within("tuplet", &[("type", "start"), ("number", "1")], |xml| {
        xml.within("tuplet-actual", &[], |xml| {
            xml.number("tuplet-number", tuplet.actual.into());
        });
        xml.within("tuplet-normal", &[], |xml| {
            xml.number("tuplet-number", tuplet.normal.into());
        });
    });
}

fn slur_here(slur: &SlurEnd, at: At) -> bool {
    at.first_note && if slur.start { at.first_piece } else { at.last_piece }
}

fn tie(xml: &mut Xml, name: &str, (stops, starts): (bool, bool), dotted: bool) {
    if stops {
        xml.empty(name, &[("type", "stop")]);
    }
    match (starts, dotted) {
        (true, true) => xml.empty(name, &[("type", "start"), ("line-type", "dotted")]),
        (true, false) => xml.empty(name, &[("type", "start")]),
        (false, _) => {}
    }
}

fn accidental(alter: i8) -> Option<&'static str> {
    Some(match alter {
        -2 => "flat-flat",
        -1 => "flat",
        0 => "natural",
        1 => "sharp",
        2 => "double-sharp",
        _ => return None,
    })
}

fn lyric(xml: &mut Xml, sung: &Sung) {
    xml.within("lyric", &[("number", &(sung.verse + 1).to_string())], |xml| {
        if let Some(text) = &sung.text {
            xml.text("syllabic", &[], sung.syllabic);
            xml.text("text", &[], text);
        }
        if let Some(kind) = sung.extend {
            xml.empty("extend", &[("type", kind)]);
        }
    });
}
