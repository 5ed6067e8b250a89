//! What became of drafts, for reading and for programs.

mod shapes;

use super::text::{plain, style, within};
use super::{Report, severity_word};
use owo_colors::{OwoColorize, Stream::Stdout};
use recte_assist::Located;
use recte_assist::drafts::{ComparedTune, Comparison, Remarks, counts, passages};
use std::fmt::Write;

pub(crate) use shapes::{json, schema};

/// All scores of a run.
#[derive(Default)]
pub(crate) struct Drafts {
    /// Those that both drafts have.
    pub(crate) compared: Vec<Compared>,
    /// Those that only the new draft has, with all there is to remark.
    pub(crate) added: Vec<Report>,
    /// The names of those that only the old draft has.
    pub(crate) gone: Vec<String>,
    /// How many could not be read.
    pub(crate) unread: usize,
}

/// A score of both drafts. The remarks stand in the comparison.
pub(crate) struct Compared {
    /// As it was.
    pub(crate) old: Report,
    /// As it is.
    pub(crate) new: Report,
    /// What became of it.
    pub(crate) comparison: Comparison,
}

impl Drafts {
    /// The remarks that the old draft gave no cause for.
    pub(crate) fn new_remarks(&self) -> impl Iterator<Item = &Located> {
        let compared = self.compared.iter().flat_map(|one| one.comparison.remarks());
        let added = self.added.iter().flat_map(|report| &report.remarks);
        compared.flat_map(|remarks| &remarks.new).chain(added)
    }

    /// How many remarks are settled, stand and are new.
    fn total(&self) -> Remarks {
        let mut total = Remarks::default();
        for remarks in self.compared.iter().flat_map(|one| one.comparison.remarks()) {
            total.settled.extend_from_slice(&remarks.settled);
            total.standing.extend_from_slice(&remarks.standing);
        }
        total.new.extend(self.new_remarks().cloned());
        total
    }
}

/// A paragraph for every tune, and what is to be said of all of them last.
pub(crate) fn text(drafts: &Drafts) -> String {
    let mut out = String::new();
    for compared in &drafts.compared {
        for tune in &compared.comparison.tunes {
            paragraph(&mut out, compared, tune);
        }
        let around = &compared.comparison.around;
        if !(around.settled.is_empty() && around.standing.is_empty() && around.new.is_empty()) {
            head(&mut out, &compared.new.name, "");
            remarks(&mut out, compared, around);
            out.push('\n');
        }
    }
    for report in &drafts.added {
        head(&mut out, &report.name, "");
        let _ = writeln!(out, "  The old draft has no score of this name.");
        let all = Remarks { new: report.remarks.clone(), ..Remarks::default() };
        let _ = writeln!(out, "  {}.", recte_review::words::sentence(&counts(&all)));
        for one in &report.remarks {
            remark(&mut out, "new", one, report.bars.as_deref(), "");
        }
        out.push('\n');
    }
    for name in &drafts.gone {
        head(&mut out, name, "");
        let _ = writeln!(out, "  The new draft has no score of this name.\n");
    }
    let tunes: usize = drafts.compared.iter().map(|one| one.comparison.tunes.len()).sum();
    let tunes = if tunes == 1 { "1 tune".to_owned() } else { format!("{tunes} tunes") };
    let unread = match drafts.unread {
        0 => String::new(),
        count => format!(" {count} could not be read."),
    };
    let _ = writeln!(out, "{tunes} compared: {}.{unread}", counts(&drafts.total()));
    out
}

fn head(out: &mut String, name: &str, title: &str) {
    let name = plain(name);
    let name = name.if_supports_color(Stdout, |text| text.bold());
    let title = if title.is_empty() { String::new() } else { format!(": {}", plain(title)) };
    let _ = writeln!(out, "{name}{title}");
}

fn paragraph(out: &mut String, compared: &Compared, tune: &ComparedTune) {
    let (report, placed) = match &tune.new {
        Some(new) => (&compared.new, Some(new)),
        None => (&compared.old, tune.old.as_ref()),
    };
    let title = placed.map_or(String::new(), |placed| {
        let tune = placed.tune();
        match (tune.title(), &tune.reference) {
            ("", Some(number)) => format!("tune {number}"),
            (title, _) => title.to_owned(),
        }
    });
    head(out, &report.name, &title);
    for passage in passages(tune) {
        let _ = writeln!(out, "  {}", plain(&passage.text));
    }
    remarks(out, compared, &tune.remarks);
    out.push('\n');
}

fn remarks(out: &mut String, compared: &Compared, all: &Remarks) {
    let colon = if all.settled.len() + all.standing.len() + all.new.len() > 0 { ":" } else { "." };
    let _ = writeln!(out, "  {}{colon}", recte_review::words::sentence(&counts(all)));
    let (old, new) = (compared.old.bars.as_deref(), compared.new.bars.as_deref());
    for one in &all.new {
        remark(out, "new", one, new, "");
    }
    for (_, one) in &all.standing {
        remark(out, "stands", one, new, "");
    }
    for one in &all.settled {
        remark(out, "settled", one, old, " of the old draft");
    }
}

/// "    new, Violin, bar 3: warning: … (rule)".
fn remark(out: &mut String, what: &str, one: &Located, bars: Option<&[String]>, of: &str) {
    let finding = one.finding();
    let place = within(one, bars);
    let place = if place.is_empty() { String::new() } else { format!(", {place}{of}") };
    let word = severity_word(finding.severity);
    let word = word.if_supports_color(Stdout, |text| text.style(style(finding.severity)));
    let rule = format!("({})", finding.rule);
    let rule = rule.if_supports_color(Stdout, |text| text.dimmed());
    let (place, message) = (plain(&place), plain(&finding.message));
    let _ = writeln!(out, "    {what}{place}: {word}: {message} {rule}");
}
