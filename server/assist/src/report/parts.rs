//! Each part: what it asks of its player, in figures, and the bars that ask most.

use super::bars::Bars;
use super::remarks::Remark;
use recte_review::{Family, Part, Severity};
use recte_theory::Pitch;
use recte_theory::instruments::{Instrument, Level};

/// A part.
#[derive(Clone, Debug, PartialEq)]
pub struct PartReport {
    /// What the score calls it.
    pub name: String,
    /// The voices, by index.
    pub voices: Vec<usize>,
    /// What it is played on: "Clarinet in B-flat"; none where that is not known.
    pub instrument: Option<String>,
    /// For whom it is written.
    pub level: Level,
    /// The notes the instrument has at that level, sounding.
    pub range: Option<(Pitch, Pitch)>,
    /// The registers of the instrument, the lowest first.
    pub registers: Vec<RegisterUse>,
    /// The lowest and the highest note that sounds.
    pub compass: Option<(Pitch, Pitch)>,
    /// The pitches that sound, the lowest first, each with how long it does, in quarters.
    pub pitches: Vec<(Pitch, f64)>,
    /// Notes struck.
    pub strokes: usize,
    /// Where most begins.
    pub densest: Option<recte_review::Densest>,
    /// The longest stretch without a rest.
    pub longest: Option<recte_review::Unbroken>,
    /// The share of the piece in which it is silent.
    pub silent: f64,
    /// The bars that ask most of the player, the worst first, each with why.
    pub hardest: Vec<(u32, Vec<&'static str>)>,
    /// The remarks that are told here, by their place in the list.
    pub remarks: Vec<usize>,
}

/// How much a register is used.
#[derive(Clone, Debug, PartialEq)]
pub struct RegisterUse {
    /// "low", "middle" …
    pub label: String,
    /// Its lowest and its highest note, sounding.
    pub range: (Pitch, Pitch),
    /// The share of the sounding time, 0 to 1.
    pub share: f64,
    /// What a colleague would warn of; may be empty.
    pub caution: String,
}

/// So many of the hardest bars are told.
const HARDEST: usize = 3;

/// The parts of a tune.
pub(super) fn parts(parts: &[Part<'_>], remarks: &[Remark], names: &[String]) -> Vec<PartReport> {
    parts.iter().map(|part| one(part, remarks, names)).collect()
}

fn one(part: &Part<'_>, remarks: &[Remark], names: &[String]) -> PartReport {
    let own = |remark: &&Remark| remark.voice.is_some_and(|voice| part.voices.contains(&voice));
    let mine = remarks.iter().filter(own).filter(|remark| remark.family == Family::Idiom);
    let told = remarks
        .iter()
        .enumerate()
        .filter(|(_, remark)| own(remark) && remark.chapter == recte_review::Chapter::Parts);
    let first = part.voices.first().and_then(|voice| names.get(*voice));
    let range = part.instrument.and_then(|one| one.range(part.level));
    let lowest = part.pitches.first().zip(part.pitches.last());
    PartReport {
        name: first.cloned().unwrap_or_default(),
        voices: part.voices.clone(),
        instrument: part.instrument.map(|one| one.name.clone()),
        level: part.level,
        range: range.map(|range| (range.sounding_min, range.sounding_max)),
        registers: part.instrument.map_or_else(Vec::new, |one| registers(one, &part.registers)),
        compass: lowest.map(|(low, high)| (low.0, high.0)),
        pitches: part.pitches.clone(),
        strokes: part.strokes,
        densest: part.densest,
        longest: part.longest,
        silent: part.silent,
        hardest: hardest(mine),
        remarks: told.map(|(at, _)| at).collect(),
    }
}

fn registers(instrument: &Instrument, shares: &[f64]) -> Vec<RegisterUse> {
    let all = instrument.registers.iter().zip(shares);
    let one = |(register, share): (&recte_theory::instruments::Register, &f64)| RegisterUse {
        label: register.label.clone(),
        range: (register.range.sounding_min, register.range.sounding_max),
        share: *share,
        caution: register.caution.clone(),
    };
    all.map(one).collect()
}

/// The bars with most to mind: what cannot be played counts five times.
fn hardest<'r>(remarks: impl Iterator<Item = &'r Remark>) -> Vec<(u32, Vec<&'static str>)> {
    let mut bars: std::collections::BTreeMap<u32, (u32, Vec<&'static str>)> = Default::default();
    for remark in remarks.filter(|remark| remark.rule != "which-instrument") {
        let Some((from, to)) = remark.bars else { continue };
        // What lasts for long is hard as a whole, not in each of its bars.
        let weight = match (remark.severity, to - from) {
            (Severity::Warning | Severity::Error, _) => 5,
            (_, 0..=1) => 2,
            _ => 1,
        };
        let own = bars.entry(from).or_default();
        own.0 += weight;
        if !own.1.contains(&remark.rule) {
            own.1.push(remark.rule);
        }
    }
    let mut all: Vec<(u32, (u32, Vec<&'static str>))> = bars.into_iter().collect();
    all.sort_by_key(|(bar, (weight, _))| (std::cmp::Reverse(*weight), *bar));
    all.into_iter().take(HARDEST).map(|(bar, (_, rules))| (bar, rules)).collect()
}

/// A figure of a part in words.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fact {
    /// How it was worked out, by its name among the methods.
    pub how: &'static str,
    /// What it is: "Compass".
    pub label: &'static str,
    /// "F♯4–E6, of G3–B7 for professionals".
    pub text: String,
}

impl PartReport {
    /// What its figures say.
    pub fn facts(&self, bars: &Bars) -> Vec<Fact> {
        let mut all = Vec::new();
        let mut add = |how, label, text| all.push(Fact { how, label, text });
        if let Some((low, high)) = self.compass {
            let of = self.range.map(|(least, most)| {
                let who = match self.level {
                    Level::Professional => "professionals",
                    Level::Advanced => "advanced players",
                    Level::School => "school players",
                };
                format!(", of {}–{} for {who}", least.symbol(), most.symbol())
            });
            let of = of.unwrap_or_default();
            add("compass", "Compass", format!("{}–{}{of}", low.symbol(), high.symbol()));
        }
        let used = self.registers.iter().filter(|one| one.share >= 0.01);
        let used: Vec<String> =
            used.map(|one| format!("{} {}", one.label, percent(one.share))).collect();
        if self.registers.len() > 1 && !used.is_empty() {
            add("registers", "Registers", used.join(", "));
        }
        if let Some(dense) = self.densest {
            let unit = if dense.in_a_second { "within a second" } else { "in one bar" };
            let note = if dense.strokes == 1 { "note" } else { "notes" };
            let place = bars.span(dense.bar, dense.bar);
            add("densest", "Busiest", format!("{} {note} {unit}, {place}", dense.strokes));
        }
        match self.longest {
            Some(run) => {
                let long = match run.seconds {
                    Some(seconds) => format!("{}\u{a0}s", seconds.round()),
                    None => format!("{} quarters", run.quarters),
                };
                let place = bars.span(run.from, run.to);
                add("unbroken", "Longest without a rest", format!("{long}, {place}"));
                if self.silent >= 0.005 {
                    add("silent", "Silent", format!("{} of the piece", percent(self.silent)));
                }
            }
            None => add("silent", "Silent", "all along".to_owned()),
        }
        all
    }
}

/// "37 %"; what is more than nothing is at least "1 %".
pub fn percent(share: f64) -> String {
    let rounded = (share * 100.0).round();
    format!("{}\u{a0}%", if rounded == 0.0 && share > 0.0 { 1.0 } else { rounded })
}
