//! Texture and form on real scores: a figure put in one part is found and passed around it is not, flattened sections
//! contrast less, joints are heard where marks say so, and good music is quiet. Scores as in `real/mod.rs`; chorales are
//! left out where figures are put in, as the rule leaves them in peace. `RECTE_SHOW=1` prints what went wrong.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::print_stdout)]

use recte_notation::Block;
use recte_notation::write::{TextEdit, length_text, pitch_text};
use recte_review::{Around, Config, Family, Finding, RULES, RuleSetting, check_block, find_rule};
use recte_score::texture::boundaries::{Weights, evidence};
use recte_score::texture::describe::of_bars;
use recte_score::texture::measures::divergence;
use recte_score::texture::sections::Marks;
use recte_score::texture::{Analysis, Contrast, Matrix, Section, Table};
use recte_score::{LineStyle, Span, Tune};
use recte_theory::{Pitch, Time};
use std::collections::BTreeMap;
use std::sync::Arc;

mod real;
use real::{documents, imported, tunes_of};

fn shows() -> bool {
    std::env::var_os("RECTE_SHOW").is_some()
}

/// Only the rules of texture, at their own severity.
fn texture_alone() -> Config {
    let mut config = Config::default();
    for rule in RULES.iter().filter(|rule| rule.family != Family::Texture) {
        config.rules.insert(rule.id.to_owned(), RuleSetting::Off);
    }
    config
}

fn findings(block: &Block) -> Vec<Finding> {
    let all = check_block(block, &texture_alone(), &Around::default()).findings.into_iter();
    all.filter(|one| find_rule(one.rule).is_some_and(|rule| rule.family == Family::Texture))
        .collect()
}

// A figure put into real scores.

/// So many bars the figure stays.
const KEPT: u32 = 24;

/// A place for a figure: the voice, and its first bar.
struct Place {
    voice: usize,
    other: usize,
    from: u32,
}

/// What is typed for the notes of a bar, where that is one stretch of text without anything but music.
fn music(block: &Block, voice: usize, bar: u32) -> Option<Span> {
    let own = &block.lowered().tune.voices[voice];
    let bar = own.bars.get(bar as usize)?;
    let events = own.events_of(bar);
    let (first, last) = (events.first()?, events.last()?);
    let closing = block.text[last.span.end as usize..].chars().take_while(|c| *c == ')').count();
    let span = Span { start: first.full.start, end: last.span.end + closing as u32 };
    let text = &block.text[span.range()];
    let field = text.as_bytes().windows(3).any(|w| w[0] == b'[' && w[2] == b':');
    (bar.layers == 1 && !field && !text.contains(['\n', '%', '|', '&'])).then_some(span)
}

/// A bar of the figure, on a degree: eighths of a broken chord.
fn figure(tune: &Tune, voice: usize, bar: u32) -> Option<String> {
    let own = &tune.voices[voice];
    let length = own.bars.get(bar as usize)?.length;
    let eighths = length.count_of(Time::new(1, 8)).filter(|n| (3..=16).contains(n))?;
    let unit = own.events_of(&own.bars[bar as usize]).first()?.unit;
    let mut pitches: Vec<Pitch> = own.notes.iter().map(|note| note.written).collect();
    pitches.sort_by_key(|pitch| pitch.midi());
    let middle = pitches.get(pitches.len() / 2)?;
    let root = middle.steps() - 2 + [0, 1, 0, -1][bar as usize % 4];
    let shift = own.notes.first()?.octave_shift;
    let note = |at: i64| {
        let step = root + [0, 4, 2, 4][at as usize % 4];
        let letter = recte_theory::Letter::from_step(step.rem_euclid(7));
        let pitch = Pitch::new(letter, 0, step.div_euclid(7) as i8 - shift);
        format!("{}{}", pitch_text(pitch, false), length_text(Time::new(1, 8) / unit))
    };
    Some((0..eighths).map(note).collect())
}

/// Where in a score a figure can be put: under a voice that sounds, in bars of one metre.
fn place(block: &Block) -> Option<Place> {
    let tune = &block.lowered().tune;
    // Songs in verses and dances are left in peace.
    let verses = tune.voices.iter().flat_map(|voice| &voice.syllables).any(|one| one.verse > 0);
    let dance = tune.titles.iter().any(|title| title.to_lowercase().contains("polonaise"));
    if tune.voices.len() < 3 || verses || dance {
        return None;
    }
    let sounds = |voice: usize, bar: u32| {
        let own = &tune.voices[voice];
        own.bars.get(bar as usize).is_some_and(|bar| own.events_of(bar).iter().any(|e| e.sounds()))
    };
    let fits = |voice: usize, bar: u32| {
        figure(tune, voice, bar).is_some() && music(block, voice, bar).is_some()
    };
    let bars = tune.bars.len() as u32;
    for (voice, other) in [(1, 2), (2, 1)] {
        for from in 0..bars.saturating_sub(KEPT) {
            let all = || from..from + KEPT;
            let one_metre = all().all(|bar| {
                let metre = |bar: u32| tune.voices[voice].bars[bar as usize].metre;
                metre(bar) == metre(from)
            });
            let under = all().filter(|bar| sounds(0, *bar)).count() >= 20;
            if tune.voices[voice].bars.len() as u32 >= from + KEPT
                && one_metre
                && under
                && all().all(|bar| fits(voice, bar) && fits(other, bar))
            {
                return Some(Place { voice, other, from });
            }
        }
    }
    None
}

