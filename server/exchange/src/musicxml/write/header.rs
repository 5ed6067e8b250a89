//! What stands before the music: titles, people, where it comes from, the list of parts.

use super::layout::{Entry, Layout, Part};
use super::xml::Xml;
use crate::musicxml::{FIELDS, NUMBER, PART_ORDER, TITLE};
use recte_score::{Instruction, Tune};

/// What a field is called among the other facts.
fn field_name(letter: char) -> Option<&'static str> {
    FIELDS.iter().find(|(known, _)| *known == letter).map(|(_, name)| *name)
}

pub(super) fn header(xml: &mut Xml, tune: &Tune, layout: &Layout<'_>) {
    if let Some(title) = tune.titles.first().filter(|title| !title.is_empty()) {
        xml.within("work", &[], |xml| xml.text("work-title", &[], title));
    }
    if let Some(second) = tune.titles.get(1) {
        xml.text("movement-title", &[], second);
    }
    identification(xml, tune);
    xml.within("part-list", &[], |xml| {
        for entry in &layout.entries {
            match entry {
                Entry::Begin(number, sign, through) => group_begins(xml, *number, sign, *through),
                Entry::Part(index) => {
                    if let Some(part) = layout.parts.get(*index) {
                        score_part(xml, tune, part);
                    }
                }
                Entry::End(number) => {
                    xml.empty("part-group", &[("type", "stop"), ("number", &number.to_string())]);
                }
            }
        }
    });
}

fn group_begins(xml: &mut Xml, number: usize, sign: &str, through: bool) {
    xml.within("part-group", &[("type", "start"), ("number", &number.to_string())], |xml| {
        xml.text("group-symbol", &[], sign);
        xml.text("group-barline", &[], if through { "yes" } else { "no" });
    });
}

fn score_part(xml: &mut Xml, tune: &Tune, part: &Part<'_>) {
    let joined = |of: fn(&recte_score::Voice) -> &str| {
        let names: Vec<&str> =
            part.voices.iter().map(|one| of(one.voice)).filter(|name| !name.is_empty()).collect();
        names.join(", ")
    };
    let (name, short) = (joined(|voice| &voice.name), joined(|voice| &voice.subname));
    xml.within("score-part", &[("id", &part.id)], |xml| {
        match name.is_empty() {
            // A part has to be called something; what is printed is what was typed.
            true => xml.text("part-name", &[("print-object", "no")], &joined(|voice| &voice.id)),
            false => xml.text("part-name", &[], &name),
        }
        if !short.is_empty() {
            xml.text("part-abbreviation", &[], &short);
        }
        if let Some(instrument) = instrument(tune, part) {
            let id = format!("{}-I1", part.id);
            xml.within("score-instrument", &[("id", &id)], |xml| {
                xml.text("instrument-name", &[], instrument);
            });
        }
    });
}

/// What the composer says plays a part of one voice.
fn instrument<'t>(tune: &'t Tune, part: &Part<'_>) -> Option<&'t str> {
    let [only] = part.voices.as_slice() else { return None };
    let said = |one: &&Instruction| {
        let own = one.what == "instrument" && one.voice == only.voice.id;
        own && one.span.start < tune.header.end
    };
    tune.instructions.iter().rfind(said).map(|one| one.value.as_str())
}

fn identification(xml: &mut Xml, tune: &Tune) {
    let of = |letter: char| {
        tune.texts.iter().filter(move |field| field.name == letter).map(|field| field.text.as_str())
    };
    xml.within("identification", &[], |xml| {
        of('C').for_each(|name| xml.text("creator", &[("type", "composer")], name));
        xml.within("encoding", &[], |xml| {
            xml.text("software", &[], concat!("Recte ", env!("CARGO_PKG_VERSION")));
            of('Z').for_each(|name| xml.text("encoder", &[], name));
            for element in ["accidental", "beam"] {
                xml.empty("supports", &[("element", element), ("type", "yes")]);
            }
        });
        if let Some(source) = of('S').next() {
            xml.text("source", &[], source);
        }
        miscellaneous(xml, tune);
    });
}

/// What has no element of its own keeps the field's name.
fn miscellaneous(xml: &mut Xml, tune: &Tune) {
    let mut fields: Vec<(&str, &str)> = Vec::new();
    fields.extend(tune.reference.as_deref().map(|number| (NUMBER, number)));
    fields.extend(tune.titles.iter().skip(2).map(|title| (TITLE, title.as_str())));
    let sources = tune.texts.iter().filter(|field| field.name == 'S').skip(1);
    fields.extend(sources.map(|field| ("source", field.text.as_str())));
    let others = tune.texts.iter().filter(|field| field.name != 'S');
    fields.extend(others.filter_map(|field| Some((field_name(field.name)?, field.text.as_str()))));
    fields.extend(tune.part_order.as_deref().map(|order| (PART_ORDER, order)));
    if fields.is_empty() {
        return;
    }
    xml.within("miscellaneous", &[], |xml| {
        for (name, text) in fields {
            xml.text("miscellaneous-field", &[("name", name)], text);
        }
    });
}
