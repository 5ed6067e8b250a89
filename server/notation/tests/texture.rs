//! Texture and form of small pieces; all are composed.

#![allow(clippy::unwrap_used, clippy::expect_used)]

use recte_notation::lower;
use recte_score::harmony::harmonies;
use recte_score::texture::sections::Source;
use recte_score::texture::{Analysis, Motif, Role, analyse, motifs};
use recte_score::{Tune, lines};
use recte_theory::Time;

fn tune(head: &str, music: &str) -> Tune {
    lower(&format!("X:1\nM:2/4\nL:1/8\n{head}K:C\n{music}\n")).tune
}

#[test]
fn off_beats() {
    // Eighth, quarter, eighth, twice: one onset of three is off the beat.
    let tune = tune("", "c d2 e|c d2 e|c4|");
    let all = Analysis::of(&tune);
    assert!((all.bars()[0].off_beat - 1.0 / 3.0).abs() < 1e-9);
    assert_eq!(all.bars()[2].off_beat, 0.0);
}

const FOUR: &str = "V:1\nV:2\nV:3\nV:4 clef=bass\n\
    [V:1] e2 g2|f3 d|e2 c2|d4|e2 g2|f3 d|e2 c2|c4|\n\
    [V:2] CEGE|DFGF|CEGE|B,DGD|z4|z4|z4|z4|\n\
    [V:3] z4|z4|z4|z4|CEGE|DFGF|CEGE|CEGE|\n\
    [V:4] C,4-|C,4|C,2 E,2|G,4|e2 g2|f3 d|e2 c2|c4|";

#[test]
fn who_does_what() {
    let tune = tune("", FOUR);
    let form = analyse(&tune, &harmonies(&tune));
    let roles = |part: usize| form.layers[part].iter().map(|one| one.role).collect::<Vec<_>>();
    assert_eq!(roles(0), [Role::Melody; 8]);
    assert_eq!(roles(1)[..4], [Role::Figure; 4]);
    assert_eq!(roles(1)[4..], [Role::Resting; 4]);
    assert_eq!(roles(2)[4..], [Role::Figure; 4]);
    assert_eq!(roles(3)[0], Role::Bass);
    assert_eq!(form.layers[3][4].doubles, Some(0));
    assert_eq!(roles(3)[4..7], [Role::Doubling; 3]);
    let carriers: Vec<_> = form.figures[0].runs.iter().map(|r| (r.part, r.from, r.to)).collect();
    assert_eq!(carriers, [(1, 0, 3), (2, 4, 7)]);
    assert_eq!(form.figures[0].carrier_entropy(), 1.0);
    assert_eq!(form.curves.register.len(), 8);
}

#[test]
fn motifs_come_again_turned_and_slower() {
    let tune = tune(
        "",
        "V:1\nV:2\n[V:1] c>e dG|z4|d>f eA|z4|z4|z4|z4|z4|\n\
         [V:2] z4|z4|z4|z4|c>A Bf|z4|c3 e|d2 G2|",
    );
    let found = motifs(&lines(&tune));
    let shown: Vec<_> = found[0]
        .recurrences
        .iter()
        .map(|one| (one.voice, one.bar, one.transposed, one.inverted, one.speed))
        .collect();
    let (one, two) = (Time::WHOLE, Time::new(2, 1));
    assert_eq!(
        shown,
        [(0, 0, 0, false, one), (0, 2, 2, false, one), (1, 4, 0, true, one), (1, 6, 0, false, two)]
    );
    assert_eq!(Motif::coverage(&found[..1], 8), 5.0 / 8.0);
}

#[test]
fn what_is_typed_comes_first() {
    let labelled = tune("", "P:A\nc4|d4|e4|f4|\nP:B\ng4|a4|b4|c'4|");
    let all = Analysis::of(&labelled);
    let told: Vec<_> = all
        .sections()
        .iter()
        .map(|one| (one.from, one.to, one.label.as_deref(), one.source))
        .collect();
    assert_eq!(told, [(0, 3, Some("A"), Source::Typed), (4, 7, Some("B"), Source::Typed)]);
    let divided = tune("", "c4|d4|e4|f4||g4|a4|b4|c'4|");
    let all = Analysis::of(&divided);
    let told: Vec<_> = all.sections().iter().map(|one| (one.from, one.source)).collect();
    assert_eq!(told, [(0, Source::Beginning), (4, Source::Line)]);
}

#[test]
fn what_comes_back() {
    let a = "c2 eg|f2 ad|e2 gc|d4|";
    let b = "B>c d>e|A>B c>d|G>A B>c|F4|";
    let high = "d2 ^fa|g2 be|^f2 ad|e4|";
    let tune = tune("", &format!("P:A\n{a}\nP:B\n{b}\nP:C\n{a}\nP:D\n{high}"));
    let form = analyse(&tune, &[]);
    let told: Vec<_> =
        form.returns.iter().map(|one| (one.section, one.of, one.name(), one.transposed)).collect();
    assert_eq!(told, [(2, 0, "literal", 0), (3, 0, "literal", 2)]);
    assert!(form.contrasts[0].contrast.total > 0.0);
}

#[test]
fn the_vocabulary() {
    let tune = tune("", "[CEG]4|[CFA]4|[B,DG]4|[CEG]4|[CFA]4|[B,DG]4|[CEG]4|");
    let form = analyse(&tune, &harmonies(&tune));
    assert_eq!(form.vocabulary.next_entropy, 0.0);
    assert_eq!(form.vocabulary.predictable, Some(1.0));
    assert_eq!(form.vocabulary.words[0].count, 3);
}

#[test]
fn nothing_at_all() {
    for text in ["X:1\nK:C\n", "X:1\nK:C\n|", "X:1\nM:none\nK:C\nz4|", "X:1\nK:C clef=perc\nc4|"] {
        let form = analyse(&lower(text).tune, &[]);
        assert!(form.figures.is_empty() && form.motifs.is_empty() && form.contrasts.is_empty());
    }
}
