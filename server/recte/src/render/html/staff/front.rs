//! Clefs, key signatures, time signatures, bar lines.

use super::glyphs::width;
use super::ink::{Ink, Kind};
use super::shape::y_of;
use recte_assist::report::staff::{Change, Front, StaffBar};
use recte_score::{Clef, LineStyle};
use recte_theory::key::Signature;
use recte_theory::{Letter, Metre, Pitch};

/// A clef within the music is so much smaller.
const WITHIN: f64 = 0.75;
/// Between clef, key and time.
const GAP: f64 = 9.0;

/// The order of sharps; that of flats is the other way round.
const SHARPS: [Letter; 7] =
    [Letter::F, Letter::C, Letter::G, Letter::D, Letter::A, Letter::E, Letter::B];

/// The step its line is on, and the pitch there.
fn place(clef: &Clef) -> (&'static str, i32, Pitch) {
    let sign = match clef.name.as_str() {
        "alto" | "tenor" => "clef-c",
        "bass" => "clef-f",
        "perc" => "clef-p",
        "none" => "",
        _ => "clef-g",
    };
    let (pitch, line) = clef.marks();
    (sign, 2 * (i32::from(line) - 3), pitch)
}

/// Draws a clef and returns how wide it is.
pub(super) fn clef(ink: &mut Ink, clef: &Clef, x: f64, within: bool) -> f64 {
    let (sign, step, _) = place(clef);
    if sign.is_empty() {
        return 0.0;
    }
    let scale = if within { WITHIN } else { 1.0 };
    let y = if sign == "clef-p" { 0.0 } else { y_of(step) };
    ink.glyph(Kind::Clef, false, sign, x, y, scale);
    let (over, under) = match sign {
        "clef-g" => (-51.0, 34.0),
        "clef-c" => (-28.0, 28.0),
        _ => (-14.0, 34.0),
    };
    let octaves = if clef.octaves > 0 { over } else { under } * scale;
    let middle = x + width(sign) * scale / 2.0;
    let digits = match clef.octaves.abs() {
        0 => "",
        1 => "8",
        _ => "15",
    };
    let wide = digits.len() as f64 * 8.5 * scale;
    for (at, digit) in digits.chars().enumerate() {
        let x = middle - wide / 2.0 + at as f64 * 8.5 * scale;
        ink.glyph(Kind::Clef, false, &format!("i{digit}"), x, y + octaves, scale);
    }
    width(sign) * scale
}

/// The name of an accidental's sign.
pub(super) fn accidental(alter: i8) -> &'static str {
    match alter {
        ..=-2 => "flats",
        -1 => "flat",
        0 => "natural",
        1 => "sharp",
        2.. => "sharps",
    }
}

/// Where the sign of a letter stands in a signature: each clef has a window of seven steps for sharps and one for flats
/// (common practice, no source).
fn signature_step(letter: Letter, alter: i8, clef: &Clef) -> i32 {
    let (_, step, pitch) = place(clef);
    // The lowest of these steps; the tenor clef's sharps lie lower than the pattern of the others.
    let lowest = match (alter > 0, clef.name.as_str()) {
        (true, "tenor") => -2,
        (true, _) => -1,
        (false, "tenor") => -2,
        (false, _) => -3,
    };
    // In the bass the pattern is that of the treble a third lower, in the alto a step.
    let down = match clef.name.as_str() {
        "bass" => 2,
        "alto" => 1,
        _ => 0,
    };
    let of_letter = i32::from(letter.step()) - pitch.steps() + step;
    let lowest = lowest - down;
    lowest + (of_letter - lowest).rem_euclid(7)
}

/// Draws a signature (naturals for what it takes back of the one before), and returns how wide it is.
pub(super) fn key(
    ink: &mut Ink,
    now: &Signature,
    before: Option<&Signature>,
    under: &Clef,
    x: f64,
) -> f64 {
    if under.name == "perc" || under.name == "none" {
        return 0.0;
    }
    let order = |sharps: bool| -> Vec<Letter> {
        if sharps { SHARPS.to_vec() } else { SHARPS.iter().rev().copied().collect() }
    };
    let mut signs: Vec<(Letter, i8, i8)> = Vec::new();
    for sharps in [true, false] {
        for letter in order(sharps) {
            let was = before.map_or(0, |before| before.alter(letter));
            if now.alter(letter) == 0 && was != 0 && (was > 0) == sharps {
                signs.push((letter, 0, was));
            }
        }
    }
    for sharps in [true, false] {
        for letter in order(sharps) {
            let alter = now.alter(letter);
            if alter != 0 && (alter > 0) == sharps {
                signs.push((letter, alter, alter));
            }
        }
    }
    let mut at = x;
    for (letter, alter, placed) in signs {
        let name = accidental(alter);
        let y = y_of(signature_step(letter, placed, under));
        ink.glyph(Kind::Key, false, name, at, y, 1.0);
        at += width(name) + 0.8;
    }
    at - x
}

