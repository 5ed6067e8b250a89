//! Chords of bowed strings: each note on a string of its own, the strings neighbours, the fingers within a hand.
//!
//! Semitones get smaller up the string, so the hand is measured in millimetres. The spans are from memory; what is
//! easy among the violin's stops is Forsyth, *Orchestration* (1914), pp. 316-317; that three and four notes are
//! short strokes is Rimsky-Korsakov, *Principles of Orchestration*, ch. III.

mod chain;
#[cfg(test)]
mod tests;

pub use chain::{Chain, Change, chain, change};

use super::fingerboard::{Board, Fingering, Obstacle, OnString, Stroke, flat_fingers, too_many};
use super::{Loudness, Verdict, frets};
use crate::instruments::{Instrument, Level, OpenString, Stops};
use crate::pitch::Pitch;

/// The fingerboard ends two octaves up; only the highest string is stopped beyond, as far as the compass goes.
const FINGERBOARD: i32 = 24;

/// Where a stop lies, in millimetres from the nut, on a string of that length.
pub fn millimetres(string_mm: f64, offset: i32) -> f64 {
    string_mm * (1.0 - (-f64::from(offset) / 12.0).exp2())
}

/// How a chord of sounding notes lies on bowed strings; nothing where the row has no strings or no figures.
pub fn stop(
    instrument: &Instrument,
    sounding: &[Pitch],
    stroke: Stroke,
    level: Level,
) -> Option<Fingering> {
    let hand = Hand::new(instrument, level)?;
    if let Some(obstacle) = too_many(instrument, hand.stops, sounding.len()) {
        return Some(Fingering::impossible(obstacle));
    }
    let board = hand.board(instrument, sounding)?;
    if let Some(obstacle) = board.obstacle() {
        return Some(Fingering::impossible(obstacle));
    }
    let held = hand.stops.sustained_notes.unwrap_or(usize::MAX);
    if stroke == Stroke::Held && sounding.len() > held {
        return Some(Fingering::impossible(Obstacle::TooManyHeld { most: held }));
    }
    let mut best: Option<(Judged, Fingering)> = None;
    hand.every(&board, stroke, &mut |judged, placing| {
        if best.as_ref().is_none_or(|(other, _)| judged.rank() < other.rank()) {
            best = Some((judged, judged.fingering(placing)));
        }
    });
    let best = best.map(|(_, fingering)| fingering);
    Some(best.unwrap_or_else(|| Fingering::impossible(Obstacle::NotNeighbours)))
}

/// Every way in which the chord can be stopped, none of them impossible; empty where there is none.
pub fn every_stop(
    instrument: &Instrument,
    sounding: &[Pitch],
    stroke: Stroke,
    level: Level,
) -> Vec<Fingering> {
    let mut found = Vec::new();
    let Some(hand) = Hand::new(instrument, level) else { return found };
    let Some(board) = hand.board(instrument, sounding) else { return found };
    hand.every(&board, stroke, &mut |judged, placing| {
        if judged.verdict != Verdict::Impossible {
            found.push(judged.fingering(placing));
        }
    });
    found
}

/// Whether a sounding note can only be played on an open string, which cannot vibrate or slide.
pub fn is_only_open(instrument: &Instrument, sounding: Pitch) -> bool {
    let lowest = instrument.open_strings.iter().map(|string| string.sounding.midi()).min();
    lowest == Some(sounding.midi())
}

/// A note that is to be played with vibrato, or slid to: awkward where it is an open string only.
pub fn vibrato(instrument: &Instrument, sounding: Pitch) -> Verdict {
    if is_only_open(instrument, sounding) { Verdict::Awkward } else { Verdict::Easy }
}

/// Whether a chord of so many notes is loud enough for the bow: three and four strings want force.
pub fn force(notes: usize, loudness: Loudness) -> Verdict {
    if notes > 2 && loudness.is_soft() { Verdict::Awkward } else { Verdict::Easy }
}

/// Whether a stop lies in the first three positions, where those of a section stay. In the third position the
/// first finger lies a fourth above the open string.
pub fn is_for_a_section(instrument: &Instrument, stop: &Fingering) -> bool {
    chain::hand(instrument, stop).is_none_or(|(lowest, _)| lowest <= 5)
}

/// How well one placing lies.
#[derive(Clone, Copy)]
struct Judged {
    verdict: Verdict,
    obstacle: Option<Obstacle>,
    fingers: usize,
    thumb: bool,
    highest: i32,
    /// Millimetres, or frets, between the outermost fingers.
    reach: f64,
}

impl Judged {
    /// The better placing first: the easier, then the closer to the nut, then the closer together; of what is
    /// impossible, what comes nearest.
    fn rank(&self) -> (Verdict, f64, f64) {
        let highest = f64::from(self.highest);
        match self.verdict {
            Verdict::Impossible => (self.verdict, self.reach, highest),
            verdict => (verdict, highest, self.reach),
        }
    }

    fn fingering(&self, placing: &[OnString]) -> Fingering {
        Fingering::judged(self.verdict, self.obstacle, placing, self.fingers, self.thumb)
    }

    fn at_least(&mut self, verdict: Verdict, obstacle: Obstacle) {
        if verdict > self.verdict {
            self.verdict = verdict;
            self.obstacle = Some(obstacle);
        }
    }
}

/// The left hand.
struct Hand<'a> {
    stops: &'a Stops,
    /// The highest stop of the highest string.
    top: i32,
    /// The highest stop that is asked for without a word.
    highest: i32,
    /// Up to here stops are in the first position.
    first_position: i32,
    level: Level,
    strings: &'a [OpenString],
}

