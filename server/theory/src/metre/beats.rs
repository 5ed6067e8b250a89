//! The beats of a bar: where its groups meet, how strong each place is, what a value hides, which rests and
//! beams show the beat.
//!
//! Groups, middle lines and longest beams follow the same tables as the signatures; the rules of what may cross
//! a line are those of lessons on syncopation (Open Music Theory: ties make beats visible) and grouping, with
//! the accepted syncopations as common practice, no source. The weights (bar line 0, middle line 1, beat 2,
//! half beat 3 and so on) are a proposal from memory.

mod rests;

use super::Metre;
use crate::time::Time;

/// So many to a whole note: `2⁸·3²·5·7`, so that every plain value down to a 256th, and those of the usual
/// tuplets, are whole numbers.
pub const WHOLE: Ticks = 80_640;

/// A moment or a length in a bar, in 80640ths of a whole note.
pub type Ticks = i64;

/// A place finer than any line of a bar.
const FINEST: u8 = 20;

/// A time in ticks; none for a value that no whole number of them holds (a tuplet of eleven, say).
pub fn ticks(time: Time) -> Option<Ticks> {
    let below = time.denominator();
    // Nearly all values are halves of halves.
    if below.count_ones() == 1 && below <= 256 {
        return time.numerator().checked_mul(WHOLE >> below.trailing_zeros());
    }
    (WHOLE % below == 0).then(|| time.numerator().checked_mul(WHOLE / below))?
}

/// Ticks as a time.
pub fn time(ticks: Ticks) -> Time {
    Time::new(ticks, WHOLE)
}

/// Whether one note can last so long: plain, dotted or double-dotted, up to two whole notes.
pub fn is_one_value(length: Ticks) -> bool {
    is_plain(length)
        || length % 3 == 0 && is_plain(length / 3 * 2)
        || length % 7 == 0 && is_plain(length / 7 * 4)
}

/// Whether a value is undotted.
fn is_plain(length: Ticks) -> bool {
    length > 0 && WHOLE * 2 % length == 0 && (WHOLE * 2 / length).count_ones() == 1
}

/// One beat group.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Group {
    /// Where it begins.
    pub start: Ticks,
    /// Where it ends.
    pub end: Ticks,
    /// Whether it falls into three parts, not two.
    pub threes: bool,
}

impl Group {
    fn length(&self) -> Ticks {
        self.end - self.start
    }

    fn part(&self) -> Ticks {
        self.length() / if self.threes { 3 } else { 2 }
    }
}

/// A stretch of a bar that counts as one: a group, half a bar, half a beat.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
enum Whole {
    /// It falls into two halves at a line stronger than any in the halves.
    Even,
    /// Two members of three.
    TwoOfThree,
}

/// The beats of a bar in one reading of its signature.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Beats {
    groups: Vec<Group>,
    /// The inner lines between groups, with their weights.
    lines: Vec<(Ticks, u8)>,
    /// What a beam of eighths may fill.
    beams: Vec<(Ticks, Ticks)>,
    /// What shorter values are beamed by.
    beam_groups: Vec<(Ticks, Ticks)>,
    /// The weight of the parts of a group.
    parts: u8,
    /// Whether a value that crosses a line must end on one: compound and asymmetric bars.
    strict: bool,
    /// Whether the beats are dotted.
    compound: bool,
    /// Whether unequal groups are counted in quarters: 5/4, 7/4.
    quarters: bool,
    length: Ticks,
}

impl Metre {
    /// The beats of a bar, one entry for each reading the signature leaves open, the usual one first; empty in
    /// free metre. 7/8 may be any order of twos and threes; `2+2+3/8`, or 7/8 with its beats told, is only itself. A longer bar that leaves its groups open
    /// (13/8, 23/8) has none that could be told from its sign.
    pub fn beats(&self) -> Vec<Beats> {
        if let Some(meant) = &self.meant {
            return meant.beats();
        }
        let mut all = self.groupings();
        if self.numbers().is_some_and(|(n, d)| d >= 8 && n > 12 && n % 3 != 0) {
            return Vec::new();
        }
        if let Some((n, d)) = self.numbers()
            && d >= 8
            && all.len() > 1
            && n <= 16
        {
            for order in twos_and_threes(n) {
                let groups: Vec<Time> =
                    order.iter().map(|&count| Time::new(count, d.into())).collect();
                if !all.contains(&groups) && order.contains(&3) {
                    all.push(groups);
                }
            }
        }
        all.iter().filter_map(|groups| Beats::new(self, groups)).collect()
    }
}

