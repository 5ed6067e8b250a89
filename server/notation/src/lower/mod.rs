//! Syntax tree → score. Lowering never fails: it returns the tune and what could not be read.

mod accidentals;
mod barline;
mod beats;
mod body;
mod grace;
mod groups;
mod header;
mod item;
mod macros;
mod marks;
mod places;
mod settings;
mod tempo;
pub(crate) mod text;
mod voice;
mod words;

use crate::document::Lowered;
use crate::parse::parse;
use crate::problem::{Problem, ProblemKind};
use crate::syntax::{Kind, kind};
use crate::write::TextEdit;
pub(crate) use accidentals::Accidentals;
pub use accidentals::Reach;
pub(crate) use header::Defaults;
pub(crate) use item::read_length;
pub(crate) use macros::{expand, move_spans};
use recte_score::{Span, Tune, finish};
use tree_sitter::Node;

/// Reads the text of one tune that stands alone (no file header).
pub fn lower(text: &str) -> Lowered {
    let kind = crate::segment::BlockKind::Tune;
    lower_block(text, &Defaults::of_file(kind, text, &Default::default()))
}

/// Reads the text of one block under the defaults of its file.
pub(crate) fn lower_block(text: &str, defaults: &Defaults) -> Lowered {
    let Some(expanded) = macros::expand(text, defaults) else {
        return lower_text(text, defaults);
    };
    let mut lowered = lower_text(&expanded.text, defaults);
    expanded.point_back(&mut lowered.tune);
    lowered.keys.iter_mut().for_each(|key| key.span = expanded.typed(key.span));
    lowered.problems.iter_mut().for_each(|problem| {
        problem.span = expanded.typed(problem.span);
        // What is not typed here cannot be mended here.
        let typed = |(_, edits): &(_, Vec<TextEdit>)| edits.iter().all(|e| !expanded.meets(e.span));
        problem.fix = problem.fix.take().filter(typed);
        for edit in problem.fix.iter_mut().flat_map(|(_, edits)| edits) {
            edit.span = expanded.typed(edit.span);
        }
    });
    for &(now, letter) in &expanded.odd_fields {
        let message = format!("“{letter}:” does not stand inside a line; it is passed over.");
        let span = expanded.typed(now);
        lowered.problems.push(Problem::new(ProblemKind::MisplacedField, span, message));
    }
    for &now in &expanded.plus_chords {
        let span = expanded.typed(now);
        let brackets = format!("[{}]", text[span.range()].trim_matches('+'));
        let message = format!(
            "A chord stands between brackets now, {brackets}; plus signs are no longer read by all."
        );
        let fix = vec![TextEdit { span, text: brackets.clone() }];
        let problem = Problem::new(ProblemKind::Obsolete, span, message);
        lowered.problems.push(problem.with_fix(format!("Write {brackets}"), fix));
    }
    lowered
}

fn lower_text(text: &str, defaults: &Defaults) -> Lowered {
    let Some(tree) = parse(text) else { return Lowered::default() };
    let mut problems = Vec::new();
    let mut tune = Tune { span: Span::new(0, text.trim_end().len()), ..Tune::default() };
    let root = tree.root_node();
    let node = first_of(root, Kind::Tune);
    let mut reader = body::Reader::new(text, &mut tune, &mut problems, defaults);
    let mut cursor = root.walk();
    // Directives above the first field stand beside the tune in the tree, and belong to its header.
    for lead in root.children(&mut cursor).take_while(|child| kind(*child) != Kind::Tune) {
        reader.header_line(lead, &[]);
    }
    if let Some(node) = node {
        if let Some(header) = first_of(node, Kind::Header) {
            reader.header(header);
        }
        if let Some(music) = first_of(node, Kind::Body) {
            reader.body(music);
        }
    }
    let reach = reader.finish();
    let keys = std::mem::take(&mut reader.typed_keys);
    finish(&mut tune);
    Lowered { tune, problems, reach, keys }
}

fn first_of<'t>(node: Node<'t>, wanted: Kind) -> Option<Node<'t>> {
    let mut cursor = node.walk();
    node.children(&mut cursor).find(|child| kind(*child) == wanted)
}
