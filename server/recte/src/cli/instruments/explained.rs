//! Everything that is known of one instrument, in words, with its sources.

use recte_theory::instruments::{
    ByLevel, Concern, Family, Instrument, Level, NaturalPolicy, Range, Roster, Stops, Transposition,
};
use recte_theory::{Interval, Pitch};
use std::fmt::{Display, Write};

const LEVELS: [(Level, &str); 3] = [
    (Level::Professional, "professional"),
    (Level::Advanced, "advanced"),
    (Level::School, "school"),
];

/// What there is at each level, with its name.
pub(super) fn of_levels<T>(at: impl Fn(Level) -> Option<T>) -> Vec<(&'static str, T)> {
    LEVELS.iter().filter_map(|(level, word)| Some((*word, at(*level)?))).collect()
}

/// "a major second lower than written", "as written".
pub(super) fn heard(transposition: Transposition) -> String {
    let Transposition { chromatic, diatonic } = transposition;
    if (chromatic, diatonic) == (0, 0) {
        return "as written".to_owned();
    }
    let down = chromatic < 0 || chromatic == 0 && diatonic < 0;
    let sign = if down { -1 } else { 1 };
    let (steps, semitones) = (diatonic * sign, chromatic * sign);
    let (octaves, rest) = (steps.div_euclid(7), steps.rem_euclid(7));
    let interval = Interval { steps: rest, semitones: semitones - 12 * octaves }.to_string();
    let article = if interval.starts_with(['a', 'e', 'i', 'o', 'u']) { "an" } else { "a" };
    let octave = match octaves {
        1 => "an octave".to_owned(),
        2 => "two octaves".to_owned(),
        number => format!("{number} octaves"),
    };
    let words = match (octaves, rest, semitones - 12 * octaves) {
        (0, ..) => format!("{article} {interval}"),
        (_, 0, 0) => octave,
        _ => format!("{octave} and {article} {interval}"),
    };
    format!("{words} {} than written", if down { "lower" } else { "higher" })
}

/// A page of short lines.
struct Page(String);

impl Page {
    fn line(&mut self, what: &str, said: impl Display) {
        let _ = writeln!(self.0, "  {what:17} {said}");
    }

    fn levels<T: Copy + Display>(&mut self, what: &str, figures: Option<ByLevel<T>>, unit: &str) {
        if let Some(figures) = figures {
            let by = of_levels(|level| Some(figures.at(level)));
            let by: Vec<String> =
                by.iter().map(|(word, figure)| format!("{figure} {word}")).collect();
            self.line(what, format!("{} {unit}", by.join(", ")).trim_end());
        }
    }
}

/// Everything that the roster says of one instrument.
pub(super) fn explained(roster: &Roster, one: &Instrument, also: &[&Instrument]) -> String {
    let mut page = Page(format!("{} ({})\n", one.name, one.id));
    let own = roster.own_keys(&one.id);
    if !own.is_empty() {
        page.line("in recte.toml", own.join(", "));
    }
    page.line("names", one.names.join(", "));
    page.line("clefs", one.clefs.join(", "));
    if let Some(transposition) = one.transposition {
        page.line("sounds", heard(transposition));
    }
    for other in &one.alternative_transpositions {
        page.line(
            "",
            format!("in {} clef: {} ({})", other.clef, heard(other.transposition), other.when),
        );
    }
    let moved = one.transposition.is_some_and(|t| t != Default::default());
    for (place, (word, range)) in of_levels(|level| one.range(level)).into_iter().enumerate() {
        page.line(if place == 0 { "range" } else { "" }, format!("{word} {}", ends(range, moved)));
    }
    registers(&mut page, one);
    at_once(&mut page, one);
    pace(&mut page, one);
    notes(&mut page, one);
    machines(&mut page, one);
    for (place, limit) in one.limits.iter().enumerate() {
        page.line(if place == 0 { "to know" } else { "" }, limit);
    }
    for (place, (what, source)) in one.source.iter().enumerate() {
        page.line(
            if place == 0 { "sources" } else { "" },
            format!("{}: {source}", what.replace('_', " ")),
        );
    }
    if !also.is_empty() {
        let ids: Vec<&str> = also.iter().map(|other| other.id.as_str()).collect();
        page.line("see also", ids.join(", "));
    }
    page.0.push('\n');
    page.0.push_str(care(one.family));
    page.0
}