/// The score with the figure: who has it in each group of bars.
fn with_figure(block: &Block, place: &Place, group: u32) -> Option<Arc<Block>> {
    let tune = &block.lowered().tune;
    let mut edits = Vec::new();
    for at in 0..KEPT {
        let voice = if (at / group).is_multiple_of(2) { place.voice } else { place.other };
        let bar = place.from + at;
        edits.push(TextEdit { span: music(block, voice, bar)?, text: figure(tune, voice, bar)? });
    }
    edits.sort_by_key(|edit| edit.span);
    block.edited(&edits).ok()
}

/// Whether a figure is told of in these bars.
fn told(block: &Block, place: &Place, voices: &[usize]) -> bool {
    let last = place.from + KEPT - 1;
    findings(block).iter().any(|one| {
        let (from, to) = (one.bar.unwrap_or(0), one.to_bar.unwrap_or(0));
        let shared = (to.min(last) + 1).saturating_sub(from.max(place.from));
        one.rule == "static-layer"
            && shared >= 16
            && one.voice.is_some_and(|voice| voices.contains(&(voice as usize)))
    })
}

#[test]
fn a_figure_that_stays_is_found_and_one_passed_around_is_not() {
    let (mut places, mut found, mut passed) = (0, 0, [0; 3]);
    for (file, document) in imported(1).iter().filter(|(file, _)| !file.starts_with("bach/")) {
        for block in tunes_of(document) {
            let Some(place) = place(&block) else { continue };
            if told(&block, &place, &[place.voice, place.other]) {
                continue;
            }
            let Some(kept) = with_figure(&block, &place, KEPT) else { continue };
            places += 1;
            let hit = told(&kept, &place, &[place.voice]);
            found += usize::from(hit);
            if !hit && shows() {
                println!("missed: {file} voice {} bars {}–", place.voice, place.from);
            }
            for (group, silent) in [2, 3, 4].into_iter().zip(&mut passed) {
                let around = with_figure(&block, &place, group).unwrap();
                *silent += usize::from(!told(&around, &place, &[place.voice, place.other]));
            }
        }
    }
    println!("{places} places: {found} found; passed every 2, 3, 4 bars silent in {passed:?}");
    if imported(1).len() < 50 {
        return;
    }
    assert!(places >= 40, "{places}");
    assert!(found * 100 >= places * 95, "{found} of {places}");
    assert!(passed.iter().all(|silent| silent * 100 >= places * 95), "{passed:?} of {places}");
}

// Sections made alike.

fn contrast(table: &Table, a: &Section, b: &Section) -> Contrast {
    let slices = table.slices();
    let of = |one: &Section| of_bars(table, &slices, one.from as usize, one.to as usize + 1);
    Contrast::between(&of(a), &of(b))
}

fn is_in(section: &Section, bar: u32) -> bool {
    (section.from..=section.to).contains(&bar)
}

/// Every note as loud as every other.
fn one_loudness(table: &Table) -> Table {
    let mut table = table.clone();
    table.sounds.iter_mut().for_each(|sound| sound.level = Some(5.0));
    table
}

/// Notes of the thinner section are struck again, the longest first, until it is as dense as the other.
fn one_density(table: &Table, a: &Section, b: &Section) -> Table {
    let mut table = table.clone();
    let slices = table.slices();
    let dense = |one: &Section| of_bars(&table, &slices, one.from as usize, one.to as usize + 1);
    let (of_a, of_b) = (dense(a), dense(b));
    let (thin, more) = match of_a.onsets < of_b.onsets {
        true => (a, (of_b.onsets - of_a.onsets) * of_a.quarters),
        false => (b, (of_a.onsets - of_b.onsets) * of_b.quarters),
    };
    let mut known: std::collections::BTreeSet<i64> = table.sounds.iter().map(|s| s.onset).collect();
    let mut order: Vec<usize> =
        (0..table.sounds.len()).filter(|at| is_in(thin, table.sounds[*at].bar)).collect();
    order.sort_by_key(|at| std::cmp::Reverse(table.sounds[*at].end - table.sounds[*at].onset));
    let mut left = more.floor() as usize;
    for at in order {
        let own = table.sounds[at];
        let middle = (own.onset + own.end) / 2;
        let inside = middle < table.bars[own.bar as usize].end;
        if left > 0 && inside && known.insert(middle) {
            table.sounds[at].end = middle;
            table.sounds.push(recte_score::texture::table::Sound { onset: middle, ..own });
            left -= 1;
        }
    }
    table.sounds.sort_by_key(|sound| (sound.onset, sound.midi, sound.part));
    table
}

