use super::*;
use crate::instruments::{Found, Roster};

fn row(text: &str) -> Row {
    toml::from_str(text).unwrap()
}

fn with(text: &str) -> Roster {
    let (roster, faults) = Roster::standard().with(&[row(text)]);
    assert_eq!(faults, []);
    roster
}

fn faults(text: &str) -> Vec<String> {
    let (roster, faults) = Roster::standard().with(&[row(text)]);
    assert_eq!(&roster, Roster::standard(), "what does not fit is left out");
    faults.iter().map(|(_, fault)| format!("{}: {}", fault.path.join("."), fault.message)).collect()
}

fn range(roster: &Roster, id: &str, level: Level) -> String {
    let range = roster.by_id(id).and_then(|i| i.range(level)).unwrap();
    let Range { written_min, written_max, sounding_min, sounding_max } = range;
    format!("{written_min} {written_max} {sounding_min} {sounding_max}")
}

#[test]
fn a_new_instrument_needs_little() {
    let roster = with(
        r#"
        id = "alphorn"
        family = "brass"
        names = ["Alphorn", "Alph."]
        transposition = { chromatic = -6, diatonic = -4 }
        range_professional = { written_min = "C3", sounding_max = "F#5" }
        "#,
    );
    assert_eq!(range(&roster, "alphorn", Level::School), "C3 C6 F#2 F#5");
    let Found::One(found) = roster.find("Alph. 2") else { panic!("it has that name") };
    assert_eq!((found.id.as_str(), found.name.as_str()), ("alphorn", "alphorn"));
    assert_eq!(found.clefs, ["treble"]);
    let place = |id: &str| roster.instruments().iter().position(|i| i.id == id).unwrap();
    assert_eq!(place("alphorn"), place("sousaphone") + 1, "below all of its family");
    assert_eq!(roster.own_keys("alphorn").len(), 4);
    assert_eq!(roster.instruments().len(), Roster::standard().instruments().len() + 1);
}

#[test]
fn one_key_changes_a_row_of_the_table() {
    let roster = with("id = \"flute\"\nrange_professional = { written_max = \"Bb6\" }");
    assert_eq!(range(&roster, "flute", Level::Professional), "B3 Bb6 B3 Bb6");
    let flute = roster.by_id("flute").unwrap();
    assert_eq!(flute.registers.last().unwrap().range.written_max, "Bb6".parse().unwrap());
    assert!(flute.range(Level::Advanced).unwrap().written_max.midi() <= 94);
    assert_eq!(flute.names, Roster::standard().by_id("flute").unwrap().names);
    assert_eq!(roster.own_keys("flute"), ["range_professional"]);
    assert_ne!(&roster, Roster::standard());
}

#[test]
fn rows_stand_on_the_rows_before() {
    let first = row("id = \"flute\"\nnames = [\"Fife\"]");
    let second = row("id = \"flute\"\nname = \"Great flute\"");
    let (roster, faults) = Roster::standard().with(&[first, second]);
    assert_eq!(faults, []);
    let flute = roster.by_id("flute").unwrap();
    assert_eq!(flute.name, "Great flute");
    assert_eq!(roster.find("Fife"), Found::One(flute));
    assert_eq!(roster.find("Fl."), Found::One(flute));
}

#[test]
fn another_transposition_moves_what_sounds() {
    let roster = with("id = \"horn-in-f\"\ntransposition = { chromatic = -9, diatonic = -5 }");
    let written =
        |roster: &Roster| roster.by_id("horn-in-f").unwrap().range(Level::School).unwrap();
    let (new, old) = (written(&roster), written(Roster::standard()));
    assert_eq!(new.written_min, old.written_min);
    assert_eq!(new.sounding_min.midi(), old.sounding_min.midi() - 2);
}

#[test]
fn a_users_name_means_what_the_user_says() {
    let roster = with("id = \"double-bass\"\nnames = [\"Bass\"]");
    assert_eq!(roster.find("Bass"), Found::One(roster.by_id("double-bass").unwrap()));
    assert!(matches!(Roster::standard().find("Bass"), Found::Several(_)));
}

