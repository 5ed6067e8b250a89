//! Whether everything that stands at a moment of a score still stands there when its bars are others.

use super::Refusal;
use crate::write::{TextEdit, reads_as_well};
use crate::{Block, Lowered};
use recte_score::{MarkKind, MarkPlace, Tune, Voice};
use recte_theory::Time;

/// Whether a text whose bars were rewritten sounds as it did, is no harder to read, and carries everything along:
/// signs, chord symbols, texts, words, slurs, tuplets, keys, clefs, repeats, endings, tempi and parts, each at the
/// moment where it stood.
pub fn carries_all(before: &Lowered, after: &Lowered) -> bool {
    let as_it_is = |at: Time| at;
    reads_as_well(before, after) && same_page(&before.tune, &after.tune, &as_it_is, true)
}

/// The edits, if applying them carries all.
///
/// # Errors
/// When it does not.
pub fn proved(block: &Block, edits: Vec<TextEdit>) -> Result<Vec<TextEdit>, Refusal> {
    let after = block.edited(&edits).ok();
    let holds = after.is_some_and(|after| carries_all(block.lowered(), after.lowered()));
    if holds { Ok(edits) } else { Err(Refusal::new(NOT_PROVED)) }
}

/// What is said where a rewriting, read again, is not what it should be.
pub(super) const NOT_PROVED: &str = "Something in these bars would not come across as it stands.";

/// The same, the moments of the second being those that the first would have; with or without the tempi.
pub(super) fn same_page(
    before: &Tune,
    after: &Tune,
    moved: &impl Fn(Time) -> Time,
    tempi: bool,
) -> bool {
    let now = |at: Time| at;
    before.voices.len() == after.voices.len()
        && before
            .voices
            .iter()
            .zip(&after.voices)
            .all(|(old, new)| Page::of(before, old, moved) == Page::of(after, new, &now))
        && parts(before, moved, tempi) == parts(after, &now, tempi)
}

/// What stands on the page of a voice, each with its moment.
#[derive(PartialEq, Debug)]
struct Page {
    marks: Vec<(Time, MarkKind, String, bool)>,
    words: Vec<(u16, Time, String, bool)>,
    slurs: Vec<(Time, Time, bool)>,
    tuplets: Vec<(Time, Time, u32, u32)>,
    clefs: Vec<(Time, String)>,
    keys: Vec<(Time, String)>,
    repeats: Vec<(Time, u8, u8, bool, Vec<u8>)>,
    loose: Vec<Time>,
}

impl Page {
    fn of(tune: &Tune, voice: &Voice, moved: &impl Fn(Time) -> Time) -> Page {
        let onset = |event: u32| {
            voice
                .events
                .get(event as usize)
                .map_or(Time::new(-1, 1), |event| moved(tune.onset(event)))
        };
        let end = |event: u32| {
            voice
                .events
                .get(event as usize)
                .map_or(Time::new(-1, 1), |event| moved(tune.onset(event) + event.duration))
        };
        let bar_end = |bar: u32| {
            tune.bars
                .get(bar as usize)
                .map_or(Time::new(-1, 1), |bar| moved(bar.start + bar.length))
        };
        let mut marks: Vec<_> = voice
            .marks
            .iter()
            .map(|mark| match mark.on {
                MarkPlace::BarLine(bar) => (bar_end(bar), mark.kind, mark.text.to_string(), true),
                _ => (onset(mark.event), mark.kind, mark.text.to_string(), false),
            })
            .collect();
        marks.sort_by(|a, b| (a.0, &a.2, a.3).cmp(&(b.0, &b.2, b.3)));
        let sung = voice.syllables.iter().filter(|one| !one.held);
        let mut words: Vec<_> = sung
            .map(|one| (one.verse, onset(one.event), one.text.to_string(), one.joined))
            .collect();
        words.sort();
        let mut slurs: Vec<_> =
            voice.slurs.iter().map(|slur| (onset(slur.from), end(slur.to), slur.dotted)).collect();
        slurs.sort_unstable();
        let tuplets = voice.events.iter().filter_map(|event| {
            let tuplet = voice.tuplets.get(event.tuplet? as usize)?;
            let at = tune.onset(event);
            Some((moved(at), moved(at + event.duration), tuplet.actual, tuplet.normal))
        });
        // A tuplet may come to be two, and a note in it: what counts is the time that is divided so.
        let mut tuplets: Vec<_> = tuplets.collect();
        tuplets.sort_unstable_by_key(|&(from, to, actual, normal)| (actual, normal, from, to));
        tuplets.dedup_by(|next, last| {
            let goes_on = next.0 == last.1 && (next.2, next.3) == (last.2, last.3);
            if goes_on {
                last.1 = next.1;
            }
            goes_on
        });
        let clefs = voice.clef_changes.iter();
        let clefs =
            clefs.map(|one| (onset(one.event), format!("{:?} {}", one.clef, one.transpose)));
        let mut keys: Vec<(Time, String)> = Vec::new();
        for event in voice.events.iter().filter(|event| !event.grace && event.layer == 0) {
            let key = format!("{:?}", tune.key(event));
            if keys.last().is_none_or(|last| last.1 != key) {
                keys.push((moved(tune.onset(event)), key));
            }
        }
        let bars = voice.bars.iter().zip(0..).filter(|(bar, _)| {
            bar.repeat_opens > 0 || bar.repeat_closes > 0 || bar.ending || bar.section_ends
        });
        let mut repeats = Vec::new();
        for (bar, number) in bars {
            let start = tune.bars.get(number as usize).map_or(Time::ZERO, |bar| moved(bar.start));
            if bar.repeat_opens > 0 || bar.ending {
                repeats.push((start, bar.repeat_opens, 0, bar.ending, bar.endings.clone()));
            }
            if bar.repeat_closes > 0 || bar.section_ends {
                let end = bar_end(number);
                repeats.push((end, 0, bar.repeat_closes, bar.section_ends, Vec::new()));
            }
        }
        let loose = voice.loose_ties.iter().map(|tie| end(voice.notes[tie.note as usize].event));
        Page {
            marks,
            words,
            slurs,
            tuplets,
            clefs: clefs.collect(),
            keys,
            repeats,
            loose: loose.collect(),
        }
    }
}

/// Parts and titled sections, and the tempi.
fn parts(tune: &Tune, moved: &impl Fn(Time) -> Time, tempi: bool) -> Vec<(Time, String)> {
    let start = |bar: u32| tune.bars.get(bar as usize).map_or(Time::new(-1, 1), |bar| bar.start);
    let tempi = tune.tempi.iter().filter(|_| tempi).map(|one| {
        let text = format!("{:?} {:?}", one.text, one.per_minute);
        (moved(start(one.bar) + one.offset), text)
    });
    let sections = tune.sections.iter().map(|one| (moved(start(one.bar)), one.label.clone()));
    let mut all: Vec<_> = tempi.chain(sections).collect();
    all.sort();
    all
}
