//! # A leap at speed
//!
//! Between two quick notes a wide leap is a risk: a string player changes position, a brass player crosses partials, a
//! singer loses the pitch. Slower, the same leap is nothing.
//!
//! Looked at are pairs of notes without a rest between, each shorter than a quarter of a second at the typed tempo. How far
//! each instrument leaps with ease is in the instrument table. Most of these are awkward and no more: they are told of only where the
//! settings name the rule (`[rules] leap = "hint"`, or `recte check --rule leap`), as are, for voices that sing without
//! instruments, sevenths, tritones and augmented intervals, and for keyboards and harps leaps of one hand while the other plays:
//! an octave goes freely, two octaves want half a second.
//!
//! What to do: another octave for one of the notes, a rest between, or two players in turn.
//!
//! Source: the instrument table; the figures are from memory.
//!
//! ```abc flagged
//! X:1
//! M:2/4
//! L:1/16
//! Q:1/4=132
//! K:C
//! V:1 name="Horn in F" transpose=-7
//! G,GgG G,GgG|
//! ```
//! ```abc quiet
//! X:1
//! M:2/4
//! L:1/4
//! Q:1/4=132
//! K:C
//! V:1 name="Horn in F" transpose=-7
//! G,g|
//! ```

use crate::context::Context;
use crate::finding::{Finding, Severity};
use crate::idiom::lines::{follows, seconds, sounding};
use crate::idiom::{Player, Reading, Remark, Stroke, tell};
use crate::rule::{Family, Rule};
use recte_theory::Pitch;
use recte_theory::instruments::Family as Section;
use recte_theory::playability::Verdict;
use recte_theory::playability::leap::{HardToPitch, hand_leap, hard_to_pitch, leap};

pub(crate) const RULE: Rule = Rule {
    id: "",
    doc: "",
    family: Family::Idiom,
    severity: Severity::Hint,
    summary: "a wide leap between quick notes; told of where the settings ask",
    check,
};

fn check(context: &Context<'_>, findings: &mut Vec<Finding>) {
    if !context.asks_for("leap") {
        return;
    }
    let unaccompanied =
        context.idiom().players.iter().all(|player| player.instrument.family == Section::Voice)
            && context.idiom().players.len() == context.tune.voices.len();
    for player in &context.idiom().players {
        let hands = player.instrument.stops.as_ref();
        let hands = hands.is_some_and(|stops| stops.max_notes_per_hand.is_some());
        let mut remarks = Vec::new();
        for pair in player.strokes(context).windows(2) {
            if follows(&pair[0], &pair[1]) {
                // Each hand has its own line, and hands take turns.
                if hands {
                    remarks.extend(of_a_hand(context, player, pair));
                    continue;
                }
                let sung = unaccompanied.then(|| interval(context, pair)).flatten();
                remarks.extend(wide(context, player, pair).or(sung));
            }
        }
        tell(context, "leap", remarks, findings);
    }
}

/// A leap wider than the instrument's figure.
fn wide<'a>(context: &Context<'a>, player: &Player<'_>, pair: &[Stroke]) -> Option<Remark<'a>> {
    let lengths = [seconds(context, &pair[..1])?.most, seconds(context, &pair[1..])?.most];
    let figures = &context.idiom().figures;
    let top = |stroke: &Stroke, reading| sounding(context, stroke, reading).pop();
    let judge = |reading: Reading| {
        let (Some(a), Some(b)) = (top(&pair[0], reading), top(&pair[1], reading)) else {
            return Verdict::Easy;
        };
        leap(player.instrument, player.level, [a, b], lengths, figures)
    };
    let verdict = player.kindest(context, judge, |verdict| *verdict);
    let note = pair[1].typed(context.tune).first()?;
    let before = pair[0].typed(context.tune).first()?;
    let message = format!(
        "From {} to {} at this speed is a wide leap on the {}.",
        before.written.symbol(),
        note.written.symbol(),
        player.name()
    );
    let again = "Such a leap".to_owned();
    (verdict >= Verdict::Awkward)
        .then(|| Remark { again, ..Remark::new(pair[1].voice, note, verdict, message) })
}

