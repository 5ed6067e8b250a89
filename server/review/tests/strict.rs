//! Strict style on Bach's chorales: how rarely it speaks of them, and whether it finds parallels that are put in. Where
//! nobody asks for it, it says nothing. Scores as in `real/mod.rs`; `RECTE_ALL=1` takes all, `RECTE_SHOW=1` prints remarks.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::print_stdout)]

use recte_notation::write::{TextEdit, apply, pitch_text};
use recte_notation::{Block, Document};
use recte_review::{Around, Config, Finding, RULES, RuleSetting, check_block};
use recte_score::harmony::{PhraseSign, phrase_ends};
use recte_score::{Line, Note, Tone, Tune, lines};
use recte_theory::{Interval, Letter, Pitch, PitchName, Time};
use std::collections::BTreeMap;
use std::sync::Arc;

mod real;
use real::{Dice, documents, hash, imported, tunes_of};

/// The rules of strict style.
const STRICT: [&str; 7] = [
    "parallels",
    "doubled-leading-note",
    "unresolved-leading-note",
    "unresolved-seventh",
    "voice-spacing",
    "voice-overlap",
    "part-range",
];
/// Those that only observe.
const OBSERVING: [&str; 2] = ["planing", "pedal-point"];

/// Only these rules, at their own severity.
fn only(rules: &[&str]) -> Config {
    let mut config = Config::default();
    for rule in RULES.iter().filter(|rule| !rules.contains(&rule.id)) {
        config.rules.insert(rule.id.to_owned(), RuleSetting::Off);
    }
    config
}

fn findings(block: &Block, config: &Config) -> Vec<Finding> {
    check_block(block, config, &Around::default()).findings
}

/// Bach's chorales for four voices, strict style asked for: name and text.
fn chorales(one_in: u64) -> Vec<(String, String)> {
    let bach = imported(one_in).into_iter().filter(|(name, _)| name.starts_with("bach/"));
    let mut found = Vec::new();
    for (name, document) in bach {
        for block in tunes_of(&document) {
            let names: Vec<&str> =
                block.lowered().tune.voices.iter().map(|voice| voice.label()).collect();
            if names == ["Soprano", "Alto", "Tenor", "Bass"] {
                let text = block.text.to_string();
                let asked = text.replacen("X:1\n", "X:1\n%%recte style strict\n", 1);
                assert_ne!(asked, text, "{name}");
                found.push((name.clone(), asked));
            }
        }
    }
    found
}

fn read(text: &str) -> Arc<Block> {
    tunes_of(&Document::new(text)).next().unwrap()
}

#[test]
fn chorales_are_left_in_peace() {
    let config = only(&STRICT);
    let show = std::env::var_os("RECTE_SHOW").is_some();
    let (mut notes, mut counts) = (0, BTreeMap::new());
    let all = chorales(1);
    for (name, text) in &all {
        let block = read(text);
        let tune = &block.lowered().tune;
        notes += tune.voices.iter().map(|voice| voice.notes.len()).sum::<usize>();
        for finding in findings(&block, &config) {
            *counts.entry(finding.rule).or_insert(0) += 1;
            if show {
                let bar = finding.bar.map_or(0, |bar| tune.bar_number(bar));
                println!(
                    "{name}\t{bar}\t{}\t{}\t{}",
                    finding.offset, finding.rule, finding.message
                );
            }
        }
    }
    let remarks: usize = counts.values().sum();
    println!("{} chorales, {notes} notes, {remarks} remarks: {counts:?}", all.len());
    assert!(all.is_empty() || remarks > 0, "nothing was looked at");
    assert!(remarks * 1000 < notes * 5, "{remarks} remarks on {notes} notes");
}

#[test]
fn nothing_is_said_unasked() {
    let config = Config::default();
    let mut looked_at = 0;
    for (name, document) in documents(12) {
        for block in tunes_of(&document) {
            if block.lowered().tune.styles.iter().any(|style| style.words[0] == "strict") {
                continue;
            }
            looked_at += 1;
            let said = findings(&block, &config).into_iter().map(|finding| finding.rule);
            let ours = |rule: &&str| STRICT.contains(rule) || OBSERVING.contains(rule);
            assert_eq!(said.filter(ours).collect::<Vec<_>>(), [] as [&str; 0], "{name}");
        }
    }
    assert!(looked_at > 0);
}

