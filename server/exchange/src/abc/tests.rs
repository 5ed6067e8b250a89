//! Small composed scores, imported and read back.

use crate::import_musicxml;
use recte_notation::lower;
use recte_score::{EventKind, MarkKind, Tune};
use std::fmt::Write;

/// A score of one part; `measures` are the insides of its measures. Four divisions make a quarter.
fn score(measures: &[&str]) -> String {
    parts(&[("Flute", measures)])
}

fn parts(parts: &[(&str, &[&str])]) -> String {
    let mut list = String::new();
    let mut music = String::new();
    for (index, (name, measures)) in parts.iter().enumerate() {
        let _ =
            write!(list, "<score-part id=\"P{index}\"><part-name>{name}</part-name></score-part>");
        let _ = write!(music, "<part id=\"P{index}\">");
        for (number, inside) in measures.iter().enumerate() {
            let divisions = "<attributes><divisions>4</divisions></attributes>";
            let begin = if number == 0 { divisions } else { "" };
            let _ = write!(music, "<measure number=\"{}\">{begin}{inside}</measure>", number + 1);
        }
        music.push_str("</part>");
    }
    format!("<score-partwise version=\"4.0\"><part-list>{list}</part-list>{music}</score-partwise>")
}

/// `C4 4` as a note of four divisions, with whatever else belongs into it.
fn note(pitch: &str, length: u32, more: &str) -> String {
    let (step, octave) = pitch.split_at(pitch.len() - 1);
    let (step, alter) = step.split_at(1);
    let alter = match alter {
        "#" => "<alter>1</alter>",
        "b" => "<alter>-1</alter>",
        _ => "",
    };
    format!(
        "<note><pitch><step>{step}</step>{alter}<octave>{octave}</octave></pitch>\
         <duration>{length}</duration>{more}</note>"
    )
}

fn chord_note(pitch: &str, length: u32, more: &str) -> String {
    note(pitch, length, more).replacen("<note>", "<note><chord/>", 1)
}

fn rest(length: u32) -> String {
    format!("<note><rest/><duration>{length}</duration></note>")
}

fn back(length: u32) -> String {
    format!("<backup><duration>{length}</duration></backup>")
}

fn attributes(inside: &str) -> String {
    format!("<attributes>{inside}</attributes>")
}

const FOUR_FOUR: &str =
    "<attributes><time><beats>4</beats><beat-type>4</beat-type></time></attributes>";
const STOP: &str = "<tie type=\"stop\"/>";
const START: &str = "<tie type=\"start\"/>";

fn text(xml: &str) -> String {
    import_musicxml(xml.as_bytes(), "Untitled").unwrap().text
}

/// The lines of music, without the head.
fn music(xml: &str) -> Vec<String> {
    let text = text(xml);
    let body = text.lines().skip_while(|line| !line.starts_with("K:")).skip(1);
    body.filter(|line| !line.starts_with('%')).map(str::to_owned).collect()
}

fn left_out(xml: &str) -> Vec<String> {
    import_musicxml(xml.as_bytes(), "Untitled").unwrap().left_out
}

/// The tune as our own parser reads the text; it must have nothing to say of it.
fn tune(xml: &str) -> Tune {
    let text = text(xml);
    let lowered = lower(&text);
    assert!(lowered.problems.is_empty(), "{text}\n{:?}", lowered.problems);
    lowered.tune
}

#[test]
fn lengths_and_the_unit() {
    let eighths = ["C4", "D4", "E4", "F4"].map(|pitch| note(pitch, 2, "")).concat();
    let long = note("G4", 6, "") + &note("A4", 2, "");
    let xml = score(&[&format!("{FOUR_FOUR}{eighths}{long}")]);
    assert!(text(&xml).contains("L:1/8\n"));
    assert_eq!(music(&xml), ["CDEF G3 A |"]);
}

