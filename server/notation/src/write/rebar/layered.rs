//! Bars of several layers. Each layer is read as a voice of its own, rewritten as any voice is, and the bars are
//! put together again. The white space beside each `&` is kept, or says how the notes of its layer stood.

use super::Refusal;
use super::plan::{Manner, NewBar, Plan};
use super::reline::{Relined, reline};
use crate::lower::{Reach, lower};
use crate::write::apply;
use recte_score::{Bar, Span};
use recte_theory::Time;

/// Writes a passage with layers anew.
pub(super) fn write(voice: &mut Relined<'_>) -> Result<(), Refusal> {
    let bars = voice.bars();
    let mut first = 0;
    for last in 0..bars.len() {
        let end = voice.plan.old[last + 1];
        if !voice.plan.begins(end) && last + 1 < bars.len() {
            continue;
        }
        let begin = voice.plan.old[first];
        let parted = voice.plan.inside(begin, end).next().is_some();
        if last > first || parted {
            let new: Vec<(Time, NewBar)> =
                voice.plan.new.iter().copied().zip(voice.plan.bars.iter().cloned()).collect();
            let new = new.into_iter().filter(|(at, _)| begin <= *at && *at < end).collect();
            cluster(voice, first, last, new)?;
        }
        first = last + 1;
    }
    voice.signed.clear();
    Ok(())
}

/// One stretch of bars that become others: written anew from its first sign to its last.
fn cluster(
    voice: &mut Relined<'_>,
    first: usize,
    last: usize,
    new: Vec<(Time, NewBar)>,
) -> Result<(), Refusal> {
    let bars = &voice.bars()[first..=last];
    let typed: Vec<Typed<'_>> =
        bars.iter().map(|bar| Typed::read(voice, bar)).collect::<Result<_, _>>()?;
    for place in first + 1..=last {
        if voice.gap_before(voice.plan.from + place as u32).is_none() {
            let why = "The layers of these bars are typed over several lines.";
            return Err(Refusal::new(why).in_bar(voice.plan.from + place as u32));
        }
    }
    let count = typed.iter().map(|bar| bar.layers.len()).max().unwrap_or(0);
    let plan_bars: Vec<NewBar> = new.iter().map(|(_, bar)| bar.clone()).collect();
    let mut layers = Vec::new();
    for layer in 0..count {
        layers.push(rewritten(voice, bars, &typed, layer, &plan_bars)?);
    }
    let mut text = String::new();
    for (bar, (start, _)) in new.iter().enumerate() {
        if bar > 0 {
            let sign = voice.sign_at(*start).map(|metre| format!(" [M:{metre}]"));
            text.push('|');
            text.push_str(&sign.unwrap_or_default());
            text.push_str(&layers[0][bar].lead);
        }
        let full = layers.iter().rposition(|layer| !layer[bar].filler).unwrap_or(0);
        for (number, layer) in layers[..=full].iter().enumerate() {
            let piece = &layer[bar];
            if number > 0 {
                text.push('&');
                text.push_str(&piece.lead);
            }
            text.push_str(&piece.text);
            let end = bar + 1 == new.len() && number == full;
            text.push_str(if end { "" } else { &piece.trail });
        }
    }
    let span = Span::new(bars[0].span.start as usize, typed[typed.len() - 1].end);
    voice.replace(span, text);
    Ok(())
}

/// A bar as typed, layer by layer.
struct Typed<'a> {
    layers: Vec<Spaced<'a>>,
    /// Where its last sign ends.
    end: usize,
    /// White space after the bar line before it, or after the signature there.
    lead: &'a str,
}

/// A piece of text, and the white space around it.
struct Spaced<'a> {
    lead: &'a str,
    text: &'a str,
    trail: &'a str,
}

fn spaced(text: &str) -> Spaced<'_> {
    let begun = text.trim_start_matches([' ', '\t']);
    let ended = begun.trim_end_matches([' ', '\t']);
    Spaced { lead: &text[..text.len() - begun.len()], text: ended, trail: &begun[ended.len()..] }
}

