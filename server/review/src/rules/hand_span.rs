//! # More than two hands hold
//!
//! A hand on the keys has five fingers and spans an octave with ease, a ninth in most cases, a tenth in a few. What the two
//! hands cannot share is not written for one player, unless it is rolled or caught by the pedal.
//!
//! Looked at is what one player strikes at once, on all staves. First the hands share it anew: notes on the upper staff that the
//! left hand can take are nobody's trouble. Where no sharing helps the chord is told of; a tenth that only large hands reach is
//! a hint. Notes that only sound on are left to the damper pedal, where there is one. Arpeggio signs and grace notes before the chord are
//! left alone. The same holds for harps (four fingers a hand, a twelfth at most), mallets (two a hand), and organs, whose
//! lowest notes the feet may take; what stands on the staff of the pedals is theirs alone, one note a foot, or two neighbours by heel and toe.
//! School players have an octave. Where the settings name the rule, close thirds below C3 are told of too: they sound thick.
//!
//! Wide chords and octaves for long bring pain to many hands: let the player, the teacher or a clinician say what is good for them.
//!
//! What to do: roll it, leave out a doubled note, or move one by an octave.
//!
//! Source: Boyle and others' study of the hand spans of 473 pianists; studies of narrower keyboards; harps: published guides for
//! composers ("four fingers a hand"), spans from memory; mallets: Solomon's guide to writing for percussion.
//!
//! ```abc flagged
//! X:1
//! L:1/4
//! K:C
//! V:1 name="Piano"
//! [Cceg]2[EGc]2|
//! V:2 name="Piano" clef=bass
//! [C,,C,]2[C,,G,,C,]2|
//! ```
//! ```abc quiet
//! X:1
//! L:1/4
//! K:C
//! V:1 name="Piano"
//! [Cegc']2[EGc]2|
//! V:2 name="Piano" clef=bass
//! z2[C,,G,,C,]2|
//! ```

use crate::context::Context;
use crate::finding::{Finding, Fix, Severity};
use crate::idiom::{Held, Moment, Player, Reading, Remark, tell};
use crate::rule::{Family, Rule};
use crate::words::{and_texts, counted};
use recte_notation::write::TextEdit;
use recte_score::Note;
use recte_theory::Pitch;
use recte_theory::instruments::{Family as Section, Instrument};
use recte_theory::playability::Verdict;
use recte_theory::playability::hands::{Grip, HandObstacle, thick_third, two_feet, two_hands};
use recte_theory::playability::mallets::{MalletObstacle, mallets};
use std::collections::HashMap;

pub(crate) const RULE: Rule = Rule {
    id: "",
    doc: "",
    family: Family::Idiom,
    severity: Severity::Warning,
    summary: "a chord that two hands cannot share",
    check,
};

fn check(context: &Context<'_>, findings: &mut Vec<Finding>) {
    for player in &context.idiom().players {
        let hands = player.instrument.stops.as_ref();
        if hands.is_some_and(|stops| stops.max_notes_per_hand.is_some()) {
            let mut remarks = remarks(context, player);
            let keys = player.instrument.family == Section::Keyboard;
            if keys && context.asks_for("hand-span") {
                remarks.extend(player.moments(context).iter().filter_map(|m| thick(context, m)));
            }
            tell(context, "hand-span", remarks, findings);
        }
    }
}

fn remarks<'a>(context: &Context<'a>, player: &Player<'a>) -> Vec<Remark<'a>> {
    let mut known: HashMap<Vec<(i32, bool)>, Verdict> = HashMap::new();
    let mut remarks = Vec::new();
    for moment in player.moments(context) {
        let Some(chord) = Chord::of(context, player, moment) else { continue };
        let key =
            |(note, held): (&&Note, &Held)| (note.pitch.midi(), player.has_feet_on(held.voice));
        let sounds = chord.notes.iter().zip(&chord.struck).map(key).collect();
        let verdict = *known.entry(sounds).or_insert_with(|| chord.judged().verdict);
        if verdict >= Verdict::Hard {
            remarks.extend(chord.remark());
        }
    }
    remarks
}

/// A close third so low that it sounds thick.
fn thick<'a>(context: &Context<'a>, moment: &Moment) -> Option<Remark<'a>> {
    let struck = moment.notes.iter().filter(|held| held.struck);
    let note = |held: &Held| &context.tune.voices[held.voice].notes[held.note as usize];
    let pitches: Vec<Pitch> = struck.clone().map(|held| note(held).pitch).collect();
    let (low, high) = thick_third(&pitches)?;
    let held = struck.into_iter().find(|held| note(held).pitch == low)?;
    let message =
        format!("{} and {} are a third so low that it sounds thick.", low.symbol(), high.symbol());
    let again = "Such a third".to_owned();
    Some(Remark {
        again,
        kind: 1,
        ..Remark::new(held.voice, note(held), Verdict::Awkward, message)
    })
}

/// What is struck at one moment.
struct Chord<'c, 'a> {
    context: &'c Context<'a>,
    player: &'c Player<'a>,
    struck: Vec<Held>,
    notes: Vec<&'a Note>,
}

