//! Bars written otherwise, in every voice of the tune: split, joined, under another signature, with their lines
//! moved, in other values. What cannot be done comes with the reason.

mod chord_symbols;
pub(crate) mod place;
mod signatures;

use crate::host::Snapshot;
use chord_symbols::chord_symbols;
use place::Place;
use recte_notation::write::rhythm::{self, Unwritable};
use recte_notation::write::{
    MovedLines, NewBar, Refusal, Scale, TextEdit, join_bars, move_lines, moved_lines, proved,
    scale_values, scaled_exactly, set_metre, split_bar_as_typed, tempo_at, tempo_text, write_bars,
};
use recte_notation::{Change, Lowered};
use recte_theory::{Metre, Time};
use signatures::{Others, counted, joined_signs, others, signature_of};
use std::ops::Range;

/// So many places to split a bar are offered.
const MOST_SPLITS: usize = 4;
/// So many bars are made one.
const MOST_JOINED: u32 = 4;

/// Something that can be done to bars, or why it cannot. Its title says the result.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Rewriting {
    /// The title.
    pub title: String,
    /// The changes, all at once, in bytes of the document; else a sentence that says why there are none.
    pub changes: Result<Vec<Change>, String>,
}

/// The kinds of rewriting, in the order in which they are offered.
const KINDS: [fn(&mut Place<'_>) -> Vec<Rewriting>; 7] =
    [splits, joins, other_signatures, rhythms, other_lines, other_values, chord_symbols];

/// Which rewritings are worked out, and how far.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Wanted<'a> {
    /// All, each proved.
    Proved,
    /// All for their titles: their changes are not proved, so none may be taken before it is asked for alone.
    Titles,
    /// The one with this title, proved.
    One(&'a str),
}

/// What can be done to the bar at a place or the bars of a selection. `asked` says that rewritings alone are
/// wanted; then, or where something is selected, those that cannot be done are told of too.
pub fn rewritings(
    snapshot: &Snapshot,
    range: Range<usize>,
    asked: bool,
    wanted: Wanted<'_>,
) -> Vec<Rewriting> {
    let Some(mut place) = Place::find(snapshot, &range, asked, wanted) else { return Vec::new() };
    let mut found: Vec<Rewriting> = KINDS.iter().flat_map(|kind| kind(&mut place)).collect();
    let tells = asked || !range.is_empty() || matches!(wanted, Wanted::One(_));
    found.retain(|one| tells || one.changes.is_ok());
    found
}

/// Cuts one bar in two, at the cursor first, then where the fewest notes are cut.
fn splits(place: &mut Place<'_>) -> Vec<Rewriting> {
    if place.from != place.to {
        return Vec::new();
    }
    let (bar, old) = (place.from, place.metre().clone());
    let whole = place.length(bar);
    let mut found = Vec::new();
    for at in place.cuts(bar, &old).into_iter().take(MOST_SPLITS) {
        let parts = [at, whole - at].map(|length| signature_of(length, &old));
        let [Some(first), Some(second)] = parts else { continue };
        let title = format!("Split into {first} + {second}");
        let parts = [first, second];
        found.extend(
            place.offer(title, |place| split_bar_as_typed(place.text(), place.read(), bar, &parts)),
        );
    }
    found
}

/// Makes one bar of a bar and the next, or of the bars selected.
fn joins(place: &mut Place<'_>) -> Vec<Rewriting> {
    let from = place.from;
    let to = place.to.max(from + 1);
    if to - from >= MOST_JOINED || to as usize >= place.read().tune.bars.len() {
        return Vec::new();
    }
    let length: Time = (from..=to).map(|bar| place.length(bar)).sum();
    // Nobody counts a bar longer than two whole notes.
    if place.selected() && length > Time::new(2, 1) {
        return Vec::new();
    }
    let before = from.checked_sub(1).and_then(|bar| place.metre_of(bar));
    let around = [before, place.metre_of(to + 1)].into_iter().flatten();
    let known = around.into_iter().find(|metre| metre.length() == Some(length)).cloned();
    let Some(metre) = known.or_else(|| signature_of(length, place.metre())) else {
        return Vec::new();
    };
    let title = match place.from == place.to {
        true => format!("Join with the next bar as {metre}"),
        false => format!("Join {} as {metre}", place.bars(from, to)),
    };
    let join = |place: &Place<'_>| join_bars(place.text(), place.read(), from, to, &metre);
    place.offer(title, join).into_iter().collect()
}

/// Puts the passage under the signatures that go with its own.
fn other_signatures(place: &mut Place<'_>) -> Vec<Rewriting> {
    let Some((from, to)) = place.passage() else { return Vec::new() };
    let old = place.metre().clone();
    let mut found = Vec::new();
    for other in others(place, from, to, &old) {
        let title = format!("Write {} in {}", place.bars(from, to), joined_signs(&other));
        match &other {
            Others { signs, .. } if signs.len() == 1 && signs[0].length() == old.length() => {
                let sign = signs[0].clone();
                found.extend(
                    place.offer(title, |place| {
                        set_metre(place.text(), place.read(), from, to, &sign)
                    }),
                );
            }
            Others { bars, .. } => found.extend(
                place.offer(title, |place| write_bars(place.text(), place.read(), from, to, bars)),
            ),
        }
    }
    found
}

/// What rewrites the rhythm inside a bar, in every voice.
type Job = fn(&str, &Lowered, rhythm::Place) -> Result<Vec<TextEdit>, Unwritable>;

/// Shows the beats inside the bars: by ties, without needless ones, by rests, beams and tuplets.
fn rhythms(place: &mut Place<'_>) -> Vec<Rewriting> {
    let bars = place.bars(place.from, place.to);
    let jobs: [(String, Job); 5] = [
        (format!("Show the beats of {bars} by ties"), rhythm::show_beats),
        (format!("Write as one what is needlessly tied in {bars}"), rhythm::join_ties),
        (format!("Group the rests of {bars} by the beat"), rhythm::regroup_rests),
        (format!("Beam {bars} by the beat"), rhythm::beam_by_beat),
        (format!("Split the tuplets of {bars} at the beats"), rhythm::split_tuplets),
    ];
    let mut found = Vec::new();
    for (title, job) in jobs {
        if !place.wants(&title) {
            continue;
        }
        let each = |bar| {
            let edits = job(place.text(), place.read(), rhythm::Place { bar, voice: None });
            edits.map_err(|why| Refusal::from(why).in_bar(bar))
        };
        let edits = (place.from..=place.to).map(each).collect::<Result<Vec<_>, _>>();
        let edits = edits.map(|edits| edits.concat());
        // Where nothing would change there is nothing to offer.
        if edits != Ok(Vec::new()) {
            found.extend(place.offer(title, |_| edits.clone()));
        }
    }
    found
}

/// Moves the bar lines of the passage by a beat.
fn other_lines(place: &mut Place<'_>) -> Vec<Rewriting> {
    if !place.is_asked() {
        return Vec::new();
    }
    let (bar, metre) = (place.from, place.metre().clone());
    let Some(beat) = metre.unit() else { return Vec::new() };
    let unit = if metre.is_compound() { counted(beat, &metre) } else { "a beat".to_owned() };
    let mut found = Vec::new();
    let mut known = None;
    for (by, way) in [(beat, "later"), (-beat, "earlier")] {
        let moved = moved_lines(place.read(), bar, by).ok();
        // In two beats it is the same either way.
        if moved.is_some() && moved == known {
            continue;
        }
        known.clone_from(&moved);
        let title = match moved {
            Some(MovedLines { from, to, bars }) => {
                let first = bars.first().map(|bar| bar.length).unwrap_or_default();
                let begins = match Some(first) == metre.length() {
                    true => "a full bar".to_owned(),
                    false => format!("a pickup of {}", counted(first, &metre)),
                };
                let (bars, verb) = place.bars_and(from, to, "begins", "begin");
                format!("Move the bar lines {unit} {way}: {bars} {verb} with {begins}")
            }
            None => format!("Move the bar lines {unit} {way}"),
        };
        let edits = |place: &Place<'_>| move_lines(place.text(), place.read(), bar, by);
        found.extend(place.offer(title, edits));
    }
    found
}

/// Halves or doubles all values of the passage.
fn other_values(place: &mut Place<'_>) -> Vec<Rewriting> {
    if !place.is_asked() {
        return Vec::new();
    }
    let (from, to) = match place.selected() {
        true => (place.from, place.to),
        false => (0, place.read().tune.bars.len() as u32 - 1),
    };
    let whole = from == 0 && to as usize + 1 == place.read().tune.bars.len();
    let mut found = Vec::new();
    for (scale, verb) in [(Scale::Half, "Halve"), (Scale::Double, "Double")] {
        let tempo = tempo_at(&place.read().tune, from).map(|tempo| {
            let [old, new] = [Time::WHOLE, scale.factor()].map(|factor| tempo_text(tempo, factor));
            format!(" (Q: {old} becomes {new})")
        });
        let of = if whole { String::new() } else { format!(" of {}", place.bars(from, to)) };
        let title = format!("{verb} all values{of}{}", tempo.unwrap_or_default());
        found.extend(place.offer_proved(title, |place| {
            let edits = scale_values(place.text(), place.read(), from, to, scale)?;
            if place.is_unproved() {
                return Ok(Some(edits));
            }
            let after = scaled_exactly(place.block(), &edits, (from, to), scale);
            Ok(after.map(|_| edits))
        }));
    }
    found
}

impl Place<'_> {
    /// A rewriting whose edits carry all that stands in the score, or the reason why there is none.
    fn offer(
        &mut self,
        title: String,
        edits: impl Fn(&Place<'_>) -> Result<Vec<TextEdit>, Refusal>,
    ) -> Option<Rewriting> {
        self.offer_proved(title, |place| {
            let edits = edits(place).and_then(|edits| match place.is_unproved() {
                true => Ok(edits),
                false => proved(place.block(), edits),
            });
            // Of one bar it is that bar which does not allow it.
            edits.map(Some).map_err(|why| match place.from == place.to {
                true => why.in_bar(place.from),
                false => why,
            })
        })
    }

    /// The same with edits that were proved in a way of their own; none if they did not hold.
    fn offer_proved(
        &mut self,
        title: String,
        edits: impl Fn(&Place<'_>) -> Result<Option<Vec<TextEdit>>, Refusal>,
    ) -> Option<Rewriting> {
        if !self.wants(&title) || !self.has_time() {
            return None;
        }
        let changes = match edits(self) {
            Ok(Some(mut edits)) => {
                // In the order of the text; what comes to one place keeps its order.
                edits.sort_by_key(|edit| (edit.span.start, edit.span.end));
                Ok(edits.iter().map(|edit| edit.change(self.start())).collect())
            }
            Ok(None) => {
                Err("Something in these bars would not come across as it stands.".to_owned())
            }
            Err(refusal) => Err(self.in_bar(refusal.bar(), &refusal.to_string())),
        };
        Some(Rewriting { title, changes })
    }
}

/// Full bars under these signatures in turn, as many as last so long; the last may be shorter where one was.
fn filled(length: Time, signs: &[Metre], short_end: bool) -> Option<Vec<NewBar>> {
    let mut bars = Vec::new();
    let mut left = length;
    for sign in signs.iter().cycle().take(100_000) {
        if left <= Time::ZERO {
            break;
        }
        let mut bar = NewBar::full(sign);
        if bar.length <= Time::ZERO || bar.length > left && !short_end {
            return None;
        }
        bar.length = if bar.length < left { bar.length } else { left };
        left -= bar.length;
        bars.push(bar);
    }
    let even = short_end || bars.len().is_multiple_of(signs.len());
    (even && left.is_zero() && !bars.is_empty()).then_some(bars)
}

#[cfg(test)]
mod tests;
