use super::*;
use crate::lower;
use crate::write::{apply, same_sound};

fn metre(text: &str) -> Metre {
    Metre::parse(text).unwrap()
}

fn tune(header: &str, music: &str) -> String {
    format!("X:1\n{header}M:9/8\nL:1/8\nK:C\n{music}\n")
}

/// Splits a bar after so many eighths, proves that it sounds the same, and gives the music.
fn split_in(header: &str, music: &str, bar: u32, eighths: i64) -> Result<String, String> {
    let text = tune(header, music);
    let read = lower(&text);
    let (first, second) = if eighths == 5 { ("5/8", "2/4") } else { ("2/4", "5/8") };
    let at = Time::new(eighths, 8);
    let edits = split_bar(&text, &read, bar, at, [&metre(first), &metre(second)])
        .map_err(|refusal| refusal.to_string())?;
    let after = apply(&text, &edits).unwrap();
    let again = lower(&after);
    assert!(same_sound(&read.tune, &again.tune), "{after}");
    assert_eq!(read.problems, again.problems, "{after}");
    for voice in &again.tune.voices {
        for bar in &voice.bars {
            assert_eq!(Some(bar.length), again.tune.metre(bar).length(), "{after}");
        }
    }
    Ok(after.strip_prefix(tune(header, "").trim_end()).unwrap().trim().to_owned())
}

fn split(music: &str, expected: &str) {
    assert_eq!(split_in("", music, 0, 5).as_deref(), Ok(expected));
}

fn refused(header: &str, music: &str, word: &str) {
    let refusal = split_in(header, music, 0, 5).unwrap_err();
    assert!(refusal.contains(word), "{refusal}");
}

#[test]
fn between_notes() {
    split("C3D2 E2F2|G9|", "[M:5/8] C3D2 | [M:2/4] E2F2|[M:9/8] G9|");
    split("CDEFG ABcd|", "[M:5/8] CDEFG | [M:2/4] ABcd|");
    split("CDEFGABcd|]", "[M:5/8] CDEFG | [M:2/4] ABcd|]");
    split("C3D2\nE2F2|", "[M:5/8] C3D2 |\n[M:2/4] E2F2|");
}

#[test]
fn a_typed_signature_is_replaced_and_one_that_follows_stays() {
    split("[M:9/8] C3D2 E2F2|[M:3/4] G6|", "[M:5/8] C3D2 | [M:2/4] E2F2|[M:3/4] G6|");
    split("C3D2 E2F2|\nM:3/4\nG6|", "[M:5/8] C3D2 | [M:2/4] E2F2|\nM:3/4\nG6|");
}

#[test]
fn signs_go_with_their_notes() {
    split("C3(D2 {ef}\"Am\"!p!E2)F2|G9|", "[M:5/8] C3(D2 | [M:2/4] {ef}\"Am\"!p!E2)F2|[M:9/8] G9|");
    split("C3D2- D2(E2|F9)|", "[M:5/8] C3D2- | [M:2/4] D2(E2|[M:9/8] F9)|");
    split("|:C3D2 E2F2|1G9:|2A9|]", "|:[M:5/8] C3D2 | [M:2/4] E2F2|1[M:9/8] G9:|2A9|]");
}

#[test]
fn a_note_over_the_split_is_tied() {
    split("C3D4F2|G9|", "[M:5/8] C3D2- | [M:2/4] D2F2|[M:9/8] G9|");
    split("C9-|C9|", "[M:5/8] C3- C2- | [M:2/4] C4-|[M:9/8] C9|");
    split("C3(.D4 F2)|G9|", "[M:5/8] C3(.D2- | [M:2/4] D2 F2)|[M:9/8] G9|");
    split("C9/2D3/2E3|", "[M:5/8] C9/2D/- | [M:2/4] DE3|");
}

#[test]
fn a_tied_pair_shows_the_join_of_its_new_bar() {
    split("C4-CD4|", "[M:5/8] C2-C3 | [M:2/4] D4|");
    split("C3-C2D4|", "[M:5/8] C3-C2 | [M:2/4] D4|");
    split("C4-!p!CD4|", "[M:5/8] C4-!p!C | [M:2/4] D4|");
}

#[test]
fn rests_and_chords_over_the_split() {
    split("C3z4F2|G9|", "[M:5/8] C3z2 | [M:2/4] z2F2|[M:9/8] G9|");
    split("C3[^CE-G]4E2|", "[M:5/8] C3[^CEG]2- | [M:2/4] [CE-G]2E2|");
    split("[C2E2]9/2|", "[M:5/8] [CE]3- [CE]2- | [M:2/4] [CE]4|");
}