/// The observations, asked for, never stumble, and each names bars that the tune has.
#[test]
fn observations_name_bars_of_the_tune() {
    let mut config = only(&OBSERVING);
    for rule in OBSERVING {
        config.rules.insert(rule.to_owned(), RuleSetting::Hint);
    }
    let mut counts = BTreeMap::new();
    for (name, document) in documents(12) {
        for block in tunes_of(&document) {
            let bars = block.lowered().tune.bars.len() as u32;
            for finding in findings(&block, &config) {
                *counts.entry(finding.rule).or_insert(0) += 1;
                let (from, to) = (finding.bar.unwrap(), finding.to_bar.unwrap());
                assert!(from <= to && to < bars, "{name}: {}", finding.message);
            }
        }
    }
    println!("{counts:?}");
}

/// What a chorale has where all its voices go from one chord to the next.
struct Place<'a> {
    moment: Time,
    /// For each line the note that is left, and the note that comes.
    notes: Vec<(&'a Tone, &'a Tone)>,
}

/// The places where every voice goes from one chord to another, each a quarter at least, within a phrase.
fn places<'a>(tune: &Tune, lines: &'a [Line]) -> Vec<Place<'a>> {
    let ends = phrase_ends(tune, &[]);
    let parted =
        |moment: Time| ends.iter().any(|end| end.end == moment && end.sign != PhraseSign::Slur);
    let at = |line: &'a Line, moment: Time| {
        let to = line.at(moment).filter(|at| line.tones[*at].onset == moment)?;
        Some((line.before(to)?, &line.tones[to]))
    };
    let moments = lines.iter().take(1).flat_map(|line| &line.tones).map(|tone| tone.onset);
    let place = |moment: Time| {
        let notes: Option<Vec<_>> = lines.iter().map(|line| at(line, moment)).collect();
        let notes = notes.filter(|_| !parted(moment))?;
        let left = notes.first()?.0.onset;
        let long = |tone: &Tone| tone.end - tone.onset >= Time::new(1, 4);
        let whole = notes.iter().all(|(from, to)| from.onset == left && long(from) && long(to));
        whole.then_some(Place { moment, notes })
    };
    moments.filter_map(place).collect()
}

/// A pitch a fifth or an octave from another, on the side and in the octave nearest to where a line was.
fn with(other: Pitch, fifth: bool, near: Pitch) -> Option<Pitch> {
    let below = near.midi() <= other.midi();
    let fifths = other.name.fifths()
        + if !fifth {
            0
        } else if below {
            -1
        } else {
            1
        };
    let name = PitchName::from_fifths(fifths);
    let all = (1..7).map(|octave| Pitch { name, octave });
    let right = |pitch: &Pitch| {
        let interval = Interval::between(*pitch, other);
        let size = if fifth { (4, 7) } else { (0, 0) };
        let side = if below { pitch.midi() < other.midi() } else { pitch.midi() > other.midi() };
        side && (interval.steps.rem_euclid(7), interval.semitones.rem_euclid(12)) == size
    };
    all.filter(right).min_by_key(|pitch| (pitch.midi() - near.midi()).abs())
}

fn edit(note: &Note, pitch: Pitch) -> TextEdit {
    let octaves = note.written.octave - note.pitch.octave - note.octave_shift;
    TextEdit { span: note.span, text: pitch_text(pitch.shifted_octaves(octaves), true) }
}

/// A chorale in which one line follows another in fifths or octaves from one chord to the next.
struct Injected {
    text: String,
    moment: Time,
    /// The two lines.
    pair: [usize; 2],
}

