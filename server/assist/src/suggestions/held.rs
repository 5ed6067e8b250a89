//! A tonic or dominant held under a passage, by a voice that rests there, else by a voice of its own.

use super::{How, Idea, Scene};
use recte_notation::Block;
use recte_notation::write::{Alteration, TextEdit, length_text, pitch_text};
use recte_score::{Event, EventKind, Span, Voice};
use recte_theory::{Interval, Key, Pitch, PitchName};

/// The name of the voice that is added.
const PEDAL: &str = "Pedal";
/// No held note lies below this, the lowest C of the piano's bass staff with two ledger lines (C2).
const LOWEST: i32 = 36;

pub(super) fn ideas(scene: &Scene<'_>) -> Vec<Idea> {
    let Some(key) = key_of(scene) else { return Vec::new() };
    let Some(tonic) = key.tonic else { return Vec::new() };
    let dominant =
        PitchName::from_fifths(tonic.fifths() + Interval { steps: 4, semitones: 7 }.fifths());
    let lowest = scene.during(scene.from, scene.to).map(|sound| sound.pitch.midi()).min();
    let mut found = Vec::new();
    for (name, what) in [(tonic, "tonic"), (dominant, "dominant")] {
        let Some(pitch) = lowest.and_then(|lowest| under(name, lowest)) else { continue };
        let title = format!("Hold {} under {}", name.symbol(), scene.bars());
        let preview = vec![format!("{}: the {what} of {key}, {pitch}, is held", scene.bars())];
        let how = match resting(scene, pitch) {
            Some(changes) => Some(How::Notes(changes)),
            None => text(scene, pitch).map(How::Voice),
        };
        found.extend(how.map(|how| Idea { title, preview, how, chords: Vec::new() }));
    }
    found
}

/// The key of the first harmony.
fn key_of(scene: &Scene<'_>) -> Option<Key> {
    let told = scene.harmonies.between(scene.from, scene.to);
    told.first().map(|one| one.heading.key)
}

/// The highest pitch of that name that is not above a sound.
fn under(name: PitchName, lowest: i32) -> Option<Pitch> {
    let pitches = (1..=5).rev().map(|octave| Pitch { name, octave });
    pitches.filter(|pitch| pitch.midi() >= LOWEST).find(|pitch| pitch.midi() <= lowest)
}

/// The rests of a voice that is silent all through these bars, as one note.
fn resting(scene: &Scene<'_>, pitch: Pitch) -> Option<Vec<Alteration>> {
    let tune = scene.tune;
    let bars = scene.place.from..=scene.place.to;
    tune.voices.iter().zip(0u32..).find_map(|(voice, number)| {
        // Where what is read is what sounds, and low notes are written elsewhere.
        let plain = voice.notes.iter().all(|note| note.written == note.pitch);
        let low = voice.notes.iter().any(|note| note.pitch.midi() <= pitch.midi() + 5);
        let events: Vec<u32> = (0..voice.events.len() as u32)
            .filter(|&event| bars.contains(&voice.events[event as usize].bar))
            .collect();
        let rests = events.iter().all(|&event| {
            matches!(voice.events[event as usize].kind, EventKind::Rest | EventKind::BarRest(1))
        });
        let last = events.last().copied();
        (plain && low && rests && !events.is_empty() && tune.voices.len() > 1).then(|| {
            let note = |event: u32| Alteration::Instead {
                voice: number,
                event,
                pitch,
                tied: Some(event) != last,
            };
            events.iter().copied().map(note).collect()
        })
    })
}

