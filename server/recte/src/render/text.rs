//! Findings for reading: where, what, the music itself with the place marked, and what could be done.

use super::{Report, Scores, beat, severity_word};
use crate::place::{Columns, Place, line_text, places_of};
use owo_colors::{OwoColorize, Stream::Stdout, Style};
use recte_assist::Located;
use recte_review::{FixKind, Severity};
use std::fmt::Write;

/// So many lines of music are shown of one remark.
const LINES: usize = 3;
/// So many characters of a line are shown, around the place.
const WIDTH: usize = 96;

/// The whole run.
pub(crate) fn render(scores: &Scores) -> String {
    let mut out = String::new();
    for (report, located) in scores.remarks() {
        remark(&mut out, report, located);
    }
    let _ = writeln!(out, "{}", summary(scores));
    out
}

fn remark(out: &mut String, report: &Report, located: &Located) {
    let finding = located.finding();
    let (start, end) = places_of(report.document.rope(), &located.range(), Columns::Utf32);
    let name = plain(&report.name);
    let place = match report.bars {
        None => format!("{name}:{}:{}", start.line + 1, start.column + 1),
        Some(_) => name,
    };
    let place = place.if_supports_color(Stdout, |text| text.bold());
    let bars = report.bars.as_deref();
    let head = format!("{place}  {}", plain(&whereabouts(located, bars)));
    let _ = writeln!(out, "{}", head.trim_end());
    let word = severity_word(finding.severity);
    let word = word.if_supports_color(Stdout, |text| text.style(style(finding.severity)));
    let rule = format!("({})", finding.rule);
    let rule = rule.if_supports_color(Stdout, |text| text.dimmed());
    let _ = writeln!(out, "  {word}: {} {rule}", plain(&finding.message));
    if report.bars.is_none() {
        quote(out, report, start, end);
    }
    for fix in &finding.fixes {
        let lead = match fix.kind {
            FixKind::Fix => "try",
            FixKind::Suggestion => "or perhaps",
        };
        let _ = writeln!(out, "  {lead}: {}", plain(&fix.title));
    }
    out.push('\n');
}

pub(crate) fn style(severity: Severity) -> Style {
    match severity {
        Severity::Error => Style::new().red().bold(),
        Severity::Warning => Style::new().yellow().bold(),
        Severity::Info => Style::new().cyan(),
        Severity::Hint => Style::new().dimmed(),
    }
}

/// "Lilt, Flute, bars 3–4"; with the names a score has for its bars "Lilt, Flute, bar 3, beat 2".
fn whereabouts(located: &Located, names: Option<&[String]>) -> String {
    let tune = located.tune();
    let title = match (tune.title(), &tune.reference) {
        ("", Some(number)) => format!("tune {number}"),
        ("", None) => String::new(),
        (title, _) => title.to_owned(),
    };
    let inside = within(located, names);
    let parts = [title, inside].into_iter().filter(|part| !part.is_empty());
    parts.collect::<Vec<_>>().join(", ")
}

/// The same within its tune: "Flute, bars 3–4".
pub(crate) fn within(located: &Located, names: Option<&[String]>) -> String {
    let (finding, tune) = (located.finding(), located.tune());
    let voice = finding.voice.filter(|_| tune.voices.len() > 1);
    let voice = voice.and_then(|voice| tune.voices.get(voice as usize));
    let voice = voice.map_or(String::new(), |voice| voice.label().to_owned());
    let number = |bar| tune.bar_number(bar);
    let named = |bar: u32| {
        let name = names.and_then(|names| names.get(bar as usize)).filter(|name| !name.is_empty());
        name.cloned().unwrap_or_else(|| number(bar).to_string())
    };
    let several =
        finding.to_bar.filter(|to| finding.bar.is_some_and(|from| number(*to) > number(from)));
    let bars = match (finding.bar, several) {
        (Some(from), Some(to)) => format!("bars {}–{}", named(from), named(to)),
        (Some(bar), _) if names.is_none() && number(bar) == 0 => "pickup".to_owned(),
        (Some(bar), _) => format!("bar {}", named(bar)),
        _ => String::new(),
    };
    let beat = beat(located).filter(|_| names.is_some() && several.is_none());
    let beat = beat.map_or(String::new(), |beat| format!("beat {beat}"));
    let parts = [voice, bars, beat].into_iter().filter(|part| !part.is_empty());
    parts.collect::<Vec<_>>().join(", ")
}

/// The lines as typed, the place marked beneath.
fn quote(out: &mut String, report: &Report, start: Place, end: Place) {
    let rope = report.document.rope();
    let last = end.line.min(start.line + LINES - 1);
    for line in start.line..=last {
        let text = line_text(rope, line);
        let length = text.len_chars();
        let from = if line == start.line { start.column } else { 0 };
        let to = if line == end.line { end.column } else { length };
        let (from, to) = (from.min(length), to.min(length));
        if line > start.line && from == to {
            continue;
        }
        let first = if length <= WIDTH { 0 } else { from.saturating_sub(WIDTH / 3) };
        let shown: Vec<char> = text.chars_at(first).take(WIDTH).collect();
        let cut = if first > 0 { "…" } else { "" };
        let rest = if first + shown.len() < length { "…" } else { "" };
        let _ = writeln!(out, "    {cut}{}{rest}", plain(&shown.iter().collect::<String>()));
        let before = &shown[..from.saturating_sub(first).min(shown.len())];
        let pad: String = before.iter().map(|c| if *c == '\t' { '\t' } else { ' ' }).collect();
        let marks = "^".repeat(to.saturating_sub(from).clamp(1, shown.len().max(1)));
        let marks = marks.if_supports_color(Stdout, |text| text.bold());
        let _ = writeln!(out, "    {}{pad}{marks}", if first > 0 { " " } else { "" });
    }
    if end.line > last {
        let _ = writeln!(out, "    …");
    }
}

/// Without signs that would command a terminal.
pub(crate) fn plain(text: &str) -> String {
    text.chars().map(|c| if c.is_control() && c != '\t' { '·' } else { c }).collect()
}

fn summary(scores: &Scores) -> String {
    let files = match scores.reports.len() {
        1 => "1 score".to_owned(),
        count => format!("{count} scores"),
    };
    let severities = [Severity::Error, Severity::Warning, Severity::Info, Severity::Hint];
    let counts = severities.into_iter().filter_map(|severity| {
        let plural = |count| if count == 1 || severity == Severity::Info { "" } else { "s" };
        let count = scores.count(severity);
        (count > 0).then(|| format!("{count} {}{}", severity_word(severity), plural(count)))
    });
    let counts: Vec<String> = counts.collect();
    let unread = match scores.unread {
        0 => String::new(),
        count => format!(" {count} could not be read."),
    };
    if counts.is_empty() {
        return format!("Nothing to remark in {files}.{unread}");
    }
    format!("{} in {files}.{unread}", counts.join(", "))
}
