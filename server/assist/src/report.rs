//! What a reviewer's report says of each tune: plain data, in no format.
//!
//! Remarks come from [`check`](crate::check), with the rules asked for that only observe; all else is measured by the
//! analyses of `score` and told in words here. Nothing is worked out twice: harmonies are the block's.

mod bars;
mod cautions;
mod fullness;
mod harmonies;
mod layers;
mod listen;
mod method;
mod parts;
mod piece;
mod quotes;
mod remarks;
mod since;
pub mod staff;
mod standout;
#[cfg(test)]
mod tests;

pub use bars::Bars;
pub use cautions::{Caution, DEFERENCE};
pub use fullness::{Fullness, PROPOSALS};
pub use harmonies::{Chord, HarmonyStrip, KeyStretch};
pub use layers::{FigureRuns, LayerMap, RoleRun, letters};
pub use listen::{Listening, QUARTER, Sound, Sounds};
pub use method::{METHODS, Method, amount, intro, joint_words, method, title};
pub use parts::{Fact, PartReport, RegisterUse, percent};
pub use piece::{Piece, duration};
pub use quotes::Quote;
pub use remarks::{Proposal, Remark, whereabouts};
pub use since::{Change, Fate, LastDraft, Moved, PASSAGE, PASSAGES, Settled, Since};
pub use standout::{Standout, motif_words};

use crate::host::{Located, Snapshot, check};
use recte_notation::{Block, BlockKind, Document};
use recte_review::{Around, Config, Family, RULES, RuleSetting, Severity, parts_of, words};
use recte_score::Tune;
use recte_score::texture::{Form, analyse};
use since::Drafts;
use std::sync::Arc;

/// What there is to say of one tune.
#[derive(Clone, Debug)]
pub struct TuneReport {
    /// Its title; its number where it has none.
    pub title: String,
    /// Its number, as typed.
    pub reference: Option<String>,
    /// What its bars are called.
    pub bars: Bars,
    /// What to call its voices.
    pub voices: Vec<String>,
    /// What it is.
    pub piece: Piece,
    /// Three sentences.
    pub standout: Vec<Standout>,
    /// The remarks, in the order of the bars.
    pub remarks: Vec<Remark>,
    /// The reviewer's own, in their places.
    pub margin: Vec<Margin>,
    /// Where something could hurt.
    pub cautions: Vec<Caution>,
    /// Its harmonies.
    pub harmony: HarmonyStrip,
    /// Its parts.
    pub parts: Vec<PartReport>,
    /// Who carries what.
    pub layers: LayerMap,
    /// Sections, contrasts, curves, likeness.
    pub form: Form,
    /// The seconds of each section; none where no tempo is typed.
    pub section_seconds: Vec<Option<f64>>,
    /// What can be heard.
    pub listening: Listening,
    /// What became of the last draft, where one was named.
    pub since: Option<Since>,
}

/// A remark that a reviewer typed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Margin {
    /// What it says.
    pub text: String,
    /// The voice, by index.
    pub voice: Option<usize>,
    /// The bar, by index; none in the header.
    pub bar: Option<u32>,
}

/// From this likeness on a section is said to come back (varied or literally).
pub const COMES_BACK: f64 = 0.6;

/// Rules that speak only where the settings name them, and are asked for in a report.
const ASKED: [&str; 2] = ["planing", "pedal-point"];

/// The settings with the rules named that only observe, and those of playing, which then also tell what is merely awkward.
/// What the settings switch off stays off.
fn asking(config: &Config) -> Config {
    let mut config = config.clone();
    for rule in RULES.iter().filter(|r| r.family == Family::Idiom || ASKED.contains(&r.id)) {
        let setting = RuleSetting::of(rule.severity);
        config.rules.entry(rule.id.to_owned()).or_insert(setting);
    }
    config
}

/// A report on each tune of a document. `names` are what a score that is no text calls its bars; it holds one tune.
pub fn report(document: &Document, config: &Config, names: Option<&[String]>) -> Vec<TuneReport> {
    reports(document, config, names, None).0
}

/// The same, with what became of the last draft; and the titles of the tunes that only that one has.
pub fn report_since(
    document: &Document,
    config: &Config,
    names: Option<&[String]>,
    last: &LastDraft<'_>,
) -> (Vec<TuneReport>, Vec<String>) {
    reports(document, config, names, Some(*last))
}

