//! What a colleague would try: chords made richer, a note held under a passage, a smoother bass, other chords under a
//! melody note. Each changes the music and says so; none is offered unless it was asked for.
//!
//! A kind works out its changes from what sounds, and one place makes them: the text after must hold just those
//! changes, no rule may have more to say of it than before, and no new name may be one that the speller would not choose.

mod bass;
mod held;
mod reharmonised;
mod richer;

use crate::bars::Wanted;
use crate::bars::place::Place;
use crate::harmony::{Harmonies, same_notes};
use crate::host::Snapshot;
use crate::respell::best;
use recte_notation::write::{Alteration, TextEdit, altered};
use recte_notation::{Block, Change};
use recte_review::chord_symbols::symbol_text;
use recte_review::{Around, Finding, check_block};
use recte_score::{Sounding, Tune};
use recte_theory::chord::Chord;
use recte_theory::{Interval, Pitch, PitchName, Time};
use std::collections::{BTreeMap, BTreeSet};
use std::ops::Range;
use std::sync::Arc;

/// Something to try.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Suggestion {
    /// The result, and that it changes the music.
    pub title: String,
    /// What becomes of what, a line for each change: "bar 5: C minor (Cm) becomes C minor-major seventh (Cm(maj7))".
    pub preview: Vec<String>,
    /// The changes, all at once, in bytes of the document; else a sentence that says why there are none.
    pub changes: Result<Vec<Change>, String>,
}

/// What a kind of suggestion comes to.
struct Idea {
    /// The result, without the reminder that the music changes.
    title: String,
    preview: Vec<String>,
    how: How,
    /// The chords that become others.
    chords: Vec<Becomes>,
}

/// A chord that becomes another, from a moment on.
struct Becomes {
    onset: Time,
    old: Chord,
    new: Chord,
}

/// How an idea is written.
enum How {
    /// Notes are others, come, or take the place of rests.
    Notes(Vec<Alteration>),
    /// A voice comes, in this text after the last line.
    Voice(String),
}

/// What there is to think about: the bars asked about, and what sounds in them.
struct Scene<'a> {
    place: &'a Place<'a>,
    tune: &'a Tune,
    harmonies: Harmonies<'a>,
    /// From the beginning of the first bar to the end of the last.
    from: Time,
    to: Time,
}

/// The longest tune, in bytes, for which every suggestion is worked out at once.
const LONGEST: usize = 64 << 10;

