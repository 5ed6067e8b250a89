//! Where one section ends and another begins, by the music alone.
//!
//! The strength of a joint is a sum: novelty of the texture and of the material around it (checkerboard kernels of two
//! sizes, see `similarity`), closure before it (parts that end there on a note long for them, or fall silent), a pause
//! or a fermata there, a change of key, metre or tempo, and a passage that comes back from there on. Joints are taken
//! where the strength is highest within three bars and clearly above what is usual in the piece (a threshold by mean and
//! spread). Novelty after Foote (2000), closure after D. Temperley, *The Cognition of Basic Musical Structures* (2001),
//! chapter 3 (both from memory); the weights are our own, found on the odd half of the corpus.

use super::similarity::Matrix;
use super::table::{Table, Ticks};
use std::cmp::Ordering;

/// A joint of the form.
#[derive(Clone, Debug, PartialEq)]
pub struct Boundary {
    /// The bar that begins what comes after, by index.
    pub bar: u32,
    /// How strong it is; joints that are told have at least the threshold of the piece.
    pub strength: f64,
    /// How sudden the change is: near 1 a cut, below 0.5 by and by; none where the texture does not change.
    pub abruptness: Option<f64>,
    /// What it is made of.
    pub evidence: Evidence,
}

/// What speaks for a joint at the line before a bar, each from 0 to about 1.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Evidence {
    /// Novelty of the texture.
    pub texture: f64,
    /// Novelty of the material.
    pub material: f64,
    /// The share of the parts that end there on a long note or fall silent.
    pub closure: f64,
    /// How long nothing begins there, against what is usual.
    pub wait: f64,
    /// Whether all parts stop there under a fermata.
    pub fermata: f64,
    /// Key, metre or tempo change there.
    pub change: f64,
    /// A passage heard before comes back there.
    pub comes_back: f64,
}

/// How much each kind of evidence weighs.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Weights(pub Evidence);

impl Default for Weights {
    fn default() -> Weights {
        Weights(Evidence {
            texture: 0.5,
            material: 0.5,
            closure: 1.5,
            wait: 2.0,
            fermata: 0.5,
            change: 1.5,
            comes_back: 0.5,
        })
    }
}

impl Evidence {
    /// The strength of the joint.
    pub fn strength(&self, weights: &Weights) -> f64 {
        let Weights(heavy) = weights;
        self.texture * heavy.texture
            + self.material * heavy.material
            + self.closure * heavy.closure
            + self.wait * heavy.wait
            + self.fermata * heavy.fermata
            + self.change * heavy.change
            + self.comes_back * heavy.comes_back
    }
}

/// What the evidence is taken from.
pub struct Ground<'a> {
    /// The sounds.
    pub table: &'a Table,
    /// How like the bars' textures are.
    pub texture: &'a Matrix,
    /// How much the bars share.
    pub shared: &'a Matrix,
    /// The moments at which a fermata ends.
    pub fermatas: &'a [Ticks],
}

/// Sections have at least so many bars.
const SHORTEST: usize = 4;

/// The evidence at the line before each bar.
pub fn evidence(ground: &Ground<'_>) -> Vec<Evidence> {
    let closures = closures(ground.table);
    let waits = waits(ground.table);
    let bars = &ground.table.bars;
    let at = |bar: usize| {
        if bar == 0 {
            return Evidence::default();
        }
        let (own, before) = (&bars[bar], &bars[bar - 1]);
        let views = |matrix: &Matrix| {
            let of = |half| matrix.novelty_within(bar, half).max(0.0);
            (of(4) + of(8)) / 2.0
        };
        let change = f64::from(u8::from(own.key != before.key))
            + f64::from(u8::from(own.metre != before.metre))
            + f64::from(u8::from(own.tempo));
        Evidence {
            texture: (views(ground.texture) * 4.0).min(1.0),
            material: (views(ground.shared) * 2.0).min(1.0),
            closure: closures[bar],
            wait: waits[bar],
            fermata: f64::from(u8::from(ground.fermatas.contains(&own.start))),
            change: change.min(1.0),
            comes_back: comes_back(ground.shared, bar),
        }
    };
    (0..bars.len()).map(at).collect()
}

/// The joints that stand out.
pub fn boundaries(ground: &Ground<'_>, weights: &Weights) -> Vec<Boundary> {
    let evidence = evidence(ground);
    let strengths: Vec<f64> = evidence.iter().map(|one| one.strength(weights)).collect();
    let chosen = peaks(&strengths);
    let told = |bar: usize| Boundary {
        bar: bar as u32,
        strength: strengths[bar],
        abruptness: ground.texture.abruptness(bar),
        evidence: evidence[bar],
    };
    chosen.into_iter().map(told).collect()
}

/// Above the mean by so many spreads a joint stands out.
const SPREADS: f64 = 2.0;

