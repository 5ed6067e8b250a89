//! What stands out, in three sentences: what has to be looked at before anyone plays it, the form, the harmony.

use super::TuneReport;
use super::bars::Bars;
use super::method::LITTLE;
use recte_review::words::{and_texts, counted, sentence};
use recte_review::{Family, Severity};
use recte_score::texture::{Motif, Recurrence};

/// A sentence, and the chapter's method it rests on.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Standout {
    /// The sentence.
    pub text: String,
    /// How it was worked out, by its name among the methods.
    pub how: &'static str,
}

/// Of a tune whose other chapters are ready.
pub(super) fn standout(report: &TuneReport) -> Vec<Standout> {
    vec![notation(report), form(report), harmony(report)]
}

fn plural<'w>(count: usize, one: &'w str, many: &'w str) -> &'w str {
    if count == 1 { one } else { many }
}

/// What a player cannot do or would stumble over; else that nothing is in the way.
fn notation(report: &TuneReport) -> Standout {
    let told = || report.remarks.iter().filter(|one| one.severity >= Severity::Warning);
    let count = told().count();
    let unplayable: Vec<u32> = told()
        .filter(|one| one.family == Family::Idiom)
        .filter_map(|one| one.bars.map(|bars| bars.0))
        .collect();
    let mut families: Vec<(Family, usize)> = Vec::new();
    for one in told() {
        match families.iter_mut().find(|(family, _)| *family == one.family) {
            Some((_, own)) => *own += 1,
            None => families.push((one.family, 1)),
        }
    }
    families.sort_by_key(|(family, own)| (std::cmp::Reverse(*own), *family));
    let names: Vec<String> =
        families.iter().take(2).map(|(family, _)| subject(*family).to_owned()).collect();
    let hints = report.remarks.len() - count;
    let mut text = match count {
        0 => "Nothing stands in the way of a first reading".to_owned(),
        _ => format!(
            "{} {} to be settled before a first reading, {} about {}",
            counted(count),
            plural(count, "place has", "places have"),
            match families.len() {
                1 if count == 1 => "it is",
                1 | 2 => "all of them",
                _ => "most of them",
            },
            and_texts(&names),
        ),
    };
    if !unplayable.is_empty() && families.len() > 1 {
        text.push_str(&format!(
            "; {} {} what cannot be played so",
            report.bars.list(&unplayable),
            if one_bar(&unplayable) { "asks for" } else { "ask for" },
        ));
    }
    if hints > 0 {
        text.push_str(&format!(
            "; {hints} smaller {} for a quiet hour",
            plural(hints, "thing is", "things are")
        ));
    }
    Standout { text: format!("{text}."), how: "remarks" }
}

fn one_bar(bars: &[u32]) -> bool {
    bars.iter().all(|bar| Some(bar) == bars.first())
}

fn subject(family: Family) -> &'static str {
    match family {
        Family::Spelling => "spelling",
        Family::Metre => "bars and beats",
        Family::Idiom => "what can be played",
        Family::Harmony => "harmony",
        Family::Texture => "texture",
        Family::Source => "the text itself",
    }
}

/// The figure that stays, the sections that do not differ; else the clearest joint; else that it is of one piece.
fn form(report: &TuneReport) -> Standout {
    let texture = report.remarks.iter().find(|one| one.family == Family::Texture);
    if let Some(one) = texture {
        return Standout { text: one.message.clone(), how: "layers" };
    }
    let clearest =
        report.form.contrasts.iter().max_by(|a, b| a.contrast.total.total_cmp(&b.contrast.total));
    let Some(clearest) = clearest else {
        let bars = report.bars.count();
        let text = match report.form.sections.len() {
            0 | 1 if bars > 0 => "No joint stands out: the piece goes in one sweep.".to_owned(),
            _ => "There is too little music to speak of form.".to_owned(),
        };
        return Standout { text, how: "sections" };
    };
    let later = &report.form.sections[clearest.b];
    let names: Vec<String> =
        clearest.contrast.terms.iter().take(2).map(|(term, _)| term.name().to_owned()).collect();
    let back = report
        .form
        .returns
        .iter()
        .filter(|one| one.likeness >= super::COMES_BACK)
        .max_by(|a, b| a.likeness.total_cmp(&b.likeness));
    let back = back.map(|one| {
        let (section, of) = (&report.form.sections[one.section], &report.form.sections[one.of]);
        format!(
            "; {} come back in {}",
            report.bars.span(of.from, of.to),
            report.bars.span(section.from, section.to)
        )
    });
    let little = clearest.contrast.total < LITTLE;
    let text = format!(
        "{} is at bar {}, most of all in {}{}.",
        match little {
            true => "No section differs much from the one before it; the clearest change",
            false => "The clearest change of section",
        },
        report.bars.name(later.from),
        and_texts(&names),
        back.unwrap_or_default(),
    );
    Standout { text, how: "contrast" }
}