fn ends(range: Range, moved: bool) -> String {
    let written = format!("{}–{}", range.written_min, range.written_max);
    if moved {
        format!("written {written}, sounding {}–{}", range.sounding_min, range.sounding_max)
    } else {
        written
    }
}

fn registers(page: &mut Page, one: &Instrument) {
    for (place, register) in one.registers.iter().enumerate() {
        let concerns = register.concern.iter().map(|concern| match concern {
            Concern::NotSoft => "not soft",
            Concern::NotLoud => "not loud",
            Concern::Extreme => "extreme",
            Concern::Slow => "not for quick notes",
            Concern::Special => "not on every instrument",
        });
        let concerns = concerns.collect::<Vec<_>>().join(", ");
        let said = [register.character.trim(), concerns.as_str(), register.caution.trim()];
        let said: Vec<&str> = said.into_iter().filter(|text| !text.is_empty()).collect();
        let (low, high) = (register.range.written_min, register.range.written_max);
        let line = format!("{} {low}–{high}: {}", register.label, said.join("; "));
        let what = if place == 0 { "registers" } else { "" };
        page.line(what, line.trim_end_matches([':', ' ']));
    }
    for zone in &one.zones {
        let (low, high) = (zone.range.written_min, zone.range.written_max);
        page.line("", format!("{} {low}–{high}: {}", zone.label, zone.caution));
    }
    if let Some(home) = one.tessitura {
        page.line("at home", format!("{}–{}", home.min, home.max));
    }
}

/// What one player can sound at once.
fn at_once(page: &mut Page, one: &Instrument) {
    if !one.open_strings.is_empty() {
        let strings = one.open_strings.iter();
        let strings: Vec<String> =
            strings.map(|string| format!("{} {}", string.string, string.sounding)).collect();
        page.line("strings", strings.join(", "));
    }
    let Some(stops) = &one.stops else { return };
    let said = stops_in_words(stops);
    for (place, line) in said.iter().enumerate() {
        page.line(if place == 0 { "at once" } else { "" }, line);
    }
}

fn stops_in_words(stops: &Stops) -> Vec<String> {
    let mut all = Vec::new();
    let mut say = |figure: Option<String>| all.extend(figure);
    say(stops.max_notes.map(|most| match stops.sustained_notes {
        Some(held) => format!("{most} notes, {held} of them held"),
        None => format!("{most} notes"),
    }));
    if stops.adjacent_strings_only {
        say(Some("on neighbouring strings only".to_owned()));
    }
    let semitones =
        |what: &str, figure: Option<i32>| figure.map(|n| format!("{what} {n} semitones"));
    say(semitones("the hand covers", stops.frame_semitones));
    say(semitones("stretched", stops.stretch_semitones));
    say(semitones("high up the string", stops.high_position_semitones));
    say(stops.string_mm.zip(stops.frame_mm).map(|(string, frame)| {
        let most = stops.stretch_mm.map_or(String::new(), |most| format!(", {most} mm at most"));
        format!("string of {string} mm; fingers reach {frame} mm with ease{most}")
    }));
    say(stops.thumb_from_offset.zip(stops.thumb_mm).map(|(from, reach)| {
        format!("from {from} semitones up the string the thumb helps: {reach} mm")
    }));
    say(stops.fret_span_comfortable.map(|span| match stops.fret_span_stretch {
        Some(most) => format!("{span} frets with ease, {most} stretched"),
        None => format!("{span} frets with ease"),
    }));
    say(stops.frets.map(|frets| format!("{frets} frets")));
    say(stops.left_fingers.map(|fingers| format!("{fingers} fingers stop")));
    if stops.barre {
        say(Some("one finger may lie over several strings".to_owned()));
    }
    say(stops.max_notes_per_hand.map(|notes| format!("{notes} notes in one hand")));
    say(semitones("one hand spans with ease", stops.comfortable_span_semitones));
    say(semitones("most hands span", stops.possible_span_semitones));
    say(semitones("some hands span", stops.risky_span_semitones));
    say(semitones("school players span", stops.school_span_semitones));
    say(Some(stops.note.clone()).filter(|note| !note.is_empty()));
    all
}

