//! Bars as they would stand on a staff after an edit.
//!
//! Reading a whole tune anew for each proposal would be dear. So all but the header and the quoted bars is cut away before, and
//! that text is read, with the edit and without; it is believed only where without it the same is read as in the tune.

use super::read::{front_at, read};
use super::{Front, Staff};
use recte_notation::Block;
use recte_notation::write::TextEdit;
use recte_score::{Span, Tune};
use std::ops::Range;
use std::sync::Arc;

/// So many times a whole tune is read anew for want of another way.
const WHOLE_TUNES: usize = 4;

/// Makes the staves of a tune's quotes.
pub(in crate::report) struct Drafts {
    whole_tunes: usize,
}

/// Bars that are quoted.
pub(in crate::report) struct Bars<'a> {
    pub(in crate::report) block: &'a Block,
    pub(in crate::report) voice: usize,
    pub(in crate::report) bars: Range<usize>,
    /// Where each of them stands.
    pub(in crate::report) pieces: &'a [Span],
}

impl Default for Drafts {
    fn default() -> Drafts {
        Drafts { whole_tunes: WHOLE_TUNES }
    }
}

impl Drafts {
    /// The bars as typed, and as each of some edits would leave them.
    pub(in crate::report) fn staves(
        &mut self,
        quoted: &Bars<'_>,
        about: &[Span],
        edits: &[&[TextEdit]],
    ) -> (Option<Staff>, Vec<Option<Staff>>) {
        let tune = &quoted.block.lowered().tune;
        let own = tune.voices.get(quoted.voice);
        let original =
            own.and_then(|own| read(tune, own, quoted.bars.clone(), |front| front, about));
        let Some(original) = original else { return (None, vec![None; edits.len()]) };
        let frame = Frame::of(quoted, &original);
        let after = edits.iter().map(|edits| {
            let mut staff = match &frame {
                Some(frame) => frame.after(edits, &original),
                None => self.whole(quoted, edits),
            }?;
            staff.borrow_edges(&original);
            staff.tell_changes(&original);
            Some(staff)
        });
        let after = after.collect();
        (Some(original), after)
    }

    /// Read from the whole tune with the edit.
    fn whole(&mut self, quoted: &Bars<'_>, edits: &[TextEdit]) -> Option<Staff> {
        self.whole_tunes = self.whole_tunes.checked_sub(1)?;
        let (first, last) = (quoted.pieces.first()?, quoted.pieces.last()?);
        let grown = |until: u32, with_end: bool| -> i64 {
            let inserts = |edit: &TextEdit| edit.span.start == edit.span.end;
            let before = |edit: &&TextEdit| {
                edit.span.end < until || edit.span.end == until && (with_end || !inserts(edit))
            };
            let own = edits.iter().filter(before);
            own.map(|edit| edit.text.len() as i64 - i64::from(edit.span.end - edit.span.start))
                .sum()
        };
        let from = i64::from(first.start) + grown(first.start, false);
        let to = i64::from(last.end) + grown(last.end, true);
        let block = quoted.block.edited(edits).ok()?;
        let tune = &block.lowered().tune;
        let voice = tune.voices.get(quoted.voice)?;
        let inside = |bar: &recte_score::Bar| {
            from <= i64::from(bar.span.start) && i64::from(bar.span.end) <= to
        };
        let begin = voice.bars.iter().position(inside)?;
        let count = voice.bars[begin..].iter().take_while(|bar| inside(bar)).count();
        read(tune, voice, begin..begin + count, |front| front, &[])
    }
}

/// A tune of which only the quoted bars are left.
struct Frame<'a> {
    quoted: &'a Bars<'a>,
    cuts: Vec<TextEdit>,
    /// What the text that is left says of their beginning, and what is truly in force there.
    fronts: (Front, Front),
}

