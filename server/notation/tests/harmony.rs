//! Harmonies over time: chords, degrees and keys of small progressions composed for the purpose. Degrees, figures and
//! the names of embellishing tones after Open Music Theory ("Roman numerals", "Applied chords", "The Neapolitan",
//! "Augmented sixth chords", "Embellishing tones").

#![allow(clippy::unwrap_used, clippy::print_stdout)]

use recte_notation::{BlockKind, Document};
use recte_score::Tune;
use recte_score::harmony::{Harmony, harmonies};
use recte_theory::Time;

#[path = "../../review/tests/real/mod.rs"]
mod real;
use real::{documents, tunes_of};

/// The harmonies of some music under a key.
fn of(key: &str, music: &str) -> (Tune, Vec<Harmony>) {
    let text = format!("X:1\nM:4/4\nL:1/4\nK:{key}\n{music}\n");
    let document = Document::new(&text);
    let (_, block) = document.blocks().find(|(_, block)| block.kind == BlockKind::Tune).unwrap();
    let tune = block.lowered().tune.clone();
    let found = harmonies(&tune);
    (tune, found)
}

/// Symbol and degree of each harmony.
fn degrees(key: &str, music: &str) -> Vec<String> {
    let (_, found) = of(key, music);
    let text = |harmony: &Harmony| match &harmony.chord {
        Some(heading) => format!("{} {}", heading.chord.symbol(), heading.degree),
        None => "silence".to_owned(),
    };
    found.iter().map(text).collect()
}

/// The local key of each harmony.
fn keys(key: &str, music: &str) -> Vec<String> {
    let (_, found) = of(key, music);
    found.iter().filter_map(|harmony| Some(harmony.chord.as_ref()?.key.to_string())).collect()
}

/// Name and kind of the notes that their harmony does not have.
fn foreign(key: &str, music: &str) -> Vec<String> {
    let (_, found) = of(key, music);
    let headings = found.iter().filter_map(|harmony| harmony.chord.as_ref());
    let notes = headings.flat_map(|heading| &heading.foreign);
    notes.map(|note| format!("{} {}", note.name, note.kind.name())).collect()
}

#[test]
fn a_cadence_in_major_and_in_minor() {
    let major = degrees("C", "[C,CEGc]4|[F,CFAc]4|[G,B,DFG]4|[C,CEGc]4|]");
    assert_eq!(major, ["C I", "F IV", "G7 V7", "C I"]);
    let minor = degrees("Am", "[A,CEA]4|[D,DFA]4|[E,E^GB]4|[A,CEA]4|]");
    assert_eq!(minor, ["Am i", "Dm iv", "E V", "Am i"]);
}

#[test]
fn inversions_are_figured() {
    let found = degrees("C", "[C,EGc]4|[B,DFG]4|[E,CGc]4|[G,CEc]4|[G,B,DG]4|[C,CEG]4|]");
    assert_eq!(found, ["C I", "G7/B V65", "C/E I6", "C/G I64", "G V", "C I"]);
}

#[test]
fn a_dominant_is_applied_to_a_degree_of_the_key() {
    let music = "[C,CEGc]4|[F,CFAc]4|[G,B,DG]4|[C,CEGc]4|[A,^CEG]4|[D,DFAd]4|[G,B,DG]4|[C,CEGc]4|]";
    assert_eq!(degrees("C", music)[3..], ["C I", "A7 V7/ii", "Dm ii", "G V", "C I"]);
}

#[test]
fn the_neapolitan_and_the_augmented_sixth() {
    let found = degrees("Am", "[A,CEA]4|[D,F_BF]4|[E,E^GB]4|[A,CEA]4|]");
    assert_eq!(found[1], "B♭/D bII6");
    let found = degrees("Am", "[A,CEA]4|[F,A,C^DA]4|[E,^G,BEB]4|[A,CEA]4|]");
    assert_eq!(found, ["Am i", "F Ger+6 Ger65", "E V", "Am i"]);
}

#[test]
fn the_leading_chord_of_minor_and_its_subtonic() {
    let found = degrees("Am", "[A,CEA]4|[^G,B,DF]4|[A,CEA]4|[G,B,DG]4|[A,CEA]4|]");
    assert_eq!(found[1], "G♯dim7 viio7");
    assert_eq!(found[3], "G VII");
}

#[test]
fn a_modulation_is_followed() {
    let music = "[C,CEGc]4|[F,CFAc]4|[G,B,DG]4|[C,CEGc]4|[A,CEA]4|[D,D^FAc]4|[G,DGB]4|[E,EGB]4|[C,CEG]4|\
                 [D,D^FAc]4|[G,DGB]4|[C,CEG]4|[D,D^FAc]4|[G,DGB]4|]";
    let found = keys("C", music);
    assert_eq!(found.first().map(String::as_str), Some("C major"));
    assert_eq!(found.last().map(String::as_str), Some("G major"));
}