#[test]
fn accidentals_that_the_new_bar_line_cancels_are_written_out() {
    split("^F3G2 F2F2|F9|", "[M:5/8] ^F3G2 | [M:2/4] ^F2F2|[M:9/8] F9|");
    split("C3^F4F2|F9|", "[M:5/8] C3^F2- | [M:2/4] F2^F2|[M:9/8] F9|");
    split("C3^F2E2F2\nE3F6|", "[M:5/8] C3^F2 | [M:2/4] E2^F2\n[M:9/8] E3F6|");
    split("^F5D4\nF3E6|", "[M:5/8] ^F5 | [M:2/4] D4\n[M:9/8] ^F3E6|");
    split("C3^F2- F2F2|", "[M:5/8] C3^F2- | [M:2/4] F2^F2|");
    split("^F3G2 [Af]2=F2|", "[M:5/8] ^F3G2 | [M:2/4] [A^f]2=F2|");
}

#[test]
fn layers_are_cut_each() {
    split("C3D2 E2F2&C9|G9|", "[M:5/8] C3D2&C3- C2- | [M:2/4] E2F2&C4|[M:9/8] G9|");
    split("C3^D2 E2D2&C5 ^D4|", "[M:5/8] C3^D2&C5 | [M:2/4] E2^D2&^D4|");
}

const TWO: &str = "V:1\nV:2\n";

#[test]
fn every_voice_is_rewritten() {
    let cello = split_in(TWO, "V:1\nC3D2 E2F2|G9|\nV:2\nC,9|G,9|", 0, 5);
    let expected = "V:1\n[M:5/8] C3D2 | [M:2/4] E2F2|[M:9/8] G9|\n\
                    V:2\n[M:5/8] C,3- C,2- | [M:2/4] C,4|[M:9/8] G,9|";
    assert_eq!(cello.as_deref(), Ok(expected));
    let rest = split_in(TWO, "[V:1] C3D2 E2F2|G9|\n[V:2] Z|G,9|", 0, 5);
    let expected = "[V:1] [M:5/8] C3D2 | [M:2/4] E2F2|[M:9/8] G9|\n\
                    [V:2] [M:5/8] Z | [M:2/4] Z|[M:9/8] G,9|";
    assert_eq!(rest.as_deref(), Ok(expected));
}

#[test]
fn a_rest_of_several_bars_is_parted() {
    let bars = split_in(TWO, "[V:1] A9|C2D2 E2F3|G9|G9|\n[V:2] Z4|", 1, 4);
    let expected = "[V:1] A9|[M:2/4] C2D2 | [M:5/8] E2F3|[M:9/8] G9|G9|\n\
                    [V:2] Z | [M:2/4] Z | [M:5/8] Z | [M:9/8] Z2|";
    assert_eq!(bars.as_deref(), Ok(expected));
    let last = split_in(TWO, "[V:1] A9|C2D2 E2F3|G9|\n[V:2] Z2|G9|", 1, 4);
    let expected = "[V:1] A9|[M:2/4] C2D2 | [M:5/8] E2F3|[M:9/8] G9|\n\
                    [V:2] Z | [M:2/4] Z | [M:5/8] Z|[M:9/8] G9|";
    assert_eq!(last.as_deref(), Ok(expected));
}

#[test]
fn what_cannot_be_cut_surely_is_refused() {
    refused("", "C4(3DEFG2c|", "tuplet");
    refused("", "C4D>EF3|", "broken rhythm");
    refused("", "C4>D2E2|", "broken rhythm");
    refused("", "C3D2E2F2|G9|\nw:a b c d|e", "bar by bar");
    refused(TWO, "[V:1] C3D2E2F2|\n[V:2] C6|", "another length");
    refused("", "C3[!p!CE]4F2|", "chord");
    refused("", "C3D2 E2F2&C5|", "does not fill");
    refused("", "C3D2E2F2|C9&&C9|C9|", "typed apart");
    refused("", "[M:3/4]C3Z|", "whole-bar rest");
    refused("", "C3+CE+4E2|", "unusual");
    refused("", "C3(5DEFGA B3|", "metre");
    refused("", "C3[M:3/4]D2E2F2|G6|", "middle of this bar");
}