#[test]
fn accidentals_reach_to_the_bar_line_in_every_octave() {
    let first = ["F#4", "F#5", "F4", "F4"].map(|pitch| note(pitch, 4, "")).concat();
    let second = note("F4", 4, "") + &note("F#4", 12, "");
    assert_eq!(music(&score(&[&format!("{FOUR_FOUR}{first}"), &second])), ["^F f =F F | F ^F3 |"]);
}

#[test]
fn the_signature_is_not_typed_again_but_a_courtesy_is() {
    let key = attributes("<key><fifths>1</fifths></key>");
    let courtesy = "<accidental cautionary=\"yes\">sharp</accidental>";
    let notes = note("F#4", 4, "") + &note("F#4", 4, courtesy) + &note("F4", 8, "");
    let xml = score(&[&format!("{FOUR_FOUR}{key}{notes}")]);
    assert_eq!(music(&xml), ["F ^F =F2 |"]);
    assert!(text(&xml).ends_with("K:G\n% 1\nF ^F =F2 |\n"));
}

#[test]
fn a_tie_carries_its_accidental_over_the_bar_line_and_no_further() {
    let first = note("F#4", 16, START);
    let second = note("F#4", 8, STOP) + &note("F#4", 8, "");
    let xml = score(&[&format!("{FOUR_FOUR}{first}"), &second]);
    assert_eq!(music(&xml), ["^F2- | F ^F |"]);
    let tied: Vec<bool> = tune(&xml).voices[0].notes.iter().map(|note| note.tied_in).collect();
    assert_eq!(tied, [false, true, false]);
}

#[test]
fn single_notes_of_a_chord_are_tied() {
    let chord = note("C4", 8, START) + &chord_note("E4", 8, "") + &chord_note("G4", 8, START);
    let next = note("C4", 8, STOP) + &chord_note("G4", 8, STOP);
    let xml = score(&[&format!("{FOUR_FOUR}{chord}{next}")]);
    assert_eq!(music(&xml), ["[C-EG-] [CG] |"]);
    let voice = &tune(&xml).voices[0];
    assert_eq!(voice.notes.iter().filter(|note| note.tied_in).count(), 2);
    assert!(voice.loose_ties.is_empty());
}

#[test]
fn a_tie_to_another_voice_is_told() {
    let xml = score(&[&format!("{FOUR_FOUR}{}{}", note("C4", 8, START), note("D4", 8, ""))]);
    assert_eq!(music(&xml), ["C D |"]);
    assert_eq!(
        left_out(&xml),
        ["Flute, bar 1: a tie that leads to another voice, or to no note, is left out"]
    );
}

#[test]
fn a_length_without_a_sign_becomes_tied_notes() {
    let xml = score(&[&format!("{FOUR_FOUR}{}{}", note("C4", 10, ""), rest(6))]);
    assert_eq!(music(&xml), ["C4- C z3 |"]);
    assert!(tune(&xml).voices[0].loose_ties.is_empty());
}

fn triplet(pitch: &str, length: u32, more: &str) -> String {
    let modification = "<time-modification><actual-notes>3</actual-notes><normal-notes>2</normal-notes></time-modification>";
    note(pitch, length, &format!("{modification}{more}"))
}

#[test]
fn tuplets() {
    let divisions = attributes("<divisions>12</divisions>");
    let three = ["C4", "D4", "E4"].map(|pitch| triplet(pitch, 4, "<type>eighth</type>")).concat();
    let two = triplet("F4", 8, "<type>quarter</type>") + &triplet("G4", 4, "<type>eighth</type>");
    let rest = note("A4", 24, "");
    let xml = score(&[&format!("{FOUR_FOUR}{divisions}{three}{two}{rest}")]);
    assert_eq!(music(&xml), ["(3CDE (3::2F2 G A4 |"]);
    let tune = tune(&xml);
    assert_eq!(tune.voices[0].tuplets.len(), 2);
    assert_eq!(tune.bars[0].length, recte_theory::Time::WHOLE);
}

