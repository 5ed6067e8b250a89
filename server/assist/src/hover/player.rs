//! Who plays a voice, and how far the instrument reaches: at the place where the voice is declared.

use super::Hover;
use crate::host::Snapshot;
use recte_notation::BlockKind;
use recte_score::players::{Players, Playing, playing};
use recte_theory::instruments::Level;

/// The instruments of the voice that is declared under an offset.
pub fn hover_voice(snapshot: &Snapshot, offset: usize) -> Option<Hover> {
    let (start, block) = snapshot.document.block_at(offset)?;
    if block.kind != BlockKind::Tune {
        return None;
    }
    let tune = &block.lowered().tune;
    let here = |voice: &recte_score::Voice| voice.declared.range().contains(&(offset - start));
    let at = tune.voices.iter().position(here)?;
    let all = playing(tune, &snapshot.config.roster);
    let mut lines: Vec<String> = Vec::new();
    for stretch in all.get(at)? {
        let line = in_words(stretch);
        if !lines.contains(&line) {
            lines.push(line);
        }
    }
    let span = tune.voices[at].declared;
    let range = start + span.start as usize..start + span.end as usize;
    (!lines.is_empty()).then(|| Hover { range, text: lines.join("\n") })
}

/// "Clarinet in B-flat, two players: written E3–C7, sounding D3–Bb6".
fn in_words(stretch: &Playing<'_>) -> String {
    let players = match stretch.players {
        Players::One => String::new(),
        Players::Several(2) => ", two players".to_owned(),
        Players::Several(count) => format!(", {count} players"),
        Players::Section(_) => ", a section".to_owned(),
    };
    let one = stretch.instrument;
    let reach = one.range(Level::Professional).map_or(String::new(), |range| {
        let sounding = format!("{}–{}", range.sounding_min, range.sounding_max);
        match one.transposition.is_some_and(|t| t != Default::default()) {
            false => format!(": {sounding}"),
            true => {
                let (low, high) = (range.written_min, range.written_max);
                format!(": written {low}–{high}, sounding {sounding}")
            }
        }
    });
    format!("{}{players}{reach}", one.name)
}

#[cfg(test)]
mod tests {
    use super::*;
    use recte_notation::Document;
    use std::sync::Arc;

    #[test]
    fn at_the_voice() {
        let text = "X:1\nV:1 name=\"Horns 1.2\"\nV:2 name=\"Fl./Picc.\"\nV:3 name=\"Somebody\"\nK:C\n\
            V:1\nc4|\nV:2\n\"^to Picc.\"c4|\nV:3\nc4|\n";
        let snapshot = Snapshot::new(Document::new(text), Arc::default());
        let said = |mark: &str| {
            let hover = hover_voice(&snapshot, text.find(mark).unwrap());
            hover.map(|hover| hover.text)
        };
        assert_eq!(
            said("V:1").as_deref(),
            Some("Horn in F, two players: written C2–C6, sounding F1–F5")
        );
        assert!(said("V:2").unwrap().starts_with("Piccolo: written D4–C7"));
        assert_eq!(said("V:3"), None);
        assert_eq!(said("K:C"), None);
    }
}