fn reports(
    document: &Document,
    config: &Config,
    names: Option<&[String]>,
    last: Option<LastDraft<'_>>,
) -> (Vec<TuneReport>, Vec<String>) {
    let snapshot = Snapshot::new(document.clone(), Arc::new(asking(config)));
    let found = check(&snapshot);
    let drafts = last.map(|last| Drafts::new(last, &snapshot));
    let arounds = Around::of(document);
    let tunes = document.blocks().zip(&arounds).filter(|((_, b), _)| b.kind == BlockKind::Tune);
    let mut first = true;
    let reports = tunes.map(|((start, block), around)| {
        // What is said of the head of the file is told with the first tune.
        let own = |one: &&Located| one.start == start || first && one.start < start;
        let own: Vec<Located> = found.iter().filter(own).cloned().collect();
        let mut one = of_tune(block, &snapshot.config, around, &own, names, drafts.as_ref());
        one.since = drafts.as_ref().map(|drafts| drafts.of(start, first, &one.voices));
        first = false;
        one
    });
    let reports = reports.collect();
    (reports, drafts.map(|drafts| drafts.gone()).unwrap_or_default())
}

fn of_tune(
    block: &Arc<Block>,
    config: &Config,
    around: &Around,
    found: &[Located],
    names: Option<&[String]>,
    drafts: Option<&Drafts<'_>>,
) -> TuneReport {
    let tune = &block.lowered().tune;
    let bars = Bars::of(tune, names);
    let remarks = remarks::remarks(tune, found, &config.report, drafts.map(|drafts| &drafts.fates));
    let measured = parts_of(block, config, around);
    let voices = voice_names(tune, &measured);
    let form = analyse(tune, block.harmonies());
    let listening = Listening::of(tune, &voices);
    let margin = tune.margin.iter().map(|note| Margin {
        text: note.text.clone(),
        voice: note.voice.map(|voice| voice as usize),
        bar: note
            .bar
            .filter(|bar| (*bar as usize) < tune.bars.len())
            .or(note.bar.map(|_| (tune.bars.len() as u32).saturating_sub(1))),
    });
    let mut report = TuneReport {
        title: title_of(tune),
        reference: tune.reference.clone(),
        piece: piece::piece(tune, &bars, &measured, &voices),
        standout: Vec::new(),
        margin: margin.collect(),
        cautions: cautions::cautions(&remarks, &measured, &form),
        harmony: harmonies::strip(block),
        parts: parts::parts(&measured, &remarks, &voices),
        layers: layers::layers(&form),
        section_seconds: form
            .sections
            .iter()
            .map(|one| piece::seconds_of(tune, &listening, (one.from, one.to)))
            .collect(),
        since: None,
        remarks,
        form,
        listening,
        bars,
        voices,
    };
    report.standout = standout::standout(&report);
    report
}

/// A tune's title; its number where it has none.
fn title_of(tune: &Tune) -> String {
    match (tune.title(), &tune.reference) {
        ("", Some(number)) => format!("Tune {number}"),
        ("", None) => "Untitled".to_owned(),
        (title, _) => title.to_owned(),
    }
}

/// What to call each voice: its name; a staff without one after the part it belongs to.
fn voice_names(tune: &Tune, parts: &[recte_review::Part<'_>]) -> Vec<String> {
    if tune.voices.len() == 1 {
        let label = tune.voices[0].label();
        return vec![if label == "1" { "Melody".to_owned() } else { label.to_owned() }];
    }
    let own = |voice: usize| {
        let voice = &tune.voices[voice];
        // One whose id is its name has a name all the same.
        if voice.name.is_empty() {
            words::sentence(&words::voice(voice))
        } else {
            voice.name.clone()
        }
    };
    let name = |voice: usize| {
        let part = parts.iter().find(|part| part.voices.contains(&voice));
        let place = part.and_then(|part| part.voices.iter().position(|one| *one == voice));
        match part.zip(place) {
            Some((part, place)) if part.voices.len() > 1 && place > 0 => {
                let unnamed = tune.voices[voice].name.is_empty();
                let staff = if part.voices.len() == 2 { "lower staff" } else { "further staff" };
                let above = own(part.voices[0]);
                if unnamed { format!("{above}, {staff}") } else { own(voice) }
            }
            _ => own(voice),
        }
    };
    (0..tune.voices.len()).map(name).collect()
}

impl TuneReport {
    /// The notes on method that the report has a use for.
    pub fn methods(&self) -> impl Iterator<Item = &'static Method> {
        METHODS.iter().filter(|one| one.id != "since" || self.since.is_some())
    }

    /// How many remarks of a family.
    pub fn count(&self, family: Family) -> usize {
        self.remarks.iter().filter(|one| one.family == family).count()
    }

    /// How many remarks matter at least as much.
    pub fn at_least(&self, severity: Severity) -> usize {
        self.remarks.iter().filter(|one| one.severity >= severity).count()
    }
}
