//! # A rhythm that belongs to another metre
//!
//! A time signature is a promise about where the beats fall, and players count on it. Nine eighths written
//! as 9/8 are three groups of three; if the notes make a dotted quarter and three quarters, the whole
//! ensemble counts one thing and plays another. Such a bar reads at once as 5/8 and 2/4, or, where the
//! pattern repeats, under one additive signature such as 3+2+2+2/8.
//!
//! The remark is made only if no voice contradicts it: notes, ties and beams of all voices together must fit
//! the other grouping, and some of them must contradict every grouping the signature allows. What is looked
//! for:
//!
//! - 9/8 felt as 3+2+2+2 in any order, or as 5+4: each bar.
//! - 6/8 felt in quarters, 3/4 felt in two groups of three eighths (and 6/4, 3/2 alike): when it lasts, three
//!   bars of four or four in a row. A hemiola before a close, or a single bar, is nobody's fault.
//! - 12/8 or 5/4 felt in threes and twos, bar after bar; 4/4 felt as 3+3+2 in every voice for a whole
//!   stretch (a hint only: many dances live from it).
//! - an additive signature (2+2+2+3/8) over notes in plain beats: three threes are 9/8, two halves 4/4, five
//!   quarters 5/4.
//! - one odd bar among regular ones that only holds its last note longer: a pause says the same.
//!
//! What to do: take the split or the signature offered; neither changes a sound, and every voice is
//! rewritten. Staying in the metre with a pause changes the written length and is only suggested.
//!
//! Source: Integrated Music Theory, chapters on advanced metre (asymmetric metres, composite signatures such
//! as 2+3/8), and Buccheri, "Other metric structures" (additive bars); Open Music Theory, "Meter" (compound
//! metres count in dotted beats). Splitting a single 9/8 bar and the pause: common practice, no source. The
//! threshold of three bars in four: from memory.
//!
//! ```abc flagged
//! X:1
//! M:9/8
//! L:1/8
//! K:C
//! CDE FGA Bcd|c3 B2A2G2|C6-C3|]
//! ```
//! ```abc fixed
//! X:1
//! M:9/8
//! L:1/8
//! K:C
//! CDE FGA Bcd|[M:5/8] c3 B2 | [M:2/4] A2G2|[M:9/8] C6-C3|]
//! ```
//!
//! Bar after bar:
//! ```abc flagged
//! X:1
//! M:9/8
//! L:1/8
//! K:C
//! C2D2E2F3|G2F2E2D3|]
//! ```
//! ```abc fixed
//! X:1
//! M:2+2+2+3/8
//! L:1/8
//! K:C
//! C2D2E2F3|G2F2E2D3|]
//! ```
//!
//! A slip jig, a hemiola before the close, and a voice that keeps the signature's beats:
//! ```abc quiet
//! X:1
//! M:9/8
//! L:1/8
//! K:D
//! A2f fed B2e|f3 e2d c2A|d2f f2e d3|]
//! ```
//! ```abc quiet
//! X:1
//! M:6/8
//! L:1/8
//! K:C
//! CDE FGA|c2B A2G|F2E2D2|C6|]
//! ```
//! ```abc quiet
//! X:1
//! M:9/8
//! L:1/8
//! K:C
//! V:1
//! c3 B2A2G2|c6-c3|
//! V:2
//! C3 E3 G3|C6-C3|
//! ```

use crate::context::Context;
use crate::finding::{Finding, Fix, Related, Severity};
use crate::metre::{Grouping, Reading, Rhythm, Run, Stretch, read, stretches};
use crate::rule::{Family, Rule};
use recte_notation::write::{Refusal, TextEdit, pause_instead, set_metre, split_bar};
use recte_score::Span;
use recte_theory::{Metre, Time};

pub(crate) const RULE: Rule = Rule {
    id: "",
    doc: "",
    family: Family::Metre,
    severity: Severity::Warning,
    summary: "a rhythm that belongs to another metre",
    check,
};

/// Threes and twos that a 9/8 bar may be felt as, and how many eighths stand before the natural join.
const NINE: [([i64; 4], i64); 4] =
    [([3, 2, 2, 2], 5), ([2, 3, 2, 2], 5), ([2, 2, 3, 2], 4), ([2, 2, 2, 3], 4)];

