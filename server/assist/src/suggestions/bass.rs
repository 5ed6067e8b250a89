//! A smoother bass: chords in root position turned to their first inversion where the bass then moves by less.
//!
//! The bass takes the third; a dominant keeps its root, so that no leading note is doubled, and so do the first and
//! the last chord (sixth chords smooth a bass line: Open Music Theory, "Inversion and figured bass"; from memory).

use super::{Becomes, How, Idea, Scene, nearest};
use crate::harmony::Told;
use recte_score::Sounding;
use recte_theory::chord::Chord;
use recte_theory::{Pitch, PitchName};

/// What an inverted chord costs, in semitones: one that gains less is left.
const TURNED: i32 = 3;
/// How much less the bass must move altogether, in semitones.
const WORTH: i32 = 4;

/// A chord and the notes of its bass that could be another.
struct Under<'a> {
    told: Told<'a>,
    notes: Vec<Sounding>,
    bass: Pitch,
    /// The pitch it could have instead.
    third: Option<Pitch>,
}

impl Under<'_> {
    /// The bass of the chord as it is, or turned.
    fn lowest(&self, turned: bool) -> Pitch {
        self.third.filter(|_| turned).unwrap_or(self.bass)
    }
}

pub(super) fn ideas(scene: &Scene<'_>) -> Vec<Idea> {
    idea(scene).into_iter().collect()
}

fn idea(scene: &Scene<'_>) -> Option<Idea> {
    let told = scene.harmonies.between(scene.from, scene.to);
    let all: Option<Vec<Under<'_>>> = told.into_iter().map(|one| under(scene, one)).collect();
    let mut all = all?;
    let last = all.len().checked_sub(1).filter(|last| *last > 1)?;
    all[0].third = None;
    all[last].third = None;
    let before: i32 = all.windows(2).map(|two| moved(two[0].bass, two[1].bass)).sum();
    let (after, turned) = best(&all);
    if before - after < WORTH || !turned.contains(&true) {
        return None;
    }
    let mut changes = Vec::new();
    let mut preview = Vec::new();
    let mut chords = Vec::new();
    for (one, _) in all.iter().zip(&turned).filter(|(_, turned)| **turned) {
        let third = one.third?;
        let chord = &one.told.heading.chord;
        let now = Chord { bass: third.name, inversion: 1, ..*chord };
        preview.push(format!(
            "{}: {} becomes {}",
            scene.bar(one.told.bar),
            chord.symbol(),
            now.symbol()
        ));
        chords.push(Becomes { onset: one.told.onset, old: *chord, new: now });
        for sound in &one.notes {
            changes.extend(scene.other(sound, third));
        }
    }
    let title = format!("Invert for a smoother bass in {}", scene.bars());
    Some(Idea { title, preview, how: How::Notes(changes), chords })
}

/// The bass of a harmony; none where no one voice has it alone.
fn under<'a>(scene: &Scene<'_>, told: Told<'a>) -> Option<Under<'a>> {
    let sounds: Vec<&Sounding> = scene.during(told.onset, told.end).collect();
    let lowest = sounds
        .iter()
        .filter(|sound| sound.onset <= told.onset)
        .min_by_key(|sound| sound.pitch.midi())?;
    let own: Vec<Sounding> =
        sounds.iter().filter(|sound| sound.voice == lowest.voice).map(|sound| **sound).collect();
    let bass = lowest.pitch;
    let chord = &told.heading.chord;
    let free = chord.inversion == 0
        && chord.root == bass.name
        && own
            .iter()
            .all(|sound| sound.pitch == bass && sound.onset >= told.onset && sound.end <= told.end)
        && chord.quality.is_tertian()
        && !told.heading.degree.starts_with('V')
        && !told.heading.degree.starts_with("vii");
    let third = chord.quality.intervals.get(1).filter(|third| third.steps == 2 && free);
    let third = third.map(|third| PitchName::from_fifths(chord.root.fifths() + third.fifths()));
    let others = sounds.iter().filter(|sound| sound.voice != lowest.voice);
    let above = others.map(|sound| sound.pitch.midi()).min().unwrap_or(i32::MAX);
    let third = third.and_then(|name| nearest(name, bass)).filter(|third| third.midi() < above);
    Some(Under { told, notes: own, bass, third })
}

fn moved(from: Pitch, to: Pitch) -> i32 {
    (from.midi() - to.midi()).abs()
}

/// The least motion of the bass with which chords turned, over all choices.
fn best(all: &[Under<'_>]) -> (i32, Vec<bool>) {
    // By whether the last chord so far is turned: the motion, its price, and the choices.
    let mut ways: Vec<(i32, i32, Vec<bool>)> = vec![(0, 0, Vec::new())];
    for (place, one) in all.iter().enumerate() {
        let mut next = Vec::new();
        for turned in [false, true].into_iter().filter(|turned| !turned || one.third.is_some()) {
            let pitch = one.lowest(turned);
            let way = ways.iter().map(|(cost, motion, chosen)| {
                let last = place.checked_sub(1).zip(chosen.last());
                let by = last.map_or(0, |(last, was)| moved(all[last].lowest(*was), pitch));
                let price = if turned { TURNED } else { 0 };
                let mut chosen = chosen.clone();
                chosen.push(turned);
                (cost + by + price, motion + by, chosen)
            });
            next.extend(way.min_by_key(|(cost, _, _)| *cost));
        }
        ways = next;
    }
    let way = ways.into_iter().min_by_key(|(cost, _, _)| *cost);
    way.map_or((i32::MAX, Vec::new()), |(_, motion, chosen)| (motion, chosen))
}
