//! # A key that only the player sees
//!
//! A score typed as it sounds hides what the player of a transposing instrument will read: music in E major reaches
//! the alto saxophone in C sharp, with seven sharps, where D flat would have five.
//!
//! Looked at are the parts of transposing instruments that are typed as they sound (without `transpose=`). A key whose
//! transposition needs seven signs or more is told of, with the key of the same sound that needs fewer. Parts that are
//! typed as they are read are `key-spelling`'s concern.
//!
//! What to do: write the part in the other key when it is transposed (`transpose=`, and `K:` for the voice), or choose an
//! instrument built in another key: the clarinet in A where the one in B flat would read seven sharps.
//!
//! Source: the transpositions are those of the instrument table (`recte instruments`); that players are spared a
//! signature of seven signs is common practice, no source.
//!
//! ```abc flagged
//! X:1
//! L:1/4
//! K:E
//! V:1 name="Alto saxophone"
//! EGBe|
//! ```
//! ```abc quiet
//! X:1
//! L:1/4
//! K:C
//! V:1 name="Alto saxophone"
//! EGBe|
//! V:2 name="Violin"
//! EGBe|
//! ```

use crate::context::Context;
use crate::finding::{Finding, Severity};
use crate::idiom::{Player, Remark, tell};
use crate::rule::{Family, Rule};
use crate::words::counted;
use recte_score::Voice;
use recte_theory::PitchName;
use recte_theory::instruments::Transposition;
use recte_theory::playability::Verdict;

pub(crate) const RULE: Rule = Rule {
    id: "",
    doc: "",
    family: Family::Idiom,
    severity: Severity::Hint,
    summary: "a part that its player will read in seven sharps or flats",
    check,
};

/// Signs from which on a signature is spared the player.
const MANY: i32 = 7;

fn check(context: &Context<'_>, findings: &mut Vec<Finding>) {
    for player in &context.idiom().players {
        let Some(transposition) = player.instrument.transposition else { continue };
        // By whole octaves the key stays, and pipes have one key, in which they are typed.
        if transposition.chromatic % 12 == 0 || !player.instrument.fixed_pitches.is_empty() {
            continue;
        }
        let mut remarks = Vec::new();
        for staff in &player.staves {
            let voice = &context.tune.voices[staff.voice];
            if voice.transposes || voice.clef.octaves != 0 {
                continue;
            }
            let mut last = None;
            for (index, event) in voice.events.iter().enumerate() {
                let own = staff.events.contains(&(index as u32)) && event.sounds();
                if own && last != Some(event.key) {
                    last = Some(event.key);
                    remarks.extend(remark(
                        context,
                        player,
                        staff.voice,
                        voice,
                        index,
                        transposition,
                    ));
                }
            }
        }
        tell(context, "written-key", remarks, findings);
    }
}

/// A remark where a key begins, if the player would read too many signs.
fn remark<'a>(
    context: &Context<'a>,
    player: &Player<'_>,
    place: usize,
    voice: &'a Voice,
    event: usize,
    transposition: Transposition,
) -> Option<Remark<'a>> {
    let event = &voice.events[event];
    let key = context.tune.key(event);
    // So many fifths further than the key that sounds lies the one that is read.
    let by = -(7 * transposition.chromatic - 12 * transposition.diatonic);
    let sounding = key.signature.fifths()?;
    let read = sounding + by;
    if read.abs() < MANY || sounding.abs() >= MANY {
        return None;
    }
    let fewer = read - 12 * read.signum();
    let tonic = key.tonic?;
    let named = |fifths: i32| PitchName::from_fifths(tonic.fifths() + fifths - sounding).words();
    let (here, there) = (named(read), named(fewer));
    let signs = |fifths: i32| {
        let kind = if fifths > 0 { "sharps" } else { "flats" };
        format!("{} {kind}", counted(fifths.unsigned_abs() as usize).to_lowercase())
    };
    let name = player.name();
    let message = format!(
        "As it sounds, the {name} would read this in {here} with {}; in {there} it has {}.",
        signs(read),
        signs(fewer),
    );
    let note = voice.notes_of(event).first()?;
    Some(Remark { again: "So".to_owned(), ..Remark::new(place, note, Verdict::Hard, message) })
}

#[cfg(test)]
mod tests {
    use crate::rule_tests::messages_of;

    #[test]
    fn the_sentence() {
        let text = "X:1\nL:1/4\nK:E\nV:1 name=\"Alto saxophone\"\nEGBe|\n";
        assert_eq!(
            messages_of("written-key", text),
            [
                "As it sounds, the alto saxophone in E-flat would read this in C sharp with seven sharps; \
              in D flat it has five flats."
            ]
        );
    }

    #[test]
    fn what_is_typed_as_it_is_read_is_left_to_another_rule() {
        let text = "X:1\nL:1/4\nK:E\nV:1 name=\"Alto saxophone\" transpose=-9\nEGBe|\n";
        assert!(messages_of("written-key", text).is_empty());
    }
}
