//! Bar lines, repeats and endings; they hold for all parts.

use super::measure::PartReader;
use super::tree::Element;
use crate::sheet::{LineStyle, Mark, ScoreMark, Sheet};
use recte_theory::Time;

impl PartReader {
    pub(super) fn barline(
        &mut self,
        element: Element<'_, '_>,
        sheet: &mut Sheet,
    ) -> Result<(), String> {
        let location = element.attribute("location");
        let location = location.as_deref().unwrap_or("right");
        if location == "middle" {
            self.notice("a bar line in the middle of a measure is left out");
            return Ok(());
        }
        let left = location == "left";
        if let Some(style) = element.child("bar-style") {
            self.style(style.text(), left, sheet);
        }
        for child in element.children() {
            match child.name() {
                "repeat" => self.repeat(child, left, sheet),
                "ending" => self.ending(child, sheet),
                "fermata" if !left => {
                    if let Some(lines) = sheet.lines.get_mut(self.measure as usize) {
                        lines.fermata = true;
                    }
                }
                "segno" => self.line_sign("segno", left, sheet),
                "coda" => self.line_sign("coda", left, sheet),
                "fermata" | "wavy-line" => self.notice(format!(
                    "a {} at a bar line is left out",
                    child.name().replace('-', " ")
                )),
                _ => {}
            }
        }
        Ok(())
    }

    fn line_sign(&self, name: &'static str, left: bool, sheet: &mut Sheet) {
        let onset = if left { Time::ZERO } else { self.position };
        self.score_sign(onset, ScoreMark::Mark(Mark::Decoration(name)), sheet);
    }

    fn style(&mut self, name: &str, left: bool, sheet: &mut Sheet) {
        let style = match name {
            "light-light" => LineStyle::Double,
            "light-heavy" => LineStyle::Final,
            "heavy-light" => LineStyle::HeavyLight,
            "dotted" => LineStyle::Dotted,
            "none" => LineStyle::Hidden,
            "heavy-heavy" | "heavy" => {
                self.notice(format!("a {name} bar line is written as a double one"));
                LineStyle::Double
            }
            "dashed" => {
                self.notice("a dashed bar line is written as a dotted one");
                LineStyle::Dotted
            }
            "tick" | "short" => {
                self.notice(format!("a {name} bar line is written as a plain one"));
                LineStyle::Plain
            }
            _ => LineStyle::Plain,
        };
        if left {
            let measure = self.measure as usize;
            match style {
                LineStyle::HeavyLight => {
                    if let Some(lines) = sheet.lines.get_mut(measure) {
                        lines.opens_heavy = true;
                    }
                }
                LineStyle::Plain => {}
                // The line before a measure is the one after the measure before.
                style => {
                    let before =
                        measure.checked_sub(1).and_then(|before| sheet.lines.get_mut(before));
                    if let Some(lines) = before.filter(|lines| lines.style == LineStyle::Plain) {
                        lines.style = style;
                    }
                }
            }
        } else if let Some(lines) = sheet.lines.get_mut(self.measure as usize)
            && lines.style == LineStyle::Plain
        {
            lines.style = style;
        }
    }

    /// A repeat begins after its bar line and ends before it, whichever side of the measure that is.
    fn repeat(&mut self, element: Element<'_, '_>, left: bool, sheet: &mut Sheet) {
        let measure = self.measure as usize;
        if element.attribute_is("direction", "forward") {
            match sheet.lines.get_mut(measure).filter(|_| left) {
                Some(lines) => lines.repeat_opens = true,
                None => self.repeat_opens_next = true,
            }
            return;
        }
        let last = if left { measure.checked_sub(1) } else { Some(measure) };
        let Some(lines) = last.and_then(|last| sheet.lines.get_mut(last)) else {
            self.notice("a repeat that ends before the first measure is left out");
            return;
        };
        let times = element.attribute("times").and_then(|times| times.trim().parse().ok());
        lines.repeat_closes = lines.repeat_closes.max(times.unwrap_or(2).clamp(2, 15));
    }

    fn ending(&mut self, element: Element<'_, '_>, sheet: &mut Sheet) {
        let Some(lines) = sheet.lines.get_mut(self.measure as usize) else { return };
        if element.attribute_is("type", "start") {
            let number = element.attribute("number").unwrap_or_default();
            lines.ending = Some(times(&number, element.text()));
            return;
        }
        lines.ending_stops = true;
    }
}

/// `1,2` of "1, 2"; words stay words, after their number if they do not begin with it.
fn times(number: &str, text: &str) -> String {
    let plain: String = number.chars().filter(|c| !c.is_whitespace()).collect();
    let listed = plain.trim_end_matches(['.', ',']).replace('.', ",");
    let digits = |part: &str| !part.is_empty() && part.bytes().all(|byte| byte.is_ascii_digit());
    let numbered = !listed.is_empty() && listed.split([',', '-']).all(digits);
    let named = text.chars().any(char::is_alphabetic);
    let words = match (numbered, named) {
        (true, false) => return listed,
        (true, true) if text.starts_with(|c: char| c.is_ascii_digit()) => text.to_owned(),
        (true, true) => format!("{listed} {text}"),
        (false, _) if text.is_empty() => number.to_owned(),
        (false, _) => text.to_owned(),
    };
    format!("\"{}\"", words.replace(['"', '%', '\\', '|', '[', ']'], " ").trim())
}
