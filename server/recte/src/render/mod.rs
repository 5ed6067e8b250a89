//! Findings as text for people and as JSON for programs.

pub(crate) mod drafts;
pub(crate) mod html;
pub(crate) mod json;
pub(crate) mod markdown;
pub(crate) mod report_json;
pub(crate) mod table;
pub(crate) mod text;

use recte_assist::Located;
use recte_notation::Document;
use recte_review::{Family, Severity, find_rule};

/// A score and what there is to say of it.
pub(crate) struct Report {
    /// What to call the score.
    pub(crate) name: String,
    /// The score.
    pub(crate) document: Document,
    /// What the bars of a score that is no text are called; its text is nothing to show.
    pub(crate) bars: Option<Vec<String>>,
    /// The remarks, in the order of the text.
    pub(crate) remarks: Vec<Located>,
}

/// All scores of a run.
pub(crate) struct Scores {
    /// Those that could be read, by name.
    pub(crate) reports: Vec<Report>,
    /// How many could not.
    pub(crate) unread: usize,
}

impl Scores {
    /// Every remark, with the score it is about.
    pub(crate) fn remarks(&self) -> impl Iterator<Item = (&Report, &Located)> {
        self.reports.iter().flat_map(|report| report.remarks.iter().map(move |one| (report, one)))
    }

    /// How many remarks there are of a severity.
    pub(crate) fn count(&self, severity: Severity) -> usize {
        self.remarks().filter(|(_, one)| one.finding().severity == severity).count()
    }
}

/// The family of a rule; remarks about the text itself belong to the source.
pub(crate) fn family_of(rule: &str) -> Family {
    find_rule(rule).map_or(Family::Source, |rule| rule.family)
}

/// A severity's word.
pub(crate) fn severity_word(severity: Severity) -> &'static str {
    match severity {
        Severity::Error => "error",
        Severity::Warning => "warning",
        Severity::Info => "info",
        Severity::Hint => "hint",
    }
}

/// The beat a remark is about, counted from 1 in the beats of the signature as usually felt; "5/2" is the
/// middle of the second. Quarters are counted in free metre.
pub(crate) fn beat(located: &Located) -> Option<String> {
    use recte_theory::Time;
    let (finding, tune) = (located.finding(), located.tune());
    let bar = finding.bar? as usize;
    let metre = tune.voices.iter().filter_map(|voice| voice.bars.get(bar)).next();
    let groups = metre.and_then(|bar| tune.metres.get(bar.metre as usize)).map(|m| m.groupings());
    let groups = groups.and_then(|all| all.into_iter().next()).unwrap_or_default();
    let (mut number, mut left) = (Time::WHOLE, finding.offset);
    for group in groups.iter().copied().filter(|group| *group > Time::ZERO) {
        if left < group {
            return Some((number + left / group).to_string());
        }
        (number, left) = (number + Time::WHOLE, left - group);
    }
    let last = groups.last().copied().unwrap_or(Time::new(1, 4));
    Some((number + left / last).to_string())
}
