use super::roster::{TEXT, Table};
use super::*;

fn pitch(text: &str) -> Pitch {
    text.parse().unwrap()
}

fn instrument(id: &str) -> &'static Instrument {
    by_id(id).unwrap_or_else(|| panic!("no row {id}"))
}

/// Every span of the row: ranges, registers, zones.
fn spans(i: &Instrument) -> Vec<Range> {
    let ranges = [Level::Professional, Level::Advanced, Level::School];
    let ranges = ranges.into_iter().filter_map(|level| i.range(level));
    let registers = i.registers.iter().map(|register| register.range);
    ranges.chain(registers).chain(i.zones.iter().map(|zone| zone.range)).collect()
}

#[test]
fn every_row_is_read() {
    let table: Table = toml::from_str(TEXT).unwrap();
    assert_eq!(table.instruments.len(), TEXT.matches("\n[[instrument]]\n").count());
    assert_eq!(table.ambiguous_labels.len(), TEXT.matches("\n[[ambiguous_label]]\n").count());
    assert_eq!(instruments(), table.instruments);
    for (place, i) in (1..).zip(instruments()) {
        assert_eq!(i.score_order, place, "{}", i.id);
        assert!(!i.names.is_empty() && !i.clefs.is_empty() && !i.source.is_empty(), "{}", i.id);
        assert_eq!(instruments().iter().filter(|other| other.id == i.id).count(), 1, "{}", i.id);
        assert_eq!(i.pitched, i.range(Level::School).is_some(), "{}", i.id);
        assert_eq!(i.pitched, i.transposition.is_some() && !i.registers.is_empty(), "{}", i.id);
    }
    for label in Roster::standard().ambiguous_labels() {
        assert!(label.candidates.len() > 1, "{}", label.label);
        assert!(label.candidates.iter().all(|id| by_id(id).is_some()), "{}", label.label);
    }
}

#[test]
fn sounding_is_written_and_transposition_in_every_row() {
    for i in instruments().iter().filter(|i| i.pitched) {
        let transposition = i.transposition.unwrap();
        for span in spans(i) {
            assert_eq!(transposition.sounding(span.written_min), span.sounding_min, "{}", i.id);
            assert_eq!(transposition.sounding(span.written_max), span.sounding_max, "{}", i.id);
            assert_eq!(transposition.written(span.sounding_max), span.written_max, "{}", i.id);
            assert!(span.written_min.midi() <= span.written_max.midi(), "{}", i.id);
        }
    }
}

#[test]
fn levels_lie_inside_each_other_and_registers_leave_no_hole() {
    for i in instruments().iter().filter(|i| i.pitched) {
        let ranges =
            [Level::Professional, Level::Advanced, Level::School].map(|l| i.range(l).unwrap());
        for pair in ranges.windows(2) {
            let inside = pair[0].contains_written(pair[1].written_min)
                && pair[0].contains_written(pair[1].written_max);
            assert!(inside, "{}", i.id);
        }
        let whole = ranges[0];
        assert_eq!(
            i.registers.first().map(|r| r.range.written_min),
            Some(whole.written_min),
            "{}",
            i.id
        );
        assert_eq!(
            i.registers.last().map(|r| r.range.written_max),
            Some(whole.written_max),
            "{}",
            i.id
        );
        for pair in i.registers.windows(2) {
            let (low, high) = (pair[0].range, pair[1].range);
            assert_eq!(low.written_max.midi() + 1, high.written_min.midi(), "{}", i.id);
        }
    }
}

