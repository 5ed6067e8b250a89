//! # A note that the instrument leaves out
//!
//! Some instruments have only some notes: the pipes have nine, a natural trumpet those of its series, a whistle those of one scale, a
//! mouth organ what its reeds give. The pipes also never stop: a rest cannot be played, and two equal notes run together unless a
//! grace note parts them.
//!
//! What there is is in the instrument table. What does not exist is told of; what takes an art (a half-covered hole, a bent
//! reed, a hand in the bell) is awkward, and told of where the settings name the rule. Under `K:HP` C and F are read sharp, as
//! pipers do. A chord of a mouth organ or a concertina needs one direction of the breath or the bellows.
//!
//! What to do: another note of the scale, another instrument, or, for pipes, a grace note.
//!
//! Source: reference pages on the tin whistle and the Highland bagpipe's nine notes (Britannica, 1911, among them); the
//! harmonic series; the instrument table (`recte instruments NAME`), from memory where it names nothing else.
//!
//! ```abc flagged
//! X:1
//! L:1/4
//! K:D
//! V:1 name="Great Highland bagpipe"
//! A=c{g}Ae|
//! ```
//! ```abc quiet
//! X:1
//! L:1/4
//! K:D
//! V:1 name="Great Highland bagpipe"
//! Ac{g}ce|
//! ```

use crate::context::Context;
use crate::finding::{Finding, Severity};
use crate::idiom::{Player, Reading, Remark, Staff, tell};
use crate::rule::{Family, Rule};
use recte_score::{Event, Note, Voice};
use recte_theory::Pitch;
use recte_theory::instruments::Level;
use recte_theory::playability::Verdict;
use recte_theory::playability::note_set::{Fault, Sign, is_one_direction, line, read_under_hp};

pub(crate) const RULE: Rule = Rule {
    id: "",
    doc: "",
    family: Family::Idiom,
    severity: Severity::Warning,
    summary: "notes, rests and repetitions that an instrument of few notes does not have",
    check,
};

fn check(context: &Context<'_>, findings: &mut Vec<Finding>) {
    for player in &context.idiom().players {
        let instrument = player.instrument;
        let few = !instrument.fixed_pitches.is_empty()
            || !instrument.natural_pitches.is_empty()
            || !instrument.natural_pitch_classes.is_empty()
            || instrument.continuous_sound;
        let mut remarks = Vec::new();
        if few {
            for staff in &player.staves {
                remarks.extend(of_line(context, player, staff));
            }
        }
        if !instrument.blow.is_empty() {
            remarks.extend(directions(context, player));
        }
        tell(context, "unavailable-note", remarks, findings);
    }
}

/// What one line does, note by note, each with its event.
fn signs<'v>(
    player: &Player<'_>,
    voice: &'v Voice,
    staff: &Staff,
    reading: Reading,
    hp: bool,
) -> Vec<(Sign, &'v Event)> {
    let events = voice.events.get(staff.events.start as usize..staff.events.end as usize);
    let mut signs = Vec::new();
    for event in events.unwrap_or_default().iter().filter(|event| event.layer == 0) {
        let Some(note) = voice.notes_of(event).last() else {
            signs.push((Sign::Rest, event));
            continue;
        };
        if note.tied_in {
            continue;
        }
        let pitch = heard(player, note, reading, hp);
        let sign = if event.grace { Sign::Grace(pitch) } else { Sign::Note(pitch) };
        signs.push((sign, event));
    }
    signs
}

/// What sounds, the sharps that pipers leave out understood.
fn heard(player: &Player<'_>, note: &Note, reading: Reading, hp: bool) -> Pitch {
    let sounding = reading.sounding(note);
    if !hp {
        return sounding;
    }
    let written = reading.written(note);
    let read = read_under_hp(player.instrument, written);
    sounding.transposed(read.steps() - written.steps(), read.midi() - written.midi())
}

fn of_line<'a>(context: &Context<'a>, player: &Player<'_>, staff: &Staff) -> Vec<Remark<'a>> {
    let voice = &context.tune.voices[staff.voice];
    let hp = context.tune.pipes;
    let judge = |reading: Reading| {
        let all = signs(player, voice, staff, reading, hp);
        let plain: Vec<Sign> = all.iter().map(|(sign, _)| *sign).collect();
        let faults = line(player.instrument, &plain);
        // What lies beyond the instrument altogether is told of elsewhere.
        let inside = |(at, fault): &(usize, Fault)| match (&plain[*at], fault) {
            (Sign::Note(pitch) | Sign::Grace(pitch), Fault::Note(_)) => {
                let range = player.instrument.range(Level::Professional);
                range.is_none_or(|range| range.contains_sounding(*pitch))
            }
            _ => true,
        };
        faults.into_iter().filter(inside).map(|(at, fault)| (all[at].1, fault)).collect::<Vec<_>>()
    };
    let worst = |found: &Vec<(&Event, Fault)>| {
        let worst = found.iter().map(|(_, fault)| fault.verdict()).max();
        worst.unwrap_or(Verdict::Easy)
    };
    let found = player.kindest(context, judge, worst);
    found.into_iter().filter_map(|found| remark(context, player, staff.voice, found)).collect()
}