fn set(music: &str, from: u32, to: u32, sign: &str) -> String {
    let text = tune("", music);
    let read = lower(&text);
    let after = apply(&text, &set_metre(&text, &read, from, to, &metre(sign)).unwrap()).unwrap();
    assert!(same_sound(&read.tune, &lower(&after).tune), "{after}");
    after.strip_prefix("X:1\n").unwrap().trim().to_owned()
}

#[test]
fn one_signature_for_a_run_of_bars() {
    let head = "M:9/8\nL:1/8\nK:C\n";
    let run = set("C9|C3D2E2F2|C3D2E2F2|G9|", 1, 2, "3+2+2+2/8");
    assert_eq!(run, format!("{head}C9|[M:3+2+2+2/8] C3D2E2F2|C3D2E2F2|[M:9/8] G9|"));
    let whole = set("C3D2E2F2|C3D2E2F2|", 0, 1, "3+2+2+2/8");
    assert_eq!(whole, "M:3+2+2+2/8\nL:1/8\nK:C\nC3D2E2F2|C3D2E2F2|");
    let back = set("C9|[M:2+2+2+3/8] C3D3E3|[M:9/8] G9|", 1, 1, "9/8");
    assert_eq!(back, format!("{head}C9|C3D3E3|G9|"));
    let rest = set("C9|Z3|C9|", 2, 3, "3+2+2+2/8");
    assert_eq!(rest, format!("{head}C9|Z | [M:3+2+2+2/8] Z2|[M:9/8] C9|"));
}

fn pause(music: &str) -> Result<String, Refusal> {
    let text = format!("X:1\nM:4/4\nL:1/8\nK:C\n{music}\n");
    let edits = pause_instead(&text, &lower(&text), 1, &metre("4/4"))?;
    let after = apply(&text, &edits).unwrap();
    Ok(after.strip_prefix("X:1\nM:4/4\nL:1/8\nK:C\n").unwrap().trim().to_owned())
}

#[test]
fn a_pause_instead_of_an_odd_bar() {
    let single = pause("C8|[M:5/4] C2C2C2G4|[M:4/4] C8|");
    assert_eq!(single.as_deref(), Ok("C8|C2C2C2!fermata!G2|C8|"));
    let voices =
        pause("[V:1] C8|[M:5/4] C2C2C2\"C\"[EG]4|[M:4/4] C8|\n[V:2] C8|[M:5/4] C4 z6|[M:4/4] C8|");
    let expected = "[V:1] C8|C2C2C2\"C\"!fermata![EG]2|C8|\n[V:2] C8|C4 !fermata!z4|C8|";
    assert_eq!(voices.as_deref(), Ok(expected));
    assert!(pause("C8|[M:5/4] C2C2C2CDEF|[M:4/4] C8|").is_err());
    assert!(pause("C8|[M:3/4] C2C4|[M:4/4] C8|").is_err());
}

/// The music after its bars were split as typed, and after they were joined again.
fn there_and_back(header: &str, music: &str, bar: u32, parts: &[&str]) -> (String, String) {
    let text = format!("X:1\n{header}L:1/8\nK:C\n{music}\n");
    let read = lower(&text);
    let parts: Vec<Metre> = parts.iter().map(|part| metre(part)).collect();
    let old = read.tune.metre(&read.tune.voices[0].bars[bar as usize]).clone();
    let edits = split_bar_as_typed(&text, &read, bar, &parts).unwrap();
    let split = apply(&text, &edits).unwrap();
    let again = lower(&split);
    assert!(carries_all(&read, &again), "{split}");
    let last = bar + parts.len() as u32 - 1;
    let edits = join_bars(&split, &again, bar, last, &old).unwrap();
    let joined = apply(&split, &edits).unwrap();
    assert_eq!(joined, text, "from\n{split}");
    let music = |text: &str| text.split_once("K:C\n").unwrap().1.trim().to_owned();
    (music(&split), music(&joined))
}

