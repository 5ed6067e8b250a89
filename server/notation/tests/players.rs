//! Who plays: names, directives, words in the music, and the score around them.
//!
//! How scores name their players is common practice, without a source.

use recte_notation::lower;
use recte_score::players::{Divisi, Players, Playing, who};
use recte_theory::instruments::{Roster, Row};

/// "violin×s clarinet-in-a", one entry a stretch, voice by voice; "?" for nobody known.
fn said(playing: &[Playing<'_>]) -> String {
    let one = |stretch: &Playing<'_>| {
        let players = match stretch.players {
            Players::One => String::new(),
            Players::Several(count) => format!("×{count}"),
            Players::Section(Divisi::Open) => "×s".to_owned(),
            Players::Section(Divisi::Divided) => "×div".to_owned(),
            Players::Section(Divisi::Together) => "×non div".to_owned(),
        };
        format!("{}{players}", stretch.instrument.id)
    };
    let all: Vec<String> = playing.iter().map(one).collect();
    if all.is_empty() { "?".to_owned() } else { all.join(" ") }
}

fn read(abc: &str) -> (Vec<String>, Vec<String>) {
    let tune = lower(abc).tune;
    let who = who(&tune, Roster::standard());
    let open = who.open.iter().map(|open| {
        let ids: Vec<&str> = open.candidates.iter().map(|one| one.id.as_str()).collect();
        format!("{} {}", open.label, ids.join(" "))
    });
    (who.playing.iter().map(|own| said(own)).collect(), open.collect())
}

/// A score of one bar with these voices, each a name and what else stands in its field.
fn score(voices: &[&str]) -> (Vec<String>, Vec<String>) {
    let mut text = "X:1\nL:1/4\n".to_owned();
    for (at, voice) in voices.iter().enumerate() {
        let (name, rest) = voice.split_once('|').unwrap_or((voice, ""));
        text.push_str(&format!("V:{at} name=\"{name}\" {rest}\n"));
    }
    text.push_str("K:C\n");
    (0..voices.len()).for_each(|at| text.push_str(&format!("V:{at}\n[I:octave=0]z4|\n")));
    read(&text)
}

fn alone(name: &str) -> String {
    score(&[name]).0.remove(0)
}

/// One bar a word: each is an annotation at the first note of its bar.
fn along(name: &str, texts: &[&str]) -> String {
    let bars: String = texts.iter().map(|text| format!("\"^{text}\"c4|")).collect();
    let text = format!("X:1\nL:1/4\nV:1 name=\"{name}\"\nK:C\nc4|{bars}\n");
    read(&text).0.remove(0)
}

#[test]
fn how_many_play() {
    for (name, players) in [
        ("Violin 1", "violin"),
        ("Violins", "violin×s"),
        ("Violini I", "violin×s"),
        ("2 Violins", "violin×2"),
        ("Vln. I desks 1-2", "violin×4"),
        ("Solo Violin", "violin"),
        ("Horns 1.2", "horn-in-f×2"),
        ("Horns in F 3.4", "horn-in-f×2"),
        ("Hn. I II", "horn-in-f×2"),
        ("Fl. 1, 2", "flute×2"),
        ("2 Flutes", "flute×2"),
        ("2 Flöten", "flute×2"),
        ("Flauti", "flute×s"),
        ("Flute", "flute"),
        ("Flute 2", "flute"),
        ("1st Clarinet", "clarinet-in-b-flat"),
        ("Clarinet in A 2", "clarinet-in-a"),
        ("Trumpets 1-3 in B♭", "trumpet-in-b-flat×3"),
        ("Trombe a 2", "trumpet-in-b-flat×2"),
        ("Timpani", "timpani"),
        ("4 Timpani", "timpani"),
        ("5-string banjo", "five-string-banjo"),
        ("Sopranos", "choir-soprano×s"),
        ("Soprano solo", "soprano"),
        ("Harp", "harp"),
        ("2 Harps", "harp×2"),
        ("Melody", "?"),
        ("", "?"),
    ] {
        assert_eq!(alone(name), players, "{name}");
    }
}

