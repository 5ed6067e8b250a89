//! Directions: dynamics, hairpins, words, tempi, rehearsal marks, returns.

use super::xml::{Attributes, Xml};
use recte_score::{Dynamic, Mark, MarkKind, Meaning, SectionMark, Tempo};
use recte_theory::Time;
use std::ops::Range;

/// Where directions of one voice go, and what is open in it.
#[derive(Clone, Debug, Default)]
pub(super) struct Spot {
    /// The voice's number in its part.
    pub(super) number: usize,
    /// The numbers its hairpins may have, so that none has another voice's.
    pub(super) numbers: Range<usize>,
    /// The hairpins that are open: what each is, and its number.
    pub(super) wedges: Vec<(Meaning, usize)>,
    /// Hairpins that end before they begin, or are too many.
    pub(super) unpaired: bool,
}

impl Spot {
    /// Writes what a mark directs; `false` if it is no direction.
    pub(super) fn mark(&mut self, xml: &mut Xml, mark: &Mark) -> bool {
        match mark.kind {
            MarkKind::Decoration => mark.meaning.is_some_and(|what| self.sign(xml, what)),
            MarkKind::Annotation => {
                self.words(xml, &Place::of(&mark.text), mark.meaning);
                true
            }
            MarkKind::ChordSymbol => {
                let place = Place { side: Some("above"), align: &[], text: &mark.text };
                self.words(xml, &place, mark.meaning);
                true
            }
        }
    }

    fn sign(&mut self, xml: &mut Xml, meaning: Meaning) -> bool {
        match meaning {
            Meaning::Dynamic(level) => self.dynamics(xml, dynamic_name(level)),
            Meaning::Sforzato => self.dynamics(xml, "sfz"),
            Meaning::CrescendoStart => self.wedge(xml, meaning, "crescendo"),
            Meaning::DiminuendoStart => self.wedge(xml, meaning, "diminuendo"),
            Meaning::CrescendoEnd => self.close(xml, Meaning::CrescendoStart),
            Meaning::DiminuendoEnd => self.close(xml, Meaning::DiminuendoStart),
            Meaning::Segno => self.jump(xml, |xml| xml.empty("segno", &[]), ("segno", "segno")),
            Meaning::Coda => self.jump(xml, |xml| xml.empty("coda", &[]), ("coda", "coda")),
            Meaning::DalSegno => self.jump_words(xml, "D.S.", ("dalsegno", "segno")),
            Meaning::DaCapo => self.jump_words(xml, "D.C.", ("dacapo", "yes")),
            Meaning::ToCoda => self.jump_words(xml, "To Coda", ("tocoda", "coda")),
            Meaning::Fine => self.jump_words(xml, "Fine", ("fine", "yes")),
            _ => return false,
        }
        true
    }

    fn direction(
        &self,
        xml: &mut Xml,
        place: Option<&str>,
        what: impl FnOnce(&mut Xml),
        sound: Option<(&str, &str)>,
    ) {
        let place: Vec<_> = place.map(|place| ("placement", place)).into_iter().collect();
        self.with(xml, &place, what, sound);
    }

    fn with(
        &self,
        xml: &mut Xml,
        attributes: Attributes<'_>,
        what: impl FnOnce(&mut Xml),
        sound: Option<(&str, &str)>,
    ) {
        xml.within("direction", attributes, |xml| {
            xml.within("direction-type", &[], what);
            xml.number("voice", self.number as i64);
            if let Some(sound) = sound {
                xml.empty("sound", &[sound]);
            }
        });
    }

    fn dynamics(&self, xml: &mut Xml, name: &str) {
        let inside = |xml: &mut Xml| xml.within("dynamics", &[], |xml| xml.empty(name, &[]));
        self.direction(xml, Some("below"), inside, None);
    }

    fn wedge(&mut self, xml: &mut Xml, what: Meaning, kind: &str) {
        let free = |number: &usize| self.wedges.iter().all(|(_, taken)| taken != number);
        let Some(number) = self.numbers.clone().find(free) else {
            self.unpaired = true;
            return;
        };
        self.wedges.push((what, number));
        self.wedge_sign(xml, kind, number);
    }

    /// Ends the innermost hairpin of its kind.
    fn close(&mut self, xml: &mut Xml, what: Meaning) {
        match self.wedges.iter().rposition(|(open, _)| *open == what) {
            Some(place) => {
                let (_, number) = self.wedges.remove(place);
                self.wedge_sign(xml, "stop", number);
            }
            None => self.unpaired = true,
        }
    }

    /// Ends what is still open.
    pub(super) fn close_all(&mut self, xml: &mut Xml) {
        for (_, number) in std::mem::take(&mut self.wedges) {
            self.unpaired = true;
            self.wedge_sign(xml, "stop", number);
        }
    }

    fn wedge_sign(&self, xml: &mut Xml, kind: &str, number: usize) {
        let number = number.to_string();
        let inside = |xml: &mut Xml| xml.empty("wedge", &[("type", kind), ("number", &number)]);
        self.direction(xml, Some("below"), inside, None);
    }

    fn jump(&self, xml: &mut Xml, what: impl FnOnce(&mut Xml), sound: (&str, &str)) {
        self.direction(xml, Some("above"), what, Some(sound));
    }

