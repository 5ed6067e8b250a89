//! Chord symbols as they are typed: see [`recte_score::chord_symbols`].

pub use recte_score::chord_symbols::*;

#[cfg(test)]
mod tests {
    use super::*;
    use recte_notation::lower;
    use recte_theory::Time;
    use recte_theory::chord::{Chord, quality_named};

    fn read(text: &str) -> Vec<String> {
        chords_of(text).iter().map(Chord::symbol).collect()
    }

    #[test]
    fn symbols_as_they_are_met() {
        assert_eq!(read("Am7"), ["Am7"]);
        assert_eq!(read("C/e"), ["C/E"]);
        assert_eq!(read("Bb/bb"), ["B♭"]);
        assert_eq!(read("G(Em)"), ["G", "Em"]);
        assert_eq!(read("(D7)"), ["D7"]);
        assert_eq!(read("C;Am"), ["C", "Am"]);
        assert_eq!(read("C\\nAm"), ["C", "Am"]);
        assert_eq!(read("Cm(maj7)"), ["Cm(maj7)"]);
        assert_eq!(read("C7(b9)"), ["C7♭9"]);
        assert_eq!(read("G/Em"), ["G", "Em"]);
        for words in ["Fine", "N.C.", "", "A part", "G77", "D.C.", "G(last time)"] {
            assert_eq!(read(words), [] as [&str; 0], "{words}");
        }
    }

    #[test]
    fn symbols_as_they_are_typed() {
        for text in ["F#m7/C#", "Bb", "Cmaj7", "Dm7b5"] {
            let chord = Chord::from_symbol(text).unwrap();
            assert_eq!(symbol_text(&chord).as_deref(), Some(text));
        }
        let german = Chord::new("Ab".parse().unwrap(), quality_named("German sixth").unwrap());
        assert_eq!(symbol_text(&german).as_deref(), Some("Ab7"));
    }

    #[test]
    fn each_holds_until_the_next_of_its_voice() {
        let tune = lower("X:1\nM:4/4\nL:1/4\nK:C\n\"C\"c2\"G7\"\"Am\"d2|\"words\"e4|\n").tune;
        let typed = typed_symbols(&tune);
        let rows: Vec<_> = typed.iter().map(|one| (&*one.mark.text, one.end, one.shares)).collect();
        let (half, bar, end) = (Time::new(1, 2), Time::WHOLE, Time::new(2, 1));
        let expected =
            [("C", half, false), ("G7", bar, true), ("Am", bar, true), ("words", end, false)];
        assert_eq!(rows, expected);
        let at = |moment| in_force(&typed, moment).map(|one| &*one.mark.text);
        assert_eq!(at(Time::new(1, 4)), Some("C"));
        assert_eq!(at(bar), None);
    }
}