impl<'c, 'a> Chord<'c, 'a> {
    fn of(
        context: &'c Context<'a>,
        player: &'c Player<'a>,
        moment: &Moment,
    ) -> Option<Chord<'c, 'a>> {
        let asked = |held: &&Held| held.struck && !player.is_convention(context, held.voice);
        let struck: Vec<Held> = moment.notes.iter().filter(asked).copied().collect();
        let note = |held: &Held| &context.tune.voices[held.voice].notes[held.note as usize];
        let notes: Vec<&'a Note> = struck.iter().map(note).collect();
        // Within an octave and five notes there is nothing to ask.
        let reach = notes.last()?.pitch.midi() - notes.first()?.pitch.midi();
        let feet = struck.iter().filter(|held| player.has_feet_on(held.voice)).count();
        if struck.len() < 2 || feet < 3 && reach <= 12 && struck.len() <= 4 {
            return None;
        }
        let rolled = struck.iter().any(|held| {
            player.stroke(context, held).is_some_and(|stroke| stroke.broken || stroke.graced)
        });
        (!rolled).then_some(Chord { context, player, struck, notes })
    }

    fn judged(&self) -> Grip {
        self.player.kindest(self.context, |reading| self.grip(reading), |grip| grip.verdict)
    }

    fn grip(&self, reading: Reading) -> Grip {
        let sounding: Vec<Pitch> = self.notes.iter().map(|note| reading.sounding(note)).collect();
        let (instrument, level) = (self.player.instrument, self.player.level);
        if instrument.family == Section::Percussion {
            return under_mallets(instrument, &sounding);
        }
        let hands = |notes: &[Pitch]| two_hands(instrument, notes, level);
        let nothing = Grip { verdict: Verdict::Easy, left: 0, obstacle: None };
        if self.struck.iter().any(|held| self.player.has_feet_on(held.voice)) {
            // The staff for the feet is theirs, and the others are the hands'.
            let below = self.struck.iter().zip(&sounding);
            let of = |feet: bool| -> Vec<Pitch> {
                let own = below.clone().filter(|(h, _)| self.player.has_feet_on(h.voice) == feet);
                own.map(|(_, note)| *note).collect()
            };
            let grip = hands(&of(false)).unwrap_or(nothing);
            let verdict = two_feet(instrument, &of(true)).unwrap_or(Verdict::Easy);
            return match verdict > grip.verdict {
                true => Grip { verdict, obstacle: Some(HandObstacle::Feet), ..grip },
                false => grip,
            };
        }
        let all = hands(&sounding).unwrap_or(nothing);
        // The feet of an organist take what lies lowest.
        let feet = (1..=2).filter_map(|low| {
            let (below, above) = sounding.split_at_checked(low)?;
            let on_pedals = |note: &Pitch| {
                let pedals = instrument.pedalboard.as_ref();
                pedals.is_some_and(|pedals| note.midi() <= pedals.written_max.midi())
            };
            let feet = two_feet(instrument, below)?;
            (feet < Verdict::Hard && below.iter().all(on_pedals)).then(|| hands(above))?
        });
        feet.fold(all, |best, other| if other.verdict < best.verdict { other } else { best })
    }

    fn remark(&self) -> Option<Remark<'a>> {
        let grip = self.judged();
        let name = self.player.name();
        let called = |notes: &[&Note]| {
            let names = notes.iter().map(|note| note.written.symbol()).collect::<Vec<_>>();
            and_texts(&names)
        };
        let percussion = self.player.instrument.family == Section::Percussion;
        let message = match grip.obstacle? {
            HandObstacle::Feet => {
                format!(
                    "Two feet do not strike {} on the pedals together.",
                    called(&self.for_feet())
                )
            }
            HandObstacle::TooManyNotes { most, .. } if percussion => format!(
                "{} are more notes than the {name} has mallets for: {}.",
                called(&self.notes),
                counted(most).to_lowercase()
            ),
            HandObstacle::Span { .. } if percussion => format!(
                "Two mallets in each hand do not reach {} on the {name} together.",
                called(&self.notes),
            ),
            HandObstacle::TooManyNotes { most, .. } => format!(
                "{} are more notes than two hands on the {name} take, at {most} a hand.",
                called(&self.notes),
            ),
            HandObstacle::Span { .. } if grip.verdict == Verdict::Impossible => format!(
                "Two hands on the {name} do not reach {} together; it would have to be rolled.",
                called(&self.notes),
            ),
            HandObstacle::Span { .. } => format!(
                "{} on the {name} need a hand that spans a tenth; smaller hands will roll it.",
                called(&self.notes),
            ),
        };
        Some(Remark {
            fixes: self.left_out().into_iter().collect(),
            again: "Such a chord".to_owned(),
            ..Remark::new(self.struck[0].voice, self.notes[0], grip.verdict, message)
        })
    }

    /// What the staff for the feet has.
    fn for_feet(&self) -> Vec<&'a Note> {
        let own = self.struck.iter().zip(&self.notes);
        let own = own.filter(|(held, _)| self.player.has_feet_on(held.voice));
        own.map(|(_, note)| *note).collect()
    }

    /// The chord without an inner note that sounds in another octave too, where the rest lies well.
    fn left_out(&self) -> Option<Fix> {
        let count = self.notes.len();
        let doubled = |at: &usize| {
            let class = |note: &Note| note.pitch.midi().rem_euclid(12);
            let others = (0..count).filter(|other| other != at);
            others.into_iter().any(|other| class(self.notes[other]) == class(self.notes[*at]))
        };
        let alone = |at: &usize| {
            let note = self.notes[*at];
            let voice = &self.context.tune.voices[self.struck[*at].voice];
            !note.tied_in && !note.tied_out && voice.events[note.event as usize].notes.len() > 1
        };
        let better = |at: &usize| {
            let others = || (0..count).filter(|other| other != at);
            let without = Chord {
                context: self.context,
                player: self.player,
                struck: others().map(|other| self.struck[other]).collect(),
                notes: others().map(|other| self.notes[other]).collect(),
            };
            without.judged().verdict < Verdict::Hard
        };
        let mut inner = 1..count.checked_sub(1)?;
        let at = inner.find(|at| doubled(at) && alone(at) && better(at))?;
        let note = self.notes[at];
        let title =
            format!("Leave out {}, which is doubled (changes the music)", note.written.symbol());
        self.context.suggestion(title, vec![TextEdit { span: note.span, text: String::new() }])
    }
}

