//! Lowest and highest notes against published ranges; the source of each is named beside it.

use crate::around::Around;
use crate::check::check_block;
use crate::config::Config;
use crate::rule_tests::findings_of;
use recte_notation::Document;
use recte_theory::instruments::Level;

fn messages(voice: &str, music: &str) -> Vec<String> {
    let text = format!("X:1\nL:1/4\nK:C\nV:1 {voice}\n{music}\n");
    findings_of("beyond-range", &text).into_iter().map(|finding| finding.message).collect()
}

fn is_silent(voice: &str, music: &str) {
    assert_eq!(messages(voice, music), [] as [String; 0], "{voice} {music}");
}

#[test]
fn the_sentence() {
    assert_eq!(
        messages("name=Cello clef=bass", "B,,,|"),
        ["Below the cello's lowest string (C2)."]
    );
}

/// Open strings: violin G3, viola C3, cello C2 (Forsyth, "Orchestration"; Rimsky-Korsakov, ch. I).
#[test]
fn lowest_strings() {
    for (name, lowest, below) in
        [("Violin", "G,", "^F,"), ("Viola", "C,", "B,,"), ("Cello", "C,,", "B,,,")]
    {
        is_silent(&format!("name={name}"), &format!("{lowest}|"));
        assert_eq!(messages(&format!("name={name}"), &format!("{below}|")).len(), 1, "{name}");
    }
}

/// A clarinet in B flat reads E3 as its lowest note; D3 sounds (the same figure in every orchestration handbook).
#[test]
fn transposed_or_at_concert_pitch_never_shifted_twice() {
    is_silent("name=\"Clarinet in B-flat\" transpose=-2", "E,|");
    assert_eq!(messages("name=\"Clarinet in B-flat\" transpose=-2", "_E,|").len(), 1);
    is_silent("name=\"Clarinet in B-flat\"", "D,|");
    assert_eq!(messages("name=\"Clarinet in B-flat\"", "_D,|").len(), 1);
}

#[test]
fn octave_instruments_typed_as_read_or_as_heard() {
    is_silent("name=\"Double Bass\" clef=bass", "E,,|");
    is_silent("name=\"Double Bass\" clef=bass-8", "E,,|");
    is_silent("name=\"Double Bass\" clef=bass", "E,,,|");
    assert_eq!(messages("name=\"Double Bass\" clef=bass-8", "B,,,,|").len(), 1);
}

#[test]
fn who_cannot_tell_is_silent() {
    is_silent("name=Melody", "C,,,,|");
    is_silent("", "C,,,,|");
}

#[test]
fn harmonics_are_left_alone() {
    is_silent("name=Violin", "!open!a''''|");
    is_silent("name=Violin", "\"^harm.\"a''''|");
}

#[test]
fn one_remark_a_bar() {
    let text = "X:1\nL:1/4\nK:C\nV:1 name=Flute\nG,A,cA,|A,4|\n";
    let found = findings_of("beyond-range", text);
    assert_eq!(found.iter().map(|f| f.related.len()).collect::<Vec<_>>(), [2, 0]);
}

#[test]
fn the_level_narrows_the_range() {
    let document = Document::new("X:1\nL:1/4\nK:C\nV:1 name=Violin\n a''|\n");
    let (_, block) = document.blocks().next().unwrap();
    let level = Level::School;
    let school = Config { level, ..Config::default() };
    assert_eq!(check_block(block, &Config::default(), &Around::default()).findings, []);
    let found = check_block(block, &school, &Around::default()).findings;
    assert!(found[0].message.contains("for school players"), "{found:?}");
}

#[test]
fn instructions_outrank_names_and_are_checked() {
    let text = "X:1\nL:1/4\n%%recte instrument 1 Flute\nK:C\nV:1 name=Cello\nC,|\n";
    assert_eq!(findings_of("beyond-range", text).len(), 1);
    let text = "X:1\nL:1/4\n%%recte instrument 1 Flutte\nK:C\nV:1\nC,|\n";
    let found = findings_of("beyond-range", text);
    assert!(found[0].message.contains("nearest is “flute”"), "{found:?}");
}

#[test]
fn a_voice_is_spared() {
    let found = messages("name=\"Soprano solo\"", "c''''|");
    assert!(found[0].contains("nobody should strain"), "{found:?}");
}

#[test]
fn a_part_that_is_beyond_again_and_again_is_told_of_once_for_all() {
    let text =
        "X:1\nM:1/4\nL:1/4\nK:C\nV:1 name=Cello\nB,,,|B,,,|C,|B,,,|A,,,|C,|B,,,|G,,,/A,,,/|\n";
    let found = findings_of("beyond-range", text);
    let last = "Below the cello's lowest string (C2) once more; \
                is the part meant for another instrument, or another octave?";
    assert_eq!((found.len(), found[3].message.as_str()), (4, last));
    let too: Vec<&str> = found[3].related.iter().map(|one| one.message.as_str()).collect();
    assert_eq!(too, ["B in bar 7 too.", "G in bar 8 too.", "A too."]);
    let voice = messages("name=Soprano clef=treble", "g'|a'|b'|c''|");
    let last = " once more; nobody should strain for it: \
                is the part meant for another voice, or another octave?";
    assert!(voice[3].ends_with(last), "{}", voice[3]);
}
