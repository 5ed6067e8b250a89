//! Wrong names put into real music on purpose: one tone of a chord, a broken chord or a scale by the next letter.
//! How many are found, how many the first fix mends, what else is said because of them, and what `emend` mends
//! alone.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::print_stdout)]

use recte_assist::{Snapshot, emend};
use recte_notation::write::{Respelling, respell, tied_together};
use recte_notation::{Block, Document};
use recte_review::{Around, Config, Family, Finding, check_block, find_rule};
use recte_score::{EventKind, NoteRef, Tune, Voice, broken_chords, slices, soundings};
use recte_theory::chord::thirds;
use recte_theory::{Pitch, PitchName};
use std::collections::HashSet;
use std::sync::Arc;

#[path = "../../review/tests/real/mod.rs"]
mod real;
use real::{Dice, imported, tunes_of};

/// One in so many of the imported scores …
const IMPORTED: u64 = 6;
/// … that are no longer, in bytes.
const LONGEST: usize = 30_000;
/// Faults put into each tune, of each kind.
const FAULTS: usize = 2;
/// The fewest notes of a scale.
const SCALE: usize = 5;

/// What a wrong name is put into.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
enum Kind {
    Together,
    Broken,
    Scale,
}

const KINDS: [Kind; 3] = [Kind::Together, Kind::Broken, Kind::Scale];

fn note(tune: &Tune, at: NoteRef) -> &recte_score::Note {
    &tune.voices[at.voice as usize].notes[at.note as usize]
}

/// The figures of one kind that are spelled as they ought to be.
fn figures(tune: &Tune, kind: Kind) -> Vec<Vec<NoteRef>> {
    let chord = |notes: &Vec<NoteRef>| {
        let names: HashSet<PitchName> = notes.iter().map(|&at| note(tune, at).pitch.name).collect();
        let mut classes: Vec<u8> = names.iter().map(|name| name.pitch_class()).collect();
        classes.sort_unstable();
        classes.dedup();
        (3..=4).contains(&names.len())
            && classes.len() == names.len()
            && thirds(&classes).iter().any(|one| names.iter().all(|name| one.names.contains(name)))
    };
    let voices = || tune.voices.iter().zip(0..);
    match kind {
        Kind::Together => {
            let all = slices(&soundings(tune)).into_iter().map(|figure| figure.notes);
            all.filter(chord).collect()
        }
        Kind::Broken => {
            let all = voices().flat_map(|(voice, index)| broken_chords(voice, index));
            all.map(|figure| figure.notes).filter(chord).collect()
        }
        Kind::Scale => voices().flat_map(|(voice, index)| scales(voice, index)).collect(),
    }
}

/// The runs by step, up or down, that use each letter in turn.
fn scales(voice: &Voice, index: u32) -> Vec<Vec<NoteRef>> {
    let events = voice.events.iter().filter(|event| !event.grace);
    let single = |event: &recte_score::Event| {
        let alone = event.kind == EventKind::Notes && event.notes.len() == 1 && event.layer == 0;
        alone.then_some(event.notes.start)
    };
    let line: Vec<Option<u32>> = events.map(single).collect();
    let step = |from: Option<u32>, to: Option<u32>| -> i32 {
        let (Some(from), Some(to)) = (from, to) else { return 0 };
        let (from, to): (Pitch, Pitch) =
            (voice.notes[from as usize].pitch, voice.notes[to as usize].pitch);
        let letters =
            (i32::from(to.name.letter.step()) - i32::from(from.name.letter.step())).rem_euclid(7);
        match to.midi() - from.midi() {
            1..=3 if letters == 1 => 1,
            -3..=-1 if letters == 6 => -1,
            _ => 0,
        }
    };
    let mut found = Vec::new();
    let mut from = 0;
    while from + 1 < line.len() {
        let way = step(line[from], line[from + 1]);
        let mut to = from + 1;
        while way != 0 && to + 1 < line.len() && step(line[to], line[to + 1]) == way {
            to += 1;
        }
        if way != 0 && to - from + 1 >= SCALE {
            let notes = line[from..=to].iter().flatten();
            found.push(notes.map(|&note| NoteRef { voice: index, note }).collect());
        }
        from = to;
    }
    found
}

/// The tune with one note of a figure under the name of the next letter, up or down.
fn damaged(
    block: &Block,
    figures: &[Vec<NoteRef>],
    dice: &mut Dice,
) -> Option<(Arc<Block>, NoteRef)> {
    let lowered = block.lowered();
    let figure = figures.get(dice.roll(figures.len()))?;
    let at = figure[dice.roll(figure.len())];
    let fifths = note(&lowered.tune, at).written.name.fifths();
    let other = PitchName::from_fifths(if dice.roll(2) == 0 { fifths - 12 } else { fifths + 12 });
    if other.alter.abs() > 2 {
        return None;
    }
    let wanted = [Respelling { voice: at.voice, note: at.note, name: other }];
    let edits = respell(&lowered.tune, lowered.reach, &wanted)?;
    Some((block.edited(&edits).ok()?, at))
}

