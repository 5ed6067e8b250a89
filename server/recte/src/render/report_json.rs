//! Reports as one JSON object for programs. Bars are counted from 1 at the first full bar, a pickup is 0.

use recte_assist::report::{Fate, PartReport, Remark, Since, TuneReport, letters};
use recte_score::texture::{Boundary, Motif};
use serde_json::{Map, Value, json};

/// The version of this shape.
const VERSION: u32 = 1;

/// A score's path and the reports on its tunes.
/// `gone` are tunes and scores that only the last draft has.
pub(crate) fn render<'a>(
    scores: impl Iterator<Item = (&'a str, &'a TuneReport)>,
    gone: &[String],
) -> String {
    let scores: Vec<Value> = scores.map(|(path, report)| tune(path, report)).collect();
    crate::render::json::text(&json!({ "version": VERSION, "scores": scores, "gone": gone }))
}

fn tune(path: &str, report: &TuneReport) -> Value {
    let number = |bar: u32| report.bars.numbers.get(bar as usize).copied();
    let voice = |voice: usize| report.voices.get(voice);
    let form = &report.form;
    let name = |at: usize| {
        let section = form.sections.get(at);
        section.and_then(|one| one.label.clone()).unwrap_or_else(|| (at + 1).to_string())
    };
    let sections = form.sections.iter().map(|one| {
        json!({ "from": number(one.from), "to": number(one.to), "label": one.label, "source": one.source.name() })
    });
    let boundary = |one: &Boundary| json!({ "bar": number(one.bar), "strength": thousandths(one.strength), "abruptness": one.abruptness.map(thousandths) });
    let contrasts = form.contrasts.iter().map(|one| {
        let terms = one.contrast.terms.iter();
        let terms: Map<String, Value> =
            terms.map(|(term, value)| (term.name().to_owned(), json!(thousandths(*value)))).collect();
        json!({ "a": name(one.a), "b": name(one.b), "total": thousandths(one.contrast.total), "terms": terms })
    });
    let returns = form.returns.iter().map(|one| {
        json!({
            "section": name(one.section), "of": name(one.of), "likeness": thousandths(one.likeness),
            "transposed": one.transposed, "kind": one.name(),
        })
    });
    let figures = report.layers.figures.iter().map(|figure| {
        let carriers = figure.carriers.iter().map(|(one, from, to)| {
            json!({ "voice": voice(*one), "from": number(*from), "to": number(*to) })
        });
        json!({
            "id": figure.id, "bars": figure.bars, "entropy": thousandths(figure.entropy),
            "carriers": carriers.collect::<Vec<_>>(),
        })
    });
    let layers = report.layers.rows.iter().enumerate().map(|(at, runs)| {
        let runs = runs.iter().map(|run| {
            json!({
                "role": run.role.name(), "figure": run.figure.map(letters), "from": number(run.from), "to": number(run.to),
            })
        });
        json!({ "voice": voice(at), "runs": runs.collect::<Vec<_>>() })
    });
    let curve = |values: &[Option<f64>]| -> Vec<Option<f64>> {
        values.iter().map(|value| value.map(thousandths)).collect()
    };
    let keys = report.harmony.keys.iter();
    let keys =
        keys.map(|one| json!({ "from": number(one.from), "to": number(one.to), "key": one.key }));
    let cadences = report.harmony.cadences.iter();
    let cadences = cadences.map(|(bar, name)| json!({ "bar": number(*bar), "cadence": name }));
    let words = report.harmony.vocabulary.words.iter();
    let words = words.map(|word| json!({ "degree": word.degree, "count": word.count }));
    let piece = &report.piece;
    json!({
        "path": path,
        "tune": report.reference,
        "title": report.title,
        "piece": {
            "by": piece.by, "forces": piece.forces, "bars": piece.bars, "played": piece.played,
            "seconds": piece.seconds.map(|(least, most)| json!({ "least": thousandths(least), "most": thousandths(most) })),
            "tempi": piece.tempi, "keys": piece.keys, "metres": piece.metres,
        },
        "standout": report.standout.iter().map(|one| &one.text).collect::<Vec<_>>(),
        "remarks": report.remarks.iter().map(|one| remark(report, one)).collect::<Vec<_>>(),
        "reviewer": report.margin.iter().map(|one| {
            json!({ "text": one.text, "voice": one.voice.and_then(voice), "bar": one.bar.and_then(number) })
        }).collect::<Vec<_>>(),
        "cautions": report.cautions.iter().map(|one| {
            let bars: Vec<_> = one.bars.iter().filter_map(|bar| number(*bar)).collect();
            json!({ "what": one.what, "advice": one.advice, "bars": bars, "voice": one.voice.and_then(voice) })
        }).collect::<Vec<_>>(),
        "harmony": {
            "keys": keys.collect::<Vec<_>>(), "cadences": cadences.collect::<Vec<_>>(),
            "words": words.collect::<Vec<_>>(), "predictable": report.harmony.vocabulary.predictable.map(thousandths),
        },
        "sections": sections.collect::<Vec<_>>(),
        "boundaries": form.boundaries.iter().map(boundary).collect::<Vec<_>>(),
        "joints": form.joints.iter().map(boundary).collect::<Vec<_>>(),
        "contrasts": contrasts.collect::<Vec<_>>(),
        "returns": returns.collect::<Vec<_>>(),
        "motifs": {
            "count": form.motifs.len(), "coverage": thousandths(Motif::coverage(&form.motifs, report.bars.count())),
        },
        "figures": figures.collect::<Vec<_>>(),
        "layers": layers.collect::<Vec<_>>(),
        "since": report.since.as_ref().map(|one| since(report, one)),
        "parts": report.parts.iter().map(|one| part(report, one)).collect::<Vec<_>>(),
        "curves": {
            "bars": report.bars.numbers, "register": curve(&form.curves.register), "density": curve(&form.curves.density),
            "dynamic": curve(&form.curves.dynamic), "dissonance": curve(&form.curves.dissonance),
        },
    })
}

