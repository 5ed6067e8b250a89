//! Macros (abc standard v2.1, 9): `m: ~G2 = {A}G{F}G`, and with n for any note `m: ~n2 = {o}n{m}n`.
//!
//! They are expanded in the text before it is parsed; every span then points at what was typed. The chords
//! between plus signs of old files (10.2.3: disallowed) are read the same way, and so are included files (3.1.17),
//! the `!` that `I:linebreak !` makes a line break (6.1.1), and `[C:…]`, which is no chord and no field of a line.

use super::header::Defaults;
use crate::include::brought;
use crate::segment::{before_comment, is_field_line, line_at};
use recte_score::{Meaning, Span, Tune};
use recte_theory::{Letter, Pitch};

/// The longest text a macro may stand for in a score; more is a slip that would never end.
const LONGEST: usize = 1 << 20;

/// No score has more macros than this; further ones are not read.
const MOST_MACROS: usize = 500;

/// A field or a decoration inside a line is no longer than this.
const LONGEST_PIECE: usize = 1024;

/// A macro: what is typed, and what it stands for.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Macro {
    /// For a transposing macro without its `n` and what follows it.
    target: String,
    /// What follows the `n` of a transposing macro; `None` for a static one.
    length: Option<String>,
    replacement: String,
}

impl Macro {
    /// The macro that a line defines.
    fn on(line: &str) -> Option<Macro> {
        Macro::read(before_comment(line.strip_prefix("m:")?))
    }

    /// Reads the value of an `m:` field.
    pub(crate) fn read(value: &str) -> Option<Macro> {
        let (target, replacement) = value.split_once('=')?;
        let (target, replacement) = (target.trim(), replacement.trim().to_owned());
        if target.is_empty() || target.len() > 31 {
            return None;
        }
        Some(match target.split_once('n') {
            Some((head, length)) => {
                Macro { target: head.to_owned(), length: Some(length.to_owned()), replacement }
            }
            None => Macro { target: target.to_owned(), length: None, replacement },
        })
    }

    /// If this macro is typed at the head of a text: how long it is there, and what it stands for.
    fn expand(&self, text: &str) -> Option<(usize, String)> {
        let rest = text.strip_prefix(self.target.as_str())?;
        let Some(length) = &self.length else {
            // A target that ends in a note is another one with a length or an octave after it.
            let note = |c: char| Letter::from_char(c).is_some() || "0123456789/',".contains(c);
            let goes_on = self.target.ends_with(note)
                && rest.starts_with(|c: char| "0123456789/',".contains(c));
            return (!goes_on).then(|| (self.target.len(), self.replacement.clone()));
        };
        let letter = rest.chars().next().filter(char::is_ascii_alphabetic)?;
        let octaves = rest[1..].len() - rest[1..].trim_start_matches(['\'', ',']).len();
        let after = rest[1 + octaves..].strip_prefix(length.as_str())?;
        if after.starts_with(|c: char| c.is_ascii_digit() || c == '/') {
            return None;
        }
        let note = typed_pitch(letter, &rest[1..1 + octaves])?;
        let mut expanded = String::new();
        let mut left = self.replacement.as_str();
        while let Some(c) = left.chars().next() {
            let whole = apart(left, false);
            let (piece, others) = left.split_at(whole.unwrap_or(c.len_utf8()));
            expanded.push_str(&if whole.is_some() { piece.to_owned() } else { around(note, c) });
            left = others;
        }
        Some((text.len() - after.len(), expanded))
    }
}

/// Adds a macro in the place of one with the same target.
pub(crate) fn define(macros: &mut Vec<Macro>, defined: Option<Macro>) {
    let Some(defined) = defined else { return };
    let same = |known: &Macro| known.target == defined.target && known.length == defined.length;
    macros.retain(|known| !same(known));
    if macros.len() < MOST_MACROS {
        macros.push(defined);
    }
}

fn typed_pitch(letter: char, octaves: &str) -> Option<Pitch> {
    let name = Letter::from_char(letter)?;
    let base: i32 = if letter.is_ascii_lowercase() { 5 } else { 4 };
    let shift: i32 = octaves.chars().map(|c| if c == '\'' { 1 } else { -1 }).sum();
    Some(Pitch::new(name, 0, (base + shift).clamp(-9, 18) as i8))
}