#[test]
fn brackets_say_where_tuplets_begin_and_end() {
    let divisions = attributes("<divisions>12</divisions>");
    let bracket =
        |kind| format!("<type>eighth</type><notations><tuplet type=\"{kind}\"/></notations>");
    let plain = "<type>eighth</type>".to_owned();
    let all =
        [bracket("start"), plain.clone(), plain.clone(), plain.clone(), plain, bracket("stop")];
    let six: String = all.iter().map(|more| triplet("C4", 4, more)).collect();
    let xml = score(&[&format!("{FOUR_FOUR}{divisions}{six}{}", note("D4", 24, ""))]);
    assert_eq!(music(&xml), ["(3::6CCCCCC D4 |"]);
}

#[test]
fn a_tuplet_in_a_tuplet_is_flattened() {
    let divisions = attributes("<divisions>36</divisions>");
    let ratio = |actual, normal| {
        format!(
            "<time-modification><actual-notes>{actual}</actual-notes><normal-notes>{normal}</normal-notes></time-modification><type>eighth</type>"
        )
    };
    let inner = (0..3).map(|_| note("C4", 8, &ratio(9, 4))).collect::<String>();
    let outer = note("D4", 12, &ratio(3, 2));
    let xml = score(&[&format!("{FOUR_FOUR}{divisions}{inner}{outer}{}", note("E4", 108, ""))]);
    assert_eq!(music(&xml), ["(9:4:3CCC(3::1D E6 |"]);
    assert_eq!(tune(&xml).bars[0].length, recte_theory::Time::WHOLE);
}

#[test]
fn beams_are_those_of_the_source() {
    let beam = |kind: &str| format!("<beam number=\"1\">{kind}</beam>");
    let notes = note("C4", 2, &beam("begin")) + &note("D4", 2, &beam("continue")) + &rest(2);
    let notes = notes + &note("E4", 2, &beam("end")) + &note("F4", 2, "") + &note("G4", 6, "");
    assert_eq!(music(&score(&[&format!("{FOUR_FOUR}{notes}")])), ["CDzE F G3 |"]);
}

#[test]
fn whole_bar_rests() {
    let whole = "<note><rest measure=\"yes\"/><duration>16</duration></note>";
    let notes = format!("{FOUR_FOUR}{}", note("C4", 16, ""));
    let xml = score(&[&notes, whole, whole, whole]);
    assert_eq!(music(&xml), ["C8 | Z3 |"]);
    let bars = tune(&xml).voices[0].bars.len();
    assert_eq!(bars, 4);
    let other = [&notes as &str, &note("D4", 16, ""), whole, whole];
    let two = parts(&[("Flute", &[&notes, whole, whole, whole]), ("Cello", &other)]);
    assert_eq!(music(&two), ["[V:Flu] C8 | Z  | Z2 |", "[V:Cel] C8 | D8 | Z2 |"]);
}

#[test]
fn voices_of_a_staff_and_layers() {
    let upper = note("E5", 16, "<voice>1</voice>");
    let lower = note("C5", 8, "<voice>2</voice>") + &note("B4", 8, "<voice>2</voice>");
    let both = format!("{upper}{}{lower}", back(16));
    let always = score(&[&format!("{FOUR_FOUR}{both}"), &both]);
    assert!(text(&always).contains("%%score (Flu1 Flu2)\n"));
    assert_eq!(music(&always), ["[V:Flu1] e2  | e2  |", "[V:Flu2] c B | c B |"]);
    let once = score(&[&format!("{FOUR_FOUR}{both}"), &upper, &upper, &upper]);
    assert_eq!(music(&once), ["e2 & c B | e2 | e2 | e2 |"]);
}

