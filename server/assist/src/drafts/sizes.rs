//! How far music is transposed, and in what values it stands, in words.

use recte_review::words::article;
use recte_score::drafts::{Transposition, Values};
use recte_theory::Interval;
use recte_theory::interval::SIZES;

/// "a major second higher", "two octaves lower".
pub fn transposed(by: Transposition) -> String {
    let up = if by.is_up() { by } else { by.back() };
    let direction = if by.is_up() { "higher" } else { "lower" };
    let interval = Interval { steps: up.steps, semitones: up.semitones };
    let size = match (up.steps, up.semitones) {
        (7, 12) => "an octave".to_owned(),
        (14, 24) => "two octaves".to_owned(),
        (21, 36) => "three octaves".to_owned(),
        (steps, 1) if steps < 0 => "a semitone".to_owned(),
        (steps, semitones) if steps < 0 => format!("{semitones} semitones"),
        _ => {
            let name = interval.to_string();
            format!("{} {name}", article(&name))
        }
    };
    format!("{size} {direction}")
}

/// "a third lower within the key".
pub fn within_the_key(steps: i32) -> String {
    let direction = if steps > 0 { "higher" } else { "lower" };
    let size = steps.unsigned_abs() as usize;
    let name = SIZES.get(size).filter(|_| size > 0);
    let size =
        name.map_or_else(|| format!("{size} steps"), |name| format!("{} {name}", article(name)));
    format!("{size} {direction} within the key")
}

/// "in values twice as long".
pub fn in_values(values: Values) -> &'static str {
    match values {
        Values::Doubled => "in values twice as long",
        Values::Halved => "in values half as long",
    }
}
