//! Each part as its player meets it, in figures: which notes for how long, in which registers, where it is busiest, how
//! long it goes on without a rest. Nothing here judges; a report shows it.
//!
//! Lengths are sounding time; seconds are the mean of what a tempo in words leaves open (common practice, no source).

use super::{Idiom, Player, Staff, Stroke, strokes};
use crate::around::Around;
use crate::config::Config;
use crate::context::Context;
use recte_notation::Block;
use recte_score::Note;
use recte_score::clock::{Clock, Seconds};
use recte_theory::instruments::{Instrument, Level};
use recte_theory::{Pitch, Time};
use std::collections::BTreeMap;

/// One part: a voice, the staves of one player, or a stretch of a voice on one instrument.
#[derive(Clone, Debug, PartialEq)]
pub struct Part<'a> {
    /// The voices, by index; a player of two staves has two.
    pub voices: Vec<usize>,
    /// The first and the last bar in which it has notes, by index; none if it has none.
    pub bars: Option<(u32, u32)>,
    /// What it is played on, where that is known.
    pub instrument: Option<&'a Instrument>,
    /// For whom it is written.
    pub level: Level,
    /// Notes struck, those of a chord counted once.
    pub strokes: usize,
    /// The pitches that sound, the lowest first, each with how long it does, in quarters. None without pitch.
    pub pitches: Vec<(Pitch, f64)>,
    /// The share of that time in each register of the instrument, the lowest first; what is outside all is in none.
    pub registers: Vec<f64>,
    /// Where most begins.
    pub densest: Option<Densest>,
    /// The longest stretch without a rest.
    pub longest: Option<Unbroken>,
    /// The share of the piece in which it is silent, 0 to 1.
    pub silent: f64,
}

/// Where a part is busiest.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Densest {
    /// The bar it begins in, by index.
    pub bar: u32,
    /// So many strokes begin within a second, or in that bar where no tempo is known.
    pub strokes: usize,
    /// Whether a second is meant.
    pub in_a_second: bool,
}

/// A stretch without a rest.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Unbroken {
    /// Its first bar, by index.
    pub from: u32,
    /// Its last bar.
    pub to: u32,
    /// How long it is, in quarters.
    pub quarters: f64,
    /// How long it takes, where a tempo is known.
    pub seconds: Option<f64>,
}

/// The parts of a block, in the order of its voices; those whose instrument is not known as well.
pub fn parts_of<'a>(block: &'a Block, config: &'a Config, around: &'a Around) -> Vec<Part<'a>> {
    let context = Context::new(block, config, around);
    let idiom: &Idiom<'a> = context.idiom();
    let mut parts: Vec<Part<'a>> =
        idiom.players.iter().map(|player| of_player(&context, player)).collect();
    for (index, voice) in context.voices() {
        if parts.iter().any(|part| part.voices.contains(&index)) {
            continue;
        }
        let staff = Staff { voice: index, events: 0..voice.events.len() as u32, feet: false };
        let all = strokes::strokes(&context, &[staff]);
        parts.push(Part {
            instrument: None,
            level: config.level,
            registers: Vec::new(),
            ..figures(&context, vec![index], &all, |note| note.pitch)
        });
    }
    parts.sort_by_key(|part| (part.voices.first().copied(), part.bars));
    parts
}

fn of_player<'a>(context: &Context<'a>, player: &Player<'a>) -> Part<'a> {
    let reading = player.readings(context.tune)[0];
    let mut voices: Vec<usize> = player.staves.iter().map(|staff| staff.voice).collect();
    voices.dedup();
    let part = figures(context, voices, player.strokes(context), |note| reading.sounding(note));
    let total: f64 = part.pitches.iter().map(|(_, lasts)| lasts).sum();
    let share = |register: &recte_theory::instruments::Register| {
        let inside = part.pitches.iter().filter(|(p, _)| register.range.contains_sounding(*p));
        let inside: f64 = inside.map(|(_, lasts)| lasts).sum();
        if total > 0.0 { inside / total } else { 0.0 }
    };
    let registers = player.instrument.registers.iter().map(share).collect();
    Part { instrument: Some(player.instrument), level: player.level, registers, ..part }
}

/// What is the same with and without an instrument.
fn figures<'a>(
    context: &Context<'a>,
    voices: Vec<usize>,
    all: &[Stroke],
    sounding: impl Fn(&Note) -> Pitch,
) -> Part<'a> {
    let tune = context.tune;
    let pitched = voices.iter().all(|voice| !tune.voices[*voice].clef.is_percussion());
    let mut pitches: BTreeMap<i32, (Pitch, f64)> = BTreeMap::new();
    for stroke in all.iter().filter(|_| pitched) {
        for note in stroke.typed(tune) {
            let pitch = sounding(note);
            let own = pitches.entry(pitch.midi()).or_insert((pitch, 0.0));
            own.1 += quarters(stroke.end - stroke.onset);
        }
    }
    let mut spans: Vec<(Time, Time, u32)> =
        all.iter().map(|stroke| (stroke.onset, stroke.end, stroke.bar)).collect();
    spans.sort();
    let clock = context.idiom().clock(tune);
    let bars = || spans.iter().map(|span| span.2);
    let whole = tune.bars.last().map_or(Time::ZERO, |bar| bar.start + bar.length);
    let stretches = stretches(&spans);
    let sounds: f64 = stretches.iter().map(|(from, to, _)| quarters(*to - *from)).sum();
    let longest = stretches.iter().map(|(from, to, first)| {
        // A stretch that ends on a bar line ends in the bar before it.
        let last = tune.bars.partition_point(|bar| bar.start < *to).saturating_sub(1) as u32;
        Unbroken {
            from: *first,
            to: last.max(*first),
            quarters: quarters(*to - *from),
            seconds: clock.between(*from, *to).map(mean),
        }
    });
    Part {
        bars: bars().min().zip(bars().max()),
        instrument: None,
        level: Level::default(),
        strokes: all.len(),
        pitches: pitches.into_values().collect(),
        registers: Vec::new(),
        densest: densest(&spans, clock),
        longest: longest.max_by(|a, b| a.quarters.total_cmp(&b.quarters).then(b.from.cmp(&a.from))),
        silent: if whole > Time::ZERO { (1.0 - sounds / quarters(whole)).max(0.0) } else { 0.0 },
        voices,
    }
}