#[test]
fn notes_that_overlap_in_one_voice_are_all_kept() {
    let xml =
        score(&[&format!("{FOUR_FOUR}{}{}{}", note("C4", 16, ""), back(8), note("G4", 8, ""))]);
    let count = tune(&xml).voices.iter().map(|voice| voice.notes.len()).sum::<usize>();
    assert_eq!(count, 2);
}

#[test]
fn staves_of_a_piano() {
    let notes = note("E5", 16, "<voice>1</voice><staff>1</staff>");
    let left = note("C3", 16, "<voice>5</voice><staff>2</staff>");
    let settings = attributes(
        "<staves>2</staves><clef number=\"1\"><sign>G</sign></clef><clef number=\"2\"><sign>F</sign><line>4</line></clef>",
    );
    let xml = parts(&[("Piano", &[&format!("{FOUR_FOUR}{settings}{notes}{}{left}", back(16))])]);
    let text = text(&xml);
    assert!(text.contains("%%score {Pia1 | Pia2}\nV:Pia1 name=\"Piano\" clef=treble\nV:Pia2 clef=bass\n%%recte instrument Pia2 Piano\n"), "{text}");
    assert_eq!(music(&xml), ["[V:Pia1] e8  |", "[V:Pia2] C,8 |"]);
}

#[test]
fn a_voice_that_crosses_staves_stays_one() {
    let one = |pitch, staff| note(pitch, 4, &format!("<voice>1</voice><staff>{staff}</staff>"));
    let notes = [one("E5", 1), one("C5", 1), one("G4", 1), one("C3", 2)].concat();
    let xml =
        parts(&[("Piano", &[&format!("{FOUR_FOUR}{}{notes}", attributes("<staves>2</staves>"))])]);
    assert_eq!(music(&xml)[0], "[V:Pia1] e c G C, |");
    assert_eq!(
        left_out(&xml),
        ["Piano, bar 1: notes on a neighbouring staff stand in the staff of their voice"]
    );
}

#[test]
fn slurs_and_grace_notes() {
    let slur = |kind| format!("<notations><slur type=\"{kind}\" number=\"1\"/></notations>");
    let grace = note("B3", 0, "<type>eighth</type>")
        .replace("<duration>0</duration>", "")
        .replacen("<note>", "<note><grace slash=\"yes\"/>", 1);
    let notes = note("C4", 8, &slur("start")) + &grace + &note("D4", 8, &slur("stop"));
    let xml = score(&[&format!("{FOUR_FOUR}{notes}")]);
    assert_eq!(music(&xml), ["(C {/B,}D) |"]);
    let tune = tune(&xml);
    assert_eq!(tune.voices[0].slurs.len(), 1);
    assert!(tune.voices[0].events.iter().any(|event| event.grace && event.slashed));
    let loose = score(&[&format!("{FOUR_FOUR}{}", note("C4", 16, &slur("start")))]);
    assert_eq!(
        left_out(&loose),
        ["Flute, bar 1: a slur that does not begin and end in one voice is left out"]
    );
}

#[test]
fn words_of_two_verses() {
    let lyric = |verse: u8, kind: &str, text: &str, more: &str| {
        format!(
            "<lyric number=\"{verse}\"><syllabic>{kind}</syllabic><text>{text}</text>{more}</lyric>"
        )
    };
    let notes = note("C4", 4, &(lyric(1, "begin", "ev", "") + &lyric(2, "single", "2nd", "")))
        + &note("D4", 4, &lyric(1, "end", "er", "<extend/>"))
        + &note("E4", 4, "")
        + &note(
            "F4",
            4,
            &(lyric(1, "single", "a-b", "")
                + &lyric(2, "single", "o", "<elision>‿</elision><text>ye</text>")),
        );
    let xml = score(&[&format!("{FOUR_FOUR}{notes}")]);
    assert_eq!(music(&xml), ["C D E F |", "w: ev-er_ a\\-b", "w: &#50;nd * * o‿ye"]);
    let tune = tune(&xml);
    let shown = |verse| {
        let own = tune.voices[0].syllables.iter().filter(move |syllable| syllable.verse == verse);
        own.map(|s| (s.event, s.text.to_string(), s.joined, s.held)).collect::<Vec<_>>()
    };
    let word = |event, text: &str| (event, text.to_owned(), false, false);
    assert_eq!(
        shown(0),
        [
            (0, "ev".to_owned(), true, false),
            word(1, "er"),
            (2, String::new(), false, true),
            word(3, "a-b")
        ]
    );
    assert_eq!(shown(1), [word(0, "2nd"), word(3, "o‿ye")]);
}