/// The places of what stands out, at least a shortest section apart from each other and from both ends.
pub fn peaks(strengths: &[f64]) -> Vec<usize> {
    let inner = SHORTEST..strengths.len().saturating_sub(SHORTEST - 1);
    let all: Vec<f64> = inner.clone().map(|bar| strengths[bar]).collect();
    if all.is_empty() {
        return Vec::new();
    }
    let mean = all.iter().sum::<f64>() / all.len() as f64;
    let spread = (all.iter().map(|x| (x - mean).powi(2)).sum::<f64>() / all.len() as f64).sqrt();
    let mut order: Vec<usize> =
        inner.filter(|bar| strengths[*bar] > mean + SPREADS * spread).collect();
    order.sort_by(|a, b| strengths[*b].total_cmp(&strengths[*a]).then(a.cmp(b)));
    let mut chosen: Vec<usize> = Vec::new();
    for bar in order {
        if chosen.iter().all(|other| bar.abs_diff(*other) >= SHORTEST) {
            chosen.push(bar);
        }
    }
    chosen.sort_unstable();
    chosen
}

/// How many bars of a passage that begins here are an earlier passage again, up to four, where the bar before is not.
fn comes_back(shared: &Matrix, bar: usize) -> f64 {
    let best = (0..bar.saturating_sub(SHORTEST - 1)).map(|from| {
        let again = shared.diagonal(from, bar, SHORTEST);
        let before = if from == 0 { 0.0 } else { shared.at(from - 1, bar - 1) };
        (again - before).max(0.0) * again
    });
    best.fold(0.0, f64::max)
}

/// The share of the parts that close at the line before each bar: what sounded there ends there, with a note at least
/// twice as long as is usual in its part, or before it, and is silent up to the line.
fn closures(table: &Table) -> Vec<f64> {
    let mut lengths: Vec<Vec<Ticks>> = vec![Vec::new(); table.pitched.len()];
    for sound in &table.sounds {
        lengths[sound.part as usize].push(sound.end - sound.onset);
    }
    let usual: Vec<Ticks> = lengths
        .iter_mut()
        .map(|all| {
            all.sort_unstable();
            all.get(all.len() / 2).copied().unwrap_or_default()
        })
        .collect();
    let by_bar = table.by_bar();
    let mut all = vec![0.0; table.bars.len()];
    for bar in 1..table.bars.len() {
        let line = table.bars[bar].start;
        // Of each part the last sound before the line.
        let mut last: Vec<Option<(Ticks, Ticks)>> = vec![None; table.pitched.len()];
        for at in &by_bar[bar - 1] {
            let sound = &table.sounds[*at];
            let own = &mut last[sound.part as usize];
            let (onset, end) = own.unwrap_or((sound.onset, sound.end));
            *own = Some((onset.max(sound.onset), end.max(sound.end)));
        }
        let (mut closing, mut sounding) = (0.0, 0u32);
        for (part, last) in last.iter().enumerate() {
            let Some((onset, end)) = *last else { continue };
            sounding += 1;
            let lasts = (end - onset).max(1) as f64 / usual[part].max(1) as f64;
            closing += match end.cmp(&line) {
                Ordering::Less => 1.0,
                Ordering::Equal => (lasts.log2() / 2.0).clamp(0.0, 1.0),
                Ordering::Greater => 0.0,
            };
        }
        if sounding > 0 {
            all[bar] = closing / f64::from(sounding);
        }
    }
    all
}

/// How long nothing begins before each line, silence counted once more, against what is usual: 0 for the usual, 1 for
/// four times as long or longer.
fn waits(table: &Table) -> Vec<f64> {
    let mut onsets: Vec<Ticks> = table.sounds.iter().map(|sound| sound.onset).collect();
    onsets.dedup();
    let mut steps: Vec<Ticks> = onsets.windows(2).map(|pair| pair[1] - pair[0]).collect();
    steps.sort_unstable();
    let usual = steps.get(steps.len() / 2).copied().unwrap_or(1).max(1) as f64;
    let mut until = 0;
    let mut ends = table.sounds.iter().peekable();
    let mut all = vec![0.0; table.bars.len()];
    for (bar, own) in table.bars.iter().enumerate().skip(1) {
        while let Some(sound) = ends.next_if(|sound| sound.onset < own.start) {
            until = until.max(sound.end);
        }
        let after = onsets.partition_point(|onset| *onset < own.start);
        let Some(last) = after.checked_sub(1).map(|at| onsets[at]) else { continue };
        let next = onsets.get(after).copied().unwrap_or(own.start);
        let silence = (next - until).max(0);
        let wait = (next - last + silence) as f64 / usual;
        all[bar] = (wait.log2() / 3.0).clamp(0.0, 1.5);
    }
    all
}