/// Semitones and letter steps from the written to the sounding note.
#[test]
fn transpositions() {
    for (id, chromatic, diatonic) in [
        ("piccolo", 12, 7),               // Integrated Music Theory, 12a
        ("alto-flute", -5, -3),           // Integrated Music Theory, 12a
        ("english-horn", -7, -4),         // Integrated Music Theory, 12a
        ("clarinet-in-b-flat", -2, -1),   // Integrated Music Theory, 12a
        ("clarinet-in-a", -3, -2),        // Integrated Music Theory, 12a
        ("clarinet-in-e-flat", 3, 2),     // Integrated Music Theory, 12a
        ("bass-clarinet", -14, -8),       // Integrated Music Theory, 12a
        ("horn-in-f", -7, -4),            // Integrated Music Theory, 12a
        ("trumpet-in-b-flat", -2, -1),    // Integrated Music Theory, 12a
        ("double-bass", -12, -7),         // Integrated Music Theory, 12a
        ("alto-saxophone", -9, -5),       // appendix of a college harmony text
        ("tenor-saxophone", -14, -8),     // appendix of a college harmony text
        ("baritone-saxophone", -21, -12), // appendix of a college harmony text
        ("glockenspiel", 24, 14),         // appendix of a college harmony text
        ("e-flat-bass", -21, -12),        // brass-band pages
        ("b-flat-bass", -26, -15),        // brass-band pages
    ] {
        let expected = Transposition { chromatic, diatonic };
        assert_eq!(instrument(id).transposition, Some(expected), "{id}");
    }
    let horn = instrument("horn-in-f").transposition.unwrap();
    assert_eq!(horn.sounding(pitch("C5")), pitch("F4"));
    let clarinet = instrument("clarinet-in-b-flat").transposition.unwrap();
    assert_eq!(clarinet.sounding(pitch("F#4")), pitch("E4"));
    assert_eq!(clarinet.written(pitch("Ab3")), pitch("Bb3"));
}

/// Lowest and highest written note of professional players, where a published table was read.
#[test]
fn published_written_ranges() {
    for (id, low, high) in [
        ("piccolo", "D4", "C7"),                // Ranges of Orchestral Instruments
        ("alto-flute", "C4", "C7"),             // Ranges of Orchestral Instruments
        ("english-horn", "B3", "G6"),           // Ranges of Orchestral Instruments
        ("clarinet-in-b-flat", "E3", "C7"),     // Ranges of Orchestral Instruments
        ("clarinet-in-a", "E3", "C7"),          // Ranges of Orchestral Instruments
        ("basset-horn", "C3", "G6"),            // Ranges of Orchestral Instruments
        ("bass-clarinet", "C3", "G6"),          // Ranges of Orchestral Instruments
        ("vibraphone", "F3", "F6"),             // appendix of a college harmony text
        ("great-highland-bagpipe", "G4", "A5"), // pages on the Highland bagpipe: nine notes
    ] {
        let range = instrument(id).range(Level::Professional).unwrap();
        assert_eq!((range.written_min, range.written_max), (pitch(low), pitch(high)), "{id}");
    }
}

/// The lowest sounding notes: strings, saxophones and the bassoon as music21 lists them (a B flat
/// below the staff of the saxophones is written), harp after Harp Inside Out, handbells after their makers.
#[test]
fn lowest_notes() {
    for (id, low) in [
        ("violin", "G3"),
        ("viola", "C3"),
        ("cello", "C2"),
        ("bassoon", "Bb1"),
        ("handbells", "C3"),
        ("piano", "A0"), // from memory
    ] {
        let range = instrument(id).range(Level::Professional).unwrap();
        assert_eq!(range.sounding_min, pitch(low), "{id}");
        assert!(!range.contains_sounding(pitch(low).transposed(0, -1)), "{id}");
        assert!(range.contains_sounding(pitch(low)), "{id}");
    }
    // The flute's B foot is a thing of professional players (from memory).
    assert!(instrument("flute").range(Level::Professional).unwrap().contains_written(pitch("B3")));
    assert!(!instrument("flute").range(Level::Advanced).unwrap().contains_written(pitch("B3")));
    assert_eq!(instrument("snare-drum").range(Level::School), None);
}

#[test]
fn registers() {
    let flute = instrument("flute");
    let low = flute.register_written(pitch("D4")).unwrap();
    assert_eq!((low.label.as_str(), low.concern.as_slice()), ("low", &[Concern::NotLoud][..]));
    assert_eq!(flute.register_sounding(pitch("C7")).unwrap().label, "top");
    assert_eq!(flute.register_sounding(pitch("C3")), None);
    let break_zone = |zone: &Zone| zone.kind == ZoneKind::Break;
    assert!(instrument("clarinet-in-b-flat").zones.iter().any(break_zone));
}

