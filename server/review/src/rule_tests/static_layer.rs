//! A figure that stays in one part; the pieces are composed.

use crate::config::Config;
use crate::finding::FixKind;
use crate::rule_tests::{findings_in, findings_of, said_in};
use recte_notation::write::apply;
use recte_notation::{Document, lower};

const MELODY: [&str; 4] = ["e2 g2", "f3 d", "e2 c2", "d4"];
const FIGURE: [&str; 4] = ["CGEG", "DGFG", "CGEG", "B,GDG"];

/// Four voices: flute, clarinet, viola, cello; each is a letter a bar: m the melody, f the figure, z rest, h a held note.
fn piece(head: &str, voices: [&str; 4]) -> String {
    let names = ["Flute", "Violin", "Viola", "Cello"];
    let clefs = ["treble", "treble", "alto", "bass"];
    let mut text = format!("X:1\nM:2/4\nL:1/8\n{head}K:C\n");
    for (at, name) in names.iter().enumerate() {
        text.push_str(&format!("V:{} name=\"{name}\" clef={}\n", at + 1, clefs[at]));
    }
    for (at, bars) in voices.iter().enumerate() {
        text.push_str(&format!("[V:{}] ", at + 1));
        for (bar, what) in bars.chars().enumerate() {
            text.push_str(match what {
                'm' => MELODY[bar % 4],
                'f' => FIGURE[bar % 4],
                'h' => "C,4",
                _ => "z4",
            });
            text.push('|');
        }
        text.push('\n');
    }
    text
}

fn times(what: &str, bars: usize) -> String {
    what.repeat(bars)
}

/// A melody over a figure of so many bars in the viola.
fn kept(head: &str, bars: usize) -> String {
    piece(head, [&times("m", bars), &times("z", bars), &times("f", bars), &times("h", bars)])
}

fn said(text: &str) -> Vec<String> {
    said_in("static-layer", text)
}

const NONE: [String; 0] = [];

#[test]
fn the_sentence() {
    assert_eq!(
        said(&kept("Q:1/4=100\n", 24)),
        ["Viola keeps one figure through bars 1–24: 24 bars, 29 seconds at this tempo; \
          Violin could take it over for a while."]
    );
    assert_eq!(
        said(&kept("", 17)),
        [
            "Viola keeps one figure through bars 1–17: 17 bars; Violin could take it over for a while."
        ]
    );
    assert_eq!(said(&kept("Q:1/4=100\n", 16)), NONE);
    // Ten bars, and a slow tempo.
    assert_eq!(said(&kept("Q:1/4=28\n", 10)).len(), 1);
    assert_eq!(said(&kept("Q:1/4=100\n", 10)), NONE);
}

#[test]
fn passed_around_it_is_silent() {
    let (mut violin, mut viola) = (String::new(), String::new());
    for group in 0..6 {
        let (one, other) = if group % 2 == 0 { ("f", "z") } else { ("z", "f") };
        violin.push_str(&times(one, 4));
        viola.push_str(&times(other, 4));
    }
    assert_eq!(said(&piece("", [&times("m", 24), &violin, &viola, &times("h", 24)])), NONE);
}

#[test]
fn two_parts_together_are_one_remark() {
    let text = piece("", [&times("m", 24), &times("f", 24), &times("f", 24), &times("h", 24)]);
    let found = findings_of("static-layer", &text);
    assert_eq!(found.len(), 1);
    assert!(found[0].message.contains("Violin and Viola keep"), "{}", found[0].message);
    assert_eq!(found[0].fixes, []);
}

#[test]
fn what_means_to_stay() {
    assert_eq!(said(&kept("% an ostinato\n", 24)), NONE);
    assert_eq!(said(&kept("T:Passacaglia\n", 24)), NONE);
    assert_eq!(said(&kept("R:jig\n", 24)), NONE);
    let text = kept("", 24);
    assert_eq!(said(&text.replace("[V:3] C", "[V:3] \"^sempre\"C")), NONE);
    assert_eq!(said(&text.replace("K:C\n", "%%recte accept static-layer\nK:C\n")), NONE);
    let drone = text.replace("CGEG", "CGCG").replace("DGFG", "CGCG").replace("B,GDG", "CGCG");
    assert_eq!(said(&drone), NONE);
    assert_eq!(said(&text.replace("name=\"Viola\"", "name=\"Harp\"")), NONE, "by trade");
}

#[test]
fn the_settings_say_how_long_is_long() {
    let document = Document::new(&kept("", 24));
    let mut config = Config::default();
    config.texture.figure_bars = 24;
    let rules: Vec<_> =
        findings_in(&document, &config).iter().map(|finding| finding.rule).collect();
    assert!(!rules.contains(&"static-layer"));
}

/// The text after the one suggestion.
fn passed(text: &str) -> (String, String) {
    let found = findings_of("static-layer", text);
    let [fix] = found[0].fixes.as_slice() else { panic!("{:?}", found[0].fixes) };
    assert_eq!(fix.kind, FixKind::Suggestion);
    (fix.title.clone(), apply(text, &fix.edits).unwrap())
}

#[test]
fn a_suggestion_passes_it_on() {
    let text = kept("", 24);
    let (title, after) = passed(&text);
    assert_eq!(title, "Pass bars 5–8, bars 13–16 and bars 21–24 to Violin (changes the music)");
    assert_eq!(said(&after), NONE);
    let tune = lower(&after).tune;
    let sounds = |voice: usize, bar: u32| {
        let voice = &tune.voices[voice];
        voice.events.iter().filter(|event| event.bar == bar && event.sounds()).count()
    };
    assert_eq!([sounds(1, 3), sounds(1, 4), sounds(2, 3), sounds(2, 4)], [0, 4, 4, 0]);
}

#[test]
fn a_rest_of_many_bars_is_divided() {
    let text = kept("", 20).replace(&"z4|".repeat(20), "Z20|");
    let (_, after) = passed(&text);
    assert!(after.contains("[V:2] Z4|CGEG|"), "{after}");
    assert_eq!(said(&after), NONE);
}

#[test]
fn it_is_moved_into_reach() {
    // A cello has it, and only the flute rests.
    let text = piece("", [&times("z", 24), &times("m", 24), &times("h", 24), &times("f", 24)]);
    let text =
        text.replace("CGEG", "C,G,E,G,").replace("DGFG", "D,G,F,G,").replace("B,GDG", "B,,G,D,G,");
    let (title, after) = passed(&text);
    assert!(title.ends_with("to Flute (changes the music)"), "{title}");
    assert!(after.contains("[V:1] z4|z4|z4|z4|CGEG|DGFG|CGEG|B,GDG|"), "{after}");
}
