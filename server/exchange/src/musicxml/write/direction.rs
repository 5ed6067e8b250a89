//! Directions: dynamics, hairpins, words, tempi, rehearsal marks, returns.

use super::xml::Xml;
use recte_score::{Dynamic, Mark, MarkKind, Meaning, SectionMark, Tempo};
use recte_theory::Time;

/// Where directions of one voice go, and what is open in it.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Spot {
    /// The voice's number in its part.
    pub(super) number: usize,
    /// Whether a hairpin is open.
    pub(super) wedge: bool,
}

impl Spot {
    /// Writes what a mark directs; `false` if it is no direction.
    pub(super) fn mark(&mut self, xml: &mut Xml, mark: &Mark) -> bool {
        match mark.kind {
            MarkKind::Decoration => mark.meaning.is_some_and(|what| self.sign(xml, what)),
            MarkKind::Annotation => {
                let (place, text) = split_place(&mark.text);
                self.words(xml, place, text, mark.meaning);
                true
            }
            MarkKind::ChordSymbol => {
                self.words(xml, Some("above"), &mark.text, mark.meaning);
                true
            }
        }
    }

    fn sign(&mut self, xml: &mut Xml, meaning: Meaning) -> bool {
        match meaning {
            Meaning::Dynamic(level) => self.dynamics(xml, dynamic_name(level)),
            Meaning::Sforzato => self.dynamics(xml, "sfz"),
            Meaning::CrescendoStart => self.wedge(xml, "crescendo"),
            Meaning::DiminuendoStart => self.wedge(xml, "diminuendo"),
            Meaning::CrescendoEnd | Meaning::DiminuendoEnd => self.close(xml),
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
        xml.within("direction", &place, |xml| {
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

    fn wedge(&mut self, xml: &mut Xml, kind: &str) {
        self.close(xml);
        self.wedge = true;
        self.wedge_sign(xml, kind);
    }

    /// Ends the hairpin that is open, if one is.
    pub(super) fn close(&mut self, xml: &mut Xml) {
        if std::mem::take(&mut self.wedge) {
            self.wedge_sign(xml, "stop");
        }
    }

    fn wedge_sign(&self, xml: &mut Xml, kind: &str) {
        let number = self.number.min(16).to_string();
        let inside = |xml: &mut Xml| xml.empty("wedge", &[("type", kind), ("number", &number)]);
        self.direction(xml, Some("below"), inside, None);
    }

    fn jump(&self, xml: &mut Xml, what: impl FnOnce(&mut Xml), sound: (&str, &str)) {
        self.direction(xml, Some("above"), what, Some(sound));
    }

    fn jump_words(&self, xml: &mut Xml, words: &str, sound: (&str, &str)) {
        self.jump(xml, |xml| xml.text("words", &[], words), sound);
    }

    fn words(&self, xml: &mut Xml, place: Option<&str>, text: &str, meaning: Option<Meaning>) {
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
        self.direction(xml, place, |xml| xml.text("words", &[], text.trim()), sound);
    }
}

/// `^above`, `_below`, and the places that the standard of the page has no name for.
fn split_place(text: &str) -> (Option<&'static str>, &str) {
    let place = match text.chars().next() {
        Some('^') => Some("above"),
        Some('_') => Some("below"),
        Some('<' | '>' | '@') => None,
        _ => return (None, text),
    };
    (place, &text[1..])
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

/// The name of a part in a box, or a section's title.
pub(super) fn section(xml: &mut Xml, section: &SectionMark) {
    let name = if section.part { "rehearsal" } else { "words" };
    xml.within("direction", &[("placement", "above")], |xml| {
        xml.within("direction-type", &[], |xml| xml.text(name, &[], &section.label));
    });
}

/// A tempo, `offset` divisions from the place where it is written.
pub(super) fn tempo(xml: &mut Xml, tempo: &Tempo, offset: i64) {
    let numbers = tempo.per_minute.filter(|_| !tempo.beats.is_empty());
    if numbers.is_none() && tempo.text.is_none() {
        return;
    }
    xml.within("direction", &[("placement", "above")], |xml| {
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
        for beat in beats.iter().flat_map(|beat| super::length::pieces(*beat, None, Time::ZERO)) {
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
