//! What the search does not look for: open fifths, suspended fourths and seconds that stay, added sixths, ninths.
//!
//! The search goes through triads and sevenths, so that a passing note makes no chord. What it found is looked at once
//! more: a note that sounds all along is no passing note, and a third that never sounds is none. (Open Music Theory, "Chord
//! symbols"; where a sixth chord or a seventh is heard is common practice, no source.)

use super::cells::{Cell, GRID, NAMES, fifths, slot};
use super::chords::Heard;
use super::keys::{Local, Stretch};

/// Per cent of its time that a name has to sound to be more than a passing note …
const THERE: i64 = 25;
/// … and to belong to a chord that would be whole without it.
const THROUGHOUT: i64 = 90;

/// Names the chords anew, and joins what has become one.
pub(super) fn coloured(cells: &[Cell], stretches: &mut Vec<Stretch>, keys: &mut Vec<Local>) {
    late(cells, stretches, keys);
    let before = stretches.clone();
    for at in 0..before.len() {
        let Some(key) = keys.get(at).copied() else { break };
        let neighbours = Neighbours {
            last: at.checked_sub(1).and_then(|last| before.get(last)),
            next: before.get(at + 1),
        };
        let own = Own { cells, stretch: before[at], key, neighbours };
        if let Some(chord) = own.coloured() {
            stretches[at].chord = chord;
            // What belongs to the chord beside it stands in its key.
            let beside = own.beside(chord);
            if let Some(other) = beside.and_then(|by| keys.get((at as isize + by) as usize)) {
                keys[at] = *other;
            }
        }
    }
    let mut joined: Vec<(Stretch, Local)> = Vec::with_capacity(stretches.len());
    for (stretch, key) in stretches.drain(..).zip(keys.drain(..)) {
        match joined.last_mut() {
            Some((last, own))
                if last.chord == stretch.chord && *own == key && last.end == stretch.first =>
            {
                last.end = stretch.end;
            }
            _ => joined.push((stretch, key)),
        }
    }
    (*stretches, *keys) = joined.into_iter().unzip();
}

/// A seventh that comes to a major triad and stays until it goes where a dominant goes is no passing note, if it sounds
/// as long as a quarter note: it makes a chord of its own where the triad was whole before, else the triad was none. So
/// does a raised fifth that goes on up.
fn late(cells: &[Cell], stretches: &mut Vec<Stretch>, keys: &mut Vec<Local>) {
    let mut at = 0;
    while at < stretches.len() {
        let own = stretches[at];
        let next = stretches.get(at + 1).map(|next| next.chord);
        at += 1;
        let Some(next) = next.filter(|_| own.chord.kind().members[..] == [0, 4, 1]) else {
            continue;
        };
        let root = own.chord.root;
        let (member, gone, name) = match next {
            next if next.root == root - 1 && sounds_last(cells, &own, root - 2) => {
                (-2, None, "dominant seventh")
            }
            next if next.has(root + 3) => (8, Some(1), "augmented triad"),
            _ => continue,
        };
        let heard = |cell: &Cell, member: i32| cell.heard[slot(root + member)] > 0;
        let of = &cells[own.first..own.end];
        let stays =
            |cell: &&Cell| heard(cell, member) && gone.is_none_or(|gone: i32| !heard(cell, gone));
        let with = of.iter().rev().take_while(stays).count();
        let (before, after) = of.split_at(of.len() - with);
        let length: i64 = after.iter().map(|cell| cell.end - cell.onset).sum();
        let Some(new) = Heard::named(root, name).filter(|_| length >= 2 * GRID) else { continue };
        let whole = [0, 4, 1].iter().all(|member| before.iter().any(|cell| heard(cell, *member)));
        if whole {
            let split = own.end - with;
            stretches[at - 1].end = split;
            stretches.insert(at, Stretch { first: split, end: own.end, chord: new });
            keys.insert(at, keys[at - 1]);
            at += 1;
        } else if gone.is_none() && before.iter().all(|cell| !heard(cell, member)) {
            stretches[at - 1].chord = new;
        }
    }
}

