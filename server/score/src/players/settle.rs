//! What names that several instruments share mean in this score.
//!
//! Each voice has its candidates, and each candidate costs what speaks against it: clef, transposition, words,
//! staves, and beside the voices above and below, the order of the score and its families. The cheapest
//! reading of the whole score settles a name where every other meaning would cost clearly more; where several are left, the compass of the
//! music may.

use super::label::{Label, number, words};
use crate::tune::{Tune, Voice};
use recte_theory::instruments::{Alternative, Family, Instrument, Level};

/// What speaks against a candidate as good as rules it out.
const AGAINST: u32 = 9;
/// Out of the order of the score, among another family, one soloist among choirs, two names for one thing.
const UNUSUAL: u32 = 3;
/// Less usual.
const RATHER: u32 = 1;
/// So much more must any other meaning cost.
const CLEAR: u32 = 3;

/// A voice, from the top of the page down.
pub(super) struct Line<'t, 'r> {
    pub(super) voice: &'t Voice,
    pub(super) label: &'t Label<'r>,
    /// How many staves the brace around it has.
    pub(super) staves: usize,
    /// Whether the composer said it with `recte instrument`.
    pub(super) said: bool,
}

/// The meanings that stay open for each line: one where its name is settled, none where nothing is known.
pub(super) fn settle<'r>(tune: &Tune, lines: &[Line<'_, 'r>]) -> Vec<Vec<&'r Instrument>> {
    let mut all: Vec<Vec<&Instrument>> = Vec::with_capacity(lines.len());
    all.extend(lines.iter().map(|line| line.label.candidates.clone()));
    if lines.iter().any(|line| is_early(line.voice)) {
        for (candidates, _) in all.iter_mut().zip(lines).filter(|(_, line)| !line.said) {
            if candidates.iter().any(|one| one.family == Family::Voice) {
                candidates.clear();
            }
        }
    }
    if all.iter().all(|candidates| candidates.len() < 2) {
        return all;
    }
    let known: Vec<usize> = (0..lines.len()).filter(|&at| !all[at].is_empty()).collect();
    let around = Around::of(tune, lines);
    let own: Vec<Vec<u32>> = known
        .iter()
        .map(|&at| all[at].iter().map(|one| around.cost(&lines[at], one)).collect())
        .collect();
    let beside = |upper: usize, lower: usize| {
        let (above, below) = (&lines[known[upper]], &lines[known[lower]]);
        move |a: &Instrument, b: &Instrument| pair(above, a, below, b)
    };
    // The cheapest way from the top down to each candidate, and from each down to the end.
    let mut down = own.clone();
    for at in 1..known.len() {
        let cost = beside(at - 1, at);
        for (place, one) in all[known[at]].iter().enumerate() {
            let before = all[known[at - 1]].iter().zip(&down[at - 1]);
            let way = before.map(|(other, way)| way + cost(other, one)).min();
            down[at][place] += way.unwrap_or(0);
        }
    }
    let mut up: Vec<Vec<u32>> = own.iter().map(|costs| vec![0; costs.len()]).collect();
    for at in (0..known.len().saturating_sub(1)).rev() {
        let cost = beside(at, at + 1);
        for (place, one) in all[known[at]].iter().enumerate() {
            let after = all[known[at + 1]].iter().zip(own[at + 1].iter().zip(&up[at + 1]));
            let way = after.map(|(other, (own, way))| own + way + cost(one, other)).min();
            up[at][place] = way.unwrap_or(0);
        }
    }
    for (at, &line) in known.iter().enumerate() {
        let whole: Vec<u32> = down[at].iter().zip(&up[at]).map(|(down, up)| down + up).collect();
        let best = whole.iter().min().copied().unwrap_or(0);
        let mut costs = whole.iter();
        all[line].retain(|_| costs.next().is_some_and(|cost| *cost < best + CLEAR));
        // The compass tells only where all else leaves several: a note out of reach is to be told of, not to be a doubt.
        if all[line].len() > 1 {
            let reach = |one: &&&Instrument| reaches(one, lines[line].voice);
            let within: Vec<&Instrument> = all[line].iter().filter(reach).copied().collect();
            if !within.is_empty() {
                all[line] = within;
            }
        }
        all[line].sort_by_key(|one| one.score_order);
        // A soloist or a choir: nobody asks, and the soloist is asked for more.
        if all[line]
            .iter()
            .all(|one| one.family == Family::Voice && place(one) == place(all[line][0]))
        {
            all[line].truncate(1);
        }
    }
    all
}

/// Parts of early music. Where one stands, alto and tenor are parts as well, and tell nothing of who sings or
/// plays them (common practice, no source).
const EARLY: [&str; 19] = [
    "quinto",
    "quintus",
    "quinta",
    "sesto",
    "sextus",
    "sexta",
    "septimus",
    "contratenor",
    "triplum",
    "motetus",
    "duplum",
    "superius",
    "cantus",
    "canto",
    "altus",
    "bassus",
    "discantus",
    "vagans",
    "contra",
];

