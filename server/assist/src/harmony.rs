//! What may be told of the harmonies of a tune: a chord needs more than a lone melody to be heard.

use recte_notation::Block;
use recte_review::chord_symbols::{Typed, classes, typed_symbols};
use recte_score::harmony::{Harmony, Heading};
use recte_score::{Sounding, Tune, pitched_soundings};
use recte_theory::chord::{Chord, MEMBERS, ORDINALS, quality_named};
use recte_theory::{Key, PitchName, Time};

/// So many notes at once make a full sound, of which two names may stand for a chord.
const FULL: usize = 3;

/// A harmony that may be told of.
pub(crate) struct Told<'a> {
    /// When it begins, in whole notes from the beginning.
    pub(crate) onset: Time,
    /// When it ends.
    pub(crate) end: Time,
    /// The bar it begins in, by index.
    pub(crate) bar: u32,
    pub(crate) heading: &'a Heading,
}

/// The harmonies of a tune with what they are heard from. The search for them is made once for a block.
pub(crate) struct Harmonies<'a> {
    pub(crate) tune: &'a Tune,
    all: &'a [Harmony],
    /// By when they begin, the lowest of each moment first.
    pub(crate) sounds: Vec<Sounding>,
    /// The length of the longest sound.
    longest: Time,
}

impl<'a> Harmonies<'a> {
    pub(crate) fn of(block: &'a Block) -> Harmonies<'a> {
        let tune = &block.lowered().tune;
        let sounds = pitched_soundings(tune);
        let longest = sounds.iter().map(|sound| sound.end - sound.onset).max().unwrap_or_default();
        Harmonies { tune, all: block.harmonies(), sounds, longest }
    }

    /// The harmony at a moment, if one may be told of.
    pub(crate) fn at(&self, moment: Time) -> Option<Told<'a>> {
        let next = self.all.partition_point(|harmony| harmony.onset <= moment);
        let at = next.checked_sub(1)?;
        self.all.get(at).filter(|harmony| moment < harmony.end).and_then(|one| self.told(one))
    }

    /// Those of a stretch of time that may be told of, in their order.
    pub(crate) fn between(&self, from: Time, to: Time) -> Vec<Told<'a>> {
        let first = self.all.partition_point(|harmony| harmony.end <= from);
        let here = self.all[first..].iter().take_while(|harmony| harmony.onset < to);
        here.filter_map(|harmony| self.told(harmony)).collect()
    }

    fn told(&self, harmony: &'a Harmony) -> Option<Told<'a>> {
        let heading = harmony.chord.as_ref()?;
        let together = self.most_at_once(harmony);
        let members = heading.names.len();
        let told = match together {
            _ if heading.typed => true,
            0 => false,
            // One line: a broken chord and nothing else.
            1 => members >= 3 && heading.foreign.is_empty(),
            together if together < FULL => members >= 3,
            _ => members >= 2 && heading.chord.omitted.is_none_or(|one| one.steps == 4),
        };
        let Harmony { onset, end, bar, .. } = *harmony;
        told.then_some(Told { onset, end, bar, heading })
    }

    /// How many notes sound at once, where most do.
    fn most_at_once(&self, harmony: &Harmony) -> usize {
        let from = harmony.onset - self.longest;
        let first = self.sounds.partition_point(|sound| sound.onset < from);
        let here = self.sounds[first..].iter().take_while(|sound| sound.onset < harmony.end);
        let here: Vec<&Sounding> = here.filter(|sound| sound.end > harmony.onset).collect();
        let mut ends: Vec<Time> = Vec::new();
        let mut most = 0;
        for sound in here {
            ends.retain(|end| *end > sound.onset);
            ends.push(sound.end);
            most = most.max(ends.len());
        }
        most
    }

    /// The symbols typed, by when they begin.
    pub(crate) fn symbols(&self) -> Vec<Typed<'a>> {
        typed_symbols(self.tune)
    }
}

/// "E major, first inversion (E/G♯)".
pub(crate) fn heading(chord: &Chord) -> String {
    format!("{} ({})", chord.words(), chord.symbol())
}

/// "C E G".
pub(crate) fn spelled(names: &[PitchName]) -> String {
    names.iter().map(|name| name.symbol()).collect::<Vec<_>>().join(" ")
}

/// Whether two chords have the same notes, whatever is in the bass.
pub(crate) fn same_notes(a: &Chord, b: &Chord) -> bool {
    let whole = |chord: &Chord| classes(&Chord { omitted: None, ..*chord });
    whole(a) == whole(b)
}