/// Breath, bow and speed.
fn pace(page: &mut Page, one: &Instrument) {
    page.levels("one breath", one.breath_seconds, "seconds");
    if let Some(below) = one.low_air_below {
        page.line("", format!("below {below} two thirds of that"));
    }
    page.levels("without a rest", one.rest_after_seconds, "seconds");
    page.levels("high up", one.high_rest_after_seconds, "seconds without a rest");
    if let Some(bow) = one.bow_seconds {
        page.line("one bow", format!("{} seconds p, {} mf, {} f", bow.p, bow.mf, bow.f));
    }
    let means =
        if one.repeat_means.is_empty() { String::new() } else { format!("({})", one.repeat_means) };
    page.levels("notes a second", one.repeat_per_second, &means);
    if let Some(notes) = one.multiple_tonguing_per_second {
        let who = if one.multiple_tonguing_common {
            "expected of its players from advanced level up"
        } else {
            "a thing of specialists"
        };
        page.line("", format!("{notes} with double or triple tonguing, {who}"));
    }
    page.levels("slurred", one.slurred_per_second, "a second");
    page.levels("pizzicato", one.pizz_per_second, "a second");
    page.levels("octaves", one.octave_repeat_per_second, "a second in one hand");
    page.levels("syllables", one.syllables_per_second, "a second");
    page.levels("leaps at speed", one.leap_semitones_at_speed, "semitones");
}

/// Which notes there are.
fn notes(page: &mut Page, one: &Instrument) {
    let listed = |all: &[Pitch]| all.iter().map(Pitch::to_string).collect::<Vec<_>>().join(" ");
    if !one.fixed_pitches.is_empty() {
        page.line("only these notes", listed(&one.fixed_pitches));
    }
    let classes: Vec<String> = one.natural_pitch_classes.iter().map(ToString::to_string).collect();
    let natural = [listed(&one.natural_pitches), classes.join(" ")].concat();
    if !natural.is_empty() {
        page.line("notes it has", natural);
    }
    if let Some(policy) = one.natural_policy {
        page.line(
            "",
            match policy {
                NaturalPolicy::OthersDoNotExist => "others are not there",
                NaturalPolicy::OthersNeedBending => "others need bending",
                NaturalPolicy::OthersNeedHalfHole => "others need half-holes",
                NaturalPolicy::OthersNeedHandStopping => "others need the hand in the bell",
                NaturalPolicy::OthersNeedKeysOrHalfHole => "others need keys or half-holes",
                NaturalPolicy::OthersNeedMoreKeys => "others need more keys",
                NaturalPolicy::OthersOnSomeInstruments => "others are on some instruments",
            },
        );
    }
    if one.continuous_sound {
        page.line("", "it sounds on and on: no rests, no dynamics");
    }
    if one.equal_notes_need_grace {
        page.line("", "two equal notes in a row need a grace note between");
    }
    if !one.blow.is_empty() {
        page.line("blown or pushed", listed(&one.blow));
        page.line("drawn or pulled", listed(&one.draw));
    }
    if !one.bad_trills.is_empty() {
        let pairs = one.bad_trills.iter().map(|bad| format!("{}–{}", bad.pair[0], bad.pair[1]));
        page.line("no trill", pairs.collect::<Vec<_>>().join(", "));
    }
}