/// Every order of twos and threes that adds up to `n`.
fn twos_and_threes(n: u16) -> Vec<Vec<i64>> {
    if n == 0 {
        return vec![Vec::new()];
    }
    let mut all = Vec::new();
    for first in [2, 3].into_iter().filter(|first| *first <= n) {
        for mut rest in twos_and_threes(n - first) {
            rest.insert(0, first.into());
            all.push(rest);
        }
    }
    all
}

impl Beats {
    /// One reading of a signature: these groups. None if a group is no whole number of ticks.
    pub fn new(metre: &Metre, grouping: &[Time]) -> Option<Beats> {
        let mut groups: Vec<Group> = Vec::new();
        for length in grouping {
            let start = groups.last().map_or(0, |group| group.end);
            let end = start + ticks(*length)?;
            groups.push(Group { start, end, threes: length.numerator() % 3 == 0 });
        }
        let length = groups.last()?.end;
        let equal = groups.windows(2).all(|pair| pair[0].length() == pair[1].length());
        let count = groups.len();
        let halves = equal && count >= 4 && count.is_power_of_two();
        let weight = |place: usize| match halves {
            true => 1 + (count / 2).trailing_zeros() as u8 - place.trailing_zeros() as u8,
            false => 1,
        };
        let lines: Vec<(Ticks, u8)> = groups
            .iter()
            .enumerate()
            .skip(1)
            .map(|(at, group)| (group.start, weight(at)))
            .collect();
        let compound = equal && groups.iter().all(|group| group.threes);
        let unit = metre.meant.as_deref().unwrap_or(metre).unit();
        let quarters = unit == Some(Time::new(1, 4)) && !equal;
        let spans = |lengths: &[Time]| {
            let mut at = 0;
            let spans = lengths.iter().filter_map(|length| {
                at += ticks(*length)?;
                Some((at - ticks(*length)?, at))
            });
            spans.collect::<Vec<_>>()
        };
        let beams = spans(&metre.beam_spans(grouping));
        let own = || groups.iter().map(|group| (group.start, group.end)).collect();
        let beam_groups = if quarters { beams.clone() } else { own() };
        let last_weight = lines.iter().map(|(_, weight)| *weight).max().unwrap_or(1);
        let parts = if quarters { 2 } else { last_weight.max(2) + 1 };
        let strict = compound || !equal;
        Some(Beats { groups, lines, beams, beam_groups, parts, strict, compound, quarters, length })
    }

    /// The length of the bar.
    pub fn length(&self) -> Ticks {
        self.length
    }

    /// The beat groups.
    pub fn groups(&self) -> &[Group] {
        &self.groups
    }

    /// Whether the beats are dotted notes.
    pub fn is_compound(&self) -> bool {
        self.compound
    }

    /// What a player counts, where that is not the groups: the quarters of 5/4 and 7/4.
    pub fn counted(&self) -> Option<Ticks> {
        self.quarters.then_some(WHOLE / 4)
    }

    /// Whether groups of several lengths are counted as they come: 5/8, 7/8, `3+3+2/8`.
    pub fn is_uneven(&self) -> bool {
        self.strict && !self.compound && !self.quarters
    }

    /// What a beam of eighths may fill and not leave.
    pub fn beams(&self) -> &[(Ticks, Ticks)] {
        &self.beams
    }

    /// The place of the span of beams that a moment belongs to.
    pub fn beam_of(&self, at: Ticks) -> usize {
        self.beams.partition_point(|(_, end)| *end <= at)
    }

    /// What beams of shorter values keep to: one beat.
    pub fn beam_groups(&self) -> &[(Ticks, Ticks)] {
        &self.beam_groups
    }

    /// How weak a place is: 0 at the bar line, 1 at a middle line or where unequal groups meet, 2 on another
    /// beat, 3 between beats, and so on.
    pub fn weight(&self, at: Ticks) -> u8 {
        if at <= 0 || at >= self.length {
            return 0;
        }
        if let Ok(place) = self.lines.binary_search_by_key(&at, |(line, _)| *line) {
            return self.lines[place].1;
        }
        let Some(group) = self.group_at(at) else { return FINEST };
        let inside = at - group.start;
        let mut part = group.part();
        let mut weight = self.parts;
        while part > 0 && weight < FINEST {
            if inside % part == 0 {
                return weight;
            }
            if part % 2 != 0 {
                break;
            }
            part /= 2;
            weight += 1;
        }
        FINEST
    }

