//! Each thing that a MusicXML score can hold, in a small score of one part: the text it becomes, and what is said
//! to be left out. Element names: MusicXML 4.0, W3C Community Group report.

#![allow(clippy::unwrap_used)]

use recte_exchange::{Imported, import_musicxml};
use recte_notation::lower;

/// A quarter is four divisions.
fn imported(measures: &[&str]) -> Imported {
    let mut music = String::new();
    for (place, inside) in measures.iter().enumerate() {
        let begin =
            if place == 0 { "<attributes><divisions>4</divisions></attributes>" } else { "" };
        music.push_str(&format!("<measure number=\"{}\">{begin}{inside}</measure>", place + 1));
    }
    let document = format!(
        "<score-partwise version=\"4.0\"><part-list><score-part id=\"P1\"><part-name>Flute</part-name></score-part></part-list><part id=\"P1\">{music}</part></score-partwise>"
    );
    let imported = import_musicxml(document.as_bytes(), "A").unwrap();
    let lowered = lower(&imported.text);
    assert!(lowered.problems.is_empty(), "{}\n{:?}", imported.text, lowered.problems);
    imported
}

/// A note of so many divisions, with what else belongs into it after its length.
fn n(pitch: &str, length: u32, more: &str) -> String {
    let (step, octave) = pitch.split_at(1);
    format!(
        "<note><pitch><step>{step}</step><octave>{octave}</octave></pitch><duration>{length}</duration>{more}</note>"
    )
}

fn notations(inside: &str) -> String {
    n("C5", 16, &format!("<notations>{inside}</notations>"))
}

fn direction(inside: &str) -> String {
    format!("<direction><direction-type>{inside}</direction-type></direction>")
}

/// The music, a line.
fn body(text: &str) -> String {
    let after = text.lines().skip_while(|line| !line.starts_with("K:")).skip(1);
    after.filter(|line| !line.starts_with('%')).collect::<Vec<_>>().join("/")
}

/// What an inside becomes, bar after bar, and what is said of it without its place.
#[track_caller]
fn becomes(measures: &[&str], wanted: &str, left_out: &[&str]) {
    let Imported { text, left_out: said, .. } = imported(measures);
    assert_eq!(body(&text), wanted, "{text}");
    let said: Vec<&str> = said
        .iter()
        .map(|one| one.split_once(": ").map_or(one.as_str(), |(_, what)| what))
        .collect();
    assert_eq!(said, left_out);
}

/// The head has this line.
#[track_caller]
fn head_has(measures: &[&str], wanted: &str) {
    let text = imported(measures).text;
    assert!(text.lines().any(|line| line == wanted), "{wanted}:\n{text}");
}

const WHOLE: &str =
    "<note><pitch><step>C</step><octave>5</octave></pitch><duration>16</duration></note>";

fn attributes(inside: &str) -> String {
    format!("<attributes>{inside}</attributes>{WHOLE}")
}

fn time(inside: &str) -> String {
    attributes(&format!("<time>{inside}</time>"))
}

#[test]
fn unpitched_notes_stand_on_their_line() {
    let note = "<note><unpitched><display-step>E</display-step><display-octave>4</display-octave></unpitched><duration>16</duration></note>";
    let clef = "<attributes><clef><sign>percussion</sign></clef></attributes>";
    becomes(&[&format!("{clef}{note}")], "E8 |", &[]);
    head_has(&[&format!("{clef}{note}")], "V:Flu name=\"Flute\" clef=perc");
}

#[test]
fn rests() {
    let rest = |more: &str, length: u32| {
        format!("<note{more}><rest/><duration>{length}</duration></note>")
    };
    let hidden = " print-object=\"no\"";
    let bar = [n("C5", 4, ""), rest("", 4), rest(hidden, 4), n("C5", 4, "")].concat();
    becomes(&[&bar], "c z x c |", &[]);
    let whole = "<note><rest measure=\"yes\"/><duration>16</duration></note>";
    let four = "<attributes><time><beats>4</beats><beat-type>4</beat-type></time></attributes>";
    let rests = format!(
        "{four}<attributes><measure-style><multiple-rest>2</multiple-rest></measure-style></attributes>{whole}"
    );
    becomes(&[&rests, whole, WHOLE], "Z2 | c8 |", &[]);
}