fn inject(text: &str, dice: &mut Dice) -> Option<Injected> {
    let block = read(text);
    let tune = &block.lowered().tune;
    let lines = lines(tune);
    let places = places(tune, &lines);
    let place = places.get(dice.roll(places.len()))?;
    let fifth = dice.roll(2) == 0;
    let changed = 1 + dice.roll(lines.len() - 1);
    let other = (changed + 1 + dice.roll(lines.len() - 1)) % lines.len();
    let (from, to) = place.notes[other];
    let (old_from, old_to) = place.notes[changed];
    if from.pitch.midi() == to.pitch.midi() {
        return None;
    }
    // Both go the same way by as much: one octave holds for both.
    let new_from = with(from.pitch, fifth, old_from.pitch)?;
    let away = (to.pitch.midi() - from.pitch.midi(), to.pitch.steps() - from.pitch.steps());
    let step = Letter::from_step(new_from.steps() + away.1);
    let octave = ((new_from.steps() + away.1).div_euclid(7)) as i8;
    let plain = Pitch { name: PitchName::new(step, 0), octave };
    let alter = (new_from.midi() + away.0 - plain.midi()) as i8;
    let new_to = Pitch { name: PitchName::new(step, alter), octave };
    let voice = &tune.voices[lines[changed].voice as usize];
    let note = |tone: &Tone| &voice.notes[tone.at.note as usize];
    let tied = [old_from, old_to].iter().any(|tone| note(tone).tied_out);
    if alter.abs() > 2 || tied || !(30..=84).contains(&new_to.midi()) {
        return None;
    }
    let already = findings(&block, &only(&["parallels"]));
    if already.iter().any(|one| is_at(tune, one, place.moment)) {
        return None;
    }
    let edits = [edit(note(old_from), new_from), edit(note(old_to), new_to)];
    let text = apply(&block.text, &edits).ok()?;
    Some(Injected { text, moment: place.moment, pair: [changed.min(other), changed.max(other)] })
}

fn is_at(tune: &Tune, finding: &Finding, moment: Time) -> bool {
    let bar = finding.bar.and_then(|bar| tune.bars.get(bar as usize));
    bar.is_some_and(|bar| bar.start + finding.offset == moment)
}

/// Whether the text really has the parallels: read afresh, by intervals alone.
fn has_parallels(tune: &Tune, injected: &Injected) -> bool {
    let lines = lines(tune);
    let notes = |line: usize| {
        let to = lines[line].at(injected.moment)?;
        Some((lines[line].before(to)?.pitch, lines[line].tones[to].pitch))
    };
    let [Some(a), Some(b)] = injected.pair.map(notes) else { return false };
    let size = |a: Pitch, b: Pitch| {
        let interval = Interval::between(a, b);
        (interval.steps.rem_euclid(7), interval.semitones.rem_euclid(12))
    };
    a.0 != a.1 && size(a.0, b.0) == size(a.1, b.1) && matches!(size(a.0, b.0), (4, 7) | (0, 0))
}

#[test]
fn parallels_that_are_put_in_are_found() {
    const TRIES: usize = 12;
    let (config, names) = (only(&["parallels"]), ["soprano", "alto", "tenor", "bass"]);
    let (mut put_in, mut found, mut missed) = (0, 0, Vec::new());
    for (name, text) in chorales(4) {
        let mut dice = Dice(hash(&name));
        for _ in 0..TRIES {
            let Some(injected) = inject(&text, &mut dice) else { continue };
            let block = read(&injected.text);
            let tune = &block.lowered().tune;
            if !has_parallels(tune, &injected) {
                continue;
            }
            put_in += 1;
            let told = findings(&block, &config).into_iter().any(|one| {
                let said = one.message.to_lowercase();
                is_at(tune, &one, injected.moment)
                    && injected.pair.iter().all(|line| said.contains(names[*line]))
            });
            found += usize::from(told);
            if !told {
                missed.push(format!("{name} {:?} at {}", injected.pair, injected.moment));
            }
        }
    }
    println!("{found} of {put_in} parallels found; missed {missed:#?}");
    assert!(found * 100 >= put_in * 98, "{found} of {put_in}");
}
