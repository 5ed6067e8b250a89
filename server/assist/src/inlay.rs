//! Harmonies shown between the signs of the text, without being typed: chord symbols and degrees.

use crate::harmony::{Harmonies, heading, numerals, place_in_key, same_notes};
use crate::host::Snapshot;
use recte_notation::{Block, BlockKind};
use recte_score::{Event, Tune};
use recte_theory::Time;
use recte_theory::chord::Family;
use std::collections::HashMap;
use std::ops::Range;

/// Something shown at a place of the text.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Inlay {
    /// The byte of the document it stands before.
    pub at: usize,
    /// What is shown: "C/E", "I6", "C/E I6".
    pub text: String,
    /// The same in plain words.
    pub tip: String,
}

/// The harmonies that begin within a range, as the settings ask for them; none where they ask for none.
///
/// Each stands once, where it begins: before the note of the first voice that has one beginning there. A chord whose
/// symbol is typed there already is not shown again.
pub fn inlays(snapshot: &Snapshot, range: &Range<usize>) -> Vec<Inlay> {
    let hints = &snapshot.config.hints;
    if !hints.chords && !hints.degrees {
        return Vec::new();
    }
    let mut found = Vec::new();
    for (start, block) in snapshot.document.blocks() {
        let end = start + block.text.len();
        if block.kind == BlockKind::Tune && start <= range.end && range.start <= end {
            let own = range.start.saturating_sub(start)..range.end.saturating_sub(start);
            let shown = of_block(block, &own, hints.chords, hints.degrees);
            found.extend(shown.into_iter().map(|one| Inlay { at: start + one.at, ..one }));
        }
    }
    found
}

fn of_block(block: &Block, range: &Range<usize>, chords: bool, degrees: bool) -> Vec<Inlay> {
    let harmonies = Harmonies::of(block);
    let tune = harmonies.tune;
    let heads = heads(tune);
    let symbols = harmonies.symbols();
    let within = |event: &&Event| {
        let at = event.full.start as usize;
        event.sounds() && (range.contains(&at) || at == range.end)
    };
    let here = tune.voices.iter().flat_map(|voice| &voice.events).filter(within);
    let times: Vec<(Time, Time)> =
        here.map(|event| (tune.onset(event), tune.onset(event) + event.duration)).collect();
    let from = times.iter().map(|(onset, _)| *onset).min();
    let to = times.iter().map(|(_, end)| *end).max();
    let Some((from, to)) = from.zip(to) else { return Vec::new() };
    let all = harmonies.between(from, to);
    let shown = all.iter().filter_map(|harmony| {
        let told = &harmony.heading;
        let at = heads.get(&harmony.onset)?.full.start as usize;
        if !range.contains(&at) && at != range.end {
            return None;
        }
        let typed = symbols.iter().filter(|typed| typed.onset == harmony.onset);
        let known = typed
            .flat_map(|typed| &typed.chords)
            .any(|typed| same_notes(typed, &told.chord) && typed.bass == told.chord.bass);
        // The degree of an augmented sixth is its name.
        let named = degrees && told.chord.quality.family == Family::AugmentedSixth;
        let chord = (chords && !known && !named).then(|| told.chord.symbol());
        let degree = degrees.then(|| numerals(&told.degree));
        let parts: Vec<String> = chord.into_iter().chain(degree).collect();
        let place = place_in_key(told).map(|place| format!("\n{place}")).unwrap_or_default();
        let tip = format!("{}{place}", heading(&told.chord));
        (!parts.is_empty()).then(|| Inlay { at, text: parts.join(" "), tip })
    });
    let mut shown: Vec<Inlay> = shown.collect();
    shown.sort_by_key(|one| one.at);
    shown
}

/// For each moment at which a note begins, the event of the first voice that has one.
fn heads(tune: &Tune) -> HashMap<Time, &Event> {
    let mut heads = HashMap::new();
    for event in tune.voices.iter().flat_map(|voice| &voice.events).filter(|one| one.sounds()) {
        heads.entry(tune.onset(event)).or_insert(event);
    }
    heads
}

#[cfg(test)]
mod tests {
    use super::*;
    use recte_notation::Document;
    use recte_review::{Config, Hints};
    use std::sync::Arc;

    /// The music with what is shown in angle brackets.
    fn shown(music: &str, chords: bool, degrees: bool, range: Option<Range<usize>>) -> String {
        let head = "X:1\nM:4/4\nL:1/4\nK:C\n";
        let text = format!("{head}{music}\n");
        let config = Config { hints: Hints { chords, degrees }, ..Config::default() };
        let snapshot = Snapshot::new(Document::new(&text), Arc::new(config));
        let mut after = text.clone();
        for one in inlays(&snapshot, &range.unwrap_or(0..text.len())).iter().rev() {
            after.insert_str(one.at, &format!("‹{}›", one.text));
        }
        after[head.len()..].trim().to_owned()
    }

    const MUSIC: &str = "[V:1]e4|d4|e4|]\n[V:2]c4|B4|c4|]\n[V:3]G4|F4|G4|]\n[V:4]C4|G,4|C,4|]";

    #[test]
    fn off_unless_asked_for() {
        assert_eq!(shown(MUSIC, false, false, None), MUSIC);
    }

    #[test]
    fn once_for_a_moment_in_the_first_voice_that_begins_a_note() {
        let expected = MUSIC.replace("[V:1]e4|d4|e4", "[V:1]‹C›e4|‹G7›d4|‹C›e4");
        assert_eq!(shown(MUSIC, true, false, None), expected);
        let expected = MUSIC.replace("[V:1]e4|d4|e4", "[V:1]‹I›e4|‹V7›d4|‹I›e4");
        assert_eq!(shown(MUSIC, false, true, None), expected);
    }

    #[test]
    fn within_the_range_alone() {
        let from = "X:1\nM:4/4\nL:1/4\nK:C\n[V:1]e4|".len();
        let expected = MUSIC.replace("|d4|", "|‹G7 V7›d4|");
        assert_eq!(shown(MUSIC, true, true, Some(from..from + 2)), expected);
    }

    #[test]
    fn what_is_typed_is_not_shown_again() {
        let typed = MUSIC.replace("[V:1]e4|d4", "[V:1]\"C\"e4|\"G\"d4");
        let expected = typed.replace("\"G\"d4|e4", "‹G7›\"G\"d4|‹C›e4");
        assert_eq!(shown(&typed, true, false, None), expected);
    }

    #[test]
    fn degrees_of_a_lead_sheet() {
        let music = "\"C\"CDEF|\"G7\"GABd|\"C\"c4|]";
        let degrees = "‹I›\"C\"CDEF|‹V7›\"G7\"GABd|‹I›\"C\"c4|]";
        assert_eq!(shown(music, false, true, None), degrees);
        assert_eq!(shown(music, true, false, None), music);
    }
}