/// A leap of one hand while the other is busy: from a low note to a chord, or from chord to chord.
fn of_a_hand<'a>(
    context: &Context<'a>,
    player: &Player<'_>,
    pair: &[Stroke],
) -> Option<Remark<'a>> {
    // Feet take turns, and mallets are light.
    let feet = player.has_feet_on(pair[0].voice);
    if feet || player.instrument.family == Section::Percussion {
        return None;
    }
    let busy = |stroke: &Stroke| {
        let other = (stroke.voice, stroke.layer) != (pair[0].voice, pair[0].layer);
        other && stroke.onset < pair[1].end && stroke.end > pair[0].onset
    };
    let figures = &context.idiom().figures;
    let clock = context.idiom().clock(context.tune);
    let lasts = clock.between(pair[0].onset, pair[1].onset)?.most;
    let typed = |stroke: &Stroke| -> Vec<Pitch> {
        stroke.typed(context.tune).iter().map(|note| note.pitch).collect()
    };
    let (before, after) = (typed(&pair[0]), typed(&pair[1]));
    let lowest = |notes: &[Pitch]| notes.iter().copied().min_by_key(|note| note.midi());
    let highest = |notes: &[Pitch]| notes.iter().copied().max_by_key(|note| note.midi());
    // The outer finger that moves less tells how far the hand goes.
    let ways = [[lowest(&before)?, lowest(&after)?], [highest(&before)?, highest(&after)?]];
    let verdict = ways.into_iter().map(|way| hand_leap(way, lasts, figures)).min()?;
    let from = pair[0].typed(context.tune).first()?;
    let note = pair[1].typed(context.tune).first()?;
    let message = format!(
        "From {} to {} one hand leaps further than it does with ease at this speed.",
        from.written.symbol(),
        note.written.symbol()
    );
    let again = "Such a leap".to_owned();
    let told = verdict >= Verdict::Awkward && player.strokes(context).iter().any(busy);
    told.then(|| Remark { again, kind: 2, ..Remark::new(pair[1].voice, note, verdict, message) })
}

/// An interval that singers hardly find without help.
fn interval<'a>(context: &Context<'a>, pair: &[Stroke]) -> Option<Remark<'a>> {
    let note = pair[1].typed(context.tune).first()?;
    let before = pair[0].typed(context.tune).first()?;
    let kind = match hard_to_pitch([before.written, note.written])? {
        HardToPitch::Tritone => "a tritone",
        HardToPitch::Seventh => "a seventh",
        HardToPitch::Augmented => "an augmented interval",
    };
    let message = format!(
        "From {} to {} is {kind}, hard to pitch without an instrument.",
        before.written.name.words(),
        note.written.name.words()
    );
    let again = "Such an interval".to_owned();
    Some(Remark { again, kind: 1, ..Remark::new(pair[1].voice, note, Verdict::Awkward, message) })
}

#[cfg(test)]
mod tests {
    use crate::rule_tests::messages_of;

    #[test]
    fn the_sentences() {
        let text =
            "X:1\nM:2/4\nL:1/16\nQ:1/4=132\nK:C\nV:1 name=\"Horn in F\" transpose=-7\nG,g z2 z4|\n";
        let wide = "From G3 to G5 at this speed is a wide leap on the horn in F.";
        assert_eq!(messages_of("leap", text), [wide]);
        let text = "X:1\nM:2/4\nL:1/4\nK:C\nV:1 name=\"Choir tenor\" clef=treble-8\nCB|\n";
        let seventh = "From C to B is a seventh, hard to pitch without an instrument.";
        assert_eq!(messages_of("leap", text), [seventh]);
    }

    #[test]
    fn one_hand_leaps_while_the_other_plays() {
        let text = |upper: &str, lower: &str, tempo: u32| {
            format!(
                "X:1\nM:2/4\nL:1/16\nQ:1/4={tempo}\nK:C\n%%score {{1 2}}\nV:1 name=\"Piano\"\n\
                 V:2 name=\"Piano\" clef=bass\n[V:1]{upper}|\n[V:2]{lower}|\n"
            )
        };
        let said = |upper, tempo| messages_of("leap", &text(upper, "C,,2 [EGc]2 C,,4", tempo));
        let far = "From C2 to E4 one hand leaps further than it does with ease at this speed.";
        assert_eq!(said("cdef gfed", 132), [far]);
        assert!(said("cdef gfed", 40).is_empty());
        assert!(said("z8", 132).is_empty());
    }

    #[test]
    fn with_instruments_singers_find_it() {
        let text = "X:1\nM:2/4\nL:1/4\nK:C\nV:1 name=\"Choir tenor\" clef=treble-8\nCB|\nV:2 name=Violin\nCB|\n";
        assert!(messages_of("leap", text).is_empty());
    }
}
