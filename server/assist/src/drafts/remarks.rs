//! Which remark on the old draft is which on the new one.

use super::Remarks;
use crate::host::Located;
use recte_review::Finding;
use recte_score::drafts::{Kind, Plan};
use recte_theory::Time;
use std::collections::HashMap;

/// How well a remark answers to another: the least is the best.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Answer {
    /// At the same place, in the same words.
    Same,
    /// At the same place.
    There,
    /// Over bars some of which are the same, so many of them not.
    Overlaps(u32),
    /// In the same bar, which is changed, so far from its place.
    InBar(Time),
}

/// Remarks on a tune.
pub(super) fn in_tune(plan: &Plan, old: Vec<Located>, new: Vec<Located>) -> Remarks {
    matched(old, new, |a, b| answer(plan, a, b))
}

/// Remarks outside of tunes: they have no place but what they say.
pub(super) fn around(old: Vec<Located>, new: Vec<Located>) -> Remarks {
    matched(old, new, |a, b| (wording(a) == wording(b)).then_some(Answer::Same))
}

fn matched(
    old: Vec<Located>,
    new: Vec<Located>,
    answer: impl Fn(&Finding, &Finding) -> Option<Answer>,
) -> Remarks {
    let mut by_rule: HashMap<&str, Vec<usize>> = HashMap::new();
    for (index, one) in new.iter().enumerate() {
        by_rule.entry(one.finding().rule).or_default().push(index);
    }
    let mut pairs = Vec::new();
    for (a, was) in old.iter().enumerate() {
        for b in by_rule.get(was.finding().rule).into_iter().flatten() {
            if let Some(answer) = answer(was.finding(), new[*b].finding()) {
                pairs.push((answer, a, *b));
            }
        }
    }
    pairs.sort_unstable();
    let mut partner: Vec<Option<usize>> = vec![None; new.len()];
    let mut stands = vec![false; old.len()];
    for (_, a, b) in pairs {
        if !stands[a] && partner[b].is_none() {
            (stands[a], partner[b]) = (true, Some(a));
        }
    }
    let standing = new.iter().zip(&partner);
    let standing =
        standing.filter_map(|(one, old_one)| Some((old[(*old_one)?].clone(), one.clone())));
    Remarks {
        standing: standing.collect(),
        new: new
            .iter()
            .zip(&partner)
            .filter(|(_, a)| a.is_none())
            .map(|(one, _)| one.clone())
            .collect(),
        settled: old
            .iter()
            .zip(&stands)
            .filter(|(_, s)| !**s)
            .map(|(one, _)| one.clone())
            .collect(),
    }
}

fn answer(plan: &Plan, old: &Finding, new: &Finding) -> Option<Answer> {
    let same_voice = match (old.voice, new.voice) {
        (None, None) => true,
        (Some(old), Some(new)) => plan.new_voice(old) == Some(new),
        _ => false,
    };
    if !same_voice {
        return None;
    }
    let words = || if wording(old) == wording(new) { Answer::Same } else { Answer::There };
    let (Some(from), Some(here)) = (old.bar, new.bar) else {
        return (old.bar == new.bar).then(words);
    };
    let place = plan.new_place(from, old.offset);
    if place == Some((here, new.offset)) {
        return Some(words());
    }
    let (to, there) = (old.to_bar.unwrap_or(from), new.to_bar.unwrap_or(here));
    if to > from || there > here {
        return overlap(plan, (from, to), (here, there)).map(Answer::Overlaps);
    }
    let (bar, offset) = place?;
    let changed = plan.of_new(here).is_some_and(|stretch| match stretch.kind {
        Kind::Changed => true,
        Kind::Rebarred | Kind::Scaled(_) => !stretch.touched.is_empty(),
        _ => false,
    });
    let away = if offset > new.offset { offset - new.offset } else { new.offset - offset };
    (changed && bar == here).then_some(Answer::InBar(away))
}

/// How many bars of either passage are not in the other; none if they share no bar.
fn overlap(plan: &Plan, old: (u32, u32), new: (u32, u32)) -> Option<u32> {
    let bars = (old.0..=old.1).filter_map(|bar| Some(plan.new_place(bar, Time::ZERO)?.0));
    let shared = bars.filter(|bar| (new.0..=new.1).contains(bar)).count() as u32;
    let all = (old.1 - old.0 + 1) + (new.1.saturating_sub(new.0) + 1);
    (shared > 0).then(|| all.saturating_sub(2 * shared))
}

/// What a remark says, without the numbers in it.
fn wording(finding: &Finding) -> String {
    finding.message.chars().filter(|c| !c.is_ascii_digit()).collect()
}
