//! What is under the cursor: the chord, the interval or the note, in plain words.

mod player;
mod rests;
mod symbol;

pub use player::hover_voice;

use crate::harmony::{Harmonies, degree_of, heading, member, place_in_key, same_notes, spelled};
use recte_notation::{BlockKind, Document};
use recte_review::chord_symbols::{Typed, in_force};
use recte_score::harmony::{ForeignKind, Heading};
use recte_score::{Event, EventKind, Note, Tune, sounding_at};
use recte_theory::chord::{Chord, Stack, thirds};
use recte_theory::sonority::{self, Sonority};
use recte_theory::{Interval, Key, Pitch, PitchName};
use std::ops::Range;

/// What to show, and for which bytes of the document.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Hover {
    /// The note, chord, rest or chord symbol it is about.
    pub range: Range<usize>,
    /// The text, plain, in lines.
    pub text: String,
}

/// What sounds at the note, chord or rest under an offset, in every voice; or what the chord symbol there says.
///
/// First line: the chord in plain words and as a symbol, else the interval, else the note. Then the notes as
/// written, the place in the local key, the notes that are foreign to the chord, and the symbol typed if it says
/// otherwise.
pub fn hover(document: &Document, offset: usize) -> Option<Hover> {
    let (start, block) = document.block_at(offset)?;
    if block.kind != BlockKind::Tune {
        return None;
    }
    let tune = &block.lowered().tune;
    let at = offset - start;
    let (span, lines) = match symbol::at(tune, at) {
        Some(symbol) => (symbol.span, symbol::describe(&Harmonies::of(block), symbol)?),
        None => {
            let event = event_at(tune, at)?;
            (event.span, About::new(&Harmonies::of(block), event).lines()?)
        }
    };
    let range = start + span.start as usize..start + span.end as usize;
    Some(Hover { range, text: lines.join("\n") })
}

/// The event whose text the offset is in, else the one it stands right after.
fn event_at(tune: &Tune, offset: usize) -> Option<&Event> {
    let touched = |event: &&Event| event.span.touches(offset);
    let all = || tune.voices.iter().flat_map(|voice| voice.events.iter());
    let inside = |event: &&Event| event.span.range().contains(&offset);
    all().find(inside).or_else(|| all().find(touched))
}

type Sounding<'a> = (u32, &'a Event, &'a Note);

/// A note, chord or rest, and what sounds as it begins.
struct About<'a> {
    harmonies: &'a Harmonies<'a>,
    tune: &'a Tune,
    event: &'a Event,
    sounding: Vec<Sounding<'a>>,
    pitches: Vec<Pitch>,
    /// The sounds that differ, 0 for C.
    classes: Vec<u8>,
}

