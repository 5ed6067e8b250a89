//! What stands between the last event of one bar and the first of the next, or where a bar line is to come.
//!
//! A split types its lines so that it can be told how the notes stood before it: ` |` between notes with a space
//! between them, `| ` where they stood together or were one note, ` |` without a space after it where they stood
//! together and were tied, `|  ` where only the two notes at the line were one.

use recte_score::Span;
use recte_theory::Metre;

/// How the notes on both sides of a bar line stood before it was there.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Joint {
    /// With a space between them.
    Apart,
    /// Without a space between them.
    Together,
    /// Without a space between them, tied, and two notes nevertheless.
    Tied,
    /// As one, with all that is tied to it by `- `.
    One,
    /// As one, the note before the line and the note after it alone.
    OnePair,
}

impl Joint {
    /// A bar line, and the signature after it.
    pub(super) fn line(self, sign: Option<&Metre>) -> String {
        let (before, after) = match self {
            Joint::Apart => (" ", " "),
            Joint::Together | Joint::One => ("", " "),
            Joint::Tied => (" ", ""),
            Joint::OnePair => ("", "  "),
        };
        line(before, after, sign)
    }
}

/// A bar line between white space, and the signature after it.
pub(super) fn line(before: &str, after: &str, sign: Option<&Metre>) -> String {
    let sign = sign.map_or_else(String::new, |metre| {
        let space = if after.is_empty() && !before.is_empty() { "" } else { " " };
        format!("[M:{metre}]{space}")
    });
    format!("{before}|{after}{sign}")
}

/// A plain bar line between two bars, typed on one line with nothing but a signature beside it.
pub(super) struct Gap<'a> {
    /// From the end of the first bar to the beginning of the second.
    pub(super) span: Span,
    before: &'a str,
    after: &'a str,
    /// White space after the signature, if there is one.
    last: Option<&'a str>,
}

impl<'a> Gap<'a> {
    /// Reads it; none if anything else stands there.
    pub(super) fn read(text: &'a str, line: Span, next: usize) -> Option<Gap<'a>> {
        let space = |c: char| matches!(c, ' ' | '\t');
        let lead = text.get(..line.start as usize)?;
        let start = lead.trim_end_matches(space).len();
        let before = &lead[start..];
        let rest = text.get(line.end as usize..next)?;
        if text.get(line.range())? != "|" || lead[..start].ends_with(['\n', '\r']) {
            return None;
        }
        let inner = rest.trim_start_matches(space);
        let after = &rest[..rest.len() - inner.len()];
        let last = match inner.strip_prefix("[M:").and_then(|sign| sign.split_once(']')) {
            Some((_, last)) if last.chars().all(space) => Some(last),
            None if inner.is_empty() => None,
            _ => return None,
        };
        Some(Gap { span: Span::new(start, next), before, after, last })
    }

    /// How the notes stood before the line was put between them, if a split put it there.
    pub(super) fn joint(&self) -> Joint {
        match (self.before, self.after) {
            ("", " ") => Joint::Together,
            ("", "  ") => Joint::OnePair,
            (" ", "") => Joint::Tied,
            _ => Joint::Apart,
        }
    }

    /// What stood there instead of the line; without one, one space.
    pub(super) fn space(&self) -> &'a str {
        match self.joint() {
            Joint::Together | Joint::One | Joint::OnePair | Joint::Tied => "",
            Joint::Apart if self.before.is_empty() => " ",
            Joint::Apart => {
                Some(self.last.unwrap_or(self.after)).filter(|s| !s.is_empty()).unwrap_or(" ")
            }
        }
    }
}
