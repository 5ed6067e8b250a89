//! The tune in cells of an eighth note: how long each sound is heard in each.

use super::sounds::{Sound, TICKS};

/// Ticks in a cell.
const CELL: i64 = TICKS / 8;
/// A sound counts no more than this in a cell, however many voices have it.
const MOST: i16 = 12;
/// In eighth notes: a longer cell counts as this long.
const LONGEST: i64 = 4;

/// A stretch in which something begins, up to the next such stretch.
pub(super) struct Cell {
    /// Its length in eighth notes, 1 to 4.
    pub(super) eighths: i16,
    /// How much each sound is heard, in 32nd notes and one more where it begins; by its place on the line of
    /// fifths, modulo 12.
    pub(super) heard: [i16; 12],
    /// The same for the names typed, by their place on the line of fifths, from −20 to 27.
    pub(super) typed: Option<Box<[i16; 48]>>,
    /// The typed signature.
    pub(super) signature: Option<i8>,
    /// Whether the typed key is minor, where what is typed counts.
    pub(super) minor: Option<bool>,
}

/// The place of a name in tables that begin at −20.
pub(super) fn slot(fifths: i32) -> usize {
    (fifths + 20).clamp(0, 47) as usize
}

/// The cells of a tune, and for each sound the one it begins in. Sounds are sorted by their beginning.
pub(super) fn cells(sounds: &[Sound], names_count: bool) -> (Vec<Cell>, Vec<usize>) {
    let mut starts: Vec<i64> = sounds.iter().map(|s| s.onset.div_euclid(CELL) * CELL).collect();
    starts.dedup();
    let last = sounds.iter().map(|sound| sound.end).max().unwrap_or(0) + CELL;
    let until = |cell: usize| starts.get(cell + 1).copied().unwrap_or(last);
    let empty = |(cell, start): (usize, &i64)| Cell {
        eighths: ((until(cell) - start) / CELL).clamp(1, LONGEST) as i16,
        heard: [0; 12],
        typed: names_count.then(|| Box::new([0; 48])),
        signature: None,
        minor: None,
    };
    let mut cells: Vec<Cell> = starts.iter().enumerate().map(empty).collect();
    let mut begins = Vec::with_capacity(sounds.len());
    let mut first = 0;
    for sound in sounds {
        while until(first) <= sound.onset {
            first += 1;
        }
        begins.push(first);
        cells[first].signature = sound.signature;
        cells[first].minor = sound.minor.filter(|_| names_count);
        let class = (sound.midi * 7).rem_euclid(12) as usize;
        let add = |cell: &mut Cell, weight: i64| {
            cell.heard[class] = (cell.heard[class] + weight as i16).min(MOST);
            if let Some(typed) = &mut cell.typed {
                let heard = &mut typed[slot(sound.typed)];
                *heard = (*heard + weight as i16).min(MOST);
            }
        };
        add(&mut cells[first], 1);
        let mut cell = first;
        while cell < starts.len() && starts[cell] < sound.end {
            let shared = sound.end.min(until(cell)) - sound.onset.max(starts[cell]);
            add(&mut cells[cell], (shared * 32 / TICKS).min(8));
            cell += 1;
        }
    }
    for cell in 1..cells.len() {
        cells[cell].signature = cells[cell].signature.or(cells[cell - 1].signature);
        cells[cell].minor = cells[cell].minor.or(cells[cell - 1].minor);
    }
    (cells, begins)
}