impl<'a> About<'a> {
    fn new(harmonies: &'a Harmonies<'a>, event: &'a Event) -> About<'a> {
        let tune = harmonies.tune;
        let sounding = sounding_at(tune, tune.onset(event));
        let pitches: Vec<Pitch> = sounding.iter().map(|(_, _, note)| note.pitch).collect();
        let mut classes: Vec<u8> = Vec::new();
        for pitch in &pitches {
            let class = pitch.name.pitch_class();
            if !classes.contains(&class) {
                classes.push(class);
            }
        }
        About { harmonies, tune, event, sounding, pitches, classes }
    }

    fn lines(&self) -> Option<Vec<String>> {
        let moment = self.tune.onset(self.event);
        let rests = self.event.kind != EventKind::Notes;
        let told = self.harmonies.at(moment);
        // What a symbol says over a lone melody is told as such.
        let told = told.as_ref().map(|told| told.heading).filter(|told| !told.typed);
        let symbols = self.harmonies.symbols();
        let typed = in_force(&symbols, moment);
        if rests && let Some(lines) = rests::several(self.harmonies, self.event) {
            return Some(lines);
        }
        let now = match sonority::name(&self.pitches).filter(|_| self.classes.len() > 2) {
            Some(Sonority::Chord(chord)) => Some(chord),
            // One triad over another, a pile of fourths, neighbours all at once: no chord with foreign notes.
            Some(
                one @ (Sonority::Polychord { .. }
                | Sonority::Pile { .. }
                | Sonority::Cluster { .. }),
            ) => {
                return Some(vec![beyond(&one), self.notes()]);
            }
            _ => None,
        };
        if now.is_none()
            && let Some(stack) = as_it_sounds(&self.pitches, &self.classes)
        {
            return Some(self.hidden(&stack));
        }
        let mut lines = match (told, now, typed) {
            (Some(told), _, _) => self.of_harmony(told, now),
            (None, Some(chord), _) => {
                let mut lines = vec![heading(&chord), self.notes()];
                lines.extend(self.root_in_key(chord.root));
                lines
            }
            (None, None, Some(typed)) => return self.by_symbol(typed),
            (None, None, None) => return self.few(),
        };
        let chord = told.map(|told| told.chord).or(now);
        // A bar later the notes may have gone on without it.
        let typed = typed.filter(|typed| typed.event.bar == self.event.bar);
        if let Some((typed, chord)) = typed.zip(chord) {
            let names = told.map_or_else(|| chord.names(), |told| told.names.clone());
            lines.extend(symbol::differs(typed, &chord, &names));
        }
        Some(lines)
    }

    /// The harmony, the notes of this moment, their place in the key, what is foreign.
    fn of_harmony(&self, told: &Heading, now: Option<Chord>) -> Vec<String> {
        let mut lines = vec![heading(&told.chord)];
        if !self.sounding.is_empty() {
            lines.push(self.notes());
        }
        let here = |name: &PitchName| self.pitches.iter().any(|pitch| pitch.name == *name);
        if !told.names.iter().all(here) {
            lines.push(format!("its notes: {}", spelled(&told.names)));
        }
        lines.extend(place_in_key(told));
        let now = now.filter(|now| now.omitted.is_none() && !same_notes(now, &told.chord));
        let foreign: Vec<String> = self.foreign(told, now).collect();
        if !foreign.is_empty() {
            lines.push(format!("not in the chord: {}", foreign.join(", ")));
        }
        // Where its notes are accounted for one by one, the chord that they happen to make says no more.
        let now = now.filter(|now| foreign.is_empty() || now.root != told.chord.root);
        lines.extend(now.map(|now| format!("for this moment: {}", heading(&now))));
        lines.extend(self.own_member(&told.chord));
        lines
    }

    /// What of this moment is no member of the chord: "D5 (passing note)".
    /// A note that only makes a richer chord on the same root is not told of.
    fn foreign<'t>(
        &'t self,
        told: &'t Heading,
        now: Option<Chord>,
    ) -> impl Iterator<Item = String> + 't {
        let richer = now.filter(|now| now.root == told.chord.root);
        let richer = richer.map(|now| now.names()).unwrap_or_default();
        let members = told.chord.quality.names_on(told.chord.root);
        let named = self.sounding.iter().filter_map(move |(voice, _, note)| {
            let name = note.pitch.name;
            if members.contains(&name) {
                return None;
            }
            let sounds_as = members.iter().find(|own| own.pitch_class() == name.pitch_class());
            if let Some((own, what)) =
                sounds_as.and_then(|own| Some((own, member(&told.chord, *own)?)))
            {
                return Some(format!(
                    "{} (it sounds as {}, the {what})",
                    note.pitch.symbol(),
                    own.symbol()
                ));
            }
            // A tied note goes by the first of its notes.
            let known = &self.tune.voices[*voice as usize].notes;
            let mut line =
                told.foreign.iter().filter(|one| one.at.voice == *voice && one.name == name);
            let same = |at: u32| known.get(at as usize).is_some_and(|one| std::ptr::eq(one, *note));
            let before = |at: u32| known.get(at as usize).is_some_and(|one| one.event < note.event);
            let foreign = match line.clone().find(|one| same(one.at.note)) {
                Some(own) => own,
                None => line.rfind(|one| note.tied_in && before(one.at.note))?,
            };
            let kind = match foreign.kind {
                ForeignKind::Free if richer.contains(&name) => return None,
                ForeignKind::Free => "foreign to it",
                kind => kind.name(),
            };
            Some(format!("{} ({kind})", note.pitch.symbol()))
        });
        let mut seen = Vec::new();
        named.filter(move |text| {
            let fresh = !seen.contains(text);
            seen.push(text.clone());
            fresh
        })
    }

    /// What the note under the cursor is in the chord, where it is one among others.
    fn own_member(&self, chord: &Chord) -> Option<String> {
        let [own] = self.own() else { return None };
        if self.pitches.len() < 2 {
            return None;
        }
        let member = member(chord, own.pitch.name)?;
        Some(format!("this note: {}, the {member}", own.pitch.symbol()))
    }

    /// The notes under the cursor.
    fn own(&self) -> &'a [Note] {
        let holds = |voice: &&recte_score::Voice| {
            voice.events.as_ptr_range().contains(&std::ptr::from_ref(self.event))
        };
        let voice = self.tune.voices.iter().find(holds);
        voice.map_or(&[], |voice| voice.notes_of(self.event))
    }

    /// A melody under its symbol.
    fn by_symbol(&self, typed: &Typed<'_>) -> Option<Vec<String>> {
        let chord = typed.chords.first()?;
        let mut lines = vec![format!("{}, as the symbol says", heading(chord))];
        lines.push(format!("its notes: {}", spelled(&chord.names())));
        let key = self.key();
        lines.extend(degree_of(chord.root, &key).map(|place| format!("root: {place}")));
        for (_, _, note) in &self.sounding {
            let pitch = note.pitch;
            let place = match member(chord, pitch.name) {
                Some(member) => format!("the {member}"),
                None => "not in the chord".to_owned(),
            };
            let written = match note.written == pitch {
                true => String::new(),
                false => format!(" (written {})", note.written.symbol()),
            };
            let degree = degree_of(pitch.name, &key).map(|place| format!("; {place}"));
            let degree = degree.unwrap_or_default();
            lines.push(format!(
                "{} ({}){written}: {place}{degree}",
                pitch.name.words(),
                pitch.symbol()
            ));
        }
        Some(lines)
    }

    /// What hides a chord, as it sounds.
    fn hidden(&self, stack: &Stack) -> Vec<String> {
        let chord = Chord::new(stack.root, stack.quality);
        let spelling = spelled(&stack.quality.names_on(stack.root));
        let mut lines = vec![
            format!("{}, as it sounds", heading(&chord)),
            format!("{}; as a chord it is spelled {spelling}", self.notes()),
        ];
        lines.extend(self.root_in_key(chord.root));
        lines
    }

    /// A note, an interval, or notes that make no chord.
    fn few(&self) -> Option<Vec<String>> {
        let (first, last) = (*self.pitches.first()?, *self.pitches.last()?);
        if let [(_, _, note)] = self.sounding[..] {
            return Some(single(first, note, &self.key()));
        }
        // Octave doublings do not make an interval wider.
        let other =
            self.pitches.iter().find(|pitch| pitch.name.pitch_class() != first.name.pitch_class());
        let top = if self.classes.len() == 2 { *other.unwrap_or(&last) } else { last };
        let interval = Interval::between(first, top);
        let top = match self.classes.len() {
            1 | 2 => format!("{interval}"),
            count => match sonority::name(&self.pitches) {
                Some(named) => format!("{}, {interval} from lowest to highest", beyond(&named)),
                None => format!("{count} different notes, {interval} from lowest to highest"),
            },
        };
        Some(vec![top, self.notes()])
    }

    /// The notes as they sound; beside each that its player reads otherwise, what is read.
    fn notes(&self) -> String {
        let name = |note: &Note| match note.written == note.pitch {
            true => note.pitch.symbol(),
            false => format!("{} (written {})", note.pitch.symbol(), note.written.symbol()),
        };
        self.sounding.iter().map(|(_, _, note)| name(note)).collect::<Vec<_>>().join(" ")
    }

    fn root_in_key(&self, root: PitchName) -> Option<String> {
        degree_of(root, &self.key()).map(|place| format!("root: {place}"))
    }

    /// The key in force as it sounds: that of a transposing part is moved with its notes.
    fn key(&self) -> Key {
        let own = self.sounding.iter().find(|(_, other, _)| std::ptr::eq(*other, self.event));
        let Some((_, event, note)) = own.or(self.sounding.first()) else {
            return *self.tune.key(self.event);
        };
        let key = self.tune.key(event);
        let shift = note.pitch.name.fifths() - note.written.name.fifths();
        match key.tonic.filter(|_| shift != 0) {
            Some(tonic) => Key::new(PitchName::from_fifths(tonic.fifths() + shift), key.mode),
            None => *key,
        }
    }
}

/// "D major over C major (D | C)", "cluster from C to F".
fn beyond(named: &Sonority) -> String {
    match named.symbol() {
        Some(symbol) => format!("{} ({symbol})", named.words()),
        None => named.words(),
    }
}

/// The pile of thirds with the fewest rare names, and of those the one that changes fewest of the typed.
fn as_it_sounds(pitches: &[Pitch], classes: &[u8]) -> Option<Stack> {
    if !(3..=4).contains(&classes.len()) {
        return None;
    }
    let cost = |stack: &Stack| {
        let rare = stack.names.iter().filter(|name| name.is_rare()).count();
        (rare, pitches.iter().filter(|p| !stack.names.contains(&p.name)).count())
    };
    thirds(classes).into_iter().min_by_key(cost)
}

fn single(pitch: Pitch, note: &Note, key: &Key) -> Vec<String> {
    let mut lines = vec![format!("{} ({})", pitch.name.words(), pitch.symbol())];
    if note.written != pitch {
        lines.push(format!("written {}", note.written.symbol()));
    }
    lines.extend(degree_of(pitch.name, key));
    lines
}

#[cfg(test)]
mod tests;