/// Draws a time signature, and returns how wide it is.
pub(super) fn metre(ink: &mut Ink, metre: &Metre, x: f64) -> f64 {
    let text = metre.to_string();
    let sign = match text.as_str() {
        "none" => return 0.0,
        "C" => "common",
        "C|" => "cut",
        _ => "",
    };
    if !sign.is_empty() {
        ink.glyph(Kind::Metre, false, sign, x, 0.0, 1.0);
        return width(sign);
    }
    let mut at = x;
    let mut rest = text.as_str();
    // `2+3/8`, `3/4+3/8`: a number after a stroke ends a fraction.
    while let Some((above, after)) = rest.split_once('/') {
        let (below, more) = after.split_once('+').unwrap_or((after, ""));
        let above: String = above.chars().filter(|c| !"()".contains(*c)).collect();
        let wide = digits_wide(&above).max(digits_wide(below));
        digits(ink, &above, at + (wide - digits_wide(&above)) / 2.0, -10.0);
        digits(ink, below, at + (wide - digits_wide(below)) / 2.0, 10.0);
        at += wide;
        if !more.is_empty() {
            digits(ink, "+", at, 0.0);
            at += digits_wide("+");
        }
        rest = more;
    }
    at - x
}

fn digits_wide(text: &str) -> f64 {
    text.chars().map(|digit| width(&format!("t{digit}"))).sum()
}

fn digits(ink: &mut Ink, text: &str, x: f64, y: f64) {
    let mut at = x;
    for digit in text.chars() {
        let name = format!("t{digit}");
        ink.glyph(Kind::Metre, false, &name, at, y, 1.0);
        at += width(&name);
    }
}

/// Draws what stands before the notes of a system, and returns where they may begin.
pub(super) fn front(ink: &mut Ink, front: &Front, first: bool) -> f64 {
    let mut x = 5.0;
    x += clef(ink, &front.clef, x, false) + GAP;
    let wide = key(ink, &front.signature, None, &front.clef, x);
    x += if wide > 0.0 { wide + GAP } else { 0.0 };
    if first {
        let wide = metre(ink, &front.metre, x);
        x += if wide > 0.0 { wide + GAP } else { 0.0 };
    }
    x - 2.0
}

/// Draws what takes over within the music, and returns how wide it is.
pub(super) fn change(ink: &mut Ink, one: &Change, under: &Clef, x: f64) -> f64 {
    let wide = match one {
        Change::Clef(now) => clef(ink, now, x, true),
        Change::Key(now, before) => key(ink, now, Some(before), under, x),
        Change::Metre(now) => metre(ink, now, x),
    };
    if wide > 0.0 { wide + GAP * 0.75 } else { 0.0 }
}

/// Draws the line after a bar, and returns how wide it is. `opens`: a passage to repeat begins after it.
pub(super) fn bar_line(ink: &mut Ink, bar: Option<&StaffBar>, opens: bool, x: f64) -> f64 {
    let closes = bar.is_some_and(|bar| bar.closes);
    let style = bar.and_then(|bar| bar.line);
    let mut at = x;
    let thin = |ink: &mut Ink, at: f64| ink.bar(Kind::BarLine, false, [at, -20.0, at + 1.3, 20.0]);
    let thick = |ink: &mut Ink, at: f64| ink.bar(Kind::BarLine, false, [at, -20.0, at + 5.0, 20.0]);
    let dots = |ink: &mut Ink, at: f64| {
        for y in [-5.0, 5.0] {
            ink.dot(Kind::BarLine, false, at, y, 2.1);
        }
    };
    if closes {
        dots(ink, at + 2.1);
        at += 7.0;
    }
    match (closes, opens, style) {
        (true, _, _) | (_, false, Some(LineStyle::Final)) => {
            thin(ink, at);
            thick(ink, at + 4.0);
            at += 9.0;
        }
        (false, true, _) | (_, false, Some(LineStyle::Opening)) => {
            thick(ink, at);
            thin(ink, at + 8.0);
            at += 9.3;
        }
        (_, _, Some(LineStyle::Double)) => {
            thin(ink, at);
            thin(ink, at + 4.5);
            at += 5.8;
        }
        (_, _, Some(LineStyle::Dotted)) => {
            for y in [-17.0, -11.0, -5.0, 1.0, 7.0, 13.0] {
                ink.bar(Kind::BarLine, false, [at, y, at + 1.3, y + 3.0]);
            }
            at += 1.3;
        }
        (_, _, Some(LineStyle::Invisible) | None) => {}
        (_, _, Some(LineStyle::Plain)) => {
            thin(ink, at);
            at += 1.3;
        }
    }
    if opens {
        if closes {
            thin(ink, at + 3.0);
            at += 4.3;
        }
        dots(ink, at + 5.0);
        at += 7.1;
    }
    at - x
}
