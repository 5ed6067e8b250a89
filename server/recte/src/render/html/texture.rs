//! Who carries what, the sections, the curves, and how like each bar is to each other.

use super::bars::in_full;
use super::harmony::joints;
use super::{Page, how, pictures};
use maud::{Markup, html};
use recte_assist::report::{
    COMES_BACK, FigureRuns, TuneReport, amount, duration, joint_words, motif_words, percent,
};
use recte_review::Chapter;
use recte_review::words::{and_texts, counted, sentence};
use recte_score::texture::{Compared, Descriptor, Return, Role, Section};
use std::collections::BTreeSet;

pub(super) fn layers(page: &mut Page<'_>) -> Option<Markup> {
    let report = page.report;
    let bars = report.bars.count();
    if report.voices.len() < 2 || bars == 0 {
        return None;
    }
    let told: Vec<Markup> = remarks(page, Chapter::Layers);
    let roles =
        [Role::Melody, Role::Line, Role::Figure, Role::Bass, Role::Sustained, Role::Doubling];
    Some(html! {
        ul.legend { @for role in roles { li { (pictures::legend_sign(role)) (role.name()) } } }
        div.rows.picture {
            @for (voice, name) in report.voices.iter().enumerate() {
                span.name { (name) } (pictures::row(&report.layers, voice, bars, name))
            }
            span.name {} (pictures::axis(&report.bars, &joints(report)))
        }
        (figures(report))
        details {
            summary { "The same in words" }
            dl {
                @for (voice, name) in report.voices.iter().enumerate() {
                    dt { (name) } dd { (sentence(&report.layers.sentence(voice, &report.bars))) "." }
                }
            }
        }
        p.soft.screen { a.how href="#how-layers" { "How the layers are told apart" } }
        @if !told.is_empty() { div.remarks { @for one in &told { (one) } } }
    })
}

/// So many figures are told of.
const FIGURES: usize = 6;

fn figures(report: &TuneReport) -> Markup {
    let mut all: Vec<_> = report.layers.figures.iter().filter(|figure| figure.bars >= 4).collect();
    all.sort_by_key(|figure| std::cmp::Reverse(figure.bars));
    html! {
        @if !all.is_empty() {
            p {
                @for figure in all.iter().take(FIGURES) {
                    "Figure " (figure.id) " (" (figure.bars) " bars, " (how("figures", shared(figure))) "): "
                    @for (at, (voice, from, to)) in figure.carriers.iter().take(8).enumerate() {
                        @if at > 0 { ", " }
                        (report.voices.get(*voice).map_or("", String::as_str)) " " (report.bars.span(*from, *to))
                    }
                    @if figure.carriers.len() > 8 { " and " (figure.carriers.len() - 8) " more" }
                    ". "
                }
            }
        }
    }
}

/// "in one part", "shared by three parts".
fn shared(figure: &FigureRuns) -> String {
    let parts: BTreeSet<usize> = figure.carriers.iter().map(|(voice, ..)| *voice).collect();
    match parts.len() {
        0 | 1 => "in one part".to_owned(),
        several => format!("shared by {} parts", counted(several).to_lowercase()),
    }
}

fn remarks(page: &mut Page<'_>, chapter: Chapter) -> Vec<Markup> {
    let report = page.report;
    let own = report.remarks.iter().filter(|one| one.chapter == chapter).take(12);
    own.map(|one| in_full(page, one)).collect()
}

pub(super) fn form(page: &mut Page<'_>) -> Option<Markup> {
    let report = page.report;
    if report.bars.count() < 2 {
        return None;
    }
    let told = remarks(page, Chapter::Form);
    let form = &report.form;
    let rows = form.sections.iter().enumerate();
    let rows = rows.map(|(at, section)| row(page, at, section));
    let rows: Vec<Markup> = rows.collect();
    let back = coming_back(report);
    Some(html! {
        table.wide {
            caption { "Sections, " (how("sections", "typed or heard")) ", and how each differs from the one before (" (how("contrast", "contrast")) ")" }
            thead {
                tr {
                    th scope="col" { "Section" } th scope="col" { "Bars" } th scope="col" { "Like this" }
                    th scope="col" { "Against the one before" } th.screen scope="col" { "Hear" }
                }
            }
            tbody { @for row in &rows { (row) } }
        }
        @if !back.is_empty() {
            p {
                @for (at, one) in back.iter().enumerate() {
                    @if at > 0 { " " }
                    (sentence(&format!("{} are {} again, ", span(report, &form.sections[one.section]), span(report, &form.sections[one.of]))))
                    (one.name()) " (" (how("returns", percent(one.likeness))) ")"
                    @if one.transposed > 0 { ", " (one.transposed) " semitones higher" }
                    "."
                }
            }
        }
        (motifs(page))
        @if !told.is_empty() { div.remarks { @for one in &told { (one) } } }
    })
}