#[test]
fn repeats_and_endings() {
    let bar = |left: &str, right: &str, pitch| {
        let side = |name, inside: &str| match inside {
            "" => String::new(),
            inside => format!("<barline location=\"{name}\">{inside}</barline>"),
        };
        side("left", left) + &note(pitch, 16, "") + &side("right", right)
    };
    let xml = score(&[
        &format!("{FOUR_FOUR}{}", bar("<repeat direction=\"forward\"/>", "", "C4")),
        &bar(
            "<ending number=\"1,2\" type=\"start\"/>",
            "<ending number=\"1,2\" type=\"stop\"/><repeat direction=\"backward\"/>",
            "D4",
        ),
        &bar(
            "<ending number=\"3\" type=\"start\"/>",
            "<bar-style>light-heavy</bar-style><ending number=\"3\" type=\"stop\"/>",
            "E4",
        ),
    ]);
    assert_eq!(music(&xml), ["|: C8 |1,2 D8 :|3 E8 |]"]);
    let tune = tune(&xml);
    let endings: Vec<&[u8]> =
        tune.voices[0].bars.iter().map(|bar| bar.endings.as_slice()).collect();
    assert_eq!(endings, [&[] as &[u8], &[1, 2], &[3]]);
    assert_eq!((tune.voices[0].bars[0].repeat_opens, tune.voices[0].bars[1].repeat_closes), (2, 2));
    assert_eq!(left_out(&xml), [] as [String; 0]);
}

#[test]
fn a_repeat_begins_after_its_bar_line_and_ends_before_it() {
    let side = |name, direction| {
        format!("<barline location=\"{name}\"><repeat direction=\"{direction}\"/></barline>")
    };
    let bar = note("C4", 16, "");
    let xml = score(&[
        &format!("{FOUR_FOUR}{bar}{}", side("right", "forward")),
        &bar,
        &(side("left", "backward") + &bar),
    ]);
    assert_eq!(music(&xml), ["C8 |: C8 :| C8 |"]);
    assert_eq!(left_out(&xml), [] as [String; 0]);
    let outside = [side("left", "backward"), bar, side("right", "forward")].concat();
    let xml = score(&[&format!("{FOUR_FOUR}{outside}")]);
    assert_eq!(music(&xml), ["C8 |"]);
    assert_eq!(left_out(&xml).len(), 2);
}

#[test]
fn transposing_parts_and_octave_clefs() {
    let clarinet = attributes(
        "<key><fifths>2</fifths></key><transpose><diatonic>-1</diatonic><chromatic>-2</chromatic></transpose>",
    );
    let tenor = attributes(
        "<key><fifths>0</fifths></key><clef><sign>G</sign><line>2</line><clef-octave-change>-1</clef-octave-change></clef>",
    );
    let sung = note("C4", 16, "<lyric><text>la</text></lyric>");
    let xml = parts(&[
        ("Tenor", &[&format!("{FOUR_FOUR}{tenor}{sung}")]),
        ("Clarinet in B♭", &[&format!("{FOUR_FOUR}{clarinet}{}", note("D4", 16, ""))]),
    ]);
    let text = text(&xml);
    assert!(text.contains("V:Ten name=\"Tenor\" clef=treble-8\n"), "{text}");
    assert!(text.contains("name=\"Clarinet in B♭\" clef=treble transpose=-2\n"), "{text}");
    let sounding: Vec<String> =
        tune(&xml).voices.iter().map(|v| v.notes[0].pitch.to_string()).collect();
    assert_eq!(sounding, ["C4", "C4"]);
    assert!(music(&xml)[2].contains("[K:D]D8 |"), "{text}");
}

