//! The JSON of `compare`, and its schema.

use super::{Compared, Drafts};
use crate::render::Report;
use crate::render::json::{RemarkJson, VERSION, remark};
use recte_assist::Located;
use recte_assist::drafts::{ComparedTune, Placed, Remarks, passages, transposed, within_the_key};
use recte_score::drafts::{Echo, Kind, Part, Plan, Stretch, Touched, Transposition};
use recte_score::{Tune, TuneBar, Voice};
use schemars::{JsonSchema, Schema, schema_for};
use serde::Serialize;
use std::ops::Range;

/// What became of drafts.
#[derive(Serialize, JsonSchema)]
#[schemars(title = "recte compare")]
pub(crate) struct CompareJson<'a> {
    version: u32,
    /// Scores that both drafts have.
    files: Vec<FileJson<'a>>,
    /// Scores that only the new draft has; all their remarks are new.
    added: Vec<AddedJson<'a>>,
    /// Scores that only the old draft has.
    gone: Vec<&'a str>,
    summary: SummaryJson,
}

#[derive(Serialize, JsonSchema)]
struct FileJson<'a> {
    old: &'a str,
    new: &'a str,
    tunes: Vec<TuneJson<'a>>,
    /// Remarks on what stands outside of tunes.
    remarks: RemarksJson<'a>,
}

#[derive(Serialize, JsonSchema)]
struct AddedJson<'a> {
    path: &'a str,
    diagnostics: Vec<RemarkJson<'a>>,
}

#[derive(Serialize, JsonSchema)]
struct TuneJson<'a> {
    /// The tune as it was; null where it is new.
    old: Option<NameJson<'a>>,
    /// The tune as it is; null where it is gone.
    new: Option<NameJson<'a>>,
    /// Whether nothing is changed, to the last sign.
    same: bool,
    voices: Vec<VoiceJson<'a>>,
    /// Whether voices stand in another order.
    reordered: bool,
    stretches: Vec<StretchJson<'a>>,
    /// The same in sentences.
    told: Vec<String>,
    remarks: RemarksJson<'a>,
}

#[derive(Serialize, JsonSchema)]
struct NameJson<'a> {
    reference: Option<&'a str>,
    title: &'a str,
    bars: usize,
}

#[derive(Serialize, JsonSchema)]
struct VoiceJson<'a> {
    old: Option<VoiceNameJson<'a>>,
    new: Option<VoiceNameJson<'a>>,
    renamed: bool,
}

#[derive(Serialize, JsonSchema)]
struct VoiceNameJson<'a> {
    id: &'a str,
    name: &'a str,
}

/// Bars of both drafts that belong together.
#[derive(Serialize, JsonSchema)]
struct StretchJson<'a> {
    /// "same", "renotated" (sounds the same, written otherwise), "changed", "transposed", "by degrees" (higher or lower within
    /// the key), "scaled" (in values twice or half as long), "rebarred", "inserted" or "deleted".
    kind: &'static str,
    /// Null where the bars are inserted.
    old: Option<BarsJson>,
    /// Null where the bars are deleted.
    new: Option<BarsJson>,
    transposition: Option<TranspositionJson>,
    degrees: Option<DegreesJson>,
    /// For "scaled": by what the lengths are multiplied.
    times: Option<String>,
    /// The voices that are not as they were, by their ids in the new draft.
    voices: Vec<TouchedJson<'a>>,
    /// For inserted and deleted bars: bars of the other draft with the same music.
    echo: Option<EchoJson>,
}

#[derive(Serialize, JsonSchema)]
#[serde(rename_all = "camelCase")]
struct BarsJson {
    /// The numbers people give to the first bar and to the last.
    from: i32,
    to: i32,
    /// Their places among all bars, from 0.
    from_index: u32,
    to_index: u32,
}

