//! Two staves of the same bars: whether they are alike, and what one changes of the other.

use super::{Bow, Figure, Item, Staff};
use recte_theory::Time;

/// Where an item stands: its moment, its layer, and its place among those of the same moment and layer.
type Place = (Time, u8, usize);

/// A beam's first and last moment.
type Reach = Option<(Time, Time)>;

impl Staff {
    /// The place of each item.
    fn places(&self) -> Vec<Place> {
        let mut all: Vec<Place> = Vec::new();
        for (moment, item) in self.moments().into_iter().zip(&self.items) {
            let same = all.iter().rev().take_while(|one| (one.0, one.1) == (moment, item.layer));
            let rank = same.count();
            all.push((moment, item.layer, rank));
        }
        all
    }

    /// The first and the last moment of the beam each item is under.
    fn reaches(&self) -> Vec<Reach> {
        let moments = self.moments();
        let mut all = vec![None; self.items.len()];
        for group in self.beamed() {
            let (Some(first), Some(last)) = (group.first(), group.last()) else { continue };
            for at in &group {
                all[*at] = Some((moments[*first], moments[*last]));
            }
        }
        all
    }

    /// The items that share a beam, beam by beam.
    pub fn beamed(&self) -> Vec<Vec<usize>> {
        use recte_score::signs::Beam;
        let mut open: [Option<Vec<usize>>; 2] = [None, None];
        let mut all = Vec::new();
        for (at, item) in self.items.iter().enumerate() {
            let own = &mut open[usize::from(item.grace)];
            match item.beams.first() {
                Some(Beam::Begin) => *own = Some(vec![at]),
                Some(Beam::Continue) => own.iter_mut().for_each(|group| group.push(at)),
                Some(Beam::End) => {
                    if let Some(mut group) = own.take() {
                        group.push(at);
                        all.push(group);
                    }
                }
                _ => {}
            }
        }
        all
    }

    /// What is left to compare of bars that were taken out of their surroundings: no marks, no edges.
    fn inner(&self) -> Staff {
        let mut own = self.clone();
        let ends = self.bars.iter().map(|bar| bar.length).sum::<Time>();
        let moments = self.moments();
        for (item, moment) in own.items.iter_mut().zip(moments) {
            item.told = false;
            for head in &mut item.heads {
                head.told = false;
                head.tied_in &= moment > Time::ZERO;
                head.tied_out &= moment + item.lasts < ends;
            }
        }
        own.slurs.retain(|bow| bow.from.is_some() && bow.to.is_some());
        own.slurs.sort_by_key(|bow| (bow.from, bow.to));
        if let Some(first) = own.bars.first_mut() {
            first.opens = false;
            first.ending = None;
        }
        own
    }

    /// Whether the same stands in them, whatever stands before and after.
    pub(super) fn is_alike(&self, other: &Staff) -> bool {
        let (mut own, other) = (self.inner(), other.inner());
        own.front = other.front.clone();
        own == other
    }

    /// Takes over what comes in from the left and goes out to the right.
    pub(super) fn borrow_edges(&mut self, original: &Staff) {
        let (own, theirs) = (self.places(), original.places());
        let ends = |staff: &Staff| staff.bars.iter().map(|bar| bar.length).sum::<Time>();
        let (own_end, their_end) = (ends(self), ends(original));
        for (item, place) in self.items.iter_mut().zip(&own) {
            let from = theirs.iter().position(|other| other == place);
            let before = from.map(|at| &original.items[at]).filter(|_| place.0.is_zero());
            let to = |at: &usize| {
                theirs[*at].0 + original.items[*at].lasts == their_end
                    && original.items[*at].layer == item.layer
            };
            let after = (0..theirs.len()).rfind(to);
            let goes_out = place.0 + item.lasts == own_end;
            for head in &mut item.heads {
                let same =
                    |other: &Item| other.heads.iter().find(|one| one.step == head.step).copied();
                if let Some(other) = before.and_then(same) {
                    head.tied_in |= other.tied_in;
                }
                if let Some(other) =
                    after.filter(|_| goes_out).and_then(|at| same(&original.items[at]))
                {
                    head.tied_out |= other.tied_out;
                }
            }
        }
        let at = |index: usize| own.iter().position(|place| *place == theirs[index]);
        let crossing = original.slurs.iter().filter_map(|bow| match (bow.from, bow.to) {
            (Some(from), None) => Some(Bow { from: Some(at(from)?), ..*bow }),
            (None, Some(to)) => Some(Bow { to: Some(at(to)?), ..*bow }),
            _ => None,
        });
        let crossing: Vec<Bow> = crossing.collect();
        self.slurs.retain(|bow| bow.from.is_some() && bow.to.is_some());
        self.slurs.extend(crossing);
        if let (Some(first), Some(other)) = (self.bars.first_mut(), original.bars.first()) {
            first.opens |= other.opens;
            first.ending = first.ending.take().or_else(|| other.ending.clone());
        }
    }

    /// Marks what is otherwise than in another.
    pub(super) fn tell_changes(&mut self, original: &Staff) {
        let (own, theirs) = (self.places(), original.places());
        let (own_reach, their_reach) = (self.reaches(), original.reaches());
        for (at, item) in self.items.iter_mut().enumerate() {
            let there = theirs.iter().position(|place| *place == own[at]);
            let before = there.map(|there| &original.items[there]);
            let alike = |other: &Item| {
                (other.figure, other.sign, &other.changes)
                    == (item.figure, item.sign, &item.changes)
            };
            let held = before.filter(|other| alike(other));
            let rebeamed = there.is_some_and(|there| own_reach[at] != their_reach[there]);
            for head in &mut item.heads {
                let same = |other: &Item| {
                    other.heads.iter().any(|one| {
                        (one.step, one.accidental, one.tied_in, one.tied_out)
                            == (head.step, head.accidental, head.tied_in, head.tied_out)
                    })
                };
                head.told = rebeamed || !held.is_some_and(same);
            }
            let silent = item.figure == Figure::Room;
            let gone = held.is_some_and(|other| other.heads.len() != item.heads.len());
            item.told = !silent
                && (held.is_none() || gone || rebeamed || item.heads.iter().any(|head| head.told));
        }
    }
}