/// Notes of the second section are moved by octaves inside its compass until its register is that of the first.
fn one_register(table: &Table, a: &Section, b: &Section) -> Table {
    let mut table = table.clone();
    let slices = table.slices();
    let of = |one: &Section| of_bars(&table, &slices, one.from as usize, one.to as usize + 1);
    let (Some(wanted), Some(mut now)) = (of(a).centroid, of(b).centroid) else { return table };
    let Some((low, high)) = of(b).compass else { return table };
    let own = |sound: &&mut recte_score::texture::table::Sound| is_in(b, sound.bar);
    let all: f64 = table.sounds.iter_mut().filter(own).map(|s| (s.end - s.onset) as f64).sum();
    let up = wanted > now;
    for sound in table.sounds.iter_mut().filter(own) {
        let by = if up { 12 } else { -12 };
        let step = f64::from(by) * (sound.end - sound.onset) as f64 / all;
        // One that would overshoot stays.
        let nearer = (now + step - wanted).abs() < (now - wanted).abs();
        let inside =
            low < sound.midi && sound.midi < high && (low..=high).contains(&(sound.midi + by));
        if nearer && inside {
            sound.midi += by;
            now += step;
        }
    }
    table.sounds.sort_by_key(|sound| (sound.onset, sound.midi, sound.part));
    table
}

#[test]
fn sections_made_alike_contrast_less() {
    let (mut pairs, mut in_order) = (0, 0);
    for (file, document) in imported(6) {
        for block in tunes_of(&document) {
            let tune = &block.lowered().tune;
            let all = Analysis::of(tune);
            let sections = all.sections();
            for pair in sections.windows(2).take(3) {
                let (a, b) = (&pair[0], &pair[1]);
                if a.bars().min(b.bars()) < 4 || tune.voices.len() < 2 {
                    continue;
                }
                let loud = one_loudness(all.table());
                let dense = one_density(&loud, a, b);
                let flat = one_register(&dense, a, b);
                let totals = [all.table(), &loud, &dense, &flat].map(|t| contrast(t, a, b).total);
                let swapped = contrast(all.table(), b, a).total;
                assert!((swapped - totals[0]).abs() < 1e-9, "{file}");
                pairs += 1;
                let falls = totals.windows(2).all(|two| two[1] <= two[0] + 0.005);
                let order = falls && totals[3] < totals[0];
                in_order += usize::from(order);
                if !order && shows() {
                    println!("{file} {a:?} {b:?}: {totals:.3?}");
                }
            }
        }
    }
    println!("{pairs} pairs of sections: {in_order} contrast less, step by step");
    if pairs < 30 {
        return;
    }
    assert!(in_order * 100 >= pairs * 95, "{in_order} of {pairs}");
}

// Joints.

/// The tune as it would be without bar lines that divide, repeats, parts and titled sections.
fn without_marks(tune: &Tune) -> Tune {
    let mut tune = tune.clone();
    tune.sections.clear();
    tune.part_order = None;
    for bar in tune.voices.iter_mut().flat_map(|voice| &mut voice.bars) {
        bar.style = LineStyle::Plain;
        (bar.strong_line, bar.section_ends, bar.ending) = (false, false, false);
        (bar.repeat_opens, bar.repeat_closes) = (0, 0);
        bar.endings.clear();
        bar.ending_words = None;
    }
    tune
}

/// Where marks say that a section begins, those next to each other told once, none within four bars of either end.
fn marked(tune: &Tune) -> Vec<usize> {
    let marks = Marks::of(tune);
    let mut all: Vec<usize> =
        marks.typed.keys().chain(&marks.lines).map(|bar| *bar as usize).collect();
    all.sort_unstable();
    let mut kept: Vec<usize> = Vec::new();
    for bar in all {
        let inside = bar >= 4 && bar + 4 <= tune.bars.len();
        if inside && kept.last().is_none_or(|last| bar - last > 1) {
            kept.push(bar);
        }
    }
    kept
}

/// How well joints meet marks, within one bar.
#[derive(Default, Clone, Copy, Debug)]
struct Tally {
    hit: usize,
    wanted: usize,
    right: usize,
    told: usize,
}