#[test]
fn changes_of_key_metre_and_clef() {
    let change = attributes(
        "<key><fifths>-1</fifths></key><time><beats>3</beats><beat-type>4</beat-type></time><clef><sign>C</sign><line>3</line></clef>",
    );
    let first = format!("{FOUR_FOUR}{}", note("B4", 16, ""));
    let second = format!("{change}{}", note("Bb4", 12, ""));
    assert_eq!(music(&score(&[&first, &second])), ["B8 | [K:F clef=alto][M:3/4]B6 |"]);
}

#[test]
fn signatures_of_their_own_are_written_sign_by_sign() {
    let key = attributes(
        "<key><key-step>B</key-step><key-alter>-1</key-alter><key-step>F</key-step><key-alter>1</key-alter></key>",
    );
    let notes = note("Bb4", 8, "") + &note("F#4", 8, "");
    let xml = score(&[&format!("{FOUR_FOUR}{key}{notes}")]);
    assert!(text(&xml).contains("K:C exp ^f _b\n"));
    assert_eq!(music(&xml), ["B F |"]);
    assert_eq!(tune(&xml).voices[0].notes[0].pitch.to_string(), "Bb4");
}

#[test]
fn signs_stand_at_their_notes() {
    let direction =
        |inside: &str| format!("<direction><direction-type>{inside}</direction-type></direction>");
    let harmony = "<harmony><root><root-step>B</root-step><root-alter>-1</root-alter></root><kind>minor-seventh</kind><bass><bass-step>F</bass-step></bass></harmony>";
    let notations =
        "<notations><fermata/><technical><up-bow/><fingering>2</fingering></technical></notations>";
    let body = [
        direction("<dynamics><mf/></dynamics>"),
        harmony.to_owned(),
        note("C4", 4, ""),
        direction("<wedge type=\"crescendo\"/>"),
        note("D4", 4, ""),
        note("E4", 4, notations),
        direction("<wedge type=\"stop\"/>"),
        direction("<words>dolce</words>"),
        note("F4", 4, ""),
    ];
    let xml = score(&[&format!("{FOUR_FOUR}{}", body.concat())]);
    assert_eq!(music(&xml), ["\"Bbm7/F\"!mf!C !<(!D !fermata!!2!uE \"^dolce\"!<)!F |"]);
    let marks = &tune(&xml).voices[0].marks;
    assert!(marks.iter().any(|mark| mark.kind == MarkKind::ChordSymbol && &*mark.text == "Bbm7/F"));
    assert_eq!(left_out(&xml), [] as [String; 0]);
}

#[test]
fn tempi_marks_and_signs_of_repetition() {
    let metronome = "<direction><direction-type><words>Andante</words></direction-type><direction-type><metronome><beat-unit>quarter</beat-unit><beat-unit-dot/><per-minute>60</per-minute></metronome></direction-type></direction>";
    let mark = "<direction><direction-type><rehearsal>B</rehearsal></direction-type></direction>";
    let da_capo = "<direction><direction-type><words>D.C.</words></direction-type><sound dacapo=\"yes\"/></direction>";
    let first = format!("{FOUR_FOUR}{metronome}{}", note("C4", 16, ""));
    let xml = score(&[&first, &format!("{mark}{}{da_capo}", note("D4", 16, ""))]);
    assert!(text(&xml).contains("\nQ:\"Andante\" 3/8=60\n"));
    assert_eq!(music(&xml), ["C8 | [P:B]D8 !D.C.! |"]);
}

