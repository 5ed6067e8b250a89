//! `recte instruments`: the instruments and voices that are known, listed, searched and explained.

mod explained;

use super::listing::quoted;
use super::{Outcome, print};
use crate::files::complain;
use crate::render::json;
use crate::settings::Settings;
use clap::{Args, ValueEnum};
use explained::{explained, heard, of_levels};
use recte_theory::Pitch;
use recte_theory::instruments::{Family, Found, Instrument, Level, Roster};
use serde_json::{Value, json};
use std::fmt::Write;
use std::path::PathBuf;

#[derive(Clone, Copy, ValueEnum)]
enum Format {
    /// For reading
    Text,
    /// One JSON object
    Json,
    /// A table with commas
    Csv,
}

#[derive(Args)]
pub(super) struct InstrumentsArgs {
    /// A name or abbreviation, or words of one, in English, German, Italian or French
    #[arg(value_name = "WORD")]
    words: Vec<String>,
    /// How to list them
    #[arg(long, value_enum, default_value = "text")]
    format: Format,
    /// Use this configuration file instead of the nearest recte.toml
    #[arg(long, value_name = "FILE")]
    config: Option<PathBuf>,
}

pub(super) fn run(args: &InstrumentsArgs) -> Outcome {
    let settings = Settings::new(args.config.clone());
    // As for a score in this folder.
    let config = match settings.config(std::path::Path::new("-")) {
        Ok(config) => config,
        Err(mistakes) => {
            mistakes.iter().for_each(|mistake| complain(mistake));
            return Outcome::Failed;
        }
    };
    settings.warn();
    let roster = &config.roster;
    let asked = args.words.join(" ");
    let (chosen, also) = match chosen(roster, &asked) {
        Ok(chosen) => chosen,
        Err(why) => {
            complain(&why);
            return Outcome::Failed;
        }
    };
    let text = match (args.format, chosen.as_slice()) {
        (Format::Json, _) => {
            let all: Vec<Value> = chosen.iter().map(|one| as_json(roster, one)).collect();
            json::text(&json!({ "version": 1, "instruments": all }))
        }
        (Format::Csv, _) => as_csv(&chosen),
        (Format::Text, [one]) if !asked.is_empty() => explained(roster, one, &also),
        (Format::Text, _) => list(roster, &chosen),
    };
    print(&text, Outcome::Clean)
}

type Chosen<'r> = (Vec<&'r Instrument>, Vec<&'r Instrument>);

/// Those that were asked for, and others with such a name.
fn chosen<'r>(roster: &'r Roster, asked: &str) -> Result<Chosen<'r>, String> {
    if asked.is_empty() {
        return Ok((roster.instruments().iter().collect(), Vec::new()));
    }
    let found = roster.search(asked);
    match roster.find(asked) {
        Found::One(one) => {
            let also = found.into_iter().filter(|other| other.id != one.id).collect();
            Ok((vec![one], also))
        }
        Found::Several(mut all) => {
            all.sort_by_key(|one| one.score_order);
            Ok((all, Vec::new()))
        }
        Found::None if !found.is_empty() => Ok((found, Vec::new())),
        Found::None => Err(match roster.nearest(asked) {
            Some(near) => {
                format!("No instrument or voice is known as “{asked}”; the nearest is “{near}”.")
            }
            None => format!("No instrument or voice is known as “{asked}”."),
        }),
    }
}

/// The families, in the order in which they first stand in a score.
const FAMILIES: [(Family, &str); 8] = [
    (Family::Woodwind, "Woodwind"),
    (Family::Brass, "Brass"),
    (Family::Percussion, "Percussion"),
    (Family::Plucked, "Plucked"),
    (Family::Keyboard, "Keyboard"),
    (Family::FreeReed, "Free reed"),
    (Family::Voice, "Voices"),
    (Family::Strings, "Strings"),
];

/// By family, in score order, a line each.
fn list(roster: &Roster, all: &[&Instrument]) -> String {
    let mut text = String::new();
    for (family, heading) in FAMILIES {
        let own: Vec<_> = all.iter().filter(|one| one.family == family).collect();
        if own.is_empty() {
            continue;
        }
        if !text.is_empty() {
            text.push('\n');
        }
        let _ = writeln!(text, "{heading}");
        for one in own {
            let range = one.range(Level::Professional);
            let range = range.map_or("no definite pitch".to_owned(), |range| {
                format!("{}–{}", range.sounding_min, range.sounding_max)
            });
            let sounds = one.transposition.filter(|t| *t != Default::default()).map(heard);
            let mut line = format!("  {:25} {:42} {range:10}", one.id, one.name);
            if let Some(sounds) = sounds {
                let _ = write!(line, " sounds {sounds}");
            }
            if !roster.own_keys(&one.id).is_empty() {
                line.push_str(" (recte.toml)");
            }
            let _ = writeln!(text, "{}", line.trim_end());
        }
    }
    text
}

fn as_json(roster: &Roster, one: &Instrument) -> Value {
    let pair = |low: Pitch, high: Pitch| json!([low.to_string(), high.to_string()]);
    let ranges = of_levels(|level| one.range(level)).into_iter().map(|(word, range)| {
        let written = pair(range.written_min, range.written_max);
        let sounding = pair(range.sounding_min, range.sounding_max);
        (word.to_owned(), json!({ "written": written, "sounding": sounding }))
    });
    json!({
        "id": one.id,
        "name": one.name,
        "family": one.family,
        "names": one.names,
        "clefs": one.clefs,
        "pitched": one.pitched,
        "transposition": one.transposition.map(|t| json!({ "chromatic": t.chromatic, "diatonic": t.diatonic })),
        "ranges": Value::Object(ranges.collect()),
        "limits": one.limits,
        "source": one.source,
        "own": roster.own_keys(&one.id),
        "row": roster.row(&one.id),
    })
}

fn as_csv(all: &[&Instrument]) -> String {
    let mut table = String::from("id,name,family,clefs,chromatic,diatonic");
    for (word, _) in of_levels(Some) {
        for end in ["writtenMin", "writtenMax", "soundingMin", "soundingMax"] {
            let _ = write!(table, ",{word}.{end}");
        }
    }
    table.push_str(",names\n");
    for one in all {
        let family = json!(one.family);
        let (chromatic, diatonic) = one
            .transposition
            .map_or_else(Default::default, |t| (t.chromatic.to_string(), t.diatonic.to_string()));
        let mut fields = vec![
            one.id.clone(),
            one.name.clone(),
            family.as_str().unwrap_or_default().to_owned(),
            one.clefs.join(" "),
            chromatic,
            diatonic,
        ];
        for (_, range) in of_levels(|level| Some(one.range(level))) {
            let ends =
                range.map(|r| [r.written_min, r.written_max, r.sounding_min, r.sounding_max]);
            match ends {
                Some(ends) => fields.extend(ends.map(|pitch| pitch.to_string())),
                None => fields.extend([const { String::new() }; 4]),
            }
        }
        fields.push(one.names.join("; "));
        let fields: Vec<String> = fields.iter().map(|field| quoted(field)).collect();
        let _ = writeln!(table, "{}", fields.join(","));
    }
    table
}