    /// Whether a beat group, or the bar, begins or ends there.
    pub fn is_line(&self, at: Ticks) -> bool {
        at == 0
            || at == self.length
            || self.lines.binary_search_by_key(&at, |(line, _)| *line).is_ok()
    }

    fn group_at(&self, at: Ticks) -> Option<&Group> {
        let place = self.groups.partition_point(|group| group.end <= at);
        self.groups.get(place)
    }

    /// The strongest weight of the lines between two moments, those themselves not counted, and the first line
    /// that has it. Lines as fine as the value itself are not asked for.
    fn strongest(&self, start: Ticks, end: Ticks) -> Option<(u8, Ticks)> {
        let between = self.lines.iter().filter(|(at, _)| start < *at && *at < end);
        if let Some((at, weight)) = between.min_by_key(|(at, weight)| (*weight, *at)) {
            return Some((*weight, *at));
        }
        let group = self.group_at(start)?;
        let mut part = group.part();
        let mut weight = self.parts;
        while part > 0 && weight < FINEST {
            let line = group.start + ((start - group.start) / part + 1) * part;
            if line < end {
                return Some((weight, line));
            }
            if part % 2 != 0 {
                return None;
            }
            part /= 2;
            weight += 1;
        }
        None
    }

    /// The strongest line between two moments, if there is one.
    pub fn inner_line(&self, start: Ticks, end: Ticks) -> Option<Ticks> {
        self.strongest(start, end).map(|(_, line)| line)
    }

    /// The line that a note hides, if it hides one. `begins` says whether something begins at a moment of the
    /// bar: one short-long-short over two beats of three is accepted where both ends are seen.
    pub fn hidden(
        &self,
        start: Ticks,
        end: Ticks,
        begins: impl Fn(Ticks) -> bool,
    ) -> Option<Ticks> {
        let (weight, line) = self.strongest(start, end)?;
        let from = self.weight(start);
        let crosses_group = weight < self.parts;
        let ends_well = !self.strict || !crosses_group || self.is_line(end);
        if weight >= from && ends_well {
            return None;
        }
        (!self.is_accepted(start, end, begins)).then_some(line)
    }

    /// The beat line that a tuplet lies over: one stronger than the place where it begins, or, where groups are
    /// dotted or unequal, any that it does not end on.
    pub fn crossed(&self, start: Ticks, end: Ticks) -> Option<Ticks> {
        let (weight, line) =
            self.strongest(start, end).filter(|(weight, _)| *weight < self.parts)?;
        let stronger = weight < self.weight(start);
        (stronger || self.strict && !self.is_line(end)).then_some(line)
    }

    /// Short-long-short, short-long, and a dotted beat in two, in a stretch that counts as one.
    fn is_accepted(&self, start: Ticks, end: Ticks, begins: impl Fn(Ticks) -> bool) -> bool {
        let length = end - start;
        let seen = |at: Ticks| at == 0 || at == self.length || begins(at);
        let fits = |from: Ticks, length: Ticks| match self.whole(from, length) {
            Some(Whole::Even) => true,
            Some(Whole::TwoOfThree) => seen(from) && seen(from + length),
            None => false,
        };
        let half = length / 2;
        let third = length / 3;
        length % 2 == 0 && fits(start - half, 2 * length)
            || length % 3 == 0 && fits(start - third, length + third)
            || self.is_part_of_dotted_beat(start, length)
    }

    /// A half, a quarter … of a dotted beat: two in the time of three, written out.
    fn is_part_of_dotted_beat(&self, start: Ticks, length: Ticks) -> bool {
        self.group_at(start).is_some_and(|group| {
            let halves = group.threes && length > 0 && group.length() % length == 0;
            halves
                && (group.length() / length).count_ones() == 1
                && (start - group.start) % length == 0
        })
    }

