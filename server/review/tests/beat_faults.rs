//! Rhythms made worse on purpose in real pieces: a tie over a line joined into one value, rests put together or apart,
//! beams broken or led over a line, bars of 9/8 in fours. How many are found, under the right rule, and how many the
//! first fix writes as they were. What counts as a fault is said here, in the words of the table of metres
//! (`metre-cases.csv` has its sources), and not asked of the rules.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::print_stdout)]

use recte_notation::Block;
use recte_notation::write::TextEdit;
use recte_notation::write::rhythm::{Kind, Row, joined_edits, rows};
use recte_review::{Around, Config, Family, Finding, RULES, RuleSetting, check_block};
use recte_score::{Span, Tune, Voice};
use recte_theory::metre::{Ticks, WHOLE};
use std::sync::Arc;

mod real;
use real::{Dice, imported, tunes_of, typed};

/// Faults of each kind put into each tune.
const FAULTS: usize = 2;
const SIXTEENTH: Ticks = WHOLE / 16;

/// A metre of equal beats, in sixteenths.
struct Plain {
    beat: i64,
    beats: i64,
    dotted: bool,
}

/// The common metres only: what a fault is there is beyond dispute.
fn plain(tune: &Tune, row: &Row) -> Option<Plain> {
    let (beat, beats) = match tune.metres[row.metre as usize].numbers()? {
        (2..=4, 4) => (4, i64::from(tune.metres[row.metre as usize].numbers()?.0)),
        (2, 2) => (8, 2),
        (3, 2) => (8, 3),
        (4, 2) => (8, 4),
        (3, 8) => (6, 1),
        (n @ (6 | 9 | 12), 8) => (6, i64::from(n) / 3),
        _ => return None,
    };
    Some(Plain { beat, beats, dotted: beat == 6 })
}

impl Plain {
    /// 0 at the bar line, 1 in the middle of four (and at each beat of two or three), 2 at another beat, 3 between.
    fn strength(&self, at: i64) -> i64 {
        match at {
            0 => 0,
            at if at % self.beat != 0 => 3,
            at if self.beats == 4 && at != 2 * self.beat => 2,
            _ => 1,
        }
    }

    /// Whether one value from `start` to `end` hides the line within it.
    fn hides(&self, start: i64, line: i64, end: i64) -> bool {
        if line % self.beat != 0 {
            return false;
        }
        let (before, after) = (line - start, end - line);
        let whole = end % self.beat == 0 && start % self.beat == 0;
        // The accepted figures: short-long-short, short-long. Over two beats of three it depends: left out.
        let figure = before == after || 2 * before == after;
        if figure && (self.beats == 3 || (start - before).rem_euclid(4 * before) == 0) {
            return false;
        }
        // Dotted beats: no value longer than a beat that is not a whole number of them.
        self.strength(line) < self.strength(start) || self.dotted && !whole
    }
}

fn sixteenths(at: Ticks) -> Option<i64> {
    (at % SIXTEENTH == 0).then_some(at / SIXTEENTH)
}

fn config() -> Config {
    let mut config = Config::default();
    for rule in RULES.iter().filter(|rule| rule.family != Family::Metre) {
        config.rules.insert(rule.id.to_owned(), RuleSetting::Off);
    }
    config
}

fn findings(block: &Block) -> Vec<Finding> {
    check_block(block, &config(), &Around::default()).findings
}

#[derive(Clone, Copy, PartialEq, Eq, Debug)]
enum Fault {
    Hidden,
    RestsJoined,
    RestsParted,
    Broken,
    Over,
    Additive,
}

const KINDS: [Fault; 6] = [
    Fault::Hidden,
    Fault::RestsJoined,
    Fault::RestsParted,
    Fault::Broken,
    Fault::Over,
    Fault::Additive,
];

impl Fault {
    fn rule(self) -> &'static str {
        match self {
            Fault::Hidden => "beat-grouping",
            Fault::RestsJoined | Fault::RestsParted => "rest-grouping",
            Fault::Broken | Fault::Over => "beam-grouping",
            Fault::Additive => "metre-fit",
        }
    }
}

/// The edits that would put a fault into a row, one set for each place where it can be.
fn faults(block: &Block, row: &Row, fault: Fault) -> Vec<Vec<TextEdit>> {
    let tune = &block.lowered().tune;
    let voice = &tune.voices[row.voice];
    let Some(plain) = plain(tune, row).filter(|_| row.full) else { return Vec::new() };
    let maker = Maker { text: &block.text, voice, row, plain };
    match fault {
        Fault::Hidden => maker.hidden(),
        Fault::RestsJoined => maker.rests_joined(),
        Fault::RestsParted => maker.rests_parted(),
        Fault::Broken => maker.beams(true),
        Fault::Over => maker.beams(false),
        Fault::Additive => maker.additive(tune),
    }
}