#[derive(Serialize, JsonSchema)]
struct TranspositionJson {
    /// Semitones up.
    semitones: i32,
    /// Letter steps up.
    steps: i32,
    /// "a major second higher".
    words: String,
}

#[derive(Serialize, JsonSchema)]
struct DegreesJson {
    /// Letter steps up.
    steps: i32,
    /// "a third lower within the key".
    words: String,
}

#[derive(Serialize, JsonSchema)]
struct TouchedJson<'a> {
    voice: &'a str,
    kind: &'static str,
    transposition: Option<TranspositionJson>,
    degrees: Option<DegreesJson>,
}

#[derive(Serialize, JsonSchema)]
struct EchoJson {
    bars: BarsJson,
    transposition: Option<TranspositionJson>,
}

#[derive(Serialize, JsonSchema)]
struct RemarksJson<'a> {
    /// On the old draft; their places are places there.
    settled: Vec<RemarkJson<'a>>,
    standing: Vec<StandingJson<'a>>,
    new: Vec<RemarkJson<'a>>,
}

#[derive(Serialize, JsonSchema)]
struct StandingJson<'a> {
    old: RemarkJson<'a>,
    new: RemarkJson<'a>,
}

#[derive(Serialize, JsonSchema)]
struct SummaryJson {
    files: usize,
    unread: usize,
    settled: usize,
    standing: usize,
    new: usize,
}

/// The JSON Schema of these shapes.
pub(crate) fn schema() -> Schema {
    schema_for!(CompareJson<'static>)
}

/// One object for the whole run.
pub(crate) fn json(drafts: &Drafts) -> CompareJson<'_> {
    let total = drafts.total();
    let added = drafts.added.iter().map(|report| AddedJson {
        path: &report.name,
        diagnostics: remarked(report, &report.remarks),
    });
    CompareJson {
        version: VERSION,
        files: drafts.compared.iter().map(file).collect(),
        added: added.collect(),
        gone: drafts.gone.iter().map(String::as_str).collect(),
        summary: SummaryJson {
            files: drafts.compared.len(),
            unread: drafts.unread,
            settled: total.settled.len(),
            standing: total.standing.len(),
            new: total.new.len(),
        },
    }
}

fn file(compared: &Compared) -> FileJson<'_> {
    FileJson {
        old: &compared.old.name,
        new: &compared.new.name,
        tunes: compared.comparison.tunes.iter().map(|one| tune(compared, one)).collect(),
        remarks: remarks(compared, &compared.comparison.around),
    }
}

fn tune<'a>(compared: &'a Compared, one: &'a ComparedTune) -> TuneJson<'a> {
    let plan = one.plan.as_ref();
    let both = one.old.as_ref().zip(one.new.as_ref()).zip(plan);
    let shown = both.map(|((old, new), plan)| Shown { old: old.tune(), new: new.tune(), plan });
    TuneJson {
        old: one.old.as_ref().map(named),
        new: one.new.as_ref().map(named),
        same: plan.is_some_and(Plan::is_same),
        voices: shown.as_ref().map(Shown::voices).unwrap_or_default(),
        reordered: plan.is_some_and(Plan::reordered),
        stretches: shown.as_ref().map(Shown::stretches).unwrap_or_default(),
        told: passages(one).into_iter().map(|passage| passage.text).collect(),
        remarks: remarks(compared, &one.remarks),
    }
}

fn named(placed: &Placed) -> NameJson<'_> {
    let tune = placed.tune();
    NameJson { reference: tune.reference.as_deref(), title: tune.title(), bars: tune.bars.len() }
}

fn remarked<'a>(report: &'a Report, all: &'a [Located]) -> Vec<RemarkJson<'a>> {
    all.iter().map(|one| remark(report, one)).collect()
}

