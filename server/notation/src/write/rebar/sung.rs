//! Words under notes that become more, or fewer: a note that is tied on holds the syllable before it.

use super::Refusal;
use crate::write::TextEdit;
use recte_score::{Event, MarkPlace, Span, Syllable, Voice};

/// The words and signs under one voice.
pub(super) struct Sung<'a> {
    text: &'a str,
    voice: &'a Voice,
    /// Whether a line of signs (`s:`) stands under it.
    signs: bool,
}

/// What is known of one line of words around some notes.
struct Words<'a> {
    /// The last thing said up to them, and the first after them.
    before: Option<&'a Syllable>,
    after: Option<&'a Syllable>,
    /// Where the line ends.
    end: usize,
}

impl<'a> Sung<'a> {
    pub(super) fn new(text: &'a str, voice: &'a Voice) -> Sung<'a> {
        let signs = voice.marks.iter().any(|mark| matches!(mark.on, MarkPlace::Line(_)));
        Sung { text, voice, signs }
    }

    /// Whether words are counted bar by bar under any of these bytes.
    pub(super) fn counts_bars(&self, from: usize, to: usize) -> bool {
        let first = self.voice.lyrics.iter().position(|line| line.start as usize > from);
        let under = self.voice.lyrics.iter().skip(first.unwrap_or(usize::MAX));
        let last = self.lines_after(to).last().map_or(to, |line| line.end as usize);
        let mut under = under.take_while(|line| line.end as usize <= last);
        under.any(|line| self.text.get(line.range()).is_some_and(|words| words.contains('|')))
    }

    /// The lines of words that the music at a byte is sung to: those after it, up to the next music.
    fn lines_after(&self, at: usize) -> impl Iterator<Item = Span> + '_ {
        let after = self.voice.lyrics.iter().filter(move |line| line.start as usize > at);
        let first = after.clone().next().map_or(0, |line| line.start);
        let next =
            self.voice.events.iter().map(|event| event.span.start).filter(move |&e| e > first);
        let next = next.min().unwrap_or(u32::MAX);
        after.copied().take_while(move |line| line.start < next)
    }

    /// The last syllable up to the first of these events or one of them, and the first after them, on each line.
    fn around(&self, first: &Event, last: u32) -> Vec<Words<'a>> {
        let lines = self.lines_after(first.span.start as usize);
        lines
            .map(|line| {
                let inside =
                    |one: &&Syllable| line.start <= one.span.start && one.span.end <= line.end;
                let own = || self.voice.syllables.iter().filter(inside);
                Words {
                    before: own().filter(|one| one.event <= last).max_by_key(|one| one.event),
                    after: own().filter(|one| one.event > last).min_by_key(|one| one.event),
                    end: line.end as usize,
                }
            })
            .collect()
    }

    /// The edits for notes (by the index of the first and the last event) after which so many more are tied on.
    pub(super) fn held_on(&self, events: [u32; 2], more: usize) -> Result<Vec<TextEdit>, Refusal> {
        if self.signs {
            return Err(Refusal::new("Signs lie under a note that would be tied over a bar line."));
        }
        let first = &self.voice.events[events[0] as usize];
        let mut edits = Vec::new();
        for Words { before, after, end } in self.around(first, events[1]) {
            let (at, sign) = match (before, after) {
                (Some(own), _) if own.event >= events[0] => (self.end_of(own), "_"),
                (_, Some(next)) => (next.span.start as usize, "* "),
                (Some(own), None) => match self.blank_after(own, events[1], end) {
                    Some(at) => (at, "* "),
                    None => continue,
                },
                (None, None) => continue,
            };
            edits.push(TextEdit { span: Span::new(at, at), text: sign.repeat(more) });
        }
        Ok(edits)
    }

    /// Where a syllable ends, with the hyphen after it.
    fn end_of(&self, one: &Syllable) -> usize {
        let end = one.span.end as usize;
        end + usize::from(one.joined && self.text[end..].starts_with('-'))
    }

    /// The edits that take away what an event of these has under it, where it only holds what came before it; none
    /// if it does more.
    pub(super) fn no_longer(&self, event: u32) -> Option<Vec<TextEdit>> {
        if self.signs {
            return None;
        }
        let mut edits = Vec::new();
        let own = &self.voice.events[event as usize];
        for Words { before, after, end } in self.around(own, event) {
            match before {
                Some(held) if held.event == event => {
                    let typed = self.text.get(held.span.range())?;
                    if !held.held || typed != "_" {
                        return None;
                    }
                    let (start, end) = (held.span.start as usize, held.span.end as usize);
                    let alone = self.text[..start].ends_with(' ');
                    let space = usize::from(alone && self.text[end..].starts_with(' '));
                    edits.push(TextEdit {
                        span: Span::new(start, end + space),
                        text: String::new(),
                    });
                }
                _ => {
                    let star = match (before, after) {
                        (_, Some(after)) => self.blank_before(before, event, after)?,
                        (Some(before), None) => match self.blank_after(before, event, end) {
                            Some(star) => star,
                            None => continue,
                        },
                        (None, None) => continue,
                    };
                    let after = usize::from(self.text[star + 1..].starts_with(' '));
                    let before = usize::from(after == 0 && self.text[..star].ends_with(' '));
                    let span = Span::new(star - before, star + 1 + after);
                    edits.push(TextEdit { span, text: String::new() });
                }
            }
        }
        Some(edits)
    }

    /// The `*` that stands for an event between two syllables.
    fn blank_before(
        &self,
        before: Option<&Syllable>,
        event: u32,
        after: &Syllable,
    ) -> Option<usize> {
        let begin = before.map_or_else(
            || self.text[..after.span.start as usize].rfind("w:").map(|at| at + 2),
            |one| Some(self.end_of(one)),
        )?;
        let stars = self.stars(begin, after.span.start as usize);
        // Counted back from the next syllable.
        let back = self.sounding(event..after.event);
        stars.get(stars.len().checked_sub(back)?).copied()
    }

    /// The `*` that stands for an event after the last syllable of a line, if the line goes on so far.
    fn blank_after(&self, before: &Syllable, event: u32, end: usize) -> Option<usize> {
        let count = self.sounding(before.event + 1..event + 1);
        let stars = self.stars(self.end_of(before), end);
        stars.get(count.checked_sub(1)?).copied()
    }

    fn stars(&self, from: usize, to: usize) -> Vec<usize> {
        let between = self.text.get(from..to).unwrap_or_default();
        between.match_indices('*').map(|(at, _)| from + at).collect()
    }

    fn sounding(&self, events: std::ops::Range<u32>) -> usize {
        events.filter(|index| self.voice.events[*index as usize].sounds()).count()
    }
}
