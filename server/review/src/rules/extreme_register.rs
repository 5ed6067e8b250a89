//! # A register against its dynamic
//!
//! Each instrument has registers of its own strength. The lowest notes of the flute carry little, whatever is
//! written over them; the lowest of the oboe hardly begin softly; the top of nearly everything is loud, thin or a risk.
//!
//! The registers are those of the instrument table, each with what to watch: not soft, not loud, extreme. A dynamic counts
//! from where it is typed until a hairpin or the next one. A note that will not speak softly is a hint; one that will be
//! covered, and an extreme one at any dynamic, are told of where the settings name the rule (`[rules] extreme-register = "hint"`).
//!
//! High, loud and long at once is a strain for lips, voices and ears, the neighbours' among them: give rests, and let the player,
//! the singer or the teacher decide; pain or ringing ears are a doctor's matter.
//!
//! What to do: another octave, another dynamic, another instrument, or fewer others around it.
//!
//! Source: the instrument table (`recte instruments NAME`), whose registers are from memory where it names nothing else;
//! Rimsky-Korsakov, "Principles of Orchestration", ch. I.
//!
//! ```abc flagged
//! X:1
//! L:1/4
//! K:C
//! V:1 name="Oboe"
//! !pp!_B,4|cdef|
//! ```
//! ```abc quiet
//! X:1
//! L:1/4
//! K:C
//! V:1 name="Oboe"
//! !f!_B,4|!pp!cdef|
//! ```

use crate::context::Context;
use crate::finding::{Finding, Severity};
use crate::idiom::lines::{loudness, sounding};
use crate::idiom::{Player, Remark, Stroke, tell};
use crate::rule::{Family, Rule};
use recte_theory::instruments::{Concern, Family as Section};
use recte_theory::playability::register::{Colour, colour};
use recte_theory::playability::{Loudness, Verdict};

pub(crate) const RULE: Rule = Rule {
    id: "",
    doc: "",
    family: Family::Idiom,
    severity: Severity::Hint,
    summary: "a note whose register does not go with its dynamic",
    check,
};

/// So many loud players cover one in a weak register.
const MANY: usize = 4;

fn check(context: &Context<'_>, findings: &mut Vec<Finding>) {
    let asked = context.asks_for("extreme-register");
    let tutti = if asked { loud_bars(context) } else { Vec::new() };
    for player in &context.idiom().players {
        let mut remarks = Vec::new();
        for stroke in player.strokes(context).iter().filter(|stroke| !stroke.harmonic) {
            // Only softness is told of unasked.
            if !asked && !loudness(stroke).is_soft() {
                continue;
            }
            let loud = tutti.get(stroke.bar as usize).is_some_and(|loud| *loud >= MANY);
            let others = if loud { Loudness::F } else { Loudness::Mf };
            remarks.extend(remark(context, player, stroke, others));
        }
        tell(context, "extreme-register", remarks, findings);
    }
}

/// How many players are loud in each bar.
fn loud_bars(context: &Context<'_>) -> Vec<usize> {
    let mut loud = vec![0; context.tune.bars.len()];
    for player in &context.idiom().players {
        let mut last = None;
        for stroke in player.strokes(context) {
            if loudness(stroke).is_loud() && last != Some(stroke.bar) {
                last = Some(stroke.bar);
                loud[stroke.bar as usize] += 1;
            }
        }
    }
    loud
}

fn remark<'a>(
    context: &Context<'a>,
    player: &Player<'_>,
    stroke: &Stroke,
    others: Loudness,
) -> Option<Remark<'a>> {
    let judge = |reading| {
        let lowest = sounding(context, stroke, reading).first().copied()?;
        colour(player.instrument, lowest, loudness(stroke), others)
    };
    let verdict = |found: &Option<Colour<'_>>| found.as_ref().map_or(Verdict::Easy, |c| c.verdict);
    let found = player.kindest(context, judge, verdict)?;
    let concern = found.concern?;
    let note = stroke.typed(context.tune).first()?;
    let (name, register) = (player.name(), &found.register.label);
    let care = match player.instrument.family {
        Section::Voice => "; spare the singer",
        Section::Brass => "; spare the player",
        _ => "",
    };
    let lies = match concern {
        Concern::NotSoft => {
            format!("in the {name}'s {register} register, which hardly speaks softly")
        }
        Concern::NotLoud => {
            format!("in the {name}'s {register} register, which does not carry against this")
        }
        _ => format!("at the end of what the {name} has ({register} register){care}"),
    };
    let message = format!("{} lies {lies}.", note.written.name.words());
    Some(Remark { kind: concern as u8, ..Remark::new(stroke.voice, note, found.verdict, message) })
}

#[cfg(test)]
mod tests {
    use crate::rule_tests::messages_of;

    fn said(voice: &str, music: &str) -> Vec<String> {
        let text = format!("X:1\nL:1/4\nK:C\nV:1 name=\"{voice}\"\n{music}\n");
        messages_of("extreme-register", &text)
    }

    #[test]
    fn the_sentence() {
        let soft = "B flat lies in the oboe's low register, which hardly speaks softly.";
        assert_eq!(said("Oboe", "!p!_B,4|"), [soft]);
        let weak = "C lies in the flute's low register, which does not carry against this.";
        assert_eq!(said("Flute", "!ff!C4|"), [weak]);
    }

    #[test]
    fn a_hairpin_leaves_the_dynamic_open() {
        assert!(said("Oboe", "!p!c2!<(!c!<)!c|_B,4|").is_empty());
    }
}
