//! Chord symbols written over what sounds, and taken away again. Nothing but symbols is touched.

use super::Rewriting;
use super::place::Place;
use crate::harmony::Harmonies;
use recte_notation::Block;
use recte_notation::write::{Refusal, TextEdit, reads_as_well, same_signs};
use recte_review::chord_symbols::{Typed, chords_of, symbol_text};
use recte_score::{Event, EventKind, Mark, MarkKind, MarkPlace, Span, Tune, Voice};
use recte_theory::Time;

/// Offers to write the symbols of the harmonies that begin in these bars, and to remove those that are typed.
pub(super) fn chord_symbols(place: &mut Place<'_>) -> Vec<Rewriting> {
    let bars = place.bars(place.from, place.to);
    let Written { edits, left } = written(place);
    let but = match left {
        0 => String::new(),
        1 => ", all but 1 that begins under a held note".to_owned(),
        several => format!(", all but {several} that begin under held notes"),
    };
    let jobs = [
        (format!("Write chord symbols into {bars}{but}"), edits),
        (format!("Remove the chord symbols of {bars}"), removed(place)),
    ];
    let mut found = Vec::new();
    for (title, edits) in jobs {
        if !edits.is_empty() {
            found.extend(place.offer_proved(title, |place| {
                let held = place.is_unproved() || symbols_alone(place.block(), &edits);
                Ok::<_, Refusal>(held.then(|| edits.clone()))
            }));
        }
    }
    found
}

/// Symbols to be typed, and how many chords there is no place for.
#[derive(Default)]
struct Written {
    edits: Vec<TextEdit>,
    left: usize,
}

/// A symbol for each harmony that begins in these bars, in one voice: the one that has most symbols, else the first. A
/// harmony that begins while that voice holds a note gets its symbol where the note begins, if no other chord has been
/// heard since, else at the voice's next note or rest, if it lasts until then. Where a symbol stands, in this voice or in
/// another, none is typed.
fn written(place: &Place<'_>) -> Written {
    let harmonies = Harmonies::of(place.block());
    let tune = harmonies.tune;
    let symbols = harmonies.symbols();
    let Some(voice) = voice_for(tune, &symbols) else { return Written::default() };
    let Some((from, to)) = tune.bars.get(place.from as usize).zip(tune.bars.get(place.to as usize))
    else {
        return Written::default();
    };
    let (from, to) = (from.start, to.start + to.length);
    let own = &tune.voices[voice];
    let mut events: Vec<(Time, &Event)> = own
        .events
        .iter()
        .filter(|event| carries(event))
        .map(|event| (tune.onset(event), event))
        .collect();
    events.sort_by_key(|(onset, _)| *onset);
    let mut found = Written::default();
    let mut last = String::new();
    // Until when a chord has been heard.
    let mut heard = from;
    for harmony in harmonies.between(from, to) {
        let since = std::mem::replace(&mut heard, harmony.end);
        let text = symbol_text(&harmony.heading.chord).filter(|_| harmony.onset >= from);
        let Some(text) = text else { continue };
        let next = events.partition_point(|(onset, _)| *onset < harmony.onset);
        let begins = events.get(next).filter(|(onset, _)| *onset == harmony.onset);
        let held = next.checked_sub(1).and_then(|at| events.get(at));
        let held = held
            .filter(|(onset, event)| *onset >= since && harmony.onset < *onset + event.duration);
        let until = harmony.end.min(to);
        let later = events.get(next).filter(|(onset, _)| *onset < until);
        let at = begins.or(held).or(later);
        let there = |typed: &&Typed<'_>| {
            let moment = at.map_or(harmony.onset, |(onset, _)| *onset);
            let own = typed.voice == voice || !typed.chords.is_empty();
            own && (typed.onset == moment || typed.onset == harmony.onset)
        };
        if let Some(typed) = symbols.iter().find(there) {
            last = typed.mark.text.to_string();
            continue;
        }
        if text == last {
            continue;
        }
        let Some((_, event)) = at else {
            found.left += 1;
            continue;
        };
        let at = symbol_place(place.text(), event);
        // Two chords of one note: the first stands.
        if found.edits.last().is_some_and(|edit| edit.span.start as usize >= at) {
            found.left += 1;
            continue;
        }
        found.edits.push(TextEdit { span: Span::new(at, at), text: format!("\"{text}\"") });
        last = text;
    }
    found
}

