//! Gives the signs of a staff and of the whole score to the notes they stand at.

use super::Voice;
use super::items::Item;
use crate::sheet::{Mark, Notice, ScoreMark, Sheet, Sign};
use recte_theory::Time;

pub(super) fn place(sheet: &Sheet, voices: &mut [Voice<'_>], notices: &mut Vec<Notice>) {
    for (index, part) in sheet.parts.iter().enumerate() {
        for (number, measure) in part.measures.iter().enumerate() {
            for sign in &measure.signs {
                if !put(voices, index, number, sign) {
                    let part = u16::try_from(index).ok();
                    let what = describe(&sign.mark);
                    let what = format!("{what} in the middle of a note stands at the nearest one");
                    notices.push(Notice { part, measure: Some(number as u32), what });
                }
            }
        }
    }
    let mut placed: Vec<(u32, &ScoreMark)> = Vec::new();
    for sign in &sheet.signs {
        let ScoreMark::Mark(mark) = &sign.what else { continue };
        // Every part may have it; it is written once.
        if placed.contains(&(sign.measure, &sign.what)) {
            continue;
        }
        placed.push((sign.measure, &sign.what));
        let bar = voices.first_mut().and_then(|voice| voice.bars.get_mut(sign.measure as usize));
        if let Some(items) = bar.and_then(|bar| bar.first_mut()) {
            let end = items.iter().map(Item::end).max().unwrap_or_default();
            let ends = sign.onset > Time::ZERO && sign.onset >= end;
            take(items, sign.onset, ends, mark.clone());
        }
    }
}

fn describe(mark: &Mark) -> String {
    match mark {
        Mark::Decoration(name) => format!("the sign “{name}”"),
        Mark::Text(_, text) => format!("the text “{text}”"),
        Mark::Chord(symbol) => format!("the chord symbol “{symbol}”"),
    }
}

/// Whether the sign stands where the source has it.
fn put(voices: &mut [Voice<'_>], part: usize, measure: usize, sign: &Sign) -> bool {
    let on_staff = |voice: &Voice<'_>, staff: u8| voice.part == part && voice.staff == staff;
    let mut own: Vec<usize> = (0..voices.len())
        .filter(|index| voices.get(*index).is_some_and(|voice| on_staff(voice, sign.staff)))
        .collect();
    if own.is_empty() {
        own =
            (0..voices.len()).filter(|i| voices.get(*i).is_some_and(|v| v.part == part)).collect();
    }
    // A voice that the sign is said to belong to goes first.
    let of_voice = |index: &usize| {
        let items =
            voices.get(*index).and_then(|voice| voice.bars.get(measure)).into_iter().flatten();
        let mut events = items.flatten().filter_map(|item| item.event);
        sign.voice.is_none() || !events.any(|event| Some(event.voice) == sign.voice)
    };
    own.sort_by_key(|index| of_voice(index));
    if !sign.ends {
        let exact = own.iter().find(|index| {
            let bar = voices.get(**index).and_then(|voice| voice.bars.get(measure));
            let items = bar.and_then(|bar| bar.first()).into_iter().flatten();
            items.into_iter().any(|item| item.onset == sign.onset && begins(item))
        });
        if let Some(exact) = exact {
            own = vec![*exact];
        }
    }
    let bar = own.first().and_then(|index| voices.get_mut(*index));
    let layer = bar.and_then(|voice| voice.bars.get_mut(measure)).and_then(|bar| bar.first_mut());
    layer.is_some_and(|items| take(items, sign.onset, sign.ends, sign.mark.clone()))
}

/// Whether a sign can stand here: on what begins and is not a grace note.
fn begins(item: &Item<'_>) -> bool {
    !item.is_grace() && !item.continues
}

/// Puts a mark on the item at a place, cutting a rest there if need be; whether that is its very place.
fn take(items: &mut Vec<Item<'_>>, onset: Time, ends: bool, mark: Mark) -> bool {
    if ends {
        let last = items.iter_mut().rev().find(|item| item.onset < onset && begins(item));
        if let Some(item) = last {
            item.marks.push(mark);
            return true;
        }
    }
    if let Some(item) = items.iter_mut().find(|item| item.onset == onset && begins(item)) {
        item.marks.push(mark);
        return true;
    }
    let rest =
        items.iter().position(|item| item.onset < onset && onset < item.end() && item.is_rest());
    if let Some((place, item)) = rest.and_then(|place| Some((place, items.get(place)?))) {
        let (first, mut second) = item.cut(onset);
        second.marks = vec![mark];
        items.splice(place..=place, [first, second]);
        return true;
    }
    let next = items.iter().position(|item| item.onset >= onset && begins(item));
    let near = next.or_else(|| items.iter().rposition(begins));
    if let Some(item) = near.and_then(|near| items.get_mut(near)) {
        item.marks.push(mark);
    }
    false
}
