//! # A chord whose spelling hides it
//!
//! Players read chords as shapes: a triad or a seventh chord is a pile of thirds, every other letter from
//! its root. E, A flat, B sounds like E major, but the eye sees a fourth and a second, and has to work the
//! chord out one note at a time. Written E, G sharp, B it is read at a glance.
//!
//! The same holds when the chord is broken (an arpeggio, over a beam, a beat or a bar line), when some of
//! its notes are doubled at the octave, and when several voices share it.
//!
//! Whether the typed name does work of its own is heard from what comes before and after: an augmented sixth
//! that opens to the octave, a leading note that rises, an altered note of a dominant are left alone. A chord
//! of equal distances (augmented triad, diminished seventh) can be spelled from several roots; where another
//! reads nearly as well, the remark is softer and offers it too.
//!
//! What to do: take the spelling offered. It keeps every sound, and repairs later notes in the bar that
//! leaned on the accidental.
//!
//! Source: Open Music Theory, "Triads" and "Seventh chords" (chords are built of thirds, and keep their
//! letters in every inversion); the exceptions from its chapters on altered and augmented-sixth chords.
//!
//! A block chord:
//! ```abc flagged
//! X:1
//! M:4/4
//! L:1/4
//! K:C
//! [E_AB]4|c4|
//! ```
//! ```abc fixed
//! X:1
//! M:4/4
//! L:1/4
//! K:C
//! [E^GB]4|c4|
//! ```
//!
//! The same chord broken; the flat reaches to the end of the bar:
//! ```abc flagged
//! X:1
//! M:4/4
//! L:1/8
//! K:C
//! E_AB_A eBAG|
//! ```
//! ```abc fixed
//! X:1
//! M:4/4
//! L:1/8
//! K:C
//! E^GBG eBG=G|
//! ```
//!
//! Shared by two voices:
//! ```abc flagged
//! X:1
//! L:1/2
//! K:C
//! V:1
//! [_AB]2|
//! V:2
//! E2|
//! ```
//!
//! An augmented sixth, a diminished seventh, and a leading note:
//! ```abc quiet
//! X:1
//! L:1/2
//! K:C
//! [_A,C_E^F]2|[G,C_EG]2|[^F,Ac_e]2|[G,Gd=B]2|
//! ```
//! ```abc quiet
//! X:1
//! L:1/4
//! K:Am
//! E^GBd|^GAce|
//! ```

use crate::context::Context;
use crate::finding::{Finding, Severity};
use crate::rule::{Family, Rule};
use crate::spelling::{Kind, Misspelling, Reading, Shown, distinct, in_thirds};
use crate::words::{and_list, list};
use recte_score::{FigureKind, Span};
use recte_theory::chord::{Stack, thirds};
use recte_theory::{Letter, PitchName};

pub(crate) const RULE: Rule = Rule {
    id: "",
    doc: "",
    family: Family::Spelling,
    severity: Severity::Warning,
    summary: "a chord or broken chord whose spelling hides a triad or seventh chord",
    check,
};

/// A reading that costs the speller less than this more is as good.
const AS_GOOD: i32 = 90;
/// So many readings are offered at most.
const OFFERED: usize = 3;

fn check(context: &Context<'_>, findings: &mut Vec<Finding>) {
    let Some(reading) = context.reading() else { return };
    for misspelling in reading.misspellings() {
        if let Kind::Chord(shown) = &misspelling.kind {
            let chord = Chord { context, reading, misspelling, shown };
            findings.extend(chord.finding());
        }
    }
}

/// A chord that its spelling hides.
struct Chord<'a> {
    context: &'a Context<'a>,
    reading: &'a Reading,
    misspelling: &'a Misspelling,
    shown: &'a Shown,
}