/// The sections that come back, varied or literally.
fn coming_back(report: &TuneReport) -> Vec<Return> {
    report.form.returns.iter().filter(|one| one.likeness >= COMES_BACK).copied().collect()
}

fn span(report: &TuneReport, section: &Section) -> String {
    report.bars.span(section.from, section.to)
}

fn row(page: &Page<'_>, at: usize, section: &Section) -> Markup {
    let report = page.report;
    let form = &report.form;
    let before = form.contrasts.iter().find(|one| one.b == at);
    let joint = form.joints.iter().find(|joint| joint.bar == section.from);
    let seconds = report.section_seconds.get(at).copied().flatten();
    let label = section.label.clone().unwrap_or_else(|| format!("{}", at + 1));
    html! {
        tr {
            th scope="row" { (label) }
            td data-name="Bars" {
                (report.bars.name(section.from)) "–" (report.bars.name(section.to))
                @if let Some(seconds) = seconds { ", " (duration((seconds, seconds))) }
                " " span.soft { "(" (section.source.name()) ")" }
            }
            td data-name="Like this" { (form.described.get(at).map(described).unwrap_or_default()) }
            td data-name="Against the one before" {
                @match before {
                    Some(before) => (compared(before, joint.and_then(|joint| joint.abruptness))),
                    None => "–",
                }
            }
            td.screen { (page.play(section.from, section.to)) }
        }
    }
}

/// "around E4, 3.2 onsets a quarter, mf, 4 parts, fits G major".
fn described(one: &Descriptor) -> String {
    let mut words = Vec::new();
    words.extend(one.centroid.map(|centre| format!("around {}", pitch(centre))));
    words.push(format!("{:.1} onsets a quarter", one.onsets));
    words.extend(one.dynamic.map(|level| dynamic(level).to_owned()));
    words.push(format!("{:.1} parts", one.parts));
    words.join(", ")
}

/// The nearest pitch to a mean.
pub(super) fn pitch(mean: f64) -> String {
    const NAMES: [&str; 12] = ["C", "C♯", "D", "E♭", "E", "F", "F♯", "G", "A♭", "A", "B♭", "B"];
    let midi = mean.round() as i32;
    format!("{}{}", NAMES[midi.rem_euclid(12) as usize], midi.div_euclid(12) - 1)
}

/// The nearest dynamic to a level from 0 to 9.
pub(super) fn dynamic(level: f64) -> &'static str {
    const NAMES: [&str; 10] = ["pppp", "ppp", "pp", "p", "mp", "mf", "f", "ff", "fff", "ffff"];
    NAMES.get(level.round().clamp(0.0, 9.0) as usize).copied().unwrap_or("mf")
}

fn compared(one: &Compared, abruptness: Option<f64>) -> Markup {
    let contrast = &one.contrast;
    let amount = amount(contrast.total);
    let name =
        |(term, value): &(recte_score::texture::Term, f64)| format!("{} {value:.1}", term.name());
    let most: Vec<String> = contrast.terms.iter().take(2).map(name).collect();
    let least: Vec<String> = contrast.terms.iter().rev().take(2).map(name).collect();
    html! {
        (amount) " contrast, " (how("contrast", format!("{:.2}", contrast.total)))
        @if contrast.terms.len() > 3 { ": most in " (and_texts(&most)) ", least in " (and_texts(&least)) }
        @if let Some(sudden) = abruptness {
            "; " (joint_words(sudden)) " (" (how("abruptness", format!("{sudden:.2}"))) ")"
        }
    }
}

fn motifs(page: &Page<'_>) -> Markup {
    html! {
        @if let Some((text, (from, to))) = motif_words(page.report) {
            p { (text) " " (page.play(from, to)) " " a.how.screen href="#how-motifs" { "how" } }
        }
    }
}