#[test]
fn metres() {
    let two = |a: &str, b: &str| format!("<beats>{a}</beats><beat-type>{b}</beat-type>");
    head_has(&[&time(&two("3", "4"))], "M:3/4");
    head_has(&[&time(&two("3+2", "8"))], "M:3+2/8");
    head_has(&[&time(&(two("3", "8") + &two("2", "4")))], "M:3/8+2/4");
    head_has(&[&time("<senza-misura/>")], "M:none");
    let symbol =
        |name: &str, inside: &str| attributes(&format!("<time symbol=\"{name}\">{inside}</time>"));
    head_has(&[&symbol("common", &two("4", "4"))], "M:C");
    head_has(&[&symbol("cut", &two("2", "2"))], "M:C|");
    let six = format!("<attributes><time>{}</time></attributes>{}", two("6", "8"), n("D5", 12, ""));
    becomes(&[&time(&two("4", "4")), &six], "c8 | [M:6/8]d6 |", &[]);
    let both = format!("{}<interchangeable>{}</interchangeable>", two("3", "4"), two("6", "8"));
    assert_eq!(
        imported(&[&format!("<attributes><time>{both}</time></attributes>{}", n("C5", 12, ""))])
            .left_out,
        ["Flute, bar 1: the second of two interchangeable time signatures is left out"]
    );
}

#[test]
fn keys() {
    let key = |inside: &str| attributes(&format!("<key>{inside}</key>"));
    head_has(&[&key("<fifths>-3</fifths><mode>minor</mode>")], "K:Cm");
    head_has(&[&key("<fifths>2</fifths><mode>dorian</mode>")], "K:E dor");
    head_has(&[&key("<fifths>2</fifths><mode>none</mode>")], "K:C exp ^c ^f");
    head_has(&[&key("<fifths>0</fifths><mode>none</mode>")], "K:none");
    let own = "<key-step>E</key-step><key-alter>-1</key-alter><key-step>F</key-step><key-alter>1</key-alter>";
    head_has(&[&key(own)], "K:C exp _e ^f");
    becomes(&[WHOLE, &key("<cancel>0</cancel><fifths>1</fifths>")], "c8 | [K:G]c8 |", &[]);
}

#[test]
fn clefs() {
    let clef = |sign: &str, line: &str, octave: &str| {
        attributes(&format!("<clef><sign>{sign}</sign>{line}{octave}</clef>"))
    };
    let down = "<clef-octave-change>-1</clef-octave-change>";
    for (sign, line, octave, name) in [
        ("C", "<line>3</line>", "", "alto"),
        ("C", "<line>4</line>", "", "tenor"),
        ("C", "<line>1</line>", "", "alto1"),
        ("F", "<line>4</line>", "", "bass"),
        ("F", "<line>3</line>", "", "bass3"),
        ("G", "<line>2</line>", down, "treble-8"),
    ] {
        head_has(&[&clef(sign, line, octave)], &format!("V:Flu name=\"Flute\" clef={name}"));
    }
    becomes(&[WHOLE, &clef("F", "<line>4</line>", "")], "c8 | [K:clef=bass]c8 |", &[]);
    let tab = clef("TAB", "<line>5</line>", "");
    becomes(&[&tab], "c8 |", &["the clef “TAB” is written as a treble clef"]);
}

#[test]
fn transposition() {
    let by = "<transpose><diatonic>-1</diatonic><chromatic>-2</chromatic><octave-change>-1</octave-change></transpose>";
    head_has(&[&attributes(by)], "V:Flu name=\"Flute\" clef=treble transpose=-14");
    let doubled = by.replace("</transpose>", "<double/></transpose>");
    becomes(&[&attributes(&doubled)], "c8 |", &["the doubling an octave away is left out"]);
}

