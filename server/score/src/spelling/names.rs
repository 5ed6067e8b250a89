//! A name for each sound, given the harmonies: what each name costs by itself and beside its neighbours, and
//! names of which no single one, and no sound of a bar under one name, can be changed for the better.

use super::costs::*;
use super::path::{Place, has};
use super::sounds::Sound;

/// How often all sounds are looked at again; nearly always nothing changes after the third time.
const SWEEPS: usize = 6;
/// Names looked at for each sound: the nearest to the key on the line of fifths, and the next on either side.
const CHOICES: usize = 3;

/// What makes two names matter to each other.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Tie {
    /// The other comes next in the line.
    Next,
    /// The other comes before in the line.
    Before,
    /// They sound together.
    Together,
    /// The same sound, in this bar or the last.
    Again,
}

/// The sounds of a tune, ready to be named.
pub(super) struct Names {
    pub(super) sounds: Vec<Sound>,
    pub(super) places: Vec<Place>,
    /// For each sound, where its neighbours begin and end in `neighbours`.
    first: Vec<u32>,
    neighbours: Vec<(u32, Tie)>,
}

impl Names {
    /// With the place (key and harmony) at which each sound begins.
    pub(super) fn new(sounds: Vec<Sound>, places: Vec<Place>) -> Names {
        let mut pairs = Vec::with_capacity(sounds.len() * 4);
        lines(&sounds, &mut pairs);
        together_and_again(&sounds, &mut pairs);
        let mut first = vec![0; sounds.len() + 1];
        for &(a, b, _) in &pairs {
            first[a as usize + 1] += 1;
            first[b as usize + 1] += 1;
        }
        for at in 0..sounds.len() {
            first[at + 1] += first[at];
        }
        let mut next = first.clone();
        let mut neighbours = vec![(0, Tie::Together); pairs.len() * 2];
        for &(a, b, tie) in &pairs {
            let back = if tie == Tie::Next { Tie::Before } else { tie };
            for (from, to, tie) in [(a, b, tie), (b, a, back)] {
                neighbours[next[from as usize] as usize] = (to, tie);
                next[from as usize] += 1;
            }
        }
        Names { sounds, places, first, neighbours }
    }

    /// The names looked at for a sound, the nearest to its key first.
    fn choices(&self, at: usize) -> [i32; CHOICES] {
        let place = (self.sounds[at].midi * 7).rem_euclid(12);
        let centre = self.places[at].signature() + 2;
        let nearest = centre - 5 + (place - centre + 5).rem_euclid(12);
        let inwards = if nearest > centre { -12 } else { 12 };
        [nearest, nearest + inwards, nearest - inwards]
    }

    /// What a name costs by itself.
    pub(super) fn alone(&self, at: usize, name: i32) -> i32 {
        let place = &self.places[at];
        let harmony = place.harmony.members.iter().map(|member| place.tonic + i32::from(*member));
        let other = |member: i32| member != name && (member - name) % 12 == 0;
        let foreign = if harmony.into_iter().any(other) { NOT_OF_HARMONY } else { 0 };
        self.in_key(at, name) + foreign + sign(self.sounds[at].signature, name)
    }

    fn in_key(&self, at: usize, name: i32) -> i32 {
        let place = &self.places[at];
        let table = if place.mode == 0 { &IN_MAJOR } else { &IN_MINOR };
        let slot = name - place.tonic + 10;
        let last = table.len() as i32 - 1;
        let beyond = (slot - last).max(-slot).max(0);
        table[slot.clamp(0, last) as usize] + FURTHER * beyond
    }

    fn neighbours(&self, at: usize) -> &[(u32, Tie)] {
        &self.neighbours[self.first[at] as usize..self.first[at + 1] as usize]
    }

    /// What a name costs beside that of a neighbour.
    fn beside(&self, at: usize, name: i32, other: usize, its: i32, tie: Tie) -> i32 {
        match tie {
            Tie::Next => self.step(at, name, other, its),
            Tie::Before => self.step(other, its, at, name),
            Tie::Together => match (name - its).unsigned_abs() as usize {
                0..7 => 0,
                far => TOGETHER_INTERVALS[(far - 7).min(TOGETHER_INTERVALS.len() - 1)],
            },
            Tie::Again => TWO_NAMES * i32::from(name != its),
        }
    }

    /// From one note of a line to the next.
    fn step(&self, at: usize, name: i32, next: usize, its: i32) -> i32 {
        if self.sounds[at].midi == self.sounds[next].midi {
            return REPEATED_OTHERWISE * i32::from(name != its);
        }
        match (name - its).unsigned_abs() as usize {
            0..7 => 0,
            7 if self.in_key(at, name) == 0 => CHROMATIC_STEP,
            7 => UNRESOLVED,
            far => LINE_INTERVALS[(far - 8).min(LINE_INTERVALS.len() - 1)],
        }
    }

    /// What some sounds cost together, given the names of all; `some` is sorted.
    pub(super) fn cost_together(&self, some: &[usize], name: impl Fn(usize) -> i32) -> i32 {
        let mut cost = 0;
        for &at in some {
            cost += self.alone(at, name(at));
            for &(other, tie) in self.neighbours(at) {
                let other = other as usize;
                if other > at || some.binary_search(&other).is_err() {
                    cost += self.beside(at, name(at), other, name(other), tie);
                }
            }
        }
        cost
    }

