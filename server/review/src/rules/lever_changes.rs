//! # More than the levers give
//!
//! A lever harp is tuned in one key, mostly E flat major, and each string has a lever of its own that raises it by a semitone. A
//! note that is neither a string nor a raised string is not there, though it may be under another name; and the
//! left hand, which moves the levers one at a time, has to be free for it.
//!
//! Looked at are, bar by bar, notes that no lever gives, notes that would share a string, and at the typed tempo how
//! often levers move, and whether the left hand (the lower staff) plays meanwhile. Where another name is on the
//! strings the fix writes it; the sound stays. Moves are hints, most of them told of only where the settings name the rule.
//!
//! What to do: respell, leave a note out, set the lever before the piece begins and say so, or give the left hand time.
//!
//! Source: common practice, no source; tuning and moves a second (one) from memory, in the instrument table.
//!
//! ```abc flagged
//! X:1
//! L:1/4
//! K:C
//! V:1 name="Lever Harp"
//! [CE]2_D2|
//! ```
//! ```abc fixed
//! X:1
//! L:1/4
//! K:C
//! V:1 name="Lever Harp"
//! [CE]2^C2|
//! ```
//! ```abc quiet
//! X:1
//! L:1/4
//! K:Eb
//! V:1 name="Lever Harp"
//! [CE]2=A2|
//! ```

use crate::context::Context;
use crate::finding::{Finding, Fix, Severity};
use crate::idiom::lines::about;
use crate::idiom::plucked::{self, Plucked};
use crate::idiom::{Player, Remark, tell};
use crate::rule::{Family, Rule};
use crate::words::and_texts;
use recte_theory::playability::Verdict;
use recte_theory::playability::harp::Clash;
use recte_theory::playability::harp::levers::{Levering, levers};

pub(crate) const RULE: Rule = Rule {
    id: "",
    doc: "",
    family: Family::Idiom,
    severity: Severity::Warning,
    summary: "notes that the levers of a harp do not give, or not in time",
    check,
};

fn check(context: &Context<'_>, findings: &mut Vec<Finding>) {
    for player in &context.idiom().players {
        if player.instrument.levers.is_none() {
            continue;
        }
        let moments = plucked::moments(context, player);
        let lower = player.staves.last().map(|staff| staff.voice);
        let left = lower.filter(|_| player.staves.len() > 1);
        let bars = moments.chunk_by(|a, b| a.bar == b.bar);
        let remarks = bars.filter_map(|bar| remark(context, player, bar, left));
        tell(context, "lever-changes", remarks.collect(), findings);
    }
}

/// What is said of a bar.
fn remark<'a>(
    context: &Context<'a>,
    player: &Player<'_>,
    bar: &[Plucked<'a>],
    left: Option<usize>,
) -> Option<Remark<'a>> {
    let plays = |moment: &&Plucked<'_>| moment.at.iter().any(|(voice, ..)| Some(*voice) == left);
    let left: Vec<f64> = bar.iter().filter(plays).map(|moment| moment.seconds).collect();
    let figures = &context.idiom().figures;
    let found = levers(player.instrument, &plucked::asked(bar), &left, figures)?;
    let name = player.name();
    let mut fix = None;
    let (place, verdict, message) = match found.clash {
        Some(Clash::OneLetter { moment, notes }) => {
            let names = notes.map(|note| bar[moment].notes[note].name.words());
            let message = format!("{} and {} are one string of the {name}.", names[0], names[1]);
            (bar[moment].at[notes[1]], Verdict::Impossible, message)
        }
        Some(Clash::NoString { moment, note }) => {
            let (_, _, typed) = bar[moment].at[note];
            let message = format!(
                "No string of the {name} gives {}, with its lever or without.",
                typed.written.symbol()
            );
            (bar[moment].at[note], Verdict::Impossible, message)
        }
        None if found.verdict == Verdict::Respell => {
            fix = plucked::respelled(context, bar, &found.notes);
            (renamed(bar, &found)?, Verdict::Hard, other_names(bar, &found, &name))
        }
        None if found.verdict >= Verdict::Awkward => {
            (*bar.first()?.at.first()?, found.verdict, moved(context, bar, &found, &name))
        }
        None | Some(Clash::NoPedal { .. }) => return None,
    };
    let (voice, _, note) = place;
    let kind = u8::from(found.clash.is_none());
    Some(Remark {
        again: "So".to_owned(),
        kind,
        fixes: fix.into_iter().collect::<Vec<Fix>>(),
        ..Remark::new(voice, note, verdict, message)
    })
}