#[test]
fn articulations_ornaments_bowings_fingerings() {
    for (inside, wanted) in [
        ("<articulations><staccato/></articulations>", ".c8"),
        ("<articulations><accent/><tenuto/></articulations>", "!>!!tenuto!c8"),
        ("<articulations><staccatissimo/></articulations>", "!wedge!c8"),
        ("<articulations><detached-legato/></articulations>", "!tenuto!.c8"),
        ("<articulations><breath-mark/></articulations>", "!breath!c8"),
        ("<ornaments><trill-mark/></ornaments>", "!trill!c8"),
        ("<ornaments><mordent/></ornaments>", "!lowermordent!c8"),
        ("<ornaments><inverted-mordent/></ornaments>", "!uppermordent!c8"),
        ("<ornaments><turn slash=\"yes\"/></ornaments>", "!turnx!c8"),
        ("<technical><up-bow/></technical>", "uc8"),
        ("<technical><down-bow/></technical>", "vc8"),
        ("<technical><open-string/></technical>", "!open!c8"),
        ("<technical><snap-pizzicato/></technical>", "!snap!c8"),
        ("<technical><thumb-position/></technical>", "!thumb!c8"),
        ("<technical><fingering>4</fingering></technical>", "!4!c8"),
        ("<technical><fingering>2-3</fingering></technical>", "\"^2-3\"c8"),
        ("<fermata/>", "!fermata!c8"),
        ("<fermata type=\"inverted\"/>", "!invertedfermata!c8"),
        ("<arpeggiate/>", "!arpeggio!c8"),
    ] {
        becomes(&[&notations(inside)], &format!("{wanted} |"), &[]);
    }
    for (inside, wanted, said) in [
        (
            "<articulations><strong-accent/></articulations>",
            "!>!c8",
            "strong accents are written as accents",
        ),
        (
            "<articulations><caesura/></articulations>",
            "!longphrase!c8",
            "caesuras are written as ends of a phrase",
        ),
        ("<articulations><doit/></articulations>", "c8", "the sign “doit” is left out"),
        ("<ornaments><tremolo>3</tremolo></ornaments>", "c8", "tremolo strokes are left out"),
        (
            "<ornaments><delayed-turn/></ornaments>",
            "!turn!c8",
            "turns after the note are written as turns",
        ),
        ("<technical><string>2</string></technical>", "c8", "the sign “string” is left out"),
        ("<non-arpeggiate type=\"top\"/>", "c8", "brackets against breaking a chord are left out"),
        ("<tied type=\"let-ring\"/>", "c8", "ties that let a note ring are left out"),
        (
            "<glissando type=\"start\"/>",
            "\"^gliss.\"c8",
            "lines of glissandi and slides are written as a word",
        ),
    ] {
        becomes(&[&notations(inside)], &format!("{wanted} |"), &[said]);
    }
}

#[test]
fn dynamics_and_hairpins() {
    let level = |name: &str| direction(&format!("<dynamics><{name}/></dynamics>")) + WHOLE;
    becomes(&[&level("mf")], "!mf!c8 |", &[]);
    becomes(&[&level("sfz")], "!sfz!c8 |", &[]);
    // No sign of the standard's: the word is kept.
    becomes(&[&level("fp")], "\"_fp\"c8 |", &[]);
    let wedge = |kind: &str| direction(&format!("<wedge type=\"{kind}\"/>"));
    let grows = [wedge("crescendo"), n("C5", 8, ""), wedge("stop"), n("D5", 8, "")].concat();
    becomes(&[&grows], "!<(!c !<)!d |", &[]);
    let falls = [wedge("diminuendo"), n("C5", 16, ""), wedge("stop")].concat();
    becomes(&[&falls, WHOLE], "!>(!c8 !>)! | c8 |", &[]);
}

#[test]
fn words_and_rehearsal_marks() {
    let words = |place: &str| {
        format!(
            "<direction {place}><direction-type><words>dolce</words></direction-type></direction>{WHOLE}"
        )
    };
    becomes(&[&words("placement=\"above\"")], "\"^dolce\"c8 |", &[]);
    becomes(&[&words("placement=\"below\"")], "\"_dolce\"c8 |", &[]);
    let mark = direction("<rehearsal>B</rehearsal>") + WHOLE;
    becomes(&[WHOLE, &mark], "c8 | [P:B]c8 |", &[]);
    let line = direction("<octave-shift type=\"down\" size=\"8\"/>") + WHOLE;
    becomes(
        &[&line],
        "c8 |",
        &["octave lines are left out; the notes are written where they sound"],
    );
    let pedal = [
        direction("<pedal type=\"start\"/>"),
        n("C5", 8, ""),
        direction("<pedal type=\"stop\"/>"),
        n("D5", 8, ""),
    ];
    becomes(&[&pedal.concat()], "\"_Ped.\"c \"_*\"d |", &[]);
    let dashes = direction("<dashes type=\"start\"/>") + WHOLE;
    becomes(&[&dashes], "c8 |", &["dashes and brackets over a passage are left out"]);
    let harp = direction("<harp-pedals/>") + WHOLE;
    becomes(&[&harp], "c8 |", &["the sign “harp pedals” is left out"]);
}