/// Whether a name sounds at the end of a stretch.
fn sounds_last(cells: &[Cell], stretch: &Stretch, name: i32) -> bool {
    cells[stretch.end - 1].heard[slot(name)] > 0
}

/// The chords beside one.
struct Neighbours<'a> {
    last: Option<&'a Stretch>,
    next: Option<&'a Stretch>,
}

/// A chord with what is around it.
struct Own<'a> {
    cells: &'a [Cell],
    stretch: Stretch,
    key: Local,
    neighbours: Neighbours<'a>,
}

impl Own<'_> {
    fn cells(&self) -> &[Cell] {
        &self.cells[self.stretch.first..self.stretch.end]
    }

    /// Per cent of the time that a name sounds.
    fn share(&self, name: i32) -> i64 {
        let length = |cell: &&Cell| cell.end - cell.onset;
        let all: i64 =
            self.cells().iter().filter(|cell| cell.all > 0).map(|cell| length(&cell)).sum();
        let heard = self.cells().iter().filter(|cell| cell.heard[slot(name)] > 0);
        heard.map(|cell| length(&cell)).sum::<i64>() * 100 / all.max(1)
    }

    /// Whether some names sound at one moment.
    fn together(&self, names: &[i32]) -> bool {
        let all = |cell: &&Cell| names.iter().all(|name| cell.heard[slot(*name)] > 0);
        self.cells().iter().any(|cell| all(&cell))
    }

    fn bass(&self) -> Option<i32> {
        self.cells().iter().find_map(|cell| cell.bass).map(|(name, _)| fifths(name))
    }

    fn coloured(&self) -> Option<Heard> {
        let found = self.suspended().or_else(|| self.open_fifth());
        found.or_else(|| self.sixth()).or_else(|| self.ninth())
    }

    /// Whether a neighbour's chord is on a root and has a third that sounds.
    fn has_third(&self, other: &Stretch, root: i32) -> bool {
        let cells = &self.cells[other.first..other.end];
        let third = other.chord.kind().members.get(1).copied();
        other.chord.root == root
            && third.is_some_and(|third| matches!(third, 4 | -3))
            && third
                .is_some_and(|third| cells.iter().any(|cell| cell.heard[slot(root + third)] > 0))
    }

    /// Where the neighbour is whose chord this is: −1 before, 1 after.
    fn beside(&self, chord: Heard) -> Option<isize> {
        let same = |other: Option<&Stretch>| other.is_some_and(|other| other.chord == chord);
        match (same(self.neighbours.next), same(self.neighbours.last)) {
            (true, _) => Some(1),
            (_, true) => Some(-1),
            _ => None,
        }
    }

    /// A fourth or second in the place of the third: resolved in the next chord it belongs to that, else it stays.
    fn suspended(&self) -> Option<Heard> {
        let names: Vec<i32> =
            (0..NAMES).map(fifths).filter(|name| self.share(*name) >= THERE).collect();
        let (first, last) = (*names.first()?, *names.last()?);
        // Three neighbours on the line of fifths, or four: F C G, B flat F C G.
        if !(3..=4).contains(&names.len())
            || last - first != names.len() as i32 - 1
            || !self.together(&names)
        {
            return None;
        }
        let root = last - 1;
        let third = |root: i32| self.share(root + 4) == 0 && self.share(root - 3) == 0;
        for root in [root, root - 1] {
            let next = self.neighbours.next.filter(|next| self.has_third(next, root));
            if let Some(next) = next.filter(|_| third(root) && names.contains(&root)) {
                return Some(next.chord);
            }
        }
        match (names.len(), self.bass()? - root) {
            (3, 0) if third(root) => Heard::named(root, "suspended fourth"),
            (3, -1) if third(root - 1) => Heard::named(root - 1, "suspended second"),
            (4, 0) if third(root) => Heard::named(root, "seventh suspended fourth"),
            _ => None,
        }
    }

    /// No third: that of the chord beside it on the same root, or none.
    fn open_fifth(&self) -> Option<Heard> {
        let Stretch { chord, .. } = self.stretch;
        let members = &chord.kind().members;
        let (root, silent) = (chord.root, |name: i32| self.share(name) == 0);
        if members.len() != 3
            || !silent(root + 4)
            || !silent(root - 3)
            || !self.together(&[root, root + 1])
        {
            return None;
        }
        let beside = [self.neighbours.last, self.neighbours.next];
        let chords = beside.into_iter().flatten().filter(|other| self.has_third(other, root));
        let same = chords.map(|other| other.chord).next();
        same.or_else(|| Heard::named(root, "power chord (open fifth)"))
    }

    /// A minor seventh chord over its third may be a triad with a sixth: over the tonic, or beside that triad, unless it
    /// goes on as the seventh does.
    fn sixth(&self) -> Option<Heard> {
        let Stretch { chord, .. } = self.stretch;
        let (third, name) = match chord.kind().members[..] {
            [0, -3, 1, -2] => (4, "major sixth (added)"),
            [0, -3, -6, -2] => (-3, "minor sixth (added)"),
            _ => return None,
        };
        let root = chord.root - 3;
        let whole =
            chord.kind().members.iter().all(|member| self.share(chord.root + member) >= THERE);
        if !whole || self.bass() != Some(root) {
            return None;
        }
        if self.neighbours.next.is_some_and(|next| next.chord.root == chord.root - 1) {
            return None;
        }
        let triad = |other: &Stretch| {
            other.chord.root == root && other.chord.kind().members[1..] == [third, 1]
        };
        let tonic = self.key.tonic == root && self.key.minor == (third == -3);
        let beside = [self.neighbours.last, self.neighbours.next].into_iter().flatten().any(triad);
        (tonic || beside).then(|| Heard::named(root, name)).flatten()
    }

    /// A ninth that sounds all along, and does not go to the root while the chord lasts.
    fn ninth(&self) -> Option<Heard> {
        let Stretch { chord, .. } = self.stretch;
        let members = &chord.kind().members;
        let there = |member: i32| self.share(chord.root + member) >= THROUGHOUT;
        let ninths = [2, -5].into_iter().find(|ninth| there(*ninth))?;
        let quality = match (&members[1..], ninths) {
            ([4, 1, -2], 2) => "dominant ninth",
            ([4, 1, -2], -5) => "dominant flat nine",
            ([4, 1, 5], 2) => "major ninth",
            ([-3, 1, -2], 2) => "minor ninth",
            ([4, 1], 2) => "added ninth",
            ([-3, 1], 2) => "minor added ninth",
            _ => return None,
        };
        // What sounds of it besides the fifth, and nothing but it.
        let essential = members.iter().filter(|member| **member != 1).all(|member| there(*member));
        let names = (0..NAMES).map(fifths).filter(|name| self.share(*name) >= THERE);
        let alone = names.into_iter().all(|name| chord.has(name) || name == chord.root + ninths);
        let goes_on = self.neighbours.next.is_some_and(|next| next.chord.root == chord.root);
        let root = self.bass() == Some(chord.root);
        // There before: a suspension over two chords, or a pedal note.
        let name = chord.root + ninths;
        let sounds = |cell: Option<&Cell>| cell.is_some_and(|cell| cell.heard[slot(name)] > 0);
        let before = self.stretch.first.checked_sub(1).and_then(|at| self.cells.get(at));
        let seventh = |other: Option<&Stretch>| {
            other.is_none_or(|other| other.chord.kind().members.len() > 3)
        };
        // Among seventh chords it is one more of them.
        let among =
            members.len() > 3 && seventh(self.neighbours.last) && seventh(self.neighbours.next);
        let held = !among && sounds(before);
        (essential && alone && root && !goes_on && !held)
            .then(|| Heard::named(chord.root, quality))
            .flatten()
    }
}