fn check(context: &Context<'_>, findings: &mut Vec<Finding>) {
    let all = stretches(context.tune, &context.block.text);
    for (place, stretch) in all.iter().enumerate() {
        if let Some(finding) = held(context, &all, place) {
            findings.push(finding);
            continue;
        }
        let look = Look { context, stretch };
        match stretch.metre.numbers() {
            Some((9, 8)) => look.nine(findings),
            Some((6, 8)) => look.lasting("3/4", findings),
            Some((3, 4)) => look.lasting("6/8", findings),
            Some((6, 4)) => look.lasting("3/2", findings),
            Some((3, 2)) => look.lasting("6/4", findings),
            Some((12, 8)) => look.pattern(&[3, 3, 2, 2, 2], 3, findings),
            Some((5, 4)) => look.pattern(&[3, 3, 2, 2], 2, findings),
            Some((4, 4)) => look.pattern(&[3, 3, 2], 4, findings),
            Some((8 | 10, 8)) => look.plain(findings),
            None if stretch.metre.unit() == Some(eighth()) => look.plain(findings),
            _ => {}
        }
    }
}

fn eighth() -> Time {
    Time::new(1, 8)
}

/// One stretch, looked at.
struct Look<'a> {
    context: &'a Context<'a>,
    stretch: &'a Stretch<'a>,
}