#[test]
fn text_is_safe_between_quotation_marks() {
    let words = "<direction><direction-type><words>say \"ah\" 50% \\ &amp; more</words></direction-type></direction>";
    let xml = score(&[&format!("{FOUR_FOUR}{words}{}", note("C4", 16, ""))]);
    let marks = &tune(&xml).voices[0].marks;
    assert_eq!(&*marks[0].text, "^say \"ah\" 50% \\ & more");
}

#[test]
fn groups_of_parts() {
    let measure = format!("{FOUR_FOUR}{}", note("C4", 16, ""));
    let xml = parts(&[("Flute", &[&measure]), ("Violin", &[&measure]), ("Cello", &[&measure])]);
    let start = "<part-group type=\"start\" number=\"1\"><group-symbol>bracket</group-symbol><group-barline>yes</group-barline></part-group>";
    let xml = xml.replace("<score-part id=\"P1\">", &format!("{start}<score-part id=\"P1\">"));
    let xml = xml.replace("</part-list>", "<part-group type=\"stop\" number=\"1\"/></part-list>");
    assert!(text(&xml).contains("%%score Flu [Vio | Cel]\n"));
}

#[test]
fn lines_hold_four_bars_under_each_other() {
    let first = format!("{FOUR_FOUR}{}", note("C4", 16, ""));
    let next = note("D4", 16, "");
    let measures: Vec<&str> = std::iter::once(first.as_str()).chain([next.as_str(); 5]).collect();
    let text = text(&score(&measures));
    assert!(text.ends_with("% 1\nC8 | D8 | D8 | D8 |\n% 5\nD8 | D8 |\n"), "{text}");
}

#[test]
fn a_part_that_lacks_time_is_filled_and_told() {
    let full = format!("{FOUR_FOUR}{}", note("C4", 16, ""));
    let short = format!("{FOUR_FOUR}{}", note("C4", 8, ""));
    let xml = parts(&[("Flute", &[&full]), ("Cello", &[&short])]);
    assert_eq!(music(&xml)[1], "[V:Cel] C x |");
    assert_eq!(
        left_out(&xml),
        ["Cello, bar 1: this part holds 1/2 and the measure 1; it is filled with unseen rests"]
    );
    let events = &tune(&xml).voices[1].events;
    assert_eq!(events[1].kind, EventKind::InvisibleRest);
}

#[test]
fn a_rest_that_only_one_part_has_too_many_of_does_not_fill_the_others() {
    let full = format!("{FOUR_FOUR}{}", note("C4", 16, ""));
    let twice = format!("{FOUR_FOUR}{}{}", rest(16), rest(16));
    let xml = parts(&[("Flute", &[&full]), ("Cello", &[&twice])]);
    assert_eq!(music(&xml), ["[V:Flu] C8 |", "[V:Cel] Z  |"]);
    assert_eq!(left_out(&xml), ["Cello, bar 1: rests that go on after the measure end with it"]);
    // A rest over the end is cut there.
    let over = format!("{FOUR_FOUR}{}{}", note("D4", 4, ""), rest(16));
    let xml = parts(&[("Flute", &[&full]), ("Cello", &[&over])]);
    assert_eq!(music(&xml)[1], "[V:Cel] D z3 |");
    // Where all parts have the rest, or a note sounds beyond, the measure is as long as that.
    let xml = parts(&[("Flute", &[&twice]), ("Cello", &[&twice])]);
    assert_eq!(music(&xml), ["[V:Flu] z8 z8 |", "[V:Cel] z8 z8 |"]);
    let long = format!("{FOUR_FOUR}{}{}", rest(16), note("D4", 4, ""));
    let xml = parts(&[("Flute", &[&full]), ("Cello", &[&long])]);
    assert_eq!(music(&xml), ["[V:Flu] C4 x |", "[V:Cel] z4 D |"]);
}