    /// Whether a stretch counts as one.
    fn whole(&self, start: Ticks, length: Ticks) -> Option<Whole> {
        let end = start + length;
        if start < 0 || end > self.length || length <= 0 {
            return None;
        }
        let first = self.groups.partition_point(|group| group.start < start);
        let begins_here = self.groups.get(first).is_some_and(|group| group.start == start);
        if begins_here && self.is_line(end) {
            let last = self.groups.partition_point(|group| group.end <= end);
            return self.whole_of_groups(first, last);
        }
        let group = self.group_at(start).filter(|group| end <= group.end)?;
        self.whole_in_group(group, start - group.start, length)
    }

    fn whole_of_groups(&self, first: usize, last: usize) -> Option<Whole> {
        let count = last - first;
        let equal =
            self.groups[first..last].windows(2).all(|two| two[0].length() == two[1].length());
        if !equal {
            return None;
        }
        if count == 1 {
            return (!self.groups[first].threes).then_some(Whole::Even);
        }
        let all = self.groups.len();
        if all.is_power_of_two() && !self.strict_but_compound() {
            let even = count.is_power_of_two() && first.is_multiple_of(count);
            return even.then_some(Whole::Even);
        }
        let simple = !self.groups[first].threes && count == 2;
        simple.then_some(Whole::TwoOfThree)
    }

    fn strict_but_compound(&self) -> bool {
        self.strict && !self.compound
    }

    fn whole_in_group(&self, group: &Group, inside: Ticks, length: Ticks) -> Option<Whole> {
        let part = group.part();
        if length > part {
            let two = group.threes && length == 2 * part && inside % part == 0;
            return two.then_some(Whole::TwoOfThree);
        }
        let aligned =
            part % length == 0 && (part / length).count_ones() == 1 && inside % length == 0;
        aligned.then_some(Whole::Even)
    }

    /// The values that show every line a note hides: its length, cut where it hides the strongest lines.
    pub fn shown(&self, start: Ticks, end: Ticks, begins: &dyn Fn(Ticks) -> bool) -> Vec<Ticks> {
        let cut = self.hidden(start, end, begins);
        if cut.is_none()
            && !is_one_value(end - start)
            && let Some(line) = self.two_values(start, end, begins)
        {
            return vec![line - start, end - line];
        }
        let cut = cut.or_else(|| {
            (!is_one_value(end - start))
                .then(|| self.strongest(start, end).map(|(_, line)| line))?
        });
        let Some(line) = cut else { return vec![end - start] };
        // Every line as strong as the one it hides.
        let weight = self.weight(line);
        let mut cuts: Vec<Ticks> = vec![start];
        let between = self.lines.iter().filter(|(at, _)| start < *at && *at < end);
        cuts.extend(between.filter(|(_, other)| *other == weight).map(|(at, _)| *at));
        if cuts.len() == 1 {
            cuts.push(line);
        }
        cuts.push(end);
        let begins = |at: Ticks| begins(at) || cuts.contains(&at);
        cuts.windows(2).flat_map(|pair| self.shown(pair[0], pair[1], &begins)).collect()
    }

    /// Where a length that no one value holds is best cut in two that hide nothing: at the strongest line, the later
    /// of two alike.
    fn two_values(
        &self,
        start: Ticks,
        end: Ticks,
        begins: &dyn Fn(Ticks) -> bool,
    ) -> Option<Ticks> {
        let good = |start: Ticks, end: Ticks| {
            is_one_value(end - start) && self.hidden(start, end, begins).is_none()
        };
        let step = self.group_at(start)?.part() / 4;
        let lines = self.lines.iter().map(|(at, _)| *at);
        let inside = (1..64).map(|count| start / step.max(1) * step + count * step);
        lines
            .chain(inside)
            .filter(|&at| start < at && at < end && good(start, at) && good(at, end))
            .min_by_key(|&at| (self.weight(at), -at))
    }

    /// Whether the tie within a sound says nothing: it begins on a beat, one value of at most one dot holds it, and
    /// that value hides no line.
    pub fn is_one_note(&self, start: Ticks, end: Ticks) -> bool {
        let length = end - start;
        let simple = is_plain(length) || length % 3 == 0 && is_plain(length / 3 * 2);
        let weight = self.strongest(start, end).map_or(FINEST, |(weight, _)| weight);
        let ends_well = !self.strict || weight >= self.parts || self.is_line(end);
        simple && self.is_line(start) && weight >= self.weight(start) && ends_well
    }
}

#[cfg(test)]
mod tests;