/// A letter h to z of a replacement: so many steps from the note that stands for n.
fn around(note: Pitch, c: char) -> String {
    if !('h'..='z').contains(&c) {
        return c.to_string();
    }
    let steps = note.steps() + c as i32 - 'n' as i32;
    let octave = steps.div_euclid(7).clamp(-9, 18) as i8;
    crate::write::pitch_text(Pitch::new(Letter::from_step(steps), 0, octave), false)
}

/// How long a text, field, decoration or comment is that begins here: macros do not reach into it. Where `!` breaks
/// lines, what stands between two of them is music, unless it is the name of a decoration.
fn apart(text: &str, breaks: bool) -> Option<usize> {
    let to_line_end = |text: &str| text.find(['\n', '\r']).unwrap_or(text.len());
    match text.as_bytes().first()? {
        b'%' => Some(to_line_end(text)),
        b'"' => {
            let close = text[1..].find(['"', '\n', '\r']).map_or(text.len(), |place| place + 1);
            Some(close + usize::from(text[close..].starts_with('"')))
        }
        b'[' if is_field_line(&text[1..]) => closed(text, b']'),
        b'!' => closed(text, b'!').filter(|end| {
            let name = &text[1..end - 1];
            let music = |c: char| "ABCDEFGabcdefgzx0123456789/',^_=<>".contains(c);
            if breaks {
                let notes =
                    name.chars().all(music) && name.contains(|c| Letter::from_char(c).is_some());
                Meaning::of_decoration(name).is_some() && !notes
            } else {
                !name.is_empty() && !name.contains([' ', '\t', '|', '[', ']', ':'])
            }
        }),
        _ => None,
    }
}

/// How long a piece is that ends with this sign, on its line and within reason.
fn closed(text: &str, sign: u8) -> Option<usize> {
    let mut bytes = text.bytes().take(LONGEST_PIECE).skip(1);
    let place = bytes.position(|byte| byte == sign || matches!(byte, b'\n' | b'\r'))? + 1;
    (text.as_bytes().get(place) == Some(&sign)).then_some(place + 1)
}

/// `+CEG+` as `[CEG]`. Dynamics and fingerings stand between plus signs too: `+ff+` is one.
fn plus_chord(text: &str) -> Option<(usize, String)> {
    let (inner, _) = text.strip_prefix('+')?.split_once('+')?;
    let note = |c: char| Letter::from_char(c).is_some();
    let known = |c: char| note(c) || c.is_ascii_digit() || "^_=,'/".contains(c);
    let notes = inner.chars().filter(|c| note(*c)).count();
    let chord = notes > 1 && inner.chars().all(known) && inner.chars().any(|c| c != 'f');
    chord.then(|| (inner.len() + 2, format!("[{inner}]")))
}

/// Letters of notes and rests, which begin no field inside a line.
const ODD_FIELDS: &str = "ABCDEFGXabcdefgxz";

/// Whether something like `[C:…]` stands in the text.
fn has_odd_field(text: &str) -> bool {
    let mut places = text.match_indices('[').map(|(at, _)| &text[at..]);
    places.any(|rest| odd_field(rest).is_some())
}

/// `[C:name]` as a remark of the same length, with its letter: no chord holds a colon.
fn odd_field(text: &str) -> Option<(char, (usize, String))> {
    let inner = text.strip_prefix('[')?;
    let letter = inner.chars().next().filter(|letter| ODD_FIELDS.contains(*letter))?;
    let value = inner[1..].strip_prefix(':')?;
    let end = value.bytes().take(LONGEST_PIECE).position(|byte| b"]|[\n\r".contains(&byte))?;
    let value = value.get(..end).filter(|_| value.as_bytes()[end] == b']')?;
    Some((letter, (end + 4, format!("[r:{value}]"))))
}

/// A text with its macros expanded, and the way back.
pub(crate) struct Expanded {
    pub(crate) text: String,
    /// Chords between plus signs, as they stand now.
    pub(crate) plus_chords: Vec<Span>,
    /// Inline fields that are none, as they stand now, and their letters.
    pub(crate) odd_fields: Vec<(Span, char)>,
    /// Pieces that were expanded: where they stand now, and where they were typed.
    pieces: Vec<(Span, Span)>,
    /// A text longer than this is not expanded.
    limit: usize,
}