#[test]
fn doublings_begin_with_the_first() {
    for (name, first) in [
        ("Fl./Picc.", "flute"),
        ("Flute (doubling piccolo)", "flute"),
        ("Flute 3 (also Piccolo)", "flute"),
        ("Oboe & English Horn", "oboe"),
        ("Ob. 2/E.H.", "oboe"),
        ("Piano/Celesta", "piano"),
        ("Oboe and Bassoon", "?"),
        ("Violin/Viola", "?"),
        ("Cello & Bass", "?"),
        ("Soprano/Alto", "?"),
        ("Flute/Violin", "?"),
    ] {
        assert_eq!(alone(name), first, "{name}");
    }
}

#[test]
fn strings_beside_winds_are_an_orchestra() {
    let strings = ["Violin I", "Violin II", "Viola", "Cello"];
    assert_eq!(score(&strings).0, ["violin", "violin", "viola", "cello"]);
    let quintet = [&["Clarinet"], &strings[..]].concat();
    assert_eq!(score(&quintet).0[1], "violin", "a clarinet quintet has one player a part");
    let orchestra = [&["Oboe", "Horn"], &strings[..]].concat();
    assert_eq!(score(&orchestra).0[2..], ["violin×s", "violin×s", "viola×s", "cello×s"]);
}

#[test]
fn the_score_settles_names() {
    for (voices, meant) in [
        (&["S.", "A.", "T.", "B."][..], "choir-soprano×s choir-alto×s choir-tenor×s choir-bass×s"),
        (
            &["Soprano", "Alto", "Tenor", "Bass"],
            "choir-soprano×s choir-alto×s choir-tenor×s choir-bass×s",
        ),
        (&["Soprano", "Piano"], "soprano piano"),
        (&["Violin", "Alto", "Cello", "Bass"], "violin viola cello double-bass"),
        (&["Fag.", "Cor.", "Tr.", "Timp."], "bassoon horn-in-f trumpet-in-b-flat timpani"),
        (&["Tpt.", "Tbn.", "Tb.", "Timp."], "trumpet-in-b-flat trombone tuba timpani"),
        (&["A. Sax.", "T. Sax.", "Bar."], "alto-saxophone tenor-saxophone baritone-saxophone"),
        (&["Tenor", "Bar.", "Bass"], "choir-tenor×s choir-baritone×s choir-bass×s"),
        (&["Alto|clef=alto"], "viola"),
        (&["Kl.|transpose=-2"], "clarinet-in-b-flat"),
        (&["Kl.|clef=bass"], "piano"),
    ] {
        let (found, open) = score(voices);
        assert_eq!(found.join(" "), meant, "{voices:?} {open:?}");
        assert_eq!(open, Vec::<String>::new());
    }
}

#[test]
fn words_staves_and_compass_settle_names() {
    let sung = read("X:1\nL:1/4\nV:1 name=\"Tr.\"\nK:C\nc4|\nw:la\n");
    assert_eq!(sung.0, ["treble-voice"]);
    let piano =
        read("X:1\nL:1/4\n%%score {1 | 2}\nV:1 name=\"Kl.\"\nV:2\nK:C\nV:1\nc4|\nV:2\nC4|\n");
    assert_eq!(piano.0, ["piano", "piano"]);
    let deep = read("X:1\nL:1/4\nV:1 name=\"Cor.\"\nK:C\nC,,4|\n");
    assert_eq!(deep.0, ["horn-in-f"], "no cornet goes so low");
    let slip = read(
        "X:1\nL:1/4\nV:1 name=\"Alto\"\nV:2 name=\"Tenor\"\nV:3 name=\"Bass\" clef=bass\n\
         K:C\nV:1\nC4|\nV:2\nc4|\nV:3\nc'4|\n",
    );
    assert_eq!(slip.0[2], "choir-bass×s", "a wrong octave is no other instrument");
}