fn ids(label: &str) -> String {
    match Roster::standard().find(label) {
        Found::One(i) => i.id.clone(),
        Found::Several(all) => {
            let mut ids: Vec<&str> = all.iter().map(|i| i.id.as_str()).collect();
            ids.sort_unstable();
            format!("?{}", ids.join(" "))
        }
        Found::None => String::new(),
    }
}

#[test]
fn labels_with_players_and_keys() {
    for (label, id) in [
        ("Violin 1", "violin"),
        ("Violin II", "violin"),
        ("violin", "violin"),
        ("Vln. 1", "violin"),
        ("VLN 2", "violin"),
        ("Solo Violin", "violin"),
        ("1st Violins", "violin"),
        ("2nd Horn in F", "horn-in-f"),
        ("Horns in F 3.4", "horn-in-f"),
        ("Vni I", "violin"),
        ("Clar. Sib", "clarinet-in-b-flat"),
        ("Klar. in A", "clarinet-in-a"),
        ("Clar. en la", "clarinet-in-a"),
        ("Trp. in C", "trumpet-in-c"),
        ("Trp. in B", "trumpet-in-b-flat"),
        ("Rep. Cornet", "cornet-in-b-flat"),
        ("Highland Pipes", "great-highland-bagpipe"),
        ("gr. Tr.", "bass-drum"),
        ("Horn 1 (F)", "horn-in-f"),
        ("F Horn", "horn-in-f"),
        ("Clarinet in A", "clarinet-in-a"),
        ("Clarinet in A 2", "clarinet-in-a"),
        ("Clarinet", "clarinet-in-b-flat"),
        ("B♭ Clarinet 1", "clarinet-in-b-flat"),
        ("Clarinet in B flat", "clarinet-in-b-flat"),
        ("Bass Clarinet in Bb", "bass-clarinet"),
        ("E♭ Alto Saxophone", "alto-saxophone"),
        ("Alto Sax 1 & 2", "alto-saxophone"),
        ("Flutes 1.2", "flute"),
        ("flote", "flute"),
        ("Flute in C", "flute"),
        ("Trumpet in C", "trumpet-in-c"),
        ("Trumpets 1-3 in B♭", "trumpet-in-b-flat"),
        ("clarinet-in-b-flat", "clarinet-in-b-flat"),
        ("Bodhran", "bodhran"),
        ("Cl\u{e0}rsach", "lever-harp"),
        ("Cla\u{300}rsach", "lever-harp"),
        ("S 1", "choir-soprano"),
        ("Tenor II", "choir-tenor"),
        ("Timp.", "timpani"),
        ("A. Sax.", "alto-saxophone"),
        ("A Cl.", "clarinet-in-a"),
        ("A. Cl.", "alto-clarinet"),
    ] {
        assert_eq!(ids(label), id, "{label}");
    }
}

#[test]
fn shared_labels_name_all_they_may_mean() {
    for (label, candidates) in [
        ("Bass", "?bass bass-guitar choir-bass double-bass"),
        ("bass", "?bass bass-guitar choir-bass double-bass"),
        ("Alto", "?choir-alto contralto viola"),
        ("Cor.", "?cornet-in-b-flat horn-in-f"),
        ("Btb.", "?bass-trombone tuba"),
        ("Cor. 1", "?cornet-in-b-flat horn-in-f"),
        ("KL.", "?clarinet-in-b-flat piano"),
        ("Basses", "?choir-bass double-bass"),
        ("a cl", "?alto-clarinet clarinet-in-a"),
    ] {
        assert_eq!(ids(label), candidates, "{label}");
    }
}

/// A key the instrument is not built in, two instruments at once, or no instrument: silence.
#[test]
fn silence_is_better_than_a_wrong_guess() {
    for label in [
        "Horn in D",
        "Horn in E♭",
        "Trumpet in E flat",
        "Recorder in F",
        "Tuba in F",
        "Melody",
        "Flute/Piccolo",
        "Oboe and Bassoon",
        "1",
        "II",
        "solo",
        "",
        "  ",
        "in F",
        "F",
        "F♯",
        "🎻",
        "Part 1",
        "Violinist",
        "Descant",
        "Rhythm",
    ] {
        assert_eq!(ids(label), "", "{label}");
    }
}

