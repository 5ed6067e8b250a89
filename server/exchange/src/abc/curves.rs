//! Ties and slurs: which of them can be written, and where.

use super::Voice;
use super::items::Item;
use crate::sheet::Notice;

/// Where an item stands: bar, layer, place.
type Place = (usize, usize, usize);

fn notice(voice: &Voice<'_>, bar: usize, what: &str) -> Notice {
    let part = u16::try_from(voice.part).ok();
    Notice { part, measure: Some(bar as u32), what: what.to_owned() }
}

/// A tie reaches the next note of its own voice and layer.
pub(super) fn ties(voices: &mut [Voice<'_>], notices: &mut Vec<Notice>) {
    for voice in voices {
        let mut found: Vec<(Place, Vec<bool>)> = Vec::new();
        let mut lost = Vec::new();
        for (number, bar) in voice.bars.iter().enumerate() {
            for (layer, items) in bar.iter().enumerate() {
                for (place, item) in items.iter().enumerate() {
                    let tied = item.notes().iter().any(|note| note.tied);
                    if item.continued {
                        found.push(((number, layer, place), vec![true; item.notes().len()]));
                    } else if tied {
                        let next = after(voice, number, layer, place);
                        let ties: Vec<bool> = item
                            .notes()
                            .iter()
                            .map(|note| {
                                note.tied && next.is_some_and(|next| has(next, note.pitch.midi()))
                            })
                            .collect();
                        let whole =
                            item.notes().iter().zip(&ties).all(|(note, tie)| note.tied == *tie);
                        if !whole {
                            lost.push(number);
                        }
                        found.push(((number, layer, place), ties));
                    }
                }
            }
        }
        let what = "a tie that leads to another voice, or to no note, is left out";
        notices.extend(lost.into_iter().map(|bar| notice(voice, bar, what)));
        for (place, ties) in found {
            if let Some(item) = item_at(voice, place) {
                item.ties = ties;
            }
        }
    }
}

fn item_at<'v, 's>(
    voice: &'v mut Voice<'s>,
    (bar, layer, place): Place,
) -> Option<&'v mut Item<'s>> {
    voice.bars.get_mut(bar)?.get_mut(layer)?.get_mut(place)
}

fn has(item: &Item<'_>, midi: i32) -> bool {
    item.is_note() && item.notes().iter().any(|note| note.pitch.midi() == midi)
}

/// What follows in the same layer, grace notes passed over.
fn after<'v, 's>(
    voice: &'v Voice<'s>,
    bar: usize,
    layer: usize,
    place: usize,
) -> Option<&'v Item<'s>> {
    let here = voice.bars.get(bar)?.get(layer)?.get(place..)?;
    if here.first()?.is_grace() {
        return None;
    }
    let follows = |item: &&Item<'s>| !item.is_grace();
    here.get(1..)?
        .iter()
        .find(follows)
        .or_else(|| voice.bars.get(bar + 1)?.get(layer)?.iter().find(follows))
}

/// A slur begins and ends in one voice.
pub(super) fn slurs(voices: &mut [Voice<'_>], notices: &mut Vec<Notice>) {
    for voice in voices {
        let mut open: Vec<(u8, bool, usize, Place)> = Vec::new();
        let mut pairs: Vec<(Place, Place, bool)> = Vec::new();
        let mut lost: Vec<usize> = Vec::new();
        for (number, bar) in voice.bars.iter().enumerate() {
            for (layer, items) in bar.iter().enumerate() {
                for (place, item) in items.iter().enumerate() {
                    let here = (number, layer, place);
                    let Some(event) = item.event else { continue };
                    let mut unmatched: Vec<u8> = Vec::new();
                    for end in &event.slurs {
                        let known = open
                            .iter()
                            .rposition(|(number, _, at, _)| *number == end.number && *at == layer);
                        // A note in several tied pieces: a slur begins with the first and ends with the last.
                        match (end.starts, known) {
                            (true, _) if item.continues => {}
                            (true, _) => open.push((end.number, end.dotted, layer, here)),
                            (false, _) if item.continued => {}
                            (false, Some(known)) => {
                                let (_, dotted, _, from) = open.remove(known);
                                pairs.push((from, here, dotted));
                            }
                            (false, None) => unmatched.push(end.number),
                        }
                    }
                    lost.extend(unmatched.iter().map(|_| number));
                }
            }
        }
        lost.extend(open.iter().map(|(_, _, _, (bar, _, _))| *bar));
        let what = "a slur that does not begin and end in one voice is left out";
        notices.extend(lost.into_iter().map(|bar| notice(voice, bar, what)));
        for (from, to, dotted) in pairs {
            if let Some(item) = item_at(voice, from) {
                item.opens.push(dotted);
            }
            if let Some(item) = item_at(voice, to) {
                item.closes += 1;
            }
        }
    }
}
