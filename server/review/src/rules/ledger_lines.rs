//! # A passage among ledger lines
//!
//! One note far above or below the staff is read with ease; eight of them in a row are counted line by line. Where the
//! player reads another clef that holds the whole passage, a copyist changes the clef; a pianist reads an octave sign
//! (`clef=treble+8`: the 8 over the clef).
//!
//! Told of where eight notes in a row, or more, have three ledger lines or more on the same side (five, where only an octave sign
//! would help), and another clef that players of the instrument read leaves them with one, or with three fewer. A
//! hint: some players would rather have the lines.
//!
//! What to do: change the clef for the passage and back after it. The fix changes no sound.
//!
//! Source: the clefs of each instrument are in the instrument table (`recte instruments`); when to change is
//! common practice, no source.
//!
//! ```abc flagged
//! X:1
//! M:4/4
//! L:1/4
//! K:C
//! V:1 name="Cello" clef=bass
//! C,E,G,C|fgaf|gfed|C,4|
//! ```
//! ```abc fixed
//! X:1
//! M:4/4
//! L:1/4
//! K:C
//! V:1 name="Cello" clef=bass
//! C,E,G,C|[K:clef=treble]fgaf|gfed|[K:clef=bass]C,4|
//! ```
//! A few high notes, or a player who reads no other clef:
//! ```abc quiet
//! X:1
//! M:4/4
//! L:1/4
//! K:C
//! V:1 name="Cello" clef=bass
//! C,E,G,C|edcB|C,4|
//! V:2 name="Flute"
//! c''b'a'g'|c''b'a'g'|c''4|
//! ```

use crate::context::Context;
use crate::finding::{Finding, Fix, Severity};
use crate::idiom::{Player, Remark, Stroke, tell};
use crate::rule::{Family, Rule};
use recte_notation::write::{TextEdit, pitch_text};
use recte_score::{Clef, Note, Span, Tune, Voice};
use recte_theory::instruments::Family as Section;
use recte_theory::playability::Verdict;

pub(crate) const RULE: Rule = Rule {
    id: "",
    doc: "",
    family: Family::Idiom,
    severity: Severity::Hint,
    summary: "many notes in a row far outside the staff, where another clef would hold them",
    check,
};

/// So many notes in a row are a passage.
const PASSAGE: usize = 8;
/// Ledger lines from which on a note is counted rather than read.
const MANY: i32 = 3;
/// The same where only an octave sign would help.
const MANY_FOR_OCTAVE: i32 = 5;
/// Ledger lines that the better clef may leave.
const FEW: i32 = 1;

fn check(context: &Context<'_>, findings: &mut Vec<Finding>) {
    for player in &context.idiom().players {
        let mut remarks = Vec::new();
        let lines =
            player.strokes(context).chunk_by(|a, b| (a.voice, a.layer) == (b.voice, b.layer));
        for line in lines {
            let voice = &context.tune.voices[line[0].voice];
            let mut rest = line;
            while !rest.is_empty() {
                let clef = voice.clef_at(rest[0].event);
                let length = rest.iter().take_while(|s| is_far(context.tune, s, clef)).count();
                let (run, after) = rest.split_at(length.max(1));
                remarks.extend(passage(context, player, voice, run, clef));
                rest = after;
            }
        }
        tell(context, "ledger-lines", remarks, findings);
    }
}

/// Ledger lines of a note under a clef: above the staff positive, below it negative; nothing for a clef that is
/// not where it usually stands.
fn ledgers(written: i32, clef: &str) -> Option<i32> {
    let (pitch, line) = Clef::usual(clef)?;
    let lowest = pitch.steps() - 2 * (i32::from(line) - 1);
    let highest = lowest + 8;
    Some(if written > highest { (written - highest) / 2 } else { (written - lowest).min(0) / 2 })
}

/// Whether all notes of a stroke stand far outside on one side, under the clef the passage began with.
fn is_far(tune: &Tune, stroke: &Stroke, clef: &Clef) -> bool {
    let voice = &tune.voices[stroke.voice];
    if voice.clef_at(stroke.event) != clef || !matches!(clef.line, 0) {
        return false;
    }
    let far = |sign: i32| {
        let lines = |note: &Note| ledgers(note.written.steps(), &clef.name);
        stroke.typed(tune).iter().all(|note| lines(note).is_some_and(|n| n * sign >= MANY))
    };
    far(1) || far(-1)
}