/// Every name in the table leads to its own row, alone or among others.
#[test]
fn every_name_finds_its_row() {
    for i in instruments() {
        for name in i.names.iter().chain([&i.id, &i.name]) {
            let found = Roster::standard().find(name).all();
            assert!(found.contains(&i), "{name} of {}", i.id);
        }
    }
}

/// The kind of source that stands for a key.
fn source_of(key: &str) -> Option<&str> {
    Some(match key {
        "score_order" | "id" | "name" | "family" | "pitched" | "source" => return None,
        "names" | "clefs" => "names",
        "transposition" | "alternative_transposition" => "transposition",
        "range_professional" | "range_advanced" | "range_school" | "slide_positions" => key,
        // The lowest string is the lowest note.
        "open_strings" => "range_professional",
        "register" | "zone" | "tessitura" => "registers",
        "breath_seconds" | "low_air_below" | "rest_after_seconds" | "high_rest_after_seconds" => {
            "breath"
        }
        "leap_semitones_at_speed" => "leap",
        "stops" | "pedals" | "levers" | "pedalboard" | "left_hand" => "stops",
        "drums" | "drums_usual" | "drums_school" | "retune_seconds" => "drums",
        "limits" | "bad_trills" | "fixed_pitches" | "kHP_reads" | "natural_pitches" => "limits",
        "natural_pitch_classes" | "natural_policy" | "blow" | "draw" => "limits",
        "continuous_sound" | "equal_notes_need_grace" => "limits",
        "bow_seconds" | "repeat_means" | "multiple_tonguing_common" => "speed",
        pace if pace.ends_with("_per_second") => "speed",
        _ => panic!("no kind of source for {key}"),
    })
}

#[test]
fn every_figure_has_a_source() {
    for i in instruments() {
        let row = Roster::standard().row(&i.id).unwrap();
        for kind in row.keys().filter_map(|key| source_of(key)) {
            assert!(i.source.get(kind).is_some_and(|said| !said.is_empty()), "{}: {kind}", i.id);
        }
    }
}

#[test]
fn search_finds_words_of_names_in_any_language() {
    let found = |text: &str| {
        let found = Roster::standard().search(text);
        found.iter().map(|i| i.id.as_str()).collect::<Vec<_>>().join(" ")
    };
    assert_eq!(found("bass cl"), "bass-clarinet");
    assert_eq!(found("petite flute"), "piccolo");
    assert_eq!(found("Pauken"), "timpani");
    assert_eq!(found("trombone"), "alto-trombone trombone bass-trombone");
    assert_eq!(found("xyzzy"), "");
    assert_eq!(found(" "), "");
}

#[test]
fn the_nearest_name() {
    assert_eq!(Roster::standard().nearest("Voilin"), Some("violin"));
    assert_eq!(Roster::standard().nearest("Clarinett"), Some("clarinet"));
    assert_eq!(Roster::standard().nearest("basoon"), Some("bassoon"));
    assert_eq!(Roster::standard().nearest("Kazoo"), None);
    assert_eq!(Roster::standard().nearest("Vl"), None);
}

fn chosen(label: &str, clef: Option<&str>, transpose: Option<i32>) -> Option<&'static str> {
    let Found::Several(candidates) = Roster::standard().find(label) else {
        panic!("{label} is clear by itself")
    };
    choose(&candidates, clef, transpose).map(|i| i.id.as_str())
}

#[test]
fn clef_and_transposition_decide_where_they_can() {
    assert_eq!(chosen("Alto", Some("alto"), None), Some("viola"));
    assert_eq!(chosen("Alto", Some("treble"), None), None);
    assert_eq!(chosen("Cor.", Some("treble"), Some(-7)), Some("horn-in-f"));
    assert_eq!(chosen("Cor.", Some("treble"), None), None);
    assert_eq!(chosen("Tb.", Some("tenor"), None), Some("trombone"));
    assert_eq!(chosen("Kl.", Some("bass"), None), Some("piano"));
    assert_eq!(chosen("Kl.", None, Some(-2)), Some("clarinet-in-b-flat"));
    assert_eq!(chosen("Bass", Some("bass"), Some(-12)), None);
    assert_eq!(choose(&[], None, None), None);
}
