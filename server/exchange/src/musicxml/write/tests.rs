use super::*;
use recte_notation::lower;
use std::io::Read;

fn exported(text: &str) -> (String, Vec<String>) {
    let Exported { bytes, left_out } = musicxml(&lower(text).tune).unwrap();
    (String::from_utf8(bytes).unwrap(), left_out)
}

fn written(music: &str) -> String {
    exported(&format!("X:1\nL:1/4\nM:4/4\nK:C\n{music}\n")).0
}

/// Lines of the document without their indentation, as one.
fn flat(document: &str) -> String {
    document.lines().map(str::trim).collect()
}

#[track_caller]
fn has(music: &str, wanted: &[&str]) {
    let document = flat(&written(music));
    for wanted in wanted {
        assert!(document.contains(wanted), "{music} has no {wanted}:\n{document}");
    }
}

fn count(document: &str, what: &str) -> usize {
    document.matches(what).count()
}

#[test]
fn notes_rests_and_chords() {
    has(
        "^F z/ x/ [CE]>G|Z|X|",
        &[
            "<note><pitch><step>F</step><alter>1</alter><octave>4</octave></pitch><duration>2</duration>\
             <voice>1</voice><type>quarter</type><accidental>sharp</accidental></note>",
            "<note><rest/><duration>1</duration>",
            "<note print-object=\"no\"><rest/>",
            "<note><chord/><pitch><step>E</step>",
            "<type>quarter</type><dot/></note>",
            "<note><rest measure=\"yes\"/><duration>8</duration><voice>1</voice></note>",
            "<note print-object=\"no\"><rest measure=\"yes\"/>",
        ],
    );
}

#[test]
fn lengths_no_sign_has_are_tied() {
    let document = written("C5/2 z5/4|");
    assert_eq!(count(&document, "<tied type=\"start\"/>"), 1);
    assert_eq!(count(&document, "<tied type=\"stop\"/>"), 1);
    assert_eq!(count(&document, "<rest/>"), 2);
}

#[test]
fn layers_step_back() {
    let document = flat(&written("C4 & E2|"));
    assert!(
        document.contains("<backup><duration>4</duration></backup><note><pitch><step>E</step>")
    );
    assert!(
        document
            .contains("<voice>2</voice><type>half</type></note><forward><duration>2</duration>")
    );
}

#[test]
fn tuplets_beams_graces_and_slurs() {
    has(
        "(3(C/D/E/) {/g}F{ab}G z|",
        &[
            "<time-modification><actual-notes>3</actual-notes><normal-notes>2</normal-notes>",
            "<beam number=\"1\">begin</beam>",
            "<slur type=\"start\" number=\"1\"/>",
            "<tuplet type=\"start\" number=\"1\">",
            "<tuplet type=\"stop\" number=\"1\"/>",
            "<note><grace slash=\"yes\"/><pitch><step>G</step>",
            "<type>16th</type><beam number=\"1\">begin</beam><beam number=\"2\">begin</beam>",
        ],
    );
}

#[test]
fn slurs_that_cross_have_numbers_of_their_own() {
    let document = written("(C(D)E)F|");
    assert!(!document.contains("number=\"2\""), "a slur on one note is none");
    let document = written("(C(DE)F)|");
    assert_eq!(count(&document, "<slur type=\"start\" number=\"2\"/>"), 1);
}

#[test]
fn repeats_and_endings() {
    has(
        "|:C4|1D4:|2E4||",
        &[
            "<barline location=\"left\"><bar-style>heavy-light</bar-style><repeat direction=\"forward\"/>",
            "<barline location=\"left\"><ending number=\"1\" type=\"start\"/>",
            "<ending number=\"1\" type=\"stop\"/><repeat direction=\"backward\"/>",
            "<bar-style>light-light</bar-style><ending number=\"2\" type=\"stop\"/>",
        ],
    );
    has("|::C4::|", &["<repeat direction=\"backward\" times=\"3\"/>"]);
}

#[test]
fn directions() {
    has(
        "!segno!C\"^dolce\"!p!D!<(!E!<)!F!D.S.!|",
        &[
            "<segno/></direction-type><voice>1</voice><sound segno=\"segno\"/>",
            "<direction placement=\"above\" system=\"none\"><direction-type><words>dolce</words>",
            "<dynamics><p/></dynamics>",
            "<wedge type=\"crescendo\" number=\"1\"/>",
            "<wedge type=\"stop\" number=\"1\"/>",
            "<words>D.S.</words></direction-type><voice>1</voice><sound dalsegno=\"segno\"/>",
        ],
    );
}

#[test]
fn hairpins_left_open_are_closed() {
    let document = written("!<(!C4|D4|");
    assert_eq!(count(&document, "<wedge"), 2);
    assert_eq!(count(&written("!<)!C4|"), "<wedge"), 0);
}

#[test]
fn signs_on_notes() {
    has(
        "!trill!C!invertedfermata!D .!upbow!E !3!F|",
        &[
            "<ornaments><trill-mark/></ornaments>",
            "<fermata type=\"inverted\"/>",
            "<technical><up-bow/></technical><articulations><staccato/></articulations>",
            "<technical><fingering>3</fingering></technical>",
        ],
    );
}

#[test]
fn chord_symbols_and_other_words() {
    has(
        "\"Gm7/D\"C2\"Solo\"D2|",
        &[
            "<harmony placement=\"above\"><root><root-step>G</root-step></root><kind text=\"m7\">minor-seventh</kind>\
             <bass><bass-step>D</bass-step></bass></harmony>",
            "<words>Solo</words>",
        ],
    );
}

