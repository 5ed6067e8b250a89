//! Which voices make one part, how parts are bracketed, and how finely time is divided.

use recte_score::{Group, GroupKind, Tune, Voice};
use recte_theory::Time;
use std::collections::BTreeSet;

/// The finest division of a quarter note that is written.
const FINEST: i64 = 1_000_000_000;

/// A part: one staff with one voice or several.
pub(super) struct Part<'a> {
    /// "P1", "P2" …
    pub(super) id: String,
    /// Its voices; the first one rules over key, metre and clef.
    pub(super) voices: Vec<PartVoice<'a>>,
}

/// A voice in its part.
#[derive(Clone, Copy)]
pub(super) struct PartVoice<'a> {
    pub(super) voice: &'a Voice,
    /// The number of its first layer in the part, from 1.
    pub(super) number: usize,
    /// How many layers it has where it has most.
    pub(super) layers: u8,
}

/// An entry of the part list, in the order of the page.
pub(super) enum Entry {
    /// A group begins: its number, its sign, and whether bar lines run through it.
    Begin(usize, &'static str, bool),
    /// The part with this index.
    Part(usize),
    /// A group ends.
    End(usize),
}

/// The page as a whole.
pub(super) struct Layout<'a> {
    pub(super) parts: Vec<Part<'a>>,
    pub(super) entries: Vec<Entry>,
    /// Divisions of a quarter note.
    pub(super) divisions: i64,
    /// What could not be kept.
    pub(super) left_out: Vec<String>,
}

impl<'a> Layout<'a> {
    pub(super) fn of(tune: &'a Tune) -> Layout<'a> {
        let mut layout =
            Layout { parts: Vec::new(), entries: Vec::new(), divisions: 1, left_out: Vec::new() };
        layout.divide(tune);
        let mut waiting: Vec<&Voice> =
            tune.voices.iter().filter(|voice| !voice.bars.is_empty()).collect();
        match tune.groupings.first() {
            Some(grouping) => {
                layout.groups(&grouping.groups, &mut waiting, &mut 0);
                layout.beside(&waiting);
            }
            None => waiting.iter().for_each(|voice| layout.part(vec![voice])),
        }
        if layout.parts.is_empty() {
            waiting.iter().for_each(|voice| layout.part(vec![voice]));
        }
        if tune.groupings.len() > 1 {
            layout.left_out.push(
                "The score keeps one arrangement of staves; a later %%score is left out."
                    .to_owned(),
            );
        }
        layout
    }

    /// The smallest division in which every length is whole.
    fn divide(&mut self, tune: &Tune) {
        let mut below = BTreeSet::new();
        let mut take = |time: Time| below.insert((time * Time::new(4, 1)).denominator());
        for voice in &tune.voices {
            voice.events.iter().for_each(|event| {
                take(event.offset);
                take(event.duration);
            });
        }
        tune.bars.iter().for_each(|bar| {
            take(bar.length);
        });
        tune.tempi.iter().for_each(|tempo| {
            take(tempo.offset);
        });
        for denominator in below {
            let common = self.divisions / gcd(self.divisions, denominator) * denominator;
            if common > FINEST {
                self.left_out.push(
                    "Some lengths are so fine that they are rounded, by less than a billionth of a quarter note."
                        .to_owned(),
                );
                self.divisions = FINEST;
                return;
            }
            self.divisions = common;
        }
    }

    /// So many divisions.
    pub(super) fn ticks(&self, time: Time) -> i64 {
        let scaled = i128::from(time.numerator()) * 4 * i128::from(self.divisions);
        let below = i128::from(time.denominator());
        i64::try_from((scaled + below / 2).div_euclid(below)).unwrap_or(i64::MAX)
    }

    fn groups(&mut self, groups: &[Group], waiting: &mut Vec<&'a Voice>, count: &mut usize) {
        let mut begun = None;
        for group in groups {
            if group.bars_joined && begun.is_none() && groups.len() > 1 {
                *count += 1;
                begun = Some(*count);
                self.entries.push(Entry::Begin(*count, "none", true));
            }
            self.group(group, waiting, count);
            if !group.bars_joined
                && let Some(number) = begun.take()
            {
                self.entries.push(Entry::End(number));
            }
        }
        self.entries.extend(begun.map(Entry::End));
    }

    fn group(&mut self, group: &Group, waiting: &mut Vec<&'a Voice>, count: &mut usize) {
        let sign = match group.kind {
            GroupKind::Voice => return self.part(taken(&group.id, waiting)),
            GroupKind::Floating => return self.floating(&group.id, waiting),
            GroupKind::Staff => {
                let mut ids = Vec::new();
                all_ids(&group.members, &mut ids);
                let voices = ids.into_iter().flat_map(|id| taken(id, waiting)).collect();
                return self.part(voices);
            }
            GroupKind::Brace => "brace",
            GroupKind::Bracket => "bracket",
        };
        *count += 1;
        let number = *count;
        let through = group.members.split_last().is_some_and(|(_, members)| {
            !members.is_empty() && members.iter().all(|member| member.bars_joined)
        });
        self.entries.push(Entry::Begin(number, sign, through));
        if through {
            group.members.iter().for_each(|member| self.group(member, waiting, count));
        } else {
            self.groups(&group.members, waiting, count);
        }
        self.entries.push(Entry::End(number));
    }

    fn floating(&mut self, id: &str, waiting: &mut Vec<&'a Voice>) {
        let voices = taken(id, waiting);
        match self.parts.last_mut() {
            Some(last) if !voices.is_empty() => {
                self.left_out.push(format!(
                    "Voice {id} moves between two staves; it is written on the upper one."
                ));
                let mut all: Vec<&Voice> = last.voices.iter().map(|one| one.voice).collect();
                all.extend(voices);
                last.voices = numbered(all);
            }
            _ => self.part(voices),
        }
    }

    fn part(&mut self, voices: Vec<&'a Voice>) {
        if voices.is_empty() {
            return;
        }
        self.entries.push(Entry::Part(self.parts.len()));
        let id = format!("P{}", self.parts.len() + 1);
        self.parts.push(Part { id, voices: numbered(voices) });
    }

    /// Voices that the arrangement of staves does not name.
    fn beside(&mut self, voices: &[&'a Voice]) {
        if self.parts.is_empty() {
            return;
        }
        for voice in voices {
            self.left_out.push(format!(
                "Voice {} is not named in %%score, so it is not on the page.",
                voice.id
            ));
        }
    }
}

fn taken<'a>(id: &str, waiting: &mut Vec<&'a Voice>) -> Vec<&'a Voice> {
    let place = waiting.iter().position(|voice| voice.id == id);
    place.map(|place| waiting.remove(place)).into_iter().collect()
}

fn all_ids<'g>(groups: &'g [Group], ids: &mut Vec<&'g str>) {
    for group in groups {
        if !group.id.is_empty() {
            ids.push(&group.id);
        }
        all_ids(&group.members, ids);
    }
}

fn numbered<'a>(voices: Vec<&'a Voice>) -> Vec<PartVoice<'a>> {
    let mut number = 1;
    let one = |voice: &'a Voice| {
        let layers = voice.bars.iter().map(|bar| bar.layers.max(1)).max().unwrap_or(1);
        let part = PartVoice { voice, number, layers };
        number += usize::from(part.layers);
        part
    };
    voices.into_iter().map(one).collect()
}

fn gcd(a: i64, b: i64) -> i64 {
    if b == 0 { a.max(1) } else { gcd(b, a % b) }
}
