//! The head of the tune: fields in the standard's order, the grouping of staves, the voices, the key.

use super::Voice;
use super::settings::{Current, Settings};
use super::text::{field, quoted};
use crate::sheet::{Part, PartGroup, ScoreMark, Sheet};
use recte_theory::Time;
use recte_theory::instruments::{Family, Found, Instrument, Roster, choose};
use std::fmt::Write;

/// The fields that tell of a tune in the order they are typed; the words below it (`W`) stand below it.
const ORDER: [char; 11] = ['A', 'O', 'R', 'B', 'D', 'F', 'G', 'H', 'S', 'Z', 'N'];

/// The words that stand below the music.
pub(super) fn words_below(sheet: &Sheet) -> String {
    let words = sheet.head.fields.iter().filter(|(letter, _)| *letter == 'W');
    words.map(|(_, text)| format!("W:{}\n", field(text))).collect()
}

pub(super) fn header(
    sheet: &Sheet,
    settings: &Settings,
    voices: &[Voice<'_>],
    unit: Time,
    name: &str,
) -> String {
    let head = &sheet.head;
    let number = head.number.as_deref().unwrap_or("1");
    let mut text = format!("%abc-2.1\nX:{}\n", field(number));
    let own = [name.to_owned()];
    let titles = if head.titles.is_empty() { &own[..] } else { &head.titles };
    let mut line = |name: char, value: &str| {
        let _ = writeln!(text, "{}", format!("{name}:{}", field(value)).trim_end());
    };
    titles.iter().for_each(|title| line('T', title));
    head.composers.iter().for_each(|composer| line('C', composer));
    for letter in ORDER {
        let own = head.fields.iter().filter(|(field, _)| *field == letter);
        own.for_each(|(_, text)| line(letter, text));
    }
    head.part_order.iter().for_each(|order| line('P', order));
    let metre = settings.metre(0, 0);
    let _ = writeln!(text, "M:{metre}\nL:{unit}");
    if let Some(tempo) = tempo_at(sheet, 0, Time::ZERO) {
        let _ = writeln!(text, "Q:{tempo}");
    }
    if voices.len() > 1 {
        let _ = writeln!(text, "%%score {}", score(sheet, voices));
    }
    for voice in voices {
        let described = describe(sheet, settings, voice);
        let plain = voices.len() == 1 && described == " clef=treble";
        if !plain {
            let _ = writeln!(text, "V:{}{described}", voice.id);
        }
    }
    for voice in voices {
        if let Some(instrument) = instrument(sheet, settings, voice) {
            let _ = writeln!(text, "%%recte instrument {} {instrument}", voice.id);
        }
    }
    let _ = writeln!(text, "K:{}", key(settings, voices).unwrap_or("C"));
    text
}

/// What the tempo says, as a `Q:` field has it.
fn tempo(words: &str, beat: &[Time], per_minute: u32) -> String {
    let beat: Vec<String> = beat.iter().map(Time::to_string).collect();
    let speed = match per_minute {
        0 => String::new(),
        number => format!("{}={number}", beat.join(" ")),
    };
    match words {
        "" => speed,
        words => format!("{} {speed}", quoted(words)).trim_end().to_owned(),
    }
}

/// The tempo at a place, as one field says it: all its words, and the last number.
pub(super) fn tempo_at(sheet: &Sheet, measure: usize, onset: Time) -> Option<String> {
    let here = sheet.signs.iter().filter(|s| s.measure as usize == measure && s.onset == onset);
    let mut words: Vec<&str> = Vec::new();
    let mut speed: (&[Time], u32) = (&[], 0);
    for sign in here {
        if let ScoreMark::Tempo { words: said, beat, per_minute } = &sign.what {
            if !said.is_empty() && !words.contains(&said.as_str()) {
                words.push(said);
            }
            if *per_minute > 0 {
                speed = (beat, *per_minute);
            }
        }
    }
    let text = tempo(&words.join(" "), speed.0, speed.1);
    (!text.is_empty()).then_some(text)
}

/// The key most voices begin with.
pub(super) fn key<'a>(settings: &'a Settings, voices: &[Voice<'_>]) -> Option<&'a str> {
    let keys = || voices.iter().filter_map(|voice| settings.opening(voice.part, voice.staff));
    let names: Vec<&str> = keys().map(|current| current.key.name.as_str()).collect();
    let count = |name: &str| names.iter().filter(|known| **known == name).count();
    // The first of those that occur most.
    names.iter().rev().max_by_key(|name| count(name)).copied()
}

fn describe(sheet: &Sheet, settings: &Settings, voice: &Voice<'_>) -> String {
    let mut text = String::new();
    let Some(part) = sheet.parts.get(voice.part) else { return text };
    if named(voice) {
        if !part.name.is_empty() {
            let _ = write!(text, " name={}", quoted(&part.name));
        }
        if !part.abbreviation.is_empty() && part.abbreviation != part.name {
            let _ = write!(text, " snm={}", quoted(&part.abbreviation));
        }
    }
    if let Some(current) = settings.opening(voice.part, voice.staff) {
        let _ = write!(text, " clef={}", clef(current));
        if current.transpose != 0 {
            let _ = write!(text, " transpose={}", current.transpose);
        }
    }
    if let Some(lines) = part.staff_lines.filter(|lines| *lines != 5) {
        let _ = write!(text, " stafflines={lines}");
    }
    text
}

/// The first voice of a part carries its name.
fn named(voice: &Voice<'_>) -> bool {
    voice.first && voice.staff == 1
}

/// `treble`, `bass-8`.
pub(super) fn clef(current: &Current) -> String {
    let octave = match current.clef.octaves {
        ..=-1 => "-8",
        0 => "",
        1.. => "+8",
    };
    format!("{}{octave}", current.clef.name)
}

/// The instrument to name in so many words, where the voice's own name does not tell it.
fn instrument(sheet: &Sheet, settings: &Settings, voice: &Voice<'_>) -> Option<&'static str> {
    let part = sheet.parts.get(voice.part)?;
    let current = settings.opening(voice.part, voice.staff)?;
    let by_name = known(&part.name, current).or_else(|| known(&part.abbreviation, current));
    match by_name {
        Some(_) if named(voice) => None,
        Some(instrument) => Some(&instrument.name),
        None => {
            // The name of what plays the part back may be anyone's guess: it is taken where all else agrees.
            let found =
                known(&part.called, current).or_else(|| known(&part.instrument, current))?;
            let clef = clef(current);
            let fits = choose(&[found], Some(&clef), Some(current.transpose)).is_some();
            let sung = part.measures.iter().flat_map(|m| &m.events).any(|e| !e.lyrics.is_empty());
            (fits && sung == (found.family == Family::Voice)).then_some(found.name.as_str())
        }
    }
}

fn known(label: &str, current: &Current) -> Option<&'static Instrument> {
    match Roster::standard().find(label) {
        Found::One(instrument) => Some(instrument),
        Found::Several(all) => choose(&all, Some(&clef(current)), Some(current.transpose)),
        Found::None => None,
    }
}

/// `[ (S A) | B ]`: brackets and braces as the source has them, voices of one staff in round brackets.
fn score(sheet: &Sheet, voices: &[Voice<'_>]) -> String {
    let parts: Vec<String> =
        sheet.parts.iter().enumerate().map(|(index, part)| staves(index, part, voices)).collect();
    let all = PartGroup {
        first: 0,
        last: parts.len().max(1) - 1,
        brace: false,
        drawn: false,
        bars_joined: false,
    };
    // The widest first, so that each holds those after it.
    let mut groups: Vec<&PartGroup> =
        sheet.groups.iter().filter(|group| group.last < parts.len()).collect();
    groups.sort_by_key(|group| (group.first, usize::MAX - group.last));
    inside(&all, &groups, &parts)
}

/// The members of a group, each a part or a group of its own.
fn inside(group: &PartGroup, groups: &[&PartGroup], parts: &[String]) -> String {
    let mut members: Vec<String> = Vec::new();
    let mut at = group.first;
    let mut rest = groups;
    while at <= group.last {
        let next = rest.iter().position(|inner| inner.first >= at && inner.last <= group.last);
        match next.and_then(|next| Some((next, rest.get(next)?))) {
            Some((next, inner)) if inner.first == at => {
                members.push(inside(inner, rest.get(next + 1..).unwrap_or_default(), parts));
                at = inner.last + 1;
                rest = rest.get(next + 1..).unwrap_or_default();
            }
            _ => {
                members.extend(parts.get(at).cloned());
                at += 1;
            }
        }
    }
    let joined = members.join(if group.bars_joined { " | " } else { " " });
    match (group.drawn && members.len() > 1, group.brace) {
        (false, _) => joined,
        (true, true) => format!("{{{joined}}}"),
        (true, false) => format!("[{joined}]"),
    }
}

fn staves(index: usize, part: &Part, voices: &[Voice<'_>]) -> String {
    let staff = |staff: u8| {
        let own = voices.iter().filter(|voice| voice.part == index && voice.staff == staff);
        let ids: Vec<&str> = own.map(|voice| voice.id.as_str()).collect();
        match ids.as_slice() {
            [id] => (*id).to_owned(),
            ids => format!("({})", ids.join(" ")),
        }
    };
    let all: Vec<String> = (1..=part.staves.max(1)).map(staff).collect();
    match all.as_slice() {
        [one] => one.clone(),
        all => format!("{{{}}}", all.join(" | ")),
    }
}