#[test]
fn parts_of_early_music_are_nobodys() {
    let (found, open) = score(&["Canto", "Quinto", "Alto", "Tenor", "Basso"]);
    assert_eq!((found, open), (vec!["?".to_owned(); 5], Vec::new()));
    let (found, open) = score(&["C1", "C2", "Ct", "T"]);
    assert_eq!((found, open), (vec!["?".to_owned(); 4], Vec::new()));
    let text = "X:1\nV:1 name=\"Altus\"\n%%recte instrument 1 Countertenor\nK:C\nc4|\n";
    assert_eq!(read(text).0, ["countertenor"], "unless the composer says so");
}

#[test]
fn what_stays_open_is_asked() {
    let (found, open) = score(&["Cor."]);
    assert_eq!(found, ["?"]);
    assert_eq!(open, ["Cor. horn-in-f cornet-in-b-flat"]);
    let (_, open) = score(&["Guitar", "Bass", "Drums"]);
    assert_eq!(open, ["Bass bass-guitar double-bass"]);
    assert_eq!(
        score(&["Tenor", "Piano"]),
        (vec!["tenor".to_owned(), "piano".to_owned()], Vec::new())
    );
    assert_eq!(score(&["Somebody", "Else"]).1, Vec::<String>::new());
}

#[test]
fn parts_change_their_instrument() {
    for (name, text, then) in [
        ("Flute", "to Piccolo", "flute piccolo"),
        ("Flute", "muta in Flauto piccolo", "flute piccolo"),
        ("Flöte", "nimmt Picc.", "flute piccolo"),
        ("Flute", "prendre la petite flûte", "flute piccolo"),
        ("Flute", "(Picc.)", "flute piccolo"),
        ("Fl. 2", "Fl. 2 muta in Ottavino", "flute piccolo"),
        ("Clarinet", "change to Cl. in A", "clarinet-in-b-flat clarinet-in-a"),
        ("Clarinet", "muta in A", "clarinet-in-b-flat clarinet-in-a"),
        ("Clarinet", "muta in La", "clarinet-in-b-flat clarinet-in-a"),
        ("Clarinet", "take bass clarinet", "clarinet-in-b-flat bass-clarinet"),
        ("Oboe", "to Cor anglais", "oboe english-horn"),
        ("Horn in F", "muta in Es", "horn-in-f"),
        ("Timpani", "muta in G", "timpani"),
        ("Violin", "to A string", "violin"),
        ("Oboe", "Fl.", "oboe"),
        ("Flute", "to Coda", "flute"),
        ("Flute", "dolce", "flute"),
        ("Clarinet", "in tempo", "clarinet-in-b-flat"),
        ("Flute", "to the end", "flute"),
        ("Guitar", "A", "guitar"),
        ("Trumpet", "con sord.", "trumpet-in-b-flat"),
        ("Horns 1.2", "2. muta in Wagner tuba", "horn-in-f×2"),
    ] {
        assert_eq!(along(name, &[text]), then, "{name}: {text}");
    }
    assert_eq!(along("Flute", &["to Picc.", "muta in Fl. grande"]), "flute piccolo flute");
    assert_eq!(along("Fl./Picc.", &["Picc.", "Fl."]), "flute piccolo flute");
    assert_eq!(
        along("Clarinet in A", &["to Bass Cl.", "Cl."]),
        "clarinet-in-a bass-clarinet clarinet-in-a"
    );
}

#[test]
fn a_crook_that_is_not_known_leaves_nobody() {
    let text = "X:1\nL:1/4\nV:1 name=\"Horn in F\"\nK:C\nc4|\"^muta in Es\"c4|c4|\"^in F\"c4|\n";
    let tune = lower(text).tune;
    let who = who(&tune, Roster::standard());
    let events: Vec<_> = who.playing[0].iter().map(|own| own.events.clone()).collect();
    assert_eq!(events.first(), Some(&(0..1)));
    assert_eq!(events.len(), 1);
}

