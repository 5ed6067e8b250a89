//! Signs that hang on one note: ornaments, technique, articulation, fermatas.

use super::xml::Xml;
use recte_score::{Mark, MarkKind, Meaning};

/// The signs of one note, sorted as the standard groups them: elements with their attributes and text.
#[derive(Default)]
pub(super) struct Notations<'a> {
    ornaments: Vec<Sign<'a>>,
    technical: Vec<Sign<'a>>,
    articulations: Vec<Sign<'a>>,
    others: Vec<Sign<'a>>,
}

struct Sign<'a> {
    name: &'static str,
    attribute: Option<(&'static str, &'static str)>,
    text: Option<&'a str>,
}

impl<'a> Notations<'a> {
    /// Takes the decorations among the marks; whether a trill's line begins or ends is told by `lines`.
    pub(super) fn of(marks: &[&'a Mark], line_open: &mut bool) -> Notations<'a> {
        let mut all = Notations::default();
        for mark in marks.iter().filter(|mark| mark.kind == MarkKind::Decoration) {
            if let Some(meaning) = mark.meaning {
                all.take(meaning, &mark.text, line_open);
            }
        }
        all
    }

    fn take(&mut self, meaning: Meaning, text: &'a str, line_open: &mut bool) {
        let plain = |name| Sign { name, attribute: None, text: None };
        let with = |name, attribute| Sign { name, attribute: Some(attribute), text: None };
        let words = |name| Sign { name, attribute: None, text: Some(text) };
        match meaning {
            Meaning::Trill => self.ornaments.push(plain("trill-mark")),
            Meaning::TrillStart => {
                self.ornaments.push(plain("trill-mark"));
                if !std::mem::replace(line_open, true) {
                    self.ornaments.push(with("wavy-line", ("type", "start")));
                }
            }
            Meaning::TrillEnd => {
                let open = std::mem::take(line_open);
                let stop = || with("wavy-line", ("type", "stop"));
                self.ornaments.extend(open.then(stop));
            }
            Meaning::Mordent if matches!(text, "uppermordent" | "pralltriller") => {
                self.ornaments.push(plain("inverted-mordent"));
            }
            Meaning::Mordent => self.ornaments.push(plain("mordent")),
            Meaning::Turn => self.ornaments.push(match text {
                "turnx" => with("turn", ("slash", "yes")),
                "invertedturn" => plain("inverted-turn"),
                "invertedturnx" => with("inverted-turn", ("slash", "yes")),
                _ => plain("turn"),
            }),
            Meaning::Roll => self.ornaments.push(words("other-ornament")),
            Meaning::UpBow => self.technical.push(plain("up-bow")),
            Meaning::DownBow => self.technical.push(plain("down-bow")),
            Meaning::Finger(_) => self.technical.push(words("fingering")),
            Meaning::Plus => self.technical.push(plain("stopped")),
            Meaning::Snap => self.technical.push(plain("snap-pizzicato")),
            Meaning::Open => self.technical.push(plain("open-string")),
            Meaning::Thumb => self.technical.push(plain("thumb-position")),
            Meaning::Staccato => self.articulations.push(plain("staccato")),
            Meaning::Staccatissimo => self.articulations.push(plain("staccatissimo")),
            Meaning::Accent => self.articulations.push(plain("accent")),
            Meaning::Tenuto => self.articulations.push(plain("tenuto")),
            Meaning::Breath => self.articulations.push(plain("breath-mark")),
            Meaning::Phrase => self.articulations.push(words("other-articulation")),
            Meaning::Slide => self.articulations.push(plain("scoop")),
            Meaning::Fermata => self.others.push(with("fermata", ("type", fermata(text)))),
            Meaning::Arpeggio => self.others.push(plain("arpeggiate")),
            _ => {}
        }
    }

    pub(super) fn is_empty(&self) -> bool {
        let groups = [&self.ornaments, &self.technical, &self.articulations, &self.others];
        groups.into_iter().all(Vec::is_empty)
    }

    pub(super) fn write(&self, xml: &mut Xml) {
        for (name, signs) in [
            ("ornaments", &self.ornaments),
            ("technical", &self.technical),
            ("articulations", &self.articulations),
        ] {
            if !signs.is_empty() {
                xml.within(name, &[], |xml| signs.iter().for_each(|sign| sign.write(xml)));
            }
        }
        self.others.iter().for_each(|sign| sign.write(xml));
    }
}

impl Sign<'_> {
    fn write(&self, xml: &mut Xml) {
        let attributes: Vec<_> = self.attribute.into_iter().collect();
        match self.text {
            Some(text) => xml.text(self.name, &attributes, text),
            None => xml.empty(self.name, &attributes),
        }
    }
}

/// Which way a fermata stands.
pub(super) fn fermata(text: &str) -> &'static str {
    if text == "invertedfermata" { "inverted" } else { "upright" }
}
