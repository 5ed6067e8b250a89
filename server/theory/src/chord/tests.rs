use super::*;

fn pitches(text: &str) -> Vec<Pitch> {
    text.split(' ').map(|p| p.parse().unwrap()).collect()
}

fn named(text: &str) -> String {
    identify(&pitches(text)).map_or_else(|| "-".to_owned(), |chord| chord.words())
}

fn symbol(text: &str) -> String {
    identify(&pitches(text)).map_or_else(|| "-".to_owned(), |chord| chord.symbol())
}

#[test]
fn every_row_of_the_table_is_read() {
    let rows = include_str!("../../data/chords.csv").lines().count() - 1;
    assert_eq!(qualities().len(), rows);
    for quality in qualities() {
        let name = &quality.name;
        assert!(quality.intervals.len() >= 2 && !quality.source.is_empty(), "{name}");
        assert_eq!(quality.intervals[0].to_string(), "perfect unison", "{name}");
        let distinct: HashSet<_> = quality.intervals.iter().collect();
        assert_eq!(distinct.len(), quality.intervals.len(), "{name}");
        assert!(
            quality.family != Family::Other
                || name.contains("Neapolitan")
                || name.contains("Tristan")
        );
    }
}

/// Every chord of the table, built on every root in use, is named again as itself or, where two rows
/// have the same notes, as one of its readings.
#[test]
fn every_quality_is_found_again() {
    for quality in qualities() {
        for root in (-5..=6).map(PitchName::from_fifths) {
            let low = Pitch { name: root, octave: 2 };
            let chord: Vec<Pitch> =
                quality.intervals.iter().map(|i| low.transposed(i.steps, i.semitones)).collect();
            let readings = readings(&chord);
            let fits = |c: &Chord| c.root == root && c.quality.fifths == quality.fifths;
            assert!(readings.iter().any(fits), "{root} {}: {readings:?}", quality.name);
        }
    }
}

#[test]
fn triads_and_sevenths_in_every_inversion() {
    for (text, words, short) in [
        ("E4 G#4 B4", "E major", "E"),
        ("G#3 B3 E4", "E major, first inversion", "E/G♯"),
        ("B2 E4 G#5", "E major, second inversion", "E/B"),
        ("G#3 B3 D#4 F#4", "G sharp minor seventh", "G♯m7"),
        ("F3 G3 B3 D4", "G dominant seventh, third inversion", "G7/F"),
        ("B3 D4 F4", "B diminished", "Bdim"),
        ("C4 E4 G#4", "C augmented", "C+"),
        ("B3 D4 F4 A4", "B half-diminished seventh", "Bm7♭5"),
        ("G#3 B3 D4 F4", "G sharp diminished seventh", "G♯dim7"),
        ("C4 Eb4 G4 B4", "C minor-major seventh", "Cm(maj7)"),
    ] {
        assert_eq!((named(text).as_str(), symbol(text).as_str()), (words, short));
    }
}

#[test]
fn doublings_and_order_do_not_matter() {
    assert_eq!(named("C5 G3 E4 C3 E5"), "C major");
    assert_eq!(identify(&pitches("C5 G3 E4 C3")), identify(&pitches("C3 G3 E4 C5")));
}

/// Open Music Theory, altered subdominants: the augmented sixths are told by their spelling.
#[test]
fn spelling_decides() {
    assert_eq!(named("Ab3 C4 Eb4 F#4"), "German sixth on A flat");
    assert_eq!(named("Ab3 C4 Eb4 Gb4"), "A flat dominant seventh");
    assert_eq!(named("Ab3 C4 D4 F#4"), "French sixth on A flat");
    assert_eq!(named("Ab3 C4 F#4"), "Italian sixth on A flat");
    assert_eq!(named("D3 F#3 Ab3 C4"), "D dominant seventh flat five");
    assert_eq!(symbol("Ab3 C4 Eb4 F#4"), "A♭ Ger+6");
    assert_eq!(named("E4 Ab4 B4"), "-");
    assert_eq!(named("C4 E4 G4 G#4 Ab4"), "-");
    assert_eq!(named("F3 B3 D#4 G#4"), "half-diminished of Tristan spelling on F");
}

