//! Chords of fretted instruments: each note on a string of its own, the fingers within some frets of each other.
//!
//! Open strings are free, and a finger flat over several strings counts once. The guitar's spans are from
//! composers' guides ("nelson", "guitarguide" in `data/sources.md`); the other rows have their own, from memory.

#[cfg(test)]
mod tests;

use super::Verdict;
use super::fingerboard::{Board, Fingering, MOST, Obstacle, OnString, too_many};
use crate::instruments::{Instrument, Stops};
use crate::pitch::Pitch;

/// From this fret up a stretched chord is playable: frets lie closer there.
const STRETCH_FROM: i32 = 5;
/// From this fret up one fret more can be reached.
const WIDER_FROM: i32 = 7;

/// How a chord of sounding notes lies on frets; nothing where the row has no strings or no frets.
pub fn chord(instrument: &Instrument, sounding: &[Pitch]) -> Option<Fingering> {
    let stops = instrument.stops.as_ref()?;
    let (frets, stretch) = (stops.frets?, stops.fret_span_stretch?);
    if let Some(obstacle) = too_many(instrument, stops, sounding.len()) {
        return Some(Fingering::impossible(obstacle));
    }
    let board = Board::new(instrument, sounding, frets)?;
    if let Some(obstacle) = board.obstacle() {
        return Some(Fingering::impossible(obstacle));
    }
    let mut best: Option<(Judged, Fingering)> = None;
    let near = |placing: &[OnString]| span(placing).is_none_or(|s| s.frets() <= stretch + 1);
    board.every_placing(&near, &mut |placing| {
        let judged = judge(stops, placing);
        if best.as_ref().is_none_or(|(other, _)| judged.rank() < other.rank()) {
            best = Some((judged, judged.fingering(placing)));
        }
    });
    if let Some((_, fingering)) = best {
        return Some(fingering);
    }
    // No placing is near enough: name the two notes that are furthest apart in the closest one.
    let mut closest: Option<Span> = None;
    board.every_placing(&|_| true, &mut |placing| {
        if let Some(span) = span(placing)
            && closest.is_none_or(|other| span.frets() < other.frets())
        {
            closest = Some(span);
        }
    });
    let notes = closest.map_or([0, 0], |span| span.notes());
    Some(Fingering::impossible(Obstacle::Reach { notes }))
}

/// The stopped notes that lie lowest and highest on the neck, with their frets.
#[derive(Clone, Copy)]
struct Span {
    low: (i32, usize),
    high: (i32, usize),
}

impl Span {
    /// Frets from the lowest to the highest, both counted.
    fn frets(&self) -> i32 {
        self.high.0 - self.low.0 + 1
    }

    fn notes(&self) -> [usize; 2] {
        [self.low.1.min(self.high.1), self.low.1.max(self.high.1)]
    }
}

fn span(placing: &[OnString]) -> Option<Span> {
    let stopped = placing.iter().enumerate().filter(|(_, note)| note.offset > 0);
    let stopped = stopped.map(|(place, note)| (note.offset, place));
    Some(Span { low: stopped.clone().min()?, high: stopped.max()? })
}

/// How the spread of a placing lies.
pub(super) struct Lies {
    /// How well.
    pub(super) verdict: Verdict,
    /// Frets from the lowest to the highest, both counted.
    pub(super) span: i32,
    /// Between which notes.
    pub(super) reach: Obstacle,
}

/// How well the spread of a placing lies: within the row's span, stretched (from the fifth fret up it lies well),
/// a fret more (from the seventh up, hard), or beyond a hand.
pub(super) fn lies(stops: &Stops, placing: &[OnString]) -> Lies {
    let Some(span) = span(placing) else {
        return Lies { verdict: Verdict::Easy, span: 0, reach: Obstacle::Reach { notes: [0, 0] } };
    };
    let comfortable = stops.fret_span_comfortable.unwrap_or(4);
    let stretch = stops.fret_span_stretch.unwrap_or(comfortable);
    let low = span.low.0;
    let verdict = match span.frets() {
        frets if frets <= comfortable => Verdict::Easy,
        frets if frets <= stretch && low >= STRETCH_FROM => Verdict::Playable,
        frets if frets <= stretch => Verdict::Hard,
        frets if frets <= stretch + 1 && low >= WIDER_FROM => Verdict::Hard,
        _ => Verdict::Impossible,
    };
    Lies { verdict, span: span.frets(), reach: Obstacle::Reach { notes: span.notes() } }
}

/// The fewest fingers for a placing, where a finger may lie flat over strings that it does not damp: what sounds
/// between its first and its last string is stopped as high or higher.
pub(super) fn fingers(placing: &[OnString]) -> usize {
    let mut by_string: [Option<i32>; MOST] = [None; MOST];
    for note in placing {
        by_string[note.string] = Some(note.offset);
    }
    let mut fingers = 0;
    for (place, note) in placing.iter().enumerate() {
        let fret = note.offset;
        if fret == 0 || placing[..place].iter().any(|other| other.offset == fret) {
            continue;
        }
        let mut flat = false;
        for stopped in by_string.into_iter().flatten() {
            if stopped == fret && !flat {
                fingers += 1;
                flat = true;
            } else if stopped < fret {
                flat = false;
            }
        }
    }
    fingers
}

#[derive(Clone, Copy)]
struct Judged {
    verdict: Verdict,
    obstacle: Option<Obstacle>,
    fingers: usize,
    highest: i32,
    span: i32,
}

fn judge(stops: &Stops, placing: &[OnString]) -> Judged {
    let most = stops.left_fingers.unwrap_or(4);
    let stopped = placing.iter().filter(|note| note.offset > 0).count();
    let fingers = if stopped > most && stops.barre { fingers(placing) } else { stopped };
    let lies = lies(stops, placing);
    let mut judged = Judged {
        verdict: lies.verdict,
        obstacle: (lies.verdict >= Verdict::Awkward).then_some(lies.reach),
        fingers,
        highest: placing.iter().map(|note| note.offset).max().unwrap_or(0),
        span: lies.span,
    };
    if fingers < stopped {
        judged.verdict = judged.verdict.max(Verdict::Playable);
    }
    if fingers > most && judged.verdict != Verdict::Impossible {
        judged.verdict = Verdict::Impossible;
        judged.obstacle = Some(Obstacle::TooManyFingers { fingers });
    }
    judged
}

impl Judged {
    /// The better placing first: the easier, then the lower, then the closer.
    fn rank(&self) -> (Verdict, i32, i32) {
        (self.verdict, self.highest, self.span)
    }

    fn fingering(&self, placing: &[OnString]) -> Fingering {
        Fingering::judged(self.verdict, self.obstacle, placing, self.fingers, false)
    }
}