fn is_early(voice: &Voice) -> bool {
    let words = words(&voice.name);
    match words.as_slice() {
        [] => false,
        // Cantus and contratenor.
        [first, rest @ ..] if matches!(first.as_str(), "c" | "ct") => {
            rest.iter().all(|word| number(word).is_some())
        }
        [first, ..] => EARLY.contains(&first.as_str()),
    }
}

/// What the score says beside its names.
struct Around {
    /// Whether three voices or more may be singers: then they are a choir.
    choir: bool,
    /// Whether parts are typed as their players read them.
    transposes: bool,
}

impl Around {
    fn of(tune: &Tune, lines: &[Line<'_, '_>]) -> Around {
        let sung = |line: &&Line<'_, '_>| {
            line.label.candidates.iter().any(|one| one.family == Family::Voice)
        };
        Around {
            choir: lines.iter().filter(sung).count() >= 3,
            transposes: tune.voices.iter().any(|voice| voice.transposes),
        }
    }

    fn cost(&self, line: &Line<'_, '_>, one: &Instrument) -> u32 {
        let voice = line.voice;
        if line.label.candidates.len() == 1 {
            return 0;
        }
        let mut cost = 0;
        let clef = clef_name(voice);
        let other = |alternative: &Alternative| Some(&alternative.clef) == clef.as_ref();
        let others = &one.alternative_transpositions;
        if let Some(clef) = &clef
            && !one.clefs.contains(clef)
            && !others.iter().any(other)
        {
            cost += AGAINST;
        }
        let sounds = |semitones: i32| {
            let usual = one.transposition.is_some_and(|t| t.chromatic == semitones);
            let reads = |alternative: &Alternative| {
                alternative.transposition.chromatic == semitones
                    && (clef.is_none() || Some(&alternative.clef) == clef.as_ref())
            };
            usual || others.iter().any(reads)
        };
        if voice.transposes && !sounds(voice.transpose) {
            cost += AGAINST;
        } else if self.transposes && !voice.transposes && !sounds(0) && !sounds(-12) && !sounds(12)
        {
            cost += UNUSUAL;
        }
        if !voice.lyrics.is_empty() && one.family != Family::Voice {
            cost += AGAINST;
        }
        let hands = one.family == Family::Keyboard || one.id == "harp";
        match (hands, line.staves > 1) {
            (false, true) => cost += AGAINST,
            (true, false) => cost += RATHER,
            _ => {}
        }
        let is_choir = one.id.starts_with("choir-");
        if one.family == Family::Voice && is_choir != self.choir {
            cost += UNUSUAL;
        }
        cost
    }
}

/// Whether all notes of a voice lie within an instrument's range, as typed or as heard.
fn reaches(one: &Instrument, voice: &Voice) -> bool {
    one.range(Level::Professional).is_none_or(|range| {
        let within = |note: &crate::Note| {
            range.contains_sounding(note.pitch) || range.contains_written(note.written)
        };
        voice.notes.iter().all(within)
    })
}

/// "treble", "treble-8"; none where no clef is typed.
fn clef_name(voice: &Voice) -> Option<String> {
    let clef = &voice.clef;
    let octave = match clef.octaves {
        ..=-1 => "-8",
        0 => "",
        1.. => "+8",
    };
    (!clef.name.is_empty()).then(|| format!("{}{octave}", clef.name))
}

/// What speaks against one instrument right above another.
fn pair(above: &Line<'_, '_>, a: &Instrument, below: &Line<'_, '_>, b: &Instrument) -> u32 {
    let mut cost = 0;
    if place(a) > place(b) {
        cost += UNUSUAL;
    }
    if a.family != b.family {
        let plucked = |one: &Instrument| matches!(one.family, Family::Plucked | Family::Strings);
        cost += if plucked(a) && plucked(b) { RATHER } else { UNUSUAL };
    } else if a.family == Family::Voice && a.id.starts_with("choir-") != b.id.starts_with("choir-")
    {
        cost += UNUSUAL;
    }
    if a.id == b.id && stem(&above.label.text) != stem(&below.label.text) {
        cost += UNUSUAL;
    }
    cost
}

/// A name without numbers.
fn stem(label: &str) -> String {
    let letters = words(label).into_iter().filter(|word| super::label::number(word).is_none());
    letters.collect::<Vec<_>>().join(" ")
}

/// The place in the score; singers of a choir stand where soloists of their kind do.
fn place(one: &Instrument) -> u32 {
    const HIGH_TO_LOW: [&str; 6] = ["soprano", "mezzo", "alto", "tenor", "baritone", "bass"];
    if one.family != Family::Voice {
        return one.score_order * 10;
    }
    let kind = HIGH_TO_LOW.iter().position(|kind| {
        one.id
            .strip_prefix("choir-")
            .unwrap_or(&one.id)
            .trim_start_matches("contr")
            .starts_with(kind)
    });
    1080 + kind.map_or(0, |kind| kind as u32)
}