fn spelling(block: &Block) -> Vec<Finding> {
    let all = check_block(block, &Config::default(), &Around::default()).findings.into_iter();
    let ours = |finding: &Finding| {
        find_rule(finding.rule).is_some_and(|rule| rule.family == Family::Spelling)
    };
    all.filter(ours).collect()
}

/// The names in the bars of a note and those it is tied to, in all voices.
fn names_around(block: &Block, at: NoteRef) -> Vec<PitchName> {
    let tune = &block.lowered().tune;
    let own = &tune.voices[at.voice as usize];
    let bar_of = |voice: &Voice, note: u32| voice.event_of(note).bar;
    let bars: HashSet<u32> =
        tied_together(own, at.note).into_iter().map(|note| bar_of(own, note)).collect();
    let in_voice = |voice: &Voice| {
        let notes =
            (0..voice.notes.len() as u32).filter(|&note| bars.contains(&bar_of(voice, note)));
        notes.map(|note| voice.notes[note as usize].pitch.name).collect::<Vec<_>>()
    };
    tune.voices.iter().flat_map(in_voice).collect()
}

#[derive(Default, Debug)]
struct Tally {
    faults: usize,
    found: usize,
    restored: usize,
    emended: usize,
    elsewhere: usize,
}

impl Tally {
    /// Tries one fault; false if the first fix does not mend it.
    fn add(&mut self, block: &Block, clean: &[Finding], faulty: &Arc<Block>, at: NoteRef) -> bool {
        self.faults += 1;
        let right = names_around(block, at);
        let findings = spelling(faulty);
        let own = &faulty.lowered().tune.voices[at.voice as usize];
        let notes = tied_together(own, at.note).into_iter();
        let spans: Vec<_> = notes.map(|note| own.notes[note as usize].span).collect();
        let touches = |finding: &&Finding| {
            let edits = finding.fixes.iter().flat_map(|fix| &fix.edits).map(|edit| edit.span);
            let mut all = edits.chain([finding.span]);
            all.any(|one| spans.iter().any(|span| one.start < span.end && span.start < one.end))
        };
        let same = |one: &Finding, other: &Finding| {
            (one.rule, one.voice, one.bar) == (other.rule, other.voice, other.bar)
        };
        let new =
            |finding: &&Finding| !touches(finding) && !clean.iter().any(|old| same(old, finding));
        self.elsewhere += findings.iter().filter(new).count();
        let Some(first) = findings.iter().find(touches) else { return false };
        self.found += 1;
        let fixed = first.fixes.first().and_then(|fix| faulty.edited(&fix.edits).ok());
        let restored = fixed.is_some_and(|fixed| names_around(&fixed, at) == right);
        self.restored += usize::from(restored);
        let snapshot = Snapshot::new(Document::new(&faulty.text), Arc::default());
        let emended = snapshot.document.text_with(&emend(&snapshot, None).changes);
        let emended = tunes_of(&Document::new(&emended)).next().unwrap();
        self.emended += usize::from(names_around(&emended, at) == right);
        restored
    }
}

#[test]
fn wrong_names_are_found_and_mended() {
    let mut dice = Dice(4);
    let mut tallies: [Tally; 3] = Default::default();
    let scores = imported(IMPORTED);
    for (name, document) in scores.iter().filter(|(_, score)| score.rope().len_bytes() < LONGEST) {
        for block in tunes_of(document) {
            let clean = spelling(&block);
            for (kind, tally) in KINDS.iter().zip(&mut tallies) {
                let figures = figures(&block.lowered().tune, *kind);
                for _ in 0..FAULTS {
                    let Some((faulty, at)) = damaged(&block, &figures, &mut dice) else { continue };
                    if !tally.add(&block, &clean, &faulty, at) {
                        let [was, is] =
                            [&block, &faulty].map(|b| note(&b.lowered().tune, at).pitch);
                        println!("{kind:?}, {name}, voice {}: {was} as {is}", at.voice);
                    }
                }
            }
        }
    }
    if scores.is_empty() {
        return;
    }
    for (kind, tally) in KINDS.iter().zip(&tallies) {
        println!("{kind:?} {tally:?}");
        assert!(tally.faults > 0, "{kind:?}");
        let at_least = |count: usize, of: usize, share: usize| count * 100 >= of * share;
        assert!(at_least(tally.found, tally.faults, if *kind == Kind::Scale { 92 } else { 95 }));
        assert!(at_least(tally.restored, tally.found, 97));
        assert!(at_least(tally.emended, tally.faults, 90));
        assert!(tally.elsewhere * 20 <= tally.faults);
    }
}
