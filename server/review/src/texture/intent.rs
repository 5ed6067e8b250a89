//! Music that means to stay as it is: it says so, or it is of a kind that does.

use crate::context::Context;
use recte_score::texture::Table;
use recte_score::{MarkKind, Tune};
use std::collections::BTreeSet;

/// Words by which a composer says that something stays (common practice, no source).
const STAYING: [&str; 14] = [
    "ostinato",
    "drone",
    "bourdon",
    "ground",
    "vamp",
    "passacaglia",
    "chaconne",
    "ciaccona",
    "sempre",
    "simile",
    "pedal",
    "minimal",
    "riff",
    "loop",
];
/// Kinds of pieces that are of one mood: dances, and what a congregation sings (common practice, no source).
const KINDS: [&str; 40] = [
    "jig",
    "reel",
    "hornpipe",
    "waltz",
    "polka",
    "march",
    "strathspey",
    "slide",
    "mazurka",
    "minuet",
    "menuet",
    "schottische",
    "barndance",
    "barn dance",
    "fling",
    "set dance",
    "quadrille",
    "polonaise",
    "gavotte",
    "bourrée",
    "bourree",
    "rigaudon",
    "ländler",
    "landler",
    "gigue",
    "sarabande",
    "courante",
    "allemande",
    "galop",
    "tango",
    "rag",
    "cotillion",
    "country dance",
    "dance",
    "chorale",
    "choral",
    "hymn",
    "psalm",
    "carol",
    "lullaby",
];
/// A piece whose parts nearly always move together is a chorale: this share of those that sound at an onset begin there.
const TOGETHER: f64 = 0.8;

/// Whether the head, a comment or the title says that something stays, or a text at the notes of these parts in these
/// bars or just before them.
pub(crate) fn means_it(context: &Context<'_>, parts: &[u32], (from, to): (u32, u32)) -> bool {
    let tune = context.tune;
    let titles = tune.titles.iter().chain(tune.texts.iter().map(|text| &text.text));
    let labels = tune.sections.iter().map(|section| &section.label);
    let texts = titles.chain(labels).any(|text| says(text));
    let comments = || context.block.text.lines().filter_map(comment).any(says);
    let at_notes = || {
        parts.iter().filter_map(|part| tune.voices.get(*part as usize)).any(|voice| {
            voice.marks.iter().filter(|mark| mark.kind == MarkKind::Annotation).any(|mark| {
                let bar = voice.events.get(mark.event as usize).map(|event| event.bar);
                bar.is_some_and(|bar| bar + 2 >= from && bar <= to) && says(&mark.text)
            })
        })
    };
    texts || comments() || at_notes()
}

/// What stands behind a percent sign; a line that begins with two gives instructions.
fn comment(line: &str) -> Option<&str> {
    if line.starts_with("%%") {
        return None;
    }
    line.split_once('%').map(|(_, comment)| comment)
}

fn says(text: &str) -> bool {
    has_word(text, &STAYING)
}

/// Whether a text has one of these words, or one that begins with it ("drones", "jigs").
fn has_word(text: &str, words: &[&str]) -> bool {
    let text = text.to_lowercase();
    words.iter().any(|word| {
        text.match_indices(word).any(|(at, _)| {
            let before = text[..at].chars().next_back();
            let after = text[at + word.len()..].chars().find(|c| *c != 's');
            !before.is_some_and(char::is_alphabetic) && !after.is_some_and(char::is_alphabetic)
        })
    })
}

/// Whether a piece is of one mood: it stays by its kind, or is a chorale.
pub(crate) fn is_of_one_mood(context: &Context<'_>) -> bool {
    stays_by_kind(context) || moves_together(context.texture().table())
}

/// Whether a piece is of a kind that stays as it is: one voice alone, a dance, verses, percussion alone.
pub(crate) fn stays_by_kind(context: &Context<'_>) -> bool {
    let tune = context.tune;
    let sounding = tune.voices.iter().filter(|voice| !voice.notes.is_empty());
    let pitched = sounding.filter(|voice| !voice.clef.is_percussion()).count();
    pitched < 2 || is_dance(tune) || has_verses(tune)
}

fn is_dance(tune: &Tune) -> bool {
    let kinds = tune.texts.iter().filter(|text| text.name == 'R').map(|text| &text.text);
    kinds.chain(&tune.titles).any(|text| has_word(text, &KINDS))
}

/// Whether some voice sings several verses to its notes.
fn has_verses(tune: &Tune) -> bool {
    tune.voices.iter().any(|voice| {
        let verses: BTreeSet<u16> = voice.syllables.iter().map(|syllable| syllable.verse).collect();
        verses.len() > 1
    })
}

/// Whether at least four parts move together nearly always.
fn moves_together(table: &Table) -> bool {
    if table.pitched.len() < 4 {
        return false;
    }
    let mut until = vec![i64::MIN; table.pitched.len()];
    let (mut sum, mut moments) = (0.0, 0.0);
    for same in table.sounds.chunk_by(|a, b| a.onset == b.onset) {
        let begun: BTreeSet<u32> = same.iter().map(|sound| sound.part).collect();
        for sound in same {
            let own = &mut until[sound.part as usize];
            *own = (*own).max(sound.end);
        }
        let sounding = until.iter().filter(|end| **end > same[0].onset).count();
        sum += begun.len() as f64 / sounding.max(1) as f64;
        moments += 1.0;
    }
    moments > 0.0 && sum / moments >= TOGETHER
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_are_found_whole() {
        assert!(
            says("a ground bass")
                && says("^Ostinato.")
                && says("(sempre legato)")
                && says("two drones")
        );
        assert!(!says("background") && !says("groundwork") && !says("Amsterdam"));
        assert!(
            has_word("Double jig", &KINDS)
                && has_word("Jigs", &KINDS)
                && !has_word("dragon", &KINDS)
        );
    }

    #[test]
    fn comments() {
        assert_eq!(comment("C D E % the vamp"), Some(" the vamp"));
        assert_eq!(comment("%%recte accept ground"), None);
        assert_eq!(comment("C D E"), None);
    }
}
