//! What an editor offers at a place: the selection, the voice or the tune under other names.

use super::{Names, Passage, Respelled, Style, names, respell_as};
use crate::host::Snapshot;
use recte_notation::{Block, BlockKind, Change};
use std::ops::Range;
use std::sync::Arc;

/// So many pairs of names are told in a title; of more, how many notes.
const TOLD: usize = 3;

/// Something to offer: its title says the result.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Offer {
    /// The title.
    pub title: String,
    /// The changes, all at once, in bytes of the document.
    pub changes: Vec<Change>,
}

/// What can be respelled at a place or in a selection, the narrowest first; only what changes something.
///
/// A selection may reach over several tunes; voice and tune are those in which it begins.
pub fn offers(snapshot: &Snapshot, range: Range<usize>) -> Vec<Offer> {
    let blocks = snapshot.document.blocks().filter(|(_, block)| block.kind == BlockKind::Tune);
    let touched: Vec<Tune> = blocks
        .filter(|(start, block)| {
            let end = start + block.text.len();
            range.start < end && (*start < range.end || *start <= range.start)
        })
        .map(|(start, block)| Tune { start, block, best: snapshot.best_names(block) })
        .collect();
    let mut found = Vec::new();
    if !range.is_empty() {
        for (title, style) in [
            ("Respell the selection", Style::Best),
            ("Spell this passage in flats", Style::Flats),
            ("Spell this passage in sharps", Style::Sharps),
        ] {
            found.extend(offer(title, touched.iter().map(|tune| tune.typed(&range, style))));
        }
    }
    let Some(first) = touched.first().filter(|tune| tune.start <= range.start) else {
        return found;
    };
    if let Some(passage) = first.voice_at(range.start) {
        let respelled = first.respelled(&passage, &first.best);
        found.extend(offer("Respell this voice", [respelled].into_iter()));
    }
    let whole = first.respelled(&Passage::Tune, &first.best);
    found.extend(offer("Respell the whole tune", [whole].into_iter()));
    found
}

/// A tune in its place, with its best names.
struct Tune<'a> {
    start: usize,
    block: &'a Block,
    best: Arc<Names>,
}

/// What becomes of a tune, and where it begins; none if it is left.
type Result = Option<(usize, Respelled)>;

impl Tune<'_> {
    fn respelled(&self, passage: &Passage, names: &Names) -> Result {
        Some((self.start, respell_as(self.block, passage, names).ok()?))
    }

    fn typed(&self, range: &Range<usize>, style: Style) -> Result {
        let inside = |at: usize| at.saturating_sub(self.start);
        let passage = Passage::Typed(inside(range.start)..inside(range.end));
        match style {
            Style::Best => self.respelled(&passage, &self.best),
            _ => self.respelled(&passage, &names(&self.block.lowered().tune, style)),
        }
    }

    /// The voice of the last note or rest that begins at or before a byte, where there are several voices.
    fn voice_at(&self, byte: usize) -> Option<Passage> {
        let tune = &self.block.lowered().tune;
        let at = byte - self.start;
        if tune.voices.len() < 2 || at <= tune.header.end as usize {
            return None;
        }
        let starts = tune.voices.iter().enumerate().flat_map(|(index, voice)| {
            voice.events.iter().map(move |event| (event.full.start as usize, index))
        });
        let (_, voice) = starts.filter(|(start, _)| *start <= at).max()?;
        Some(Passage::Bars { voices: vec![voice], bars: 0..=u32::MAX })
    }
}

fn offer(title: &str, tunes: impl Iterator<Item = Result>) -> Option<Offer> {
    let tunes: Vec<(usize, Respelled)> = tunes.flatten().collect();
    let changes: Vec<Change> =
        tunes.iter().flat_map(|(start, respelled)| respelled.changes(*start)).collect();
    if changes.is_empty() {
        return None;
    }
    let mut pairs: Vec<_> = tunes.iter().flat_map(|(_, respelled)| &respelled.names).collect();
    pairs.sort();
    pairs.dedup();
    let told = if pairs.len() <= TOLD {
        let pair = |(old, new): &&(_, _)| told_as(old, new);
        pairs.iter().map(pair).collect::<Vec<_>>().join(", ")
    } else {
        format!("{} notes", tunes.iter().map(|(_, respelled)| respelled.notes).sum::<usize>())
    };
    Some(Offer { title: format!("{title}: {told}"), changes })
}

fn told_as(old: &recte_theory::PitchName, new: &recte_theory::PitchName) -> String {
    format!("{} for {}", new.symbol(), old.symbol())
}

#[cfg(test)]
mod tests {
    use super::*;
    use recte_notation::Document;

    /// The titles of what is offered for what stands between two ▲, or at the one, and the texts after it.
    fn offered(marked: &str) -> Vec<(String, String)> {
        let start = marked.find('▲').unwrap();
        let text = marked.replace('▲', "");
        let end = marked.rfind('▲').map_or(start, |end| end.max(start + 3) - 3);
        let snapshot = Snapshot::new(Document::new(&text), Arc::default());
        let end = if marked.matches('▲').count() == 2 { end } else { start };
        let offers = offers(&snapshot, start..end);
        let after = |offer: &Offer| snapshot.document.text_with(&offer.changes);
        offers.iter().map(|offer| (offer.title.clone(), after(offer))).collect()
    }

    #[test]
    fn a_voice_and_the_tune() {
        let text = "X:1\nV:1\nV:2\nK:C\n[V:1][E_AB]2c2|\n[V:2]▲[E_AB]2c2|\n";
        let plain = text.replace('▲', "");
        let at = plain.rfind("_A").unwrap();
        let voice = format!("{}^G{}", &plain[..at], &plain[at + 2..]);
        assert_eq!(
            offered(text),
            [
                ("Respell this voice: G♯ for A♭".to_owned(), voice),
                ("Respell the whole tune: G♯ for A♭".to_owned(), plain.replace("_A", "^G")),
            ]
        );
    }

    #[test]
    fn a_selection() {
        let text = "X:1\nL:1/4\nK:C\n[E_AB]2c2|▲[E_AB]2▲c_d|\n";
        let plain = text.replace('▲', "");
        let at = plain.rfind("_A").unwrap();
        let sharp = format!("{}^G{}", &plain[..at], &plain[at + 2..]);
        let found = offered(text);
        let selection = |title: &str| (title.to_owned(), sharp.clone());
        assert_eq!(found[0], selection("Respell the selection: G♯ for A♭"));
        assert_eq!(found[1], selection("Spell this passage in sharps: G♯ for A♭"));
        assert!(found[2].0.starts_with("Respell the whole tune: "), "{found:?}");
        assert_eq!(found.len(), 3);
    }

    #[test]
    fn many_names_are_counted() {
        let found = offered("X:1\nK:none\n▲^C^D^F^G^A^c▲|\n");
        let titles: Vec<&str> = found.iter().map(|(title, _)| title.as_str()).collect();
        assert!(titles.contains(&"Spell this passage in flats: 6 notes"), "{titles:?}");
    }

    #[test]
    fn nothing_where_nothing_would_change() {
        assert_eq!(offered("X:1\nK:C\n▲CDEF▲|GABc|\n"), []);
        assert_eq!(offered("▲words\n\nX:1\nK:C\n_DE|\n"), []);
        assert_eq!(offered("▲"), []);
    }
}
