//! A score as MusicXML 4.0, by parts (`score-partwise`).

mod around;
mod attributes;
mod direction;
mod harmony;
mod header;
mod layout;
mod measure;
mod notations;
mod note;
mod shape;
mod signs;
mod xml;

use self::around::{Around, numbers_of};
use self::attributes::own_tonic;
use self::direction::Spot;
use self::layout::{Layout, Part, PartVoice};
use self::measure::Writer;
use self::signs::BarSigns;
use self::xml::Xml;
use crate::Exported;
use recte_score::{Bar, Tune};
use recte_theory::Key;
use std::collections::BTreeMap;
use std::io::{self, Cursor, Write};
use zip::write::SimpleFileOptions;
use zip::{CompressionMethod, ZipWriter};

const DOCTYPE: &str = "score-partwise PUBLIC \"-//Recordare//DTD MusicXML 4.0 Partwise//EN\" \
                       \"http://www.musicxml.org/dtds/partwise.dtd\"";
/// Where the score lies in a compressed file.
const INSIDE: &str = "score.musicxml";
/// What a compressed file is (MusicXML 4.0, "Compressed MusicXML files").
const TYPE: &str = "application/vnd.recordare.musicxml";

/// The tune as a MusicXML document, and what it has no place for. Repeats are signs, not written out.
///
/// # Errors
/// A tune without music makes no document; and whatever keeps bytes from being written.
pub fn musicxml(tune: &Tune) -> io::Result<Exported> {
    crate::with_music(tune)?;
    let mut layout = Layout::of(tune);
    let mut left_out = std::mem::take(&mut layout.left_out);
    remarks(tune, &mut left_out);
    layout.parts.iter().for_each(|part| shared_staff(tune, part, &mut left_out));
    let signs = signs::signs(tune);
    let mut xml = Xml::new(Some(DOCTYPE));
    xml.open("score-partwise", &[("version", "4.0")]);
    header::header(&mut xml, tune, &layout);
    for (index, part) in layout.parts.iter().enumerate() {
        xml.open("part", &[("id", &part.id)]);
        let mut writer = writer(tune, &layout, part, index == 0, &signs, &mut xml, &mut left_out);
        (0..tune.bars.len()).for_each(|bar| writer.measure(bar));
        xml.close("part");
    }
    xml.close("score-partwise");
    let mut said = std::collections::BTreeSet::new();
    left_out.retain(|sentence| said.insert(sentence.clone()));
    Ok(Exported { bytes: xml.finish()?, left_out })
}

/// The tune as a compressed MusicXML document (`.mxl`).
///
/// # Errors
/// As [`musicxml`].
pub fn mxl(tune: &Tune) -> io::Result<Exported> {
    let Exported { bytes, left_out } = musicxml(tune)?;
    let mut container = Xml::new(None);
    container.within("container", &[], |xml| {
        xml.within("rootfiles", &[], |xml| {
            xml.empty("rootfile", &[("full-path", INSIDE), ("media-type", TYPE)]);
        });
    });
    let mut zip = ZipWriter::new(Cursor::new(Vec::new()));
    let stored = SimpleFileOptions::default().compression_method(CompressionMethod::Stored);
    let packed = SimpleFileOptions::default().compression_method(CompressionMethod::Deflated);
    for (name, options, content) in [
        ("mimetype", stored, TYPE.as_bytes()),
        ("META-INF/container.xml", packed, &container.finish()?),
        (INSIDE, packed, &bytes),
    ] {
        zip.start_file(name, options)?;
        zip.write_all(content)?;
    }
    Ok(Exported { bytes: zip.finish()?.into_inner(), left_out })
}

fn writer<'a, 'x>(
    tune: &'a Tune,
    layout: &'x Layout<'a>,
    part: &'x Part<'a>,
    first: bool,
    signs: &'x [BarSigns],
    xml: &'x mut Xml,
    left_out: &'x mut Vec<String>,
) -> Writer<'a, 'x> {
    let count = part.voices.len();
    let one = |(place, voice): (usize, &PartVoice<'a>)| {
        Around::of(voice.voice, numbers_of(place, count), left_out)
    };
    let around = part.voices.iter().enumerate().map(one).collect();
    Writer {
        xml,
        tune,
        layout,
        part,
        signs,
        left_out,
        around,
        spots: (0..count)
            .map(|place| Spot { numbers: numbers_of(place, count), ..Spot::default() })
            .collect(),
        trills: vec![false; part.voices.len()],
        key: None,
        metre: None,
        numberless: 0,
        tempi: by_bar(first, &tune.tempi, |tempo| tempo.bar),
        sections: by_bar(first, &tune.sections, |section| section.bar),
    }
}

/// What is said once for all, bar by bar; nothing unless this part says it.
fn by_bar<T>(said: bool, all: &[T], bar: impl Fn(&T) -> u32) -> BTreeMap<u32, Vec<&T>> {
    let mut bars: BTreeMap<u32, Vec<&T>> = BTreeMap::new();
    for one in all.iter().filter(|_| said) {
        bars.entry(bar(one)).or_default().push(one);
    }
    bars
}

/// A staff has one clef, one key and one transposition: those of its first voice.
fn shared_staff(tune: &Tune, part: &Part<'_>, left_out: &mut Vec<String>) {
    let Some((first, others)) = part.voices.split_first() else { return };
    let first = first.voice;
    for other in others.iter().map(|other| other.voice) {
        let key = |bars: &[Bar]| -> Vec<Option<Key>> {
            bars.iter().map(|bar| tune.keys.get(usize::from(bar.key)).copied()).collect()
        };
        let told = !other.clef.name.is_empty() && other.clef != first.clef;
        for (differs, what) in [
            (told, "clef"),
            (other.transpose != first.transpose, "transposition"),
            (key(&first.bars).iter().zip(key(&other.bars)).any(|(a, b)| *a != b), "key"),
        ] {
            if differs {
                left_out.push(format!(
                    "Voice {} shares the staff of voice {}, so its own {what} is left out; it sounds as it did.",
                    other.id, first.id
                ));
            }
        }
    }
}

/// What MusicXML has no place for, wherever it stands.
fn remarks(tune: &Tune, left_out: &mut Vec<String>) {
    for key in tune.keys.iter().filter(|key| key.tonic.is_some() && !own_tonic(key)) {
        left_out.push(format!(
            "MusicXML has signatures of their own without a tonic: that the music is in {key} is left out."
        ));
    }
    if tune.part_order.as_deref().is_some_and(|order| !order.is_empty()) {
        left_out.push(
            "MusicXML plays the parts as they stand; their order (P:) is only noted in it."
                .to_owned(),
        );
    }
    for voice in &tune.voices {
        let nameless =
            |bar: &&Bar| bar.ending && bar.endings.is_empty() && bar.ending_words.is_none();
        for bar in voice.bars.iter().filter(nameless) {
            let event = voice.events_of(bar).first();
            let number = event.map_or(0, |event| tune.bar_number(event.bar));
            left_out.push(format!(
                "The ending in bar {number} is for no time that can be; it is left out."
            ));
        }
        for tie in &voice.loose_ties {
            let note = voice.notes.get(tie.note as usize);
            let event = note.and_then(|note| voice.events.get(note.event as usize));
            let number = event.map_or(0, |event| tune.bar_number(event.bar));
            left_out.push(format!("A tie in bar {number} leads to no note; it is left out."));
        }
    }
}

#[cfg(test)]
mod tests;
