//! Bars quoted as typed, and the same after an edit.

use super::staff::{Bars, Drafts, Staff};
use recte_notation::Block;
use recte_notation::write::{TextEdit, apply};
use recte_review::Finding;
use recte_score::{Span, Tune};
use std::ops::Range;

/// So many bars are quoted of one remark.
const BARS: u32 = 4;

/// Quoted bars.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Quote {
    /// The voice, by index.
    pub voice: usize,
    /// The text of its bars, bar lines between them.
    pub text: String,
    /// The bytes of it that the remark is about.
    pub mark: Range<usize>,
    /// Whether there are more bars than are quoted.
    pub cut: bool,
    /// The bars on a staff; none where they cannot be drawn, or are told in a line only.
    pub staff: Option<Staff>,
}

/// Quoted bars, and where they stand.
pub(super) struct Quoted {
    pub(super) shown: Quote,
    from: usize,
    pieces: Vec<Span>,
}

/// The bars a remark is about, in its voice; none for what is about no bar, or about no text of one.
pub(super) fn quote(block: &Block, finding: &Finding) -> Option<Quoted> {
    let tune = &block.lowered().tune;
    let (from, to) = (finding.bar?, finding.to_bar.or(finding.bar)?);
    let voice = finding.voice.map_or_else(|| voice_of(tune, from, finding.span), |v| v as usize);
    let own = tune.voices.get(voice)?;
    let last = to.max(from).min(from + BARS - 1);
    let pieces: Vec<Span> = (from..=last)
        .map_while(|bar| own.bars.get(bar as usize))
        .map(|bar| Span { end: bar.line.map_or(bar.span.end, |line| line.end), ..bar.span })
        .filter(|piece| piece.end >= piece.start)
        .collect();
    let (mut text, mut mark) = (String::new(), None);
    for piece in &pieces {
        let typed = block.text.get(piece.range())?;
        let begins = text.len();
        let inside = |at: u32| begins + (at.clamp(piece.start, piece.end) - piece.start) as usize;
        if finding.span.start < piece.end && finding.span.end > piece.start {
            let here = inside(finding.span.start)..inside(finding.span.end);
            mark = Some(mark.map_or(here.clone(), |m: Range<usize>| m.start..here.end));
        }
        text.push_str(&one_line(typed));
        text.push(' ');
    }
    let length = text.trim_end().len();
    text.truncate(length);
    let mark = mark.unwrap_or(0..0);
    let mark = mark.start.min(length)..mark.end.min(length);
    (!text.is_empty()).then_some(Quoted {
        shown: Quote { voice, text, mark, cut: to > last, staff: None },
        from: from as usize,
        pieces,
    })
}

/// The voice a place stands in, by its bar; the first where that is not clear.
fn voice_of(tune: &Tune, bar: u32, span: Span) -> usize {
    let holds = |bar: &recte_score::Bar| bar.span.start <= span.start && span.start <= bar.span.end;
    let mut voices = tune.voices.iter();
    voices.position(|voice| voice.bars.get(bar as usize).is_some_and(holds)).unwrap_or(0)
}

/// Line ends as spaces, byte for byte, so that places stay.
fn one_line(text: &str) -> String {
    text.replace(['\n', '\r', '\t'], " ")
}

impl Quoted {
    /// The bars as staves: as typed, and as each of the first fixes would leave them.
    pub(super) fn drawn(
        &self,
        block: &Block,
        finding: &Finding,
        drafts: &mut Drafts,
        most: usize,
    ) -> (Option<Staff>, Vec<Option<Staff>>) {
        let bars = self.from..self.from + self.pieces.len();
        let bars = Bars { block, voice: self.shown.voice, bars, pieces: &self.pieces };
        let whole = self.shown.mark.len() == self.shown.text.len();
        let about = [finding.span];
        let edits: Vec<&[TextEdit]> =
            finding.fixes.iter().take(most).map(|fix| fix.edits.as_slice()).collect();
        drafts.staves(&bars, if whole { &[] } else { &about }, &edits)
    }

    /// The quoted bars after an edit, and whether it changes more than them.
    pub(super) fn after(&self, block: &Block, edits: &[TextEdit]) -> (Option<String>, bool) {
        let mut elsewhere = self.shown.cut;
        let mut inside: Vec<Vec<TextEdit>> = vec![Vec::new(); self.pieces.len()];
        for edit in edits {
            let holds = |piece: &Span| piece.start <= edit.span.start && edit.span.end <= piece.end;
            match self.pieces.iter().position(holds) {
                Some(at) => {
                    let first = self.pieces[at].start;
                    let span = Span { start: edit.span.start - first, end: edit.span.end - first };
                    inside[at].push(TextEdit { span, text: edit.text.clone() });
                }
                None => elsewhere = true,
            }
        }
        if inside.iter().all(Vec::is_empty) {
            return (None, true);
        }
        let mut text = String::new();
        for (piece, edits) in self.pieces.iter().zip(&inside) {
            let typed = block.text.get(piece.range()).unwrap_or_default();
            let Ok(changed) = apply(typed, edits) else { return (None, true) };
            text.push_str(&one_line(&changed));
            text.push(' ');
        }
        (Some(text.trim().to_owned()), elsewhere)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use recte_notation::Document;
    use recte_review::{Around, Config, check_block};

    fn quoted(text: &str) -> (Quote, Vec<(Option<String>, bool)>) {
        let document = Document::new(text);
        let (_, block) = document.blocks().next().unwrap();
        let found = check_block(block, &Config::default(), &Around::default()).findings;
        let quoted = quote(block, &found[0]).unwrap();
        let after = found[0].fixes.iter().map(|fix| quoted.after(block, &fix.edits)).collect();
        (quoted.shown, after)
    }

    #[test]
    fn a_bar_and_what_it_would_be() {
        let (quote, after) = quoted("X:1\nM:4/4\nL:1/4\nK:C\nC4|[E_AB]2 c2|c4|]\n");
        assert_eq!(quote.text, "[E_AB]2 c2|");
        assert!(quote.text[quote.mark.clone()].starts_with('['), "{quote:?}");
        assert_eq!(after, [(Some("[E^GB]2 c2|".to_owned()), false)]);
    }

    #[test]
    fn other_voices_are_elsewhere() {
        let text = "X:1\nM:9/8\nL:1/8\nK:G\n[V:1]d2B G2A B3|G3 B2 d2 c2|B3 A3 G3|]\n\
            [V:2]G,3 D,3 G,3|G,3 G,2 B,2 A,2|D,6 G,,3|]\n";
        let (quote, after) = quoted(text);
        assert_eq!(quote.text, "G3 B2 d2 c2|");
        let (text, elsewhere) = &after[0];
        assert!(text.as_ref().unwrap().contains("[M:5/8]") && *elsewhere, "{text:?}");
    }
}
