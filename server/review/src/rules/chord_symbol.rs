//! # A chord symbol that the notes contradict
//!
//! Over a full texture a chord symbol is read by one player while others play the notes; where the two say different
//! chords, somebody plays wrong notes. The remark is made where three or more different notes are heard under the
//! symbol, one chord holds for most of its time, and the two cannot be meant together: the notes have members that the
//! symbol does not, and the symbol has notes that nobody plays. It is made only where most symbols of the tune say what
//! sounds: elsewhere they are words, or meant for something else.
//!
//! A symbol that leaves out a seventh, or adds one, is left alone; so are its bass (an accompanist's business), passing
//! and neighbour notes, suspensions, and a symbol over a melody. Where one of the alternatives in `G(Em)` fits, all is
//! well.
//!
//! What to do: write the chord that sounds, or mend the notes.
//!
//! Source: abc standard v2.1, 4.18 (chord symbols name the chords to be played with the notes); Open Music Theory,
//! "Embellishing tones" (which notes are no members). How much has to differ is common practice, no source.
//!
//! ```abc flagged
//! X:1
//! M:4/4
//! L:1/4
//! K:C
//! "C"[CEGc]4|"F"[DFAd]2"C"[B,DGd]2|"C"[CEGc]4|]
//! ```
//!
//! ```abc fixed
//! X:1
//! M:4/4
//! L:1/4
//! K:C
//! "C"[CEGc]4|"F"[DFAd]2"G"[B,DGd]2|"C"[CEGc]4|]
//! ```
//!
//! Sevenths left out, a suspension, a bass in small letters, an alternative:
//! ```abc quiet
//! X:1
//! M:4/4
//! L:1/4
//! K:C
//! "C/e"[EGc]4|"G"[G,DFB]4|"C"[CFG]2[CEG]2|"F(Dm)"[DFA]4|"Am7"[CEGA]4|]
//! ```
//!
//! A melody says nothing against its symbols:
//! ```abc quiet
//! X:1
//! M:4/4
//! L:1/4
//! K:C
//! "F"EGBd|"C"FAcf|]
//! ```

use crate::chord_symbols::{Typed, classes, symbol_text, typed_symbols};
use crate::context::Context;
use crate::finding::{Finding, Fix, Severity};
use crate::rule::{Family, Rule};
use crate::words::list;
use recte_notation::write::TextEdit;
use recte_score::harmony::{Harmony, Heading};
use recte_score::{MarkPlace, Sounding, Tune};
use recte_theory::chord::Chord;
use recte_theory::{PitchName, Time};
use std::collections::BTreeSet;

pub(crate) const RULE: Rule = Rule {
    id: "",
    doc: "",
    family: Family::Harmony,
    severity: Severity::Hint,
    summary: "a chord symbol that the notes of a full texture contradict",
    check,
};

/// So many symbols have to say what sounds for each that does not, or they are written for something else.
const AGREE: usize = 2;
/// In hundredths of what sounds: what is not in the symbol has to be heard so much …
const UNSAID: i64 = 25;
/// … and all that is foreign to the chord heard no more than this.
const FOREIGN: i64 = 20;

fn check(context: &Context<'_>, findings: &mut Vec<Finding>) {
    if !may_be_full(context.tune) {
        return;
    }
    let symbols = typed_symbols(context.tune);
    if symbols.iter().all(|typed| typed.chords.is_empty()) {
        return;
    }
    let mut sounds: Vec<&Sounding> = context.soundings().iter().collect();
    let pitched = |voice: u32| !context.tune.voices[voice as usize].clef.is_percussion();
    sounds.retain(|sound| pitched(sound.voice));
    sounds.sort_by_key(|sound| sound.onset);
    let judged = symbols.iter().filter(|typed| is_judged(context.tune, typed));
    let judged: Vec<Judged> =
        judged.filter_map(|typed| judged_one(context, typed, &sounds)).collect();
    let agree = judged.iter().filter(|one| matches!(one, Judged::Agrees)).count();
    let said = judged.len() - agree;
    if agree >= AGREE && agree >= said * AGREE {
        findings.extend(judged.into_iter().filter_map(|one| match one {
            Judged::Contradicts(finding) => Some(*finding),
            Judged::Agrees => None,
        }));
    }
}

/// What the notes say of a symbol.
enum Judged {
    Agrees,
    Contradicts(Box<Finding>),
}

