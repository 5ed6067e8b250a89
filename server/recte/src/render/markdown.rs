//! A report as Markdown (CommonMark with tables): the same words, without pictures and sound.

mod since;

use super::table::Line;
use recte_assist::report::{
    COMES_BACK, DEFERENCE, Proposal, Remark, TuneReport, amount, duration, intro, joint_words,
    percent, title,
};
use recte_review::words::{and_texts, sentence};
use recte_review::{Chapter, Family, Reader, Template};
use std::fmt::Write;

/// A chapter's lines.
type Lines = Vec<String>;

/// The report on a tune.
pub(crate) fn render(path: &str, report: &TuneReport, template: &Template) -> String {
    let mut out = format!("# {}\n\n", plain(&report.title));
    let number = report
        .reference
        .as_ref()
        .map_or(String::new(), |number| format!(", tune {}", plain(number)));
    let _ = writeln!(out, "{}{number}\n", plain(path));
    words(&mut out, &template.greeting);
    for chapter in template.chapters() {
        let lines = lines(chapter, report);
        if lines.is_empty() {
            continue;
        }
        let _ = writeln!(out, "## {}\n", title(chapter));
        let intro = intro(chapter);
        if template.reader == Reader::Student && !intro.is_empty() {
            let _ = writeln!(out, "*{intro}*\n");
        }
        for line in lines {
            let _ = writeln!(out, "{line}");
        }
        out.push('\n');
    }
    words(&mut out, &template.closing);
    format!("{}\n", out.trim_end())
}

fn words(out: &mut String, text: &str) {
    if !text.trim().is_empty() {
        let _ = writeln!(out, "{}\n", text.trim());
    }
}

fn lines(chapter: Chapter, report: &TuneReport) -> Lines {
    match chapter {
        Chapter::Piece => piece(report),
        Chapter::Standout => report
            .standout
            .iter()
            .zip(1..)
            .map(|(one, at)| format!("{at}. {}", plain(&one.text)))
            .collect(),
        Chapter::Since => since::lines(report),
        Chapter::Bars => bars(report),
        Chapter::Cautions => cautions(report),
        Chapter::Harmony => harmony(report),
        Chapter::Parts => parts(report),
        Chapter::Layers => layers(report),
        Chapter::Form => form(report),
        Chapter::Curves => curves(report),
        Chapter::Likeness => likeness(report),
        Chapter::Method => method(report),
    }
}

fn piece(report: &TuneReport) -> Lines {
    let piece = &report.piece;
    let played = piece.played.map_or(String::new(), |bars| format!(" ({bars} as played)"));
    let long =
        piece.seconds.map_or(", no tempo given".to_owned(), |s| format!(", {}", duration(s)));
    let mut all = vec![
        format!("- Forces: {}", plain(&piece.forces.join(", "))),
        format!("- Length: {} bars{played}{long}", piece.bars),
        format!("- Metre: {}", piece.metres.join("; ")),
        format!("- Key: {}", piece.keys.join("; ")),
    ];
    if !piece.tempi.is_empty() {
        all.insert(2, format!("- Tempo: {}", plain(&piece.tempi.join("; "))));
    }
    all
}

fn place(report: &TuneReport, bars: Option<(u32, u32)>, voice: Option<usize>) -> String {
    let place = bars
        .map_or("About the text".to_owned(), |(from, to)| sentence(&report.bars.span(from, to)));
    let voice =
        voice.filter(|_| report.voices.len() > 1).and_then(|voice| report.voices.get(voice));
    voice.map_or(place.clone(), |voice| format!("{place}, {}", plain(voice)))
}

fn remark(report: &TuneReport, one: &Remark) -> Lines {
    let place = place(report, one.bars, one.voice);
    let fate = since::fate(one);
    let mut all = vec![format!("- **{place}**: {} ({}{fate})", plain(&one.message), one.rule)];
    if let Some(quote) = &one.quote {
        all.push(format!("  - as written: {}", code(&quote.text)));
    }
    let proposal = |one: &Proposal| {
        let text = one.text.as_ref().map_or(String::new(), |text| format!(": {}", code(text)));
        format!("  - {}{text}", plain(&one.title))
    };
    all.extend(one.proposals.iter().take(2).map(proposal));
    all
}

fn remarks(report: &TuneReport, chapter: Chapter) -> Lines {
    let own = report.remarks.iter().filter(|one| one.chapter == chapter);
    own.flat_map(|one| remark(report, one)).collect()
}

