//! What a harpist plucks together, moment by moment, and how it is written under other names.

use super::lines::seconds_to;
use super::{Player, Stroke};
use crate::context::Context;
use crate::finding::Fix;
use recte_notation::write::Respelling;
use recte_score::Note;
use recte_theory::Pitch;
use recte_theory::playability::harp::Moment;

/// What is plucked together, with the place of each note.
pub(crate) struct Plucked<'a> {
    pub(crate) bar: u32,
    /// Seconds from the start of the part.
    pub(crate) seconds: f64,
    pub(crate) notes: Vec<Pitch>,
    /// Voice, index and note.
    pub(crate) at: Vec<(usize, u32, &'a Note)>,
}

/// All that a harpist plucks, moment by moment.
pub(crate) fn moments<'a>(context: &Context<'a>, player: &Player<'_>) -> Vec<Plucked<'a>> {
    let mut strokes: Vec<&Stroke> = player.strokes(context).iter().collect();
    strokes.sort_by_key(|stroke| stroke.onset);
    let Some(start) = strokes.first().map(|stroke| stroke.onset) else { return Vec::new() };
    let groups = strokes.chunk_by(|a, b| a.onset == b.onset);
    let plucked = |(place, group): (usize, &[&Stroke])| {
        let notes = group.iter().flat_map(|stroke| {
            let typed = stroke.notes.clone().zip(stroke.typed(context.tune));
            typed.map(|(index, note)| (stroke.voice, index, note))
        });
        let at: Vec<_> = notes.collect();
        Plucked {
            bar: group[0].bar,
            seconds: seconds_to(context, start, group[0].onset, place),
            notes: at.iter().map(|(_, _, note)| note.pitch).collect(),
            at,
        }
    };
    groups.enumerate().map(plucked).collect()
}

/// As the harp's model is asked.
pub(crate) fn asked<'p>(moments: &'p [Plucked<'_>]) -> Vec<Moment<'p>> {
    let asked = |moment: &'p Plucked<'_>| Moment { seconds: moment.seconds, notes: &moment.notes };
    moments.iter().map(asked).collect()
}

/// The fix that writes these moments under other names.
pub(crate) fn respelled(
    context: &Context<'_>,
    moments: &[Plucked<'_>],
    better: &[Vec<Pitch>],
) -> Option<Fix> {
    let mut wanted = Vec::new();
    let mut names = Vec::new();
    for (moment, notes) in moments.iter().zip(better) {
        for ((voice, note, old), new) in moment.at.iter().zip(notes) {
            if old.pitch.name != new.name {
                names.push(new.name);
                wanted.push(Respelling { voice: *voice as u32, note: *note, name: new.name });
            }
        }
    }
    names.sort_by_key(|name| name.fifths());
    names.dedup();
    let names: Vec<String> = names.into_iter().map(|name| name.symbol()).collect();
    context.respelling(format!("Respell for the harp: {}", names.join(" ")), &wanted)
}
