//! Who carries what, bar by bar, as runs of bars.

use super::bars::Bars;
use recte_score::texture::{Form, Role};

/// Who carries what.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct LayerMap {
    /// Of each voice its roles, run by run.
    pub rows: Vec<Vec<RoleRun>>,
    /// The figures, in the order in which they come.
    pub figures: Vec<FigureRuns>,
}

/// One role for some bars.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct RoleRun {
    /// What the part is.
    pub role: Role,
    /// The figure it carries, by its place in the list.
    pub figure: Option<usize>,
    /// The first bar, by index.
    pub from: u32,
    /// The last bar.
    pub to: u32,
}

/// A figure and who carries it.
#[derive(Clone, Debug, PartialEq)]
pub struct FigureRuns {
    /// "A", "B" …
    pub id: String,
    /// Bars in which some part carries it.
    pub bars: u32,
    /// Voice, first and last bar, in time.
    pub carriers: Vec<(usize, u32, u32)>,
    /// How evenly parts share it, in bits.
    pub entropy: f64,
}

pub(super) fn layers(form: &Form) -> LayerMap {
    let row = |layers: &Vec<recte_score::texture::Layer>| {
        let mut runs: Vec<RoleRun> = Vec::new();
        for (layer, bar) in layers.iter().zip(0u32..) {
            let figure =
                layer.figure.map(|one| one as usize).filter(|_| layer.role == Role::Figure);
            match runs.last_mut() {
                Some(last) if (last.role, last.figure) == (layer.role, figure) => last.to = bar,
                _ => runs.push(RoleRun { role: layer.role, figure, from: bar, to: bar }),
            }
        }
        runs
    };
    let figure = |(at, figure): (usize, &recte_score::texture::Figure)| {
        let carriers: Vec<(usize, u32, u32)> =
            figure.runs.iter().map(|run| (run.part as usize, run.from, run.to)).collect();
        let mut bars: Vec<u32> = figure.runs.iter().flat_map(|run| run.from..=run.to).collect();
        bars.sort_unstable();
        bars.dedup();
        let bars = bars.len() as u32;
        FigureRuns { id: letters(at), bars, carriers, entropy: figure.carrier_entropy() }
    };
    LayerMap {
        rows: form.layers.iter().map(row).collect(),
        figures: form.figures.iter().enumerate().map(figure).collect(),
    }
}

/// "A" to "Z", then "A2" …
pub fn letters(at: usize) -> String {
    let letter = char::from(b'A' + (at % 26) as u8);
    if at < 26 { letter.to_string() } else { format!("{letter}{}", at / 26 + 1) }
}

impl LayerMap {
    /// What a voice is, role by role: "melody in bars 1–8 and 17–24; figure A in bars 9–16".
    pub fn sentence(&self, voice: usize, bars: &Bars) -> String {
        let mut roles: Vec<(String, Vec<u32>)> = Vec::new();
        for run in self.rows.get(voice).into_iter().flatten() {
            let name = match run.figure.and_then(|at| self.figures.get(at)) {
                Some(figure) => format!("figure {}", figure.id),
                None => run.role.name().to_owned(),
            };
            match roles.iter_mut().find(|(known, _)| *known == name) {
                Some((_, own)) => own.extend(run.from..=run.to),
                None => roles.push((name, (run.from..=run.to).collect())),
            }
        }
        let one = |(name, own): &(String, Vec<u32>)| format!("{name} in {}", bars.list(own));
        roles.iter().map(one).collect::<Vec<_>>().join("; ")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn figures_have_letters() {
        assert_eq!([0, 25, 26, 53].map(letters), ["A", "Z", "A2", "B3"]);
    }
}
