//! Lines under the music: words (`w:`) and symbols (`s:`) (abc standard v2.1, 4.15, 5 and 10.6).

use super::body::Reader;
use super::marks::quoted_kind;
use super::text::decode;
use crate::problem::{Problem, ProblemKind};
use recte_score::{Mark, MarkKind, MarkPlace, Meaning, Span, Syllable, Tune, Voice};

/// Nobody sings more verses than this under one line; what is typed beyond is not read.
const MOST_VERSES: usize = 64;

/// A line under the music, kept until all its notes are known.
#[derive(Clone, Debug)]
pub(crate) struct AlignedLine<'a> {
    voice: usize,
    symbols: bool,
    /// Its text with the place of each piece; `+:` adds one.
    pub(crate) pieces: Vec<(usize, &'a str)>,
    /// The events of the music line above it.
    begin: u32,
    end: u32,
}

/// What stands on such a line.
#[derive(Clone, Debug, PartialEq, Eq)]
enum Token {
    /// A syllable; `joined` when its word goes on. On a line of symbols: a sign as typed.
    Text {
        text: String,
        joined: bool,
        span: Span,
    },
    Hold(Span),
    Blank(Span),
    BarLine,
}

impl<'a> Reader<'a> {
    /// A `w:` or `s:` field.
    pub(crate) fn aligned_line(
        &mut self,
        symbols: bool,
        pieces: Vec<(usize, &'a str)>,
        span: Span,
    ) {
        let index = self.voice_for_music();
        let (voice, position) = (&mut self.tune.voices[index], &self.positions[index]);
        if !symbols {
            voice.lyrics.push(span);
        }
        let end = voice.events.len() as u32;
        self.lines.push(AlignedLine {
            voice: index,
            symbols,
            pieces,
            begin: position.line_begin,
            end,
        });
    }

    /// Gives every note its syllables and symbols. Events still stand in the order typed.
    pub(crate) fn align_lines(&mut self) {
        let mut lines = std::mem::take(&mut self.lines);
        lines.sort_by_key(|line| (line.voice, line.symbols));
        let strict = self.file.strict;
        let mut covered = 0;
        let mut last = None;
        for group in
            lines.chunk_by(|a, b| (a.voice, a.symbols, a.end) == (b.voice, b.symbols, b.end))
        {
            let place = (group[0].voice, group[0].symbols);
            if last.replace(place) != Some(place) {
                covered = 0;
            }
            // Strictly a line begins with the first note no line has covered; an old one fits the music above it.
            let from = if strict { covered } else { group[0].begin.max(covered) };
            covered = group[0].end;
            self.align_group(group, from);
        }
    }

    fn align_group(&mut self, group: &[AlignedLine<'_>], from: u32) {
        let Reader { tune, problems, .. } = self;
        let all = notes(&tune.voices[group[0].voice], from, group[0].end);
        let mut taken = Vec::new();
        for (number, line) in group.iter().take(MOST_VERSES).enumerate() {
            let voice = &mut tune.voices[line.voice];
            let mut notes = Notes::new(&all);
            let tokens = tokens(line);
            let left = if line.symbols {
                symbols(voice, &mut notes, tokens, number as u16)
            } else {
                let left = words(voice, &mut notes, tokens, number as u16);
                taken.push((number, notes.taken, line.span()));
                left
            };
            if let Some((span, count)) = left {
                problems.push(too_many(line.symbols, span, count, &notes));
            }
        }
        problems.extend(short_verses(&taken));
    }
}

impl AlignedLine<'_> {
    fn span(&self) -> Span {
        let first = self.pieces.first().map_or(0, |piece| piece.0);
        let last = self.pieces.last().map_or(0, |piece| piece.0 + piece.1.len());
        Span::new(first, last)
    }
}

fn too_many(symbols: bool, span: Span, count: usize, notes: &Notes<'_>) -> Problem {
    let (these, each) = if symbols { ("signs", "signs") } else { ("words", "syllables") };
    let message = match notes.events.len() {
        0 => format!("These {these} have no notes left to stand under."),
        all => format!(
            "Here are {} {each} for {all} notes; the {these} from here on have no note.",
            notes.taken + count
        ),
    };
    Problem::new(ProblemKind::WordsOver, span, message)
}

/// Verses that use fewer notes than another under the same music.
fn short_verses(taken: &[(usize, usize, Span)]) -> Vec<Problem> {
    let Some(longest) = taken.iter().max_by_key(|verse| (verse.1, usize::MAX - verse.0)) else {
        return Vec::new();
    };
    let short = taken.iter().filter(|verse| verse.1 > 0 && verse.1 < longest.1);
    short
        .map(|verse| {
            let message = format!(
                "This verse has syllables for {} notes; verse {} has them for {}.",
                verse.1,
                longest.0 + 1,
                longest.1
            );
            Problem::new(ProblemKind::WordsShort, verse.2, message)
        })
        .collect()
}

/// The notes that lines under these events may fill, in the order typed: events and their bars.
fn notes(voice: &Voice, from: u32, end: u32) -> Vec<(u32, u32)> {
    let range = from.min(end)..end;
    let events = range.map(|index| (index, &voice.events[index as usize]));
    let first = voice.events.get(from as usize).map_or(0, |event| event.bar);
    let sung = events
        .filter(|(_, event)| event.sounds())
        .map(|(index, event)| (index, event.bar.max(first)));
    sung.collect()
}

/// A line's way along its notes.
struct Notes<'e> {
    events: &'e [(u32, u32)],
    next: usize,
    /// The bar the line stands in.
    bar: u32,
    taken: usize,
}