impl<'a> Frame<'a> {
    /// None where the bars read otherwise without their surroundings.
    fn of(quoted: &'a Bars<'a>, original: &Staff) -> Option<Frame<'a>> {
        let cuts = cuts(quoted)?;
        let block = quoted.block.edited(&cuts).ok()?;
        let tune = &block.lowered().tune;
        let own = tune.voices.get(voice_in(tune, quoted)?)?;
        let first = own.bars.first()?;
        let typed = front_at(tune, own, first, first.events.clone().next());
        let frame = Frame { quoted, cuts, fronts: (typed, original.front.clone()) };
        let alone = frame.read(&block)?;
        alone.is_alike(original).then_some(frame)
    }

    fn read(&self, block: &Arc<Block>) -> Option<Staff> {
        let tune = &block.lowered().tune;
        let own = tune.voices.get(voice_in(tune, self.quoted)?)?;
        // What the edit does not change is as it was in the tune.
        let settle = |front: Front| Front {
            clef: settled(front.clef, &self.fronts.0.clef, &self.fronts.1.clef),
            signature: settled(front.signature, &self.fronts.0.signature, &self.fronts.1.signature),
            metre: settled(front.metre, &self.fronts.0.metre, &self.fronts.1.metre),
        };
        let holds = |bar: &recte_score::Bar| !bar.events.is_empty() || bar.line.is_some();
        let count = own.bars.iter().rposition(holds).map_or(0, |last| last + 1);
        read(tune, own, 0..count, settle, &[])
    }

    fn after(&self, edits: &[TextEdit], original: &Staff) -> Option<Staff> {
        let mut all = self.cuts.clone();
        let kept = |span: Span| {
            self.quoted.pieces.iter().any(|one| one.start <= span.start && span.end <= one.end)
        };
        let own: Vec<&TextEdit> = edits.iter().filter(|edit| kept(edit.span)).collect();
        all.extend(own.into_iter().cloned());
        let block = self.quoted.block.edited(&all).ok()?;
        let staff = self.read(&block)?;
        (staff.front != original.front || !staff.is_alike(original)).then_some(staff)
    }
}

fn settled<T: PartialEq + Clone>(now: T, alone: &T, original: &T) -> T {
    if now == *alone { original.clone() } else { now }
}

/// The voice in a tune that was cut down.
fn voice_in(tune: &Tune, quoted: &Bars<'_>) -> Option<usize> {
    let id = &quoted.block.lowered().tune.voices.get(quoted.voice)?.id;
    tune.voices.iter().position(|voice| voice.id == *id)
}

/// The edits that leave the header and the quoted bars of a tune.
fn cuts(quoted: &Bars<'_>) -> Option<Vec<TextEdit>> {
    let tune = &quoted.block.lowered().tune;
    let text = &quoted.block.text;
    let voice = tune.voices.get(quoted.voice)?;
    let bar = voice.bars.get(quoted.bars.start)?;
    let (first, last) = (quoted.pieces.first()?, quoted.pieces.last()?);
    let header = tune.header.end.min(first.start);
    let ends = text.get(..header as usize)?.ends_with('\n');
    let mut lines = if ends { String::new() } else { "\n".to_owned() };
    if text.contains("V:") {
        lines.push_str(&format!("V:{}\n", voice.id));
    }
    lines.push_str(&format!("M:{}\n", tune.metre(bar)));
    if let Some(event) = voice.events_of(bar).first() {
        lines.push_str(&format!("L:{}/{}\n", event.unit.numerator(), event.unit.denominator()));
    }
    let mut all = vec![TextEdit { span: Span { start: header, end: first.start }, text: lines }];
    for pair in quoted.pieces.windows(2) {
        let span = Span { start: pair[0].end, end: pair[1].start };
        (span.start <= span.end).then_some(())?;
        if span.start < span.end {
            all.push(TextEdit { span, text: " ".to_owned() });
        }
    }
    let span = Span { start: last.end, end: text.len() as u32 };
    all.push(TextEdit { span, text: "\n".to_owned() });
    Some(all)
}
