//! What stands at a note: ties, slurs, tuplets, ornaments, fingerings, articulations.

use super::measure::PartReader;
use super::tree::Element;
use crate::sheet::{Event, Mark, SlurEnd};

/// Signs that end a phrase (abc standard v2.1, 4.14).
const PHRASES: [&str; 3] = ["shortphrase", "mediumphrase", "longphrase"];

impl PartReader {
    pub(super) fn notations(&mut self, element: Element<'_, '_>, event: &mut Event) {
        for child in element.children() {
            match child.name() {
                "tied" if child.attribute_is("type", "let-ring") => {
                    self.notice("ties that let a note ring are left out");
                }
                "slur" => slur(child, event),
                "tuplet" => {
                    event.tuplet_starts |= child.attribute_is("type", "start");
                    event.tuplet_ends |= child.attribute_is("type", "stop");
                }
                "articulations" => self.each(child, event, PartReader::articulation),
                "ornaments" => self.each(child, event, PartReader::ornament),
                "technical" => self.each(child, event, PartReader::technical),
                "dynamics" => child.children().for_each(|level| {
                    let mark = dynamic(level.name(), level.text());
                    event.marks.push(mark);
                }),
                "fermata" => {
                    let upside_down = child.attribute_is("type", "inverted");
                    let name = if upside_down { "invertedfermata" } else { "fermata" };
                    add(event, name);
                }
                "arpeggiate" => add(event, "arpeggio"),
                "non-arpeggiate" => self.notice("brackets against breaking a chord are left out"),
                "glissando" | "slide" if child.attribute_is("type", "start") => {
                    let text = Some(child.text()).filter(|text| !text.is_empty());
                    event.marks.push(Mark::Text('^', text.unwrap_or("gliss.").to_owned()));
                    self.notice("lines of glissandi and slides are written as a word");
                }
                "accidental-mark" => self.notice("accidentals above notes are left out"),
                "other-notation" => self.notice("signs of the source's own are left out"),
                _ => {}
            }
        }
    }

    fn each(
        &mut self,
        element: Element<'_, '_>,
        event: &mut Event,
        take: fn(&mut PartReader, Element<'_, '_>, &mut Event),
    ) {
        element.children().for_each(|child| take(self, child, event));
    }

    fn articulation(&mut self, element: Element<'_, '_>, event: &mut Event) {
        match element.name() {
            "staccato" => add(event, "."),
            "accent" => add(event, ">"),
            "tenuto" => add(event, "tenuto"),
            "detached-legato" => {
                add(event, ".");
                add(event, "tenuto");
            }
            "staccatissimo" => add(event, "wedge"),
            "breath-mark" => add(event, "breath"),
            "scoop" => add(event, "slide"),
            "strong-accent" => self.instead(event, ">", "strong accents", "accents"),
            "soft-accent" => self.instead(event, ">", "soft accents", "accents"),
            "spiccato" => self.instead(event, "wedge", "spiccato signs", "wedges"),
            "stress" => self.instead(event, "tenuto", "stress signs", "tenuto signs"),
            "other-articulation" => match PHRASES.iter().find(|name| **name == element.text()) {
                Some(name) => add(event, name),
                None => self.left_out("other-articulation"),
            },
            "caesura" => self.instead(event, "longphrase", "caesuras", "ends of a phrase"),
            name => self.left_out(name),
        }
    }

    fn ornament(&mut self, element: Element<'_, '_>, event: &mut Event) {
        match element.name() {
            "trill-mark" => add(event, "trill"),
            "turn" if element.attribute_is("slash", "yes") => add(event, "turnx"),
            "turn" => add(event, "turn"),
            "inverted-turn" if element.attribute_is("slash", "yes") => add(event, "invertedturnx"),
            "inverted-turn" => add(event, "invertedturn"),
            "other-ornament" if matches!(element.text(), "roll" | "~") => add(event, "~"),
            "delayed-turn" => self.instead(event, "turn", "turns after the note", "turns"),
            "delayed-inverted-turn" => {
                self.instead(event, "invertedturn", "turns after the note", "turns");
            }
            "vertical-turn" | "inverted-vertical-turn" => {
                self.instead(event, "turn", "upright turns", "turns");
            }
            "mordent" => add(event, "lowermordent"),
            "inverted-mordent" => add(event, "uppermordent"),
            "shake" => self.instead(event, "pralltriller", "shakes", "short trills"),
            "schleifer" => add(event, "slide"),
            "wavy-line" => match element.attribute("type").as_deref() {
                Some("start") => {
                    // The sign that begins the line is the trill's own.
                    event.marks.retain(|mark| *mark != Mark::Decoration("trill"));
                    add(event, "trill(");
                }
                Some("stop") => add(event, "trill)"),
                _ => {}
            },
            "tremolo" => self.notice("tremolo strokes are left out"),
            "accidental-mark" => self.notice("accidentals at ornaments are left out"),
            name => self.left_out(name),
        }
    }

    fn technical(&mut self, element: Element<'_, '_>, event: &mut Event) {
        match element.name() {
            "up-bow" => add(event, "upbow"),
            "down-bow" => add(event, "downbow"),
            "open-string" | "open" => add(event, "open"),
            "harmonic" => add(event, "open"),
            "thumb-position" => add(event, "thumb"),
            "snap-pizzicato" => add(event, "snap"),
            "stopped" => add(event, "plus"),
            "fingering" => {
                const FINGERS: [&str; 6] = ["0", "1", "2", "3", "4", "5"];
                let text = element.text();
                match FINGERS.iter().find(|finger| **finger == text) {
                    Some(finger) => add(event, finger),
                    None if text.is_empty() => {}
                    None => event.marks.push(Mark::Text('^', text.to_owned())),
                }
            }
            "pluck" => event.marks.push(Mark::Text('^', element.text().to_owned())),
            name => self.left_out(name),
        }
    }

    fn instead(&mut self, event: &mut Event, name: &'static str, these: &str, those: &str) {
        add(event, name);
        self.notice(format!("{these} are written as {those}"));
    }

    fn left_out(&mut self, name: &str) {
        self.notice(format!("the sign “{}” is left out", name.replace('-', " ")));
    }
}

fn add(event: &mut Event, name: &'static str) {
    let mark = Mark::Decoration(name);
    if !event.marks.contains(&mark) {
        event.marks.push(mark);
    }
}

fn slur(element: Element<'_, '_>, event: &mut Event) {
    let starts = match element.attribute("type").as_deref() {
        Some("start") => true,
        Some("stop") => false,
        _ => return,
    };
    let number = element.attribute("number").and_then(|number| number.trim().parse().ok());
    let dotted = is_dotted(element);
    event.slurs.push(SlurEnd { number: number.unwrap_or(1), starts, dotted });
}

/// Whether a tie or slur is drawn as dots or dashes.
pub(super) fn is_dotted(element: Element<'_, '_>) -> bool {
    ["dotted", "dashed"].iter().any(|line| element.attribute_is("line-type", line))
}

/// A dynamic as a decoration, or as text where there is none.
pub(super) fn dynamic(name: &str, text: &str) -> Mark {
    const LEVELS: [&str; 11] =
        ["pppp", "ppp", "pp", "p", "mp", "mf", "f", "ff", "fff", "ffff", "sfz"];
    match LEVELS.iter().find(|level| **level == name) {
        Some(level) => Mark::Decoration(level),
        None if name == "other-dynamics" => Mark::Text('_', text.to_owned()),
        None => Mark::Text('_', name.to_owned()),
    }
}
