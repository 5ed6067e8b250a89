//! Stretches of bars under one signature.

use super::rhythm::{Rhythm, shows_beams};
use recte_score::Tune;
use recte_theory::Metre;

/// Bars in a row under one signature, in all voices.
pub(crate) struct Stretch<'a> {
    /// The signature.
    pub(crate) metre: &'a Metre,
    /// The first bar, by index.
    pub(crate) from: u32,
    /// The rhythms of its bars; none where a voice does not fill the bar (a pickup, a bar cut by a repeat).
    pub(crate) bars: Vec<Option<Rhythm>>,
}

impl Stretch<'_> {
    /// The last bar, by index.
    pub(crate) fn to(&self) -> u32 {
        self.from + self.bars.len() as u32 - 1
    }

    /// Whether something moves in a bar that is full, by its place in the stretch.
    pub(crate) fn moves(&self, place: usize) -> bool {
        let rhythm = self.bars.get(place).and_then(Option::as_ref);
        rhythm.is_some_and(|rhythm| !rhythm.is_still())
    }
}

/// The stretches of a tune. Bars that voices read under different signatures belong to none.
pub(crate) fn stretches<'a>(tune: &'a Tune, text: &str) -> Vec<Stretch<'a>> {
    let beamed: Vec<bool> = tune.voices.iter().map(|voice| shows_beams(voice, text)).collect();
    let mut found: Vec<Stretch<'a>> = Vec::new();
    let mut last = None;
    for index in 0..tune.bars.len() {
        let mut bars = tune.voices.iter().filter_map(|voice| voice.bars.get(index));
        let metre = bars.next().map(|bar| bar.metre).filter(|m| bars.all(|bar| bar.metre == *m));
        let rhythm = Rhythm::of(tune, index as u32, &beamed);
        match (metre, found.last_mut()) {
            (Some(metre), Some(stretch)) if last == Some(metre) => stretch.bars.push(rhythm),
            (Some(metre), _) => found.push(Stretch {
                metre: &tune.metres[metre as usize],
                from: index as u32,
                bars: vec![rhythm],
            }),
            (None, _) => {}
        }
        last = metre;
    }
    found.retain(|stretch| !stretch.metre.is_free());
    found
}
