//! What is said of players on real scores: parts moved beyond their instruments are found, chords that do not lie are
//! found where they are put in, and what is left of the scores as they are is rare. Scores as in `real/mod.rs`;
//! `RECTE_ALL=1` takes all, `RECTE_SHOW=1` prints the remarks.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::print_stdout)]

use recte_notation::write::{TextEdit, apply, pitch_text};
use recte_notation::{Block, Document};
use recte_review::{
    Around, Config, Family, Finding, RULES, RuleSetting, Severity, check_block, find_rule,
};
use recte_score::players::{Players, Playing, who};
use recte_score::{Note, Span, Tune};
use recte_theory::Pitch;
use recte_theory::instruments::{Instrument, Level, Roster};
use recte_theory::playability::Verdict;
use recte_theory::playability::fingerboard::{self, Stroke};
use recte_theory::playability::hands::two_hands;
use std::collections::BTreeMap;
use std::sync::Arc;

mod real;
use real::{Dice, imported, tunes_of};

/// Only the rules of playing.
fn idiom() -> Config {
    let mut config = Config::default();
    for rule in RULES.iter().filter(|rule| rule.family != Family::Idiom) {
        config.rules.insert(rule.id.to_owned(), RuleSetting::Off);
    }
    config
}

fn findings(block: &Block, config: &Config) -> Vec<Finding> {
    check_block(block, config, &Around::default()).findings
}

fn read(text: &str) -> Arc<Block> {
    tunes_of(&Document::new(text)).next().unwrap()
}