struct Maker<'a> {
    text: &'a str,
    voice: &'a Voice,
    row: &'a Row,
    plain: Plain,
}

impl Maker<'_> {
    fn span(&self, place: usize) -> Span {
        self.voice.events[self.row.signs[place].event as usize].span
    }

    /// What is typed between two signs.
    fn gap(&self, place: usize) -> (Span, &str) {
        let after = self.voice.events[self.row.signs[place].event as usize].full.start;
        let span =
            Span { start: self.span(place - 1).end, end: after.max(self.span(place - 1).end) };
        (span, &self.text[span.range()])
    }

    fn times(&self, place: usize) -> Option<(i64, i64)> {
        let sign = &self.row.signs[place];
        Some((sixteenths(sign.start)?, sixteenths(sign.end)?))
    }

    fn pairs(&self, kind: Kind) -> impl Iterator<Item = (usize, i64, i64, i64)> {
        let usual = move |place: usize| {
            let sign = &self.row.signs[place];
            sign.kind == kind && sign.tuplet.is_none() && !sign.broken
        };
        (1..self.row.signs.len()).filter_map(move |place| {
            let ((start, line), (other, end)) = (self.times(place - 1)?, self.times(place)?);
            (usual(place - 1) && usual(place) && line == other).then_some((place, start, line, end))
        })
    }

    fn hidden(&self) -> Vec<Vec<TextEdit>> {
        let mut all = Vec::new();
        for (place, start, line, end) in self.pairs(Kind::Note) {
            let signs = &self.row.signs;
            let alone = !signs[place - 1].tied_in && !signs[place].tied_out;
            let tied = signs[place - 1].tied_out && signs[place].tied_in && !signs[place].marked;
            let value = matches!(end - start, 2 | 3 | 4 | 6 | 8 | 12 | 16);
            if tied && alone && value && self.plain.hides(start, line, end) {
                all.extend(
                    joined_edits(self.text, self.voice, self.row, place - 1..place + 1).ok(),
                );
            }
        }
        all
    }

    fn typed_rest(&self, start: i64, end: i64, place: usize) -> Option<String> {
        let event = &self.voice.events[self.row.signs[place].event as usize];
        let units = recte_theory::Time::new(end - start, 16) / event.unit;
        Some(format!("z{}", recte_notation::write::length_text(units)))
    }

    fn rests_joined(&self) -> Vec<Vec<TextEdit>> {
        let mut all = Vec::new();
        for (place, start, line, end) in self.pairs(Kind::Rest) {
            let (_, gap) = self.gap(place);
            let value = matches!(end - start, 2 | 3 | 4 | 6 | 8 | 12 | 16);
            let beat = self.plain.beat;
            // A half rest on the first two beats of three, a quarter rest on two thirds of a beat are well written, and
            // so is a dotted rest shorter than the beat it begins with.
            let two = self.plain.beats == 3 && !self.plain.dotted && (start, end) == (0, 2 * beat);
            let thirds = self.plain.dotted && start % beat == 0 && end - start <= 4;
            let dotted =
                (end - start) * 4 < beat * 4 && (end - start) % 3 == 0 && start % beat == 0;
            let silent = self.row.signs.iter().all(|sign| sign.kind == Kind::Rest);
            if value
                && gap.trim().is_empty()
                && !gap.contains('\n')
                && !two
                && !thirds
                && !dotted
                && !silent
            {
                let span = Span { start: self.span(place - 1).start, end: self.span(place).end };
                let _ = line;
                all.extend(
                    self.typed_rest(start, end, place).map(|text| vec![TextEdit { span, text }]),
                );
            }
        }
        all
    }

    fn rests_parted(&self) -> Vec<Vec<TextEdit>> {
        let mut all = Vec::new();
        for (place, sign) in self.row.signs.iter().enumerate() {
            let Some((start, end)) = self.times(place) else { continue };
            let beat = self.plain.beat;
            let length = end - start;
            // A whole beat, or half a bar of four beats.
            let one = length == beat && start % beat == 0;
            let half = self.plain.beats == 4 && length == 2 * beat && start % (2 * beat) == 0;
            let plain = sign.kind == Kind::Rest && sign.tuplet.is_none() && length > 1;
            let (_, after) = if place + 1 < self.row.signs.len() {
                self.gap(place + 1)
            } else {
                (Span::default(), "")
            };
            if plain && after.trim().is_empty() && (one || half) && self.row.signs.len() > 1 {
                let middle = start + if self.plain.dotted && one { 4 } else { length / 2 };
                let halves = [(start, middle), (middle, end)];
                let typed = halves.map(|(from, to)| self.typed_rest(from, to, place).unwrap());
                all.push(vec![TextEdit { span: self.span(place), text: typed.join(" ") }]);
            }
        }
        all
    }

    /// Beams broken inside a beat, or led over a line that parts them.
    fn beams(&self, broken: bool) -> Vec<Vec<TextEdit>> {
        let mut all = Vec::new();
        if !self.voice.lyrics.is_empty() {
            return all;
        }
        for place in 1..self.row.signs.len() {
            let (before, sign) = (&self.row.signs[place - 1], &self.row.signs[place]);
            let Some(at) = sixteenths(sign.start) else { continue };
            if !before.flagged || !sign.flagged || before.tuplet.is_some() || sign.tuplet.is_some()
            {
                continue;
            }
            let (span, gap) = self.gap(place);
            let middle = self.plain.beats == 4 && !self.plain.dotted && at == 2 * self.plain.beat
                || self.plain.beat == 8;
            let short = before.short && sign.short;
            let line = at % self.plain.beat == 0 && (self.plain.dotted || middle || short);
            if broken && sign.joined && at % 4.min(self.plain.beat) != 0 && gap.is_empty() {
                all.push(vec![TextEdit { span, text: " ".into() }]);
            } else if !broken
                && !sign.joined
                && line
                && !gap.is_empty()
                && gap.trim_matches(' ').is_empty()
            {
                all.push(vec![TextEdit { span, text: String::new() }]);
            }
        }
        all
    }

    /// A bar of 9/8 written anew as 3+2+2+2 in some order, with its own first notes.
    fn additive(&self, tune: &Tune) -> Vec<Vec<TextEdit>> {
        let signs = &self.row.signs;
        let notes: Vec<&str> = signs
            .iter()
            .filter(|sign| sign.kind == Kind::Note)
            .map(|sign| &self.voice.events[sign.event as usize])
            .map(|event| &self.text[event.span.start as usize..event.length.start as usize])
            .collect();
        let nine = tune.metres[self.row.metre as usize].numbers() == Some((9, 8));
        let single = tune.voices.len() == 1 && self.row.layers == 1;
        let plain = signs
            .iter()
            .all(|sign| sign.tuplet.is_none() && !sign.broken && !sign.tied_out && !sign.tied_in);
        if !nine
            || !single
            || !plain
            || notes.len() < 4
            || notes.iter().any(|note| note.starts_with('['))
        {
            return Vec::new();
        }
        let unit = self.voice.events[signs[0].event as usize].unit;
        let length = |eighths: i64| {
            recte_notation::write::length_text(recte_theory::Time::new(eighths, 8) / unit)
        };
        let bar = &self.voice.bars[self.row.bar as usize];
        let span = Span { start: self.span(0).start, end: self.span(signs.len() - 1).end };
        let clean = self.text[span.range()].chars().all(|c| !"(){}[]!\"\n%:".contains(c));
        if !clean || !bar.span.range().contains(&(span.start as usize)) {
            return Vec::new();
        }
        let orders = [[3, 2, 2, 2], [2, 3, 2, 2], [2, 2, 3, 2], [2, 2, 2, 3]];
        let write = |order: [i64; 4]| {
            let notes =
                notes.iter().zip(order).map(|(note, eighths)| format!("{note}{}", length(eighths)));
            let text = notes.collect::<Vec<_>>().join(" ");
            vec![TextEdit { span, text }]
        };
        orders.map(write).into()
    }
}