fn bars(report: &TuneReport) -> Lines {
    let mut all: Vec<(Option<u32>, Lines)> = Vec::new();
    for own in &report.margin {
        let place = place(report, own.bar.map(|bar| (bar, bar)), own.voice);
        all.push((
            own.bar,
            vec![format!("- **{place}**: “{}” (the reviewer's own)", plain(&own.text))],
        ));
    }
    let told = report.remarks.iter().filter(|one| one.chapter == Chapter::Bars);
    all.extend(told.map(|one| (one.bars.map(|bars| bars.0), remark(report, one))));
    all.sort_by_key(|(bar, _)| *bar);
    let all: Lines = all.into_iter().flat_map(|(_, lines)| lines).collect();
    if all.is_empty() {
        vec!["There is nothing to remark in the notation.".to_owned()]
    } else {
        all
    }
}

fn cautions(report: &TuneReport) -> Lines {
    let mut all: Lines = report
        .cautions
        .iter()
        .map(|one| {
            let voice = one.voice.and_then(|voice| report.voices.get(voice));
            let voice = voice.map_or(String::new(), |name| format!("{}, ", plain(name)));
            format!("- {voice}{}: {} {}", report.bars.list(&one.bars), plain(&one.what), one.advice)
        })
        .collect();
    if !all.is_empty() {
        all.extend([String::new(), DEFERENCE.to_owned()]);
    }
    all
}

fn harmony(report: &TuneReport) -> Lines {
    let harmony = &report.harmony;
    if harmony.keys.is_empty() {
        return Lines::new();
    }
    let keys = harmony
        .keys
        .iter()
        .map(|one| format!("{} in {}", one.key, report.bars.span(one.from, one.to)));
    let mut all = vec![format!("Local keys: {}.", keys.collect::<Vec<_>>().join(", "))];
    if !harmony.cadences.is_empty() {
        let ends = harmony
            .cadences
            .iter()
            .map(|(bar, name)| format!("{name}, {}", report.bars.span(*bar, *bar)));
        all.extend([
            String::new(),
            format!("Where phrases end: {}.", ends.collect::<Vec<_>>().join("; ")),
        ]);
    }
    all.push(String::new());
    let bars = harmony.bars.iter().enumerate().filter(|(_, chords)| !chords.is_empty());
    let bars = bars.map(|(bar, chords)| {
        let chords: Vec<String> =
            chords.iter().map(|one| format!("{} {}", one.symbol, one.degree)).collect();
        format!("{}: {}", report.bars.name(bar as u32), chords.join(", "))
    });
    all.push(plain(&bars.collect::<Vec<_>>().join(" | ")));
    let observed = remarks(report, Chapter::Harmony);
    if !observed.is_empty() {
        all.push(String::new());
        all.extend(observed);
    }
    all
}

fn parts(report: &TuneReport) -> Lines {
    let mut all = Lines::new();
    for part in &report.parts {
        let facts: Vec<String> = part
            .facts(&report.bars)
            .into_iter()
            .map(|one| format!("{}: {}", one.label, one.text))
            .collect();
        all.push(format!("- **{}**: {}.", plain(&part.name), facts.join(". ")));
        for one in part.remarks.iter().filter_map(|at| report.remarks.get(*at)) {
            let place = place(report, one.bars, None);
            let fate = since::fate(one);
            all.push(format!("  - {place}: {} ({}{fate})", plain(&one.message), one.rule));
        }
    }
    all
}

fn layers(report: &TuneReport) -> Lines {
    if report.voices.len() < 2 {
        return Lines::new();
    }
    let one = |(voice, name): (usize, &String)| {
        format!("- **{}**: {}", plain(name), report.layers.sentence(voice, &report.bars))
    };
    let mut all: Lines = report.voices.iter().enumerate().map(one).collect();
    all.extend(remarks(report, Chapter::Layers));
    all
}