/// Whether three notes can sound at once anywhere.
fn may_be_full(tune: &Tune) -> bool {
    let most = |voice: &recte_score::Voice| {
        let notes = voice.events.iter().filter(|event| event.sounds());
        let most = notes.map(|event| event.notes.len()).max().unwrap_or(0);
        most * usize::from(voice.bars.iter().map(|bar| bar.layers).max().unwrap_or(1).max(1))
    };
    tune.voices.iter().map(most).sum::<usize>() >= 3
}

/// Whether it is a chord alone on its note, in a part that reads what sounds.
fn is_judged(tune: &Tune, typed: &Typed<'_>) -> bool {
    let voice = &tune.voices[typed.voice];
    let transposed = |semitones: i32| semitones % 12 != 0;
    !typed.chords.is_empty()
        && !typed.shares
        && matches!(typed.mark.on, MarkPlace::Event | MarkPlace::Line(_))
        && !transposed(voice.transpose)
        && !voice.clef_changes.iter().any(|change| transposed(change.transpose))
}

/// What the notes say of a symbol; nothing where they say too little.
fn judged_one(context: &Context<'_>, typed: &Typed<'_>, sounds: &[&Sounding]) -> Option<Judged> {
    let tune = context.tune;
    let bar = tune.bars.get(typed.event.bar as usize)?;
    let (from, bar_ends) = (typed.onset, bar.start + bar.length);
    let to = typed.end.min(bar_ends);
    let heard = Heard::of(sounds, from, to);
    let main = Main::of(context.block.harmonies(), from, to)?;
    let members: BTreeSet<u8> = main.names.iter().map(|name| name.pitch_class()).collect();
    let foreign = heard.share(|class| !members.contains(&class));
    if members.len() < 3 || !heard.is_full(&members) || foreign > FOREIGN {
        return None;
    }
    let contradicts = |chord: &Chord| {
        let said = meant(chord);
        let unsaid = heard.share(|class| members.contains(&class) && !said.contains(&class));
        let mut essential = essential(chord);
        unsaid >= UNSAID && essential.any(|class| heard.times[usize::from(class)].is_zero())
    };
    if !typed.chords.iter().all(contradicts) {
        return Some(Judged::Agrees);
    }
    let said = typed.chords.first()?;
    let message = format!(
        "The symbol says {} ({}); the notes {} are {}.",
        said.words(),
        list(said.names().into_iter()),
        list(main.names.iter().copied()),
        main.chord.words(),
    );
    let whole = main.first.onset <= from && to <= main.last.end && main.chord.omitted.is_none();
    let fixes = whole.then(|| rewritten(context, typed, &main.chord)).flatten();
    let at = context.at_event(typed.voice, typed.event, message);
    let finding = Finding { span: typed.mark.span, fixes: fixes.into_iter().collect(), ..at };
    Some(Judged::Contradicts(Box::new(finding)))
}

/// The sounds of a symbol, with the seventh that a major triad may always have as a dominant, and a diminished one.
fn meant(chord: &Chord) -> BTreeSet<u8> {
    let mut said = classes(chord);
    let seventh = match chord.quality.name.as_str() {
        "major triad" => Some(10),
        "diminished triad" => Some(9),
        _ => None,
    };
    said.extend(seventh.map(|seventh| (chord.root.pitch_class() + seventh) % 12));
    said
}

/// Root and third (or what stands for it), and a fifth that is altered: what a listener knows the chord by.
fn essential(chord: &Chord) -> impl Iterator<Item = u8> + use<> {
    let intervals = &chord.quality.intervals;
    let kept = intervals.iter().take(3).filter(|one| one.semitones != 7);
    let root = chord.root.fifths();
    let names: Vec<u8> =
        kept.map(|one| PitchName::from_fifths(root + one.fifths()).pitch_class()).collect();
    names.into_iter()
}

/// What holds for most of a stretch of time.
struct Main<'a> {
    chord: Chord,
    /// The names of its members that sound, the root first.
    names: Vec<PitchName>,
    first: &'a Harmony,
    last: &'a Harmony,
}

