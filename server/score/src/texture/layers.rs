//! What each part is in each bar: melody, bass, figure, held notes, a doubling, or silent.
//!
//! The part that stands out is the melody: it lies on top, moves by its own line, does not repeat a figure (own proposal,
//! from memory; W. Berry, *Structural Functions in Music* (1976), chapter 2, has the kinds). Its score is the share of its
//! time in which nothing lies above it, plus half of how many different pitches it has for its onsets, plus what it has
//! of the busiest part's onsets times 0.3, less a half for a figure and one for a figure of eight bars or more; the scores of the two bars on each side count half,
//! so that the melody does not change hands for one note.

use super::cells::Cells;
use super::figures::Figure;
use super::table::{Sound, Table, Ticks};

/// What a part is in a bar.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Role {
    /// It stands out.
    Melody,
    /// It lies below all others.
    Bass,
    /// It repeats a pattern.
    Figure,
    /// It holds.
    Sustained,
    /// It plays what another part plays, at the same pitch or in octaves.
    Doubling,
    /// A line of its own beside the melody.
    Line,
    /// It is silent.
    Resting,
}

impl Role {
    /// Its name in the trade's words.
    pub fn name(self) -> &'static str {
        match self {
            Role::Melody => "melody",
            Role::Bass => "bass",
            Role::Figure => "figure",
            Role::Sustained => "sustained",
            Role::Doubling => "doubling",
            Role::Line => "line",
            Role::Resting => "resting",
        }
    }
}

/// One part in one bar.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Layer {
    /// What it is first of all.
    pub role: Role,
    /// The figure it carries, by its place in the list, whatever else it is.
    pub figure: Option<u32>,
    /// The part it doubles, by index.
    pub doubles: Option<u32>,
    /// Whether it lies below all others.
    pub lowest: bool,
}

/// From so many bars on a figure is no melody.
const LONG: u32 = 8;

/// What one part does in one bar, in numbers.
#[derive(Clone, Debug, Default)]
struct Doing {
    sounding: Ticks,
    on_top: Ticks,
    below: Ticks,
    onsets: usize,
    different: usize,
    longest: Ticks,
    /// When its notes begin, and their pitch classes.
    notes: Vec<(Ticks, i32)>,
}

/// Of each part, bar by bar.
pub fn layers(table: &Table, cells: &Cells, figures: &[Figure]) -> Vec<Vec<Layer>> {
    let parts = table.pitched.len();
    let carried = carried(parts, table.bars.len(), figures);
    let less = |part: usize, bar: usize| match carried[part][bar] {
        Some((_, true)) => 1.0,
        Some((_, false)) => 0.5,
        None => 0.0,
    };
    let by_bar = table.by_bar();
    let doing: Vec<Vec<Doing>> =
        by_bar.iter().zip(0..).map(|(inside, bar)| doings(table, bar, inside)).collect();
    let raw: Vec<Vec<f64>> = doing
        .iter()
        .enumerate()
        .map(|(bar, parts)| {
            let busiest = parts.iter().map(|one| one.onsets).max().unwrap_or(0).max(1);
            let score = |(part, one): (usize, &Doing)| {
                score(one, busiest, less(part, bar), table.pitched[part])
            };
            parts.iter().enumerate().map(score).collect()
        })
        .collect();
    let smooth = |part: usize, bar: usize| {
        let own = raw[bar][part];
        let near = bar.saturating_sub(2)..(bar + 3).min(raw.len());
        let others: f64 = near.filter(|at| *at != bar).map(|at| raw[at][part].max(0.0)).sum();
        if own <= 0.0 { own } else { own + others / 2.0 }
    };
    let mut all = vec![Vec::with_capacity(table.bars.len()); parts];
    for (bar, doing) in doing.iter().enumerate() {
        let scores: Vec<f64> = (0..parts).map(|part| smooth(part, bar)).collect();
        let best = (0..parts).filter(|part| scores[*part] > 0.0);
        let melody = best.max_by(|a, b| scores[*a].total_cmp(&scores[*b]).then(b.cmp(a)));
        let length = table.bars[bar].end - table.bars[bar].start;
        let several = doing.iter().filter(|one| one.sounding > 0).count() > 1;
        for part in 0..parts {
            let own = &doing[part];
            let doubles = doubled(doing, part, melody);
            let figure = carried[part][bar].map(|(figure, _)| figure);
            let lowest = several && own.below * 2 > own.sounding;
            let held = own.onsets <= 1 || own.longest * 4 >= length * 3;
            let role = match () {
                () if own.sounding == 0 => Role::Resting,
                () if melody == Some(part) => Role::Melody,
                () if doubles.is_some() => Role::Doubling,
                () if figure.is_some() => Role::Figure,
                () if lowest => Role::Bass,
                () if held && cells.at(part, bar).is_none_or(|cell| cell.onsets <= 2) => {
                    Role::Sustained
                }
                () => Role::Line,
            };
            all[part].push(Layer {
                role,
                figure,
                doubles: doubles.map(|part| part as u32),
                lowest,
            });
        }
    }
    all
}

