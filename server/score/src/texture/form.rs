//! All of it for one tune, each part worked out when it is first asked for.

use super::boundaries::{Boundary, Ground, Weights, boundaries};
use super::cells::Cells;
use super::contrast::likeness;
use super::describe::{self, Descriptor};
use super::figures::{Figure, figures};
use super::layers::{Layer, layers};
use super::material::Material;
use super::motifs::{Motif, motifs};
use super::sections::{self, Compared, Marks, Return, Section};
use super::similarity::Matrix;
use super::table::{Slice, Table, Ticks, ticks};
use super::vocabulary::{Vocabulary, vocabulary};
use crate::harmony::{Harmony, PhraseSign, phrase_ends};
use crate::lines::lines;
use crate::sounding::soundings;
use crate::tune::Tune;
use std::sync::OnceLock;

/// A tune's texture and form, worked out as it is asked for.
pub struct Analysis {
    table: Table,
    marks: Marks,
    /// The moments at which a fermata ends.
    fermatas: Vec<Ticks>,
    slices: OnceLock<Vec<Slice>>,
    bars: OnceLock<Vec<Descriptor>>,
    cells: OnceLock<Cells>,
    figures: OnceLock<Vec<Figure>>,
    layers: OnceLock<Vec<Vec<Layer>>>,
    texture: OnceLock<Matrix>,
    material: OnceLock<Material>,
    shared: OnceLock<Matrix>,
    boundaries: OnceLock<Vec<Boundary>>,
    sections: OnceLock<Vec<Section>>,
    described: OnceLock<Vec<Descriptor>>,
}

/// One number a bar, none where there is nothing to measure.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Curves {
    /// The mean pitch (60 is middle C).
    pub register: Vec<Option<f64>>,
    /// Onsets a quarter.
    pub density: Vec<Option<f64>>,
    /// Loudness, 0 (pppp) to 9.
    pub dynamic: Vec<Option<f64>>,
    /// The share of dissonant pairs in what sounds together.
    pub dissonance: Vec<Option<f64>>,
}

/// All that is worked out, for a report.
#[derive(Clone, Debug, Default)]
pub struct Form {
    /// Each bar, described.
    pub bars: Vec<Descriptor>,
    /// How like each bar is to each other: the mean of texture and material.
    pub similarity: Matrix,
    /// The joints that are heard, whatever is typed.
    pub boundaries: Vec<Boundary>,
    /// The bars that begin what is typed: parts, titled sections, double bars, repeats.
    pub marked: Vec<u32>,
    /// The sections.
    pub sections: Vec<Section>,
    /// The joints between these sections.
    pub joints: Vec<Boundary>,
    /// Each section, described.
    pub described: Vec<Descriptor>,
    /// Each section against the next.
    pub contrasts: Vec<Compared>,
    /// The sections that come back.
    pub returns: Vec<Return>,
    /// The figures with those who carry them.
    pub figures: Vec<Figure>,
    /// The motifs with their recurrences.
    pub motifs: Vec<Motif>,
    /// What each part is in each bar: by part, then by bar.
    pub layers: Vec<Vec<Layer>>,
    /// The curves.
    pub curves: Curves,
    /// The chords, and how predictable they are.
    pub vocabulary: Vocabulary,
}

/// A joint that is heard this near to one that is typed is that one.
const ONE_JOINT: u32 = 2;

impl Form {
    /// The bars before which joints are heard that nothing typed shows: what is typed nearby wins.
    pub fn untyped(&self) -> impl Iterator<Item = u32> + '_ {
        let typed = |bar: &u32| self.marked.iter().any(|mark| mark.abs_diff(*bar) <= ONE_JOINT);
        self.boundaries.iter().map(|one| one.bar).filter(move |bar| !typed(bar))
    }
}

/// All of a tune's texture and form.
pub fn analyse(tune: &Tune, harmonies: &[Harmony]) -> Form {
    let all = Analysis::of(tune);
    let (texture, shared) = (all.texture(), all.shared());
    Form {
        bars: all.bars().to_vec(),
        similarity: Matrix::of(texture.size(), |a, b| (texture.at(a, b) + shared.at(a, b)) / 2.0),
        boundaries: all.boundaries().to_vec(),
        marked: all.marks.bars(),
        sections: all.sections().to_vec(),
        joints: all.joints(),
        described: all.described().to_vec(),
        contrasts: all.contrasts(),
        returns: all.returns(),
        figures: all.figures().to_vec(),
        motifs: motifs(&lines(tune)),
        layers: all.layers().to_vec(),
        curves: all.curves(),
        vocabulary: vocabulary(harmonies),
    }
}