/// The voices of a tune that one instrument plays all through.
fn parts<'r>(tune: &Tune, roster: &'r Roster) -> Vec<(usize, Playing<'r>)> {
    let playing = who(tune, roster).playing;
    let whole = |(voice, stretches): (usize, Vec<Playing<'r>>)| match <[_; 1]>::try_from(stretches)
    {
        Ok([one]) => Some((voice, one)),
        Err(_) => None,
    };
    playing.into_iter().enumerate().filter_map(whole).collect()
}

/// The text with a voice transposed, and its instrument, which a name might no longer tell, said.
fn transposed(text: &str, voice: &str, by: i32, instrument: &str) -> Option<String> {
    let head = format!("V:{voice} ");
    let at = text.lines().find(|line| line.starts_with(&head))?;
    let text = text.replacen(at, &format!("{at} transpose={by}"), 1);
    Some(text.replacen("\nK:", &format!("\n%%recte instrument {voice} {instrument}\nK:"), 1))
}

/// A part that sounds a fourth to an octave beyond an end of its instrument is told of.
#[test]
fn parts_moved_beyond_their_instrument_are_found() {
    let (config, roster) = (idiom(), Roster::standard());
    let (mut moved, mut found) = (0, 0);
    let mut missed = Vec::new();
    for (name, document) in imported(3) {
        let mut dice = Dice(real::hash(&name));
        for block in tunes_of(&document) {
            let tune = &block.lowered().tune;
            for (voice, part) in parts(tune, roster) {
                let own = &tune.voices[voice];
                let Some(range) = part.instrument.range(Level::Professional) else { continue };
                let midi = own.notes.iter().map(|note| note.pitch.midi());
                let (Some(low), Some(high)) = (midi.clone().min(), midi.max()) else { continue };
                let beyond = 5 + dice.roll(8) as i32;
                let by = if dice.roll(2) == 0 {
                    range.sounding_max.midi() + beyond - high
                } else {
                    range.sounding_min.midi() - beyond - low
                };
                let id = &part.instrument.id;
                let Some(text) = transposed(&block.text, &own.id, by, id) else { continue };
                let block = read(&text);
                moved += 1;
                let told = findings(&block, &config).into_iter().any(|finding| {
                    finding.rule == "beyond-range" && finding.voice == Some(voice as u32)
                });
                found += usize::from(told);
                if !told {
                    missed.push(format!("{name} {} by {by}", own.id));
                }
            }
        }
    }
    println!("{moved} parts moved, {found} found; missed: {missed:?}");
    assert!(moved == 0 || found * 100 >= moved * 99, "{found} of {moved}");
}

/// A chord that the model of an instrument calls impossible: notes within its compass, by chance.
fn impossible(instrument: &Instrument, dice: &mut Dice) -> Option<Vec<Pitch>> {
    let range = instrument.range(Level::Professional)?;
    let (low, high) = (range.sounding_min.midi(), range.sounding_max.midi());
    for _ in 0..200 {
        let count = 2 + dice.roll(3);
        let center = low + dice.roll((high - low) as usize) as i32;
        let mut midi: Vec<i32> =
            (0..count).map(|_| (center + dice.roll(24) as i32 - 12).clamp(low, high)).collect();
        midi.sort_unstable();
        midi.dedup();
        let notes: Vec<Pitch> = midi.iter().map(|midi| plain(*midi)).collect();
        let verdict =
            match fingerboard::chord(instrument, &notes, Stroke::Short, Level::Professional) {
                Some(lies) => lies.verdict,
                None => two_hands(instrument, &notes, Level::Professional)?.verdict,
            };
        if notes.len() > 1 && verdict == Verdict::Impossible {
            return Some(notes);
        }
    }
    None
}

/// A pitch with a natural or a sharp.
fn plain(midi: i32) -> Pitch {
    const NAMES: [&str; 12] = ["C", "C#", "D", "D#", "E", "F", "F#", "G", "G#", "A", "A#", "B"];
    format!("{}{}", NAMES[midi.rem_euclid(12) as usize], midi.div_euclid(12) - 1).parse().unwrap()
}

/// The chord as it is typed where a note stood.
fn typed(notes: &[Pitch], note: &Note) -> TextEdit {
    let text: String = notes.iter().map(|pitch| pitch_text(shifted(*pitch, note), true)).collect();
    TextEdit { span: note.span, text: format!("[{text}]") }
}

/// A sounding pitch as it is typed beside a note.
fn shifted(sounding: Pitch, note: &Note) -> Pitch {
    let steps = note.written.steps() - note.pitch.steps();
    let semitones = note.written.midi() - note.pitch.midi();
    sounding.transposed(steps, semitones).shifted_octaves(-note.octave_shift)
}

/// Chords that no hand stops, put into parts for strings in place of a note, are told of.
#[test]
fn chords_that_do_not_lie_are_found() {
    let (config, roster) = (idiom(), Roster::standard());
    let (mut put, mut found) = (0, 0);
    let mut missed = Vec::new();
    for (name, document) in imported(1) {
        let mut dice = Dice(real::hash(&name));
        for block in tunes_of(&document) {
            let tune = &block.lowered().tune;
            let strings = parts(tune, roster).into_iter().filter(|(_, part)| {
                part.instrument.stops.is_some() && part.players == Players::One
            });
            for (voice, part) in strings {
                let own = &tune.voices[voice];
                let alone = |note: &&Note| {
                    let event = &own.events[note.event as usize];
                    let plain = event.notes.len() == 1 && !event.grace && event.tuplet.is_none();
                    plain
                        && !note.tied_in
                        && !note.tied_out
                        && own.bars[event.bar as usize].layers == 1
                };
                let places: Vec<&Note> = own.notes.iter().filter(alone).collect();
                if places.is_empty() {
                    continue;
                }
                let note = places[dice.roll(places.len())];
                let Some(chord) = impossible(part.instrument, &mut dice) else { continue };
                let edit = typed(&chord, note);
                let Ok(text) = apply(&block.text, &[edit]) else { continue };
                put += 1;
                let block = read(&text);
                let near = |finding: &Finding| {
                    let place = Span::new(note.span.start as usize, note.span.end as usize + 40);
                    let inside = |span: Span| span.start >= place.start && span.start <= place.end;
                    matches!(finding.rule, "multiple-stop" | "fretted-chord" | "hand-span")
                        && (inside(finding.span) || finding.related.iter().any(|r| inside(r.span)))
                };
                let told = findings(&block, &config).iter().any(near);
                found += usize::from(told);
                if !told {
                    missed.push(format!("{name} {} {chord:?}", own.id));
                }
            }
        }
    }
    println!("{put} chords put in, {found} found; missed: {missed:?}");
    assert!(put == 0 || found * 100 >= put * 95, "{found} of {put}");
}

/// Good parts lie well: on published scores for instruments, hardly anything is called impossible.
#[test]
fn real_parts_lie_well() {
    let config = idiom();
    let show = std::env::var_os("RECTE_SHOW").is_some();
    // Quartets, piano and songs; what was sung in other centuries by other voices is counted by `quiet.rs`.
    const PLACES: [&str; 11] = [
        "beethoven",
        "chopin",
        "haydn",
        "johnson",
        "joplin",
        "mozart",
        "schoenberg",
        "schumann",
        "verdi",
        "webern",
        "liliuokalani",
    ];
    let (mut notes, mut counts) = (0, BTreeMap::new());
    for (name, document) in imported(1) {
        if !PLACES.iter().any(|place| name.starts_with(place)) {
            continue;
        }
        for block in tunes_of(&document) {
            let tune = &block.lowered().tune;
            notes += tune.voices.iter().map(|voice| voice.notes.len()).sum::<usize>();
            for finding in findings(&block, &config) {
                assert_eq!(find_rule(finding.rule).map(|rule| rule.family), Some(Family::Idiom));
                *counts.entry((finding.severity, finding.rule)).or_insert(0) += 1;
                if show {
                    let bar = finding.bar.map_or(0, |bar| tune.bar_number(bar));
                    println!("{name}\t{bar}\t{}\t{}", finding.rule, finding.message);
                }
            }
        }
    }
    let impossible: usize =
        counts.iter().filter(|((severity, _), _)| *severity > Severity::Hint).map(|(_, n)| n).sum();
    println!("{notes} notes, {impossible} impossible: {counts:?}");
    assert!(impossible * 10_000 <= notes * 2, "{impossible} on {notes} notes");
}