#[test]
fn without_a_fifth() {
    let chord = identify(&pitches("C3 E4 Bb4")).unwrap();
    assert_eq!(chord.words(), "C dominant seventh, without its fifth");
    assert_eq!(chord.omitted.unwrap().to_string(), "perfect fifth");
    let names: Vec<String> = chord.names().iter().map(PitchName::to_string).collect();
    assert_eq!(names, ["C", "E", "Bb"]);
    assert_eq!(named("A3 C4"), "A minor, without its fifth");
    assert_eq!(named("C3 E4 G4"), "C major");
    assert_eq!(named("C3 D3"), "-");
    assert_eq!(identify(&pitches("C3")), None);
    assert_eq!(identify(&[]), None);
}

#[test]
fn larger_chords() {
    for (text, words) in [
        ("C3 G3", "open fifth on C"),
        ("C3 F3 G3", "C suspended fourth"),
        ("C3 F3 Bb3", "three-note quartal on C"),
        ("C3 E3 G3 D4", "C added ninth"),
        ("G2 B3 F4 A4 D4", "G dominant ninth"),
        ("C3 E3 G3 Bb3 D#4", "C dominant sharp nine"),
        ("C4 C#4 D4", "three-note semitone cluster on C"),
        ("A3 C4 E4 G4", "A minor seventh"),
    ] {
        assert_eq!(named(text), words, "{text}");
    }
    let sixth = readings(&pitches("C3 E3 G3 A3"));
    let words: Vec<String> = sixth.iter().map(Chord::words).collect();
    assert_eq!(words, ["A minor seventh, first inversion", "C major sixth (added)"]);
    assert_eq!(readings(&pitches("C4 E4 G4")).len(), 1);
}

#[test]
fn names_out_of_use_are_left_alone() {
    let far = Pitch { name: PitchName { letter: crate::Letter::C, alter: 9 }, octave: 4 };
    assert_eq!(identify(&[far, far.transposed(2, 4), far.transposed(4, 7)]), None);
}

#[test]
fn symbols_as_typed() {
    for (typed, shown, words) in [
        ("F#m7", "F♯m7", "F sharp minor seventh"),
        ("C/E", "C/E", "C major, first inversion"),
        ("Bbmaj7/D", "B♭maj7/D", "B flat major seventh, first inversion"),
        ("C/F", "C/F", "C major over F"),
        ("C6/9", "C6/9", "C six-nine"),
        ("Am", "Am", "A minor"),
        ("Amin", "Am", "A minor"),
        ("C#b5", "-", "-"),
        ("G7b9", "G7♭9", "G dominant flat nine"),
        ("Gsus", "Gsus4", "G suspended fourth"),
        ("H7", "-", "-"),
        ("", "-", "-"),
        ("Allegro", "-", "-"),
    ] {
        let chord = Chord::from_symbol(typed);
        assert_eq!(chord.map_or("-".to_owned(), |c| c.symbol()), shown, "{typed}");
        assert_eq!(chord.map_or("-".to_owned(), |c| c.words()), words, "{typed}");
    }
}

#[test]
fn symbols_are_read_back() {
    for quality in qualities().iter().filter(|q| q.symbol.is_some()) {
        let chord = Chord::new("Eb".parse().unwrap(), quality);
        let back = Chord::from_symbol(&chord.symbol()).map(|c| c.symbol());
        assert_eq!(back, Some(chord.symbol()), "{}", quality.name);
    }
}

fn spelled(stack: &Stack) -> String {
    stack.names.iter().map(PitchName::to_string).collect::<Vec<_>>().join(" ")
}

/// E, A flat, B is E major: G sharp. Open Music Theory, triads: members lie in thirds.
#[test]
fn triads_are_spelled_in_thirds() {
    let stacks = thirds(&[4, 8, 11]);
    assert_eq!(spelled(&stacks[0]), "E G# B");
    assert_eq!(
        (stacks[0].root.to_string(), stacks[0].quality.name.as_str()),
        ("E".into(), "major triad")
    );
    assert!(stacks.iter().any(|s| spelled(s) == "Fb Ab Cb"));
    assert_eq!(spelled(&thirds(&[11, 4, 8])[0]), "B E G#");
    assert!(thirds(&[0, 1, 2]).is_empty());
    assert!(thirds(&[]).is_empty() && thirds(&[0, 0, 7]).is_empty());
}