fn form(report: &TuneReport) -> Lines {
    let form = &report.form;
    if form.sections.is_empty() {
        return Lines::new();
    }
    let mut all = vec!["| section | bars | source | contrast | most in | joint |".to_owned()];
    all.push("| --- | --- | --- | --- | --- | --- |".to_owned());
    for (at, section) in form.sections.iter().enumerate() {
        let before = form.contrasts.iter().find(|one| one.b == at);
        let joint = form.joints.iter().find(|joint| joint.bar == section.from);
        let most = |one: &recte_score::texture::Compared| {
            let names = one.contrast.terms.iter().take(2).map(|(term, _)| term.name().to_owned());
            and_texts(&names.collect::<Vec<_>>())
        };
        let none = || "–".to_owned();
        all.push(format!(
            "| {} | {}–{} | {} | {} | {} | {} |",
            plain(section.label.as_deref().unwrap_or(&(at + 1).to_string())).replace('|', "\\|"),
            report.bars.name(section.from),
            report.bars.name(section.to),
            section.source.name(),
            before.map_or_else(none, |one| {
                format!("{} ({:.2})", amount(one.contrast.total), one.contrast.total)
            }),
            before.map_or_else(none, most),
            joint
                .and_then(|one| one.abruptness)
                .map_or_else(none, |one| format!("{} ({one:.2})", joint_words(one))),
        ));
    }
    let told = remarks(report, Chapter::Form);
    if !told.is_empty() {
        all.push(String::new());
        all.extend(told);
    }
    all
}

fn curves(report: &TuneReport) -> Lines {
    let curves = &report.form.curves;
    let all: [(&str, &[Option<f64>]); 4] = [
        ("register", &curves.register),
        ("density", &curves.density),
        ("loudness", &curves.dynamic),
        ("dissonance", &curves.dissonance),
    ];
    let one = |(name, values): &(&str, &[Option<f64>])| {
        let known = || values.iter().flatten().copied();
        let (most, least) = (known().max_by(f64::total_cmp)?, known().min_by(f64::total_cmp)?);
        Some(match most > least {
            true => format!("- {name}: highest in {}", report.bars.at(values, most)),
            false => format!("- {name}: the same throughout"),
        })
    };
    all.iter().filter_map(one).collect()
}

fn likeness(report: &TuneReport) -> Lines {
    let form = &report.form;
    let span = |at: usize| {
        form.sections.get(at).map_or(String::new(), |one| report.bars.span(one.from, one.to))
    };
    let one = |back: &recte_score::texture::Return| {
        let what = sentence(&span(back.section));
        format!(
            "- {what} are {} again, {} ({})",
            span(back.of),
            back.name(),
            percent(back.likeness)
        )
    };
    form.returns.iter().filter(|one| one.likeness >= COMES_BACK).map(one).collect()
}

fn method(report: &TuneReport) -> Lines {
    report
        .methods()
        .map(|one| format!("- {}: {} Source: {}", one.title, one.text, one.source))
        .collect()
}

/// The index of some reports; `pages` are where they lie, line by line.
pub(crate) fn index(
    lines: &[Line],
    pages: &[String],
    gone: &[String],
    unread: &[String],
) -> String {
    let families = Family::ALL.map(Family::name);
    let mut out = "# Scores that were read\n\n".to_owned();
    let _ = writeln!(out, "| score | bars | to settle | all | {} |", families.join(" | "));
    let _ = writeln!(out, "| --- | --- | --- | --- |{}", " --- |".repeat(families.len()));
    for (line, page) in lines.iter().zip(pages) {
        let counts = line.families.map(|count| count.to_string()).join(" | ");
        let title = plain(&line.title).replace('|', "\\|");
        let _ = writeln!(
            out,
            "| [{title}](<{page}>) | {} | {} | {} | {counts} |",
            line.bars, line.to_settle, line.remarks
        );
    }
    for (head, all) in [("Only in the last draft", gone), ("Not read", unread)] {
        if !all.is_empty() {
            let _ = writeln!(out, "\n{head}:\n");
        }
        all.iter().for_each(|one| {
            let _ = writeln!(out, "- {}", plain(one));
        });
    }
    out
}

/// Text in which no sign is a command: those that would begin a link, an emphasis or a tag are escaped.
fn plain(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '\\' | '`' | '*' | '_' | '[' | ']' | '<' | '>' | '#' => out.extend(['\\', c]),
            c if c.is_control() => out.push(' '),
            c => out.push(c),
        }
    }
    out
}

/// A code span, with as many backticks as it takes.
fn code(text: &str) -> String {
    let longest = text.split(|c| c != '`').map(str::len).max().unwrap_or(0);
    let fence = "`".repeat(longest + 1);
    let pad = if text.starts_with('`') || text.ends_with('`') { " " } else { "" };
    format!("{fence}{pad}{text}{pad}{fence}")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_sign_is_a_command() {
        assert_eq!(plain("<b>*a*_[x]"), "\\<b\\>\\*a\\*\\_\\[x\\]");
        assert_eq!([code("ab"), code("a`b"), code("`")], ["`ab`", "``a`b``", "`` ` ``"]);
    }
}