impl Look<'_> {
    /// What the signature allows.
    fn signature(&self) -> Vec<Grouping> {
        self.stretch.metre.groupings().into_iter().map(Grouping::new).collect()
    }

    fn rhythm(&self, place: usize) -> Option<&Rhythm> {
        self.stretch.bars[place].as_ref()
    }

    fn readings(&self, signature: &[Grouping], other: &Grouping, beams: bool) -> Vec<Reading> {
        let reading = |bar: &Option<Rhythm>| {
            bar.as_ref().map_or(Reading::Neutral, |rhythm| read(rhythm, signature, other, beams))
        };
        self.stretch.bars.iter().map(reading).collect()
    }

    /// 9/8: each bar by itself, and runs of one pattern.
    fn nine(&self, findings: &mut Vec<Finding>) {
        let signature = self.signature();
        let mut place = 0;
        while place < self.stretch.bars.len() {
            let felt = self.rhythm(place).and_then(|rhythm| felt_in_nine(rhythm, &signature));
            let Some((counts, join, shown)) = felt else {
                place += 1;
                continue;
            };
            let grouping = Grouping::counted(&counts, eighth());
            let readings = self.readings(&signature, &grouping, true);
            let run = Run::all(self.stretch, &readings).into_iter().find(|run| run.first == place);
            match run.filter(|run| shown && run.count > 1) {
                Some(run) => {
                    let run = run.widened(&readings);
                    findings.push(self.additive(&run, &counts));
                    place = run.last + 1;
                }
                None => {
                    findings.push(self.split(place, &counts, join, shown));
                    place += 1;
                }
            }
        }
    }

    /// One bar of 9/8 felt as 3+2+2+2.
    fn split(&self, place: usize, counts: &[i64; 4], join: i64, shown: bool) -> Finding {
        let bar = self.stretch.from + place as u32;
        let halves = if join == 5 { [(5, 8), (2, 4)] } else { [(2, 4), (5, 8)] };
        let signatures = halves.map(|(n, d)| Metre::fraction(n, d).unwrap_or_default());
        let [first, second] = &signatures;
        let felt = if shown { joined(counts) } else { format!("{join}+{}", 9 - join) };
        let message =
            format!("This 9/8 bar is felt as {felt}; {first} then {second} would show it.");
        let read = self.context.lowered();
        let at = Time::new(join, 8);
        let edits = split_bar(&self.context.block.text, read, bar, at, [first, second]);
        let title = format!("Split into {first} + {second}");
        with_fix(self.context, self.finding(place, place, message), title, edits, shown)
    }

    /// A pattern of threes and twos that lasts.
    fn additive(&self, run: &Run, counts: &[i64]) -> Finding {
        let sign = format!("{}/8", joined(counts));
        let bars = self.bars(run);
        let message =
            format!("{bars} felt as {}; the signature {sign} would show it.", joined(counts));
        self.written_as(run, &sign, message)
    }

    /// 6/8 felt in quarters, 3/4 in two groups of three, for as long as it takes to be meant.
    fn lasting(&self, other: &str, findings: &mut Vec<Finding>) {
        let Some(grouping) = first_grouping(other) else { return };
        let readings = self.readings(&self.signature(), &grouping, true);
        let runs = Run::meant(self.stretch, &readings, 0..readings.len());
        for run in runs {
            let words = self.context.config.words;
            let unit = grouping.groups[0];
            let felt = match unit.numerator() {
                1 => format!("in {}", words.plural(unit.denominator())),
                _ => format!("in groups of three {}", words.plural(unit.denominator())),
            };
            let message = format!("{} felt {felt}; {other} would show it.", self.bars(&run));
            findings.push(self.written_as(&run, other, message));
        }
    }

    /// Threes and twos bar after bar, all in one order, where the signature counts even beats.
    fn pattern(&self, counts: &[i64], least: usize, findings: &mut Vec<Finding>) {
        let numbers = self.stretch.metre.numbers();
        let compound = numbers == Some((12, 8));
        let beat = if compound { Time::new(3, 8) } else { Time::new(1, 4) };
        let beats = self.stretch.metre.length().and_then(|length| length.count_of(beat));
        let signature = [Grouping::new(vec![beat; beats.unwrap_or(1).max(1) as usize])];
        // A bar of 12/8 that six quarters explain needs no threes and twos.
        let quarters = Grouping::counted(&[2; 6], eighth());
        let even = |rhythm: &Rhythm| compound && read(rhythm, &signature, &quarters, true).is_for();
        for order in orders(counts) {
            let grouping = Grouping::counted(&order, eighth());
            let mut readings = self.readings(&signature, &grouping, true);
            for (reading, bar) in readings.iter_mut().zip(&self.stretch.bars) {
                let shown = |rhythm: &Rhythm| grouping.shows_in(rhythm) && !even(rhythm);
                let shown = bar.as_ref().is_some_and(shown);
                if reading.is_for() && !(shown && *reading == Reading::For { off_line: true }) {
                    *reading = Reading::Neutral;
                }
            }
            let long = |run: &Run| run.count >= least && run.prevails();
            let runs: Vec<Run> = if compound {
                Run::all(self.stretch, &readings).into_iter().filter(long).collect()
            } else if readings.contains(&Reading::Against) {
                Vec::new()
            } else {
                vec![Run::whole(self.stretch, &readings)].into_iter().filter(long).collect()
            };
            for run in runs {
                let finding = self.additive(&run.widened(&readings), &order);
                findings.push(if numbers == Some((4, 4)) { as_hint(finding) } else { finding });
            }
        }
    }

    /// An additive signature over beats that are all alike.
    fn plain(&self, findings: &mut Vec<Finding>) {
        let eighths = self.stretch.metre.length().and_then(|length| length.count_of(eighth()));
        let other = match eighths {
            Some(8) => "4/4",
            Some(9) => "9/8",
            Some(10) => "5/4",
            _ => return,
        };
        let beat = if other == "9/8" { Time::new(3, 8) } else { Time::new(1, 4) };
        let beats = self.stretch.metre.length().and_then(|length| length.count_of(beat));
        let grouping = Grouping::new(vec![beat; beats.unwrap_or(1).max(1) as usize]);
        let readings = self.readings(&self.signature(), &grouping, false);
        let run = Run::whole(self.stretch, &readings);
        if run.count == 0 || !run.prevails() || readings.contains(&Reading::Against) {
            return;
        }
        let felt = match other {
            "9/8" => "three threes".to_owned(),
            _ => format!("plain {}", self.context.config.words.plural(4)),
        };
        let message = format!("{} felt as {felt}; {other} says so at once.", self.bars(&run));
        findings.push(self.written_as(&run, other, message));
    }

    /// The run under another signature; certain if every bar of it asks for that.
    fn written_as(&self, run: &Run, sign: &str, message: String) -> Finding {
        let metre = Metre::parse(sign).unwrap_or_default();
        let from = self.stretch.from;
        let (first, last) = (from + run.first as u32, from + run.last as u32);
        let read = self.context.lowered();
        let edits = set_metre(&self.context.block.text, read, first, last, &metre);
        let finding = self.finding(run.first, run.last, message);
        with_fix(self.context, finding, format!("Write as {sign}"), edits, run.is_constant())
    }

    /// "Bars 3–6 are", "This 9/8 bar is".
    fn bars(&self, run: &Run) -> String {
        // A pickup is written with the bars it leads to, but nobody would call it the first of them.
        let number =
            |place: usize| self.context.tune.bar_number(self.stretch.from + place as u32).max(1);
        if run.first == run.last {
            return format!("This {} bar is", name(self.stretch.metre));
        }
        format!("Bars {}–{} are", number(run.first), number(run.last))
    }

    fn finding(&self, first: usize, last: usize, message: String) -> Finding {
        let from = self.stretch.from;
        at_bars(self.context, from + first as u32, from + last as u32, message)
    }
}