fn remark(report: &TuneReport, one: &Remark) -> Value {
    let number = |bar: u32| report.bars.numbers.get(bar as usize).copied();
    let proposals = one.proposals.iter().map(|proposal| {
        json!({ "title": proposal.title, "changesTheMusic": proposal.changes, "text": proposal.text })
    });
    json!({
        "rule": one.rule, "family": one.family, "severity": one.severity, "chapter": one.chapter,
        "voice": one.voice.and_then(|voice| report.voices.get(voice)),
        "bar": one.bars.and_then(|bars| number(bars.0)), "toBar": one.bars.and_then(|bars| number(bars.1)),
        "message": one.message, "quote": one.quote.as_ref().map(|quote| &quote.text),
        "proposals": proposals.collect::<Vec<_>>(), "since": one.since.map(Fate::name),
    })
}

fn since(report: &TuneReport, one: &Since) -> Value {
    let number = |bar: u32| report.bars.numbers.get(bar as usize).copied();
    let told = one.told.iter().map(|change| {
        let bars = change.bars.iter().map(|moved| {
            json!({
                "old": moved.old_numbers.map(|(from, to)| json!({ "from": from, "to": to })),
                "new": moved.new.map(|(from, to)| json!({ "from": number(from), "to": number(to) })),
            })
        });
        json!({ "text": change.text, "bars": bars.collect::<Vec<_>>() })
    });
    let settled = one.settled.iter().map(|one| {
        json!({ "rule": one.rule, "voice": one.voice, "place": one.place, "message": one.message })
    });
    json!({
        "draft": one.name, "lacks": one.lacks, "told": told.collect::<Vec<_>>(),
        "settled": settled.collect::<Vec<_>>(),
    })
}

fn part(report: &TuneReport, one: &PartReport) -> Value {
    let number = |bar: u32| report.bars.numbers.get(bar as usize).copied();
    let ends = |range: Option<(recte_theory::Pitch, recte_theory::Pitch)>| {
        range.map(|(low, high)| [low.to_string(), high.to_string()])
    };
    let pitches = one.pitches.iter();
    let pitches = pitches.map(
        |(pitch, lasts)| json!({ "pitch": pitch.to_string(), "quarters": thousandths(*lasts) }),
    );
    let registers = one.registers.iter().map(|register| {
        json!({
            "label": register.label, "from": register.range.0.to_string(), "to": register.range.1.to_string(),
            "share": thousandths(register.share),
        })
    });
    let hardest =
        one.hardest.iter().map(|(bar, rules)| json!({ "bar": number(*bar), "rules": rules }));
    json!({
        "name": one.name,
        "voices": one.voices.iter().filter_map(|voice| report.voices.get(*voice)).collect::<Vec<_>>(),
        "instrument": one.instrument, "level": one.level, "range": ends(one.range), "compass": ends(one.compass),
        "strokes": one.strokes, "silent": thousandths(one.silent),
        "registers": registers.collect::<Vec<_>>(), "pitches": pitches.collect::<Vec<_>>(),
        "densest": one.densest.map(|dense| {
            json!({ "bar": number(dense.bar), "strokes": dense.strokes, "inASecond": dense.in_a_second })
        }),
        "longest": one.longest.map(|run| {
            json!({
                "from": number(run.from), "to": number(run.to), "quarters": thousandths(run.quarters),
                "seconds": run.seconds.map(thousandths),
            })
        }),
        "hardest": hardest.collect::<Vec<_>>(),
    })
}

/// Rounded to thousandths.
fn thousandths(value: f64) -> f64 {
    (value * 1000.0).round() / 1000.0
}