    fn jump_words(&self, xml: &mut Xml, words: &str, sound: (&str, &str)) {
        self.jump(xml, |xml| xml.text("words", &[], words), sound);
    }

    fn words(&self, xml: &mut Xml, place: &Place<'_>, meaning: Option<Meaning>) {
        let text = place.text.trim();
        if text.is_empty() {
            return;
        }
        let sound = match meaning {
            Some(Meaning::DaCapo) => Some(("dacapo", "yes")),
            Some(Meaning::DalSegno) => Some(("dalsegno", "segno")),
            Some(Meaning::ToCoda) => Some(("tocoda", "coda")),
            Some(Meaning::Coda) => Some(("coda", "coda")),
            Some(Meaning::Segno) => Some(("segno", "segno")),
            Some(Meaning::Fine) => Some(("fine", "yes")),
            Some(Meaning::Pizzicato) => Some(("pizzicato", "yes")),
            Some(Meaning::Arco) => Some(("pizzicato", "no")),
            _ => None,
        };
        // It belongs to its own part, whatever it says: it is no tempo.
        let mut attributes: Vec<_> =
            place.side.map(|side| ("placement", side)).into_iter().collect();
        attributes.push(("system", "none"));
        self.with(xml, &attributes, |xml| xml.text("words", place.align, text), sound);
    }
}

/// A text, and where it goes.
struct Place<'a> {
    side: Option<&'static str>,
    align: Attributes<'static>,
    text: &'a str,
}

impl Place<'_> {
    /// `^above`, `_below`, `<before` its note, `>after` it; `@` leaves the place open.
    fn of(typed: &str) -> Place<'_> {
        let (side, align): (_, Attributes<'static>) = match typed.chars().next() {
            Some('^') => (Some("above"), &[]),
            Some('_') => (Some("below"), &[]),
            Some('<') => (None, &[("halign", "right"), ("valign", "middle")]),
            Some('>') => (None, &[("halign", "left"), ("valign", "middle")]),
            Some('@') => (None, &[]),
            _ => return Place { side: None, align: &[], text: typed },
        };
        Place { side, align, text: &typed[1..] }
    }
}

fn dynamic_name(level: Dynamic) -> &'static str {
    match level {
        Dynamic::Pppp => "pppp",
        Dynamic::Ppp => "ppp",
        Dynamic::Pp => "pp",
        Dynamic::P => "p",
        Dynamic::Mp => "mp",
        Dynamic::Mf => "mf",
        Dynamic::F => "f",
        Dynamic::Ff => "ff",
        Dynamic::Fff => "fff",
        Dynamic::Ffff => "ffff",
    }
}

/// What stands over the whole score and not only over its part.
const OVER_ALL: [(&str, &str); 2] = [("placement", "above"), ("system", "only-top")];

/// The name of a part in a box, or a section's title.
pub(super) fn section(xml: &mut Xml, section: &SectionMark) {
    let plain: Attributes<'_> = if section.part { &[] } else { &[("enclosure", "none")] };
    xml.within("direction", &OVER_ALL, |xml| {
        xml.within("direction-type", &[], |xml| xml.text("rehearsal", plain, &section.label));
    });
}

/// A tempo, `offset` divisions from the place where it is written.
pub(super) fn tempo(xml: &mut Xml, tempo: &Tempo, offset: i64) {
    let numbers = tempo.per_minute.filter(|_| !tempo.beats.is_empty());
    if numbers.is_none() && tempo.text.is_none() {
        return;
    }
    xml.within("direction", &OVER_ALL, |xml| {
        if let Some(text) = &tempo.text {
            xml.within("direction-type", &[], |xml| xml.text("words", &[], text));
        }
        if let Some(number) = numbers {
            xml.within("direction-type", &[], |xml| metronome(xml, &tempo.beats, number));
        }
        if offset != 0 {
            xml.number("offset", offset);
        }
        if let Some(whole) = tempo.whole_notes_per_minute() {
            let quarters = decimal(whole * Time::new(4, 1));
            xml.empty("sound", &[("tempo", &quarters)]);
        }
    });
}

/// Quarter notes a minute, three places after the point.
fn decimal(time: Time) -> String {
    let thousandths = i128::from(time.numerator()) * 1000 / i128::from(time.denominator());
    let text = format!("{}.{:03}", thousandths / 1000, thousandths % 1000);
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

/// Beats that no single note shows are written as notes tied together.
fn metronome(xml: &mut Xml, beats: &[Time], number: u32) {
    xml.within("metronome", &[], |xml| {
        let mut first = true;
        for beat in
            beats.iter().flat_map(|beat| recte_score::signs::pieces(*beat, None, Time::ZERO))
        {
            let Some(sign) = beat.sign else { continue };
            let unit = |xml: &mut Xml| {
                xml.text("beat-unit", &[], sign.name());
                (0..sign.dots).for_each(|_| xml.empty("beat-unit-dot", &[]));
            };
            match std::mem::take(&mut first) {
                true => unit(xml),
                false => xml.within("beat-unit-tied", &[], unit),
            }
        }
        if first {
            xml.text("beat-unit", &[], "quarter");
        }
        xml.text("per-minute", &[], &number.to_string());
    });
}