/// Where it is at home and where it goes; else the motif that holds it together.
fn harmony(report: &TuneReport) -> Standout {
    let keys = &report.harmony.keys;
    let words = &report.harmony.vocabulary.words;
    if keys.is_empty() {
        return motif(report);
    }
    let mut lengths: Vec<(&str, u32)> = Vec::new();
    for stretch in keys {
        let bars = stretch.to - stretch.from + 1;
        match lengths.iter_mut().find(|(key, _)| *key == stretch.key) {
            Some((_, own)) => *own += bars,
            None => lengths.push((&stretch.key, bars)),
        }
    }
    let home = lengths.iter().max_by_key(|(_, bars)| *bars).map_or("", |(key, _)| *key);
    let mut away: Vec<(&str, Vec<u32>)> = Vec::new();
    for stretch in keys.iter().filter(|one| one.key != home && one.to > one.from) {
        let bars = stretch.from..=stretch.to;
        match away.iter_mut().find(|(key, _)| *key == stretch.key) {
            Some((_, own)) => own.extend(bars),
            None => away.push((&stretch.key, bars.collect())),
        }
    }
    let away = away.iter().take(2);
    let away: Vec<String> =
        away.map(|(key, bars)| format!("{key} in {}", report.bars.list(bars))).collect();
    let mut text = match away.as_slice() {
        [] => format!("The harmony stays in {home}"),
        _ => format!("The harmony is at home in {home} and goes to {}", and_texts(&away)),
    };
    let most: Vec<String> =
        words.iter().take(3).map(|word| crate::harmony::numerals(&word.degree)).collect();
    if words.len() > 2 {
        text.push_str(&format!("; of its {} chords, {} come most", words.len(), and_texts(&most)));
    }
    Standout { text: format!("{text}."), how: "harmony" }
}

/// The motif that says most: the longer and the more often it comes, the more.
fn telling<'m>(motifs: impl Iterator<Item = &'m Motif>) -> Option<&'m Motif> {
    motifs.max_by_key(|motif| motif.notes.saturating_sub(3) * motif.recurrences.len())
}

fn motif(report: &TuneReport) -> Standout {
    let text = motif_words(report).map_or_else(
        || "No chord is told of, and no motif comes back often enough to name.".to_owned(),
        |(text, _)| text,
    );
    Standout { text, how: "motifs" }
}

/// So many places of a motif are named.
const PLACES: usize = 8;

/// Where the motif that tells most is heard, and the bars of its first time: "Six notes from bar 3, Violin, come back in bars 5
/// and 9–10, upside down in bar 13."
pub fn motif_words(report: &TuneReport) -> Option<(String, (u32, u32))> {
    // A figure is told of among the layers.
    let figured = |one: &Recurrence| {
        let runs = report.layers.rows.get(one.voice as usize).into_iter().flatten();
        runs.clone().any(|run| run.figure.is_some() && (run.from..=run.to).contains(&one.bar))
    };
    let free = |motif: &&Motif| motif.recurrences.first().is_some_and(|first| !figured(first));
    let motif = telling(report.form.motifs.iter().filter(free))?;
    let (first, others) = motif.recurrences.split_first()?;
    // What begins with it is a part that doubles it.
    let others = others.iter().filter(|one| one.bar > first.bar);
    let (turned, upright): (Vec<_>, Vec<_>) = others.partition(|one| one.inverted);
    let list = |all: &[&Recurrence]| {
        let mut bars: Vec<u32> = all.iter().map(|one| one.bar).collect();
        bars.sort_unstable();
        bars.dedup();
        let more = bars.len().saturating_sub(PLACES);
        bars.truncate(PLACES);
        let later = if more > 0 { " and later" } else { "" };
        format!("{}{later}", report.bars.list(&bars))
    };
    let mut places = Vec::new();
    if !upright.is_empty() {
        places.push(format!("in {}", list(&upright)));
    }
    if !turned.is_empty() {
        places.push(format!("upside down in {}", list(&turned)));
    }
    if places.is_empty() {
        return None;
    }
    let voice = report.voices.get(first.voice as usize).filter(|_| report.voices.len() > 1);
    let voice = voice.map_or(String::new(), |name| format!(", {name},"));
    let text = format!(
        "{} notes from {}{voice} come back {}.",
        counted(motif.notes),
        span(&report.bars, first.bar),
        places.join(", "),
    );
    Some((sentence(&text), (first.bar, first.to_bar)))
}

fn span(bars: &Bars, bar: u32) -> String {
    bars.span(bar, bar)
}
