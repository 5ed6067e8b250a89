//! Who plays what, as the rules of playing see it: worked out once for a tune.
//!
//! A player reads one voice, or several that are the staves of one instrument. What he is asked for is told in two
//! ways: as strokes, note after note along a line, and as moments, what sounds at once. Whether a text is typed as
//! players read it or as it sounds is often not said; then there are several readings, and a rule holds with the one
//! that is kinder to the composer.

pub(crate) mod fingered;
pub(crate) mod lines;
mod moments;
mod parts;
pub(crate) mod plucked;
pub(crate) mod stops;
mod strokes;
mod tell;

pub(crate) use moments::{Held, Moment};
pub use parts::{Densest, Part, Unbroken, parts_of};
pub(crate) use strokes::Stroke;
pub(crate) use tell::{Remark, tell};

use crate::config::Config;
use crate::context::Context;
use recte_score::clock::Clock;
use recte_score::players::{Players, Playing, Who, is_for_the_feet, said_of};
use recte_score::{GroupKind, Note, Tune, Voice};
use recte_theory::Pitch;
use recte_theory::instruments::{Instrument, Level, Transposition};
use recte_theory::playability::{Figures, Verdict, note_set};
use std::cell::OnceCell;
use std::ops::Range;

/// What one player, or the players of one part, read.
pub(crate) struct Player<'a> {
    pub(crate) instrument: &'a Instrument,
    pub(crate) level: Level,
    pub(crate) players: Players,
    pub(crate) staves: Vec<Staff>,
    /// How the text may be meant, at least one way.
    readings: OnceCell<Vec<Reading>>,
    strokes: OnceCell<Vec<Stroke>>,
    moments: OnceCell<Vec<Moment>>,
}

/// One voice that a player reads, from an event to another.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Staff {
    pub(crate) voice: usize,
    pub(crate) events: Range<u32>,
    /// Whether it is for the feet: the pedals of an organ.
    pub(crate) feet: bool,
}

/// One way to understand typed notes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Reading {
    /// From what the text says sounds to what does.
    sounding: Transposition,
    /// From what the text says is read to what is.
    written: Transposition,
}

impl Reading {
    pub(crate) fn sounding(self, note: &Note) -> Pitch {
        self.sounding.sounding(note.pitch)
    }

    pub(crate) fn written(self, note: &Note) -> Pitch {
        self.written.sounding(note.written)
    }
}

/// All players of a tune, and its clock.
pub(crate) struct Idiom<'a> {
    pub(crate) players: Vec<Player<'a>>,
    pub(crate) figures: Figures,
    clock: OnceCell<Clock>,
}

