//! Words under the music (abc standard v2.1, section 5).

use super::items::Item;
use super::text::syllable;
use super::{Bar, Voice};
use crate::sheet::Lyric;
use std::collections::BTreeSet;

/// The verses of a voice, in the order of their numbers.
pub(super) fn verses(voice: &Voice<'_>) -> Vec<String> {
    let items = voice.bars.iter().flatten().flatten().filter(|item| item.is_note());
    let lyrics = items.filter_map(|item| item.event).flat_map(|event| &event.lyrics);
    let names: BTreeSet<(u32, &str)> = lyrics
        .map(|lyric| (lyric.verse.parse().unwrap_or(u32::MAX), lyric.verse.as_str()))
        .collect();
    names.into_iter().map(|(_, name)| name.to_owned()).collect()
}

/// What goes on from one system to the next: a word, or a syllable that is held, in each verse.
#[derive(Clone, Copy, Default, PartialEq)]
pub(super) enum Going {
    #[default]
    Nothing,
    /// A line after a syllable.
    Held,
    /// The hyphen of a word that goes on.
    Joined,
}

/// The `w:` lines for some bars: as many as the last verse that has words there needs.
pub(super) fn lines(verses: &[String], bars: &[Bar<'_>], going: &mut [Going]) -> Vec<String> {
    let items: Vec<&Item<'_>> = bars.iter().flatten().flatten().collect();
    if !items.iter().any(|item| item.is_note()) {
        return Vec::new();
    }
    let mut lines: Vec<String> = Vec::new();
    for (verse, state) in verses.iter().zip(going) {
        lines.push(line(verse, &items, state));
    }
    while lines.len() > 1 && lines.last().is_some_and(String::is_empty) {
        lines.pop();
    }
    // Verses side by side speak of the same notes.
    if lines.iter().filter(|line| !line.is_empty()).count() < 2 {
        for line in &mut lines {
            line.truncate(line.trim_end_matches([' ', '*']).len());
        }
    }
    lines
}

fn line(verse: &str, items: &[&Item<'_>], going: &mut Going) -> String {
    let mut line = String::new();
    let mut any = *going == Going::Held;
    for item in items.iter().filter(|item| !item.is_grace()) {
        if item.is_rest() {
            // A syllable is not held over a rest; a word may go on after one.
            if *going == Going::Held {
                *going = Going::Nothing;
            }
            continue;
        }
        let own = |lyric: &&Lyric| lyric.verse == verse;
        let lyric = item.event.and_then(|event| event.lyrics.iter().find(own));
        match lyric.filter(|_| !item.continues) {
            Some(lyric) if !lyric.text.is_empty() => {
                part(&mut line);
                match line.is_empty() {
                    true => line.push_str(&first_syllable(&lyric.text)),
                    false => line.push_str(&syllable(&lyric.text)),
                }
                any = true;
                *going = match (lyric.joined, lyric.extended || item.continued) {
                    (true, _) => {
                        line.push('-');
                        Going::Joined
                    }
                    (false, true) => Going::Held,
                    (false, false) => Going::Nothing,
                };
            }
            _ => match *going {
                Going::Nothing => {
                    part(&mut line);
                    line.push('*');
                }
                Going::Held | Going::Joined => line.push('_'),
            },
        }
    }
    // A word that goes on is not held over what no syllable follows on this line.
    if *going == Going::Joined {
        line.truncate(line.trim_end_matches('_').len());
    }
    if any { line } else { String::new() }
}

/// A line that begins with a digit begins with the number of its verse, which goes to the next space.
fn first_syllable(text: &str) -> String {
    let typed = syllable(text);
    match typed.chars().next().filter(char::is_ascii_digit) {
        None => typed,
        Some(_) if typed.contains('~') => typed.replacen('~', " ", 1),
        Some(digit) => format!("&#{};{}", u32::from(digit), &typed[1..]),
    }
}

/// A space before what comes, unless a hyphen parts it already.
fn part(line: &mut String) {
    let joined = line.ends_with('-') && !line.ends_with("\\-");
    if !line.is_empty() && !joined {
        line.push(' ');
    }
}
