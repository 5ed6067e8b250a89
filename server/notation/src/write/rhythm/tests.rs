//! Each job over a bar: what comes of it, and that it sounds as it did, with all that hangs on the notes.

use super::*;
use crate::lower;
use crate::write::{apply, reads_as_well, same_signs};

type Job = fn(&str, &Lowered, Place) -> Result<Vec<TextEdit>, Unwritable>;

fn tune(metre: &str, music: &str) -> String {
    format!("X:1\nM:{metre}\nL:1/16\nK:C\n{music}\n")
}

/// The first bar after a job.
fn done(job: Job, metre: &str, music: &str) -> String {
    let text = tune(metre, music);
    let before = lower(&text);
    let edits = job(&text, &before, Place { bar: 0, voice: None }).unwrap();
    let after = apply(&text, &edits).unwrap();
    assert!(reads_as_well(&before, &lower(&after)), "{after}");
    assert!(same_signs(&before.tune, &lower(&after).tune), "{after}");
    after.strip_prefix(&tune(metre, "").trim_end().to_owned()).unwrap().trim().to_owned()
}

fn refused(job: Job, metre: &str, music: &str) -> String {
    let text = tune(metre, music);
    job(&text, &lower(&text), Place { bar: 0, voice: None }).unwrap_err().to_string()
}

#[test]
fn beats_are_shown_by_ties() {
    let show = |metre, music| done(show_beats, metre, music);
    assert_eq!(show("4/4", "B2 A4 G4 F4 E2|"), "B2 A4 G2- G2 F4 E2|");
    assert_eq!(show("12/8", "B8 A8 G8|"), "B6- B2 A4- A4 G2- G6|");
    assert_eq!(show("3/4", "B2 A8 G2|"), "B2A2- A4- A2G2|");
    assert_eq!(show("4/4", "B4 A4 G4 F4|"), "B4 A4 G4 F4|");
}

#[test]
fn what_hangs_on_a_note_goes_with_it() {
    let show = |music| done(show_beats, "4/4", music);
    assert_eq!(show("B2 A4 !f!(\"Am\"^G4 A4) G2|"), "B2 A4 !f!(\"Am\"^G2- G2 A4) G2|");
    assert_eq!(show("B2 A4 [^GB]4- [^GB]4 =G2|"), "B2 A4 [^GB]2- [GB]2- [^GB]4 =G2|");
    assert_eq!(show("B2 A4 [G-B-]4 [GB]4 G2|"), "B2 A4 [GB]2- [G-B-]2 [GB]4 G2|");
    assert_eq!(show("B2 A4 {ga}G4 F4 E2|"), "B2 A4 {ga}G2- G2 F4 E2|");
}

#[test]
fn words_are_held() {
    assert_eq!(
        done(show_beats, "4/4", "B2 A4 G4 F4 E2|\nw: fa-la la o-ver"),
        "B2 A4 G2- G2 F4 E2|\nw: fa-la la_ o-ver"
    );
    assert_eq!(
        done(show_beats, "4/4", "B2 A4 G4 F4 E2|\nw: fa la o-ver hill\nw: fa la_ la la"),
        "B2 A4 G2- G2 F4 E2|\nw: fa la o-_ver hill\nw: fa la__ la la"
    );
    assert_eq!(done(join_ties, "4/4", "B4- B4 A8|\nw: fa_ la"), "B8 A8|\nw: fa la");
    let why = refused(join_ties, "4/4", "B4- B4 A8|\nw: fa la la");
    assert_eq!(why, "The words under this line would shift.");
}

#[test]
fn needless_ties_are_joined_and_needed_ones_kept() {
    let join = |metre, music| done(join_ties, metre, music);
    assert_eq!(join("4/4", "B4- B4 A8|"), "B8 A8|");
    assert_eq!(join("6/8", "(B4-B2) A6|"), "(B6) A6|");
    assert_eq!(join("4/4", "B4 A4- A4 G4|"), "B4 A4- A4 G4|");
    assert_eq!(join("3/4", "B2A2- A4- A2G2|"), "B2A2- A4- A2G2|");
    assert_eq!(join("4/4", "[CE]4-[CE]4 ^F4- F2 G2|"), "[CE]8 ^F6 G2|");
    assert_eq!(join("4/4", "B4- !f!B4 A8|"), "B4- !f!B4 A8|");
}

#[test]
fn rests_show_the_beat() {
    let rests = |metre, music| done(regroup_rests, metre, music);
    assert_eq!(rests("4/4", "B4 z8 B4|"), "B4 z4z4 B4|".replace("z4z4", "z4 z4"));
    assert_eq!(rests("4/4", "z4 z4 B8|"), "z8 B8|");
    assert_eq!(rests("6/8", "B2 z4 z6|"), "B2 z2 z2 z6|");
    assert_eq!(rests("3/4", "z12|"), "Z|");
    assert_eq!(rests("2+2+3/8", "B4 z8 B2|"), "B4 z4 z4 B2|");
    assert_eq!(rests("4/4", "B4 !fermata!z4 z8|"), "B4 !fermata!z4 z8|");
}

#[test]
fn beams_follow_the_beat() {
    let beam = |metre, music| done(beam_by_beat, metre, music);
    assert_eq!(beam("4/4", "BABA BABA|"), "BABA BABA|");
    assert_eq!(beam("4/4", "B2A2B2A2B2A2B2A2|"), "B2A2 B2A2 B2A2 B2A2|");
    assert_eq!(beam("6/8", "B2 A2 \"C\"G2 (F2 E2) D2|"), "B2A2\"C\"G2 (F2E2)D2|");
    assert_eq!(beam("7/8", "B2A2B2A2B2A2B2|"), "B2A2 B2A2 B2A2B2|");
    let why = refused(beam_by_beat, "2/4", "B2\nA2 B4|");
    assert_eq!(why, "A line of the text ends inside a beam.");
}

#[test]
fn tuplets_are_split_where_the_beat_falls() {
    let split = |metre, music| done(split_tuplets, metre, music);
    assert_eq!(split("4/4", "B4 (3B4A4G4 F4|"), "B4 (3:2:2B4A2- (3:2:2A2G4 F4|");
    assert_eq!(split("4/4", "(3B4A4G4 F8|"), "(3B4A4G4 F8|");
}

#[test]
fn layers_and_voices_each_by_themselves() {
    let text = tune("4/4", "[V:1] B4 z8 B4 & z4 C8 z4|\n[V:2] C2 D4 E4 F4 G2|");
    let read = lower(&text);
    let edits = regroup_rests(&text, &read, Place { bar: 0, voice: Some(0) }).unwrap();
    let after = apply(&text, &edits).unwrap();
    assert!(after.contains("[V:1] B4 z4 z4 B4 & z4 C8 z4|"), "{after}");
    let edits = show_beats(&text, &read, Place { bar: 0, voice: None }).unwrap();
    let after = apply(&text, &edits).unwrap();
    assert!(after.contains("[V:2] C2 D4 E2- E2 F4 G2|"), "{after}");
}

#[test]
fn what_cannot_be_done_is_said() {
    assert_eq!(refused(show_beats, "none", "B2 A8|"), "There is no metre here to show.");
    assert_eq!(
        refused(show_beats, "2/4", "B2 A8|"),
        "This bar does not hold what its signature asks for."
    );
}