/// What sounds without a gap: from, to, and the bar it begins in.
fn stretches(spans: &[(Time, Time, u32)]) -> Vec<(Time, Time, u32)> {
    let mut all: Vec<(Time, Time, u32)> = Vec::new();
    for span in spans {
        match all.last_mut() {
            Some(last) if span.0 <= last.1 => last.1 = last.1.max(span.1),
            _ => all.push(*span),
        }
    }
    all
}

/// The second in which most begins; without a tempo the bar.
fn densest(spans: &[(Time, Time, u32)], clock: &Clock) -> Option<Densest> {
    let mut onsets: Vec<(Time, u32)> = spans.iter().map(|span| (span.0, span.2)).collect();
    onsets.dedup_by_key(|onset| onset.0);
    let first = onsets.first()?.0;
    let timed: Option<Vec<(f64, u32)>> = onsets
        .iter()
        .map(|(onset, bar)| Some((mean(clock.between(first, *onset)?), *bar)))
        .collect();
    let better = |best: &Option<Densest>, strokes: usize| best.is_none_or(|b| b.strokes < strokes);
    let mut best: Option<Densest> = None;
    if let Some(timed) = timed {
        let mut last = 0;
        for (at, (moment, bar)) in timed.iter().enumerate() {
            // What begins just on the next second is not in this one; a thousandth is for rounding.
            while timed.get(last).is_some_and(|next| next.0 < moment + 0.999) {
                last += 1;
            }
            if better(&best, last - at) {
                best = Some(Densest { bar: *bar, strokes: last - at, in_a_second: true });
            }
        }
        return best;
    }
    for bar in onsets.chunk_by(|a, b| a.1 == b.1) {
        if better(&best, bar.len()) {
            best = Some(Densest { bar: bar[0].1, strokes: bar.len(), in_a_second: false });
        }
    }
    best
}

fn mean(seconds: Seconds) -> f64 {
    (seconds.least + seconds.most) / 2.0
}

fn quarters(time: Time) -> f64 {
    4.0 * time.numerator() as f64 / time.denominator() as f64
}

#[cfg(test)]
mod tests {
    use super::*;
    use recte_notation::Document;

    fn with_parts<T>(text: &str, see: impl Fn(&[Part<'_>]) -> T) -> T {
        let document = Document::new(text);
        let (_, block) = document.blocks().next().unwrap();
        see(&parts_of(block, &Config::default(), &Around::default()))
    }

    #[test]
    fn a_clarinet_is_measured_where_it_sounds() {
        let text = "X:1\nL:1/4\nM:4/4\nQ:1/4=60\nK:C\nV:1 name=\"Clarinet in B-flat\" transpose=-2\n\
            D4|d2 z2|e/f/e/f/ e2|e4|\n";
        with_parts(text, |parts| {
            let part = &parts[0];
            assert_eq!(part.instrument.unwrap().id, "clarinet-in-b-flat");
            let lowest = part.pitches.first().unwrap();
            assert_eq!((lowest.0.to_string(), lowest.1), ("C4".to_owned(), 4.0));
            assert!((part.registers.iter().sum::<f64>() - 1.0).abs() < 1e-9);
            let dense = part.densest.unwrap();
            assert_eq!((dense.bar, dense.strokes, dense.in_a_second), (2, 2, true));
            let longest = part.longest.unwrap();
            assert_eq!((longest.from, longest.to, longest.seconds), (2, 3, Some(8.0)));
            assert_eq!(part.silent, 0.125);
        });
    }

    #[test]
    fn two_staves_are_one_part_and_a_name_nobody_knows_is_one_too() {
        let text = "X:1\nL:1/4\nM:4/4\n%%score {a b} c\nV:a name=\"Piano\"\nV:b name=\"Piano\" clef=bass\n\
            V:c name=\"Zither of the moon\"\nK:C\n[V:a]c4|\n[V:b]C,4|\n[V:c]e f g a|\n";
        with_parts(text, |parts| {
            let voices: Vec<_> = parts.iter().map(|part| part.voices.clone()).collect();
            assert_eq!(voices, [vec![0, 1], vec![2]]);
            assert_eq!(parts[1].instrument, None);
            // Without a tempo a bar is counted.
            let dense = parts[1].densest.unwrap();
            assert_eq!((dense.strokes, dense.in_a_second), (4, false));
        });
    }

    #[test]
    fn a_part_without_a_note() {
        let text =
            "X:1\nM:4/4\nK:C\nV:1 name=\"Oboe\"\nV:2 name=\"Bassoon\"\n[V:1]Z2|\n[V:2]C8|C8|\n";
        with_parts(text, |parts| {
            assert_eq!((parts[0].bars, parts[0].longest, parts[0].silent), (None, None, 1.0));
        });
    }
}
