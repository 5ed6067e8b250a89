//! The order in which the bars are played: repeats, endings, parts, returns.
//!
//! abc standard v2.1, 4.8 to 4.10 (repeats and endings) and 3.1.9 (parts). D.C., D.S., Fine and Coda are
//! common practice, no source; an order of parts outranks them.

mod returns;

use self::returns::Returns;
use crate::tune::Tune;
use std::ops::Range;

/// No passage is played more often than this, whatever is typed.
const MOST_TIMES: u8 = 16;
/// No piece is longer than this when it is played, in bars.
const LONGEST: usize = 100_000;

/// A passage that is played several times: bars counted from 0, the last one included.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Repeat {
    /// Its first bar.
    pub from: u32,
    /// Its last bar.
    pub to: u32,
    /// How often it is played.
    pub times: u8,
}

/// An ending: bars counted from 0, the last one included.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Ending {
    /// The times it is for.
    pub times: Vec<u8>,
    /// Its first bar.
    pub from: u32,
    /// Its last bar.
    pub to: u32,
}

/// What the voices together say of one bar.
#[derive(Clone, Default)]
struct Signs {
    opens: bool,
    closes: u8,
    endings: Vec<u8>,
    /// A double line closes it.
    double: bool,
}

fn signs(tune: &Tune) -> Vec<Signs> {
    let mut all = vec![Signs::default(); tune.bars.len()];
    for voice in &tune.voices {
        for (bar, signs) in voice.bars.iter().zip(&mut all) {
            signs.opens |= bar.repeat_opens > 0;
            signs.closes = signs.closes.max(bar.repeat_closes);
            signs.double |= bar.section_ends;
            if signs.endings.is_empty() {
                signs.endings.clone_from(&bar.endings);
            }
        }
    }
    all
}

/// The last bar of the ending that begins with bar `from`.
fn ending_end(signs: &[Signs], from: usize) -> usize {
    let closes = |bar: usize| {
        signs[bar].closes > 0
            || signs[bar].double
            || signs.get(bar + 1).is_none_or(|next| !next.endings.is_empty() || next.opens)
    };
    (from..signs.len()).find(|&bar| closes(bar)).unwrap_or(from)
}

/// A walk through a passage, repeats and endings obeyed.
struct Walk<'a> {
    signs: &'a [Signs],
    repeats: Vec<Repeat>,
    order: Vec<u32>,
    /// Where a repeat goes back to, and whether a sign says so.
    start: usize,
    opened: bool,
    pass: u8,
    in_ending: bool,
    returns: Returns,
}