/// A curve: its name, what it measures, its values, how one is shown.
type Curve<'a> = (&'static str, &'static str, &'a [Option<f64>], fn(f64) -> String);

pub(super) fn curves(page: &Page<'_>) -> Option<Markup> {
    let report = page.report;
    if report.bars.count() < 2 {
        return None;
    }
    let (curves, joints) = (&report.form.curves, joints(report));
    let all: [Curve<'_>; 4] = [
        ("Register", "the mean pitch", &curves.register, pitch),
        ("Density", "onsets a quarter", &curves.density, |value| format!("{value:.1}")),
        ("Loudness", "as typed", &curves.dynamic, |level| dynamic(level).to_owned()),
        ("Dissonance", "share of dissonant pairs", &curves.dissonance, percent),
    ];
    Some(html! {
        div.curves {
            @for (name, unit, values, shown) in &all {
                div {
                    h3 { (how("curves", *name)) ", " (unit) }
                    @if values.iter().flatten().count() > 1 {
                        div.picture { (pictures::curve(values, &joints, name)) (pictures::axis(&report.bars, &joints)) }
                    }
                    p.soft { (extremes(report, values, *shown)) }
                }
            }
        }
        (by_bar(report, &all))
    })
}

fn extremes(report: &TuneReport, values: &[Option<f64>], shown: fn(f64) -> String) -> String {
    let known = || values.iter().flatten().copied();
    let (most, least) = (known().max_by(f64::total_cmp), known().min_by(f64::total_cmp));
    match (most, least) {
        (Some(most), Some(least)) if most > least => format!(
            "Highest in {} ({}), lowest in {} ({}).",
            report.bars.at(values, most),
            shown(most),
            report.bars.at(values, least),
            shown(least)
        ),
        (Some(most), _) => format!("The same throughout ({}).", shown(most)),
        _ => "Nothing to measure.".to_owned(),
    }
}

/// So many bars have a row each in the table; beyond, each row stands for several.
const ROWS: usize = 60;

fn by_bar(report: &TuneReport, all: &[Curve<'_>; 4]) -> Markup {
    let bars = report.bars.count();
    let step = bars.div_ceil(ROWS).max(1);
    let mean = |values: &[Option<f64>], from: usize| {
        let known: Vec<f64> = values.iter().skip(from).take(step).flatten().copied().collect();
        (!known.is_empty()).then(|| known.iter().sum::<f64>() / known.len() as f64)
    };
    html! {
        details {
            summary { "The same as a table" }
            table {
                thead { tr { th scope="col" { "Bar" } @for (name, ..) in all { th.n scope="col" { (name) } } } }
                tbody {
                    @for from in (0..bars).step_by(step) {
                        tr {
                            th scope="row" {
                                (report.bars.name(from as u32))
                                @if step > 1 { "–" (report.bars.name((from + step - 1).min(bars - 1) as u32)) }
                            }
                            @for (_, _, values, shown) in all {
                                td.n { (mean(values, from).map_or("–".to_owned(), shown)) }
                            }
                        }
                    }
                }
            }
        }
    }
}

pub(super) fn likeness(page: &Page<'_>) -> Option<Markup> {
    let report = page.report;
    let form = &report.form;
    if report.bars.count() < 4 {
        return None;
    }
    let joints = joints(report);
    let back = coming_back(report);
    let heard: Vec<u32> = form.untyped().filter(|bar| !joints.contains(bar)).collect();
    Some(html! {
        div.picture.likeness { (pictures::likeness(&form.similarity, &joints)) (pictures::axis(&report.bars, &joints)) }
        p {
            "Bars run from left to right and from top to bottom; the darker a square, the more " (how("likeness", "alike"))
            " its two bars. "
            @if back.is_empty() { "No section comes back. " }
            @for one in &back {
                (sentence(&span(report, &form.sections[one.section]))) " come back from " (span(report, &form.sections[one.of])) " (" (percent(one.likeness)) "). "
            }
            @if !heard.is_empty() {
                @if heard.len() == 1 { "A joint that nothing typed shows is heard at " } @else { "Joints that nothing typed shows are heard at " }
                (report.bars.list(&heard)) "."
            }
        }
    })
}