#[test]
fn words_under_the_notes() {
    has(
        "CDEF|GABc|\nw:one~two sea-side_ * la__ x|",
        &[
            "<lyric number=\"1\"><syllabic>single</syllabic><text>one two</text></lyric>",
            "<syllabic>begin</syllabic><text>sea</text>",
            "<syllabic>end</syllabic><text>side</text><extend type=\"start\"/>",
            "<lyric number=\"1\"><extend type=\"stop\"/></lyric>",
            "<lyric number=\"1\"><extend type=\"continue\"/></lyric>",
        ],
    );
}

#[test]
fn tempi_parts_and_pickups() {
    let (document, _) =
        exported("X:1\nL:1/4\nM:4/4\nQ:\"Brisk\" 3/8 1/4=50\nK:C\nC|\nP:A\nC4|[M:3/4]C3|\n");
    let document = flat(&document);
    for wanted in [
        "<words>Brisk</words>",
        "<beat-unit>quarter</beat-unit><beat-unit-dot/><beat-unit-tied><beat-unit>quarter</beat-unit></beat-unit-tied>",
        "<sound tempo=\"125\"/>",
        "<measure number=\"0\" implicit=\"yes\">",
        "<rehearsal>A</rehearsal>",
        "<measure number=\"2\"><attributes><time><beats>3</beats>",
    ] {
        assert!(document.contains(wanted), "{wanted}:\n{document}");
    }
}

#[test]
fn a_voice_that_ends_early_is_silent_and_loses_no_tempo() {
    let (document, _) = exported("X:1\nL:1/4\nM:2/4\nK:C\n[V:1]C2|\n[V:2]C2|[Q:1/4=50]D2|\n");
    let document = flat(&document);
    let silent = "<note print-object=\"no\"><rest measure=\"yes\"/><duration>2</duration>";
    assert!(document.contains(&format!("<sound tempo=\"50\"/></direction>{silent}")), "{document}");
}

#[test]
fn bars_that_a_line_divides_have_one_number() {
    let document = written("C3|D4|E2:|F2|G4|");
    let numbers: Vec<&str> = document
        .lines()
        .filter_map(|line| line.trim().strip_prefix("<measure number=\"")?.split('"').next())
        .collect();
    assert_eq!(numbers, ["0", "1", "2", "X1", "3"]);
}

#[test]
fn bars_of_rest_are_counted() {
    let document = written("C4|Z3|D4|");
    assert_eq!(count(&document, "<multiple-rest>3</multiple-rest>"), 1);
}

#[test]
fn parts_groups_and_who_shares_a_staff() {
    let text = "X:1\nL:1/4\nM:4/4\n%%score [(S A) | B]\nV:S name=\"Soprano\"\nV:A\nV:B clef=bass\nV:X\nK:C\n\
                [V:S]C4|\n[V:A]E4|\n[V:B]C,4|\n[V:X]G4|\n";
    let (document, left_out) = exported(text);
    let document = flat(&document);
    assert_eq!(count(&document, "<score-part "), 2);
    assert!(
        document.contains("<group-symbol>bracket</group-symbol><group-barline>yes</group-barline>")
    );
    assert!(document.contains("<part-name>Soprano</part-name>"));
    assert!(document.contains("<part-name print-object=\"no\">B</part-name>"));
    assert!(
        document.contains("<backup><duration>4</duration></backup><note><pitch><step>E</step>")
    );
    assert_eq!(left_out, ["Voice X is not named in %%score, so it is not on the page."]);
}

#[test]
fn transposing_parts_are_written_as_they_are_read() {
    let (document, _) =
        exported("X:1\nL:1/4\nV:1 transpose=-2\nK:C\nD|[K:clef=bass transpose=0]D|\n");
    let document = flat(&document);
    assert!(document.contains("<diatonic>-1</diatonic><chromatic>-2</chromatic>"));
    assert_eq!(count(&document, "<step>D</step>"), 2);
    assert!(document.contains("<chromatic>0</chromatic>"));
}

#[test]
fn what_has_no_place_is_said() {
    let said = |music: &str| exported(&format!("X:1\nL:1/4\nK:C\n{music}\n")).1;
    assert_eq!(said("C D|"), [] as [&str; 0]);
    assert!(said("!wobble!C|")[0].contains("“!wobble!”"));
    assert!(said("C-D|")[0].contains("A tie in bar 1"));
    assert!(said("C,,,,,,|")[0].contains("octaves"));
    assert_eq!(exported("X:1\nP:ABA\nK:C\nP:A\nC|\nP:B\nD|\n").1.len(), 1);
}

#[test]
fn signs_xml_cannot_hold_are_dropped() {
    assert!(written("\"^a\u{1}<b\"C|").contains("<words>a&lt;b</words>"));
}

#[test]
fn a_compressed_score_names_its_document() {
    let bytes = mxl(&lower("X:1\nK:C\nC|\n").tune).unwrap().bytes;
    let mut zip = zip::ZipArchive::new(Cursor::new(bytes)).unwrap();
    let mut text = |name: &str| {
        let mut text = String::new();
        zip.by_name(name).unwrap().read_to_string(&mut text).unwrap();
        text
    };
    assert!(text("META-INF/container.xml").contains("full-path=\"score.musicxml\""));
    assert!(text("score.musicxml").contains("<score-partwise version=\"4.0\">"));
}

#[test]
fn a_tune_without_music_is_none() {
    assert!(musicxml(&lower("X:1\nK:C\n").tune).is_err());
}