impl<'a> Idiom<'a> {
    pub(crate) fn of(tune: &Tune, config: &Config, who: &Who<'a>) -> Idiom<'a> {
        let mut players: Vec<Player<'a>> = Vec::new();
        for (voice, stretches) in who.playing.iter().enumerate() {
            for stretch in stretches.iter().filter(|stretch| !stretch.events.is_empty()) {
                let pedals = stretch.instrument.pedalboard.is_some();
                let feet = pedals && is_for_the_feet(&tune.voices[voice].name);
                let mut staff = Staff { voice, events: stretch.events.clone(), feet };
                match players.iter_mut().find(|player| shares(tune, player, stretch, voice)) {
                    Some(player) => {
                        // The third staff of an organ, if it says nothing else, is for the feet (common practice, no source).
                        let says = says_another_part(tune, player, voice);
                        staff.feet |= pedals && player.staves.len() == 2 && !says;
                        player.staves.push(staff);
                    }
                    None => players.push(Player::new(config, tune, staff, stretch)),
                }
            }
        }
        Idiom { players, figures: config.playing, clock: OnceCell::new() }
    }

    /// The tempi of the tune.
    pub(crate) fn clock(&self, tune: &Tune) -> &Clock {
        self.clock.get_or_init(|| Clock::of(tune))
    }
}

impl<'a> Player<'a> {
    fn new(config: &Config, tune: &Tune, staff: Staff, stretch: &Playing<'a>) -> Player<'a> {
        let voice = &tune.voices[staff.voice];
        Player {
            instrument: stretch.instrument,
            level: level_of(config, tune, voice, stretch.instrument),
            players: stretch.players,
            readings: OnceCell::new(),
            staves: vec![staff],
            strokes: OnceCell::new(),
            moments: OnceCell::new(),
        }
    }

    /// How the text may be meant, at least one way.
    fn readings(&self, tune: &Tune) -> &[Reading] {
        self.readings.get_or_init(|| {
            let staff = &self.staves[0];
            let voice = &tune.voices[staff.voice];
            likely(readings(tune, voice, self.instrument), voice, staff, self.instrument)
        })
    }

    /// Note after note, line by line.
    pub(crate) fn strokes(&self, context: &Context<'_>) -> &[Stroke] {
        self.strokes.get_or_init(|| strokes::strokes(context, &self.staves))
    }

    /// What sounds at once, wherever something begins.
    pub(crate) fn moments(&self, context: &Context<'_>) -> &[Moment] {
        self.moments.get_or_init(|| moments::moments(context, &self.staves))
    }

    /// The stroke that begins with a note.
    pub(crate) fn stroke(&self, context: &Context<'_>, held: &Held) -> Option<&Stroke> {
        let event = context.tune.voices[held.voice].notes[held.note as usize].event;
        let strokes = self.strokes(context);
        let layer = context.tune.voices[held.voice].events[event as usize].layer;
        let key = |stroke: &Stroke| (stroke.voice, stroke.layer, stroke.event);
        // A note that a tie leads into belongs to the stroke before.
        let after = strokes.partition_point(|stroke| key(stroke) <= (held.voice, layer, event));
        strokes.get(after.checked_sub(1)?)
    }

    /// Whether the feet play a voice.
    pub(crate) fn has_feet_on(&self, voice: usize) -> bool {
        self.staves.iter().any(|staff| staff.feet && staff.voice == voice)
    }

    /// Whether a voice is a left hand whose signs are a convention, and which nothing is asked of.
    pub(crate) fn is_convention(&self, context: &Context<'_>, voice: usize) -> bool {
        let clef = &context.tune.voices[voice].clef.name;
        let left = self.instrument.left_hand.as_ref();
        left.is_some_and(|hand| hand.check == "none" && hand.clef == *clef)
    }

    /// The kindest of the answers that the readings of the text give.
    pub(crate) fn kindest<T>(
        &self,
        context: &Context<'_>,
        judge: impl Fn(Reading) -> T,
        verdict: impl Fn(&T) -> Verdict,
    ) -> T {
        let readings = self.readings(context.tune);
        let first = judge(readings[0]);
        readings[1..].iter().fold(first, |best, &reading| {
            if verdict(&best) == Verdict::Easy {
                return best;
            }
            let other = judge(reading);
            if verdict(&other) < verdict(&best) { other } else { best }
        })
    }

    /// "violin", "clarinet in B-flat", as in the middle of a sentence.
    pub(crate) fn name(&self) -> String {
        name(self.instrument)
    }
}

/// An instrument's name in the middle of a sentence; what stands in brackets is left out.
pub(crate) fn name(instrument: &Instrument) -> String {
    if instrument.id == "cello" {
        return "cello".to_owned();
    }
    let name = match instrument.name.split_once(" (") {
        Some((before, rest)) => {
            format!("{before}{}", rest.split_once(')').map_or("", |(_, after)| after))
        }
        None => instrument.name.clone(),
    };
    // "B-flat bass" keeps its capital.
    if name.chars().nth(1) == Some('-') {
        return name;
    }
    let mut words = name.split(' ');
    let first = words.next().unwrap_or_default();
    // Names of peoples and places keep their capital.
    let proper = ["English", "Irish", "Scottish", "Northumbrian", "Great", "Anglo", "Wagner"];
    if proper.contains(&first) {
        return name;
    }
    let mut letters = name.chars();
    let first = letters.next().map(|c| c.to_lowercase().to_string()).unwrap_or_default();
    format!("{first}{}", letters.as_str())
}

/// The players' level for a voice: what the composer said, what the settings say of the instrument, or of all.
pub(crate) fn level_of(
    config: &Config,
    tune: &Tune,
    voice: &Voice,
    instrument: &Instrument,
) -> Level {
    let said = said_of(tune, voice, "level").and_then(level);
    said.or(config.levels.get(&instrument.id).copied()).unwrap_or(config.level)
}

/// The level of that name.
pub(crate) fn level(word: &str) -> Option<Level> {
    match word {
        "professional" => Some(Level::Professional),
        "advanced" => Some(Level::Advanced),
        "school" => Some(Level::School),
        _ => None,
    }
}

/// Whether a voice is another staff of what a player reads already: two hands, manuals and pedals.
fn shares(tune: &Tune, player: &Player<'_>, other: &Playing<'_>, voice: usize) -> bool {
    let two_handed =
        other.instrument.stops.as_ref().is_some_and(|s| s.max_notes_per_hand.is_some());
    if !two_handed || player.instrument.id != other.instrument.id {
        return false;
    }
    let last = player.staves.last().map_or(0, |staff| staff.voice);
    let same_name = whole(&tune.voices[last].name) == whole(&tune.voices[voice].name);
    // One organist has all staves of the organ; "Organ 1" and "Organ 2" are two.
    let numbered = |voice: usize| tune.voices[voice].name.contains(|c: char| c.is_ascii_digit());
    let organ = player.instrument.pedalboard.is_some() && !(numbered(last) && numbered(voice));
    last + 1 == voice && (same_name || organ || braced(tune, last, voice))
}

/// A name without the hand it is for.
fn whole(name: &str) -> String {
    const HANDS: [&str; 10] =
        ["rh", "lh", "r.h.", "l.h.", "right", "left", "hand", "(rh)", "(lh)", "upper"];
    let hand = |word: &&str| {
        let word = word.to_lowercase();
        !HANDS.contains(&word.trim_matches(['(', ')', ','])) && word != "lower"
    };
    name.split_whitespace().filter(hand).collect::<Vec<_>>().join(" ")
}

/// Whether a voice has a name that its player's other staves do not have: "Choir" under "Great" and "Swell".
fn says_another_part(tune: &Tune, player: &Player<'_>, voice: usize) -> bool {
    let name = &tune.voices[voice].name;
    !name.is_empty() && player.staves.iter().all(|staff| tune.voices[staff.voice].name != *name)
}

/// Whether two voices stand in one brace.
fn braced(tune: &Tune, one: usize, other: usize) -> bool {
    let ids = [&tune.voices[one].id, &tune.voices[other].id];
    let holds = |members: &[recte_score::Group]| {
        let mut inside = Vec::new();
        collect(members, &mut inside);
        ids.iter().all(|id| inside.contains(&id.as_str()))
    };
    tune.groupings.iter().any(|grouping| braces(&grouping.groups, &holds))
}

fn braces(groups: &[recte_score::Group], holds: &dyn Fn(&[recte_score::Group]) -> bool) -> bool {
    groups.iter().any(|group| {
        group.kind == GroupKind::Brace && holds(&group.members) || braces(&group.members, holds)
    })
}

fn collect<'a>(groups: &'a [recte_score::Group], ids: &mut Vec<&'a str>) {
    for group in groups {
        ids.push(&group.id);
        collect(&group.members, ids);
    }
}

/// Of several readings, those under which fewest notes are not on the instrument.
fn likely(
    readings: Vec<Reading>,
    voice: &Voice,
    staff: &Staff,
    instrument: &Instrument,
) -> Vec<Reading> {
    let Some(range) = instrument.range(Level::Professional) else { return readings };
    if readings.len() == 1 {
        return readings;
    }
    let own = voice.notes.iter().filter(|note| staff.events.contains(&note.event));
    let beyond = |reading: &Reading| {
        let missing = |note: &&Note| {
            let sounding = reading.sounding(note);
            !range.contains_sounding(sounding)
                || note_set::note(instrument, sounding) != Verdict::Easy
        };
        own.clone().filter(missing).count()
    };
    let counts: Vec<usize> = readings.iter().map(beyond).collect();
    let fewest = counts.iter().min().copied();
    readings.into_iter().zip(counts).filter(|(_, n)| Some(*n) == fewest).map(|(r, _)| r).collect()
}

/// Whether the key of a voice beside that of another says that it is typed as its player reads it.
fn is_typed_as_read(tune: &Tune, voice: &Voice, usual: Transposition) -> bool {
    let fifths = |voice: &Voice| {
        let key = tune.keys.get(usize::from(voice.bars.first()?.key))?;
        key.signature.fifths()
    };
    let apart = 12 * usual.diatonic - 7 * usual.chromatic;
    let Some(own) = fifths(voice).filter(|_| apart != 0) else { return false };
    // Drums and parts without a signature tell nothing of the key.
    let speaks =
        |other: &&Voice| other.id != voice.id && !other.transposes && !other.clef.is_percussion();
    let others = tune.voices.iter().filter(speaks);
    let told = |other: &Voice| {
        let key = fifths(other);
        key.is_some_and(|key| key != own && (own - key - apart).rem_euclid(12) == 0)
    };
    let others: Vec<&Voice> = others.collect();
    2 * others.iter().filter(|other| told(other)).count() > others.len()
}

/// How the notes of a voice may be meant for an instrument.
fn readings(tune: &Tune, voice: &Voice, instrument: &Instrument) -> Vec<Reading> {
    let none = Transposition::default();
    let usual = instrument.transposition.unwrap_or_default();
    let told = voice.transposes || voice.clef.octaves != 0;
    if told {
        return vec![Reading { sounding: none, written: none }];
    }
    if is_typed_as_read(tune, voice, usual) {
        return vec![Reading { sounding: usual, written: none }];
    }
    let back = Transposition { chromatic: -usual.chromatic, diatonic: -usual.diatonic };
    let mut all =
        vec![Reading { sounding: none, written: back }, Reading { sounding: usual, written: none }];
    let clef = &voice.clef.name;
    for other in &instrument.alternative_transpositions {
        let plain = other.clef == *clef || clef.is_empty() && other.clef == "treble";
        if plain {
            all.push(Reading { sounding: other.transposition, written: none });
        }
    }
    // A line that tenors read under an octave clef may lack the clef's eight.
    let treble = matches!(clef.as_str(), "" | "treble");
    if treble && instrument.clefs.iter().any(|clef| clef == "treble-8") {
        let octave = Transposition { chromatic: -12, diatonic: -7 };
        all.push(Reading { sounding: octave, written: none });
    }
    let mut readings: Vec<Reading> = Vec::with_capacity(all.len());
    for reading in all {
        if !readings.iter().any(|known| known.sounding == reading.sounding) {
            readings.push(reading);
        }
    }
    readings
}