/// Expands the macros of a text; `None` when it has none to expand.
pub(crate) fn expand(text: &str, defaults: &Defaults) -> Option<Expanded> {
    let mut macros = defaults.macros.clone();
    let plus = text.contains('+');
    let mut breaks = defaults.exclaimed_breaks;
    let includes = !defaults.includes.is_empty() && text.contains("abc-include");
    let asks = || text.contains("m:") || text.contains("linebreak") || has_odd_field(text);
    if macros.is_empty() && !plus && !includes && !breaks && !asks() {
        return None;
    }
    let mut expanded = Expanded {
        text: String::with_capacity(text.len()),
        plus_chords: Vec::new(),
        odd_fields: Vec::new(),
        pieces: Vec::new(),
        limit: LONGEST.max(2 * text.len()),
    };
    let mut at = 0;
    let mut in_body = false;
    while at < text.len() {
        let line = line_at(text, at);
        define(&mut macros, Macro::on(line));
        breaks = exclaimed_breaks(line).unwrap_or(breaks);
        if let Some(lines) = brought(&defaults.includes, line) {
            let lines: Vec<&str> = lines.collect();
            lines.iter().for_each(|line| define(&mut macros, Macro::on(line)));
            let said = lines.iter().rev().find_map(|line| exclaimed_breaks(line));
            breaks = said.unwrap_or(breaks);
            expanded.included(&lines, line, at);
            at += line.len();
            continue;
        }
        in_body |= line.starts_with("K:");
        // In the body a letter of a note begins no field (3).
        let note = |c: char| Letter::from_char(c).is_some() || "XYZxyz".contains(c);
        let music = !is_field_line(line) || in_body && line.starts_with(note);
        if music && !line.trim_start().starts_with('%') {
            expanded.music_line(line, at, &mut macros, plus, breaks);
        } else {
            expanded.text.push_str(line);
        }
        at += line.len();
        if expanded.text.len() > expanded.limit {
            return None;
        }
    }
    (expanded.text != text).then_some(expanded)
}

/// What a line of instruction says of `!`: whether it breaks lines.
fn exclaimed_breaks(line: &str) -> Option<bool> {
    let instruction = line.strip_prefix("I:").or(line.strip_prefix("%%"))?;
    let mut words = before_comment(instruction).split_whitespace();
    (words.next()? == "linebreak").then(|| words.any(|word| word == "!"))
}

impl Expanded {
    fn music_line(
        &mut self,
        line: &str,
        start: usize,
        macros: &mut Vec<Macro>,
        plus: bool,
        breaks: bool,
    ) {
        let mut at = 0;
        while let Some(c) = line[at..].chars().next()
            && self.text.len() <= self.limit
        {
            let rest = &line[at..];
            // The longest target counts.
            let found = macros.iter().filter_map(|m| m.expand(rest));
            let found = found.max_by_key(|(typed, _)| *typed).filter(|(typed, _)| *typed > 0);
            let chord = if plus && found.is_none() { plus_chord(rest) } else { None };
            if chord.is_some() {
                self.plus_chords.push(Span::new(self.text.len(), self.text.len() + 1));
            }
            let odd = if found.is_none() { odd_field(rest) } else { None };
            if let Some((letter, _)) = &odd {
                let place = Span::new(self.text.len(), self.text.len() + 1);
                self.odd_fields.push((place, *letter));
            }
            if let Some((typed, replacement)) = found.or(chord).or(odd.map(|(_, field)| field)) {
                let now = self.text.len();
                self.text.push_str(&replacement);
                let piece = Span::new(now, self.text.len());
                self.pieces.push((piece, Span::new(start + at, start + at + typed)));
                at += typed;
                continue;
            }
            let length = apart(rest, breaks).unwrap_or(c.len_utf8());
            let piece = &rest[..length];
            if let Some(field) = piece.strip_prefix("[m:") {
                define(macros, Macro::read(field.trim_end_matches(']')));
            }
            self.text.push_str(if breaks && piece == "!" { "$" } else { piece });
            at += length;
        }
    }

    /// Lines in the place of the one that includes them.
    fn included(&mut self, lines: &[&str], line: &str, start: usize) {
        let typed = line.trim_end_matches(['\r', '\n']);
        let now = self.text.len();
        // A file that brings nothing leaves no empty line, which would end the tune.
        self.text.push_str(if lines.is_empty() { "%" } else { "" });
        self.text.push_str(&lines.join("\n"));
        let piece = Span::new(now, self.text.len());
        self.pieces.push((piece, Span::new(start, start + typed.len())));
        self.text.push_str(&line[typed.len()..]);
    }

    /// Whether a span of the expanded text lies in or across a piece that was expanded.
    pub(crate) fn meets(&self, span: Span) -> bool {
        let after = self.pieces.partition_point(|(now, _)| now.end <= span.start);
        self.pieces.get(after).is_some_and(|(now, _)| now.start < span.end)
    }

