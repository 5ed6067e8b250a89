//! Bar lines, repeats and endings (abc standard v2.1, 4.8 to 4.10).

use super::body::Reader;
use super::text::decode;
use crate::problem::ProblemKind;
use recte_score::{LineStyle, MarkPlace, Span};
use tree_sitter::Node;

/// Endings for more times than this are a slip.
const MOST_ENDINGS: u8 = 64;

/// What a bar line says.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) struct Line {
    /// How often the passage it closes is played; 0 if it closes none.
    pub(crate) closes: u8,
    /// How often the passage it opens is played; 0 if it opens none.
    pub(crate) opens: u8,
    /// Whether it ends a section.
    pub(crate) section: bool,
    /// How it looks.
    pub(crate) style: LineStyle,
}

impl Line {
    /// Reads a run of `|`, `[`, `]`, `:`.
    pub(crate) fn read(text: &str) -> Line {
        let colons = |count: usize| u8::try_from(count).unwrap_or(u8::MAX).clamp(1, 15) + 1;
        let signs = text.trim_start_matches('.');
        let before = signs.len() - signs.trim_start_matches(':').len();
        let bare = before == signs.len();
        let (before, after) = if bare {
            // `::` closes and opens.
            (before / 2, before - before / 2)
        } else {
            (before, signs.len() - signs.trim_end_matches(':').len())
        };
        let inner = signs.trim_matches(':');
        let section = inner.contains("||")
            || matches!(inner, "|]" | "[|" | "[|]|" | "]")
            || inner.contains("|]|");
        Line {
            closes: if before > 0 { colons(before) } else { 0 },
            opens: if after > 0 { colons(after) } else { 0 },
            section: section || before > 0 || inner.ends_with("|]") && inner != "[|]",
            style: Line::style(inner, text),
        }
    }

    fn style(inner: &str, text: &str) -> LineStyle {
        match inner {
            _ if text.starts_with('.') => LineStyle::Dotted,
            "[|]" | "[]" => LineStyle::Invisible,
            "[|" => LineStyle::Opening,
            _ if inner.ends_with("|]") => LineStyle::Final,
            _ if inner.contains("||") => LineStyle::Double,
            _ => LineStyle::Plain,
        }
    }
}

/// The times an ending is for: `1`, `1,3`, `1-3`, `1,3,5-7`; a text gives its digits.
pub(crate) fn ending_times(text: &str) -> Vec<u8> {
    let text = text.trim_matches(['[', '"', '|', ':', ' ']).replace('.', ",");
    let mut times = Vec::new();
    for part in text.split(',') {
        let (from, to) = part.split_once('-').unwrap_or((part, part));
        let number = |text: &str| {
            let digits: String = text.trim().chars().take_while(char::is_ascii_digit).collect();
            digits.parse::<u8>().ok().filter(|n| (1..=MOST_ENDINGS).contains(n))
        };
        if let (Some(from), Some(to)) = (number(from), number(to)) {
            times.extend(from..=to);
        }
    }
    times
}

/// What an ending is called in quotation marks, where that is more than its numbers.
fn ending_words(text: &str) -> Option<Box<str>> {
    let words = text.trim_matches(['[', '"']).trim();
    let named = words.contains(|c: char| !c.is_ascii_digit() && !" ,.-".contains(c));
    named.then(|| decode(words).into())
}

impl Reader<'_> {
    pub(crate) fn bar(&mut self, node: Node<'_>) {
        let mut cursor = node.walk();
        let children: Vec<Node<'_>> = node.children(&mut cursor).collect();
        let Some(&line) = children.first() else { return };
        let text = &self.text[line.byte_range()];
        let span = Span::new(line.start_byte(), line.end_byte());
        let ending = children.get(1).map(|ending| ending_times(&self.text[ending.byte_range()]));
        let strong = ending.is_some() || text.trim_start_matches('.') != "|";
        self.settle_marks(MarkPlace::BarLine(self.positions[self.current].bar));
        let position = &mut self.positions[self.current];
        let waiting = position.broken.take();
        let line = Line::read(text);
        // A tuplet may reach over a plain bar line, not over the end of a section.
        let tuplet = if line.section { position.tuplet.take() } else { None };
        position.close_bar(&mut self.tune.voices[self.current], span, strong);
        position.say(&mut self.tune.voices[self.current], line, span);
        position.ending |= ending.is_some();
        position.endings = ending.or(position.endings.take());
        if let Some((_, _, span)) = waiting {
            let message =
                "This sign lengthens one note and shortens the next, but the bar ends here.";
            self.report(ProblemKind::BrokenAlone, span, message);
        }
        if let Some((tuplet, left)) = tuplet {
            self.short_tuplet(tuplet, left);
        }
    }

    /// A tuplet that ends before its notes.
    pub(crate) fn short_tuplet(&mut self, tuplet: u32, left: u32) {
        let voice = &self.tune.voices[self.current];
        let span = voice.tuplets[tuplet as usize].span;
        let taken = voice
            .events
            .iter()
            .rev()
            .take_while(|event| event.tuplet == Some(tuplet) || event.grace);
        let taken = taken.filter(|event| !event.grace).count() as u32;
        if taken > 0 {
            let message = format!("This tuplet takes {} notes and has {taken}.", taken + left);
            self.report(ProblemKind::ShortTuplet, span, message);
        }
    }

    /// `[1`, `["last time"`.
    pub(crate) fn ending(&mut self, text: &str) {
        let position = &mut self.positions[self.current];
        position.ending = true;
        position.endings = Some(ending_times(text));
        position.ending_words = ending_words(text);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines() {
        for (text, closes, opens, section) in [
            ("|", 0, 0, false),
            ("||", 0, 0, true),
            ("|]", 0, 0, true),
            ("[|", 0, 0, true),
            ("[|]", 0, 0, false),
            (".|", 0, 0, false),
            ("|:", 0, 2, false),
            (":|", 2, 0, true),
            ("::", 2, 2, true),
            (":|:", 2, 2, true),
            (":||:", 2, 2, true),
            ("|::", 0, 3, false),
            ("::|", 3, 0, true),
            (":|]", 2, 0, true),
            ("[|:", 0, 2, true),
            ("|]:", 0, 2, true),
            ("||:", 0, 2, true),
        ] {
            let line = Line::read(text);
            assert_eq!((line.closes, line.opens, line.section), (closes, opens, section), "{text}");
        }
    }

    #[test]
    fn how_lines_look() {
        for (text, style) in [
            ("|", LineStyle::Plain),
            ("||", LineStyle::Double),
            ("|]", LineStyle::Final),
            ("[|", LineStyle::Opening),
            ("[|]", LineStyle::Invisible),
            (".|", LineStyle::Dotted),
            (":|", LineStyle::Plain),
        ] {
            assert_eq!(Line::read(text).style, style, "{text}");
        }
    }

    #[test]
    fn endings() {
        assert_eq!(ending_times("[1"), [1]);
        assert_eq!(ending_times("1,3,5-7"), [1, 3, 5, 6, 7]);
        assert_eq!(ending_times("[\"1.2\""), [1, 2]);
        assert_eq!(ending_times("[\"last time\""), [] as [u8; 0]);
        assert_eq!(ending_times("3-1"), [] as [u8; 0]);
        assert_eq!(ending_words("[\"1.2\""), None);
        assert_eq!(ending_words("[\"last time\"").as_deref(), Some("last time"));
    }
}