fn remarks<'a>(compared: &'a Compared, all: &'a Remarks) -> RemarksJson<'a> {
    let standing = all.standing.iter().map(|(old, new)| StandingJson {
        old: remark(&compared.old, old),
        new: remark(&compared.new, new),
    });
    RemarksJson {
        settled: remarked(&compared.old, &all.settled),
        standing: standing.collect(),
        new: remarked(&compared.new, &all.new),
    }
}

struct Shown<'a> {
    old: &'a Tune,
    new: &'a Tune,
    plan: &'a Plan,
}

impl<'a> Shown<'a> {
    fn voices(&self) -> Vec<VoiceJson<'a>> {
        let name = |tune: &'a Tune, voice: Option<u32>| {
            let voice: &Voice = tune.voices.get(voice? as usize)?;
            Some(VoiceNameJson { id: &voice.id, name: &voice.name })
        };
        let voice = |part: &Part| VoiceJson {
            old: name(self.old, part.old),
            new: name(self.new, part.new),
            renamed: part.renamed,
        };
        self.plan.parts.iter().map(voice).collect()
    }

    fn stretches(&self) -> Vec<StretchJson<'a>> {
        self.plan.stretches.iter().map(|stretch| self.stretch(stretch)).collect()
    }

    fn stretch(&self, stretch: &Stretch) -> StretchJson<'a> {
        let other = if stretch.kind == Kind::Inserted { self.old } else { self.new };
        StretchJson {
            kind: kind(stretch.kind),
            old: bars(&self.old.bars, &stretch.old),
            new: bars(&self.new.bars, &stretch.new),
            transposition: by(stretch.kind),
            degrees: degrees(stretch.kind),
            times: match stretch.kind {
                Kind::Scaled(values) => Some(values.times().to_string()),
                _ => None,
            },
            voices: stretch.touched.iter().filter_map(|one| self.touched(one)).collect(),
            echo: stretch.echo.as_ref().and_then(|found| echo(&other.bars, found)),
        }
    }

    fn touched(&self, touched: &Touched) -> Option<TouchedJson<'a>> {
        let part = self.plan.parts.get(touched.part as usize)?;
        let voice = self.new.voices.get(part.new? as usize)?;
        Some(TouchedJson {
            voice: &voice.id,
            kind: kind(touched.kind),
            transposition: by(touched.kind),
            degrees: degrees(touched.kind),
        })
    }
}

fn kind(kind: Kind) -> &'static str {
    match kind {
        Kind::Same => "same",
        Kind::Renotated => "renotated",
        Kind::Changed => "changed",
        Kind::Transposed(_) => "transposed",
        Kind::ByDegrees(_) => "by degrees",
        Kind::Scaled(_) => "scaled",
        Kind::Rebarred => "rebarred",
        Kind::Inserted => "inserted",
        Kind::Deleted => "deleted",
    }
}

fn by(kind: Kind) -> Option<TranspositionJson> {
    match kind {
        Kind::Transposed(by) => Some(transposition(by)),
        _ => None,
    }
}

fn degrees(kind: Kind) -> Option<DegreesJson> {
    match kind {
        Kind::ByDegrees(steps) => Some(DegreesJson { steps, words: within_the_key(steps) }),
        _ => None,
    }
}

fn transposition(by: Transposition) -> TranspositionJson {
    TranspositionJson { semitones: by.semitones, steps: by.steps, words: transposed(by) }
}

fn bars(all: &[TuneBar], range: &Range<u32>) -> Option<BarsJson> {
    let (from_index, to_index) = (range.start, range.end.checked_sub(1)?);
    if range.is_empty() {
        return None;
    }
    let number = |bar: u32| all.get(bar as usize).map(|bar| bar.number);
    Some(BarsJson { from: number(from_index)?, to: number(to_index)?, from_index, to_index })
}

fn echo(all: &[TuneBar], echo: &Echo) -> Option<EchoJson> {
    let by = Some(echo.by).filter(|by| by.semitones != 0).map(transposition);
    Some(EchoJson { bars: bars(all, &echo.bars)?, transposition: by })
}
