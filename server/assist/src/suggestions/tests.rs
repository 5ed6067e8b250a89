use super::*;
use recte_notation::Document;
use std::sync::Arc;

/// What is suggested for what stands between two ▲: titles, previews, and the music after or why not.
fn suggested(marked: &str) -> Vec<(String, Vec<String>, Result<String, String>)> {
    let start = marked.find('▲').unwrap();
    let text = marked.replace('▲', "");
    let end = marked.rfind('▲').unwrap() - '▲'.len_utf8();
    let snapshot = Snapshot::new(Document::new(&text), Arc::default());
    let music = |text: &str| {
        text.split_once("\nK:").unwrap().1.split_once('\n').unwrap().1.trim().to_owned()
    };
    let after = |one: Suggestion| {
        let changes = one.changes.map(|changes| music(&snapshot.document.text_with(&changes)));
        (one.title, one.preview, changes)
    };
    let all = suggestions(&snapshot, start..end, true, Wanted::Proved);
    all.into_iter().map(after).collect()
}

fn taken(marked: &str, title: &str) -> String {
    let all = suggested(marked);
    let own = all.iter().find(|(known, _, _)| known.starts_with(title));
    own.unwrap_or_else(|| panic!("{title} is not among {all:#?}")).2.clone().unwrap()
}

/// What is said instead of a suggestion that cannot be made.
fn refused(marked: &str, title: &str) -> String {
    let all = suggested(marked);
    let own = all.iter().find(|(known, _, _)| known.starts_with(title));
    own.unwrap_or_else(|| panic!("{title} is not among {all:#?}")).2.clone().unwrap_err()
}

const HEAD: &str = "X:1\nM:4/4\nL:1/4\nK:C\n";
const PLANING: &str = "▲[A,CE]2 [G,_B,D]2|[F,_A,C]4▲|\n";
const HYMN: &str = "X:1\nM:4/4\nL:1/4\nV:1 name=\"Soprano\"\nV:2 name=\"Alto\"\nV:3 name=\"Tenor\"\nV:4 name=\"Bass\" clef=bass\nK:C\n";

#[test]
fn parallel_triads_get_the_same_seventh() {
    let text = format!("{HEAD}{PLANING}");
    assert_eq!(
        taken(&text, "Add major sevenths to the parallel chords of bars 1–2"),
        "[A,CE^G]2 [=G,_B,D^F]2|[F,_A,CE]4|"
    );
    assert_eq!(taken(&text, "Add minor sevenths"), "[A,CEG]2 [G,_B,DF]2|[F,_A,C_E]4|");
    assert_eq!(taken(&text, "Add ninths"), "[A,CEB]2 [G,_B,DA]2|[F,_A,CG]4|");
    let all = suggested(&text);
    let (title, preview, _) = &all[1];
    assert!(title.ends_with(" (changes the music)"), "{title}");
    assert_eq!(preview[0], "bar 1: A minor (Am) becomes A minor-major seventh (Am(maj7))");
}

#[test]
fn chords_of_a_key_get_its_sevenths() {
    let text = format!("{HEAD}[V:1] ▲e4|f4|d4▲|e4|\n[V:2] [CEG]4|[DFA]4|[G,B,D]4|[CEG]4|\n");
    let after = taken(&text, "Add sevenths of the key to the chords of bars 1–3");
    assert!(after.contains("[V:2] [CEGB]4|[DFAc]4|[G,B,DF]4|[CEG]4|"), "{after}");
    // Above the highest note it would be another tune.
    let text = format!("{HEAD}▲[CEG]4|[DFA]4|[G,B,D]4▲|[CEG]4|\n");
    assert!(suggested(&text).iter().all(|one| !one.0.starts_with("Add sevenths")));
}

#[test]
fn in_voices_a_doubled_root_gives_way() {
    let text = format!("{HYMN}[V:1] ▲G4|G4▲|\n[V:2] E4|D4|\n[V:3] C4|B,4|\n[V:4] C,4|G,,4|\n");
    let after = taken(&text, "Add sevenths of the key");
    assert!(after.contains("[V:3] B,4|B,4|"), "{after}");
}

#[test]
fn the_fourth_for_the_third() {
    let text = format!(
        "{HYMN}[V:1] c4|▲d4▲|c4|\n[V:2] G4|G4|G4|\n[V:3] E4|B,4|C4|\n[V:4] C,4|G,,4|C,4|\n"
    );
    let after = taken(&text, "Put the fourth for the third in the dominants of bar 2");
    assert!(after.contains("[V:3] E4|C4|C4|"), "{after}");
}

