//! # A chord whose spelling hides it
//!
//! Players read chords as shapes: a triad or a seventh chord is a pile of thirds, every other letter from
//! its root. E, A flat, B sounds like E major, but the eye sees a fourth and a second, and has to work the
//! chord out one note at a time. Written E, G sharp, B it is read at a glance.
//!
//! The same holds when the chord is broken (an arpeggio, over a beam, a beat or a bar line), when some of
//! its notes are doubled at the octave, and when several voices share it.
//!
//! Nothing is said where the odd name does work of its own: an augmented sixth that opens to the octave, a
//! leading note that rises, an altered note of a dominant, a diminished seventh that lacks a tone. A chord
//! that repeats itself at equal distances (augmented triad, diminished seventh) can be spelled from several
//! roots; a remark on one is softer, and offers more than one reading.
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
//! The same chord broken, and a later note that leaned on the flat:
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
//! E^GBG eB_A=G|
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
use crate::finding::{Finding, Fix, Severity};
use crate::rule::{Family, Rule};
use crate::words::{and_list, list};
use recte_notation::write::Respelling;
use recte_score::{Event, Figure, FigureKind, Note, NoteRef, Span, broken_chords, slices};
use recte_theory::chord::{Stack, thirds};
use recte_theory::key::Signature;
use recte_theory::tertian::reads_in_thirds;
use recte_theory::{Letter, Pitch, PitchName};
use std::collections::BTreeSet;

pub(crate) const RULE: Rule = Rule {
    id: "",
    doc: "",
    family: Family::Spelling,
    severity: Severity::Warning,
    summary: "a chord or broken chord whose spelling hides a triad or seventh chord",
    check,
};

/// The chords this rule looks for. Augmented and flat-five sevenths are left to the reader.
const LOOKED_FOR: [&str; 10] = [
    "major triad",
    "minor triad",
    "diminished triad",
    "augmented triad",
    "dominant seventh",
    "major seventh",
    "minor seventh",
    "minor-major seventh",
    "half-diminished seventh",
    "diminished seventh",
];

/// Chords whose spelling only their resolution decides.
const SYMMETRICAL: [&str; 3] = ["diminished triad", "augmented triad", "diminished seventh"];

fn check(context: &Context<'_>, findings: &mut Vec<Finding>) {
    let tune = context.tune;
    // Notes of the signature always pile up in thirds: without a typed accidental there is nothing to see.
    if tune.voices.iter().all(|voice| voice.notes.iter().all(|note| note.accidental.is_none())) {
        return;
    }
    let together = slices(context.soundings()).into_iter();
    let broken = context.voices().flat_map(|(index, voice)| broken_chords(voice, index as u32));
    let views: Vec<View<'_>> = together
        .chain(broken)
        .map(|figure| View { context, figure })
        .filter(|view| !view.figure.notes.iter().all(|&note| view.in_signature(note)))
        .collect();
    // A note that is right in one chord is not called wrong in another that shares it.
    let mut settled: BTreeSet<NoteRef> = BTreeSet::new();
    settled.extend(views.iter().filter(|v| v.is_clear()).flat_map(|v| v.figure.notes.iter()));
    for view in &views {
        if let Some((finding, changed)) = view.judge(&settled) {
            settled.extend(changed);
            findings.push(finding);
        }
    }
}

/// One figure, looked at.
struct View<'a> {
    context: &'a Context<'a>,
    figure: Figure,
}

impl<'a> View<'a> {
    /// The chord in thirds that it is as it stands, complete.
    fn in_thirds(&self) -> Option<Stack> {
        let names = self.names();
        let spells = |stack: &Stack| names.iter().all(|name| stack.names.contains(name));
        let stacks = (3..=4).contains(&names.len()).then(|| thirds(&classes(&names)));
        stacks?.into_iter().find(spells)
    }

    /// Whether it is such a chord and cannot be part of another: three notes of equal distances can.
    fn is_clear(&self) -> bool {
        self.in_thirds().is_some_and(|stack| {
            stack.names.len() > 3 || !SYMMETRICAL.contains(&stack.quality.name.as_str())
        })
    }

