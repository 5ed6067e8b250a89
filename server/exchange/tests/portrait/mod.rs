//! A tune as a list of facts, each a line: what a person would hear and read in it. Two tunes with the same
//! facts are the same score.
//!
//! What is not compared, and why:
//!
//! - the ids of voices, and typed accidentals that change no pitch: MusicXML has neither;
//! - whether music on one staff is a voice or an overlay, and silences that are not printed: MusicXML has voices
//!   and time only;
//! - clef, key and transposition of the second voice on a staff: a staff has one, and the export says so;
//! - the tonic of a signature that is not its own: MusicXML has such signatures sign by sign, and the export
//!   says so;
//! - a length that no sign has: it is the tied signs that make it up, and a slur or syllable on it goes with them;
//! - brackets of tuplets: what sounds is compared, and so is what a tuplet does to it;
//! - whether a rest that fills its bar is typed as one: both are printed alike;
//! - how long grace notes are but in comparison with each other: the standard leaves that open (4.12);
//! - which of a sign's names was typed (`accent`, `>`), the same sign twice at a note, and the line of a repeat
//!   sign, which is thick and thin anyway;
//! - repeats as spelt: they are compared as played, for one without a beginning gets one in MusicXML;
//! - words and signs over grace notes or over their note: the standard types them after the grace notes (4.20),
//!   MusicXML has them before;
//! - a return in words (`"^D.C."`) or as a sign: MusicXML has it in words only;
//! - a place left open (`@`): MusicXML has none, and it is above; a text or field without words; how many spaces
//!   part words;
//! - notes without a syllable inside a word: they hold it, typed or not;
//! - signs that the standard does not have, and signs of a note that stand on a bar line: the export says that
//!   it leaves them out.

mod head;
mod music;
mod signs;

use recte_score::{Group, GroupKind, Tune, Voice};
use std::collections::BTreeMap;

/// Facts with how often each holds.
pub(crate) type Facts = BTreeMap<String, usize>;

/// What is said of a tune.
pub(crate) fn facts(tune: &Tune) -> Facts {
    let mut all = Vec::new();
    let staves = staves(tune);
    head::facts(tune, &staves, &mut all);
    for (number, staff) in staves.iter().enumerate() {
        music::facts(tune, number, staff, &mut all);
        signs::facts(tune, number, staff, &mut all);
    }
    let mut facts = Facts::new();
    for fact in all {
        let fact = fact.split_whitespace().collect::<Vec<_>>().join(" ");
        *facts.entry(fact).or_default() += 1;
    }
    facts
}

/// What only one of two tunes has: `-` the first, `+` the second.
pub(crate) fn differences(first: &Facts, second: &Facts) -> Vec<String> {
    let lacks = |a: &Facts, b: &Facts, sign: char| -> Vec<String> {
        let more = |(fact, count): (&String, &usize)| {
            (*count > b.get(fact).copied().unwrap_or(0)).then(|| format!("{sign} {fact}"))
        };
        a.iter().filter_map(more).collect()
    };
    let mut all = lacks(first, second, '-');
    all.extend(lacks(second, first, '+'));
    all
}

/// The voices of each staff, from the top of the page.
fn staves(tune: &Tune) -> Vec<Vec<&Voice>> {
    let mut waiting: Vec<&Voice> = tune.voices.iter().filter(|v| !v.bars.is_empty()).collect();
    let mut staves = Vec::new();
    if let Some(grouping) = tune.groupings.first() {
        collect(&grouping.groups, &mut waiting, &mut staves);
    }
    staves.extend(waiting.into_iter().map(|voice| vec![voice]));
    staves
}

fn take<'a>(id: &str, waiting: &mut Vec<&'a Voice>) -> Option<&'a Voice> {
    let place = waiting.iter().position(|voice| voice.id == id);
    place.map(|place| waiting.remove(place))
}

fn collect<'a>(groups: &[Group], waiting: &mut Vec<&'a Voice>, staves: &mut Vec<Vec<&'a Voice>>) {
    for group in groups {
        match group.kind {
            GroupKind::Staff => {
                let members = group.members.iter();
                let own: Vec<_> = members.filter_map(|one| take(&one.id, waiting)).collect();
                if !own.is_empty() {
                    staves.push(own);
                }
            }
            GroupKind::Voice => staves.extend(take(&group.id, waiting).map(|voice| vec![voice])),
            // It is written on the upper of its staves, and the export says so.
            GroupKind::Floating => match (staves.last_mut(), take(&group.id, waiting)) {
                (Some(staff), Some(voice)) => staff.push(voice),
                (None, Some(voice)) => staves.push(vec![voice]),
                (_, None) => {}
            },
            GroupKind::Brace | GroupKind::Bracket => collect(&group.members, waiting, staves),
        }
    }
}