fn passage<'a>(
    context: &Context<'a>,
    player: &Player<'_>,
    voice: &'a Voice,
    run: &[Stroke],
    clef: &Clef,
) -> Option<Remark<'a>> {
    let (first, last) = (run.first()?, run.last()?);
    if run.len() < PASSAGE {
        return None;
    }
    let all = || run.iter().flat_map(|stroke| stroke.typed(context.tune));
    let most = |name: &str, octaves: i8| {
        let steps = 7 * i32::from(octaves);
        let lines = |note: &Note| ledgers(note.written.steps() - steps, name).map(i32::abs);
        all().map(lines).try_fold(0, |most, lines| Some(most.max(lines?)))
    };
    let own = (named(&clef.name), clef.octaves);
    let readable = player.instrument.clefs.iter().map(|other| sign(other));
    let readable = readable.filter(|other| *other != own);
    // Of those that hold it equally well, the one that players read first.
    let better = readable
        .filter_map(|(name, octaves)| Some((most(name, octaves - clef.octaves)?, name, octaves)))
        .min_by_key(|(lines, ..)| (*lines).max(FEW));
    let keys = player.instrument.family == Section::Keyboard;
    let note = first.typed(context.tune).first()?;
    let bars = crate::words::bars(context.tune, (first.bar, last.bar));
    let span = (first.event, last.event);
    let here = most(named(&clef.name), 0)?;
    let helps = |lines: i32| lines <= FEW || lines <= FEW + 1 && here - lines >= MANY;
    let (message, fix) = match better.filter(|(lines, ..)| helps(*lines)) {
        Some((_, other, octaves)) => {
            let message = format!(
                "The {} reads this far outside the {} staff ({bars}); {} clef holds it.",
                player.name(),
                named(&clef.name),
                typed(other, octaves),
            );
            (message, change(context, voice, span, clef, (other, octaves)))
        }
        None if keys && clef.name != "bass" && clef.octaves == 0 => {
            let high = |note: &Note| ledgers(note.written.steps(), &clef.name);
            let high = all().all(|note| high(note).is_some_and(|lines| lines >= MANY_FOR_OCTAVE));
            if !high || most("treble", 1)? > MANY {
                return None;
            }
            let message = format!(
                "All of {bars} stands high above the staff; an octave sign (treble+8) brings it down."
            );
            (message, change(context, voice, span, clef, ("treble", 1)))
        }
        None => return None,
    };
    Some(Remark {
        to: Some(last.event),
        again: "So".to_owned(),
        fixes: fix.into_iter().collect(),
        ..Remark::new(first.voice, note, Verdict::Hard, message)
    })
}

fn named(clef: &str) -> &str {
    if clef.is_empty() { "treble" } else { clef }
}

/// A clef of the table, "treble-8", as its sign and its octaves.
fn sign(clef: &str) -> (&str, i8) {
    match (clef.strip_suffix("-8"), clef.strip_suffix("+8")) {
        (Some(name), _) => (name, -1),
        (_, Some(name)) => (name, 1),
        _ => (clef, 0),
    }
}

/// A clef as it is typed.
fn typed(name: &str, octaves: i8) -> String {
    match octaves {
        0 => name.to_owned(),
        octaves => format!("{name}{}8", if octaves > 0 { '+' } else { '-' }),
    }
}

/// The passage under another clef, and the old one after it.
fn change(
    context: &Context<'_>,
    voice: &Voice,
    (first, last): (u32, u32),
    old: &Clef,
    (new, octaves): (&str, i8),
) -> Option<Fix> {
    let events = voice.events.get(first as usize..=last as usize)?;
    // A clef holds for all layers of a bar, and under it each is typed alone.
    let layered = events.iter().any(|event| voice.bars[event.bar as usize].layers > 1);
    let moved = octaves - old.octaves;
    if layered || moved != 0 && events.iter().any(|event| event.grace) {
        return None;
    }
    let at = |place: u32, clef: String| TextEdit {
        span: Span { start: place, end: place },
        text: format!("[K:clef={clef}]"),
    };
    let mut edits = vec![at(events.first()?.full.start, typed(new, octaves))];
    if moved != 0 {
        for note in events.iter().flat_map(|event| voice.notes_of(event)) {
            let typed = note.written.shifted_octaves(-note.octave_shift - moved);
            let text = pitch_text(typed, note.accidental.is_some());
            edits.push(TextEdit { span: note.span, text });
        }
    }
    if let Some(next) = voice.events.get(last as usize + 1) {
        edits.push(at(next.full.start, typed(named(&old.name), old.octaves)));
    }
    let title = match (octaves, new) {
        (1, "treble") => "Write it under an octave sign".to_owned(),
        _ => format!("Write it in {} clef", typed(new, octaves)),
    };
    Some(context.fix(title, edits))
}

#[cfg(test)]
mod tests {
    use crate::rule_tests::messages_of;

    fn said(voice: &str, music: &str) -> Vec<String> {
        messages_of("ledger-lines", &format!("X:1\nM:4/4\nL:1/4\nK:C\nV:1 {voice}\n{music}\n"))
    }

    #[test]
    fn the_sentence() {
        assert_eq!(
            said("name=Cello clef=bass", "gagf|gagf|G,4|"),
            ["The cello reads this far outside the bass staff (bars 1–2); treble clef holds it."]
        );
        assert_eq!(
            said("name=Viola clef=alto", "abag|abab|"),
            ["The viola reads this far outside the alto staff (bars 1–2); treble clef holds it."]
        );
    }

    #[test]
    fn a_tenor_reads_an_octave_clef() {
        let found = said("name=\"Choir tenor\" clef=treble", "D,E,F,E,|D,E,F,D,|E4|");
        assert!(found[0].ends_with("treble-8 clef holds it."), "{found:?}");
    }

    #[test]
    fn seven_notes_are_none_too_many() {
        assert!(said("name=Cello clef=bass", "gagf|gagE|").is_empty());
    }

    #[test]
    fn a_pianist_reads_an_octave_sign() {
        let high = "c''d''e''c''|c''d''e''d''|c4|";
        let found = said("name=Piano", high);
        assert!(found[0].contains("an octave sign"), "{found:?}");
        assert!(said("name=Violin", high).is_empty());
    }
}