impl<'a> Main<'a> {
    /// The chord that holds for three quarters of a stretch at least, whatever is in the bass.
    fn of(all: &'a [Harmony], from: Time, to: Time) -> Option<Main<'a>> {
        let first = all.partition_point(|harmony| harmony.end <= from);
        let here: Vec<&Harmony> =
            all[first..].iter().take_while(|harmony| harmony.onset < to).collect();
        let what = |one: &&Harmony| {
            one.chord.as_ref().map(|told| (told.chord.root, told.chord.quality.order))
        };
        let shared = |run: &&[&Harmony]| {
            let (Some(first), Some(last)) = (run.first(), run.last()) else { return Time::ZERO };
            last.end.min(to) - first.onset.max(from)
        };
        let longest = here.chunk_by(|a, b| what(a) == what(b)).max_by_key(shared)?;
        let enough = shared(&longest) * Time::new(4, 1) >= (to - from) * Time::new(3, 1);
        let headings: Vec<&Heading> = longest.iter().filter_map(|one| one.chord.as_ref()).collect();
        let mut chord = headings.first().filter(|_| enough)?.chord;
        let sounds = |name: &PitchName| headings.iter().any(|told| told.names.contains(name));
        let all = chord.quality.names_on(chord.root);
        chord.omitted = chord.omitted.filter(|_| !all.iter().all(sounds));
        let names = all.into_iter().filter(sounds).collect();
        Some(Main { chord, names, first: longest.first()?, last: longest.last()? })
    }
}

/// What is heard over a stretch of time.
struct Heard {
    /// How long each sound, 0 for C, in whole notes; two that sound together count twice.
    times: [Time; 12],
    all: Time,
    /// When something begins or ends, and what sounds from there.
    moments: Vec<(Time, BTreeSet<u8>)>,
    length: Time,
}

impl Heard {
    fn of(sounds: &[&Sounding], from: Time, to: Time) -> Heard {
        let end = sounds.partition_point(|sound| sound.onset < to);
        let here: Vec<&&Sounding> = sounds[..end].iter().filter(|one| one.end > from).collect();
        let mut times = [Time::ZERO; 12];
        let mut edges = BTreeSet::from([from]);
        let class = |sound: &Sounding| sound.pitch.name.pitch_class();
        for sound in &here {
            let (onset, end) = (sound.onset.max(from), sound.end.min(to));
            times[usize::from(class(sound))] += end - onset;
            edges.extend([onset, end]);
        }
        edges.remove(&to);
        let sounding = |at: Time| {
            let now = here.iter().filter(|sound| sound.onset <= at && at < sound.end);
            now.map(|sound| class(sound)).collect()
        };
        let moments = edges.into_iter().map(|at| (at, sounding(at))).collect();
        Heard { times, all: times.iter().copied().sum(), moments, length: to - from }
    }

    /// In hundredths, how much of what sounds are these.
    fn share(&self, wanted: impl Fn(u8) -> bool) -> i64 {
        let own: Time =
            (0u8..12).filter(|one| wanted(*one)).map(|one| self.times[usize::from(one)]).sum();
        let share = own * Time::new(100, 1) / self.all;
        if self.all.is_zero() { 0 } else { share.numerator() / share.denominator() }
    }

    /// Whether all these are heard, and for half the time two different ones together.
    fn is_full(&self, members: &BTreeSet<u8>) -> bool {
        let ends = self.moments.iter().skip(1).map(|(at, _)| *at);
        let last = self.moments.first().map_or(Time::ZERO, |(at, _)| *at + self.length);
        let lengths = self.moments.iter().zip(ends.chain([last]));
        let full: Time = lengths
            .filter(|((_, sounding), _)| sounding.len() > 1)
            .map(|((at, _), end)| end - *at)
            .sum();
        full + full >= self.length
            && members.iter().all(|class| !self.times[usize::from(*class)].is_zero())
    }
}

/// The symbol of the chord that sounds, with signs as they are typed, and with a bass only where one was typed.
fn rewritten(context: &Context<'_>, typed: &Typed<'_>, chord: &Chord) -> Option<Fix> {
    let old = &*typed.mark.text;
    if context.block.text.get(typed.mark.span.range()) != Some(format!("\"{old}\"").as_str()) {
        return None;
    }
    let chord = match old.contains('/') {
        true => *chord,
        false => Chord { bass: chord.root, inversion: 0, ..*chord },
    };
    let mut text = symbol_text(&chord)?;
    if old.contains(['♯', '♭']) {
        text = chord.symbol();
    }
    let edit = TextEdit { span: typed.mark.span, text: format!("\"{text}\"") };
    Some(context.fix(format!("Write {}", chord.symbol()), vec![edit]))
}

#[cfg(test)]
#[path = "../rule_tests/chord_symbol.rs"]
mod tests;