#[test]
fn faults_name_the_place_and_what_would_be_right() {
    for (text, said) in [
        (
            "name = \"Flute\"",
            "id: an instrument needs an id of small letters, digits and hyphens, as in id = \"bass-clarinet\".",
        ),
        (
            "id = \"kazoo\"\nnames = [\"Kazoo\"]",
            "id: there is no instrument “kazoo” to change, and a new one needs a family.",
        ),
        (
            "id = \"kazoo\"\nfamily = \"winds\"",
            "family: the value of “family” does not fit: unknown variant “winds“",
        ),
        (
            "id = \"kazoo\"\nfamily = \"brass\"",
            "id: an instrument with pitches needs range_professional",
        ),
        (
            "id = \"flute\"\nrang_school = 1",
            "rang_school: there is no key “rang_school”; the nearest is “range_school”.",
        ),
        (
            "id = \"flute\"\nrange_school = { writen_min = \"C4\" }",
            "range_school.writen_min: there is no key “writen_min”; the nearest is “written_min”.",
        ),
        (
            "id = \"flute\"\nrange_school = { written_min = \"H4\" }",
            "range_school.written_min: “H4” is no pitch; write it like C4, F#3 or Bb5.",
        ),
        (
            "id = \"flute\"\nrange_school = { written_min = \"C7\" }",
            "range_school: the lowest note, C7, lies above the highest",
        ),
        (
            "id = \"flute\"\nrange_school = { written_min = \"C4\", sounding_min = \"D4\" }",
            "range_school: C4 as written sounds C4, not D4; give one of the two.",
        ),
        (
            "id = \"flute\"\nrange_advanced = { written_max = \"F7\" }",
            "range_advanced: range_advanced reaches beyond range_professional (B3 to D7).",
        ),
        (
            "id = \"flute\"\nbreath_seconds = { professional = \"long\" }",
            "breath_seconds.professional: the value of “breath_seconds.professional” does not fit: invalid type: string \"long\"",
        ),
        (
            "id = \"flute\"\n[[register]]\nlabel = \"all\"\nwritten_min = \"B3\"\nwritten_max = \"C7\"",
            "register.0: the last register ends at C7, but range_professional at D7.",
        ),
        (
            "id = \"flute\"\n[[register]]\nlabel = \"low\"\nwritten_min = \"B3\"\nwritten_max = \"C5\"\n[[register]]\nlabel = \"high\"\nwritten_min = \"D5\"\nwritten_max = \"D7\"",
            "register.1: registers follow each other from the lowest up: this one begins at D5, but the one before ends at C5: a hole.",
        ),
    ] {
        let found = faults(text);
        assert_eq!(found.len(), 1, "{text}: {found:?}");
        assert!(found[0].starts_with(said), "{}\n{said}", found[0]);
    }
}

/// Every row of the table could be a user's own.
#[test]
fn every_row_of_the_table_fits_as_a_users_own() {
    for (id, row) in TYPED.iter() {
        let instrument = apply(&[], row).unwrap_or_else(|faults| panic!("{id}: {faults:?}"));
        assert_eq!(Some(&instrument), Roster::standard().by_id(id));
    }
}

/// Each key of the table stands in the schema, and each row keeps to it as far as keys go.
#[test]
fn the_schema_has_every_key() {
    let schema = row_schema();
    let keys = schema["properties"].as_object().unwrap();
    for row in TYPED.values() {
        assert!(row.keys().all(|key| keys.contains_key(key)), "{row:?}");
    }
    assert_eq!(schema["required"], json!(["id"]));
    assert_eq!(schema["additionalProperties"], json!(false));
    let register = &keys["register"]["items"];
    assert_eq!(register["required"], json!(["label"]));
    assert!(register["properties"]["written_min"]["pattern"].is_string());
    assert!(!schema.to_string().contains("null"), "TOML has no null");
}

#[test]
fn the_same_rows_make_the_same_roster() {
    let text = "id = \"flute\"\nname = \"Some flute\"";
    assert_eq!(with(text), with(text));
    let json = serde_json::to_value(with(text)).unwrap();
    assert_eq!(serde_json::from_value::<Roster>(json).unwrap(), with(text));
}