impl<'a> Typed<'a> {
    fn read(voice: &Relined<'a>, bar: &Bar) -> Result<Typed<'a>, Refusal> {
        let several = || Refusal::new("The layers of these bars are typed over several lines.");
        let start = bar.span.start as usize;
        let end = match bar.line {
            Some(line) => line.start as usize,
            None => {
                let rest = voice.text.get(bar.span.end as usize..).ok_or_else(several)?;
                bar.span.end as usize + rest.find(['\n', '\r', '%']).unwrap_or(rest.len())
            }
        };
        let text = voice.text.get(start..end).ok_or_else(several)?;
        if text.contains(['\n', '\r', '%']) {
            return Err(several());
        }
        let mut cuts = vec![start];
        for pair in voice.voice.events_of(bar).windows(2) {
            if pair[0].layer != pair[1].layer {
                let between =
                    voice.text.get(pair[0].span.end as usize..pair[1].full.start as usize);
                let mut signs = between.unwrap_or_default().match_indices('&');
                let (Some((at, _)), None) = (signs.next(), signs.next()) else {
                    return Err(several());
                };
                cuts.push(pair[0].span.end as usize + at + 1);
            }
        }
        cuts.push(end + 1);
        let layers: Vec<Spaced<'a>> =
            cuts.windows(2).map(|cut| spaced(&voice.text[cut[0]..cut[1] - 1])).collect();
        let before = voice.text[..start].trim_end_matches([' ', '\t']).len();
        Ok(Typed { layers, end: start + text.trim_end().len(), lead: &voice.text[before..start] })
    }
}

/// A layer of a new bar.
struct Piece {
    lead: String,
    text: String,
    trail: String,
    /// Whether it holds only what fills up a layer that others have more of.
    filler: bool,
}

/// One layer under its new bar lines.
fn rewritten(
    voice: &Relined<'_>,
    bars: &[Bar],
    typed: &[Typed<'_>],
    layer: usize,
    new: &[NewBar],
) -> Result<Vec<Piece>, Refusal> {
    let failed = || Refusal::new("The layers of these bars cannot be parted.");
    let head = head(voice, &bars[0]).ok_or_else(failed)?;
    let unit = voice.voice.events_of(&bars[0]).first().map_or(Time::new(1, 8), |event| event.unit);
    let mut text = head.clone();
    for (place, (bar, own)) in bars.iter().zip(typed).enumerate() {
        let piece = own.layers.get(layer);
        if place > 0 {
            text.push('|');
            text.push_str(if layer == 0 {
                own.lead
            } else {
                piece.map_or(" ", |piece| piece.lead)
            });
        }
        match piece {
            Some(piece) => {
                text.push_str(piece.text);
                text.push_str(if place + 1 < bars.len() { piece.trail } else { "" });
            }
            None => {
                let length = super::length_text(bar.length / unit);
                text.push_str(&format!("x{length} "));
            }
        }
    }
    let read = lower(&text);
    let own = read.tune.voices.first().ok_or_else(failed)?;
    let same = own.bars.len() == bars.len()
        && own.bars.iter().zip(bars).all(|(own, bar)| own.length == bar.length);
    if !same {
        return Err(Refusal::new("A layer of these bars does not fill them."));
    }
    let mut plan = Plan::new(&read.tune, 0, bars.len() as u32 - 1, new, voice.plan.manner);
    plan.undoes = voice.plan.undoes;
    // The layer is a text of its own, with bars of its own.
    let edits = reline(&text, &read, own, &plan, true).map_err(Refusal::anywhere)?;
    let text = apply(&text, &edits).map_err(|_| failed())?;
    let read = lower(&text);
    let own = read.tune.voices.first().ok_or_else(failed)?;
    if own.bars.len() != new.len() {
        return Err(failed());
    }
    let mut pieces = Vec::new();
    let mut at = head.len();
    for bar in &own.bars {
        let end = bar.line.map_or(text.len(), |line| line.start as usize);
        let piece = spaced(text.get(at..end).ok_or_else(failed)?);
        let filler = piece.text.split([' ', '-']).all(|rest| rest.starts_with('x')) && layer > 0;
        let (first, last) = (pieces.is_empty(), pieces.len() + 1 == new.len());
        let old = |own: &Typed<'_>, lead: bool| {
            let piece = own.layers.get(layer);
            piece.map_or(" ", |piece| if lead { piece.lead } else { piece.trail }).to_owned()
        };
        // Beside a new line the white space says how the notes stood, or is as the composer has it.
        let exact = voice.plan.manner == Manner::Exact;
        let inner = layer + 1 < typed[0].layers.len();
        pieces.push(Piece {
            lead: if first || !exact && layer > 0 {
                old(&typed[0], true)
            } else {
                piece.lead.to_owned()
            },
            text: piece.text.to_owned(),
            trail: if last || !exact && inner {
                old(&typed[typed.len() - 1], false)
            } else {
                piece.trail.to_owned()
            },
            filler,
        });
        at = bar.line.map_or(text.len(), |line| line.end as usize);
    }
    Ok(pieces)
}

/// The head of a tune in which the bars read as they do.
fn head(voice: &Relined<'_>, bar: &Bar) -> Option<String> {
    let first = voice.voice.events_of(bar).first()?;
    let reach = match voice.read.reach {
        Reach::Not => "not",
        Reach::Octave => "octave",
        Reach::Pitch => "pitch",
    };
    let typed = voice.read.keys.iter().find(|typed| typed.key == first.key);
    let key = typed.and_then(|typed| voice.text.get(typed.span.range())).unwrap_or("none");
    let metre = voice.read.tune.metre(bar);
    let unit = first.unit;
    Some(format!("X:1\nI:propagate-accidentals {reach}\nM:{metre}\nL:{unit}\nK:{key}\n"))
}