/// "♭VI", "vii°7", "V65/V": a degree with its signs.
pub(crate) fn numerals(degree: &str) -> String {
    if degree.starts_with(|c: char| c.is_ascii_uppercase()) && !degree.starts_with(['I', 'V']) {
        return degree.to_owned();
    }
    let signs = |c| match c {
        'b' => '♭',
        '#' => '♯',
        'o' => '°',
        other => other,
    };
    degree.chars().map(signs).collect()
}

/// "root: fifth degree of C major (V65)", and where a borrowed chord leads.
pub(crate) fn place_in_key(heading: &Heading) -> Option<String> {
    let degree = &heading.degree;
    let place = degree_of(heading.chord.root, &heading.key)?;
    let goal = degree.split_once('/').and_then(|(_, goal)| {
        let letters = goal.trim_start_matches(['b', '#']).to_uppercase();
        let letters = letters.trim_end_matches(|c| c != 'I' && c != 'V');
        let at = ["I", "II", "III", "IV", "V", "VI", "VII"].iter().position(|n| *n == letters)?;
        Some(format!(", leading to the {} degree", ORDINALS[at]))
    });
    let what =
        if degree.starts_with(['G', 'F']) || degree.starts_with("It") { "bass" } else { "root" };
    Some(format!("{what}: {place} ({}){}", numerals(degree), goal.unwrap_or_default()))
}

/// "seventh degree of G minor, raised".
pub(crate) fn degree_of(name: PitchName, key: &Key) -> Option<String> {
    let (degree, altered) = key.degree(name)?;
    let tonic = key.tonic?.words();
    let altered = match altered {
        0 => "",
        1 => ", raised",
        -1 => ", lowered",
        n if n > 0 => ", raised twice",
        _ => ", lowered twice",
    };
    let degree = ORDINALS[usize::from(degree - 1) % 7];
    Some(format!("{degree} degree of {tonic} {}{altered}", key.mode.name()))
}

/// "C major".
pub(crate) fn key_words(key: &Key) -> String {
    let tonic = key.tonic.map(PitchName::words).unwrap_or_default();
    format!("{tonic} {}", key.mode.name())
}

/// The chords so many fifths from a tonic, each by the name of its quality.
pub(crate) fn on_degrees(tonic: i32, degrees: &[(i32, &str)]) -> Vec<Chord> {
    let chord = |(fifths, name): &(i32, &str)| {
        Some(Chord::new(PitchName::from_fifths(tonic + fifths), quality_named(name)?))
    };
    degrees.iter().filter_map(chord).collect()
}

/// "third": what a name is in a chord.
pub(crate) fn member(chord: &Chord, name: PitchName) -> Option<&'static str> {
    let names = chord.quality.names_on(chord.root);
    let at = names.iter().position(|own| *own == name)?;
    let steps = chord.quality.intervals[at].steps;
    Some(match steps {
        1 => "second",
        3 => "fourth",
        5 => "sixth",
        _ => MEMBERS[steps.rem_euclid(7) as usize],
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use recte_notation::Document;

    /// The symbols of the harmonies told of.
    fn told(music: &str) -> Vec<String> {
        let document = Document::new(&format!("X:1\nM:4/4\nL:1/4\nK:C\n{music}\n"));
        let (_, block) = document.blocks().next().unwrap();
        let harmonies = Harmonies::of(block);
        let all = harmonies.between(Time::ZERO, Time::new(9, 1));
        all.iter().map(|told| told.heading.chord.symbol()).collect()
    }

    #[test]
    fn a_melody_is_no_chord() {
        assert_eq!(told("CDEF|G4|"), [] as [&str; 0]);
        assert_eq!(told("CEGc|"), ["C"]);
        assert_eq!(told("[V:1]EDEF|\n[V:2]C4|"), [] as [&str; 0]);
        assert_eq!(told("[CEG]4|[DFA]4|"), ["C", "Dm"]);
        assert_eq!(told("[CEc]4|"), ["C"]);
    }

    #[test]
    fn a_broken_chord_is_not_inverted_by_its_own_notes() {
        assert_eq!(told("[V:1]f4|\n[V:2]F,A,CA,|"), ["F"]);
        assert_eq!(told("[V:1][Ace]4|\n[V:2]A,2C2|"), ["Am", "Am/C"]);
    }

    #[test]
    fn numerals_have_their_signs() {
        for (typed, shown) in
            [("bVI", "♭VI"), ("viio7/V", "vii°7/V"), ("Ger65", "Ger65"), ("V65", "V65")]
        {
            assert_eq!(numerals(typed), shown);
        }
    }
}