const KINDS: [fn(&Scene<'_>) -> Vec<Idea>; 4] =
    [richer::ideas, held::ideas, bass::ideas, reharmonised::ideas];

/// What could be tried in the bars of a selection, or, where rewritings alone are wanted, in the bar at the cursor.
pub fn suggestions(
    snapshot: &Snapshot,
    range: Range<usize>,
    asked: bool,
    wanted: Wanted<'_>,
) -> Vec<Suggestion> {
    if !asked && range.is_empty() {
        return Vec::new();
    }
    let place = Place::find(snapshot, &range, asked, wanted);
    // Each is a check of the whole tune: an editor that cannot ask for one of them is not kept waiting.
    let place = place.filter(|place| wanted != Wanted::Proved || place.text().len() < LONGEST);
    place.map(|place| suggested(snapshot, &place)).unwrap_or_default()
}

/// The same for these bars of a tune, counted from 0; the tune with the byte it begins at.
pub fn suggestions_for(
    snapshot: &Snapshot,
    tune: (usize, &Arc<Block>),
    bars: (u32, u32),
    wanted: Wanted<'_>,
) -> Vec<Suggestion> {
    let place = Place::of_bars(tune, bars, wanted);
    place.map(|place| suggested(snapshot, &place)).unwrap_or_default()
}

fn suggested(snapshot: &Snapshot, place: &Place<'_>) -> Vec<Suggestion> {
    let Some(scene) = Scene::of(place) else { return Vec::new() };
    let mut before = None;
    let mut found: Vec<Suggestion> = Vec::new();
    for idea in KINDS.iter().flat_map(|kind| kind(&scene)) {
        let title = format!("{} (changes the music)", idea.title);
        if !place.wants(&title) || found.iter().any(|known| known.title == title) {
            continue;
        }
        let (symbols, told) = retyped(&scene, &idea.chords);
        let changes = match place.is_unproved() {
            true => Ok(Vec::new()),
            false => {
                let before = before.get_or_insert_with(|| Before::of(snapshot, place.block()));
                made(snapshot, place, before, &idea.how, symbols).map(|mut edits| {
                    // In the order of the text.
                    edits.sort_by_key(|edit| edit.span);
                    edits.iter().map(|edit| edit.change(place.start())).collect()
                })
            }
        };
        let preview = idea.preview.into_iter().chain(told).collect();
        found.push(Suggestion { title, preview, changes });
    }
    found
}

/// The chord symbols typed over chords that become others: what is typed for them, and a line for each that says so. One
/// that says something else, or is not typed between quotation marks on a note, stays.
fn retyped(scene: &Scene<'_>, chords: &[Becomes]) -> (Vec<TextEdit>, Vec<String>) {
    let (mut edits, mut told) = (Vec::new(), Vec::new());
    let symbols = scene.harmonies.symbols();
    for Becomes { onset, old, new } in chords {
        for typed in symbols.iter().filter(|one| one.onset == *onset && !one.chords.is_empty()) {
            let (bar, known) = (scene.bar(typed.event.bar), &typed.mark.text);
            let quoted = scene.place.text().get(typed.mark.span.range()).is_some_and(|text| {
                text.strip_prefix('"').and_then(|text| text.strip_suffix('"')) == Some(&**known)
            });
            let voice = &scene.tune.voices[typed.voice];
            let same = match typed.chords[..] {
                [one] => same_notes(&one, old) && voice.transpose % 12 == 0,
                _ => false,
            };
            let text = symbol_text(new).filter(|_| quoted && same);
            told.push(match &text {
                Some(text) => format!("{bar}: the chord symbol “{known}” becomes “{text}”"),
                None => format!("{bar}: the chord symbol “{known}” typed there stays"),
            });
            let edit = |text| TextEdit { span: typed.mark.span, text: format!("\"{text}\"") };
            edits.extend(text.map(edit));
        }
    }
    (edits, told)
}

/// What is remarked of a tune as it is.
struct Before {
    around: Arc<Around>,
    counts: BTreeMap<&'static str, usize>,
}

impl Before {
    fn of(snapshot: &Snapshot, block: &Block) -> Before {
        let mut blocks = snapshot.document.blocks().zip(Around::of(&snapshot.document));
        let own = blocks.find(|((_, other), _)| std::ptr::eq(other.as_ref(), block));
        let around = own.map(|(_, around)| around).unwrap_or_default();
        let counts = counts(&check_block(block, &snapshot.config, &around).findings);
        Before { around, counts }
    }
}

fn counts(findings: &[Finding]) -> BTreeMap<&'static str, usize> {
    let mut counts = BTreeMap::new();
    findings.iter().for_each(|finding| *counts.entry(finding.rule).or_default() += 1);
    counts
}

/// The edits of an idea.
///
/// # Errors
/// When the text does not allow it, a rule would have more to say, or its names are not the plain ones.
fn made(
    snapshot: &Snapshot,
    place: &Place<'_>,
    before: &Before,
    how: &How,
    symbols: Vec<TextEdit>,
) -> Result<Vec<TextEdit>, String> {
    let block = place.block();
    let tune = &block.lowered().tune;
    let mut edits = match how {
        How::Notes(changes) => altered(block, changes).ok_or_else(|| {
            let fails = |change: &&Alteration| altered(block, &[**change]).is_none();
            let bar = changes.iter().find(fails).and_then(|change| bar_of(tune, change));
            place.in_bar(bar, "These notes are typed in a way that does not allow it.")
        })?,
        How::Voice(text) => {
            held::appended(block, text).ok_or("Another voice does not go under these bars.")?
        }
    };
    edits.extend(symbols);
    let after = block.edited(&edits).map_err(|_| "These changes touch each other.")?;
    let found = check_block(&after, &snapshot.config, &before.around).findings;
    let now = counts(&found);
    let more = |rule: &str| now.get(rule) > before.counts.get(rule);
    if let Some(finding) = found.iter().find(|finding| more(finding.rule)) {
        let said = format!("There would be something to remark: {}", finding.message);
        return Err(place.in_bar(finding.bar, &said));
    }
    if let How::Notes(changes) = how
        && let Some(change) = oddly_named(tune, &after.lowered().tune, changes)
    {
        let why = "The new notes would have names that no player expects.";
        return Err(place.in_bar(bar_of(tune, change), why));
    }
    Ok(edits)
}

/// The bar of a change, by index.
fn bar_of(tune: &Tune, change: &Alteration) -> Option<u32> {
    let (voice, event) = match *change {
        Alteration::More { voice, event, .. } | Alteration::Instead { voice, event, .. } => {
            (voice, event)
        }
        Alteration::Other { voice, note, .. } => {
            (voice, tune.voices.get(voice as usize)?.notes.get(note as usize)?.event)
        }
    };
    Some(tune.voices.get(voice as usize)?.events.get(event as usize)?.bar)
}

/// The first change whose note the speller would name otherwise.
fn oddly_named<'c>(
    before: &Tune,
    tune: &Tune,
    changes: &'c [Alteration],
) -> Option<&'c Alteration> {
    let names = best(tune);
    let plain = |change: &Alteration| {
        let (voice, event, pitch) = match *change {
            Alteration::More { voice, event, pitch }
            | Alteration::Instead { voice, event, pitch, .. } => (voice, event, pitch),
            Alteration::Other { voice, note, pitch } => {
                let old = &before.voices[voice as usize];
                let event = old.notes.get(note as usize).map_or(0, |note| note.event);
                (voice, event, pitch)
            }
        };
        let own = &tune.voices[voice as usize];
        let Some(event) = own.events.get(event as usize) else { return true };
        let note = event.notes.clone().find(|&note| own.notes[note as usize].written == pitch);
        let best = note.and_then(|note| names.get(&(voice, note)).copied());
        best.is_none_or(|name| name == pitch.name)
    };
    changes.iter().find(|change| !plain(change))
}

