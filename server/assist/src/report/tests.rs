//! Reports on small tunes.

use super::*;
use recte_review::Chapter;

fn of(text: &str) -> Vec<TuneReport> {
    report(&Document::new(text), &Config::default(), None)
}

const FAULTY: &str = "X:1\nT:Pebble\nC:A. Nemo\nM:4/4\nL:1/4\nQ:1/4=60\nV:1 name=\"Violin\"\nV:2 name=\"Cello\" clef=bass\n\
    K:C\n[V:1]!p!c4|[r:Is this the same hand?]e c [E_AB]2|f e d2|c4|]\n[V:2]C,4|E,4|B,,,4|C,4|]\n";

#[test]
fn remarks_have_their_chapters_and_proposals() {
    let tunes = of(FAULTY);
    let one = &tunes[0];
    let spelled = one.remarks.iter().find(|one| one.rule == "chord-spelling").unwrap();
    assert_eq!((spelled.chapter, spelled.bars), (Chapter::Bars, Some((1, 1))));
    assert_eq!(spelled.proposals[0].text.as_deref(), Some("e c [E^GB]2|"));
    assert_eq!(spelled.proposals[0].sounds, None);
    let low = one.remarks.iter().find(|one| one.rule == "beyond-range").unwrap();
    assert_eq!(low.voice, Some(1));
    let heard = low.proposals.iter().find(|one| one.changes).unwrap().sounds.as_ref().unwrap();
    // An octave higher, with what the violin plays over it.
    assert_eq!(heard.0[1][0].midi, 47);
    assert!(!heard.0[0].is_empty());
}

#[test]
fn the_reviewers_own_remarks_are_in_their_place() {
    let tunes = of(FAULTY);
    let own = Margin { text: "Is this the same hand?".to_owned(), voice: Some(0), bar: Some(1) };
    assert_eq!(tunes[0].margin, [own]);
    let head = of("X:1\nr:Second draft\nK:C\nc|\n");
    assert_eq!((head[0].margin[0].bar, &*head[0].margin[0].text), (None, "Second draft"));
}

#[test]
fn three_sentences() {
    for text in [FAULTY, "X:1\nK:C\n", "X:1\nM:4/4\nL:1/4\nK:C\nc d e f|g4|]\n"] {
        for one in of(text) {
            assert_eq!(one.standout.len(), 3, "{:?}", one.standout);
            for standout in &one.standout {
                assert!(standout.text.ends_with('.') && method(standout.how).is_some());
            }
        }
    }
}

#[test]
fn a_rule_that_is_off_stays_off_and_one_that_observes_is_asked() {
    let text =
        "X:1\nM:4/4\nL:1/4\nK:C\n[V:1][EGc]4|[FAc]4|[GBdf]4|[EGc]4|]\n[V:2]C,4-|C,4-|C,4-|C,4|]\n";
    let rules = |config: &Config| -> Vec<&str> {
        let tunes = report(&Document::new(text), config, None);
        tunes[0].remarks.iter().map(|one| one.rule).collect()
    };
    assert!(rules(&Config::default()).contains(&"pedal-point"));
    let mut config = Config::default();
    config.rules.insert("pedal-point".to_owned(), RuleSetting::Off);
    assert!(!rules(&config).contains(&"pedal-point"));
}

#[test]
fn a_chapter_that_is_left_out_loses_no_remark() {
    let mut config = Config::default();
    config.report.sections = vec![Chapter::Bars];
    let text = FAULTY.replace("C,4|E,4", "[C,G,]4|[E,,E]4");
    let tunes = report(&Document::new(&text), &config, None);
    assert!(tunes[0].remarks.iter().all(|one| one.chapter == Chapter::Bars));
}

#[test]
fn each_tune_of_a_file_has_a_report_and_the_head_is_told_once() {
    let tunes = of("M:five\n\nX:1\nK:C\nc|\n\nsome words\n\nX:2\nT:Reed\nK:C\nd|\n");
    let told: Vec<_> = tunes.iter().map(|one| (one.title.as_str(), one.remarks.len())).collect();
    assert_eq!(told, [("Tune 1", 1), ("Reed", 0)]);
}

#[test]
fn what_could_hurt_is_told_with_deference() {
    let text = "X:1\nM:4/4\nL:1/1\nQ:1/4=40\nK:C\nV:1 name=\"Oboe\"\nc|d|e|f|g|f|e|d|c|d|e|f|g|f|e|d|c|d|e|f|\n";
    let tunes = of(text);
    let caution = tunes[0].cautions.iter().find(|one| one.voice == Some(0)).unwrap();
    let said = format!("{} {}", caution.what, caution.advice).to_lowercase();
    assert!(said.contains("ask the player") && said.contains("rest"), "{caution:?}");
    assert!(DEFERENCE.contains("doctor"));
}

#[test]
fn a_staff_without_a_name_belongs_to_the_part_above() {
    let text = "X:1\nM:4/4\nL:1/4\n%%score {R L}\nV:R name=\"Piano\"\nV:L clef=bass\n%%recte instrument L Piano\nK:C\n\
        [V:R]c4|\n[V:L]C,4|\n";
    assert_eq!(of(text)[0].voices, ["Piano", "Piano, lower staff"]);
}

#[test]
fn a_motif_says_where_it_comes_back() {
    let turn = "c d e G|A4|";
    let text = format!("X:1\nM:4/4\nL:1/4\nK:C\n{turn}d e f A|B4|{turn}G,A,B,D,|E,4|]\n");
    let (told, bars) = motif_words(&of(&text)[0]).unwrap();
    assert!(told.contains("notes from bar 1 come back in bars 3") && told.ends_with('.'), "{told}");
    assert_eq!(bars.0, 0);
}
