//! # Two parts that cross
//!
//! Where a part goes above the one over it, listeners follow the higher sound and lose the line, and singers lose their
//! place. For a moment it is nothing, and many a good line crosses; for a whole bar it is worth a thought.
//!
//! Looked at are neighbouring parts of one kind, in the order of the score: choir voices, strings of the quartet. A stretch is told of
//! where the lower part stays above the upper for a bar or longer. Silent unless the settings ask for it
//! (`[rules] voice-crossing = "hint"`, or `recte check --rule voice-crossing`): it only observes.
//!
//! What to do: exchange the parts for the stretch, or leave it: in canons and in music of equal voices it is the
//! point. Strict style has rules of its own (`voice-overlap`).
//!
//! Source: common practice, no source.
//!
//! ```abc flagged
//! X:1
//! M:4/4
//! L:1/4
//! K:C
//! V:1 name="Violin 1"
//! GGGG|GGGG|
//! V:2 name="Violin 2"
//! EEEE|ccBc|
//! ```
//! ```abc quiet
//! X:1
//! M:4/4
//! L:1/4
//! K:C
//! V:1 name="Violin 1"
//! GGGG|GGGG|
//! V:2 name="Violin 2"
//! EEEE|EEAE|
//! ```

use crate::context::Context;
use crate::finding::{Finding, Severity};
use crate::idiom::{Player, Remark, tell};
use crate::rule::{Family, Rule};
use crate::words::voice;
use recte_score::{Line, lines};
use recte_theory::instruments::Family as Section;
use recte_theory::playability::Verdict;

pub(crate) const RULE: Rule = Rule {
    id: "",
    doc: "",
    family: Family::Idiom,
    severity: Severity::Hint,
    summary: "a part that stays above the one over it; told of only where the settings ask",
    check,
};

fn check(context: &Context<'_>, findings: &mut Vec<Finding>) {
    if !context.asks_for("voice-crossing") {
        return;
    }
    let all = lines(context.tune);
    let kind = |player: &Player<'_>| {
        let family = player.instrument.family;
        matches!(family, Section::Voice | Section::Strings).then_some(family)
    };
    for pair in context.idiom().players.windows(2) {
        if kind(&pair[0]).is_none() || kind(&pair[0]) != kind(&pair[1]) {
            continue;
        }
        let line = |player: &Player<'_>| {
            let own = player.staves.first()?.voice;
            all.iter().find(|line| line.voice as usize == own && line.rank == 0)
        };
        if let (Some(upper), Some(lower)) = (line(&pair[0]), line(&pair[1])) {
            tell(context, "voice-crossing", crossings(context, upper, lower), findings);
        }
    }
}

/// Stretches of a bar or more in which the lower line stays above the upper.
fn crossings<'a>(context: &Context<'a>, upper: &Line, lower: &Line) -> Vec<Remark<'a>> {
    let tune = context.tune;
    let mut remarks = Vec::new();
    let above = |at: &usize| {
        let tone = &lower.tones[*at];
        let other = upper.at(tone.onset).map(|place| &upper.tones[place]);
        other.is_some_and(|other| tone.pitch.midi() > other.pitch.midi())
    };
    let mut at = 0;
    while at < lower.tones.len() {
        let length = (at..lower.tones.len()).take_while(above).count();
        let run = &lower.tones[at..at + length];
        at += length.max(1);
        let (Some(first), Some(last)) = (run.first(), run.last()) else { continue };
        let bar = tune.bars.get(first.bar as usize).map(|bar| bar.length);
        if bar.is_none_or(|bar| last.end - first.onset < bar) {
            continue;
        }
        let under = &tune.voices[first.at.voice as usize];
        let over = &tune.voices[upper.voice as usize];
        let message = format!(
            "{} stays above {} in {}.",
            crate::words::sentence(&voice(under)),
            voice(over),
            crate::words::bars(tune, (first.bar, last.bar)),
        );
        let note = &under.notes[first.at.note as usize];
        let to = under.notes[last.at.note as usize].event;
        remarks.push(Remark {
            to: Some(to),
            again: "So".to_owned(),
            ..Remark::new(first.at.voice as usize, note, Verdict::Awkward, message)
        });
    }
    remarks
}

#[cfg(test)]
mod tests {
    use crate::rule_tests::messages_of;

    #[test]
    fn the_sentence() {
        let text = "X:1\nM:2/4\nL:1/4\nK:C\nV:1 name=Violin\nGG|GG|\nV:2 name=Viola\nEE|cc|\n";
        assert_eq!(messages_of("voice-crossing", text), ["Viola stays above Violin in bar 2."]);
    }

    #[test]
    fn for_a_beat_it_is_nothing_and_flutes_are_not_asked() {
        let text = "X:1\nM:2/4\nL:1/4\nK:C\nV:1 name=Violin\nGG|GG|\nV:2 name=Viola\nEE|cE|\n";
        assert!(messages_of("voice-crossing", text).is_empty());
        let text = "X:1\nM:2/4\nL:1/4\nK:C\nV:1 name=Flute\nGG|GG|\nV:2 name=Flute\nEE|cc|\n";
        assert!(messages_of("voice-crossing", text).is_empty());
    }
}
