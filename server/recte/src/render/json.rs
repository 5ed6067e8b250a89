//! Findings as JSON. Lines and columns count from 0, columns in UTF-16 units.

use super::{Report, Scores, beat, family_of};
use crate::place::{Columns, Place, places_of};
use recte_assist::Located;
use recte_notation::Document;
use recte_review::{Family, Fix, Severity};
use schemars::JsonSchema;
use serde::Serialize;
use std::ops::Range;

/// The version of these shapes.
pub(crate) const VERSION: u32 = 1;

/// A place in a text.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub(crate) struct PlaceJson {
    pub(crate) line: usize,
    pub(crate) character: usize,
}

/// A stretch of a text.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub(crate) struct RangeJson {
    pub(crate) start: PlaceJson,
    pub(crate) end: PlaceJson,
}

#[derive(Serialize)]
struct CheckJson<'a> {
    version: u32,
    files: Vec<FileJson<'a>>,
    summary: SummaryJson,
}

#[derive(Serialize)]
struct FileJson<'a> {
    path: &'a str,
    diagnostics: Vec<RemarkJson<'a>>,
}

#[derive(Serialize, JsonSchema)]
#[serde(rename_all = "camelCase")]
pub(crate) struct RemarkJson<'a> {
    rule: &'a str,
    #[schemars(with = "String")]
    family: Family,
    #[schemars(with = "String")]
    severity: Severity,
    message: &'a str,
    /// None in a score that is no text.
    range: Option<RangeJson>,
    tune: Option<&'a str>,
    title: &'a str,
    voice: Option<&'a str>,
    bar: Option<i32>,
    to_bar: Option<i32>,
    /// What a score that is no text calls the bar.
    #[serde(skip_serializing_if = "Option::is_none")]
    measure: Option<&'a str>,
    beat: Option<String>,
    related: Vec<RelatedJson<'a>>,
    fixes: Vec<FixJson<'a>>,
}

#[derive(Serialize, JsonSchema)]
struct RelatedJson<'a> {
    range: Option<RangeJson>,
    message: &'a str,
}

#[derive(Serialize, JsonSchema)]
struct FixJson<'a> {
    title: &'a str,
    preferred: bool,
    suggestion: bool,
    edits: Vec<EditJson>,
}

#[derive(Serialize, JsonSchema)]
#[serde(rename_all = "camelCase")]
struct EditJson {
    range: RangeJson,
    new_text: String,
}

#[derive(Serialize)]
struct SummaryJson {
    files: usize,
    unread: usize,
    error: usize,
    warning: usize,
    info: usize,
    hint: usize,
}

#[derive(Serialize)]
struct LineJson<'a> {
    path: &'a str,
    #[serde(flatten)]
    remark: RemarkJson<'a>,
}

#[derive(Serialize)]
struct LastLineJson {
    version: u32,
    summary: SummaryJson,
}

/// One object for the whole run.
pub(crate) fn render(scores: &Scores) -> String {
    let mut files = Vec::with_capacity(scores.reports.len());
    for report in &scores.reports {
        files.push(FileJson { path: &report.name, diagnostics: remarks(report) });
    }
    text(&CheckJson { version: VERSION, files, summary: summary(scores) })
}

/// One object a remark, a line each, and the summary on the last.
pub(crate) fn render_lines(scores: &Scores) -> String {
    let mut lines = String::new();
    for report in &scores.reports {
        for remark in remarks(report) {
            lines.push_str(&text(&LineJson { path: &report.name, remark }));
        }
    }
    lines.push_str(&text(&LastLineJson { version: VERSION, summary: summary(scores) }));
    lines
}

/// A value as JSON on one line.
pub(crate) fn text(value: &impl Serialize) -> String {
    // Only maps with odd keys cannot be written, and there are none here.
    let mut text = serde_json::to_string(value).unwrap_or_default();
    text.push('\n');
    text
}

/// The range of bytes of a document.
pub(crate) fn range(document: &Document, bytes: Range<usize>) -> RangeJson {
    let (start, end) = places_of(document.rope(), &bytes, Columns::Utf16);
    let place = |Place { line, column }| PlaceJson { line, character: column };
    RangeJson { start: place(start), end: place(end) }
}

fn summary(scores: &Scores) -> SummaryJson {
    SummaryJson {
        files: scores.reports.len(),
        unread: scores.unread,
        error: scores.count(Severity::Error),
        warning: scores.count(Severity::Warning),
        info: scores.count(Severity::Info),
        hint: scores.count(Severity::Hint),
    }
}

fn remarks(report: &Report) -> Vec<RemarkJson<'_>> {
    report.remarks.iter().map(|located| remark(report, located)).collect()
}

/// A remark on a score.
pub(crate) fn remark<'a>(report: &'a Report, located: &'a Located) -> RemarkJson<'a> {
    let document = &report.document;
    let is_text = report.bars.is_none();
    let (finding, tune) = (located.finding(), located.tune());
    let number = |bar: Option<u32>| bar.map(|bar| tune.bar_number(bar));
    let voice = finding.voice.and_then(|voice| tune.voices.get(voice as usize));
    let place = |span: recte_score::Span| {
        let span = span.range();
        is_text.then(|| range(document, located.start + span.start..located.start + span.end))
    };
    let measure = finding.bar.and_then(|bar| report.bars.as_ref()?.get(bar as usize));
    let related = finding.related.iter();
    RemarkJson {
        rule: finding.rule,
        family: family_of(finding.rule),
        severity: finding.severity,
        message: &finding.message,
        range: is_text.then(|| range(document, located.range())),
        tune: tune.reference.as_deref(),
        title: tune.title(),
        voice: voice.map(|voice| voice.id.as_str()),
        bar: number(finding.bar),
        to_bar: number(finding.to_bar),
        measure: measure.map(String::as_str),
        beat: beat(located),
        related: related
            .map(|one| RelatedJson { range: place(one.span), message: &one.message })
            .collect(),
        fixes: finding.fixes.iter().map(|one| fix(document, located, one, is_text)).collect(),
    }
}

/// A fix; in a score that is no text it has no edits.
fn fix<'a>(document: &Document, located: &Located, fix: &'a Fix, is_text: bool) -> FixJson<'a> {
    let edit = |change: recte_notation::Change| EditJson {
        range: range(document, change.range),
        new_text: change.text,
    };
    FixJson {
        title: &fix.title,
        preferred: fix.preferred,
        suggestion: fix.kind == recte_review::FixKind::Suggestion,
        edits: located.changes(fix).into_iter().filter(|_| is_text).map(edit).collect(),
    }
}
