//! What bars are called, in people's words.

use recte_score::Tune;

/// The names of a tune's bars.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Bars {
    names: Vec<String>,
    /// The numbers people give them: 1 for the first full bar, 0 for a pickup.
    pub numbers: Vec<i32>,
}

impl Bars {
    /// By number; a score that is no text has names of its own for them.
    pub(super) fn of(tune: &Tune, own: Option<&[String]>) -> Bars {
        let numbers: Vec<i32> = tune.bars.iter().map(|bar| bar.number).collect();
        let name = |(at, number): (usize, &i32)| {
            let own = own.and_then(|own| own.get(at)).filter(|name| !name.is_empty());
            own.cloned().unwrap_or_else(|| number.to_string())
        };
        Bars { names: numbers.iter().enumerate().map(name).collect(), numbers }
    }

    /// So many.
    pub fn count(&self) -> usize {
        self.names.len()
    }

    /// "12", by index.
    pub fn name(&self, bar: u32) -> &str {
        self.names.get(bar as usize).map_or("", String::as_str)
    }

    /// "bar 12", "bars 3–5", "the pickup".
    pub fn span(&self, from: u32, to: u32) -> String {
        let pickup = |bar: u32| self.numbers.get(bar as usize) == Some(&0);
        match (self.name(from), self.name(to)) {
            (one, other) if one == other && pickup(from) => "the pickup".to_owned(),
            (one, other) if one == other => format!("bar {one}"),
            (one, other) => format!("bars {one}–{other}"),
        }
    }

    /// "bar 3", "bars 3 and 7": where a curve is at some value; "8 bars" where those are more than four and not in a row.
    pub fn at(&self, values: &[Option<f64>], value: f64) -> String {
        const NAMED: usize = 4;
        let there = |one: &Option<f64>| one.is_some_and(|own| (own - value).abs() < 1e-9);
        let all = values.iter().zip(0u32..).filter(|(one, _)| there(one));
        let all: Vec<u32> = all.map(|(_, bar)| bar).collect();
        match all.as_slice() {
            [one] => self.span(*one, *one),
            few if few.len() <= NAMED => self.list(few),
            many if many
                .last()
                .zip(many.first())
                .is_some_and(|(last, first)| (last - first) as usize + 1 == many.len()) =>
            {
                self.list(many)
            }
            many => format!("{} bars", many.len()),
        }
    }

    /// "bars 3, 5–8 and 12": a list of bars, those that follow each other joined.
    pub fn list(&self, bars: &[u32]) -> String {
        let mut sorted = bars.to_vec();
        sorted.sort_unstable();
        sorted.dedup();
        let runs = sorted.chunk_by(|a, b| a + 1 == *b);
        let names: Vec<String> = runs
            .map(|run| match (run.first(), run.last()) {
                (Some(a), Some(b)) if b > a => format!("{}–{}", self.name(*a), self.name(*b)),
                (Some(a), _) => self.name(*a).to_owned(),
                _ => String::new(),
            })
            .collect();
        let word = if sorted.len() == 1 { "bar" } else { "bars" };
        format!("{word} {}", recte_review::words::and_texts(&names))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names() {
        let tune = recte_notation::lower("X:1\nM:2/4\nL:1/4\nK:C\nc|cc|cc|cc|cc|cc|\n").tune;
        let bars = Bars::of(&tune, None);
        assert_eq!(bars.span(0, 0), "the pickup");
        assert_eq!(bars.span(1, 3), "bars 1–3");
        assert_eq!(bars.list(&[5, 1, 2, 3]), "bars 1–3 and 5");
        assert_eq!(bars.list(&[4]), "bar 4");
        let curve = [Some(1.0), None, Some(2.0), Some(1.0), Some(1.0), Some(1.0)];
        assert_eq!(bars.at(&curve, 2.0), "bar 2");
        assert_eq!(bars.at(&curve[..4], 1.0), "bars 0 and 3");
        assert_eq!(bars.at(&[curve, curve].concat(), 1.0), "8 bars");
        let own = ["0", "1", "1b"].map(str::to_owned);
        assert_eq!(Bars::of(&tune, Some(&own)).span(2, 2), "bar 1b");
    }
}