impl Walk<'_> {
    fn run(&mut self, passage: Range<usize>) {
        let mut bar = passage.start;
        self.begin(bar, false);
        let mut jumped = false;
        while bar < passage.end && self.order.len() < LONGEST {
            let signs = &self.signs[bar];
            if signs.opens && !std::mem::take(&mut jumped) {
                self.begin(bar, true);
            }
            jumped = false;
            if !signs.endings.is_empty() && !signs.endings.contains(&self.pass) {
                let end = ending_end(self.signs, bar);
                bar = end + 1;
                continue;
            }
            self.in_ending |= !signs.endings.is_empty();
            self.order.push(bar as u32);
            if signs.closes > 0 && self.pass < self.times(bar) {
                if self.pass == 1 {
                    self.note(bar);
                }
                self.pass += 1;
                bar = self.start;
                self.in_ending = false;
                jumped = true;
                continue;
            }
            // The ending for this time may come right after a repeat that has none of its own.
            let next = self.signs.get(bar + 1).filter(|next| !next.opens);
            let ending = next.is_some_and(|next| next.endings.contains(&self.pass));
            let section = signs.double && (!self.opened || self.in_ending);
            if signs.closes > 0 && !ending || signs.closes == 0 && section {
                self.begin(bar + 1, false);
            }
            bar = match self.returns.take_back(bar) {
                Some(to) => self.again(to, bar),
                None => bar + 1,
            };
        }
    }

    /// Plays again from `bar` after a return that stands at `from`, and gives the bar that the music goes on
    /// with.
    fn again(&mut self, mut bar: usize, from: usize) -> usize {
        let over = self.signs.len();
        while bar <= from && self.order.len() < LONGEST {
            let endings = &self.signs[bar].endings;
            if !endings.is_empty() && !self.is_last_time(bar) {
                bar = ending_end(self.signs, bar) + 1;
                continue;
            }
            self.order.push(bar as u32);
            if self.returns.is_fine(bar) {
                return over;
            }
            if let Some(coda) = self.returns.take_coda(bar) {
                self.begin(coda, false);
                return coda;
            }
            bar += 1;
        }
        self.begin(bar, false);
        bar
    }

    /// Whether the ending that begins with this bar is for the last time of its passage.
    fn is_last_time(&self, bar: usize) -> bool {
        let mut most = None;
        let mut next = bar;
        while self
            .signs
            .get(next)
            .is_some_and(|signs| !signs.endings.is_empty() && (next == bar || !signs.opens))
        {
            most = most.max(self.signs[next].endings.iter().max());
            next = ending_end(self.signs, next) + 1;
        }
        self.signs[bar].endings.iter().max() == most
    }

    fn begin(&mut self, bar: usize, opened: bool) {
        (self.start, self.opened, self.pass, self.in_ending) = (bar, opened, 1, false);
    }

    /// How often the passage that closes with `bar` is played: its endings say, else its sign.
    fn times(&self, bar: usize) -> u8 {
        let mut most = self.signs[self.start..=bar]
            .iter()
            .flat_map(|signs| signs.endings.iter().copied())
            .max();
        let mut next = bar + 1;
        while self.signs.get(next).is_some_and(|signs| !signs.endings.is_empty() && !signs.opens) {
            most = most.max(self.signs[next].endings.iter().copied().max());
            next = ending_end(self.signs, next) + 1;
        }
        most.unwrap_or(0).max(self.signs[bar].closes).min(MOST_TIMES)
    }

    /// Keeps the passage that goes back after `bar`.
    fn note(&mut self, bar: usize) {
        let times = self.times(bar);
        self.repeats.push(Repeat { from: self.start as u32, to: bar as u32, times });
    }
}

fn walk(tune: &Tune, returns: Returns) -> (Vec<Repeat>, Vec<u32>) {
    let signs = signs(tune);
    let mut walk = Walk {
        signs: &signs,
        repeats: Vec::new(),
        order: Vec::new(),
        start: 0,
        opened: false,
        pass: 1,
        in_ending: false,
        returns,
    };
    match parts(tune) {
        Some(parts) => {
            walk.returns = Returns::default();
            parts.into_iter().for_each(|part| walk.run(part));
        }
        None => walk.run(0..signs.len()),
    }
    (walk.repeats, walk.order)
}

/// The passages to play in the order of parts; `None` where the header gives none, or names a part that no
/// mark begins.
fn parts(tune: &Tune) -> Option<Vec<Range<usize>>> {
    let marks: Vec<_> = tune.sections.iter().filter(|mark| mark.part).collect();
    let order = tune.part_order.as_deref().filter(|order| !order.is_empty())?;
    order
        .chars()
        .map(|letter| {
            let place = marks.iter().position(|mark| mark.label.starts_with(letter))?;
            let from = marks[place].bar as usize;
            let later = marks.iter().map(|mark| mark.bar as usize).filter(|bar| *bar > from).min();
            Some(from..later.unwrap_or(tune.bars.len()).min(tune.bars.len()))
        })
        .collect()
}

/// The bars in the order they are played, counted from 0.
pub fn playing_order(tune: &Tune) -> Vec<u32> {
    walk(tune, Returns::of(tune)).1
}

/// The passages that are played more than once, in the order they are closed; of one with endings, up to the
/// first that goes back.
pub fn repeats(tune: &Tune) -> Vec<Repeat> {
    walk(tune, Returns::default()).0
}

/// The endings, in order.
pub fn endings(tune: &Tune) -> Vec<Ending> {
    let signs = signs(tune);
    let begins = (0..signs.len()).filter(|&bar| !signs[bar].endings.is_empty());
    begins
        .map(|bar| Ending {
            times: signs[bar].endings.clone(),
            from: bar as u32,
            to: ending_end(&signs, bar) as u32,
        })
        .collect()
}