#[test]
fn the_rest_of_a_whole_measure_fills_no_pickup() {
    let upbeat = format!("{FOUR_FOUR}{}", note("C4", 4, ""));
    let silent = format!("{FOUR_FOUR}{}", rest(16));
    let full = note("C4", 16, "");
    let xml = parts(&[("Flute", &[&upbeat, &full]), ("Cello", &[&silent, &full])]);
    assert_eq!(music(&xml), ["[V:Flu] C | C4 |", "[V:Cel] z | C4 |"]);
    assert_eq!(left_out(&xml), [] as [String; 0]);
}

#[test]
fn a_layer_of_mere_space_is_not_written() {
    let space = "<note print-object=\"no\"><rest/><duration>16</duration><voice>2</voice></note>";
    let first = note("C4", 16, "<voice>1</voice>");
    let second = note("E4", 16, "<voice>2</voice>");
    let bar = |second: &str| [&first, &back(16), second].concat();
    let xml = score(&[&format!("{FOUR_FOUR}{}", bar(space)), &first, &first, &bar(&second)]);
    assert_eq!(music(&xml), ["C8 | C8 | C8 | C8 & E8 |"]);
}

#[test]
fn a_beam_over_a_bar_line_is_told() {
    let beam = |kind: &str| format!("<beam number=\"1\">{kind}</beam>");
    let first = rest(14) + &note("C4", 2, &beam("begin"));
    let second = note("D4", 2, &beam("end")) + &rest(14);
    let xml = score(&[&format!("{FOUR_FOUR}{first}"), &second]);
    assert_eq!(left_out(&xml), ["Flute, bar 2: a beam over a bar line is broken there"]);
}

#[test]
fn a_length_too_fine_to_be_written_is_told() {
    let divisions = attributes("<divisions>300007</divisions>");
    let xml = score(&[&format!("{FOUR_FOUR}{divisions}{}", note("C4", 7, ""))]);
    assert_eq!(
        import_musicxml(xml.as_bytes(), "").unwrap_err(),
        "part “Flute”, measure 1: a length of 7/1200028 of a whole note is too fine to be written"
    );
}

#[test]
fn more_bars_than_any_score_has_are_refused() {
    let empty = "<measure number=\"1\"/>".repeat(20_000);
    let names = (0..100).map(|id| format!("<score-part id=\"P{id}\"><part-name/></score-part>"));
    let list = names.collect::<String>();
    let xml = format!(
        "<score-partwise><part-list>{list}</part-list><part id=\"P0\">{empty}</part></score-partwise>"
    );
    assert_eq!(
        import_musicxml(xml.as_bytes(), "").unwrap_err(),
        "100 voices of 20000 bars are more than any score has"
    );
}

#[test]
fn parts_without_a_name_have_ids_all_the_same() {
    let left = note("C3", 16, "<staff>2</staff>");
    let settings = attributes("<staves>2</staves>");
    let measure = format!("{FOUR_FOUR}{settings}{}{}{left}", note("E5", 16, ""), back(16));
    let single = format!("{FOUR_FOUR}{}", note("C4", 16, ""));
    let xml = parts(&[("", &[&measure]), ("", &[&single])]);
    assert!(text(&xml).contains("%%score {V1 | V2} 2\n"));
}

#[test]
fn two_hairpins_that_end_together_are_one_end_and_one_is_told() {
    let wedge = |kind: &str| {
        format!("<direction><direction-type><wedge type=\"{kind}\"/></direction-type></direction>")
    };
    let grow = wedge("crescendo");
    let notes =
        [grow.clone(), note("C4", 8, ""), grow, note("D4", 8, ""), wedge("stop"), wedge("stop")];
    let xml = score(&[&format!("{FOUR_FOUR}{}", notes.concat())]);
    assert_eq!(music(&xml), ["C !<(!D !<)! |"]);
    let what = "a hairpin that does not begin and end in one voice is left out";
    assert_eq!(left_out(&xml), [format!("Flute, bar 1: {what}")]);
}