impl<'e> Notes<'e> {
    fn new(events: &'e [(u32, u32)]) -> Notes<'e> {
        Notes { bar: events.first().map_or(0, |note| note.1), events, next: 0, taken: 0 }
    }

    fn take(&mut self) -> Option<u32> {
        let (event, bar) = *self.events.get(self.next)?;
        self.next += 1;
        self.taken += 1;
        self.bar = bar;
        Some(event)
    }

    /// `|`: on to the next bar; nothing if the last syllable ended this one.
    fn bar_line(&mut self) {
        self.bar += 1;
        while self.events.get(self.next).is_some_and(|note| note.1 < self.bar) {
            self.next += 1;
            self.taken += 1;
        }
    }
}

/// Gives out syllables; returns where those begin that found no note, and how many they are.
fn words(
    voice: &mut Voice,
    notes: &mut Notes<'_>,
    tokens: Vec<Token>,
    verse: u16,
) -> Option<(Span, usize)> {
    let mut left: Option<(Span, usize)> = None;
    let mut texts = 0;
    for token in tokens {
        let (text, joined, held, span) = match token {
            Token::BarLine => {
                notes.bar_line();
                continue;
            }
            Token::Text { text, joined, span } => (text, joined, false, span),
            Token::Hold(span) => (String::new(), false, true, span),
            Token::Blank(span) => {
                notes.take();
                let _ = span;
                continue;
            }
        };
        match notes.take() {
            Some(event) => {
                let text = text.into();
                voice.syllables.push(Syllable { verse, event, text, joined, held, span });
            }
            None if held && left.is_none() => {}
            None => {
                texts += 1;
                left = Some((left.map_or(span, |(first, _)| first.join(span)), texts));
            }
        }
    }
    left
}

/// Gives out signs; returns where those begin that found no note, and how many they are.
fn symbols(
    voice: &mut Voice,
    notes: &mut Notes<'_>,
    tokens: Vec<Token>,
    line: u16,
) -> Option<(Span, usize)> {
    let mut left: Option<(Span, usize)> = None;
    for token in tokens {
        match token {
            Token::BarLine => notes.bar_line(),
            Token::Hold(_) | Token::Blank(_) => {
                notes.take();
            }
            Token::Text { text, span, .. } => {
                if let Some(event) = notes.take() {
                    voice.marks.push(symbol(&text, span, event, line));
                } else {
                    let (first, count) = left.unwrap_or((span, 0));
                    left = Some((first.join(span), count + 1));
                }
            }
        }
    }
    left
}

fn symbol(typed: &str, span: Span, event: u32, line: u16) -> Mark {
    let on = MarkPlace::Line(line);
    if let Some(text) = typed.strip_prefix('"') {
        let text = decode(text.trim_end_matches('"'));
        let kind = quoted_kind(&text);
        let meaning = Meaning::of_words(&text);
        return Mark { kind, text: text.into(), span, event, meaning, on };
    }
    let name = if typed.len() > 2 { typed.trim_matches(['!', '+']) } else { typed };
    let meaning = Meaning::of_decoration(name);
    Mark { kind: MarkKind::Decoration, text: name.into(), span, event, meaning, on }
}

/// The signs of a line; pieces are parted as by a space.
fn tokens(line: &AlignedLine<'_>) -> Vec<Token> {
    let mut all = Vec::new();
    for (start, piece) in &line.pieces {
        if line.symbols {
            symbol_tokens(piece, *start, &mut all);
        } else {
            word_tokens(piece, *start, &mut all);
        }
    }
    all
}

/// A syllable being read.
#[derive(Default)]
struct Pending {
    text: String,
    start: usize,
}

impl Pending {
    /// Whether it is the bare number of a verse: "2", "2.".
    fn is_number(&self) -> bool {
        !self.text.is_empty() && self.text.chars().all(|c| c.is_ascii_digit() || c == '.')
    }

