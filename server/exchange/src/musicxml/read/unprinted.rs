//! Notes that are not printed: they are there for the ear only.

use super::measure::PartReader;
use crate::sheet::{Event, Mark};
use recte_score::Meaning;

impl PartReader {
    /// A voice that has only unprinted notes in a measure and plays out an ornament there is left out, since the
    /// ornament says it all; other unprinted notes stay.
    pub(super) fn settle_unprinted(&mut self) {
        let unprinted = std::mem::take(&mut self.unprinted);
        if unprinted.is_empty() {
            return;
        }
        let events = || self.now.events.iter().enumerate();
        let seen = |(place, event): &(usize, &Event)| {
            !event.is_space() && unprinted.binary_search(place).is_err()
        };
        let ornaments: Vec<&Event> = events()
            .filter(seen)
            .map(|(_, event)| event)
            .filter(|event| ornamented(event))
            .collect();
        let plays_out = |event: &Event| {
            let under = |ornament: &&Event| {
                ornament.staff == event.staff
                    && (ornament.onset..ornament.end()).contains(&event.onset)
            };
            ornaments.iter().any(under)
        };
        let mut voices: Vec<u16> = unprinted
            .iter()
            .filter_map(|place| self.now.events.get(*place))
            .filter(|event| plays_out(event))
            .map(|event| event.voice)
            .collect();
        voices.retain(|voice| !events().filter(seen).any(|(_, event)| event.voice == *voice));
        let kept = |place: &usize| {
            self.now.events.get(*place).is_some_and(|event| !voices.contains(&event.voice))
        };
        if unprinted.iter().any(kept) {
            self.notice("hidden notes are written like others");
        }
        if !voices.is_empty() {
            self.now.events.retain(|event| !voices.contains(&event.voice));
            self.notice("hidden notes that play out an ornament are left out");
        }
    }
}

/// Whether it has a sign that is played as several notes.
fn ornamented(event: &Event) -> bool {
    use Meaning::{Mordent, Roll, Slide, Trill, TrillStart, Turn};
    let several = |mark: &Mark| {
        let Mark::Decoration(name) = mark else { return false };
        let meaning = Meaning::of_decoration(name);
        matches!(meaning, Some(Trill | TrillStart | Turn | Mordent | Roll | Slide))
    };
    event.marks.iter().any(several)
}

#[cfg(test)]
mod tests {
    use crate::import_musicxml;

    /// The music of a whole note with this sign, over a voice of unprinted notes and, if wanted, a printed one.
    fn music(sign: &str, printed: bool) -> (String, Vec<String>) {
        let note = |step: &str, length: u8, voice: u8, show: bool, more: &str| {
            let show = if show { "" } else { " print-object=\"no\"" };
            format!(
                "<note{show}><pitch><step>{step}</step><octave>5</octave></pitch>\
                 <duration>{length}</duration><voice>{voice}</voice>{more}</note>"
            )
        };
        let sign = format!("<notations><ornaments>{sign}</ornaments></notations>");
        let score = format!(
            "<score-partwise><part-list><score-part id=\"P\"><part-name>Violin</part-name></score-part></part-list>\
             <part id=\"P\"><measure number=\"1\"><attributes><divisions>1</divisions></attributes>\
             {}<backup><duration>4</duration></backup>{}{}</measure></part></score-partwise>",
            note("C", 4, 1, true, &sign),
            note("C", 1, 2, false, ""),
            note("D", 1, 2, printed, ""),
        );
        let imported = import_musicxml(score.as_bytes(), "A").unwrap();
        let body = imported.text.lines().skip_while(|line| !line.starts_with("% 1")).skip(1);
        (body.collect::<Vec<_>>().join("/"), imported.left_out)
    }

    #[test]
    fn only_what_plays_out_an_ornament_is_left_out() {
        let (out, kept) = (
            "Violin, bar 1: hidden notes that play out an ornament are left out",
            "Violin, bar 1: hidden notes are written like others",
        );
        let trill = "<trill-mark/>";
        assert_eq!(music(trill, false), ("!trill!c8 |".to_owned(), vec![out.to_owned()]));
        for (sign, printed) in [(trill, true), ("", false)] {
            let (text, said) = music(sign, printed);
            assert!(text.contains("c d x2"), "{text}");
            assert!(said.contains(&kept.to_owned()), "{said:?}");
        }
    }
}