impl<'a> Scene<'a> {
    fn of(place: &'a Place<'a>) -> Option<Scene<'a>> {
        let tune = &place.read().tune;
        let from = tune.bars.get(place.from as usize)?.start;
        let to = tune.bars.get(place.to as usize).map(|bar| bar.start + bar.length)?;
        Some(Scene { place, tune, harmonies: Harmonies::of(place.block()), from, to })
    }

    fn sounds(&self) -> &[Sounding] {
        &self.harmonies.sounds
    }

    /// What sounds in a stretch of time, the lowest of each moment first.
    fn during(&self, from: Time, to: Time) -> impl Iterator<Item = &Sounding> {
        let end = self.sounds().partition_point(|sound| sound.onset < to);
        self.sounds()[..end].iter().filter(move |sound| sound.end > from)
    }

    /// The notes of a sound, one after the other where it is tied, by index in its voice.
    fn notes(&self, sound: &Sounding) -> BTreeSet<u32> {
        let voice = &self.tune.voices[sound.voice as usize];
        recte_notation::write::tied_together(voice, sound.note).into_iter().collect()
    }

    /// The changes that make a sound another one, in each of its notes, as its player reads them.
    fn other(&self, sound: &Sounding, pitch: Pitch) -> impl Iterator<Item = Alteration> + use<> {
        let voice = sound.voice;
        let by = (pitch.steps() - sound.pitch.steps(), pitch.midi() - sound.pitch.midi());
        let pitch = sound.written.transposed(by.0, by.1);
        self.notes(sound).into_iter().map(move |note| Alteration::Other { voice, note, pitch })
    }

    /// Between what a sound is an inner one all the while it lasts: the highest that the lowest of the others is, and the
    /// lowest that the highest is. What reaches these takes the place of the bass or of the melody.
    fn between(&self, sound: &Sounding) -> (i32, i32) {
        let others: Vec<&Sounding> = self
            .during(sound.onset, sound.end)
            .filter(|other| (other.voice, other.note) != (sound.voice, sound.note))
            .collect();
        // They change only where a sound begins or ends.
        let inside = |at: &Time| sound.onset <= *at && *at < sound.end;
        let changes = others.iter().flat_map(|other| [other.onset, other.end]).filter(inside);
        let (mut low, mut high) = (i32::MIN, i32::MAX);
        for at in changes.chain([sound.onset]) {
            let here = others.iter().filter(|other| other.onset <= at && at < other.end);
            let pitches: Vec<i32> = here.map(|other| other.pitch.midi()).collect();
            low = low.max(pitches.iter().copied().min().unwrap_or(i32::MAX));
            high = high.min(pitches.iter().copied().max().unwrap_or(i32::MIN));
        }
        (low, high)
    }

    /// When the piece ends.
    fn last(&self) -> Time {
        self.sounds().iter().map(|sound| sound.end).max().unwrap_or_default()
    }

    /// "bar 5".
    fn bar(&self, bar: u32) -> String {
        self.place.bars(bar, bar)
    }

    fn bars(&self) -> String {
        self.place.bars(self.place.from, self.place.to)
    }
}

/// The same note, an interval higher by name and sound; lower by an octave for each one taken off.
fn above(pitch: Pitch, interval: Interval, octaves: i8) -> Pitch {
    pitch.transposed(interval.steps, interval.semitones).shifted_octaves(octaves)
}

/// The pitch of that name nearest to another.
fn nearest(name: PitchName, to: Pitch) -> Option<Pitch> {
    (to.octave - 1..=to.octave + 1)
        .map(|octave| Pitch { name, octave })
        .min_by_key(|pitch| ((pitch.midi() - to.midi()).abs(), pitch.midi()))
}

#[cfg(test)]
mod tests;
