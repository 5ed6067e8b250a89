//! The local keys as a band over the bars.

use super::{canvas, markup, rectangle, share, text};
use maud::Markup;
use recte_assist::report::HarmonyStrip;

/// The band; keys that last too short for their name are named in the text beside it.
pub(crate) fn key_band(harmony: &HarmonyStrip, bars: usize) -> Markup {
    let whole = bars.max(1) as f64;
    let mut drawn = canvas(26.0, "Local keys over the bars");
    for (at, stretch) in harmony.keys.iter().enumerate() {
        let (from, wide) = (f64::from(stretch.from), f64::from(stretch.to - stretch.from + 1));
        let class = if at % 2 == 0 { "c2" } else { "c1" };
        drawn = drawn.add(rectangle(class, share(from, whole), 0.0, share(wide, whole), 24.0));
        let middle = share(from + wide / 2.0, whole);
        let name = match wide / whole {
            wide if wide >= 0.2 => stretch.key.clone(),
            wide if wide >= 0.06 => short(&stretch.key),
            _ => String::new(),
        };
        drawn = drawn.add(text(&name, "name", middle, 16.0, "middle"));
    }
    markup(&drawn)
}

/// "Em" for "E minor", "B♭" for "B flat major".
fn short(key: &str) -> String {
    let mode = if key.ends_with(" minor") { "m" } else { "" };
    let tonic = key.trim_end_matches(" minor").trim_end_matches(" major");
    format!("{}{mode}", tonic.replace(" flat", "♭").replace(" sharp", "♯"))
}

#[cfg(test)]
mod tests {
    use super::short;

    #[test]
    fn short_names() {
        assert_eq!(["E minor", "B flat major", "F sharp minor"].map(short), ["Em", "B♭", "F♯m"]);
    }
}