/// The grouping of twos and one three that a 9/8 bar is felt in, the place of its natural join, and whether
/// every group is shown.
fn felt_in_nine(rhythm: &Rhythm, signature: &[Grouping]) -> Option<([i64; 4], i64, bool)> {
    // A beam led over a beat is a slip of the pen; beams that break inside one ask for other groups.
    let breaks_beats = rhythm.breaks.iter().any(|at| !at.modulo(Time::new(3, 8)).is_zero());
    let fitting = NINE.into_iter().filter(|(counts, _)| {
        let grouping = Grouping::counted(counts, eighth());
        let off_line = Reading::For { off_line: true };
        let by_values = || read(rhythm, signature, &grouping, false).is_for();
        read(rhythm, signature, &grouping, true) == off_line && (breaks_beats || by_values())
    });
    let fitting: Vec<_> = fitting.collect();
    let shown = |counts: &[i64; 4]| Grouping::counted(counts, eighth()).shows_in(rhythm);
    if let Some((counts, join)) = fitting.iter().find(|(counts, _)| shown(counts)) {
        return Some((*counts, *join, true));
    }
    let halves = fitting.iter().find(|(_, join)| rhythm.onsets.contains(&Time::new(*join, 8)));
    halves.map(|(counts, join)| (*counts, *join, false))
}

/// The only odd bar among regular ones, if it only holds its last note longer.
fn held(context: &Context<'_>, all: &[Stretch<'_>], place: usize) -> Option<Finding> {
    let stretch = &all[place];
    let before = place.checked_sub(1).map(|at| &all[at])?;
    let after = all.get(place + 1)?;
    let adjacent = before.to() + 1 == stretch.from && stretch.to() + 1 == after.from;
    let only = all.iter().filter(|other| other.metre == stretch.metre).count() == 1;
    let [Some(_)] = stretch.bars.as_slice() else { return None };
    let usual = before.metre;
    let added = stretch.metre.length()? - usual.length()?;
    let beat = usual.groupings().first()?.first().copied()?;
    if !adjacent || !only || after.metre != usual || added <= Time::ZERO || added > beat {
        return None;
    }
    let bar = stretch.from;
    let edits = pause_instead(&context.block.text, context.lowered(), bar, usual).ok()?;
    let usual = name(usual);
    let message = format!(
        "This {} bar only holds its last note longer; {usual} with a pause on that note says the same.",
        name(stretch.metre)
    );
    let title =
        format!("Stay in {usual} and put a pause on the last note (changes the written length)");
    let mut finding = at_bars(context, bar, bar, message);
    finding.severity = Severity::Info;
    finding.fixes.extend(context.suggestion(title, edits));
    Some(finding)
}

fn at_bars(context: &Context<'_>, from: u32, to: u32, message: String) -> Finding {
    let mut bars = context.voices().filter_map(|(_, voice)| voice.bars.get(from as usize));
    let span = bars.next().map_or(Span::default(), |bar| bar.span);
    Finding { bar: Some(from), to_bar: Some(to), ..context.at(span, message) }
}

/// The finding with a fix, or with the reason why there is none.
fn with_fix(
    context: &Context<'_>,
    mut finding: Finding,
    title: String,
    edits: Result<Vec<TextEdit>, Refusal>,
    preferred: bool,
) -> Finding {
    match edits {
        Ok(edits) => {
            let fix = context.fix(title, edits);
            finding.fixes.push(Fix { preferred, ..fix });
        }
        Err(refusal) => {
            let message = refusal.to_string();
            finding.related.push(Related { span: finding.span, message });
        }
    }
    finding
}

/// A hint is never taken unasked.
fn as_hint(mut finding: Finding) -> Finding {
    finding.severity = Severity::Hint;
    finding.fixes.iter_mut().for_each(|fix| fix.preferred = false);
    finding
}

fn first_grouping(metre: &str) -> Option<Grouping> {
    Metre::parse(metre).ok()?.groupings().into_iter().next().map(Grouping::new)
}

/// Every order of the counts.
fn orders(counts: &[i64]) -> Vec<Vec<i64>> {
    let Some(&largest) = counts.iter().max() else { return vec![Vec::new()] };
    let mut found = Vec::new();
    for first in [largest, largest - 1] {
        let Some(place) = counts.iter().position(|count| *count == first) else { continue };
        let mut rest = counts.to_vec();
        rest.remove(place);
        found.extend(orders(&rest).into_iter().map(|mut order| {
            order.insert(0, first);
            order
        }));
    }
    found
}

fn joined(counts: &[i64]) -> String {
    counts.iter().map(i64::to_string).collect::<Vec<_>>().join("+")
}

/// The signature in numbers: common time is 4/4.
fn name(metre: &Metre) -> String {
    metre.numbers().map_or_else(|| metre.to_string(), |(n, d)| format!("{n}/{d}"))
}

#[cfg(test)]
#[path = "../rule_tests/metre_fit.rs"]
mod tests;