#[test]
fn symmetrical_chords_have_every_root() {
    let roots = |classes: &[u8], name: &str| -> BTreeSet<u8> {
        let stacks = thirds(classes);
        stacks.iter().filter(|s| s.quality.name == name).map(|s| s.root.pitch_class()).collect()
    };
    assert_eq!(roots(&[0, 4, 8], "augmented triad").len(), 3);
    assert_eq!(roots(&[0, 3, 6, 9], "diminished seventh").len(), 4);
    assert_eq!(roots(&[0, 4, 7, 10], "dominant seventh").len(), 1);
    assert_eq!(spelled(&thirds(&[7, 11, 2, 5, 9])[0]), "G B D F A");
}

/// What `thirds` spells, `identify` names: both read the same table.
#[test]
fn stacks_are_chords() {
    for a in 0..12u8 {
        for b in a + 1..12 {
            for c in b + 1..12 {
                for stack in thirds(&[a, b, c]) {
                    let root = Pitch { name: stack.root, octave: 3 };
                    let chord: Vec<Pitch> = stack
                        .quality
                        .intervals
                        .iter()
                        .map(|i| root.transposed(i.steps, i.semitones))
                        .collect();
                    let name =
                        identify(&chord).map(|found| (found.root, found.quality.name.as_str()));
                    assert_eq!(name, Some((stack.root, stack.quality.name.as_str())));
                    let classes: Vec<u8> = stack.names.iter().map(|n| n.pitch_class()).collect();
                    assert_eq!(classes, [a, b, c]);
                }
            }
        }
    }
}

#[test]
fn symbols_in_the_usual_ways() {
    for (typed, name) in [
        ("G7alt", "altered dominant (flat five, flat nine)"),
        ("Galt", "altered dominant (flat five, flat nine)"),
        ("Cmi7", "minor seventh"),
        ("C-7", "minor seventh"),
        ("CMaj7", "major seventh"),
        ("Cma7", "major seventh"),
        ("CΔ", "major seventh"),
        ("CΔ7", "major seventh"),
        ("Cø", "half-diminished seventh"),
        ("Cø7", "half-diminished seventh"),
        ("Cm7(b5)", "half-diminished seventh"),
        ("C-7b5", "half-diminished seventh"),
        ("C°", "diminished triad"),
        ("C°7", "diminished seventh"),
        ("C7(b9)", "dominant flat nine"),
        ("C7-9", "dominant flat nine"),
        ("C7(#9,#5)", "altered dominant (sharp five, sharp nine)"),
        ("C7b9b5", "altered dominant (flat five, flat nine)"),
        ("C7#5", "augmented seventh"),
        ("C7sus", "seventh suspended fourth"),
        ("C9sus", "ninth suspended fourth"),
        ("C13sus4", "thirteenth suspended fourth"),
        ("C6(9)", "six-nine"),
        ("C6/9", "six-nine"),
        ("Cm(maj7)", "minor-major seventh"),
        ("Cm/maj7", "minor-major seventh"),
        ("CmMaj7", "minor-major seventh"),
        ("Cmaj7(#11)", "major seventh sharp eleven"),
        ("Cmaj9#11", "major ninth sharp eleven"),
        ("C7b9b13", "dominant flat nine flat thirteen"),
        ("Cm7add11", "minor seventh added eleventh"),
        ("Cno3", "power chord (open fifth)"),
        ("C(omit3)", "power chord (open fifth)"),
        ("C2", "suspended second"),
        ("C4", "suspended fourth"),
        ("Caug", "augmented triad"),
        ("CM9", "major ninth"),
    ] {
        let read = Chord::from_symbol(typed).map(|chord| chord.quality.name.as_str());
        assert_eq!(read, Some(name), "{typed}");
    }
    assert_eq!(Chord::from_symbol("F#mi7/C#").map(|chord| chord.symbol()), Some("F♯m7/C♯".into()));
    for words in [
        "Allegro",
        "Bass",
        "Dal segno",
        "Fa",
        "Ending",
        "G77",
        "Amen",
        "Coda",
        "D.C.",
        "Cb#",
        "Fb!é",
    ] {
        assert_eq!(Chord::from_symbol(words).map(|chord| chord.symbol()), None, "{words}");
    }
}