impl Analysis {
    /// Of a tune: the table, what is typed of its form, and no more.
    pub fn of(tune: &Tune) -> Analysis {
        let ends = phrase_ends(tune, &soundings(tune)).into_iter();
        let fermatas = ends.filter(|end| end.sign == PhraseSign::Fermata);
        Analysis {
            table: Table::of(tune),
            marks: Marks::of(tune),
            fermatas: fermatas.map(|end| ticks(end.end)).collect(),
            slices: OnceLock::new(),
            bars: OnceLock::new(),
            cells: OnceLock::new(),
            figures: OnceLock::new(),
            layers: OnceLock::new(),
            texture: OnceLock::new(),
            material: OnceLock::new(),
            shared: OnceLock::new(),
            boundaries: OnceLock::new(),
            sections: OnceLock::new(),
            described: OnceLock::new(),
        }
    }

    /// The flat table.
    pub fn table(&self) -> &Table {
        &self.table
    }

    fn slices(&self) -> &[Slice] {
        self.slices.get_or_init(|| self.table().slices())
    }

    /// Each bar, described.
    pub fn bars(&self) -> &[Descriptor] {
        self.bars.get_or_init(|| describe::by_bar(self.table()))
    }

    /// What each part plays in each bar, by class.
    pub fn cells(&self) -> &Cells {
        self.cells.get_or_init(|| Cells::of(self.table()))
    }

    /// The figures.
    pub fn figures(&self) -> &[Figure] {
        self.figures.get_or_init(|| figures(self.cells()))
    }

    /// What each part is in each bar.
    pub fn layers(&self) -> &[Vec<Layer>] {
        self.layers.get_or_init(|| layers(self.table(), self.cells(), self.figures()))
    }

    /// How like the textures of the bars are.
    pub fn texture(&self) -> &Matrix {
        self.texture.get_or_init(|| {
            let bars = self.bars();
            Matrix::of(bars.len(), |a, b| likeness(&bars[a], &bars[b]))
        })
    }

    /// What is played in the bars.
    pub fn material(&self) -> &Material {
        self.material.get_or_init(|| Material::of(self.table()))
    }

    /// How much the bars share.
    pub fn shared(&self) -> &Matrix {
        self.shared.get_or_init(|| {
            let material = self.material();
            Matrix::of(self.table().bars.len(), |a, b| material.shared(a, b))
        })
    }

    /// The joints that are heard, whatever is typed.
    pub fn boundaries(&self) -> &[Boundary] {
        self.boundaries.get_or_init(|| boundaries(&self.ground(), &Weights::default()))
    }

    /// What joints are heard by.
    pub fn ground(&self) -> Ground<'_> {
        let fermatas = &self.fermatas;
        Ground { table: self.table(), texture: self.texture(), shared: self.shared(), fermatas }
    }

    /// The sections.
    pub fn sections(&self) -> &[Section] {
        self.sections.get_or_init(|| {
            let heard = || self.boundaries().iter().map(|one| one.bar).collect();
            sections::sections(self.table.bars.len(), &self.marks, heard)
        })
    }

    /// The joints between the sections.
    pub fn joints(&self) -> Vec<Boundary> {
        let evidence = super::boundaries::evidence(&self.ground());
        let begins = self.sections().iter().skip(1).map(|section| section.from);
        let joint = |bar: u32| {
            let evidence = evidence.get(bar as usize).copied().unwrap_or_default();
            Boundary {
                bar,
                strength: evidence.strength(&Weights::default()),
                abruptness: self.texture().abruptness(bar as usize),
                evidence,
            }
        };
        begins.map(joint).collect()
    }

    /// Each section, described.
    pub fn described(&self) -> &[Descriptor] {
        self.described
            .get_or_init(|| sections::described(self.table(), self.slices(), self.sections()))
    }

    /// Each section against the next.
    pub fn contrasts(&self) -> Vec<Compared> {
        sections::contrasts(self.described())
    }

    /// The sections that come back.
    pub fn returns(&self) -> Vec<Return> {
        sections::returns(self.sections(), self.material(), self.shared())
    }

    /// The curves.
    pub fn curves(&self) -> Curves {
        let of = |value: fn(&Descriptor) -> Option<f64>| self.bars().iter().map(value).collect();
        Curves {
            register: of(|bar| bar.centroid),
            density: of(|bar| (bar.quarters > 0.0).then_some(bar.onsets)),
            dynamic: of(|bar| bar.dynamic),
            dissonance: of(|bar| bar.dissonance),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_typed_wins_over_what_is_heard_nearby() {
        let heard =
            |bar| Boundary { bar, strength: 3.0, abruptness: None, evidence: Default::default() };
        let form = Form {
            boundaries: [4, 9, 14, 21].map(heard).to_vec(),
            marked: vec![8, 16],
            ..Form::default()
        };
        assert_eq!(form.untyped().collect::<Vec<_>>(), [4, 21]);
    }
}