/// The order of parts written out: `((A2B)2.A)2` is AABAABAAABAABA (3.1.9).
pub fn written_out(order: &str) -> String {
    let chars: Vec<char> = order.chars().filter(|c| !c.is_whitespace() && *c != '.').collect();
    let mut at = 0;
    parts_at(&chars, &mut at, 0)
}

fn parts_at(chars: &[char], at: &mut usize, depth: u32) -> String {
    let mut all = String::new();
    while let Some(&c) = chars.get(*at) {
        *at += 1;
        let unit = match c {
            '(' if depth < 32 => parts_at(chars, at, depth + 1),
            ')' if depth > 0 => break,
            c if c.is_ascii_alphabetic() => c.to_string(),
            _ => continue,
        };
        let digits: String = chars[*at..].iter().take_while(|c| c.is_ascii_digit()).collect();
        *at += digits.len();
        let times = digits.parse::<usize>().unwrap_or(1).min(usize::from(MOST_TIMES) * 4);
        if all.len() + unit.len() * times <= 4096 {
            all.push_str(&unit.repeat(times));
        }
    }
    all
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::page::SectionMark;
    use crate::tune::{Bar, TuneBar, Voice};
    use recte_theory::Time;

    /// `|` bars: `:` before a bar opens, after it closes; a digit begins an ending; `!` ends a section.
    fn tune(bars: &[&str]) -> Tune {
        let bar = |text: &&str| Bar {
            repeat_opens: u8::from(text.starts_with(':')),
            repeat_closes: if text.ends_with(':') && text.len() > 1 { 2 } else { 0 },
            section_ends: text.ends_with('!'),
            endings: text.bytes().filter(u8::is_ascii_digit).map(|b| b - b'0').collect(),
            ..Bar::default()
        };
        let empty = TuneBar { start: Time::ZERO, length: Time::WHOLE, number: 1 };
        let voice = Voice { bars: bars.iter().map(bar).collect(), ..Voice::default() };
        Tune { voices: vec![voice], bars: vec![empty; bars.len()], ..Tune::default() }
    }

    #[test]
    fn once_twice_and_with_endings() {
        assert_eq!(playing_order(&tune(&["a", "b"])), [0, 1]);
        assert_eq!(playing_order(&tune(&[":a", "b:", "c"])), [0, 1, 0, 1, 2]);
        assert_eq!(playing_order(&tune(&["a", "b:", "c:"])), [0, 1, 0, 1, 2, 2]);
        assert_eq!(playing_order(&tune(&[":a", "1b:", "2c!", "d"])), [0, 1, 0, 2, 3]);
        assert_eq!(playing_order(&tune(&[":a", "12b:", "3c!", "d:"])), [0, 1, 0, 1, 0, 2, 3, 3]);
        assert_eq!(playing_order(&tune(&[":a", "1b:", "2c:", ":d:"])), [0, 1, 0, 2, 3, 3]);
        assert_eq!(playing_order(&tune(&["a", "b:", "2c!", "d:"])), [0, 1, 0, 1, 2, 3, 3]);
    }

    #[test]
    fn back_to_the_double_bar() {
        assert_eq!(playing_order(&tune(&["a!", "b:"])), [0, 1, 1]);
        assert_eq!(playing_order(&tune(&[":a!", "b:"])), [0, 1, 0, 1]);
        assert_eq!(repeats(&tune(&["a!", "b:"])), [Repeat { from: 1, to: 1, times: 2 }]);
        let ended = repeats(&tune(&["a!", "b", "1c:", "2d!"]));
        assert_eq!(ended, [Repeat { from: 1, to: 2, times: 2 }]);
    }

    #[test]
    fn parts_in_their_order() {
        let mark = |label: &str, bar| SectionMark {
            label: label.into(),
            bar,
            part: true,
            span: Default::default(),
        };
        let mut parted = tune(&["a", ":b:"]);
        parted.part_order = Some("ABA".into());
        parted.sections = vec![mark("A", 0), mark("B", 1)];
        assert_eq!(playing_order(&parted), [0, 1, 1, 0]);
    }

    #[test]
    fn the_order_of_parts_written_out() {
        assert_eq!(written_out("((A2B)2.A)2"), "AABAABAAABAABA");
        assert_eq!(written_out("A(B"), "AB");
        assert_eq!(written_out(&"(".repeat(500)), "");
    }
}
