//! The notes of one staff, stream by stream, and what holds for them: key, clef, transposition.

use recte_score::{Clef, Event, EventKind, Tune, Tuplet, Voice};
use recte_theory::{Key, Letter, Time};
use std::fmt::Write;

pub(super) fn facts(tune: &Tune, staff: usize, voices: &[&Voice], all: &mut Vec<String>) {
    let Some(first) = voices.first() else { return };
    let names: Vec<&str> =
        voices.iter().map(|v| v.name.as_str()).filter(|n| !n.is_empty()).collect();
    let short: Vec<&str> =
        voices.iter().map(|v| v.subname.as_str()).filter(|n| !n.is_empty()).collect();
    all.push(format!("staff {staff}: name {:?} short {:?}", names.join(", "), short.join(", ")));
    clefs(tune, staff, first, all);
    keys(tune, staff, first, all);
    for voice in voices {
        for (number, bar) in voice.bars.iter().enumerate() {
            for layer in 0..bar.layers.max(1) {
                let events = (bar.events.start..).zip(voice.events_of(bar));
                let own: Vec<(u32, &Event)> =
                    events.filter(|(_, event)| event.layer == layer).collect();
                let stream = stream(tune, voice, bar.length, &own);
                if !stream.is_empty() {
                    all.push(format!("staff {staff} bar {number}: {stream}"));
                }
            }
        }
    }
}

fn clef_text(clef: &Clef, transpose: i32) -> String {
    let name = if clef.name.is_empty() { "treble" } else { &clef.name };
    // The line a clef usually stands on need not be said.
    let usual = match name {
        "treble" => 2,
        "alto" => 3,
        "tenor" | "bass" => 4,
        _ => 0,
    };
    let line = if clef.line == 0 { usual } else { clef.line };
    format!("{name} on {line}, octaves {}, transposes {transpose}", clef.octaves)
}

fn clefs(tune: &Tune, staff: usize, voice: &Voice, all: &mut Vec<String>) {
    let mut last = clef_text(&voice.clef, voice.transpose);
    all.push(format!("staff {staff}: clef {last}"));
    for change in &voice.clef_changes {
        let Some(event) = voice.events.get(change.event as usize) else { continue };
        let text = clef_text(&change.clef, change.transpose);
        if text != last {
            all.push(format!("staff {staff}: clef at {}+{}: {text}", event.bar, event.offset));
        }
        last = text;
    }
    let _ = tune;
}

fn key_text(key: &Key) -> String {
    // A signature that is not its tonic's own has none in MusicXML; the export says so.
    let own = key.tonic.is_some_and(|tonic| Key::new(tonic, key.mode).signature == key.signature);
    let mut text = if own { format!("{key}:") } else { "own signature:".to_owned() };
    for letter in Letter::ALL.into_iter().filter(|letter| key.signature.alter(*letter) != 0) {
        let _ = write!(text, " {}{:+}", letter.to_char(), key.signature.alter(letter));
    }
    text
}

fn keys(tune: &Tune, staff: usize, voice: &Voice, all: &mut Vec<String>) {
    let mut last = String::new();
    for (number, bar) in voice.bars.iter().enumerate() {
        let own = tune.keys.get(usize::from(bar.key)).map(key_text).unwrap_or_default();
        let mut seen = vec![(Time::ZERO, own)];
        for event in voice.events_of(bar).iter().filter(|e| !e.grace && e.layer == 0) {
            seen.push((event.offset, key_text(tune.key(event))));
        }
        for (offset, key) in seen {
            if key != last {
                all.push(format!("staff {staff}: key at {number}+{offset}: {key}"));
                last = key;
            }
        }
    }
}

