use super::*;
use recte_score::drafts::Transposition;

fn snapshot(text: &str) -> Snapshot {
    Snapshot::new(Document::new(text), Arc::default())
}

const TIDE: &str = "X:1\nT:Tide\nM:4/4\nL:1/4\nK:C\n[V:1 name=\"Violin\"] c d e f | g a b c' | e g c' g | f e d c | d f a f | G B d g | c2 e2 | c4 |]\n[V:2 name=\"Cello\"] C2 G,2 | E2 C2 | C4 | D2 G,2 | F2 D2 | G,4 | C2 G,2 | C4 |]\n";

fn sentences(compared: &ComparedTune) -> Vec<String> {
    passages(compared).into_iter().map(|passage| passage.text).collect()
}

fn told(old: &str, new: &str) -> Vec<String> {
    let compared = compare(&snapshot(old), &snapshot(new));
    compared.tunes.iter().flat_map(sentences).collect()
}

#[test]
fn a_draft_and_itself() {
    assert_eq!(told(TIDE, TIDE), ["Nothing is changed."]);
}

#[test]
fn bars_are_told_of_in_sentences() {
    let new = TIDE
        .replace("| e g c' g |", "| B A G F | A G F E | e g c' g |")
        .replace("| C4 | D2 G,2", "| D4 | C4 | C4 | D2 G,2")
        .replace("d f a f", "d f a g");
    assert_eq!(
        told(TIDE, &new),
        [
            "Bars 3–4 are new.",
            "Bar 7 is changed in Violin.",
            "Bars 1–2, 5–6 and 8–10 are as they were."
        ]
    );
    assert_eq!(
        told(&new, TIDE),
        [
            "Bars 3–4 of the old draft are gone.",
            "Bar 5 is changed in Violin.",
            "Bars 1–4 and 6–8 are as they were."
        ]
    );
}

#[test]
fn voices_are_told_of() {
    let new = TIDE.replace("\"Cello\"", "\"Bassoon\"")
        + "[V:3 name=\"Horn\"] z4|z4|z4|z4|z4|z4|z4|z4|]\n";
    assert_eq!(
        told(TIDE, &new),
        ["Bassoon was called Cello.", "Horn is new.", "All bars are as they were."]
    );
}

#[test]
fn a_transposition_has_its_name() {
    let by = |steps, semitones| transposed(Transposition { steps, semitones });
    assert_eq!(by(1, 2), "a major second higher");
    assert_eq!(by(-7, -12), "an octave lower");
    assert_eq!(by(3, 6), "an augmented fourth higher");
    assert_eq!(by(-8, -13), "a minor ninth lower");
}

#[test]
fn other_values_and_within_the_key() {
    let tune = |bars: &str| format!("X:1\nT:Tide\nM:4/4\nL:1/4\nK:C\nc d e f | {bars} | c4 |]\n");
    let old = tune("g a b c' | e g c' g");
    let told = |new: &str| told(&old, &tune(new));
    assert_eq!(
        told("g2 a2 | b2 c'2 | e2 g2 | c'2 g2"),
        [
            "Bars 2–5 are bars 2–3 of the old draft in values twice as long.",
            "Bars 1 and 6 are as they were."
        ]
    );
    assert_eq!(
        told("[M:2/4] g/a/b/c'/ | e/g/c'/g/ | [M:4/4]")[0],
        "Bars 2–3 are in values half as long."
    );
    assert_eq!(
        told("e f g a | c e a e"),
        ["Bars 2–3 are a third lower within the key.", "Bars 1 and 4 are as they were."]
    );
    assert_eq!(within_the_key(7), "an octave higher within the key");
    assert_eq!(within_the_key(-15), "15 steps lower within the key");
}

#[test]
fn other_bar_lines() {
    let tune = |bars: &str| format!("X:1\nT:Tide\nM:4/4\nL:1/4\nK:C\nc d e f | {bars} | c4 |]\n");
    let (old, new) = (tune("g a b c' | e g c' g"), tune("[M:2/4] g a | b c' | [M:4/4] e g c' g"));
    assert_eq!(
        told(&old, &new),
        [
            "Bars 2–3 are bar 2 of the old draft under other bar lines.",
            "Bars 1 and 4–5 are as they were."
        ]
    );
}

#[test]
fn tunes_are_paired_by_number_and_title_then_by_their_music() {
    let old =
        "X:1\nT:a\nK:C\nCDEF GABc|\n\nX:2\nT:b\nK:C\nc2e2 g2e2|f4 d4|\n\nX:3\nT:c\nK:C\nG8|\n";
    let new = "X:1\nT:new\nK:C\nzB,zD zFzA|\n\nX:2\nT:a\nK:C\nCDEF GABc|\n\nX:7\nT:d\nK:C\nc2e2 g2e2|f4 d4|\n";
    let compared = compare(&snapshot(old), &snapshot(new));
    let title = |placed: &Option<Placed>| placed.as_ref().map(|one| one.tune().title().to_owned());
    let pairs: Vec<_> =
        compared.tunes.iter().map(|tune| (title(&tune.old), title(&tune.new))).collect();
    let some = |text: &str| Some(text.to_owned());
    assert_eq!(
        pairs,
        [(None, some("new")), (some("a"), some("a")), (some("b"), some("d")), (some("c"), None)]
    );
    assert_eq!(sentences(&compared.tunes[3]), ["This tune is gone."]);
}

fn rules(remarks: &[Located]) -> Vec<(&str, i32)> {
    let one = |one: &'_ Located| {
        one.finding().bar.map(|bar| one.tune().bar_number(bar)).unwrap_or_default()
    };
    remarks.iter().map(|remark| (remark.finding().rule, one(remark))).collect()
}

#[test]
fn remarks_are_settled_stand_or_are_new() {
    let old = "X:1\nT:Pebble\nM:4/4\nL:1/4\nK:Am\n[EB_A]4 | c d e f | [EB_A]4 | A4 |]\n";
    let new = "X:1\nT:Pebble\nM:4/4\nL:1/4\nK:Am\nf e d c | [EB^G]4 | c d e f | [EB_A]4 | A4 | [EB_A]4 |]\n";
    let compared = compare(&snapshot(old), &snapshot(new));
    let of = |rule: &str| {
        let mut remarks = compared.tunes[0].remarks.clone();
        remarks.retain(|own| own == rule);
        remarks
    };
    let remarks = of("chord-spelling");
    assert_eq!(rules(&remarks.settled), [("chord-spelling", 1)]);
    assert_eq!(rules(&remarks.new), [("chord-spelling", 6)]);
    let (was, is): (Vec<_>, Vec<_>) = remarks.standing.iter().cloned().unzip();
    assert_eq!(
        (rules(&was), rules(&is)),
        (vec![("chord-spelling", 3)], vec![("chord-spelling", 4)])
    );
    assert_eq!(counts(&remarks), "1 remark settled, 1 stands, 1 is new");
    let standing = Remarks { standing: remarks.standing, ..Remarks::default() };
    assert_eq!(counts(&standing), "1 remark stands");
    assert_eq!(counts(&Remarks { new: remarks.new, ..Remarks::default() }), "1 remark is new");
    assert_eq!(counts(&Remarks::default()), "no remarks");
}