/// How bars are struck with mallets, told as a grip: two mallets a hand.
fn under_mallets(instrument: &Instrument, sounding: &[Pitch]) -> Grip {
    let nothing = Grip { verdict: Verdict::Easy, left: 0, obstacle: None };
    let Some(struck) = mallets(instrument, sounding, None) else { return nothing };
    let obstacle = match struck.obstacle {
        Some(MalletObstacle::TooManyNotes { mallets: most }) => {
            Some(HandObstacle::TooManyNotes { notes: sounding.len(), most })
        }
        Some(MalletObstacle::Span { semitones }) => {
            Some(HandObstacle::Span { semitones, reach: semitones })
        }
        // Players with four mallets are found.
        Some(MalletObstacle::ManyMallets) | None => None,
    };
    let verdict = if obstacle.is_some() { struck.verdict } else { Verdict::Easy };
    Grip { verdict, left: struck.left, obstacle }
}

#[cfg(test)]
mod tests {
    use crate::rule_tests::{findings_of, messages_of};

    fn piano(upper: &str, lower: &str) -> Vec<String> {
        let text = format!(
            "X:1\nL:1/4\nK:C\nV:1 name=\"Piano\"\n{upper}\nV:2 name=\"Piano\" clef=bass\n{lower}\n"
        );
        messages_of("hand-span", &text)
    }

    #[test]
    fn the_sentences() {
        let wide = "Two hands on the piano do not reach C2, C3, G4, C5, E5 and G5 together; \
                    it would have to be rolled.";
        assert_eq!(piano("[Gceg]|", "[C,,C,]|").len(), 0);
        assert_eq!(piano("[Gceg']|", "[C,,C,]|").len(), 1);
        assert_ne!(piano("[Gceg']|", "[C,,C,]|"), [wide]);
        let tenth = "E♭2, C3, G4 and B5 on the piano need a hand that spans a tenth; smaller hands will roll it.";
        assert_eq!(piano("[Gb]|", "[_E,,C,]|"), [tenth]);
    }

    #[test]
    fn what_the_other_hand_takes_and_what_is_rolled() {
        assert!(piano("[Cegc']|", "z|").is_empty());
        assert!(piano("!arpeggio![Cceg']|", "[C,,C,]|").is_empty());
    }

    #[test]
    fn the_feet_of_an_organist() {
        let text = "X:1\nL:1/4\nK:C\nV:1 name=\"Organ\"\n[Gceg]|\nV:2 name=\"Organ\" clef=bass\n[C,,C,E,]|\n";
        assert!(messages_of("hand-span", text).is_empty());
    }

    #[test]
    fn what_stands_on_the_pedals_is_for_the_feet() {
        let said = |pedals: &str| {
            let text = format!(
                "X:1\nL:1/4\nK:C\nV:1 name=\"Organ\"\n[Gceg]|\nV:2 name=\"Pedal\" clef=bass\n{pedals}|\n"
            );
            messages_of("hand-span", &text)
        };
        assert!(said("[C,,G,,]").is_empty());
        assert_eq!(
            said("[C,,F,,C,]"),
            ["Two feet do not strike C2, F2 and C3 on the pedals together."]
        );
    }

    #[test]
    fn thirds_in_the_depth() {
        let thick = "C2 and E2 are a third so low that it sounds thick.";
        assert_eq!(piano("z|", "[C,,E,,]|"), [thick]);
        assert!(piano("z|", "[C,,G,,]|").is_empty());
    }

    #[test]
    fn five_mallets() {
        let text = "X:1\nL:1/4\nK:C\nV:1 name=\"Marimba\"\n[C,G,CEG]|\n";
        let found = findings_of("hand-span", text);
        assert_eq!(found.len(), 1);
        assert_eq!(found[0].fixes[0].title, "Leave out G3, which is doubled (changes the music)");
    }
}