#[test]
fn parts_change_their_players() {
    for (name, text, then) in [
        ("Horns 1.2", "1.", "horn-in-f×2 horn-in-f"),
        ("Horns 1-4", "a 2", "horn-in-f×4 horn-in-f×2"),
        ("Horns 1-4", "1. 3.", "horn-in-f×4 horn-in-f×2"),
        ("2 Hörner", "zu 2", "horn-in-f×2"),
        ("Flutes", "a2", "flute×s flute×2"),
        ("Flute", "1.", "flute"),
        ("Flute", "a tempo", "flute"),
        ("Violins", "div.", "violin×s violin×div"),
        ("Violins", "non div.", "violin×s violin×non div"),
        ("Violins", "solo", "violin×s violin"),
        ("Violins", "1. Pult", "violin×s violin×2"),
        ("Violins", "2 soli", "violin×s violin×2"),
        ("Violin", "div. a 3", "violin×s violin×div"),
        ("Sopranos", "solo", "choir-soprano×s soprano?"),
    ] {
        let found = along(name, &[text]);
        let then = then.replace("soprano?", "choir-soprano");
        assert_eq!(found, then, "{name}: {text}");
    }
    assert_eq!(along("Violins", &["div.", "unis."]), "violin×s violin×div violin×s");
    assert_eq!(along("Violins", &["solo", "gli altri", "tutti"]), "violin×s violin violin×s");
    assert_eq!(along("Horns 1.2", &["1. solo", "a 2"]), "horn-in-f×2 horn-in-f horn-in-f×2");
}

#[test]
fn directives_hold_from_their_place() {
    let text = "X:1\nL:1/4\nV:1 name=\"Flute\"\nV:2 name=\"Cello\"\n%%recte instrument 2 Bassoon\nK:C\n\
        V:1\nc4|\nV:2\nC4|\n%%recte instrument 1 Piccolo\nV:1\nc4|\nV:2\nC4|\n%%recte instrument 1 Nobody\nV:1\nc4|\n";
    assert_eq!(read(text).0, ["flute piccolo", "bassoon"]);
    let twice = "X:1\nV:1\n%%recte instrument 1 Oboe\n%%recte instrument 1 Flute\nK:C\nc4|\n";
    assert_eq!(read(twice).0, ["flute"]);
}

#[test]
fn voices_of_one_staff_share_its_players() {
    let text = "X:1\nL:1/4\n%%score (1 2) 3\nV:1 name=\"Horns 1.2\"\nV:2\nV:3\nK:C\nV:1\nc4|\nV:2\nC4|\nV:3\nC4|\n";
    assert_eq!(read(text).0, ["horn-in-f", "horn-in-f", "?"]);
}

#[test]
fn players_share_chords() {
    assert_eq!(Players::One.share_of(3), 3);
    assert_eq!(Players::Several(2).share_of(3), 2);
    assert_eq!(Players::Section(Divisi::Open).share_of(4), 1);
    assert_eq!(Players::Section(Divisi::Together).share_of(2), 2);
}

#[test]
fn a_users_own_instruments_play() {
    let row: Row = serde_json::from_value(serde_json::json!({
        "id": "fife", "family": "woodwind", "names": ["Fife"],
        "range_professional": {"written_min": "D4", "written_max": "B6"},
    }))
    .unwrap();
    let (roster, faults) = Roster::standard().with(&[row]);
    assert_eq!(faults, []);
    let tune = lower("X:1\nV:1 name=\"Fifes 1.2\"\nK:C\nc4|\n").tune;
    assert_eq!(said(&who(&tune, &roster).playing[0]), "fife×2");
}