/// Slides, drums, pedals, levers, left hands.
fn machines(page: &mut Page, one: &Instrument) {
    if !one.slide_positions.is_empty() {
        let place = |note: &recte_theory::instruments::SlideNote| {
            let positions: Vec<String> = note.positions.iter().map(u8::to_string).collect();
            format!("{} {}", note.note, positions.join("/"))
        };
        let all: Vec<String> = one.slide_positions.iter().map(place).collect();
        page.line("on the slide", all.join(", "));
    }
    if !one.drums.is_empty() {
        let drums = one.drums.iter().map(|d| format!("{}″ {}–{}", d.inches, d.min, d.max));
        page.line("drums", drums.collect::<Vec<_>>().join(", "));
    }
    if let Some(usual) = one.drums_usual {
        let school = one.drums_school.map_or(String::new(), |n| format!(", {n} in a school"));
        page.line("", format!("{usual} as a rule{school}"));
    }
    if let Some(retune) = one.retune_seconds {
        page.line(
            "to retune",
            format!(
                "{} seconds to a near note by pedal, {} checked, {} by hand",
                retune.pedal_near, retune.pedal_checked, retune.hand_screw
            ),
        );
    }
    if let Some(pedals) = &one.pedals {
        let names = |feet: &[recte_theory::PitchName]| {
            feet.iter().map(ToString::to_string).collect::<Vec<_>>().join(" ")
        };
        page.line("pedals", format!(
            "{} under the left foot, {} under the right; {} moves a second with one foot, {} with both",
            names(&pedals.left), names(&pedals.right), pedals.moves_per_second, pedals.moves_per_second_both_feet
        ));
    }
    if let Some(levers) = &one.levers {
        page.line(
            "levers",
            format!(
                "tuned in {} major with all down; {} moves a second ({})",
                levers.tuned_in, levers.moves_per_second, levers.moving_hand
            ),
        );
    }
    if let Some(pedals) = &one.pedalboard {
        page.line(
            "pedals",
            format!(
                "{}–{} in {} clef, often to {}; {} notes a second; {}",
                pedals.written_min,
                pedals.written_max,
                pedals.clef,
                pedals.usual_max,
                pedals.notes_per_second,
                pedals.note
            ),
        );
    }
    if let Some(left) = &one.left_hand {
        page.line("left hand", format!("in {} clef: {}", left.clef, left.note));
    }
}

/// The usual caution.
fn care(family: Family) -> &'static str {
    match family {
        Family::Voice => {
            "Singing high or loud for long, sudden extremes, and text held on the change of register can strain a voice,\n\
             above all a young or changing one. These are planning figures, not medical limits, and bodies differ: the\n\
             singer, the teacher or the conductor decides, and pain or hoarseness is a matter for a doctor.\n"
        }
        Family::Brass => {
            "Long loud or high playing tires the lip and the muscles of the face and can injure them. These are planning\n\
             figures, not medical limits, and bodies differ: the player or the teacher decides, and pain or numbness is a\n\
             matter for a doctor.\n"
        }
        _ => "These are planning figures, and players differ: the player or the teacher decides.\n",
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use recte_theory::instruments::{by_id, instruments};

    #[test]
    fn transpositions_in_words() {
        for (id, words) in [
            ("clarinet-in-b-flat", "a major second lower than written"),
            ("clarinet-in-e-flat", "a minor third higher than written"),
            ("bass-clarinet", "an octave and a major second lower than written"),
            ("piccolo", "an octave higher than written"),
            ("glockenspiel", "two octaves higher than written"),
            ("violin", "as written"),
        ] {
            assert_eq!(heard(by_id(id).unwrap().transposition.unwrap()), words);
        }
    }

    #[test]
    fn every_row_can_be_explained() {
        for one in instruments() {
            let text = explained(Roster::standard(), one, &[]);
            assert!(text.contains("sources") && text.contains("decides"), "{text}");
            assert!(text.lines().all(|line| line == line.trim_end()), "{text}");
        }
    }
}