#[test]
fn a_split_and_joined_bar_is_typed_as_it_was() {
    let (nine, four) = ("M:9/8\n", "M:4/4\n");
    let back = |music: &str, split: &str| {
        assert_eq!(there_and_back(nine, music, 0, &["5/8", "2/4"]).0, split);
    };
    back("C3D2 E2F2|G9|", "[M:5/8] C3D2 | [M:2/4] E2F2|[M:9/8] G9|");
    back("CDEFG ABcd|", "[M:5/8] CDEFG | [M:2/4] ABcd|");
    back("CDEFGABcd|]", "[M:5/8] CDEFG| [M:2/4] ABcd|]");
    back("C3D2  E2F2|", "[M:5/8] C3D2 | [M:2/4]  E2F2|");
    back("C3D2\nE2F2|", "[M:5/8] C3D2 |\n[M:2/4] E2F2|");
    back("C3D4F2|G9|", "[M:5/8] C3D2-| [M:2/4] D2F2|[M:9/8] G9|");
    back("C3D2-D2F2|G9|", "[M:5/8] C3D2- |[M:2/4]D2F2|[M:9/8] G9|");
    back("C3D2- D2F2|G9|", "[M:5/8] C3D2- | [M:2/4] D2F2|[M:9/8] G9|");
    back("C9|", "[M:5/8] C3- C2-| [M:2/4] C4|");
    back("C3- C6|", "[M:5/8] C3- C2-|  [M:2/4] C4|");
    back("C3z4F2|", "[M:5/8] C3z2| [M:2/4] z2F2|");
    back("C3z2z2F2|", "[M:5/8] C3z2 |[M:2/4]z2F2|");
    back("^F3G2 F2F2|", "[M:5/8] ^F3G2 | [M:2/4] ^F2F2|");
    let repeat = there_and_back(nine, "|:C9|C3D2E2F2:|G9|", 1, &["5/8", "2/4"]).0;
    assert_eq!(repeat, "|:[M:9/8] C9|[M:5/8] C3D2| [M:2/4] E2F2:|[M:9/8] G9|");
    back("^F3-F2 =F4|", "[M:5/8] ^F3-F2 | [M:2/4] =F4|");
    back("C3[CE-G]4E2|", "[M:5/8] C3[CEG]2-| [M:2/4] [CE-G]2E2|");
    back("[C9E9]|", "[M:5/8] [C3E3]- [C2E2]-| [M:2/4] [C4E4]|");
    let two = |music: &str, bar: u32, split: &str| {
        assert_eq!(there_and_back(four, music, bar, &["2/4", "2/4"]).0, split);
    };
    two("C4E4|G8|", 0, "[M:2/4] C4| E4|[M:4/4] G8|");
    two("C8|G8|", 0, "[M:2/4] C4-| C4|[M:4/4] G8|");
    two("C8|Z4|G8|", 2, "C8|Z| [M:2/4] Z2| [M:4/4] Z2|G8|");
    two("C8|Z|G8|", 1, "C8|[M:2/4] Z | Z|[M:4/4] G8|");
    back("C3D2 E2F2 & C9|G9|", "[M:5/8] C3D2 & C3- C2-| [M:2/4] E2F2 & C4|[M:9/8] G9|");
    back("C3D2 E2F2&C5 ^D2D2 |", "[M:5/8] C3D2 &C5 | [M:2/4] E2F2& ^D2D2 |");
    back("CDEFGABcd & C2C7|", "[M:5/8] CDEFG& C2C3-| [M:2/4] ABcd & C4|");
}

fn written(header: &str, music: &str, bars: [u32; 2], new: &[&str]) -> Result<String, String> {
    let text = format!("X:1\n{header}L:1/8\nK:C\n{music}\n");
    let read = lower(&text);
    let new: Vec<NewBar> = new.iter().map(|sign| NewBar::full(&metre(sign))).collect();
    let edits = write_bars(&text, &read, bars[0], bars[1], &new).map_err(|why| why.to_string())?;
    let after = apply(&text, &edits).unwrap();
    let again = lower(&after);
    assert!(carries_all(&read, &again), "{after}");
    Ok(after.strip_prefix("X:1\n").unwrap().replace("L:1/8\nK:C\n", "").trim().to_owned())
}

