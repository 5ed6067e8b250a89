//! A secondary figure that one part carries for long, and the parts that could take it over.

use super::intent::{means_it, stays_by_kind};
use crate::context::Context;
use recte_score::clock::{Clock, Seconds};
use recte_score::texture::{Layer, Role, Run};
use recte_theory::instruments::Family;

/// A figure that stays.
#[derive(Clone, Debug)]
pub(crate) struct Staying {
    /// Who carries it: of several that do so together, the one that does so longest comes first.
    pub(crate) runs: Vec<Run>,
    /// How long it takes, where a tempo is known.
    pub(crate) seconds: Option<Seconds>,
    /// The parts that could take it over, the freest first.
    pub(crate) takers: Vec<Taker>,
}

/// A part that could take a figure over.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Taker {
    /// The part, by index.
    pub(crate) part: u32,
    /// So many octaves higher it would play it.
    pub(crate) octaves: i8,
    /// In so many of the bars it rests or holds.
    pub(crate) free: u32,
}

/// Shorter than this, in bars, nothing is long, whatever the tempo.
const SHORT: u32 = 8;
/// With fewer pitch classes it is a drone or a pedal.
const FEWEST_CLASSES: u32 = 3;
/// A keyboard, a harp or a guitar carries figures by trade, and may do so for so many times as long.
const BY_TRADE: u32 = 2;
/// So many of those that could take it over are told.
const TOLD: usize = 3;

impl Staying {
    /// Its first and its last bar, by index.
    pub(crate) fn bars(&self) -> (u32, u32) {
        self.runs.first().map_or((0, 0), |run| (run.from, run.to))
    }
}

/// The figures that stay, in time.
pub(crate) fn staying(context: &Context<'_>) -> Vec<Staying> {
    let limit = context.config.texture;
    // The cheapest question first: most tunes have no figure so long.
    let tune = context.tune;
    if tune.voices.len() < 2 || tune.bars.len() < SHORT as usize || one_player(context) {
        return Vec::new();
    }
    let analysis = context.texture();
    let clock = Clock::of(tune);
    let seconds = |run: &Run| {
        let (from, to) = (tune.bars.get(run.from as usize)?, tune.bars.get(run.to as usize)?);
        clock.between(from.start, to.start + to.length)
    };
    let long = |run: &Run| {
        let Some(times) = patience(context, run.part) else { return false };
        let by_clock =
            seconds(run).is_some_and(|s| s.least > f64::from(limit.figure_seconds * times));
        run.bars() > limit.figure_bars * times || (run.bars() > SHORT && by_clock)
    };
    let runs = analysis.figures().iter().flat_map(|figure| &figure.runs);
    let mut runs: Vec<Run> = runs
        .filter(|run| run.classes.count_ones() >= FEWEST_CLASSES && long(run))
        .copied()
        .collect();
    // A chorale needs no asking: a figure beside its melody is no longer one.
    if runs.is_empty() || stays_by_kind(context) {
        return Vec::new();
    }
    runs.retain(|run| is_secondary(context, run));
    runs.sort_by_key(|run| (std::cmp::Reverse(run.bars()), run.from, run.part));
    let mut groups: Vec<Vec<Run>> = Vec::new();
    for run in runs {
        // What goes on at the same time in another part is told with it.
        let along = |group: &&mut Vec<Run>| {
            let shared = (group[0].to.min(run.to) + 1).saturating_sub(group[0].from.max(run.from));
            shared * 2 > run.bars()
        };
        match groups.iter_mut().find(along) {
            Some(group) => group.push(run),
            None => groups.push(vec![run]),
        }
    }
    groups.sort_by_key(|group| group[0].from);
    let parts = |group: &[Run]| group.iter().map(|run| run.part).collect::<Vec<_>>();
    let meant = |group: &[Run]| means_it(context, &parts(group), (group[0].from, group[0].to));
    let groups = groups.into_iter().filter(|group| !meant(group));
    groups
        .map(|runs| Staying { seconds: seconds(&runs[0]), takers: takers(context, &runs), runs })
        .collect()
}