#[test]
fn tempi() {
    let metronome = |inside: &str| direction(&format!("<metronome>{inside}</metronome>")) + WHOLE;
    let beat = "<beat-unit>quarter</beat-unit><beat-unit-dot/>";
    head_has(&[&metronome(&format!("{beat}<per-minute>72</per-minute>"))], "Q:3/8=72");
    let tied =
        "<beat-unit>half</beat-unit><beat-unit-tied><beat-unit>eighth</beat-unit></beat-unit-tied>";
    head_has(&[&metronome(&format!("{tied}<per-minute>40</per-minute>"))], "Q:1/2 1/8=40");
    let directed = "<direction directive=\"yes\"><direction-type><words>Brisk</words></direction-type></direction>";
    head_has(&[&format!("{directed}{WHOLE}")], "Q:\"Brisk\"");
    let relation = metronome("<beat-unit>quarter</beat-unit><beat-unit>half</beat-unit>");
    becomes(&[&relation], "c8 |", &["a tempo that relates two notes to each other is left out"]);
    let about = metronome("<beat-unit>quarter</beat-unit><per-minute>c. 66</per-minute>");
    becomes(&[&about], "c8 |", &["a metronome mark of “c. 66” is written as 66"]);
    let sound = format!("<sound tempo=\"90.5\"/>{WHOLE}");
    becomes(&[WHOLE, &sound], "c8 | [Q:1/4=91]c8 |", &["a tempo is rounded to 91"]);
}

#[test]
fn repeats_endings_and_returns() {
    let line =
        |place: &str, inside: &str| format!("<barline location=\"{place}\">{inside}</barline>");
    let opens = line("left", "<repeat direction=\"forward\"/>") + WHOLE;
    let first = line("left", "<ending number=\"1\" type=\"start\"/>")
        + WHOLE
        + &line("right", "<ending number=\"1\" type=\"stop\"/><repeat direction=\"backward\"/>");
    let second = line("left", "<ending number=\"2\" type=\"start\"/>")
        + WHOLE
        + &line("right", "<bar-style>light-heavy</bar-style><ending number=\"2\" type=\"stop\"/>");
    becomes(&[&opens, &first, &second], "|: c8 |1 c8 :|2 c8 |]", &[]);
    let named = second.replace("type=\"start\"/>", "type=\"start\">last time</ending>");
    becomes(&[&opens, &first, &named], "|: c8 |1 c8 :| [\"2 last time\" c8 |]", &[]);
    let thrice = WHOLE.to_owned() + &line("right", "<repeat direction=\"backward\" times=\"3\"/>");
    becomes(&[&thrice], "c8 ::|", &[]);
    for (name, style) in [("light-light", "||"), ("dotted", ".|"), ("none", "[|]")] {
        let styled = WHOLE.to_owned() + &line("right", &format!("<bar-style>{name}</bar-style>"));
        becomes(&[&styled, WHOLE], &format!("c8 {style} c8 |"), &[]);
    }
    let sign = |inside: &str| direction(inside) + WHOLE;
    becomes(&[&sign("<segno/>"), &sign("<coda/>")], "!segno!c8 | !coda!c8 |", &[]);
    let after = |words: &str, sound: &str| {
        format!(
            "{WHOLE}<direction><direction-type><words>{words}</words></direction-type><sound {sound}/></direction>"
        )
    };
    becomes(
        &[&after("Fine", "fine=\"yes\""), &after("D.C.", "dacapo=\"yes\"")],
        "c8 !fine! | c8 !D.C.! |",
        &[],
    );
    becomes(&[&after("D.C. al Fine", "dacapo=\"yes\"")], "c8 \"^D.C. al Fine\" |", &[]);
    becomes(&[&format!("{WHOLE}<sound tocoda=\"coda\"/>")], "c8 !dacoda! |", &[]);
}

