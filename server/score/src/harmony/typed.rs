//! The harmonies of a lone melody are what its chord symbols say: a lead sheet.

use super::cells::{Cell, typed_cell};
use super::chords::Heard;
use super::degree::degree;
use super::foreign::foreign;
use super::keys::{self, Stretch};
use super::{Heading, Made, around, harmony, time};
use crate::chord_symbols::{Typed, typed_symbols};
use crate::spelling::{Sound, ticks};
use crate::tune::Tune;
use recte_theory::chord::Chord;
use recte_theory::{Key, PitchName};

/// A melody is alone where no more than one part in so many of it sounds together with something.
const ALONE: i64 = 8;
/// What says that no chord is played.
const NO_CHORD: [&str; 4] = ["N.C.", "N.C", "NC", "n.c."];

/// What the symbols say, if one voice has them, all sounds are hers, and they say what sounds (a part that is transposed
/// may have either).
pub(super) fn harmonies(tune: &Tune, sounds: &[Sound]) -> Option<Vec<Made>> {
    let symbols = typed_symbols(tune);
    let voice = symbols.iter().find(|typed| !typed.chords.is_empty())?.voice;
    let own = tune.voices.get(voice)?;
    let transposed = |semitones: i32| semitones % 12 != 0;
    let concert = !transposed(own.transpose)
        && !own.clef_changes.iter().any(|change| transposed(change.transpose));
    let others = symbols.iter().any(|typed| typed.voice != voice && !typed.chords.is_empty());
    if others || !concert || !is_lone(sounds) {
        return None;
    }
    let ends = ticks(tune.bars.last().map(|bar| bar.start + bar.length)?);
    let spans = spans(&symbols, ends);
    let said: Vec<(&Typed<'_>, Chord)> =
        spans.iter().filter_map(|(typed, ..)| Some((*typed, *typed.chords.first()?))).collect();
    let cells: Vec<Cell> = spans
        .iter()
        .zip(&said)
        .map(|((_, onset, end), (_, chord))| {
            let names: Vec<i32> =
                [chord.bass].into_iter().chain(chord.names()).map(PitchName::fifths).collect();
            typed_cell(tune, *onset, *end, &names)
        })
        .collect();
    let stretch = |(at, (_, chord)): (usize, &(&Typed<'_>, Chord))| Stretch {
        first: at,
        end: at + 1,
        chord: base(chord),
    };
    let stretches: Vec<Stretch> = said.iter().enumerate().map(stretch).collect();
    // Who types chords has thought of the key.
    let keys = keys::path(&cells, &stretches, &around(sounds, &cells, &stretches));
    let mut found: Vec<Made> = Vec::new();
    let mut until = 0;
    for (at, (typed, chord)) in said.iter().enumerate() {
        let (_, onset, end) = spans[at];
        if until < onset {
            found.push((harmony(tune, time(until), time(onset), None), None));
        }
        let named = Heard::named(chord.root.fifths(), &chord.quality.name);
        let heard = named.unwrap_or(stretches[at].chord);
        let members: Vec<i32> = chord.names().into_iter().map(PitchName::fifths).collect();
        let next = stretches.get(at + 1).map(|next| next.chord);
        let key = keys[at];
        let heading = Heading {
            chord: *chord,
            key: Key::new(PitchName::from_fifths(key.tonic), key.mode()),
            degree: degree(heard, chord, key, next),
            names: chord.names(),
            foreign: foreign(sounds, |name| members.contains(&name), (onset, end)),
            readings: typed.chords[1..].to_vec(),
            typed: true,
        };
        found.push((
            harmony(tune, time(onset), time(end), Some(heading)),
            Some(stretches[at].chord),
        ));
        until = end;
    }
    if until < ends {
        found.push((harmony(tune, time(until), time(ends), None), None));
    }
    Some(found)
}

/// Each symbol that says a chord, from when to when, in ticks; the same one typed again goes on.
fn spans<'a, 't>(symbols: &'a [Typed<'t>], ends: i64) -> Vec<(&'a Typed<'t>, i64, i64)> {
    let mut found: Vec<(&Typed<'_>, i64, i64)> = Vec::new();
    let mut open = false;
    for typed in symbols {
        let onset = ticks(typed.onset);
        let silent = NO_CHORD.contains(&typed.mark.text.trim());
        let Some(chord) = typed.chords.first().filter(|_| onset < ends) else {
            if silent && open {
                found.last_mut().into_iter().for_each(|last| last.2 = onset);
                open = false;
            }
            continue;
        };
        match found.last_mut() {
            // Of two on one note the first counts.
            Some(last) if last.1 == onset => continue,
            Some(last) if open && last.0.chords.first() == Some(chord) => continue,
            Some(last) if open => last.2 = onset,
            _ => {}
        }
        found.push((typed, onset, ends));
        open = true;
    }
    found.retain(|(_, onset, end)| onset < end);
    found
}

/// Whether hardly ever two notes sound at once.
fn is_lone(sounds: &[Sound]) -> bool {
    let (mut all, mut shared, mut until) = (0, 0, 0);
    for sound in sounds.iter().filter(|sound| !sound.grace) {
        all += sound.end - sound.onset;
        shared += (sound.end.min(until) - sound.onset).max(0);
        until = until.max(sound.end);
    }
    all > 0 && shared * ALONE <= all
}

/// The triad or seventh chord that a chord is made on.
fn base(chord: &Chord) -> Heard {
    let root = chord.root.fifths();
    let has = |member: &i32| chord.quality.intervals.iter().any(|one| one.fifths() == *member);
    let third = [4, -3].into_iter().find(has).unwrap_or(4);
    let fifth = [1, -6, 8].into_iter().find(has).unwrap_or(1);
    let seventh = [-2, 5, -9].into_iter().find(has);
    let whole: Vec<i32> = [0, third, fifth].into_iter().chain(seventh).collect();
    Heard::with_members(root, &whole)
        .or_else(|| Heard::with_members(root, &whole[..3]))
        .unwrap_or(Heard { root, kind: 0 })
}