/// The first note that has to be called otherwise.
fn renamed<'a>(
    bar: &[Plucked<'a>],
    found: &Levering,
) -> Option<(usize, u32, &'a recte_score::Note)> {
    let all = bar.iter().zip(&found.notes).flat_map(|(moment, notes)| moment.at.iter().zip(notes));
    all.into_iter().find(|((_, _, old), new)| old.pitch.name != new.name).map(|(at, _)| *at)
}

/// "The strings of the lever harp have no D flat, but C sharp."
fn other_names(bar: &[Plucked<'_>], found: &Levering, name: &str) -> String {
    let all =
        bar.iter().zip(&found.notes).flat_map(|(moment, notes)| moment.notes.iter().zip(notes));
    let mut pairs: Vec<_> = all
        .filter(|(old, new)| old.name != new.name)
        .map(|(old, new)| (old.name, new.name))
        .collect();
    pairs.sort_by_key(|(old, _)| old.fifths());
    pairs.dedup();
    let old: Vec<String> = pairs.iter().map(|(old, _)| old.words()).collect();
    let new: Vec<String> = pairs.iter().map(|(_, new)| new.words()).collect();
    let (old, new) = (old.join(" or "), and_texts(&new));
    format!("The strings of the {name} have no {old}, but {new}.")
}

fn moved(context: &Context<'_>, bar: &[Plucked<'_>], found: &Levering, name: &str) -> String {
    let number = context.tune.bar_number(bar[0].bar);
    let moves = found.moves.len();
    if found.busy {
        return format!(
            "Bar {number} wants a lever of the {name} moved while the left hand plays; it has to be free for it."
        );
    }
    let within = about(bar[bar.len() - 1].seconds - bar[0].seconds);
    format!(
        "Bar {number} moves {moves} levers of the {name} in {within}; the left hand moves about one a second."
    )
}

#[cfg(test)]
mod tests {
    use crate::rule_tests::messages_of;

    fn said(music: &str) -> Vec<String> {
        let text = format!("X:1\nM:4/4\nL:1/4\nQ:1/4=60\nK:Eb\nV:1 name=\"Lever Harp\"\n{music}\n");
        messages_of("lever-changes", &text)
    }

    #[test]
    fn the_sentences() {
        assert_eq!(said("_D4|"), ["The strings of the lever harp have no D flat, but C sharp."]);
        let none = "No string of the lever harp gives C1, with its lever or without.";
        assert!(said("^F4|").is_empty());
        assert_eq!(said("_G4|"), ["The strings of the lever harp have no G flat, but F sharp."]);
        assert_eq!(said("C,,,4|"), [none]);
        assert_eq!(said("[C^C]4|"), ["C and C sharp are one string of the lever harp."]);
    }

    #[test]
    fn levers_in_a_hurry() {
        let busy = "Bar 1 moves 7 levers of the lever harp in about 1.8 seconds; the left hand moves about one a second.";
        assert_eq!(said("A/4=A/4_A/4=A/4_A/4=A/4_A/4=A/4z2|"), [busy]);
        assert!(said("A=Azz|").is_empty());
    }

    #[test]
    fn the_left_hand_is_busy() {
        let text = "X:1\nM:4/4\nL:1/4\nQ:1/4=60\nK:Eb\n%%score {1 2}\nV:1 name=\"Lever Harp\"\nV:2 name=\"Lever Harp\" clef=bass\n[V:1]A2=A2|\n[V:2]E,/B,/E/G/ E,/B,/E/G/|\n";
        let busy = "Bar 1 wants a lever of the lever harp moved while the left hand plays; it has to be free for it.";
        assert_eq!(messages_of("lever-changes", text), [busy]);
    }
}