fn remark<'a>(
    context: &Context<'a>,
    player: &Player<'_>,
    place: usize,
    (event, fault): (&'a Event, Fault),
) -> Option<Remark<'a>> {
    let voice = &context.tune.voices[place];
    let name = player.name();
    // A rest has no note to stand at; what is said stands at the note before it.
    let until = voice.events.iter().take_while(|other| !std::ptr::eq(*other, event));
    let before = || until.filter_map(|other| voice.notes_of(other).last()).last();
    let note = voice.notes_of(event).last().or_else(before)?;
    let natural = note.accidental == Some(0) && note.written.name.alter == 0;
    let called = format!("{}{}", note.written.name.words(), if natural { " natural" } else { "" });
    let (kind, message) = match fault {
        Fault::Note(Verdict::Impossible) => (0, format!("The {name} has no {called}.")),
        Fault::Note(_) => {
            (0, format!("{called} takes an art on the {name}: it is not one of its plain notes."))
        }
        Fault::Rest => {
            (1, format!("The {name} sounds on after this note: a rest cannot be played."))
        }
        Fault::Equal => (
            2,
            format!("Two equal notes run together on the {name}; a grace note between parts them."),
        ),
    };
    Some(Remark { kind, ..Remark::new(place, note, fault.verdict(), message) })
}

/// Chords that would need both directions.
fn directions<'a>(context: &Context<'a>, player: &Player<'_>) -> Vec<Remark<'a>> {
    let mut remarks = Vec::new();
    for moment in player.moments(context) {
        let Some(first) = moment.notes.iter().find(|held| held.struck) else { continue };
        let notes = moment.notes.iter();
        let notes: Vec<&'a Note> =
            notes.map(|held| &context.tune.voices[held.voice].notes[held.note as usize]).collect();
        let judge = |reading: Reading| {
            let sounding: Vec<Pitch> = notes.iter().map(|note| reading.sounding(note)).collect();
            let one = is_one_direction(player.instrument, &sounding);
            if one { Verdict::Easy } else { Verdict::Impossible }
        };
        if player.kindest(context, judge, |verdict| *verdict) == Verdict::Impossible {
            let note = &context.tune.voices[first.voice].notes[first.note as usize];
            let message = format!(
                "These notes come with opposite directions of the breath on the {}.",
                player.name()
            );
            remarks.push(Remark {
                kind: 3,
                again: "Such a chord".to_owned(),
                ..Remark::new(first.voice, note, Verdict::Impossible, message)
            });
        }
    }
    remarks
}

#[cfg(test)]
mod tests {
    use crate::rule_tests::messages_of;

    fn pipes(key: &str, music: &str) -> Vec<String> {
        let text = format!("X:1\nL:1/4\nK:{key}\nV:1 name=\"Great Highland bagpipe\"\n{music}\n");
        messages_of("unavailable-note", &text)
    }

    #[test]
    fn the_sentences() {
        assert_eq!(pipes("D", "A=c{g}Ae|"), ["The Great Highland bagpipe has no C natural."]);
        let equal = "Two equal notes run together on the Great Highland bagpipe; a grace note between parts them.";
        assert_eq!(pipes("D", "Aeea|"), [equal]);
        let rest = "The Great Highland bagpipe sounds on after this note: a rest cannot be played.";
        assert_eq!(pipes("D", "Azea|"), [rest]);
    }

    #[test]
    fn pipers_leave_the_sharps_out() {
        assert!(pipes("HP", "Ac{g}fe|").is_empty());
    }

    #[test]
    fn a_half_covered_hole_is_an_art() {
        let text = "X:1\nL:1/4\nK:D\nV:1 name=\"Tin whistle\"\nD^GAd|\n";
        let art = "G sharp takes an art on the tin whistle in D: it is not one of its plain notes.";
        assert_eq!(messages_of("unavailable-note", text), [art]);
    }
}