#[test]
fn embellishing_notes_are_named_and_make_no_chord() {
    let passing = "[V:1] c d/2 e/2 g2|[V:2] [CEG]4|[V:3] C,4|";
    assert_eq!(degrees("C", passing), ["C I"]);
    assert_eq!(foreign("C", passing), ["D passing note"]);
    let neighbour = "[V:1] c d/2 c/2 g2|[V:2] [CEG]4|[V:3] C,4|";
    assert_eq!(foreign("C", neighbour), ["D neighbour note"]);
    let suspension = "[V:1] c4-|c2 B2|c4|[V:2] [FA]4|[DG]4|[EG]4|[V:3] F,4|G,4|C,4|]";
    assert_eq!(degrees("C", suspension), ["F IV", "G V", "C I"]);
    assert_eq!(foreign("C", suspension), ["C suspension"]);
}

#[test]
fn silence_has_no_chord() {
    let found = degrees("C", "z4|[C,EGc]4|z4|[F,CFA]4|[G,B,DF]4|[C,EGc]4|");
    assert_eq!(found, ["silence", "C I", "silence", "F IV", "G7 V7", "C I"]);
    assert_eq!(degrees("C", "[C,EGc]4|z4|"), ["C I", "silence"]);
    assert_eq!(degrees("C", "z4|z4|"), ["silence"]);
    assert_eq!(degrees("C clef=perc", "CCCC|"), ["silence"]);
}

/// "Bb", "Cm": a key as it is typed, in words.
fn key_words(typed: &str) -> String {
    match typed.strip_suffix('m') {
        Some(tonic) => format!("{tonic} minor"),
        None => format!("{typed} major"),
    }
}

/// Each progression of the table in whole notes and in half notes: the degrees, and the key all the while.
#[test]
fn progressions_of_handbooks_stay_in_their_key() {
    let table = include_str!("progressions.tsv");
    let rows = table.lines().filter(|line| !line.starts_with('#')).skip(1);
    let mut wrong = Vec::new();
    let mut count = 0;
    for row in rows {
        let [shows, key, music, degrees] = row.split('\t').collect::<Vec<_>>()[..] else {
            panic!("{row}");
        };
        let music = music.replace("\\n", "\n");
        let short = format!("[M:2/4][L:1/8]{}", music.replace("[M:3/4]", "[M:3/8]"));
        for music in [music, short.replace("\n", "\n[M:2/4][L:1/8]")] {
            let (_, found) = of(key, &music);
            let chords: Vec<_> = found.iter().filter_map(|one| one.chord.as_ref()).collect();
            let heard: Vec<&str> = chords.iter().map(|one| one.degree.as_str()).collect();
            let home = chords.iter().all(|one| one.key.to_string() == key_words(key));
            if heard.join(" ") != degrees || !home {
                wrong.push(format!("{shows}: {degrees}; heard {}", heard.join(" ")));
            }
        }
        count += 1;
    }
    assert!(count >= 25 && wrong.is_empty(), "{count} rows: {wrong:#?}");
}

#[test]
fn where_no_third_sounds_none_is_said() {
    assert_eq!(
        degrees("C", "[C,G,C]4|[F,CF]4|[G,DG]4|[C,G,C]4|]"),
        ["C5 I", "F5 IV", "G5 V", "C5 I"]
    );
    let beside = "[C,G,C]4|[C,EGc]4|[G,B,DF]4|[C,CEG]4|]";
    assert_eq!(degrees("C", beside), ["C I", "G7 V7", "C I"]);
}

#[test]
fn a_sixth_chord_and_a_seventh_by_bass_and_context() {
    let tonic = "[C,EGc]4|[F,FAc]4|[G,FGB]4|[C,EGA]4|]";
    assert_eq!(degrees("C", tonic).last().unwrap(), "C6 Iadd6");
    let seventh = "[C,EGc]4|[F,A,CD]4|[G,FGB]4|[C,EGc]4|]";
    assert_eq!(degrees("C", seventh)[1], "Dm7/F ii65");
}

#[test]
fn a_fourth_that_stays_and_one_that_is_a_suspension() {
    let stays = "[C,EGc]4|[G,CDG]4|[F,FAc]4|[C,EGc]4|]";
    assert_eq!(degrees("C", stays)[1], "Gsus4 Vsus4");
    let goes = "[V:1]c4|c4|B4|c4|]\n[V:2][EG]4|[DG]4|[DG]4|[EG]4|]\n[V:3]C,4|G,4|G,4|C,4|]";
    assert_eq!(degrees("C", goes), ["C I", "G V", "C I"]);
    assert_eq!(foreign("C", goes), ["C suspension"]);
}