/// Of each part, bar by bar, the figure it carries, and whether for long.
fn carried(parts: usize, bars: usize, figures: &[Figure]) -> Vec<Vec<Option<(u32, bool)>>> {
    let mut all = vec![vec![None; bars]; parts];
    for (figure, number) in figures.iter().zip(0u32..) {
        for run in &figure.runs {
            for bar in run.from..=run.to {
                all[run.part as usize][bar as usize] = Some((number, run.bars() >= LONG));
            }
        }
    }
    all
}

fn score(one: &Doing, busiest: usize, less: f64, pitched: bool) -> f64 {
    if one.sounding == 0 || !pitched {
        return 0.0;
    }
    let top = one.on_top as f64 / one.sounding as f64;
    let variety = one.different as f64 / one.onsets.max(1) as f64;
    let activity = one.onsets as f64 / busiest as f64;
    (top + variety.min(1.0) * 0.5 + activity * 0.3 - less).max(0.01)
}

/// What each part does in a bar.
fn doings(table: &Table, bar: usize, inside: &[usize]) -> Vec<Doing> {
    let (start, end) = (table.bars[bar].start, table.bars[bar].end);
    let sounds: Vec<&Sound> = inside.iter().map(|at| &table.sounds[*at]).collect();
    let mut all = vec![Doing::default(); table.pitched.len()];
    let mut until = vec![start; all.len()];
    for sound in &sounds {
        let one = &mut all[sound.part as usize];
        if sound.onset >= start {
            if one.notes.last().is_none_or(|(onset, _)| *onset != sound.onset) {
                one.onsets += 1;
            }
            one.notes.push((sound.onset, sound.midi.rem_euclid(12)));
        }
        one.longest = one.longest.max(sound.end.min(end) - sound.onset.max(start));
        let covered = &mut until[sound.part as usize];
        one.sounding += (sound.end.min(end) - sound.onset.max(*covered)).max(0);
        *covered = (*covered).max(sound.end.min(end));
    }
    for (part, one) in all.iter_mut().enumerate() {
        let own = sounds.iter().filter(|sound| sound.part as usize == part && sound.onset >= start);
        let mut pitches: Vec<i32> = own.map(|sound| sound.midi).collect();
        pitches.sort_unstable();
        pitches.dedup();
        one.different = pitches.len();
    }
    // Who is highest, who lowest, from change to change.
    let mut moments: Vec<Ticks> =
        sounds.iter().flat_map(|sound| [sound.onset.max(start), sound.end.min(end)]).collect();
    moments.sort_unstable();
    moments.dedup();
    for pair in moments.windows(2) {
        let here = sounds.iter().filter(|sound| {
            sound.onset <= pair[0] && sound.end > pair[0] && table.pitched[sound.part as usize]
        });
        let (mut high, mut low): (Option<&Sound>, Option<&Sound>) = (None, None);
        for sound in here {
            if high.is_none_or(|high| sound.midi > high.midi) {
                high = Some(sound);
            }
            if low.is_none_or(|low| sound.midi <= low.midi) {
                low = Some(sound);
            }
        }
        if let (Some(high), Some(low)) = (high, low) {
            all[high.part as usize].on_top += pair[1] - pair[0];
            all[low.part as usize].below += pair[1] - pair[0];
        }
    }
    all
}

/// The part that a part doubles: nine tenths of its notes begin there at the same moment, at the same pitch or in octaves.
/// Of two that play the same, the melody or the one that stands first is doubled by the other.
fn doubled(doing: &[Doing], part: usize, melody: Option<usize>) -> Option<usize> {
    let own = &doing[part];
    if own.notes.len() < 2 {
        return None;
    }
    let first = melody.into_iter().chain(0..part);
    first.filter(|other| *other != part).find(|other| {
        let with = &doing[*other].notes;
        let shared = own.notes.iter().filter(|note| with.contains(note)).count();
        shared * 10 >= own.notes.len() * 9 && with.len() <= own.notes.len() * 2
    })
}