    /// Where a span of the expanded text was typed.
    pub(crate) fn typed(&self, span: Span) -> Span {
        Span { start: self.place(span.start, false), end: self.place(span.end, true) }
    }

    fn place(&self, at: u32, end: bool) -> u32 {
        let beyond = |(now, _): &(Span, Span)| if end { now.start < at } else { now.start <= at };
        let Some((now, typed)) =
            self.pieces.partition_point(beyond).checked_sub(1).map(|i| self.pieces[i])
        else {
            return at;
        };
        if at < now.end || end && at == now.end {
            if end { typed.end } else { typed.start }
        } else {
            at - now.end + typed.end
        }
    }

    /// Points every span of a tune at what was typed.
    pub(crate) fn point_back(&self, tune: &mut Tune) {
        move_spans(tune, &|span| *span = self.typed(*span));
    }

    /// Where something was expanded, as typed, in the order of the text.
    pub(crate) fn typed_pieces(&self) -> Vec<Span> {
        self.pieces.iter().map(|(_, typed)| *typed).collect()
    }
}

/// Moves every span of a tune.
pub(crate) fn move_spans(tune: &mut Tune, moved: &impl Fn(&mut Span)) {
    super::words::move_spans(tune, moved);
    moved(&mut tune.header);
    moved(&mut tune.span);
    tune.accepts.iter_mut().for_each(|accept| moved(&mut accept.span));
    tune.instructions.iter_mut().for_each(|instruction| moved(&mut instruction.span));
    tune.styles.iter_mut().for_each(|style| moved(&mut style.span));
    for voice in &mut tune.voices {
        moved(&mut voice.declared);
        voice.lyrics.iter_mut().for_each(moved);
        voice.notes.iter_mut().for_each(|note| moved(&mut note.span));
        voice.tuplets.iter_mut().for_each(|tuplet| moved(&mut tuplet.span));
        voice.marks.iter_mut().for_each(|mark| moved(&mut mark.span));
        for event in &mut voice.events {
            moved(&mut event.span);
            moved(&mut event.full);
            moved(&mut event.length);
        }
        for bar in &mut voice.bars {
            moved(&mut bar.span);
            bar.line.iter_mut().for_each(moved);
            bar.metre_typed.iter_mut().for_each(moved);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn expanded(macros: &str, music: &str) -> String {
        let text = format!("{macros}K:C\n{music}\n");
        let all =
            expand(&text, &Defaults::default()).map_or(text.clone(), |expanded| expanded.text);
        all.rsplit_once("K:C\n").unwrap().1.trim_end().to_owned()
    }

    #[test]
    fn static_macros_are_exact() {
        assert_eq!(expanded("m: ~G2 = {A}G{F}G\n", "~G2 ~G4 \"~G2\""), "{A}G{F}G ~G4 \"~G2\"");
        assert_eq!(expanded("m:~G2=GG\nm:~G2=BB\n", "~G2"), "BB");
    }

    #[test]
    fn transposing_macros_move_with_the_note() {
        assert_eq!(expanded("m: ~n2 = {o}n{m}n\n", "~G2~b2~C2"), "{A}G{F}G{c'}b{a}b{D}C{B,}C");
        assert_eq!(expanded("m: ~n3 = nom\n", "~c'3 ~c3/2"), "c'd'b ~c3/2");
    }

    #[test]
    fn chords_between_plus_signs() {
        assert_eq!(expanded("", "+CEG+2 +ff+ +trill+ \"+CE+\""), "[CEG]2 +ff+ +trill+ \"+CE+\"");
    }

    #[test]
    fn letters_of_notes_begin_no_field_inside_a_line() {
        assert_eq!(expanded("", "C[C:Ann]D[CEG][A:|"), "C[r:Ann]D[CEG][A:|");
    }

    #[test]
    fn spans_point_at_what_was_typed() {
        let text = "m: ~G2 = {A}G{F}G\nK:C\nA~G2B|\n";
        let all = expand(text, &Defaults::default()).unwrap();
        let at = |needle: &str| {
            let start = all.text.rfind(needle).unwrap();
            let span = all.typed(Span::new(start, start + needle.len()));
            &text[span.range()]
        };
        assert_eq!(at("F}G"), "~G2");
        assert_eq!(at("B|"), "B|");
        assert_eq!(at("A{A}"), "A~G2");
    }
}