/// All that a player sees of a rhythm.
fn portrait(block: &Block) -> Vec<String> {
    let tune = &block.lowered().tune;
    let mut all = Vec::new();
    for voice in &tune.voices {
        let mut flagged_before = false;
        for event in voice.events.iter().filter(|event| !event.grace) {
            let tuplet = event.tuplet.map(|at| voice.tuplets[at as usize]);
            let written = event.duration
                * tuplet.map_or(recte_theory::Time::WHOLE, |t| {
                    recte_theory::Time::new(t.actual.into(), t.normal.into())
                });
            let flagged = event.sounds() && written < recte_theory::Time::new(1, 4);
            let beamed = flagged && flagged_before && event.joined && !event.offset.is_zero();
            flagged_before = flagged;
            let ties: Vec<bool> = voice.notes_of(event).iter().map(|note| note.tied_out).collect();
            let ratio = tuplet.map(|t| (t.actual, t.normal));
            let (kind, bar, at) = (event.kind, event.bar, event.offset);
            all.push(format!("{bar} {at} {kind:?} {} {beamed} {ties:?} {ratio:?}", event.duration));
        }
    }
    all
}

#[derive(Default, Debug)]
struct Tally {
    faults: usize,
    found: usize,
    right: usize,
    restored: usize,
}

