//! What bar lines say of the whole score: repeats, endings, how they look.

use recte_score::{LineStyle, Tune, endings, repeats};

/// What stands around one bar.
#[derive(Clone, Debug, Default)]
pub(super) struct BarSigns {
    /// A repeated passage begins.
    pub(super) opens: bool,
    /// How often the passage that ends here is played; 0 if none ends.
    pub(super) closes: u8,
    /// The ending that begins: "1", "1, 3"; and what it is called.
    pub(super) ending: Option<(String, String)>,
    /// The ending that is over, and whether its bracket is closed.
    pub(super) ended: Option<(String, bool)>,
    /// How the line after it looks.
    pub(super) style: LineStyle,
    /// Its number in print; none for what goes on with the bar before it.
    pub(super) number: Option<i32>,
}

/// The signs of every bar.
pub(super) fn signs(tune: &Tune) -> Vec<BarSigns> {
    let mut all = vec![BarSigns::default(); tune.bars.len()];
    let mut last = None;
    for (bar, signs) in tune.bars.iter().zip(&mut all) {
        signs.number = (last != Some(bar.number)).then_some(bar.number);
        last = Some(bar.number);
    }
    for voice in &tune.voices {
        for (bar, signs) in voice.bars.iter().zip(&mut all) {
            signs.opens |= bar.repeat_opens > 0;
            signs.closes = signs.closes.max(bar.repeat_closes);
            if signs.style == LineStyle::Plain {
                signs.style = bar.style;
            }
        }
    }
    // Without a sign readers go back to the very beginning, where ABC goes back to a double bar or repeat.
    for repeat in repeats(tune).into_iter().filter(|repeat| repeat.from > 0) {
        if let Some(first) = all.get_mut(repeat.from as usize) {
            first.opens = true;
        }
    }
    for ending in endings(tune) {
        let times: Vec<String> = ending.times.iter().map(u8::to_string).collect();
        let times = if times.is_empty() { " ".to_owned() } else { times.join(", ") };
        let bars = tune.voices.iter().filter_map(|voice| voice.bars.get(ending.from as usize));
        let words = bars.filter_map(|bar| bar.ending_words.as_deref()).next();
        if let Some(first) = all.get_mut(ending.from as usize) {
            first.ending = Some((times.clone(), words.unwrap_or_default().to_owned()));
        }
        if let Some(end) = all.get_mut(ending.to as usize) {
            let closed = end.closes > 0 || end.style != LineStyle::Plain;
            end.ended = Some((times, closed));
        }
    }
    worded_endings(tune, &mut all);
    all
}

/// Endings that have words and no number: up to the next line that ends something.
fn worded_endings(tune: &Tune, all: &mut [BarSigns]) {
    for voice in &tune.voices {
        for (from, bar) in voice.bars.iter().enumerate() {
            let Some(words) = bar.ending_words.as_deref().filter(|_| bar.endings.is_empty()) else {
                continue;
            };
            if all.get(from).is_none_or(|signs| signs.ending.is_some()) {
                continue;
            }
            let ends = |place: &usize| {
                let next = all.get(place + 1);
                all.get(*place).is_some_and(|end| end.closes > 0 || end.style != LineStyle::Plain)
                    || next.is_none_or(|next| next.opens || next.ending.is_some())
            };
            let to = (from..all.len()).find(ends).unwrap_or(from);
            if let Some(first) = all.get_mut(from) {
                first.ending = Some((" ".to_owned(), words.to_owned()));
            }
            if let Some(end) = all.get_mut(to) {
                let closed = end.closes > 0 || end.style != LineStyle::Plain;
                end.ended = Some((" ".to_owned(), closed));
            }
        }
    }
}

/// What the standard calls a line.
pub(super) fn style_name(style: LineStyle) -> Option<&'static str> {
    Some(match style {
        LineStyle::Plain => return None,
        LineStyle::Double => "light-light",
        LineStyle::Final => "light-heavy",
        LineStyle::Opening => "heavy-light",
        LineStyle::Dotted => "dotted",
        LineStyle::Invisible => "none",
    })
}