#[test]
fn bars_are_joined() {
    let two = "M:2/4\n";
    let joined = |music: &str, bars, sign: &str, expected: &str| {
        assert_eq!(written(two, music, bars, &[sign]).as_deref(), Ok(expected));
    };
    joined("C4|D4|E4|", [0, 1], "4/4", "M:2/4\n[M:4/4] C4 D4|[M:2/4] E4|");
    joined("C4|D4|E4|", [1, 2], "4/4", "M:2/4\nC4|[M:4/4] D4 E4|");
    joined("C4|D4|", [0, 1], "4/4", "M:4/4\nC4 D4|");
    joined("C4-|C4|E4|", [0, 1], "4/4", "M:2/4\n[M:4/4] C8|[M:2/4] E4|");
    joined("C2B,2-|B,2C2|E4|", [0, 1], "4/4", "M:2/4\n[M:4/4] C2B,4C2|[M:2/4] E4|");
    joined("C3B,-|B,C3|E4|", [0, 1], "4/4", "M:2/4\n[M:4/4] C3B,- B,C3|[M:2/4] E4|");
    joined("^F2F2|^FFG2|E4|", [0, 1], "4/4", "M:2/4\n[M:4/4] ^F2F2 FFG2|[M:2/4] E4|");
    joined("^F2F2|FFG2|E4|", [0, 1], "4/4", "M:2/4\n[M:4/4] ^F2F2 =FFG2|[M:2/4] E4|");
    joined("^F2=F2|F2^F2|E4|", [0, 1], "4/4", "M:2/4\n[M:4/4] ^F2=F2 F2^F2|[M:2/4] E4|");
    joined("C4|[K:G]D4|E4|", [0, 1], "4/4", "M:2/4\n[M:4/4] C4 [K:G]D4|[M:2/4] E4|");
    joined("C4 |\nD4|E4|", [0, 1], "4/4", "M:2/4\n[M:4/4] C4 D4|\n[M:2/4] E4|");
    joined("C2D2 & E4 | F4 |E4|", [0, 1], "4/4", "M:2/4\n[M:4/4] C2D2 F4 & E4 x4 |[M:2/4] E4|");
    joined("Z|C4|Z|", [0, 1], "4/4", "M:2/4\n[M:4/4] z4 C4|[M:2/4] Z|");
    joined("C4|Z2|Z|", [1, 2], "4/4", "M:2/4\nC4|[M:4/4] Z|[M:2/4] Z|");
    joined("C4|Z4|Z|", [2, 3], "4/4", "M:2/4\nC4|Z|[M:4/4] Z|[M:2/4] Z|Z|");
    let refused = |music: &str, word: &str| {
        let why = written(two, music, [0, 1], &["4/4"]).unwrap_err();
        assert!(why.contains(word), "{why}");
    };
    refused("C4:|D4|", "repeat");
    refused("C4||D4|", "double");
    refused("C4|D2|", "as long");
}

#[test]
fn a_passage_in_other_bars() {
    let music = "C4D4|E4F4|G8|c8|";
    let new = ["3/4", "3/4", "2/4"];
    let expected = "M:4/4\n[M:3/4] C4D2-|D2 E4|[M:2/4] F4|[M:4/4] G8|c8|";
    assert_eq!(written("M:4/4\n", music, [0, 1], &new).as_deref(), Ok(expected));
    let nine = "C3D2E2F2|G3A2B2c2|G9|";
    let new = ["5/8", "2/4", "5/8", "2/4"];
    let expected = "M:9/8\n[M:5/8] C3D2|[M:2/4] E2F2|[M:5/8] G3A2|[M:2/4] B2c2|[M:9/8] G9|";
    assert_eq!(written("M:9/8\n", nine, [0, 1], &new).as_deref(), Ok(expected));
}

#[test]
fn words_go_with_their_notes() {
    let two = "M:2/4\n";
    let joined = written(two, "C4-|C4|E4|\nw:go _ home", [0, 1], &["4/4"]);
    assert_eq!(joined.as_deref(), Ok("M:2/4\n[M:4/4] C8|[M:2/4] E4|\nw:go home"));
    let joined = written(two, "C4-|C4|E4|\nw:go * home", [0, 1], &["4/4"]);
    assert_eq!(joined.as_deref(), Ok("M:2/4\n[M:4/4] C8|[M:2/4] E4|\nw:go home"));
    let split = there_and_back("M:4/4\n", "C8|E8|\nw:go home", 0, &["2/4", "2/4"]).0;
    assert_eq!(split, "[M:2/4] C4-| C4|[M:4/4] E8|\nw:go_ home");
    let split = there_and_back("M:4/4\n", "C2E6|E8|\nw:ho-ly night\nw:a * b", 0, &["2/4", "2/4"]).0;
    assert_eq!(split, "[M:2/4] C2E2-| E4|[M:4/4] E8|\nw:ho-ly_ night\nw:a * * b");
    let words = "C2E6|E8|\nw:ho-ly night\nw:a * *";
    let split = there_and_back("M:4/4\n", words, 0, &["2/4", "2/4"]).0;
    assert_eq!(split, "[M:2/4] C2E2-| E4|[M:4/4] E8|\nw:ho-ly_ night\nw:a * * *");
    let split = there_and_back("M:4/4\n", "C8|E8|\nw:ho-ly", 0, &["2/4", "2/4"]).0;
    assert_eq!(split, "[M:2/4] C4-| C4|[M:4/4] E8|\nw:ho-_ly");
}

