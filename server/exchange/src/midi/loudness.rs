//! How loud each note is: dynamics hold until the next one, hairpins lead from one to the other.

use super::times::PlayedBar;
use recte_score::{Dynamic, MarkPlace, Meaning, Tune, Voice};
use recte_theory::Time;

/// Where nothing is said: mezzo-forte.
const UNSAID: i64 = 80;
/// How far a hairpin leads that no dynamic follows: one level.
const ONE_LEVEL: i64 = 16;
/// What an accent adds.
pub(super) const ACCENT: i64 = 14;
/// What a sforzato adds.
pub(super) const SFORZATO: i64 = 26;

/// How hard a note is struck at a level, of 127: even steps around mezzo-forte (common practice, no source; MIDI
/// gives no level a number).
fn velocity(level: Dynamic) -> i64 {
    match level {
        Dynamic::Pppp => 14,
        Dynamic::Ppp => 24,
        Dynamic::Pp => 36,
        Dynamic::P => 50,
        Dynamic::Mp => 66,
        Dynamic::Mf => UNSAID,
        Dynamic::F => 96,
        Dynamic::Ff => 110,
        Dynamic::Fff => 120,
        Dynamic::Ffff => 127,
    }
}

/// In the order that things said at one time hold.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Said {
    Ends,
    Level(i64),
    Swells(bool),
}

/// The loudness of one voice over the performance: from a time on, from one velocity to another at a later time.
pub(super) struct Loudness {
    spans: Vec<(Time, i64, Time, i64)>,
}

impl Loudness {
    pub(super) fn of(tune: &Tune, voice: &Voice, bars: &[PlayedBar]) -> Loudness {
        let all = said(tune, voice, bars);
        let mut spans = vec![(Time::ZERO, UNSAID, Time::ZERO, UNSAID)];
        let mut now = UNSAID;
        let ends = ends(&all);
        for ((time, what), end) in all.iter().zip(ends) {
            match what {
                Said::Level(level) => {
                    now = *level;
                    spans.push((*time, now, *time, now));
                }
                Said::Swells(louder) => {
                    let after = end.and_then(|end| all.get(end..)).unwrap_or_default();
                    let Some((end, goal)) = goal(after, now, *louder) else { continue };
                    spans.push((*time, now, end, goal));
                    now = goal;
                }
                Said::Ends => {}
            }
        }
        Loudness { spans }
    }

    /// The velocity of a note that begins at a time.
    pub(super) fn at(&self, time: Time) -> i64 {
        let later = self.spans.partition_point(|span| span.0 <= time);
        let Some((start, from, end, to)) = later.checked_sub(1).and_then(|n| self.spans.get(n))
        else {
            return UNSAID;
        };
        if time >= *end || start >= end {
            return *to;
        }
        let share = (time - *start) / (*end - *start) * Time::new(to - from, 1);
        from + share.numerator() / share.denominator()
    }
}

/// For each thing said, the next one after it that ends a hairpin.
fn ends(all: &[(Time, Said)]) -> Vec<Option<usize>> {
    let mut next = None;
    let mut ends = vec![None; all.len()];
    for (index, (_, what)) in all.iter().enumerate().rev() {
        ends[index] = next;
        if !matches!(what, Said::Swells(_)) {
            next = Some(index);
        }
    }
    ends
}

/// Where a hairpin ends, and how loud it is then; `after` begins with what ends it.
fn goal(after: &[(Time, Said)], now: i64, louder: bool) -> Option<(Time, i64)> {
    let end = after.first()?;
    let mut then = after.iter().take_while(|(time, _)| *time <= end.0);
    let level = then.find_map(|(time, what)| match what {
        Said::Level(level) if *time == end.0 => Some(*level),
        _ => None,
    });
    let one = if louder { ONE_LEVEL } else { -ONE_LEVEL };
    Some((end.0, level.unwrap_or(now + one).clamp(1, 127)))
}

/// What is said of loudness, in the order it is played. After a jump the level of the page holds again.
fn said(tune: &Tune, voice: &Voice, bars: &[PlayedBar]) -> Vec<(Time, Said)> {
    let mut marks: Vec<(u32, Time, Said)> = voice
        .marks
        .iter()
        .filter_map(|mark| {
            let what = match mark.meaning? {
                Meaning::Dynamic(level) => Said::Level(velocity(level)),
                Meaning::CrescendoStart => Said::Swells(true),
                Meaning::DiminuendoStart => Said::Swells(false),
                Meaning::CrescendoEnd | Meaning::DiminuendoEnd => Said::Ends,
                _ => return None,
            };
            let event = voice.events.get(mark.event as usize);
            match (mark.on, event) {
                (MarkPlace::BarLine(bar), _) => {
                    let length = tune.bars.get(bar as usize).map(|bar| bar.length)?;
                    Some((bar, length, what))
                }
                (_, Some(event)) => Some((event.bar, event.offset, what)),
                _ => None,
            }
        })
        .collect();
    marks.sort_unstable();
    let mut all = Vec::new();
    for played in bars {
        let from = marks.partition_point(|(bar, ..)| *bar < played.bar);
        if played.jumped {
            let before = marks[..from].iter().rev().find_map(|(_, _, what)| match what {
                Said::Level(level) => Some(*level),
                _ => None,
            });
            all.push((played.start, Said::Level(before.unwrap_or(UNSAID))));
        }
        let here = marks[from..].iter().take_while(|(bar, ..)| *bar == played.bar);
        all.extend(here.map(|(_, offset, what)| (played.start + *offset, *what)));
    }
    all
}