impl<'a> Hand<'a> {
    fn new(instrument: &'a Instrument, level: Level) -> Option<Hand<'a>> {
        let stops = instrument.stops.as_ref().filter(|stops| stops.adjacent_strings_only)?;
        let (highest, first_position) = match (stops.highest_offset, stops.frets) {
            (Some(highest), _) => (highest.at(level), highest.school),
            (None, Some(frets)) => (frets, frets),
            (None, None) => return None,
        };
        let measured = stops.string_mm.and(stops.frame_mm).and(stops.stretch_mm).is_some();
        if !measured && stops.fret_span_comfortable.is_none() {
            return None;
        }
        let range = instrument.range(Level::Professional)?;
        let string = instrument.open_strings.iter().map(|s| s.sounding.midi()).max()?;
        let top = range.sounding_max.midi() - string;
        let strings = &instrument.open_strings;
        Some(Hand { stops, top, highest, first_position, level, strings })
    }

    fn board(&self, instrument: &Instrument, sounding: &[Pitch]) -> Option<Board> {
        Some(Board::new(instrument, sounding, FINGERBOARD)?.with_highest(self.top))
    }

    /// Calls `visit` with every placing on neighbouring strings (any strings, where they are plucked).
    fn every(&self, board: &Board, stroke: Stroke, visit: &mut impl FnMut(Judged, &[OnString])) {
        board.every_placing(&|_| true, &mut |placing| {
            let strings = placing.iter().map(|note| note.string);
            let (lowest, highest) = (strings.clone().min(), strings.max());
            let neighbours =
                highest.zip(lowest).is_none_or(|(high, low)| high - low < placing.len());
            if !neighbours && stroke != Stroke::Plucked {
                return;
            }
            let mut judged = self.judge(placing);
            if !neighbours {
                judged.verdict = judged.verdict.max(Verdict::Playable);
            }
            visit(judged, placing);
        });
    }

    fn judge(&self, placing: &[OnString]) -> Judged {
        let (mut fingers, widest) = flat_fingers(placing);
        let highest = placing.iter().map(|note| note.offset).max().unwrap_or(0);
        let mut judged = Judged {
            verdict: if widest > 1 { Verdict::Playable } else { Verdict::Easy },
            obstacle: None,
            fingers,
            thumb: false,
            highest,
            reach: 0.0,
        };
        if self.stops.string_mm.is_some() {
            self.measure(placing, &mut judged);
        } else {
            fingers = frets::fingers(placing).min(fingers);
            judged.fingers = fingers;
            let lies = frets::lies(self.stops, placing);
            judged.reach = f64::from(lies.span);
            judged.at_least(lies.verdict, lies.reach);
        }
        let most = self.stops.left_fingers.unwrap_or(4);
        if fingers > most {
            judged.at_least(Verdict::Impossible, Obstacle::TooManyFingers { fingers });
        }
        if widest > 2 {
            judged.at_least(Verdict::Awkward, Obstacle::FlatFinger);
        }
        if placing.len() > 1 {
            self.school(placing, &mut judged);
            let high = placing.iter().position(|note| note.offset > self.highest);
            if let Some(note) = high {
                judged.at_least(Verdict::Hard, Obstacle::TooHigh { note });
            }
        }
        judged
    }

    /// The hand in millimetres, pair by pair.
    fn measure(&self, placing: &[OnString], judged: &mut Judged) {
        let stops = self.stops;
        let (Some(string), Some(frame), Some(stretch)) =
            (stops.string_mm, stops.frame_mm, stops.stretch_mm)
        else {
            return;
        };
        let stopped = || placing.iter().enumerate().filter(|(_, note)| note.offset > 0);
        for (first, a) in stopped() {
            for (second, b) in stopped().filter(|(second, _)| *second > first) {
                let (low, high) = if a.offset <= b.offset { (a, b) } else { (b, a) };
                if low.offset == high.offset {
                    // Two fingers side by side, or one finger flat: no reach.
                    continue;
                }
                let reversed = high.string < low.string;
                let frame = if reversed { stops.frame_reversed_mm.unwrap_or(frame) } else { frame };
                let reach = millimetres(string, high.offset) - millimetres(string, low.offset);
                judged.reach = judged.reach.max(reach);
                let thumb = stops.thumb_mm.is_some_and(|thumb| reach <= thumb);
                let high_up = stops.thumb_from_offset.is_some_and(|from| low.offset >= from);
                let (verdict, by_thumb) = match () {
                    () if reach <= frame => (Verdict::Playable, false),
                    () if thumb && high_up => (Verdict::Playable, true),
                    () if reach <= stretch => (Verdict::Hard, false),
                    () if thumb => (Verdict::Hard, true),
                    () => (Verdict::Impossible, false),
                };
                judged.thumb |= by_thumb;
                if verdict == Verdict::Playable {
                    judged.verdict = judged.verdict.max(verdict);
                } else {
                    judged.at_least(verdict, Obstacle::Reach { notes: [first, second] });
                }
            }
        }
    }

    /// Schools learn stops with an open string, and sixths and thirds in the first position.
    fn school(&self, placing: &[OnString], judged: &mut Judged) {
        if self.level != Level::School || placing.iter().any(|note| note.offset == 0) {
            return;
        }
        let midi = |note: &OnString| self.strings[note.string].sounding.midi() + note.offset;
        let third_or_sixth = |a, b| matches!(i32::abs(midi(a) - midi(b)), 3 | 4 | 8 | 9);
        let taught = matches!(placing, [_]) || matches!(placing, [a, b] if third_or_sixth(a, b));
        if !taught || judged.highest > self.first_position {
            judged.at_least(Verdict::Hard, Obstacle::NotForSchool);
        }
    }
}