#[test]
fn a_held_note_in_a_voice_that_rests() {
    let text = format!(
        "{HYMN}[V:1] ▲c2 B2|c4▲|c4|\n[V:2] G4|G4|G4|\n[V:3] E2 D2|E4|E4|\n[V:4] Z|z4|C,4|\n"
    );
    let after = taken(&text, "Hold C under bars 1–2");
    assert!(after.contains("[V:4] C4-|C4|C,4|"), "{after}");
}

#[test]
fn a_held_note_in_a_voice_of_its_own() {
    let text = format!("{HEAD}[CEG]2|:[FAc]4|▲[GBd]4|[CEG]4▲:|[CEG]4|]\n");
    let after = taken(&text, "Hold G under bars 2–3");
    assert_eq!(after.lines().last(), Some("[V:Pedal] [L:1/4]z2|:Z|G,4-|G,4:|Z|]"));
}

#[test]
fn a_smoother_bass() {
    let text = format!(
        "{HYMN}[V:1] ▲e4|d4|c4|c4▲|\n[V:2] c4|A4|A4|G4|\n[V:3] G4|F4|F4|E4|\n[V:4] C4|D,4|F,4|C,4|\n"
    );
    let after = taken(&text, "Invert for a smoother bass in bars 1–4");
    assert!(after.contains("[V:4] C4|"), "{after}");
}

#[test]
fn other_chords_under_a_melody_note() {
    let text = format!("{HYMN}[V:1] c4|▲c4▲|\n[V:2] G4|G4|\n[V:3] E4|E4|\n[V:4] C,4|C,4|\n");
    let titles: Vec<String> = suggested(&text).into_iter().map(|one| one.0).collect();
    let own: Vec<&String> =
        titles.iter().filter(|title| title.starts_with("Re-harmonise")).collect();
    assert_eq!(own[0], "Re-harmonise beat 1 of bar 2 as Am/C (changes the music)");
    let after = taken(&text, own[0]);
    assert!(after.contains("[V:2] G4|A4|") && after.contains("[V:4] C,4|C,4|"), "{after}");
}

#[test]
fn nothing_where_a_rule_would_have_more_to_say() {
    let tuba = HEAD.replace("K:C", "V:1 name=\"Tuba\" clef=bass\nK:C");
    let said = refused(&format!("{tuba}▲[G,_B,D]2 [A,CE]2|[_B,_DF]4▲|\n"), "Add minor sevenths");
    assert!(said.starts_with("bar 2: there would be something to remark: "), "{said}");
    let lengths = format!("{HEAD}▲[A,2C2E]2 [G,_B,D]2|[F,_A,C]4▲|\n");
    assert_eq!(
        refused(&lengths, "Add minor sevenths"),
        "bar 1: these notes are typed in a way that does not allow it."
    );
}

#[test]
fn the_symbol_over_a_chord_that_changes_changes_too() {
    let text = format!("{HEAD}▲\"Am\"[A,CE]2 \"C\"[G,_B,D]2|[F,_A,C]4▲|\n");
    let all = suggested(&text);
    let own = all.iter().find(|one| one.0.starts_with("Add minor sevenths")).unwrap();
    assert_eq!(own.2.as_deref(), Ok("\"Am7\"[A,CEG]2 \"C\"[G,_B,DF]2|[F,_A,C_E]4|"));
    let told = [
        "bar 1: the chord symbol “Am” becomes “Am7”",
        "bar 1: the chord symbol “C” typed there stays",
    ];
    assert_eq!(own.1[own.1.len() - 2..], told);
}

#[test]
fn nothing_unasked() {
    let snapshot = Snapshot::new(Document::new(&format!("{HEAD}[CEG]4|\n")), Arc::default());
    assert_eq!(suggestions(&snapshot, 25..25, false, Wanted::Proved), []);
}

#[test]
fn a_voice_of_its_own_is_listed_with_the_others() {
    let head = HYMN.replace("V:1 name", "%%score [1 2 3 4]\nV:1 name").replace("K:C", "K:F");
    let text = format!("{head}% 1\n[V:1] ▲c4|c4▲|\n[V:2] A4|A4|\n[V:3] F4|F4|\n[V:4] F,4|F,4|\n");
    let all = suggested(&text);
    let (_, _, after) = all.iter().find(|one| one.0.starts_with("Hold F")).unwrap();
    assert!(after.as_ref().unwrap().ends_with("[V:Pedal] [L:1/4]F,4-|F,4|"), "{after:?}");
}