fn moved(header: &str, music: &str, bar: u32, eighths: i64) -> Result<String, String> {
    let text = format!("X:1\n{header}L:1/8\nK:C\n{music}\n");
    let read = lower(&text);
    let edits = move_lines(&text, &read, bar, Time::new(eighths, 8));
    let after = apply(&text, &edits.map_err(|why| why.to_string())?).unwrap();
    assert!(carries_all(&read, &lower(&after)), "{after}");
    Ok(after.split_once("K:C\n").unwrap().1.trim().to_owned())
}

#[test]
fn bar_lines_move_by_a_beat() {
    let four = |music: &str, by: i64, expected: &str| {
        assert_eq!(moved("M:4/4\n", music, 0, by).as_deref(), Ok(expected));
    };
    four("C2D2E2F2|G2A2B2c2|c8|]", 2, "C2|D2E2F2 G2|A2B2c2 c2-|c6|]");
    four("C2|D2E2F2G2|A2B2c2c2-|c6|]", -2, "C2 D2E2F2|G2 A2B2c2|c8|]");
    four("C2D2E2F2|C2D2E2F2|c8:|", 4, "C2D2|E2F2 C2D2|E2F2 c4-|c4:|");
    four("C2D2E2F2|G2A2B2c2|\nd2d2e2e2|c8|]", 2, "C2|D2E2F2 G2|A2B2c2 d2|\nd2e2e2 c2-|c6|]");
    four("C2D2E2F2|G2A2B2c2|\nd2d2e2e2|c8|]", -2, "C2D2E2|F2 G2A2B2|\nc2 d2d2e2|e2 c6-|c2|]");
    let why = moved("M:4/4\n", "C8|C8|[1C8:|[2C8|]", 0, 2).unwrap_err();
    assert!(why.contains("ending"), "{why}");
}

fn scaled(header: &str, music: &str, bars: [u32; 2], scale: Scale) -> Result<String, String> {
    let text = format!("X:1\n{header}K:C\n{music}\n");
    let document = crate::Document::new(&text);
    let block = document.blocks().next().unwrap().1.clone();
    let edits = scale_values(&text, block.lowered(), bars[0], bars[1], scale);
    let edits = edits.map_err(|why| why.to_string())?;
    let after = scaled_exactly(&block, &edits, (bars[0], bars[1]), scale);
    let after = after.ok_or_else(|| apply(&text, &edits).unwrap())?;
    Ok(after.text.strip_prefix("X:1\n").unwrap().trim().to_owned())
}

#[test]
fn all_values_are_halved_or_doubled_with_the_tempo() {
    let head = "M:4/4\nL:1/8\nQ:\"Gently\" 1/4=60\n";
    let whole = scaled(head, "C2D2 (3EFG c2|Z|", [0, 1], Scale::Half);
    let expected = "M:4/8\nL:1/16\nQ:\"Gently\" 1/8=60\nK:C\nC2D2 (3EFG c2|Z|";
    assert_eq!(whole.as_deref(), Ok(expected));
    let part = scaled(head, "C8|C2D>E {f}[G2B2]z2|G8|\nw:a b c d e f", [1, 1], Scale::Half);
    let expected = format!(
        "{head}K:C\nC8|[M:4/8] [Q:1/8=60] CD/>E/ {{f}}[GB]z|[M:4/4] [Q:1/4=60] G8|\nw:a b c d e f"
    );
    assert_eq!(part, Ok(expected));
    let double = scaled(head, "C8|CD2[EG]3/Z c|G8|", [0, 0], Scale::Double);
    let expected = format!("{head}K:C\n[M:4/2] [Q:1/2=60] C16|[M:4/4] [Q:1/4=60] CD2[EG]3/Z c|G8|");
    assert_eq!(double, Ok(expected));
    let why = scaled("M:4/4\nL:1/8\n", "C8|", [0, 0], Scale::Half).unwrap_err();
    assert!(why.contains("tempo"), "{why}");
}

#[test]
fn a_bar_of_grace_notes_alone_is_not_joined() {
    let text = tune("", "C9|{ABc}|C9|");
    let refusal = join_bars(&text, &lower(&text), 0, 1, &metre("9/8")).unwrap_err();
    assert_eq!(refusal.to_string(), "This bar holds nothing that takes time.");
}
