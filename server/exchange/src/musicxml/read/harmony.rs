//! Chord symbols.

use super::measure::{PartReader, decimal};
use super::tree::Element;
use crate::sheet::{Mark, Sign};
use recte_theory::chord::Chord;

impl PartReader {
    pub(super) fn harmony(&mut self, element: Element<'_, '_>) -> Result<(), String> {
        let (onset, staff) = (self.place(element)?, self.staff(element));
        if element.child("frame").is_some() {
            self.notice("chord diagrams are left out");
        }
        let mark = match (element.child("root"), element.child("kind")) {
            (Some(root), Some(kind)) => Mark::Chord(self.symbol(element, root, kind)),
            (None, Some(kind)) => {
                let function = element.text_of("function");
                let numeral = element.child("numeral").map_or("", |n| n.text_of("numeral-root"));
                let text =
                    [function, numeral, &kind.attribute("text").unwrap_or_default()].concat();
                Mark::Text('^', if text.is_empty() { kind.text().to_owned() } else { text })
            }
            _ => return Ok(()),
        };
        let sign = Sign { onset, staff, voice: None, ends: false, loose: false, mark };
        self.sign(sign);
        Ok(())
    }

    fn symbol(
        &mut self,
        element: Element<'_, '_>,
        root: Element<'_, '_>,
        kind: Element<'_, '_>,
    ) -> String {
        if element.child("inversion").is_some_and(|one| one.text() != "0")
            && element.child("bass").is_none()
        {
            self.notice("the inversion of a chord symbol is left out");
        }
        if kind.text() == "none" {
            return "N.C.".to_owned();
        }
        let root = note_name(root, "root-step", "root-alter");
        let mut symbol = root.clone();
        match kind_sign(kind.text()) {
            Some(sign) => symbol.push_str(sign),
            None => {
                let text = kind.attribute("text").unwrap_or_default();
                self.notice(format!(
                    "a chord of the kind “{}” is written as it is labelled",
                    kind.text()
                ));
                symbol.push_str(&text);
            }
        }
        for degree in element.all("degree") {
            let alter = sign_of(degree.text_of("degree-alter"));
            let word = match degree.text_of("degree-type") {
                "add" if alter.is_empty() => "add",
                "subtract" => "omit",
                _ => "",
            };
            symbol.push_str(&format!("{word}{alter}{}", degree.text_of("degree-value")));
        }
        let printed = kind.attribute("text").unwrap_or_default();
        symbol = as_printed(&root, &printed, symbol);
        if let Some(bass) = element.child("bass") {
            let shown = bass.child("bass-step").and_then(|step| step.attribute("text"));
            symbol.push('/');
            match shown {
                Some(letter) => symbol.push_str(&letter),
                None => symbol.push_str(bass.text_of("bass-step")),
            }
            symbol.push_str(&sign_of(bass.text_of("bass-alter")));
        }
        symbol
    }
}

/// The symbol in the words of the source, where they name the same chord.
fn as_printed(root: &str, printed: &str, symbol: String) -> String {
    let label = format!("{root}{printed}");
    let same = match (Chord::from_symbol(&label), Chord::from_symbol(&symbol)) {
        (Some(label), Some(symbol)) => {
            label.root == symbol.root && label.quality.intervals == symbol.quality.intervals
        }
        (Some(label), None) => label.root.to_string() == root,
        _ => false,
    };
    if same { label } else { symbol }
}

fn note_name(element: Element<'_, '_>, step: &str, alter: &str) -> String {
    format!("{}{}", element.text_of(step), sign_of(element.text_of(alter)))
}

fn sign_of(alter: &str) -> String {
    let alter = decimal(alter).map_or(0, |alter| alter.numerator() / alter.denominator());
    let sign = if alter > 0 { "#" } else { "b" };
    sign.repeat(alter.unsigned_abs().min(3) as usize)
}

fn kind_sign(kind: &str) -> Option<&'static str> {
    Some(match kind {
        "major" => "",
        "minor" => "m",
        "augmented" => "aug",
        "diminished" => "dim",
        "dominant" => "7",
        "major-seventh" => "maj7",
        "minor-seventh" => "m7",
        "diminished-seventh" => "dim7",
        "augmented-seventh" => "aug7",
        "half-diminished" => "m7b5",
        "major-minor" => "m(maj7)",
        "major-sixth" => "6",
        "minor-sixth" => "m6",
        "dominant-ninth" => "9",
        "major-ninth" => "maj9",
        "minor-ninth" => "m9",
        "dominant-11th" => "11",
        "major-11th" => "maj11",
        "minor-11th" => "m11",
        "dominant-13th" => "13",
        "major-13th" => "maj13",
        "minor-13th" => "m13",
        "suspended-second" => "sus2",
        "suspended-fourth" => "sus4",
        "power" => "5",
        _ => return None,
    })
}