    /// The best names.
    pub(super) fn best(&self) -> Vec<i32> {
        let count = self.sounds.len();
        let choices: Vec<[i32; CHOICES]> = (0..count).map(|at| self.choices(at)).collect();
        let alone: Vec<[i32; CHOICES]> =
            (0..count).map(|at| choices[at].map(|name| self.alone(at, name))).collect();
        let mut names: Vec<i32> = (0..count)
            .map(|at| choices[at][(0..CHOICES).min_by_key(|&c| alone[at][c]).unwrap_or(0)])
            .collect();
        let groups = self.groups();
        for sweep in 0..SWEEPS {
            let mut changed = false;
            for turn in 0..count {
                let at = if sweep % 2 == 0 { turn } else { count - 1 - turn };
                changed |= self.improve(at, &choices[at], &alone[at], &mut names);
            }
            for group in &groups {
                changed |= self.improve_together(group, &choices, &mut names);
            }
            if !changed {
                break;
            }
        }
        names
    }

    fn improve(
        &self,
        at: usize,
        choices: &[i32; CHOICES],
        alone: &[i32; CHOICES],
        names: &mut [i32],
    ) -> bool {
        let old = names[at];
        let mut costs = *alone;
        for &(other, tie) in self.neighbours(at) {
            let its = names[other as usize];
            for (cost, &name) in costs.iter_mut().zip(choices) {
                *cost += self.beside(at, name, other as usize, its, tie);
            }
        }
        let best = (0..CHOICES).min_by_key(|&c| (costs[c], choices[c] != old));
        names[at] = best.map_or(old, |best| choices[best]);
        names[at] != old
    }

    /// All notes of one sound in a bar under one name.
    fn improve_together(
        &self,
        group: &[usize],
        choices: &[[i32; CHOICES]],
        names: &mut [i32],
    ) -> bool {
        let old: Vec<i32> = group.iter().map(|&at| names[at]).collect();
        let mut tried = choices[group[0]].to_vec();
        tried.extend(&old);
        tried.sort_unstable();
        tried.dedup();
        let mut best = (self.cost_together(group, |at| names[at]), None);
        for &name in &tried {
            group.iter().for_each(|&at| names[at] = name);
            let cost = self.cost_together(group, |at| names[at]);
            if cost < best.0 {
                best = (cost, Some(name));
            }
        }
        for (&at, &old) in group.iter().zip(&old) {
            names[at] = best.1.unwrap_or(old);
        }
        best.1.is_some()
    }

    /// The notes of one sound in a bar, where there are several.
    fn groups(&self) -> Vec<Vec<usize>> {
        let class = |at: usize| (self.sounds[at].bar, self.sounds[at].midi.rem_euclid(12));
        let mut order: Vec<usize> = (0..self.sounds.len()).collect();
        order.sort_by_key(|&at| class(at));
        let groups = order.chunk_by(|&a, &b| class(a) == class(b));
        groups.filter(|group| group.len() > 1).map(<[usize]>::to_vec).collect()
    }
}

/// What a sign costs the reader.
fn sign(signature: Option<i8>, name: i32) -> i32 {
    if has(signature.unwrap_or(0).into(), name) {
        return 0;
    }
    let rare = if matches!(name, -8 | -7 | 11 | 12) { RARE } else { 0 };
    let double = if (-8..=12).contains(&name) { 0 } else { DOUBLE_SIGN };
    SIGN + rare + double
}

type Pair = (u32, u32, Tie);

/// Which notes follow which in a line: from one note to the next, and between chords to the notes at most a
/// whole step away.
fn lines(sounds: &[Sound], pairs: &mut Vec<Pair>) {
    let mut order: Vec<u32> = (0..sounds.len() as u32).collect();
    order.sort_by_key(|&at| {
        let sound = &sounds[at as usize];
        (sound.line, sound.event, sound.midi)
    });
    let key = |at: u32| (sounds[at as usize].line, sounds[at as usize].event);
    let mut before: &[u32] = &[];
    for event in order.chunk_by(|&a, &b| key(a) == key(b)) {
        if let (Some(&a), Some(&b)) = (before.first(), event.first()) {
            let (a, b) = (&sounds[a as usize], &sounds[b as usize]);
            if a.line == b.line && (b.onset <= a.end || b.bar <= a.bar + 1) {
                link(sounds, before, event, pairs);
            }
        }
        before = event;
    }
}

fn link(sounds: &[Sound], before: &[u32], event: &[u32], pairs: &mut Vec<Pair>) {
    let alone = before.len() == 1 && event.len() == 1;
    for &a in before {
        for &b in event {
            let moved = sounds[a as usize].midi - sounds[b as usize].midi;
            if alone || moved.abs() <= 2 {
                pairs.push((a, b, Tie::Next));
            }
        }
    }
}

fn together_and_again(sounds: &[Sound], pairs: &mut Vec<Pair>) {
    let mut active: Vec<u32> = Vec::new();
    let mut last: [Option<u32>; 12] = [None; 12];
    for (at, sound) in sounds.iter().enumerate() {
        let number = at as u32;
        active.retain(|&other| sounds[other as usize].end > sound.onset);
        pairs.extend(active.iter().map(|&other| (other, number, Tie::Together)));
        if !sound.grace {
            active.push(number);
        }
        let class = &mut last[sound.midi.rem_euclid(12) as usize];
        if let Some(before) = *class
            && sound.bar <= sounds[before as usize].bar + 1
        {
            pairs.push((before, number, Tie::Again));
        }
        *class = Some(number);
    }
}