    fn judge(&self, settled: &BTreeSet<NoteRef>) -> Option<(Finding, Vec<NoteRef>)> {
        let names = self.names();
        let classes = classes(&names);
        let looked_at = (3..=4).contains(&classes.len());
        if !looked_at
            || self.in_thirds().is_some()
            || self.is_augmented_sixth()
            || self.parts_are_apart()
        {
            return None;
        }
        let all = thirds(&classes);
        let signature = self.signature();
        let mut stacks: Vec<Stack> =
            all.into_iter().filter(|s| LOOKED_FOR.contains(&s.quality.name.as_str())).collect();
        stacks.sort_by_key(|stack| cost(stack, &names, &signature));
        let best = stacks.first()?;
        let key_decides = self.has_key() && best.names.iter().all(|name| signature.contains(*name));
        if names.len() == classes.len() && reads_in_thirds(&names) && !key_decides {
            return None;
        }
        let changed = self.changed(best);
        if changed.iter().any(|note| settled.contains(note) || self.excused(*note, best)) {
            return None;
        }
        let view = View { context: self.context, figure: self.trimmed(&changed, best.root) };
        let names = view.names();
        let certain = key_decides || !SYMMETRICAL.contains(&best.quality.name.as_str());
        Some((view.finding(&names, &stacks, &changed, certain), changed))
    }