impl Tally {
    /// Tries one fault, and says what went wrong.
    fn add(
        &mut self,
        block: &Block,
        clean: &[Finding],
        faulty: &Arc<Block>,
        row: &Row,
        fault: Fault,
    ) -> Option<String> {
        self.faults += 1;
        let all = findings(faulty);
        let in_bar = |finding: &&Finding| {
            let from = finding.bar.unwrap_or(u32::MAX);
            from <= row.bar && row.bar <= finding.to_bar.unwrap_or(from)
        };
        let new = |finding: &&Finding| {
            let same = |old: &Finding| {
                (old.rule, old.voice, old.bar) == (finding.rule, finding.voice, finding.bar)
            };
            in_bar(finding) && !clean.iter().any(same)
        };
        let Some(first) = all.iter().find(new) else { return Some("missed".into()) };
        self.found += 1;
        if first.rule != fault.rule() {
            return Some(format!("said {}: {}", first.rule, first.message));
        }
        self.right += 1;
        let fixed = first.fixes.first().and_then(|fix| faulty.edited(&fix.edits).ok());
        // A bar in another metre is not meant to come back: the fix shows what is now heard.
        let same = match fault {
            Fault::Additive => {
                fixed.as_ref().is_some_and(|fixed| findings(fixed).len() == clean.len())
            }
            _ => fixed.as_ref().is_some_and(|fixed| portrait(fixed) == portrait(block)),
        };
        self.restored += usize::from(same);
        if same {
            return None;
        }
        let bar = |block: &Block| {
            let voice = &block.lowered().tune.voices[row.voice];
            voice.bars.get(row.bar as usize).map(|bar| block.text[bar.span.range()].to_owned())
        };
        Some(format!(
            "{}: fixed as {:?}",
            first.message,
            fixed.as_ref().and_then(|fixed| bar(fixed))
        ))
    }
}

#[test]
fn rhythms_made_worse_are_found_and_mended() {
    let mut dice = Dice(11);
    let mut tallies: [Tally; 6] = Default::default();
    let scores: Vec<_> = typed().into_iter().chain(imported(1)).collect();
    let show = std::env::var_os("RECTE_SHOW").is_some();
    for (file, document) in &scores {
        for block in tunes_of(document) {
            let clean = findings(&block);
            let tune = &block.lowered().tune;
            // A bar that belongs to another metre is read as that one.
            let elsewhere = |bar: u32| {
                let covers = |f: &Finding| {
                    f.bar.is_some_and(|from| from <= bar && bar <= f.to_bar.unwrap_or(from))
                };
                clean.iter().any(|finding| finding.rule == "metre-fit" && covers(finding))
            };
            let all: Vec<Row> = (0..tune.bars.len() as u32)
                .filter(|bar| !elsewhere(*bar))
                .flat_map(|bar| rows(tune, bar).unwrap_or_default())
                .collect();
            for (fault, tally) in KINDS.iter().zip(&mut tallies) {
                // Where the rule already speaks, a fault more may be a habit.
                let speaks = |finding: &Finding| {
                    finding.rule == fault.rule()
                        && !finding.message.ends_with("the tie shows no beat.")
                };
                if clean.iter().any(speaks) {
                    continue;
                }
                let places: Vec<(&Row, Vec<TextEdit>)> = all
                    .iter()
                    .flat_map(|row| {
                        faults(&block, row, *fault).into_iter().map(move |edits| (row, edits))
                    })
                    .collect();
                for _ in 0..(if *fault == Fault::Hidden { 10 * FAULTS } else { FAULTS })
                    .min(places.len())
                {
                    let (row, edits) = &places[dice.roll(places.len())];
                    let Ok(faulty) = block.edited(edits) else { continue };
                    if let Some(what) = tally.add(&block, &clean, &faulty, row, *fault)
                        && show
                    {
                        let bar = |block: &Block| {
                            let voice = &block.lowered().tune.voices[row.voice];
                            block.text[voice.bars[row.bar as usize].span.range()].to_owned()
                        };
                        let metre = &tune.metres[row.metre as usize];
                        println!(
                            "@{fault:?}\t{file}\t{metre}\t{:?}\t{:?}\t{what}",
                            bar(&block),
                            bar(&faulty)
                        );
                    }
                }
            }
        }
    }
    if scores.len() < 50 {
        return;
    }
    let share = |part: usize, of: usize, least: usize| part * 1000 >= of * least;
    for (fault, tally) in KINDS.iter().zip(&tallies) {
        println!("{fault:?} {tally:?}");
        assert!(tally.faults > 50, "{fault:?}");
    }
    for (fault, tally) in KINDS.iter().zip(&tallies) {
        let least = if matches!(fault, Fault::Hidden | Fault::RestsJoined | Fault::RestsParted) {
            950
        } else {
            970
        };
        assert!(share(tally.found, tally.faults, least), "{fault:?}");
        assert!(share(tally.right, tally.found, 950), "{fault:?}");
        assert!(share(tally.restored, tally.faults, 900), "{fault:?}");
    }
}
