//! What became of the last draft, as Markdown.

use super::{Lines, place, plain};
use recte_assist::report::{Fate, Remark, TuneReport};
use recte_review::words::sentence;

pub(super) fn lines(report: &TuneReport) -> Lines {
    let Some(since) = &report.since else { return Lines::new() };
    let mut all = vec![format!("Compared with {}.", plain(&since.name)), String::new()];
    if let Some(lacks) = since.lacks {
        all.push(lacks.to_owned());
        return all;
    }
    all.extend(since.told.iter().map(|one| format!("- {}", plain(&one.text))));
    all.extend([String::new(), format!("{}.", sentence(&since.counts))]);
    let own = |fate: Fate| {
        let told = report.remarks.iter().filter(move |one| one.since == Some(fate));
        let line = move |one: &Remark| {
            let place = place(report, one.bars, one.voice);
            format!("- {}: **{place}**: {}", fate.name(), plain(&one.message))
        };
        told.map(line)
    };
    let settled = since.settled.iter().map(|one| {
        let place = one.place.as_ref().map_or("About the text".to_owned(), |place| sentence(place));
        let voice = one.voice.as_ref().map_or(String::new(), |name| format!(", {}", plain(name)));
        format!("- settled: **{place}{voice}** (of the last draft): {}", plain(&one.message))
    });
    let lines: Lines = own(Fate::New).chain(own(Fate::Stands)).chain(settled).collect();
    if !lines.is_empty() {
        all.push(String::new());
        all.extend(lines);
    }
    all
}

/// "; stands since the last draft": what became of a remark, after its rule.
pub(super) fn fate(one: &Remark) -> &'static str {
    match one.since {
        Some(Fate::Stands) => "; stands since the last draft",
        Some(Fate::New) => "; new since the last draft",
        None => "",
    }
}