#[test]
fn ninths_sound_all_along() {
    let music = "[D,FAce]4|[G,FAB]4|[C,EGBd]4|]";
    assert_eq!(degrees("C", music), ["Dm9 ii9", "G9 V9", "Cmaj9 I9"]);
    assert_eq!(degrees("C", "[C,EGd]4|[F,FAc]4|[C,EGc]4|]")[0], "Cadd9 Iadd9");
}

#[test]
fn an_augmented_triad_in_passing() {
    let music = "[C,EGc]2[C,E^Gc]2|[F,FAc]4|[G,FGB]4|[C,EGc]4|]";
    assert_eq!(degrees("C", music), ["C I", "C+ I+", "F IV", "G7 V7", "C I"]);
}

#[test]
fn the_symbols_of_a_lead_sheet_are_its_harmonies() {
    let music = "\"Dm7\"d2f2|\"G7alt\"f2 \"G7\"d2|\"C6/9\"e4-|e2 \"N.C.\"z2|]";
    let found = degrees("C", music);
    assert_eq!(found[0], "Dm7 ii7");
    assert_eq!(found[2..], ["G7 V7", "C6/9 Iadd69", "silence"]);
    let (_, harmonies) = of("C", music);
    let typed = harmonies.iter().filter_map(|one| one.chord.as_ref()).all(|one| one.typed);
    assert!(typed);
    // Under a full texture they are only symbols.
    assert_eq!(degrees("C", "\"Am\"[C,EGc]4|"), ["C I"]);
}

#[test]
fn a_broken_chord_has_one_bass() {
    let music = "[V:1]f4|f4|]\n[V:2]F,A,CA,|F,A,CA,|]";
    assert_eq!(degrees("F", music), ["F I"]);
}

#[test]
fn cadences_and_degrees_agree() {
    let music =
        "[C,CEG]4|[G,B,DG]4|[E,B,E^G]4|!fermata![A,CEA]4|[C,CEG]4|[F,CFA]4|[G,B,DG]4|[C,CEGc]4|]";
    let (tune, found) = of("C", music);
    for cadence in recte_score::harmony::cadences(&tune, &found) {
        let goal = found[cadence.harmony].chord.as_ref().unwrap();
        assert_eq!(goal.key, cadence.key);
    }
    assert_eq!(degrees("C", music)[2..4], ["E V", "Am i"]);
}

#[test]
fn other_readings_are_ranked() {
    let (_, found) = of("C", "[A,CEG]4|");
    let heading = found[0].chord.as_ref().unwrap();
    let readings: Vec<String> = heading.readings.iter().map(|chord| chord.symbol()).collect();
    assert_eq!(heading.chord.symbol(), "Am7");
    assert!(readings.iter().any(|symbol| symbol.starts_with("Am") || symbol.starts_with('C')));
}

#[test]
fn harmonies_follow_each_other_without_a_gap() {
    for (name, document) in documents(4) {
        for block in tunes_of(&document) {
            let tune = &block.lowered().tune;
            let mut at = Time::ZERO;
            for harmony in harmonies(tune) {
                assert_eq!(harmony.onset, at, "{name}");
                assert!(harmony.end > at, "{name}");
                at = harmony.end;
            }
            let end = tune.bars.last().map_or(Time::ZERO, |bar| bar.start + bar.length);
            assert!(at >= end, "{name}");
        }
    }
}

#[test]
fn a_bass_rings_on_under_the_chords_after_it() {
    let found = degrees("C", "C,2 [E,G,C]2|G,,2 [F,B,D]2|C,4|]");
    assert!(found.iter().all(|one| !one.starts_with("Bdim")), "{found:?}");
    assert_eq!(found.last().map(String::as_str), Some("C I"));
    let waltz = degrees("C", "C, [E,C][E,C] z|G,, [F,B,][F,B,] z|C,4|]");
    assert!(waltz.iter().all(|one| !one.contains("dim")), "{waltz:?}");
}

#[test]
fn a_seventh_over_a_dominant_is_no_passing_note() {
    assert_eq!(degrees("C", "[G,B,DG]2 [G,B,DF]2|[CEGc]4|]"), ["G V", "G7 V7", "C I"]);
}

#[test]
fn two_five_one_in_sevenths_is_heard_in_its_key() {
    let found = degrees("C", "[D,FAc]4|[G,FGB]4|[C,EGB]4|]");
    assert_eq!(found, ["Dm7 ii7", "G7 V7", "Cmaj7 I7"]);
}