    fn note(&self, at: NoteRef) -> &'a Note {
        &self.context.tune.voices[at.voice as usize].notes[at.note as usize]
    }

    fn event(&self, at: NoteRef) -> &'a Event {
        &self.context.tune.voices[at.voice as usize].events[self.note(at).event as usize]
    }

    fn in_signature(&self, at: NoteRef) -> bool {
        let key = self.context.tune.key(self.event(at));
        key.signature.contains(self.note(at).written.name)
    }

    fn has_key(&self) -> bool {
        self.context.tune.key(self.event(self.figure.notes[0])).tonic.is_some()
    }

    /// The signature in force at the figure, as the notes sound.
    fn signature(&self) -> Signature {
        self.signature_at(self.figure.notes[0])
    }

    fn signature_at(&self, at: NoteRef) -> Signature {
        let written = self.context.tune.key(self.event(at)).signature;
        let note = self.note(at);
        let shift = note.pitch.name.fifths() - note.written.name.fifths();
        let mut signature = Signature::default();
        for letter in Letter::ALL {
            let name = PitchName::new(letter, written.alter(letter));
            let sounding = PitchName::from_fifths(name.fifths() + shift);
            signature.set(sounding.letter, sounding.alter);
        }
        signature
    }

    /// The different names of the figure, in its order.
    fn names(&self) -> Vec<PitchName> {
        let mut names = Vec::new();
        for &at in &self.figure.notes {
            let name = self.note(at).pitch.name;
            if !names.contains(&name) {
                names.push(name);
            }
        }
        names
    }

    /// Whether some note is the bass of an Italian, French or German sixth that holds all the others: a major
    /// third, an augmented sixth, and a fourth or fifth, whichever of them is lowest.
    fn is_augmented_sixth(&self) -> bool {
        const MEMBERS: [i32; 5] = [0, 4, 10, 6, 1];
        let names = self.names();
        names.iter().any(|bass| {
            let above = |name: &PitchName| name.fifths() - bass.fifths();
            names.iter().any(|name| above(name) == 10)
                && names.iter().all(|name| MEMBERS.contains(&above(name)))
        })
    }

    /// Whether the parts that share the figure are written in keys of the same sound and other names, such as
    /// a harp in C flat beside strings in B: each is right for its reader.
    fn parts_are_apart(&self) -> bool {
        let keys = self.figure.notes.iter().filter_map(|&note| self.signature_at(note).fifths());
        let keys: BTreeSet<i32> = keys.collect();
        matches!((keys.first(), keys.last()), (Some(first), Some(last)) if last - first > 6)
    }

    /// The shortest run of a broken chord that still has all its sounds and the notes to change; of two as short
    /// the one that begins with the root.
    fn trimmed(&self, changed: &[NoteRef], root: PitchName) -> Figure {
        let notes = &self.figure.notes;
        let all = classes(&self.names()).len();
        let part = |notes: &[NoteRef]| View {
            context: self.context,
            figure: Figure { kind: self.figure.kind, notes: notes.to_vec() },
        };
        let enough = |run: &[NoteRef]| {
            classes(&part(run).names()).len() == all && changed.iter().all(|n| run.contains(n))
        };
        let runs =
            (0..notes.len()).flat_map(|from| (from + 1..=notes.len()).map(move |to| (from, to)));
        let broken = runs.filter(|_| self.figure.kind == FigureKind::Broken);
        let shortest = broken
            .filter(|&(from, to)| enough(&notes[from..to]))
            .min_by_key(|&(from, to)| (to - from, self.note(notes[from]).pitch.name != root, from));
        let (from, to) = shortest.unwrap_or((0, notes.len()));
        part(&notes[from..to]).figure
    }

    /// The notes whose name the stack changes.
    fn changed(&self, stack: &Stack) -> Vec<NoteRef> {
        let other = |at: &&NoteRef| !stack.names.contains(&self.note(**at).pitch.name);
        self.figure.notes.iter().filter(other).copied().collect()
    }

    /// Whether the typed name does work of its own: it moves on by the half step it promises, it came from
    /// there, or it stands beside its own other name on purpose (two harp strings on one sound).
    fn excused(&self, at: NoteRef, stack: &Stack) -> bool {
        let note = self.note(at);
        let Some(new) = renamed(note.pitch, stack) else { return true };
        let up = note.pitch.name.fifths() > new.name.fifths();
        let direction = if up { 1 } else { -1 };
        let goal = note.pitch.transposed(direction, direction);
        self.moves_to(at, goal)
            || self.comes_from(at, goal)
            || self.figure.kind == FigureKind::Broken && self.beside_its_other_name(at)
    }

    fn events_after(&self, at: NoteRef) -> impl Iterator<Item = &'a Event> + use<'a> {
        let voice = &self.context.tune.voices[at.voice as usize];
        let layer = self.event(at).layer;
        let after = voice.events[self.note(at).event as usize + 1..].iter();
        after.filter(move |event| !event.grace && event.layer == layer)
    }

    /// Whether the goal comes next, or first after the sound has been repeated, or right after the figure.
    fn moves_to(&self, at: NoteRef, goal: Pitch) -> bool {
        let voice = &self.context.tune.voices[at.voice as usize];
        let sound = self.note(at).pitch;
        let holds = |event: &Event, pitch: Pitch| {
            voice.notes_of(event).iter().any(|note| note.pitch == pitch)
        };
        let next = self.events_after(at).find(|event| !holds(event, sound) || holds(event, goal));
        let last = self.figure.notes.iter().filter(|n| n.voice == at.voice).max();
        let beyond = last.and_then(|&last| self.events_after(last).next());
        [next, beyond].into_iter().flatten().any(|event| holds(event, goal))
    }

    fn comes_from(&self, at: NoteRef, goal: Pitch) -> bool {
        self.event_before(at).is_some_and(|(notes, _)| notes.iter().any(|n| n.pitch == goal))
    }

    fn event_before(&self, at: NoteRef) -> Option<(&'a [Note], &'a Event)> {
        let voice = &self.context.tune.voices[at.voice as usize];
        let before = voice.events[..self.note(at).event as usize].iter().rev();
        let event = before.into_iter().find(|event| !event.grace)?;
        Some((voice.notes_of(event), event))
    }

    fn beside_its_other_name(&self, at: NoteRef) -> bool {
        let pitch = self.note(at).pitch;
        let voice = &self.context.tune.voices[at.voice as usize];
        let other = |note: &Note| note.pitch.midi() == pitch.midi() && note.pitch != pitch;
        self.event_before(at).is_some_and(|(notes, _)| notes.iter().any(other))
            || self.events_after(at).next().is_some_and(|e| voice.notes_of(e).iter().any(other))
    }

    fn finding(
        &self,
        names: &[PitchName],
        stacks: &[Stack],
        changed: &[NoteRef],
        certain: bool,
    ) -> Finding {
        let best = &stacks[0];
        let kind = match (self.figure.kind, best.quality.name.strip_suffix(" triad")) {
            (FigureKind::Block, _) => best.quality.name.clone(),
            (FigureKind::Broken, Some(quality)) => format!("{quality} arpeggio"),
            (FigureKind::Broken, None) => format!("{} arpeggio", best.quality.name),
        };
        let mut expected: Vec<PitchName> = Vec::new();
        for pitch in changed.iter().filter_map(|&at| renamed(self.note(at).pitch, best)) {
            if !expected.contains(&pitch.name) {
                expected.push(pitch.name);
            }
        }
        let message = format!(
            "{} is {} {} {kind}; players expect {}.",
            list(names.iter().copied()),
            article(best.root),
            best.root.words(),
            and_list(expected),
        );
        let first = changed[0];
        let at = self.context.at_note(first.voice as usize, self.note(first), message);
        let mut fixes: Vec<Fix> = self.fixes(names, stacks);
        if let Some(fix) = fixes.first_mut() {
            fix.preferred = certain;
        }
        Finding {
            span: self.span(first),
            severity: if certain { Severity::Warning } else { Severity::Info },
            to_bar: self.figure.notes.iter().map(|&note| self.event(note).bar).max(),
            fixes,
            ..at
        }
    }

    /// The whole figure where it stands together in the text, else the first note to change.
    fn span(&self, changed: NoteRef) -> Span {
        let alone = self.note(changed).span;
        let one_voice = self.figure.notes.iter().all(|note| note.voice == changed.voice);
        let events = self.figure.notes.iter().map(|&note| self.event(note).span);
        let whole = events.reduce(Span::join).unwrap_or(alone);
        let text = &self.context.block.text[whole.range()];
        if one_voice && !text.contains(['\n', '\r']) { whole } else { alone }
    }

    /// The best reading, and for chords of equal parts the others that change as little.
    fn fixes(&self, names: &[PitchName], stacks: &[Stack]) -> Vec<Fix> {
        let changes = |stack: &Stack| names.iter().filter(|n| !stack.names.contains(n)).count();
        let fewest = changes(&stacks[0]);
        let offered = stacks.iter().filter(|stack| changes(stack) == fewest).take(3);
        offered.filter_map(|stack| self.fix(stack)).collect()
    }

    fn fix(&self, stack: &Stack) -> Option<Fix> {
        let mut wanted = Vec::new();
        for at in self.changed(stack) {
            let note = self.note(at);
            let new = renamed(note.pitch, stack)?;
            let shift = new.name.fifths() - note.pitch.name.fifths();
            let name = PitchName::from_fifths(note.written.name.fifths() + shift);
            wanted.push(Respelling { voice: at.voice, note: at.note, name });
        }
        let quality = &stack.quality.name;
        let quality = quality.strip_suffix(" triad").unwrap_or(quality);
        let names = stack.quality.names_on(stack.root);
        let names: Vec<String> = names.into_iter().map(PitchName::symbol).collect();
        let title = format!("Respell as {} {quality}: {}", stack.root.symbol(), names.join(" "));
        self.context.respelling(title, &wanted)
    }
}

