//! # More than a harpist's feet do
//!
//! The harp has seven pedals, one a letter. A pedal set to C sharp makes every C sharp: C and C sharp together are one string
//! too few, unless one of them is called B sharp or D flat. Two pedals a second are comfortable, four the most that
//! both feet do.
//!
//! Looked at are, moment by moment, notes of one letter with different accidentals, and, bar by bar at the typed
//! tempo, how often the pedals move. Where another spelling of the same sounds asks less of the feet, the fix writes it:
//! harpists read C flat and F flat with pleasure. D, G and A natural have no second name. Without a tempo only what sounds together is looked at.
//! For lever harps see `lever-changes`.
//!
//! What to do: respell, leave a note out, or give the feet time.
//!
//! Source: harpists' published guides for composers (pedals, seven letters, moves a second); the order of the pedals D C B, E F G A.
//!
//! ```abc flagged
//! X:1
//! L:1/4
//! K:C
//! V:1 name="Harp"
//! [C^CG]2z2|
//! ```
//! ```abc fixed
//! X:1
//! L:1/4
//! K:C
//! V:1 name="Harp"
//! [C_DG]2z2|
//! ```
//! ```abc quiet
//! X:1
//! L:1/4
//! K:C
//! V:1 name="Harp"
//! [C_DG]2z2|
//! ```

use crate::context::Context;
use crate::finding::{Finding, Fix, Severity};
use crate::idiom::lines::about;
use crate::idiom::plucked::{self, Plucked};
use crate::idiom::{Player, Remark, tell};
use crate::rule::{Family, Rule};
use recte_theory::playability::Verdict;
use recte_theory::playability::harp::{Clash, Passage, passage};

pub(crate) const RULE: Rule = Rule {
    id: "",
    doc: "",
    family: Family::Idiom,
    severity: Severity::Warning,
    summary: "harp notes that no setting of the pedals gives, or that come too fast for the feet",
    check,
};

fn check(context: &Context<'_>, findings: &mut Vec<Finding>) {
    for player in &context.idiom().players {
        if player.instrument.pedals.is_none() {
            continue;
        }
        let moments = plucked::moments(context, player);
        let mut remarks = Vec::new();
        for bar in moments.chunk_by(|a, b| a.bar == b.bar) {
            let together = bar.iter().filter_map(|moment| clash(context, player, moment));
            let mut together: Vec<Remark<'_>> = together.collect();
            // Each has its own way out.
            for (kind, remark) in (2..).zip(&mut together) {
                remark.kind = kind;
            }
            if together.is_empty() {
                together.extend(busy(context, player, bar));
            }
            remarks.extend(together);
        }
        tell(context, "pedal-changes", remarks, findings);
    }
}

fn judged(player: &Player<'_>, moments: &[Plucked<'_>]) -> Option<Passage> {
    passage(player.instrument, &plucked::asked(moments))
}

/// Notes of one letter with different accidentals at one moment.
fn clash<'a>(
    context: &Context<'a>,
    player: &Player<'_>,
    moment: &Plucked<'a>,
) -> Option<Remark<'a>> {
    let found = judged(player, std::slice::from_ref(moment))?;
    let notes = match found.written.clash? {
        Clash::OneLetter { notes, .. } => notes,
        Clash::NoString { note, .. } if moment.notes[note].name.alter.abs() > 1 => {
            let (voice, _, typed) = moment.at[note];
            let message = format!("No pedal of the harp gives {}.", typed.written.name.words());
            return Some(Remark {
                fixes: respelled(context, std::slice::from_ref(moment), &found)
                    .into_iter()
                    .collect(),
                ..Remark::new(voice, typed, Verdict::Impossible, message)
            });
        }
        _ => return None,
    };
    let names = notes.map(|note| moment.notes[note].name.words());
    let (voice, _, note) = moment.at[notes[1]];
    let way_out = if found.respelled.is_some() {
        "under another name one of them has a string of its own"
    } else {
        "no other spelling helps"
    };
    let message = format!("{} and {} are one string of the harp; {way_out}.", names[0], names[1]);
    // As it is spelled it cannot be set at all.
    Some(Remark {
        again: "So".to_owned(),
        fixes: respelled(context, std::slice::from_ref(moment), &found).into_iter().collect(),
        ..Remark::new(voice, note, Verdict::Impossible, message)
    })
}

/// A bar whose pedals move too often.
fn busy<'a>(context: &Context<'a>, player: &Player<'_>, bar: &[Plucked<'a>]) -> Option<Remark<'a>> {
    let found = judged(player, bar)?;
    let moves = found.written.moves.len();
    if found.written.verdict < Verdict::Awkward || found.written.clash.is_some() {
        return None;
    }
    let (voice, _, note) = *bar.first()?.at.first()?;
    let better = found.respelled.as_ref().map(|other| other.pedalling.moves.len());
    let fewer = match better {
        Some(0) => "; under other names none would move".to_owned(),
        Some(fewer) => format!("; under other names there would be {fewer}"),
        None => String::new(),
    };
    let often = match moves {
        1 => "once".to_owned(),
        2 => "twice".to_owned(),
        moves => format!("{moves} times"),
    };
    let within = about(bar[bar.len() - 1].seconds - bar[0].seconds);
    let message = format!(
        "As spelled, bar {} moves the harp's pedals {often} in {within}, and the feet make two a second with ease{fewer}.",
        context.tune.bar_number(bar[0].bar)
    );
    let to = bar.last()?.at.last().map(|(_, _, note)| note.event);
    Some(Remark {
        to: to.filter(|_| bar.iter().all(|moment| moment.at.iter().all(|at| at.0 == voice))),
        again: "So".to_owned(),
        kind: 1,
        fixes: respelled(context, bar, &found).into_iter().collect(),
        ..Remark::new(voice, note, found.written.verdict, message)
    })
}

/// The fix that writes the better spelling.
fn respelled(context: &Context<'_>, moments: &[Plucked<'_>], found: &Passage) -> Option<Fix> {
    plucked::respelled(context, moments, &found.respelled.as_ref()?.notes)
}

#[cfg(test)]
mod tests {
    use crate::rule_tests::{first_fix, messages_of};

    fn harp(music: &str) -> String {
        format!("X:1\nM:4/4\nL:1/4\nQ:1/4=60\nK:C\nV:1 name=\"Harp\"\n{music}\n")
    }

    #[test]
    fn the_sentences() {
        let clash = "C and C sharp are one string of the harp; under another name one of them has a string of its own.";
        assert_eq!(messages_of("pedal-changes", &harp("[C^C]4|")), [clash]);
        let none = "G and G sharp are one string of the harp; no other spelling helps.";
        assert_eq!(messages_of("pedal-changes", &harp("[G^GA]4|")), [none]);
    }

    #[test]
    fn a_bar_full_of_pedals() {
        let text = harp("C/4^C/4=C/4^C/4=C/4^C/4=C/4^C/4z2|");
        let said = messages_of("pedal-changes", &text);
        let busy = "As spelled, bar 1 moves the harp's pedals 7 times in about 1.8 seconds, and the feet make two a second with ease; under other names none would move.";
        assert_eq!(said, [busy]);
        assert!(first_fix("pedal-changes", &text).contains("_D/4"));
    }

    #[test]
    fn one_pedal_at_a_time() {
        assert!(messages_of("pedal-changes", &harp("CE^Cz|")).is_empty());
    }
}
