//! A tune as a list of facts, each a line: what a person would hear and read in it. Two tunes with the same
//! facts are the same score.
//!
//! What is not compared, and why. The ids of voices: MusicXML has none. Whether music on one staff is a voice or
//! an overlay, and silences that are not printed: MusicXML has voices and time only. Which of the same sign's
//! names was typed (`accent`, `>`). Repeats as played, not as spelt: a repeat without a beginning begins where
//! MusicXML has to say it does. A length that no sign has, as the tied signs that make it up. How many spaces
//! part the words of a text. All other
//! omissions are those that the export itself lists.

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
