//! What goes on elsewhere while a voice rests.

use crate::harmony::{Harmonies, heading, numerals};
use recte_score::{Event, Tune};
use recte_theory::{Metre, Time};

/// So many harmonies of a long rest are told of.
const MOST: usize = 8;

/// The harmonies during a rest, where there is more than one.
pub(super) fn several(harmonies: &Harmonies<'_>, rest: &Event) -> Option<Vec<String>> {
    let tune = harmonies.tune;
    let from = tune.onset(rest);
    // A rest over several bars is an event in each; all stand at one place.
    let voices = tune.voices.iter().flat_map(|voice| &voice.events);
    let same = voices.filter(|event| event.span == rest.span);
    let to = same.map(|event| tune.onset(event) + event.duration).max()?;
    let all = harmonies.between(from, to);
    if all.len() < 2 {
        return None;
    }
    let bars = all.iter().any(|told| told.bar != rest.bar);
    let mut lines: Vec<String> = Vec::new();
    for told in all.iter().take(MOST) {
        let begins = if told.onset < from { from } else { told.onset };
        let told = &told.heading;
        let place = place(tune, begins, bars);
        let degree = numerals(&told.degree);
        lines.push(format!("{place}: {}, {degree} in {}", heading(&told.chord), key(told)));
    }
    if all.len() > MOST {
        lines.push(format!("and {} more", all.len() - MOST));
    }
    Some(lines)
}

fn key(told: &recte_score::harmony::Heading) -> String {
    let tonic = told.key.tonic.map(|tonic| tonic.words()).unwrap_or_default();
    format!("{tonic} {}", told.key.mode.name())
}

/// "beat 3", "bar 5, beat 3".
fn place(tune: &Tune, moment: Time, bars: bool) -> String {
    let bar = tune.bars.partition_point(|bar| bar.start <= moment).saturating_sub(1);
    let start = tune.bars.get(bar).map_or(Time::ZERO, |bar| bar.start);
    let unit = tune.metre_of(bar as u32).and_then(Metre::unit).unwrap_or(Time::new(1, 4));
    let beat = (moment - start) / unit + Time::WHOLE;
    let beat = format!("beat {}", mixed(beat));
    if bars { format!("bar {}, {beat}", tune.bar_number(bar as u32)) } else { beat }
}

/// "2", "2 1/2".
fn mixed(time: Time) -> String {
    let whole = time.numerator() / time.denominator();
    let rest = time - Time::new(whole, 1);
    if rest.is_zero() { whole.to_string() } else { format!("{whole} {rest}") }
}