#[test]
fn chord_symbols() {
    let harmony = |kind: &str, more: &str| {
        format!("<harmony><root><root-step>G</root-step></root>{kind}{more}</harmony>{WHOLE}")
    };
    for (kind, symbol) in [
        ("<kind>minor</kind>", "Gm"),
        ("<kind text=\"min7\">minor-seventh</kind>", "Gmin7"),
        ("<kind text=\"nonsense\">minor-seventh</kind>", "Gm7"),
        ("<kind>suspended-fourth</kind>", "Gsus4"),
        ("<kind>none</kind>", "N.C."),
    ] {
        becomes(&[&harmony(kind, "")], &format!("\"{symbol}\"c8 |"), &[]);
    }
    let flat_nine = "<degree><degree-value>9</degree-value><degree-alter>-1</degree-alter><degree-type>add</degree-type></degree>";
    becomes(&[&harmony("<kind>dominant</kind>", flat_nine)], "\"G7b9\"c8 |", &[]);
    let bass = "<bass><bass-step>B</bass-step><bass-alter>-1</bass-alter></bass>";
    becomes(&[&harmony("<kind>major</kind>", bass)], "\"G/Bb\"c8 |", &[]);
    becomes(
        &[&harmony("<kind>major</kind>", "<frame/>")],
        "\"G\"c8 |",
        &["chord diagrams are left out"],
    );
    // Under a note that is held the symbol stands at the nearest, and that is said.
    let late = format!(
        "{}<harmony><root><root-step>D</root-step></root><kind>major</kind><offset>-8</offset></harmony>",
        n("C5", 16, "")
    );
    becomes(
        &[&late],
        "\"D\"c8 |",
        &["the chord symbol “D” in the middle of a note stands at the nearest one"],
    );
}

#[test]
fn words_to_sing() {
    let sung =
        |pitch: &str, inside: &str| n(pitch, 4, &format!("<lyric number=\"1\">{inside}</lyric>"));
    let bar = [
        sung("C5", "<syllabic>begin</syllabic><text>sea</text>"),
        sung("D5", "<syllabic>end</syllabic><text>side</text>"),
        sung("E5", "<text>ho</text><elision>~</elision><text>la</text>"),
        sung("F5", "<text>ah</text><extend/>"),
    ];
    becomes(
        &[
            &bar.concat(),
            &(n("G5", 8, "")
                + &sung("A5", "<end-line/><text>well-known</text>")
                + &sung("B5", "<humming/>")),
        ],
        "c d e f | g2 a b |/w: sea-side ho~la ah_ well\\-known",
        &["humming and laughing are left out"],
    );
}

#[test]
fn several_voices_and_staves() {
    let two = "<attributes><staves>2</staves></attributes>";
    let at = |pitch: &str, length: u32, voice: u8, staff: u8| {
        n(pitch, length, &format!("<voice>{voice}</voice><staff>{staff}</staff>"))
    };
    let back = "<backup><duration>16</duration></backup>";
    let ahead = "<forward><duration>8</duration></forward>";
    let bar = [
        two.to_owned(),
        at("C5", 16, 1, 1),
        back.to_owned(),
        ahead.to_owned(),
        at("E4", 8, 2, 1),
        back.to_owned(),
        at("C3", 16, 5, 2),
    ];
    becomes(&[&bar.concat()], "[V:Flu1]  c2  |/[V:Flu1b] x E |/[V:Flu2]  C,2 |", &[]);
}

#[test]
fn what_does_not_add_up_is_kept_and_told() {
    let three = "<attributes><time><beats>3</beats><beat-type>4</beat-type></time></attributes>";
    let bar = n("C5", 12, "");
    becomes(
        &[&format!("{three}{bar}"), WHOLE, &bar],
        "c6 | c8 | c6 |",
        &["the measure holds 1 where the time signature asks for 3/4; it is kept"],
    );
    becomes(
        &[&format!("{three}{bar}"), &n("C5", 8, ""), &bar],
        "c6 | c4 | c6 |",
        &["the measure holds 1/2 where the time signature asks for 3/4; it is kept"],
    );
    // A pickup is nothing to remark on.
    becomes(&[&format!("{three}{}", n("C5", 4, "")), &bar], "c | c3 |", &[]);
    let early = format!("<backup><duration>99</duration></backup>{WHOLE}");
    becomes(
        &[&early],
        "c8 |",
        &["a step back reaches before the measure; it goes to its beginning"],
    );
}
