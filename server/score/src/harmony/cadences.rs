//! Cadences: what the last two harmonies of a phrase do.
//!
//! Kinds and conditions after Open Music Theory, "Cadence types" and "Introduction to harmony, cadences, and phrase
//! endings" (from memory): a perfect authentic cadence goes from V to I, both in root position, with the tonic
//! on top; any other way from V or vii° to I is imperfect; a half cadence ends on V (but where its own dominant goes to it
//! over a falling fifth, both in root position, that is heard as authentic in the key of V: common practice, no source), a Phrygian one comes there in
//! minor from iv6 (either may be in the key of a degree); a plagal one goes from IV to I; a deceptive one from V to the sixth degree instead of the first. A
//! cadence is sought only where a phrase ends (`phrases.rs`); harmonies of one root count as one.

use super::phrases::{PhraseEnd, PhraseSign, phrase_ends};
use super::{Harmony, Heading};
use crate::sounding::{Sounding, soundings};
use crate::tune::Tune;
use recte_theory::key::Mode;
use recte_theory::{Key, PitchName, Time};

/// The kinds of cadences.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum CadenceKind {
    /// V to I, both in root position, the tonic on top.
    PerfectAuthentic,
    /// V or vii° to I in any other way.
    ImperfectAuthentic,
    /// To V.
    Half,
    /// iv6 to V in minor.
    PhrygianHalf,
    /// IV to I.
    Plagal,
    /// V to vi.
    Deceptive,
}

impl CadenceKind {
    /// What it is called, the word "cadence" left out.
    pub fn name(self) -> &'static str {
        match self {
            CadenceKind::PerfectAuthentic => "perfect authentic",
            CadenceKind::ImperfectAuthentic => "imperfect authentic",
            CadenceKind::Half => "half",
            CadenceKind::PhrygianHalf => "Phrygian half",
            CadenceKind::Plagal => "plagal",
            CadenceKind::Deceptive => "deceptive",
        }
    }
}

/// A cadence.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Cadence {
    /// Its kind.
    pub kind: CadenceKind,
    /// The key that it is in: the local one, or for one chord the key of a degree.
    pub key: Key,
    /// The harmony it ends on, by its place in the list.
    pub harmony: usize,
    /// What says that the phrase ends.
    pub sign: PhraseSign,
}

/// The cadences of a tune with these harmonies, in time; at most one for each harmony.
pub fn cadences(tune: &Tune, harmonies: &[Harmony]) -> Vec<Cadence> {
    let table = soundings(tune);
    let mut found: Vec<Cadence> = Vec::new();
    for end in phrase_ends(tune, &table) {
        let one = goals(harmonies, &end).find_map(|goal| cadence(harmonies, goal, &end, &table));
        let Some(one) = one else { continue };
        match found.iter_mut().find(|other| other.harmony == one.harmony) {
            Some(other) if one.sign < other.sign => *other = one,
            Some(_) => {}
            None => found.push(one),
        }
    }
    found.sort_by_key(|one| one.harmony);
    found
}

/// The harmonies that may end a phrase: the last that is heard, and those before it since the last note began.
fn goals<'a>(harmonies: &'a [Harmony], end: &PhraseEnd) -> impl Iterator<Item = usize> + use<'a> {
    let onset = end.onset.min(end.end);
    let after = harmonies.partition_point(|harmony| harmony.onset < end.end);
    let heard = move |at: &usize| harmonies[*at].chord.is_some();
    let last = (0..after).rev().find(heard);
    let since = (0..after).rev().take_while(move |&at| harmonies[at].end > onset);
    last.into_iter().chain(since.filter(heard).filter(move |at| Some(*at) != last))
}

/// A silence between the two chords of a cadence may last so many quarter notes.
const BREAK: i64 = 2;

/// The chord of another root before one, if no long silence stands between.
fn before(harmonies: &[Harmony], goal: usize) -> Option<&Heading> {
    let own = harmonies[goal].chord.as_ref()?;
    for harmony in harmonies[..goal].iter().rev() {
        match &harmony.chord {
            None if harmony.end - harmony.onset > Time::new(BREAK, 4) => return None,
            Some(heading) if heading.chord.root != own.chord.root => return Some(heading),
            _ => {}
        }
    }
    None
}