    fn push(&mut self, at: usize, text: &str) {
        if self.text.is_empty() {
            self.start = at;
        }
        self.text.push_str(text);
    }

    fn flush(&mut self, end: usize, joined: bool, all: &mut Vec<Token>) -> bool {
        if self.text.is_empty() {
            return false;
        }
        let text = decode(&std::mem::take(&mut self.text)).into_owned();
        all.push(Token::Text { text, joined, span: Span::new(self.start, end) });
        true
    }
}

fn word_tokens(piece: &str, start: usize, all: &mut Vec<Token>) {
    let mut pending = Pending::default();
    // A first word that begins with a digit is the number of the verse, part of its first syllable (5.3).
    let mut number = all.is_empty() && piece.trim_start().starts_with(|c: char| c.is_ascii_digit());
    let mut chars = piece.char_indices().peekable();
    while let Some((at, c)) = chars.next() {
        let here = start + at;
        match c {
            ' ' | '\t' if number && pending.is_number() => {
                number = false;
                pending.push(here, " ");
                while chars.next_if(|(_, c)| *c == ' ').is_some() {}
            }
            ' ' | '\t' => {
                number &= pending.text.is_empty();
                pending.flush(here, false, all);
            }
            '-' => {
                if !pending.flush(here, true, all) {
                    join_last(all);
                    all.push(Token::Hold(Span::new(here, here + 1)));
                }
            }
            '_' => {
                pending.flush(here, false, all);
                all.push(Token::Hold(Span::new(here, here + 1)));
            }
            '*' => {
                pending.flush(here, false, all);
                all.push(Token::Blank(Span::new(here, here + 1)));
            }
            '|' => {
                pending.flush(here, false, all);
                all.push(Token::BarLine);
            }
            '~' => pending.push(here, " "),
            '\\' => match chars.next_if(|(_, next)| !next.is_whitespace()) {
                Some((_, '-')) => pending.push(here, "-"),
                Some((_, next)) => pending.push(here, &format!("\\{next}")),
                None => {}
            },
            c => pending.push(here, c.encode_utf8(&mut [0; 4])),
        }
    }
    pending.flush(start + piece.trim_end().len(), false, all);
}

/// A hyphen apart from its syllable still says that the word goes on.
fn join_last(all: &mut [Token]) {
    let last = all.iter_mut().rev().find(|token| !matches!(token, Token::Hold(_)));
    if let Some(Token::Text { joined, .. }) = last {
        *joined = true;
    }
}

fn symbol_tokens(piece: &str, start: usize, all: &mut Vec<Token>) {
    let mut at = 0;
    while let Some(c) = piece[at..].chars().next() {
        let rest = &piece[at..];
        let closed = |close: char| rest[1..].find(close).map(|end| end + 2);
        let length = match c {
            c if c.is_whitespace() => 0,
            '"' => closed('"').unwrap_or(rest.len()),
            '!' | '+' => closed(c).unwrap_or(1),
            _ => c.len_utf8(),
        };
        let span = Span::new(start + at, start + at + length);
        match c {
            '*' => all.push(Token::Blank(span)),
            '|' => all.push(Token::BarLine),
            _ if length > 0 => {
                all.push(Token::Text { text: rest[..length].to_owned(), joined: false, span });
            }
            _ => {}
        }
        at += length.max(c.len_utf8());
    }
}

/// A syllable as it is shown: its text, a hyphen when its word goes on.
#[cfg(test)]
fn shown(piece: &str) -> Vec<String> {
    let mut all = Vec::new();
    word_tokens(piece, 0, &mut all);
    let one = |token: &Token| match token {
        Token::Text { text, joined, .. } => format!("{text}{}", if *joined { "-" } else { "" }),
        Token::Hold(_) => "_".to_owned(),
        Token::Blank(_) => "*".to_owned(),
        Token::BarLine => "|".to_owned(),
    };
    all.iter().map(one).collect()
}

/// Moves what points at events when these are sorted.
pub(crate) fn move_events(voice: &mut Voice, moved: impl Fn(u32) -> u32) {
    voice.syllables.iter_mut().for_each(|syllable| syllable.event = moved(syllable.event));
    for slur in &mut voice.slurs {
        (slur.from, slur.to) = (moved(slur.from), moved(slur.to));
    }
    voice.clef_changes.iter_mut().for_each(|change| change.event = moved(change.event));
    voice.clef_changes.sort_by_key(|change| change.event);
    for tie in &mut voice.loose_ties {
        tie.next = tie.next.map(&moved);
    }
}

/// Moves the spans of what is kept here.
pub(crate) fn move_spans(tune: &mut Tune, moved: &impl Fn(&mut Span)) {
    tune.tempi.iter_mut().for_each(|tempo| moved(&mut tempo.span));
    tune.sections.iter_mut().for_each(|section| moved(&mut section.span));
    tune.texts.iter_mut().for_each(|text| moved(&mut text.span));
    tune.margin.iter_mut().for_each(|note| moved(&mut note.span));
    tune.groupings.iter_mut().for_each(|grouping| moved(&mut grouping.span));
    for voice in &mut tune.voices {
        voice.syllables.iter_mut().for_each(|syllable| moved(&mut syllable.span));
        voice.loose_ties.iter_mut().for_each(|tie| moved(&mut tie.span));
        for slur in &mut voice.slurs {
            moved(&mut slur.open);
            moved(&mut slur.close);
        }
        for bar in &mut voice.bars {
            bar.repeat_line.iter_mut().for_each(moved);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn syllables() {
        assert_eq!(
            shown("win-ter -time is o-ver"),
            ["win-", "ter-", "_", "time", "is", "o-", "ver"]
        );
        assert_eq!(shown("slow__ goes_ by"), ["slow", "_", "_", "goes", "_", "by"]);
        assert_eq!(shown("syll-_able a--b"), ["syll-", "_", "able", "a-", "_", "b"]);
        assert_eq!(
            shown(r"in~the self\-made * one|two"),
            ["in the", "self-made", "*", "one", "|", "two"]
        );
        assert_eq!(shown("1. The sun"), ["1. The", "sun"]);
        assert_eq!(shown("1.~The sun"), ["1. The", "sun"]);
        assert_eq!(shown("1.The sun"), ["1.The", "sun"]);
        assert_eq!(shown(r"\'et\'e &amp; \~n"), ["été", "&", "ñ"]);
    }

    #[test]
    fn symbols_apart_and_close() {
        let mut all = Vec::new();
        symbol_tokens("\"Dm\" *!p!| +f+ T", 0, &mut all);
        let text = |token: &Token| match token {
            Token::Text { text, .. } => text.clone(),
            _ => String::new(),
        };
        assert_eq!(all.iter().map(text).collect::<Vec<_>>(), ["\"Dm\"", "", "!p!", "", "+f+", "T"]);
    }
}