/// The pitch under the name the stack gives its sound.
fn renamed(pitch: Pitch, stack: &Stack) -> Option<Pitch> {
    let name = stack.names.iter().find(|n| n.pitch_class() == pitch.name.pitch_class())?;
    Pitch::with_name(pitch.midi(), *name)
}

fn classes(names: &[PitchName]) -> Vec<u8> {
    let mut classes = Vec::new();
    for name in names {
        if !classes.contains(&name.pitch_class()) {
            classes.push(name.pitch_class());
        }
    }
    classes
}

/// What a reader minds, the worst first: double signs and white keys under a sign where the signature does not
/// ask for them, names changed, names outside the signature, signs.
fn cost(stack: &Stack, typed: &[PitchName], signature: &Signature) -> (usize, usize, usize, u32) {
    let count = |minded: &dyn Fn(&PitchName) -> bool| {
        stack.names.iter().filter(|name| minded(name)).count()
    };
    (
        count(&|name| name.is_rare() && !signature.contains(*name)),
        count(&|name| !typed.contains(name)),
        count(&|name| !signature.contains(*name)),
        stack.names.iter().map(|name| u32::from(name.alter.unsigned_abs())).sum(),
    )
}

fn article(root: PitchName) -> &'static str {
    if matches!(root.letter, Letter::A | Letter::E | Letter::F) { "an" } else { "a" }
}

#[cfg(test)]
#[path = "../rule_tests/chord_spelling.rs"]
mod tests;
