//! Which tune of one draft is which of the other.

use super::Placed;
use recte_score::Tune;
use recte_score::drafts::Music;
use std::collections::HashMap;

/// So much of two tunes (in thousandths) has to be the same music where neither number nor title says that they are one.
const ALIKE: u32 = 250;

/// Indices of tunes in pairs: those of the new draft in its order, then those that are gone.
pub(super) fn paired(old: &[Placed], new: &[Placed]) -> Vec<(Option<usize>, Option<usize>)> {
    let mut partner: Vec<Option<usize>> = vec![None; new.len()];
    let mut free: Vec<bool> = vec![true; old.len()];
    let mut waiting: HashMap<(Option<&str>, &str), Vec<usize>> = HashMap::new();
    for (index, placed) in old.iter().enumerate().rev() {
        waiting.entry(name(placed.tune())).or_default().push(index);
    }
    for (index, placed) in new.iter().enumerate() {
        let known = waiting.get_mut(&name(placed.tune())).and_then(Vec::pop);
        if let Some(known) = known {
            (partner[index], free[known]) = (Some(known), false);
        }
    }
    for (_, a, b) in likely(old, new, &free, &partner) {
        if free[a] && partner[b].is_none() {
            (partner[b], free[a]) = (Some(a), false);
        }
    }
    let gone = free.into_iter().enumerate().filter(|(_, free)| *free);
    let gone: Vec<_> = gone.map(|(index, _)| (Some(index), None)).collect();
    let here = partner.into_iter().enumerate().map(|(index, old)| (old, Some(index)));
    here.chain(gone).collect()
}

fn name(tune: &Tune) -> (Option<&str>, &str) {
    (tune.reference.as_deref(), tune.title())
}

/// Pairs of tunes that may be one, the likeliest first: one that has its number or its title kept, then any that
/// sound alike.
fn likely(
    old: &[Placed],
    new: &[Placed],
    free: &[bool],
    partner: &[Option<usize>],
) -> Vec<(u32, usize, usize)> {
    let rest = |all: &[Placed], wanted: &dyn Fn(usize) -> bool| {
        let rest = all.iter().enumerate().filter(|(index, _)| wanted(*index));
        rest.map(|(index, placed)| (index, Music::of(placed.tune()))).collect::<Vec<_>>()
    };
    let before = rest(old, &|index| free[index]);
    let after = rest(new, &|index| partner[index].is_none());
    let mut pairs = Vec::new();
    for (a, music) in &before {
        for (b, other) in &after {
            let ((number, title), (its, called)) = (name(old[*a].tune()), name(new[*b].tune()));
            let named =
                (number.is_some() && number == its) || (!title.is_empty() && title == called);
            let alike = music.likeness(other);
            if named || alike >= ALIKE {
                pairs.push((u32::MAX - alike - 1000 * u32::from(named), *a, *b));
            }
        }
    }
    pairs.sort_unstable();
    pairs
}