/// The voice that has most symbols, else the first that has pitches.
fn voice_for(tune: &Tune, symbols: &[Typed<'_>]) -> Option<usize> {
    let count = |voice: usize| symbols.iter().filter(|typed| typed.voice == voice).count();
    let pitched = |voice: &Voice| !voice.clef.is_percussion() && !voice.events.is_empty();
    let voices = tune.voices.iter().enumerate().filter(|(_, voice)| pitched(voice));
    voices.map(|(at, _)| at).max_by_key(|at| (count(*at), usize::MAX - at))
}

fn carries(event: &Event) -> bool {
    let kind = matches!(event.kind, EventKind::Notes | EventKind::Rest);
    kind && !event.grace && event.layer == 0
}

/// After grace notes and the sign of a tuplet, before slurs and decorations (abc standard v2.1, 4.20).
fn symbol_place(text: &str, event: &Event) -> usize {
    let (start, end) = (event.full.start as usize, event.span.start as usize);
    let lead = text.get(start..end).unwrap_or_default();
    let mut at = 0;
    loop {
        let rest = &lead[at..];
        let next = rest.trim_start();
        let skipped = rest.len() - next.len();
        let grace = next.starts_with('{').then(|| next.find('}').map(|end| end + 1)).flatten();
        let tuplet =
            next.strip_prefix('(').filter(|rest| rest.starts_with(|c: char| c.is_ascii_digit()));
        let sign = tuplet.map(|rest| {
            let end = rest.find(|c: char| !c.is_ascii_digit() && c != ':');
            1 + end.unwrap_or(rest.len())
        });
        match grace.or(sign) {
            Some(length) => at += skipped + length,
            None if at > 0 && !next.is_empty() => return start + at + skipped,
            None => return start + at,
        }
    }
}

/// Every symbol typed in these bars, in any voice. Words, and lines of symbols under the music, stay.
fn removed(place: &Place<'_>) -> Vec<TextEdit> {
    let tune = &place.read().tune;
    let bars = place.from..=place.to;
    let here = |voice: &Voice, mark: &Mark| {
        voice.events.get(mark.event as usize).is_some_and(|event| bars.contains(&event.bar))
    };
    let of_voice = |voice: &Voice| -> Vec<TextEdit> {
        let symbols = voice.marks.iter().filter(|mark| {
            mark.kind == MarkKind::ChordSymbol
                && matches!(mark.on, MarkPlace::Event | MarkPlace::Space)
                && here(voice, mark)
                && !chords_of(&mark.text).is_empty()
        });
        let typed = symbols.filter(|mark| {
            let text = &place.text()[mark.span.range()];
            text.len() > 1 && text.starts_with('"') && text.ends_with('"')
        });
        typed.map(|mark| TextEdit { span: mark.span, text: String::new() }).collect()
    };
    tune.voices.iter().flat_map(of_voice).collect()
}

/// Whether edits leave every sound, word and sign where it was, chord symbols aside.
fn symbols_alone(block: &Block, edits: &[TextEdit]) -> bool {
    let Ok(after) = block.edited(edits) else { return false };
    let without = |tune: &Tune| {
        let mut tune = tune.clone();
        for voice in &mut tune.voices {
            voice.marks.retain(|mark| mark.kind != MarkKind::ChordSymbol);
        }
        tune
    };
    let (old, new) = (block.lowered(), after.lowered());
    reads_as_well(old, new) && same_signs(&without(&old.tune), &without(&new.tune))
}

#[cfg(test)]
mod tests {
    use super::super::rewritings;
    use crate::bars::Wanted;
    use crate::host::Snapshot;
    use recte_notation::Document;
    use std::sync::Arc;

    const HEAD: &str = "X:1\nM:4/4\nL:1/4\nK:C\n";

    /// The music after the action whose title begins so; marked with two ▲ or one.
    fn taken(music: &str, begins: &str) -> Option<String> {
        let marked = format!("{HEAD}{music}\n");
        let places: Vec<usize> = marked
            .match_indices('▲')
            .enumerate()
            .map(|(n, (at, _))| at - n * '▲'.len_utf8())
            .collect();
        let text = marked.replace('▲', "");
        let snapshot = Snapshot::new(Document::new(&text), Arc::default());
        let found = rewritings(&snapshot, places[0]..*places.last().unwrap(), true, Wanted::Proved);
        let own = found.into_iter().find(|one| one.title.starts_with(begins))?;
        let after = snapshot.document.text_with(&own.changes.unwrap());
        Some(after[HEAD.len()..].trim_end().to_owned())
    }

    const WRITE: &str = "Write chord symbols into";
    const REMOVE: &str = "Remove the chord symbols of";

    #[test]
    fn written_where_harmonies_begin() {
        let music = "▲[CEG]4|{e}[DFA]2 (3[GBd][GBd][GBd] |▲[CEG]4|";
        let written = "\"C\"[CEG]4|{e}\"Dm\"[DFA]2 (3\"G\"[GBd][GBd][GBd] |[CEG]4|";
        assert_eq!(taken(music, WRITE).as_deref(), Some(written));
        let all = "▲[CEG]4|[DFA]4|[CEG]4▲|";
        assert_eq!(
            taken(all, "Write chord symbols into bars 1–3").as_deref(),
            Some("\"C\"[CEG]4|\"Dm\"[DFA]4|\"C\"[CEG]4|")
        );
        assert_eq!(
            taken("[CEG]4|▲[DFA]4|", "Write chord symbols into bar 2").as_deref(),
            Some("[CEG]4|\"Dm\"[DFA]4|")
        );
    }

    #[test]
    fn a_chord_under_a_held_note_is_left_out_and_told_of() {
        let music = "[V:1]▲c8|\"C\"e2d2|▲\n[V:2][CEG]4[FA]4|[CEG]2[DGB]2|";
        let all = "Write chord symbols into bars 1–2, all but 1 that begins under a held note";
        let text = taken(music, all).unwrap();
        assert!(text.starts_with("[V:1]\"C\"c8|\"C\"e2\"G"), "{text}");
    }

    #[test]
    fn an_accompaniment_that_begins_after_the_note() {
        let music = "[V:1]▲c4|g4▲|\n[V:2]z[CEG]3|z[G,DB]3|";
        let text = taken(music, "Write chord symbols into bars 1–2").unwrap();
        assert!(text.starts_with("[V:1]\"C\"c4|\"G\"g4|"), "{text}");
    }

    #[test]
    fn a_symbol_of_another_voice_is_not_contradicted() {
        let music = "[V:1]▲\"C\"c4|\"F\"A4|\"C\"c4▲|\n[V:2][CEG]4|[CFA]4|\"Am\"[CEG]4|";
        assert_eq!(taken(music, WRITE), None);
        let music = "[V:1]▲\"C\"c4|A4|\"C\"c4▲|\n[V:2][CEG]4|\"Dm\"[CFA]4|[CEG]4|";
        assert_eq!(taken(music, WRITE), None);
    }

    #[test]
    fn into_the_voice_that_has_symbols() {
        let music = "[V:1]c4|▲B4▲|\n[V:2]\"C\"[CEG]4|[DG]4|";
        assert_eq!(
            taken(music, WRITE).as_deref(),
            Some("[V:1]c4|B4|\n[V:2]\"C\"[CEG]4|\"G/D\"[DG]4|")
        );
    }

    #[test]
    fn removed_and_words_left() {
        let music = "▲\"C\"!p!(c4|\"Fine\"\"G7\"B4)|\"^text\"\"Am\"c4|▲\"C\"c4|";
        let left = "!p!(c4|\"Fine\"B4)|\"^text\"c4|\"C\"c4|";
        assert_eq!(taken(music, REMOVE).as_deref(), Some(left));
    }

    #[test]
    fn nothing_where_nothing_is_to_be_done() {
        assert_eq!(taken("▲CDEF|▲GABc|", WRITE), None);
        assert_eq!(taken("▲CDEF|▲GABc|", REMOVE), None);
    }

    #[test]
    fn written_and_removed_is_the_same_text() {
        let music = "[CEG]4|[DFA]2[GBd]2|[CEG]4|";
        let text = taken(&format!("▲{music}▲"), WRITE).unwrap();
        assert_eq!(taken(&format!("▲{text}▲"), REMOVE).as_deref(), Some(music));
    }
}