/// One line of music of a bar.
fn stream(tune: &Tune, voice: &Voice, bar: Time, events: &[(u32, &Event)]) -> String {
    let mut text = String::new();
    let mut before: Option<(&Event, bool)> = None;
    for (place, (_, event)) in events.iter().enumerate() {
        let hidden = event.hidden || event.kind == EventKind::InvisibleRest;
        if hidden {
            before = None;
            continue;
        }
        let ratio = event.tuplet.and_then(|place| voice.tuplets.get(place as usize)).copied();
        if event.grace {
            let stroke = if event.slashed { "/" } else { "" };
            // How long grace notes are is left open (4.12): one may only be longer than another.
            let run = |(_, event): &&(u32, &Event)| event.grace;
            let before = events[..place].iter().rev().take_while(run);
            let run = before.chain(events[place..].iter().take_while(run));
            let shortest = run.map(|(_, event)| event.grace_length).min().unwrap_or_default();
            let times = event.grace_length / shortest;
            let _ = write!(text, " {{{stroke}{times} {}}}", pitches(voice, event, false, false));
            continue;
        }
        let flags = flagged(event, ratio);
        let beam = before.is_some_and(|(_, flagged)| flagged) && flags && event.joined;
        before = Some((event, flags && event.kind == EventKind::Notes));
        // A rest that fills its bar is a bar's rest, whichever way it is typed.
        if event.kind != EventKind::Notes && event.duration == bar {
            let _ = write!(text, " Z");
            continue;
        }
        let pieces = pieces(event.duration, ratio, event.offset);
        let mut onset = event.offset;
        for (place, piece) in pieces.iter().enumerate() {
            let (first, last) = (place == 0, place + 1 == pieces.len());
            let joined = if beam && first { "_" } else { " " };
            let _ =
                write!(text, "{joined}{onset}:{piece} {}", pitches(voice, event, !first, !last));
            onset += *piece;
        }
    }
    let _ = tune;
    text
}

fn flagged(event: &Event, ratio: Option<Tuplet>) -> bool {
    let scale = ratio.map_or(Time::WHOLE, |t| Time::new(t.actual.into(), t.normal.into()));
    event.kind == EventKind::Notes && event.duration * scale < Time::new(1, 4)
}

/// What sounds, as read and as heard.
fn pitches(voice: &Voice, event: &Event, goes_on: bool, goes_further: bool) -> String {
    if event.kind != EventKind::Notes {
        return "rest".to_owned();
    }
    let mut notes: Vec<_> = voice.notes_of(event).iter().collect();
    notes.sort_by_key(|note| (note.pitch.steps(), note.pitch.midi()));
    let one = |note: &&recte_score::Note| {
        let into = if note.tied_in || goes_on { "~" } else { "" };
        let out = match note.tied_out || goes_further {
            true if note.tie_dotted && !goes_further => ".-",
            true => "-",
            false => "",
        };
        format!("{into}{}{out}", note.pitch)
    };
    notes.iter().map(one).collect::<Vec<_>>().join("+")
}

/// A length as the signs that make it up, at most three dots each: one for nearly all.
fn pieces(duration: Time, tuplet: Option<Tuplet>, offset: Time) -> Vec<Time> {
    let scale = tuplet.map_or(Time::WHOLE, |t| Time::new(t.actual.into(), t.normal.into()));
    let typed = duration * scale;
    let odd = typed.denominator() >> typed.denominator().trailing_zeros();
    let power = if odd > 1 { 1i64 << (63 - odd.leading_zeros()) } else { 1 };
    let scale = scale * Time::new(odd, power);
    let mut left = duration * scale;
    let mut found = Vec::new();
    while left > Time::ZERO && found.len() < 64 {
        let above = left.numerator();
        let top = 63 - above.leading_zeros();
        let dots = (0..=3u32.min(top)).rev().find(|dots| {
            let ones = (1i64 << (dots + 1)) - 1;
            above >> (top - dots) == ones
        });
        let bits = ((1i64 << (dots.unwrap_or(0) + 1)) - 1) << (top - dots.unwrap_or(0));
        let sign = Time::new(bits, left.denominator());
        found.push(sign / scale);
        left -= sign;
    }
    if found.first().is_some_and(|first| !offset.modulo(*first).is_zero()) {
        found.reverse();
    }
    found
}
