//! What each part plays in each bar, as a class: two bars are of one class where their rhythm is the same and their
//! pitches move alike, at whatever pitch.
//!
//! The highest notes of a bar are its line. Two lines move alike where at most a quarter of the moves from note to note
//! differs by more than a whole step (own proposal, from memory): the same figure on the next chord.

use super::table::{Table, Ticks};
use std::collections::HashMap;

/// The class of a bar; bars with the same number are alike.
pub type Class = u32;

/// What one part plays in one bar.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Cell {
    /// Its class.
    pub class: Class,
    /// The class of its rhythm alone.
    pub rhythm: Class,
    /// So many notes begin, those of a chord counted once.
    pub onsets: usize,
    /// The lowest and the highest pitch that begin.
    pub compass: (i32, i32),
    /// A bit for each pitch class that begins.
    pub classes: u16,
}

/// Of each part, bar by bar, what begins in it; none where nothing begins.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Cells {
    /// By part, then by bar.
    pub parts: Vec<Vec<Option<Cell>>>,
    /// So many classes there are.
    pub classes: usize,
}

/// A move larger by more than this is another.
const SMALL: i32 = 2;
/// So many bars of one rhythm that are unlike each other are kept in mind; one that comes later is compared with these.
const KEPT: usize = 24;

/// The rhythm of a bar: its length, and when its notes begin and end.
type Rhythm = Vec<Ticks>;

/// The bars of one rhythm.
struct Alike {
    rhythm: Class,
    /// Their moves from note to note and their classes, what came last first.
    lines: Vec<(Vec<i32>, Class)>,
}

impl Cells {
    /// Of a table.
    pub fn of(table: &Table) -> Cells {
        let mut places: Vec<Vec<Vec<usize>>> =
            vec![vec![Vec::new(); table.bars.len()]; table.pitched.len()];
        for (at, sound) in table.sounds.iter().enumerate() {
            places[sound.part as usize][sound.bar as usize].push(at);
        }
        let mut known: HashMap<Rhythm, Alike> = HashMap::new();
        let mut cells = Cells::default();
        for (part, bars) in places.iter().enumerate() {
            let cell = |(bar, inside): (usize, &Vec<usize>)| {
                let (rhythm, line) = line(table, bar, inside)?;
                let sounds = || inside.iter().map(|at| &table.sounds[*at]);
                let pitched = table.pitched[part];
                let moves: Vec<i32> = match pitched {
                    true => line.windows(2).map(|pair| pair[1] - pair[0]).collect(),
                    false => Vec::new(),
                };
                let rhythms = known.len() as Class;
                let own = known.entry(rhythm);
                let alike = own.or_insert_with(|| Alike { rhythm: rhythms, lines: Vec::new() });
                let (rhythm, alike) = (alike.rhythm, &mut alike.lines);
                let class = match alike.iter().position(|(other, _)| are_alike(other, &moves)) {
                    Some(place) => {
                        // What came last is met first.
                        let found = alike.remove(place);
                        let class = found.1;
                        alike.insert(0, found);
                        class
                    }
                    None => {
                        let class = cells.classes as Class;
                        cells.classes += 1;
                        alike.insert(0, (moves, class));
                        alike.truncate(KEPT);
                        class
                    }
                };
                let low = sounds().map(|sound| sound.midi).min()?;
                let high = sounds().map(|sound| sound.midi).max()?;
                let classes = sounds().fold(0, |all, sound| all | 1 << sound.midi.rem_euclid(12));
                Some(Cell { class, rhythm, onsets: line.len(), compass: (low, high), classes })
            };
            let row = bars.iter().enumerate().map(cell).collect();
            cells.parts.push(row);
        }
        cells
    }

    /// What a part plays in a bar.
    pub fn at(&self, part: usize, bar: usize) -> Option<&Cell> {
        self.parts.get(part)?.get(bar)?.as_ref()
    }
}

/// When the notes of a bar begin and end, and the highest at each moment.
fn line(table: &Table, bar: usize, inside: &[usize]) -> Option<(Rhythm, Vec<i32>)> {
    let own = table.bars.get(bar)?;
    let mut rhythm = vec![own.end - own.start];
    let mut line: Vec<i32> = Vec::new();
    let mut last = None;
    for sound in inside.iter().map(|at| &table.sounds[*at]) {
        if last == Some(sound.onset) {
            // Of one moment the highest comes last.
            if let (Some(pitch), Some(end)) = (line.last_mut(), rhythm.last_mut()) {
                (*pitch, *end) = (sound.midi, (sound.end - own.start).min(own.end - own.start));
            }
            continue;
        }
        last = Some(sound.onset);
        rhythm.push(sound.onset - own.start);
        rhythm.push((sound.end - own.start).min(own.end - own.start));
        line.push(sound.midi);
    }
    (!line.is_empty()).then_some((rhythm, line))
}

/// Whether two lines of one rhythm move alike.
fn are_alike(a: &[i32], b: &[i32]) -> bool {
    let other = a.iter().zip(b).filter(|(a, b)| (**a - **b).abs() > SMALL).count();
    a.len() == b.len() && other <= a.len() / 4
}
