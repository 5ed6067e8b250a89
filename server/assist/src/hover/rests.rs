//! What goes on elsewhere while a voice rests.

use crate::harmony::{Harmonies, heading, key_words, numerals};
use recte_score::{Event, Tune};
use recte_theory::Time;

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
        let place = place(tune, told.onset.max(from), bars);
        let told = &told.heading;
        let degree = numerals(&told.degree);
        lines.push(format!(
            "{place}: {}, {degree} in {}",
            heading(&told.chord),
            key_words(&told.key)
        ));
    }
    if all.len() > MOST {
        lines.push(format!("and {} more", all.len() - MOST));
    }
    Some(lines)
}

/// "beat 3", "bar 5, beat 3".
fn place(tune: &Tune, moment: Time, bars: bool) -> String {
    let bar = tune.bars.partition_point(|bar| bar.start <= moment).saturating_sub(1);
    let beat = format!("beat {}", mixed(tune.beat_at(bar as u32, moment)));
    if bars { format!("bar {}, {beat}", tune.bar_number(bar as u32)) } else { beat }
}

/// "2", "2 1/2".
fn mixed(time: Time) -> String {
    let whole = time.numerator() / time.denominator();
    let rest = time - Time::new(whole, 1);
    if rest.is_zero() { whole.to_string() } else { format!("{whole} {rest}") }
}