/// Whether all voices are staves of one player.
fn one_player(context: &Context<'_>) -> bool {
    let players = &context.idiom().players;
    let staves: usize = players.iter().map(|player| player.staves.len()).sum();
    players.len() == 1 && staves == context.tune.voices.len()
}

/// How many times as long a part may keep a figure; none for one that is never asked.
fn patience(context: &Context<'_>, part: u32) -> Option<u32> {
    if context.tune.voices.get(part as usize)?.clef.is_percussion() {
        return None;
    }
    Some(match family(context, part) {
        Some(Family::Percussion) => return None,
        Some(Family::Keyboard | Family::Plucked | Family::FreeReed) => BY_TRADE,
        _ => 1,
    })
}

fn family(context: &Context<'_>, part: u32) -> Option<Family> {
    let mut players = context.idiom().players.iter();
    let own = players.find(|one| one.staves.iter().any(|staff| staff.voice == part as usize));
    own.map(|player| player.instrument.family)
}

/// Whether a run lies beside something else that is listened to: in most of its bars another part sounds, this one is not
/// the melody, and what it plays is not the rhythm of the melody.
fn is_secondary(context: &Context<'_>, run: &Run) -> bool {
    let (layers, cells) = (context.texture().layers(), context.texture().cells());
    let beside = (run.from..=run.to).filter(|bar| {
        let bar = *bar as usize;
        let melody = layers.iter().position(|part| part[bar].role == Role::Melody);
        let Some(melody) = melody.filter(|melody| *melody != run.part as usize) else {
            return false;
        };
        let rhythm = |part: usize| cells.at(part, bar).map(|cell| cell.rhythm);
        rhythm(melody) != rhythm(run.part as usize)
    });
    beside.count() as u32 * 2 > run.bars()
}

/// The parts that have the notes and are not the melody, the freest first.
fn takers(context: &Context<'_>, runs: &[Run]) -> Vec<Taker> {
    let layers = context.texture().layers();
    let run = &runs[0];
    let bars = || run.from as usize..=run.to as usize;
    let share = |part: &[Layer], roles: &[Role]| {
        bars().filter(|bar| part.get(*bar).is_some_and(|own| roles.contains(&own.role))).count()
    };
    let mut found: Vec<Taker> = Vec::new();
    for (part, own) in layers.iter().enumerate() {
        let free = share(own, &[Role::Resting, Role::Sustained]) as u32;
        let leads = share(own, &[Role::Melody]) as u32 * 2 > run.bars();
        let carries = runs.iter().any(|run| run.part as usize == part);
        // A section of the same name is the same colour, and still another player.
        if carries || leads || free * 4 < run.bars() {
            continue;
        }
        let octaves = [0, 1, -1, 2, -2].into_iter().find(|octaves| {
            let up = i32::from(*octaves) * 12;
            reaches(context, part, (run.compass.0 + up, run.compass.1 + up))
        });
        found.extend(octaves.map(|octaves| Taker { part: part as u32, octaves, free }));
    }
    found.sort_by_key(|taker| (std::cmp::Reverse(taker.free), taker.part));
    found.truncate(TOLD);
    found
}

/// Whether a part has these pitches: by its instrument, else by what it plays elsewhere.
fn reaches(context: &Context<'_>, part: usize, (low, high): (i32, i32)) -> bool {
    let voice = &context.tune.voices[part];
    if voice.clef.is_percussion() {
        return false;
    }
    let mut players = context.idiom().players.iter();
    let player = players.find(|one| one.staves.iter().any(|staff| staff.voice == part));
    let range = player.and_then(|player| player.instrument.range(player.level));
    let (lowest, highest) = match range {
        Some(range) => (range.sounding_min.midi(), range.sounding_max.midi()),
        None => {
            let pitches = || voice.notes.iter().map(|note| note.pitch.midi());
            (pitches().min().unwrap_or(i32::MAX), pitches().max().unwrap_or(i32::MIN))
        }
    };
    lowest <= low && high <= highest
}
