//! The bars of a tune with their rows and the beats they are read by.

use recte_notation::write::rhythm::{Beamed, Row, Style, fitting, rows};
use recte_score::Tune;
use recte_theory::metre::Beats;
use std::cell::OnceCell;

/// A tune, counted.
pub(crate) struct Counted {
    /// By metre, the readings of its signature.
    readings: Vec<Vec<Beats>>,
    /// By bar; none where no beat is sure.
    bars: Vec<Option<CountedBar>>,
    beamed: OnceCell<Beamed>,
}

/// A bar that is in metre.
pub(crate) struct CountedBar {
    /// Its layers, voice by voice.
    pub(crate) rows: Vec<Row>,
    metre: u16,
    reading: usize,
}

impl Counted {
    /// Reads every bar. Where a signature leaves its grouping open, a bar is read as its own notes ask for, and
    /// where they do not say, as most of the bars just before.
    pub(crate) fn of(tune: &Tune) -> Counted {
        let readings: Vec<Vec<Beats>> =
            tune.metres.iter().map(recte_theory::Metre::beats).collect();
        let mut bars = Vec::with_capacity(tune.bars.len());
        let mut before: Vec<Vec<usize>> = vec![Vec::new(); readings.len()];
        for bar in 0..tune.bars.len() as u32 {
            let counted = rows(tune, bar).and_then(|rows| {
                let metre = rows.first()?.metre;
                let known = &mut before[metre as usize];
                let reading = fitting(&readings[metre as usize], &rows, most(known))?;
                known.push(reading);
                Some(CountedBar { rows, metre, reading })
            });
            bars.push(counted);
        }
        Counted { readings, bars, beamed: OnceCell::new() }
    }

    /// The bars that are in metre.
    pub(crate) fn bars(&self) -> impl Iterator<Item = &CountedBar> {
        self.bars.iter().flatten()
    }

    /// The beats a bar is read by.
    pub(crate) fn beats(&self, bar: &CountedBar) -> &Beats {
        &self.readings[bar.metre as usize][bar.reading]
    }

    /// How the piece beams, one row of it not counted.
    pub(crate) fn style_without(&self, row: &Row, beats: &Beats) -> Style {
        let all = self.beamed.get_or_init(|| {
            let rows = self.rows().map(|(row, beats)| Beamed::of(row, beats));
            rows.fold(Beamed::default(), Beamed::and)
        });
        all.without(Beamed::of(row, beats)).style()
    }

    /// The rows of all bars with the beats they are read by.
    pub(crate) fn rows(&self) -> impl Iterator<Item = (&Row, &Beats)> {
        self.bars().flat_map(|bar| bar.rows.iter().map(|row| (row, self.beats(bar))))
    }
}

/// So many bars before say how an open one is read.
const BEFORE: usize = 5;

/// The commonest of the last readings, of several the latest.
fn most(readings: &[usize]) -> Option<usize> {
    let last = &readings[readings.len().saturating_sub(BEFORE)..];
    let count = |reading: &&usize| last.iter().filter(|other| other == reading).count();
    last.iter().max_by_key(count).copied()
}
