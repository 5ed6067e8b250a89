//! Bar lines taken away and typed: where one goes the notes stand side by side, where one comes they part.

use super::Refusal;
use super::gap::{Joint, line};
use super::plan::Manner;
use super::reline::Relined;
use crate::write::TextEdit;
use recte_score::Span;
use recte_theory::Time;

impl Relined<'_> {
    /// The bar line at a moment as this rewriting types it, with the signature after it.
    pub(super) fn line(&self, joint: Joint, at: Time) -> String {
        let sign = self.sign_at(at);
        if let Some(turn) = self.breaks.at(at) {
            let spaced = matches!(self.plan.manner, Manner::Plain { spaced: true, .. });
            let before = if spaced { " " } else { "" };
            let sign = sign.map_or_else(String::new, |metre| format!("[M:{metre}] "));
            return format!("{before}|{turn}{sign}");
        }
        match self.plan.manner {
            Manner::Exact => joint.line(sign),
            Manner::Plain { spaced: true, .. } => line(" ", " ", sign),
            Manner::Plain { spaced: false, .. } => line("", "", sign),
        }
    }

    /// Takes away the lines that go, and types those that come between notes.
    pub(super) fn lines(&mut self) -> Result<(), Refusal> {
        // Before the signatures, which come to the same places.
        self.edits.splice(0..0, self.breaks.at_lines_that_stay());
        for place in 1..self.bars().len() {
            let at = self.plan.old[place];
            if self.goes(at) {
                self.unline(self.plan.from + place as u32);
            }
        }
        for &at in self.plan.new.iter().skip(1) {
            let between = !self.plan.began(at)
                && self.timed.iter().any(|&index| {
                    let event = self.event(index);
                    self.at(event) == at
                });
            if between {
                self.line_at(at)?;
            }
        }
        Ok(())
    }

    /// Takes away the line before a bar.
    fn unline(&mut self, bar: u32) {
        let Some(line) = self.voice.bars[bar as usize - 1].line else { return };
        if self.is_covered(line) {
            return;
        }
        if let Some(span) = self.breaks.moved(bar) {
            return self.replace(span, " ".to_owned());
        }
        match self.gap_before(bar) {
            Some(gap) => {
                let space = if self.plan.undoes { gap.space() } else { " " };
                self.replace(gap.span, space.to_owned());
            }
            None => {
                let lead = self.text[..line.start as usize].trim_end_matches([' ', '\t']).len();
                let rest = &self.text[line.end as usize..];
                let parted = rest.starts_with(|c: char| c.is_whitespace() || "\\`".contains(c));
                let parted = parted || rest.is_empty() || self.plan.undoes;
                let space = if parted { "" } else { " " };
                let span = Span::new(lead, line.end as usize);
                self.edits.push(TextEdit { span, text: space.to_owned() });
                self.no_other_lines(
                    line.end as usize,
                    self.voice.bars[bar as usize].span.start as usize,
                );
            }
        }
    }

    /// Takes away bar lines that are typed again: after the first on its line, or before the next bar on its.
    fn no_other_lines(&mut self, from: usize, to: usize) {
        let Some(gap) = self.text.get(from..to) else { return };
        let first = gap.find(['\n', '\r', '%']).unwrap_or(gap.len());
        let last = gap.rfind(['\n', '\r']).map_or(gap.len(), |at| at + 1);
        for (at, _) in gap.match_indices('|').filter(|(at, _)| *at < first || *at >= last) {
            let lead = gap[..at].trim_end_matches([' ', '\t']).len();
            let span = Span::new(from + lead, from + at + 1);
            self.edits.push(TextEdit { span, text: String::new() });
        }
    }

    /// Types a line between two events.
    fn line_at(&mut self, at: Time) -> Result<(), Refusal> {
        let place = self.timed.iter().position(|&index| self.at(self.event(index)) == at);
        let Some((before, after)) = place
            .and_then(|place| Some((*self.timed.get(place.checked_sub(1)?)?, self.timed[place])))
        else {
            return Err(Refusal::new("A whole-bar rest stands among the notes of these bars."));
        };
        let (from, to) = (self.event(before), self.event(after));
        if from.tuplet.is_some() && from.tuplet == to.tuplet {
            return Err(Refusal::new("A tuplet lies over a new bar line."));
        }
        let start = self.start_of(to);
        let gap = self.text.get(from.span.end as usize..start).unwrap_or_default();
        if from.broken && to.broken && gap.contains(['<', '>']) {
            return Err(Refusal::new("A broken rhythm lies over a new bar line."));
        }
        let ending = |(at, _): (usize, &str)| {
            gap[at + 1..].starts_with(|c: char| c.is_ascii_digit() || c == '"')
        };
        if gap.match_indices('[').any(ending) {
            return Err(Refusal::new("An ending begins in the middle of a bar."));
        }
        let mut plain = gap.trim_start_matches(['-', ')', '.']);
        if plain.chars().all(|c| c == '`') {
            plain = "";
        }
        let end = start - plain.len();
        let blank = plain.chars().all(|c| matches!(c, ' ' | '\t' | '`'));
        let sign = self.sign_at(at).map(|metre| format!("[M:{metre}]"));
        let insert = |at: usize, text: String| TextEdit { span: Span::new(at, at), text };
        match self.plan.manner {
            Manner::Plain { .. } if blank => {
                let text = self.line(Joint::Apart, at);
                self.edits.push(TextEdit { span: Span::new(end, start), text });
            }
            Manner::Exact if plain.is_empty() => {
                let tied = self.can_be_one(before, after);
                let joint = if tied { Joint::Tied } else { Joint::Together };
                self.edits.push(insert(end, self.line(joint, at)));
            }
            Manner::Exact if blank => {
                let sign = sign.map_or_else(String::new, |sign| format!(" {sign}"));
                self.edits.push(insert(end, format!(" |{sign}")));
            }
            _ => {
                self.edits.push(insert(end, " |".to_owned()));
                if let Some(sign) = sign {
                    self.edits.push(insert(start, format!("{sign} ")));
                }
            }
        }
        Ok(())
    }
}
