//! How like each bar is to each other, and what that shows: novelty, abruptness, diagonals.
//!
//! The matrix and the checkerboard kernel: J. Foote, "Visualizing music and audio using self-similarity" (1999) and
//! "Automatic audio segmentation using a measure of audio novelty", ICME 2000 (both from memory). Abruptness and the
//! limits of likeness are our own, from memory.

/// How like each bar is to each other, 0 to 1.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Matrix {
    size: usize,
    /// The lower half with the diagonal, row by row.
    values: Vec<f32>,
}

impl Matrix {
    /// By how like two bars are; it is asked once for each pair.
    pub fn of(size: usize, like: impl Fn(usize, usize) -> f64) -> Matrix {
        let pairs = (0..size).flat_map(|row| (0..=row).map(move |column| (row, column)));
        Matrix { size, values: pairs.map(|(row, column)| like(row, column) as f32).collect() }
    }

    /// So many bars.
    pub fn size(&self) -> usize {
        self.size
    }

    /// How like two bars are; 0 for a bar that there is not.
    pub fn at(&self, a: usize, b: usize) -> f64 {
        let (low, high) = (a.min(b), a.max(b));
        if high >= self.size {
            return 0.0;
        }
        self.values.get(high * (high + 1) / 2 + low).copied().unwrap_or_default().into()
    }

    /// The novelty at the line before a bar, from `half` bars on either side: `Σ ± S(i+a, i+b) / (2 half²)`, plus where
    /// both bars are on one side, minus where they are not. Places outside the piece count as its bars next to them do
    /// not: nothing.
    pub fn novelty(&self, bar: usize, half: usize) -> f64 {
        let half_width = half as i64;
        let mut sum = 0.0;
        for a in -half_width..half_width {
            for b in -half_width..half_width {
                let (i, j) = (bar as i64 + a, bar as i64 + b);
                if i < 0 || j < 0 {
                    continue;
                }
                let value = self.at(i as usize, j as usize);
                sum += if (a < 0) == (b < 0) { value } else { -value };
            }
        }
        sum / (2 * half * half).max(1) as f64
    }

    /// The same where the piece ends nearer than `half` bars: with as many bars as there are on the shorter side.
    pub fn novelty_within(&self, bar: usize, half: usize) -> f64 {
        let half = half.min(bar).min(self.size.saturating_sub(bar));
        if half == 0 { 0.0 } else { self.novelty(bar, half) }
    }

    /// How sudden the change at the line before a bar is: what the two bars on each side show of it against what a wider
    /// view shows (four or eight). Near 1 a cut, below 0.5 a change by and by; none where nothing changes.
    ///
    /// Here the novelty leaves out each bar's likeness to itself, so that what changes from bar to bar anyway is no cut.
    pub fn abruptness(&self, bar: usize) -> Option<f64> {
        let near = self.step(bar, 2)?;
        let wide = self.step(bar, 4)?.max(self.step(bar, 8)?);
        (wide > NOTHING).then(|| (near / wide).max(0.0))
    }

    /// How much liker the bars on each side are to each other than to those of the other side.
    fn step(&self, bar: usize, half: usize) -> Option<f64> {
        let half = half.min(bar).min(self.size.saturating_sub(bar));
        if half < 2 {
            return None;
        }
        let (mut same, mut across) = (0.0, 0.0);
        for a in bar - half..bar + half {
            for b in bar - half..bar + half {
                match ((a < bar) == (b < bar), a == b) {
                    (true, false) => same += self.at(a, b),
                    (true, true) => {}
                    (false, _) => across += self.at(a, b),
                }
            }
        }
        let half = half as f64;
        Some(same / (2.0 * half * (half - 1.0)) - across / (2.0 * half * half))
    }

    /// How like bars `from_a..` are to bars `from_b..`, one by one, for so many bars.
    pub fn diagonal(&self, from_a: usize, from_b: usize, length: usize) -> f64 {
        let sum: f64 = (0..length).map(|at| self.at(from_a + at, from_b + at)).sum();
        if length == 0 { 0.0 } else { sum / length as f64 }
    }
}

/// Less novelty than this is none.
const NOTHING: f64 = 0.02;

#[cfg(test)]
mod tests {
    use super::*;

    fn near(value: f64, wanted: f64) {
        assert!((value - wanted).abs() < 0.001, "{value} is not {wanted}");
    }

    fn blocks(text: &str) -> Matrix {
        let bars = text.as_bytes();
        Matrix::of(bars.len(), |a, b| f64::from(u8::from(bars[a] == bars[b])))
    }

    #[test]
    fn two_blocks_have_one_peak() {
        let matrix = blocks("AAAABBBB");
        let novelty: Vec<f64> = (2..=6).map(|bar| matrix.novelty(bar, 2)).collect();
        assert_eq!(novelty, [0.0, 0.25, 1.0, 0.25, 0.0]);
        near(matrix.abruptness(4).unwrap(), 1.0);
        assert_eq!(blocks("AAAAAAAA").abruptness(4), None);
    }

    #[test]
    fn a_drift_has_none() {
        let matrix = Matrix::of(8, |a, b| 1.0 - a.abs_diff(b) as f64 / 7.0);
        (2..=6).for_each(|bar| near(matrix.novelty(bar, 2), 0.214));
        let long = Matrix::of(40, |a, b| 1.0 - a.abs_diff(b) as f64 / 39.0);
        assert!(long.abruptness(20).unwrap() < 0.3);
        // Every other bar alike: no cut anywhere, however much changes from bar to bar.
        let busy = Matrix::of(40, |a, b| if a.abs_diff(b) % 2 == 0 { 1.0 } else { 0.2 });
        assert_eq!(busy.abruptness(20), None);
    }

    #[test]
    fn repeats_are_diagonals() {
        let matrix = blocks("ABCDxyABCD");
        near(matrix.diagonal(0, 6, 4), 1.0);
        near(matrix.diagonal(0, 4, 4), 0.0);
        assert_eq!(matrix.at(3, 40), 0.0);
    }
}