fn cadence(
    harmonies: &[Harmony],
    goal: usize,
    end: &PhraseEnd,
    table: &[Sounding],
) -> Option<Cadence> {
    let to = harmonies[goal].chord.as_ref()?;
    let from = before(harmonies, goal);
    let found = |kind, key| Some(Cadence { kind, key, harmony: goal, sign: end.sign });
    let (own, third) = (to.chord.root, Third::of(to)?);
    let in_key = to.key.tonic.map(|tonic| own.fifths() - tonic.fifths());
    let plain = to.chord.quality.intervals.len() <= 3;
    let root_position = to.chord.bass == own;
    let leads = from.filter(|from| leads(from, own));
    let dominant = in_key == Some(1) && third == Third::Major;
    // Over a falling fifth the dominant of the dominant makes it a goal of its own.
    let settles = |from: &&Heading| {
        let applied = !has(&to.key, from.chord.root, 4);
        !dominant || (applied && from.chord.bass == from.chord.root && is_dominant(from))
    };
    if let Some(from) = leads.filter(|_| plain).filter(settles) {
        let strong = from.chord.root.fifths() == own.fifths() + 1;
        let settled = root_position && strong && from.chord.bass == from.chord.root;
        let moment = end.end.min(harmonies[goal].end);
        let kind = if settled && top(table, moment) == Some(own) {
            CadenceKind::PerfectAuthentic
        } else {
            CadenceKind::ImperfectAuthentic
        };
        let mode = if third == Third::Major { Mode::Major } else { Mode::Minor };
        // A major tonic may end what is in minor.
        if in_key == Some(0) {
            return found(kind, to.key);
        }
        // A wait is too little to end in another key than the harmonies are in.
        if end.sign != PhraseSign::Wait {
            return found(kind, Key::new(own, mode));
        }
    }
    if !root_position {
        return None;
    }
    let elsewhere = plain && third == Third::Major && !has(&to.key, own, 4);
    if let Some(from) = from.filter(|_| elsewhere && end.sign != PhraseSign::Wait) {
        return half_elsewhere(from, own).and_then(|(kind, key)| found(kind, key));
    }
    let minor = to.key.mode == Mode::Minor;
    let came = |fifths: i32| {
        from.is_some_and(|from| {
            to.key.tonic.is_some_and(|tonic| from.chord.root.fifths() - tonic.fifths() == fifths)
        })
    };
    match in_key? {
        1 if third == Third::Major => {
            let phrygian = minor
                && came(-1)
                && from.is_some_and(|from| {
                    from.chord.inversion == 1 && Third::of(from) == Some(Third::Minor)
                });
            let kind = if phrygian { CadenceKind::PhrygianHalf } else { CadenceKind::Half };
            found(kind, to.key)
        }
        0 if plain && came(-1) => found(CadenceKind::Plagal, to.key),
        3 | -4 if plain && came(1) && is_dominant(from?) => {
            let sixth = if minor { (-4, Third::Major) } else { (3, Third::Minor) };
            (Some(sixth.0) == in_key && sixth.1 == third)
                .then(|| found(CadenceKind::Deceptive, to.key))?
        }
        _ => None,
    }
}

/// A half cadence in the key of a degree: its dominant, which the local key does not have, after its tonic or its
/// fourth degree.
fn half_elsewhere(from: &Heading, own: PitchName) -> Option<(CadenceKind, Key)> {
    let third = Third::of(from)?;
    let tonic = PitchName::from_fifths(own.fifths() - 1);
    let key =
        |third| Key::new(tonic, if third == Third::Major { Mode::Major } else { Mode::Minor });
    match (from.chord.root.fifths() - own.fifths(), third, from.chord.inversion) {
        (-1, ..) => Some((CadenceKind::Half, key(third))),
        (-2, Third::Minor, 1) => Some((CadenceKind::PhrygianHalf, key(third))),
        (-2, ..) => Some((CadenceKind::Half, key(third))),
        _ => None,
    }
}

/// Whether a key has the name so many fifths from a root, minor with its raised sixth and seventh.
fn has(key: &Key, root: PitchName, fifths: i32) -> bool {
    let Some(tonic) = key.tonic else { return true };
    let place = root.fifths() + fifths - tonic.fifths();
    match key.mode {
        Mode::Minor => matches!(place, -4..=3 | 5),
        _ => matches!(place, -1..=5),
    }
}

/// The third of a chord that has a perfect fifth, or none said.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
enum Third {
    Major,
    Minor,
}

impl Third {
    /// None of a chord that is altered, so that nothing can come to rest on it; that of the key for an open fifth.
    fn of(heading: &Heading) -> Option<Third> {
        let members: Vec<i32> =
            heading.chord.quality.intervals.iter().map(|interval| interval.fifths()).collect();
        match members[..] {
            [0, 4, 1, ..] => Some(Third::Major),
            [0, -3, 1, ..] => Some(Third::Minor),
            [0, 1] if has(&heading.key, heading.chord.root, 4) => Some(Third::Major),
            [0, 1] => Some(Third::Minor),
            _ => None,
        }
    }
}

/// Whether a chord is a major triad or a dominant seventh.
fn is_dominant(heading: &Heading) -> bool {
    let sevenths = heading.chord.quality.intervals.get(3).map(|interval| interval.fifths());
    Third::of(heading) == Some(Third::Major) && matches!(sevenths, None | Some(-2))
}

/// Whether a chord leads to a root as a dominant, or as the chord on the leading note.
fn leads(from: &Heading, to: PitchName) -> bool {
    let intervals = &from.chord.quality.intervals;
    let diminished = intervals.get(2).is_some_and(|fifth| fifth.fifths() == -6);
    match from.chord.root.fifths() - to.fifths() {
        1 => is_dominant(from),
        5 => diminished,
        _ => false,
    }
}

/// The name of the highest note that sounds up to a moment.
fn top(table: &[Sounding], moment: Time) -> Option<PitchName> {
    let until = table.iter().filter(|row| row.onset < moment && moment <= row.end);
    until.max_by_key(|row| row.pitch.midi()).map(|row| row.pitch.name)
}