/// A voice under all others: silent, but for one note all through these bars.
fn text(scene: &Scene<'_>, pitch: Pitch) -> Option<String> {
    let tune = scene.tune;
    let first = tune.voices.first()?;
    let event = first.events.first()?;
    if tune.voices.iter().any(|voice| voice.id == PEDAL) || first.bars.len() != tune.bars.len() {
        return None;
    }
    let unit = event.unit;
    let key = tune.keys.get(first.bars.first()?.key as usize)?;
    let signed = key.signature.alter(pitch.name.letter) != pitch.name.alter;
    let mut text = format!("[V:{PEDAL}] [L:{unit}]");
    let mut metre = first.bars.first()?.metre;
    for (bar, number) in first.bars.iter().zip(0u32..) {
        let line = |span: Option<Span>| {
            span.and_then(|span| scene.place.text().get(span.range()))
                .map(|line| line.trim().to_owned())
        };
        let opening = bar.repeat_line.filter(|own| {
            number
                .checked_sub(1)
                .is_none_or(|before| first.bars[before as usize].line != Some(*own))
        });
        text.extend(line(opening));
        if bar.ending {
            let times: Vec<String> = bar.endings.iter().map(u8::to_string).collect();
            text.push_str(&format!("[{} ", times.join(",")));
        }
        if bar.metre != metre {
            metre = bar.metre;
            text.push_str(&format!("[M:{}]", tune.metres.get(metre as usize)?));
        }
        let full = tune.metre(bar).length() == Some(bar.length);
        let held = (scene.place.from..=scene.place.to).contains(&number);
        let length = length_text(bar.length / unit);
        text.push_str(&match (held, full) {
            (true, _) => {
                // Over a repeat or into an ending no tie leads.
                let next = first.bars.get(number as usize + 1);
                let parts = bar.strong_line
                    || next.is_some_and(|next| next.ending || next.repeat_opens > 0);
                let tie = if number < scene.place.to && !parts { "-" } else { "" };
                format!("{}{length}{tie}", pitch_text(pitch, signed))
            }
            (false, true) => "Z".to_owned(),
            (false, false) => format!("z{length}"),
        });
        text.push_str(&line(bar.line).unwrap_or_else(|| "|".to_owned()));
    }
    Some(text)
}

/// The edit that puts a voice after the last line, if all others stay as they are.
pub(super) fn appended(block: &Block, text: &str) -> Option<Vec<TextEdit>> {
    let at = block.text.trim_end().len();
    let insert = |at: usize, text: String| TextEdit { span: Span::new(at, at), text };
    let tune = &block.lowered().tune;
    let declared = format!("V:{PEDAL} clef=bass name=\"{PEDAL}\"\n");
    let first = tune.voices.first()?.declared;
    let mut edits = if first == Span::default() || first.end <= tune.header.end {
        // It is declared before the key, where a header ends; where none declares the one voice there is, with it.
        let key = block.text.get(tune.header.range())?.rfind("\nK:")?;
        let key = tune.header.start as usize + key + 1;
        let alone = if first == Span::default() { "V:1\n" } else { "" };
        vec![insert(key, format!("{alone}{declared}")), insert(at, format!("\n{text}"))]
    } else {
        vec![insert(at, format!("\n{declared}{text}"))]
    };
    // Where the staves are listed, it is the lowest.
    for staves in &tune.groupings {
        let end = block.text.get(..staves.span.end as usize)?.trim_end().len();
        edits.push(insert(end, format!(" {PEDAL}")));
    }
    let after = block.edited(&edits).ok()?;
    let (before, after) = (block.lowered(), after.lowered());
    let (old, new) = (&before.tune, &after.tune);
    let added = new.voices.last()?;
    let pitches = |voice: &Voice| {
        let event = |event: &Event| {
            let notes = voice.notes_of(event).iter().map(|note| note.pitch).collect::<Vec<_>>();
            (event.bar, event.offset, event.duration, notes)
        };
        voice.events.iter().map(event).collect::<Vec<_>>()
    };
    let same = |(a, b): (&Voice, &Voice)| pitches(a) == pitches(b);
    let meets = added.bars.len() == old.bars.len()
        && added.bars.iter().zip(&old.bars).all(|(own, all)| own.length == all.length);
    let whole =
        new.voices.len() == old.voices.len() + 1 && old.voices.iter().zip(&new.voices).all(same);
    let quiet = after.problems.len() <= before.problems.len();
    (whole && meets && quiet).then_some(edits)
}