impl Chord<'_> {
    fn finding(&self) -> Option<Finding> {
        let best = in_thirds(&self.shown.names(&self.reading.better))?;
        let kind = match self.shown.kind {
            FigureKind::Block => best.quality.name.clone(),
            FigureKind::Broken => format!("{} arpeggio", short(&best)),
        };
        let (typed, better) = (&self.reading.typed, &self.reading.better);
        let changed = self.shown.sounds.iter().filter(|&&at| typed[at] != better[at]);
        let expected = distinct(changed.map(|&at| better[at]));
        // Where another part has the right name already, the wrong one alone is told of.
        let mut names = self.shown.names(typed);
        names.retain(|name| !expected.contains(name));
        let message = format!(
            "{} is {} {} {kind}; players expect {}.",
            list(names.into_iter().map(|name| self.read(name))),
            article(self.read(best.root)),
            self.read(best.root).words(),
            and_list(expected.into_iter().map(|name| self.read(name))),
        );
        let others = self.as_good(&best);
        let mut finding =
            self.reading.finding(self.context, self.misspelling, message, self.title(&best));
        for stack in &others {
            let names = |at: usize| renamed(self.reading.better[at], stack);
            finding.fixes.extend(self.reading.fix(
                self.context,
                &self.shown.sounds,
                names,
                self.title(stack),
            ));
        }
        if !others.is_empty() {
            finding.severity = finding.severity.min(Severity::Info);
            finding.fixes.iter_mut().for_each(|fix| fix.preferred = false);
        }
        finding.span = self.span().unwrap_or(finding.span);
        Some(finding)
    }

    /// A sounding name as it is read in the part that is told of.
    fn read(&self, name: PitchName) -> PitchName {
        self.reading.read(self.misspelling.sounds[0], name)
    }

    /// "Respell as C dominant seventh: C E G B♭".
    fn title(&self, stack: &Stack) -> String {
        let quality = short(stack);
        let names = stack.quality.names_on(stack.root).into_iter();
        let names: Vec<String> = names.map(|name| self.read(name).symbol()).collect();
        format!("Respell as {} {quality}: {}", self.read(stack.root).symbol(), names.join(" "))
    }

    /// The other chords in thirds of the same sound that the speller minds hardly more.
    fn as_good(&self, best: &Stack) -> Vec<Stack> {
        let reading = self.reading;
        let classes: Vec<u8> = best.names.iter().map(|name| name.pitch_class()).collect();
        let own = reading.cost(&self.shown.sounds, &reading.better);
        let cost = |stack: &Stack| {
            let mut names = reading.better.clone();
            self.shown.sounds.iter().for_each(|&at| names[at] = renamed(names[at], stack));
            reading.cost(&self.shown.sounds, &names) - own
        };
        let all = thirds(&classes).into_iter().filter(|stack| stack.names != best.names);
        let mut good: Vec<(i32, Stack)> = all.map(|stack| (cost(&stack), stack)).collect();
        good.retain(|(cost, _)| *cost < AS_GOOD);
        good.sort_by_key(|(cost, _)| *cost);
        good.into_iter().map(|(_, stack)| stack).take(OFFERED - 1).collect()
    }

    /// The whole figure where it stands together in the text.
    fn span(&self) -> Option<Span> {
        let events = self.shown.sounds.iter().map(|&at| self.reading.event(self.context.tune, at));
        let whole = events.map(|event| event.span).reduce(Span::join)?;
        let mut voices = self.shown.sounds.iter().map(|&at| self.reading.sound(at).at.voice);
        let first = voices.next()?;
        let text = &self.context.block.text[whole.range()];
        (voices.all(|voice| voice == first) && !text.contains(['\n', '\r'])).then_some(whole)
    }
}

/// The name a chord gives this sound.
fn renamed(name: PitchName, stack: &Stack) -> PitchName {
    let same = |other: &&PitchName| other.pitch_class() == name.pitch_class();
    stack.names.iter().find(same).copied().unwrap_or(name)
}

/// "major", "dominant seventh".
fn short(stack: &Stack) -> &str {
    let name = &stack.quality.name;
    name.strip_suffix(" triad").unwrap_or(name)
}

fn article(root: PitchName) -> &'static str {
    if matches!(root.letter, Letter::A | Letter::E | Letter::F) { "an" } else { "a" }
}

#[cfg(test)]
#[path = "../rule_tests/chord_spelling.rs"]
mod tests;
