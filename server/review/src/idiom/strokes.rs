//! What one player does note after note.

use super::Staff;
use crate::context::Context;
use recte_score::{Dynamic, Event, Mark, MarkPlace, Meaning, Note, Tune, Voice};
use recte_theory::Time;
use std::ops::Range;

/// A note, or several struck together, in its line, from its attack to the end of its ties.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Stroke {
    pub(crate) voice: usize,
    /// The layer of the voice: lines of different layers are different lines.
    pub(crate) layer: u8,
    /// Its first event.
    pub(crate) event: u32,
    /// The notes of that event.
    pub(crate) notes: Range<u32>,
    pub(crate) onset: Time,
    pub(crate) end: Time,
    pub(crate) bar: u32,
    /// Whether a slur leads into it: no tongue, no new bow.
    pub(crate) slurred: bool,
    /// Whether a new syllable is sung to it; nothing where there are no words.
    pub(crate) syllable: bool,
    pub(crate) plucked: bool,
    pub(crate) tremolo: bool,
    pub(crate) trill: bool,
    pub(crate) harmonic: bool,
    pub(crate) broken: bool,
    /// Whether a glissando begins here.
    pub(crate) slides: bool,
    pub(crate) breath: bool,
    /// Whether a grace note stands before it.
    pub(crate) graced: bool,
    /// How loud, where that is known.
    pub(crate) dynamic: Option<Dynamic>,
}

impl Stroke {
    /// Its notes as they are typed.
    pub(crate) fn typed<'t>(&self, tune: &'t Tune) -> &'t [Note] {
        let notes = self.notes.start as usize..self.notes.end as usize;
        tune.voices[self.voice].notes.get(notes).unwrap_or_default()
    }

    /// Whether another stroke is of the same line, in the same bar or the one beside it.
    pub(crate) fn is_near(&self, other: &Stroke) -> bool {
        (self.voice, self.layer) == (other.voice, other.layer) && self.bar.abs_diff(other.bar) <= 1
    }
}

/// All strokes, staff by staff, and in each staff layer by layer.
pub(super) fn strokes(context: &Context<'_>, staves: &[Staff]) -> Vec<Stroke> {
    let mut all = Vec::new();
    for staff in staves {
        let voice = &context.tune.voices[staff.voice];
        let signs = Signs::of(voice);
        let mut lines: Vec<Vec<Stroke>> = Vec::new();
        let mut graced = false;
        for (index, event) in voice.events.iter().enumerate() {
            let index = index as u32;
            graced |= event.grace;
            if !staff.events.contains(&index) || !event.sounds() {
                continue;
            }
            let layer = usize::from(event.layer);
            if lines.len() <= layer {
                lines.resize_with(layer + 1, Vec::new);
            }
            let onset = context.tune.onset(event);
            if !goes_on(voice, event, lines[layer].last_mut(), onset) {
                let stroke = signs.stroke(context.tune, staff.voice, index, event, graced);
                lines[layer].push(stroke);
            }
            graced = false;
        }
        all.extend(lines.into_iter().flatten());
    }
    all
}

/// Whether an event only goes on with the stroke before it, which then lasts longer.
fn goes_on(voice: &Voice, event: &Event, last: Option<&mut Stroke>, onset: Time) -> bool {
    let tied = voice.notes_of(event).iter().all(|note| note.tied_in);
    match last {
        Some(last) if tied && last.end == onset => {
            last.end = onset + event.duration;
            true
        }
        _ => false,
    }
}

/// The signs of a voice, by event.
struct Signs {
    slurred: Vec<bool>,
    syllables: Vec<bool>,
    states: Vec<State>,
    /// Events at which a glissando is written.
    slides: Vec<u32>,
}

/// What holds at an event.
#[derive(Clone, Copy, Default)]
struct State {
    plucked: bool,
    trilling: bool,
    dynamic: Option<Dynamic>,
    /// On this event alone.
    tremolo: bool,
    trill: bool,
    harmonic: bool,
    broken: bool,
    breath: bool,
}

impl Signs {
    fn of(voice: &Voice) -> Signs {
        let count = voice.events.len();
        let mut slurred = vec![false; count];
        for slur in &voice.slurs {
            let inside = slur.from as usize + 1..(slur.to as usize + 1).min(count);
            if let Some(inside) = slurred.get_mut(inside) {
                inside.fill(true);
            }
        }
        let mut syllables = vec![false; count];
        for syllable in voice.syllables.iter().filter(|syllable| !syllable.held) {
            if let Some(sung) = syllables.get_mut(syllable.event as usize) {
                *sung = true;
            }
        }
        let written = |mark: &&Mark| mark.text.to_lowercase().contains("gliss");
        let slides = voice.marks.iter().filter(written).map(|mark| mark.event).collect();
        Signs { slurred, syllables, states: states(voice), slides }
    }

    fn stroke(&self, tune: &Tune, voice: usize, index: u32, event: &Event, graced: bool) -> Stroke {
        let onset = tune.onset(event);
        let at = index as usize;
        let state = self.states[at];
        Stroke {
            voice,
            layer: event.layer,
            event: index,
            notes: event.notes.clone(),
            onset,
            end: onset + event.duration,
            bar: event.bar,
            slurred: self.slurred[at],
            syllable: self.syllables[at],
            plucked: state.plucked,
            tremolo: state.tremolo,
            trill: state.trill || state.trilling,
            harmonic: state.harmonic,
            broken: state.broken,
            slides: self.slides.contains(&index),
            breath: state.breath,
            graced,
            dynamic: state.dynamic,
        }
    }
}

fn states(voice: &Voice) -> Vec<State> {
    let mut marks: Vec<_> = voice
        .marks
        .iter()
        .filter(|mark| matches!(mark.on, MarkPlace::Event | MarkPlace::Space))
        .filter_map(|mark| Some((mark.event, mark.meaning?)))
        .collect();
    marks.sort_by_key(|(event, _)| *event);
    let mut marks = marks.into_iter().peekable();
    let mut state = State::default();
    let mut states = Vec::with_capacity(voice.events.len());
    for index in 0..voice.events.len() as u32 {
        let (mut ends_trill, mut ends_hairpin) = (false, false);
        while let Some((_, meaning)) = marks.next_if(|(event, _)| *event <= index) {
            match meaning {
                Meaning::Dynamic(level) => state.dynamic = Some(level),
                Meaning::CrescendoStart | Meaning::DiminuendoStart => ends_hairpin = true,
                Meaning::Pizzicato | Meaning::Snap => state.plucked = true,
                Meaning::Arco => state.plucked = false,
                Meaning::TrillStart => state.trilling = true,
                Meaning::TrillEnd => ends_trill = true,
                Meaning::Trill => state.trill = true,
                Meaning::Tremolo => state.tremolo = true,
                Meaning::Open | Meaning::Harmonic => state.harmonic = true,
                Meaning::Arpeggio => state.broken = true,
                Meaning::Breath => state.breath = true,
                _ => {}
            }
        }
        states.push(state);
        // Grace notes have the signs of the note they stand before.
        if !voice.events[index as usize].grace {
            state.trill = false;
            state.tremolo = false;
            state.harmonic = false;
            state.broken = false;
            state.breath = false;
        }
        state.trilling &= !ends_trill;
        if ends_hairpin {
            state.dynamic = None;
        }
    }
    states
}
