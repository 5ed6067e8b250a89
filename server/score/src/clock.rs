//! How long the music takes in seconds, by its tempi.
//!
//! A tempo in numbers is taken at its word. A tempo in words alone is a span, from the slowest that musicians
//! give the word to the quickest; the spans are those printed on metronomes (common practice, no source). Where
//! there is neither, nothing is known. Repeats are counted once, pauses and hesitations not at all.

use crate::tune::Tune;
use recte_theory::{Metre, Time};

/// A stretch of time, as short and as long as it may be taken.
#[derive(Clone, Copy, PartialEq, Debug, Default)]
pub struct Seconds {
    /// At the quickest.
    pub least: f64,
    /// At the slowest.
    pub most: f64,
}

/// Beats a minute of the usual words, from the slowest to the quickest, the longer words first where one holds
/// another.
const WORDS: [(&str, f64, f64); 24] = [
    ("larghetto", 60.0, 66.0),
    ("largo", 40.0, 60.0),
    ("adagietto", 66.0, 76.0),
    ("adagio", 50.0, 76.0),
    ("andantino", 76.0, 108.0),
    ("andante", 66.0, 108.0),
    ("moderato", 86.0, 120.0),
    ("allegretto", 96.0, 128.0),
    ("allegro", 108.0, 168.0),
    ("vivace", 132.0, 176.0),
    ("prestissimo", 184.0, 224.0),
    ("presto", 160.0, 208.0),
    ("grave", 30.0, 50.0),
    ("lento", 40.0, 66.0),
    ("langsam", 40.0, 66.0),
    ("schnell", 108.0, 176.0),
    ("mäßig", 86.0, 120.0),
    ("lebhaft", 108.0, 168.0),
    ("vif", 120.0, 176.0),
    ("lent", 40.0, 66.0),
    ("modéré", 86.0, 120.0),
    ("slow", 40.0, 76.0),
    ("moderate", 86.0, 120.0),
    ("fast", 120.0, 184.0),
];

/// The tempo from a moment on.
#[derive(Clone, Copy, Debug)]
struct Pace {
    /// When it begins, in whole notes.
    from: f64,
    /// Seconds until then.
    reached: Seconds,
    /// Seconds that a whole note takes; nothing where no tempo is known.
    whole: Option<Seconds>,
}

/// A tune's tempi, ready to be asked.
#[derive(Clone, Debug, Default)]
pub struct Clock {
    paces: Vec<Pace>,
}

impl Clock {
    /// By the tempi typed in a tune.
    pub fn of(tune: &Tune) -> Clock {
        let mut paces: Vec<Pace> = Vec::new();
        for tempo in &tune.tempi {
            let start = tune.bars.get(tempo.bar as usize).map_or(Time::ZERO, |bar| bar.start);
            let from = float(start + tempo.offset);
            let told = tempo.whole_notes_per_minute().map(float).filter(|wholes| *wholes > 0.0);
            let whole = match (told, &tempo.text) {
                (Some(wholes), _) => Some(Seconds { least: 60.0 / wholes, most: 60.0 / wholes }),
                (None, Some(text)) => by_word(text, tune.metre_of(tempo.bar)),
                (None, None) => None,
            };
            // Words that name no tempo ("rit.") leave it as it is.
            let Some(whole) = whole else { continue };
            let reached = paces.last().map_or(Seconds::default(), |pace| pace.at(from));
            paces.push(Pace { from, reached, whole: Some(whole) });
        }
        if paces.first().is_none_or(|first| first.from > 0.0) {
            paces.insert(0, Pace { from: 0.0, reached: Seconds::default(), whole: None });
        }
        Clock { paces }
    }

    /// How long it is from one moment to a later one, in whole notes; nothing where no tempo is known.
    pub fn between(&self, from: Time, to: Time) -> Option<Seconds> {
        let (from, to) = (float(from), float(to));
        let (first, last) = (self.pace(from)?, self.pace(to)?);
        first.whole?;
        let (from, to) = (first.at(from), last.at(to));
        Some(Seconds { least: to.least - from.least, most: to.most - from.most })
    }

    fn pace(&self, moment: f64) -> Option<&Pace> {
        let after = self.paces.partition_point(|pace| pace.from <= moment);
        self.paces.get(after.checked_sub(1)?)
    }
}

impl Pace {
    fn at(&self, moment: f64) -> Seconds {
        let wholes = moment - self.from;
        let whole = self.whole.unwrap_or_default();
        Seconds {
            least: self.reached.least + wholes * whole.least,
            most: self.reached.most + wholes * whole.most,
        }
    }
}

/// Seconds of a whole note under the first word of a text that names a tempo.
fn by_word(text: &str, metre: Option<&Metre>) -> Option<Seconds> {
    let text = text.to_lowercase();
    let (_, slow, quick) = WORDS.iter().find(|(word, ..)| text.contains(word))?;
    let unit = metre.and_then(Metre::unit).unwrap_or(Time::new(1, 4));
    let dotted = metre.is_some_and(Metre::is_compound);
    let beat = float(unit) * if dotted { 3.0 } else { 1.0 };
    Some(Seconds { least: 60.0 / (beat * quick), most: 60.0 / (beat * slow) })
}

fn float(time: Time) -> f64 {
    time.numerator() as f64 / time.denominator() as f64
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::page::Tempo;
    use crate::span::Span;
    use crate::tune::TuneBar;

    fn tune(tempi: &[(u32, Option<u32>, &str)]) -> Tune {
        let bar = |n: i32| TuneBar {
            start: Time::new(i64::from(n), 1),
            length: Time::WHOLE,
            number: n + 1,
        };
        let tempo = |(bar, per_minute, text): &(u32, Option<u32>, &str)| Tempo {
            bar: *bar,
            offset: Time::ZERO,
            beats: per_minute.iter().map(|_| Time::new(1, 4)).collect(),
            per_minute: *per_minute,
            text: (!text.is_empty()).then(|| (*text).to_owned()),
            span: Span::new(0, 0),
        };
        let tempi = tempi.iter().map(tempo).collect();
        Tune { bars: (0..8).map(bar).collect(), tempi, ..Tune::default() }
    }

    fn seconds(tempi: &[(u32, Option<u32>, &str)], from: i64, to: i64) -> Option<(f64, f64)> {
        let between = Clock::of(&tune(tempi)).between(Time::new(from, 1), Time::new(to, 1))?;
        Some((between.least, between.most))
    }

    #[test]
    fn numbers_are_taken_at_their_word() {
        assert_eq!(seconds(&[(0, Some(60), "")], 0, 2), Some((8.0, 8.0)));
        assert_eq!(seconds(&[(0, Some(60), ""), (1, Some(120), "")], 0, 2), Some((6.0, 6.0)));
    }

    #[test]
    fn words_alone_are_a_span_and_other_words_change_nothing() {
        assert_eq!(seconds(&[(0, None, "Largo")], 0, 1), Some((4.0, 6.0)));
        assert_eq!(seconds(&[(0, Some(60), ""), (1, None, "rit.")], 0, 2), Some((8.0, 8.0)));
    }

    #[test]
    fn before_the_first_tempo_nothing_is_known() {
        assert_eq!(seconds(&[], 0, 1), None);
        assert_eq!(seconds(&[(1, Some(60), "")], 0, 2), None);
        assert_eq!(seconds(&[(1, Some(60), "")], 1, 2), Some((4.0, 4.0)));
    }
}