impl Tally {
    fn add(&mut self, found: &[usize], wanted: &[usize]) {
        let near = |all: &[usize], bar: usize| all.iter().any(|own| own.abs_diff(bar) <= 1);
        self.hit += wanted.iter().filter(|bar| near(found, **bar)).count();
        self.right += found.iter().filter(|bar| near(wanted, **bar)).count();
        self.wanted += wanted.len();
        self.told += found.len();
    }

    fn hit_rate(&self) -> f64 {
        self.hit as f64 / self.wanted.max(1) as f64
    }

    fn precision(&self) -> f64 {
        self.right as f64 / self.told.max(1) as f64
    }
}

/// The strongest joints, four bars apart.
fn strongest(strengths: &[f64], count: usize) -> Vec<usize> {
    let mut order: Vec<usize> = (4..strengths.len().saturating_sub(3)).collect();
    order.sort_by(|a, b| strengths[*b].total_cmp(&strengths[*a]).then(a.cmp(b)));
    let mut chosen: Vec<usize> = Vec::new();
    for bar in order {
        if chosen.len() < count && chosen.iter().all(|other| bar.abs_diff(*other) >= 4) {
            chosen.push(bar);
        }
    }
    chosen
}

fn in_equal_parts(bars: usize, joints: usize) -> Vec<usize> {
    (1..=joints).map(|at| (at * bars + joints.div_ceil(2)) / (joints + 1)).collect()
}

#[test]
fn joints_are_heard_where_they_are_marked() {
    let mut pieces = 0;
    // With as many as we tell of, and with as many as there are marks: ours, equal lengths, plain novelty.
    let mut tallies = [[Tally::default(); 3]; 2];
    for (file, document) in imported(2) {
        for block in tunes_of(&document) {
            let tune = &block.lowered().tune;
            let wanted = marked(tune);
            if wanted.is_empty() {
                continue;
            }
            pieces += 1;
            let bare = without_marks(tune);
            let all = Analysis::of(&bare);
            let found: Vec<usize> = all.boundaries().iter().map(|one| one.bar as usize).collect();
            let bars = all.bars();
            let plain = Matrix::of(bars.len(), |a, b| {
                1.0 - divergence(&bars[a].classes, &bars[b].classes).sqrt()
            });
            let plain: Vec<f64> = (0..bars.len()).map(|bar| plain.novelty_within(bar, 4)).collect();
            let own: Vec<f64> = evidence(&all.ground())
                .iter()
                .map(|one| one.strength(&Weights::default()))
                .collect();
            if shows() {
                println!("{file}: marked {wanted:?}, heard {found:?}");
            }
            for (count, tallies) in [found.len(), wanted.len()].into_iter().zip(&mut tallies) {
                tallies[0].add(&strongest(&own, count), &wanted);
                tallies[1].add(&in_equal_parts(bars.len(), count), &wanted);
                tallies[2].add(&strongest(&plain, count), &wanted);
            }
        }
    }
    println!("{pieces} pieces");
    for (count, tallies) in ["as many as we tell of", "as many as are marked"].iter().zip(&tallies)
    {
        for (who, tally) in ["ours", "equal lengths", "plain novelty"].iter().zip(tallies) {
            println!(
                "{count}, {who}: {:.3} of {} hit, {:.3} of {} told are marks",
                tally.hit_rate(),
                tally.wanted,
                tally.precision(),
                tally.told
            );
        }
    }
    if pieces < 50 {
        return;
    }
    for [ours, others @ ..] in &tallies {
        for other in others {
            assert!(ours.hit_rate() >= 1.4 * other.hit_rate(), "{ours:?} against {other:?}");
            assert!(ours.precision() >= 1.4 * other.precision(), "{ours:?} against {other:?}");
        }
    }
}

// Silence.

#[test]
fn good_music_is_quiet() {
    let (mut notes, mut pieces, mut counts) = (0, 0, BTreeMap::new());
    for (file, document) in documents(1) {
        for block in tunes_of(&document) {
            let tune = &block.lowered().tune;
            notes += tune.voices.iter().map(|voice| voice.notes.len()).sum::<usize>();
            pieces += 1;
            for one in findings(&block) {
                *counts.entry(one.rule).or_insert(0) += 1;
                if shows() {
                    println!("{file}: {}", one.message);
                }
            }
        }
    }
    println!("{notes} notes in {pieces} pieces: {counts:?}");
    for (rule, count) in &counts {
        assert!(count * 10 <= pieces, "{rule}: {count} remarks on {pieces} pieces");
    }
    let all: usize = counts.values().sum();
    assert!(all * 1000 < notes, "{all} remarks on {notes} notes");
}
