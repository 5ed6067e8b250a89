//! What holds from a place on: key, metre, clef, transposition.

use super::xml::Xml;
use recte_score::Clef;
use recte_theory::pitch::usual_steps;
use recte_theory::{Key, Letter, Metre};

pub(super) fn key(xml: &mut Xml, key: &Key) {
    let signature = &key.signature;
    xml.within("key", &[], |xml| match signature.fifths() {
        Some(fifths) => {
            xml.number("fifths", fifths.into());
            xml.text("mode", &[], if own_tonic(key) { key.mode.name() } else { "none" });
        }
        None => {
            for letter in Letter::ALL.into_iter().filter(|letter| signature.alter(*letter) != 0) {
                xml.text("key-step", &[], &letter.to_char().to_string());
                xml.number("key-alter", signature.alter(letter).into());
            }
        }
    });
}

/// Whether the signature is the one that belongs to the key's tonic.
pub(super) fn own_tonic(key: &Key) -> bool {
    key.tonic.is_some_and(|tonic| Key::new(tonic, key.mode).signature == key.signature)
}

pub(super) fn metre(xml: &mut Xml, metre: &Metre) {
    let text = metre.to_string();
    let symbol: &[(&str, &str)] = match text.as_str() {
        "none" => return xml.within("time", &[], |xml| xml.empty("senza-misura", &[])),
        "C" => &[("symbol", "common")],
        "C|" => &[("symbol", "cut")],
        _ => &[],
    };
    xml.within("time", symbol, |xml| {
        let mut fraction = |above: &str, below: &str| {
            xml.text("beats", &[], above);
            xml.text("beat-type", &[], below);
        };
        if let Some((above, below)) = metre.numbers() {
            return fraction(&above.to_string(), &below.to_string());
        }
        // `2+3/8`, `3/4+3/8`: a number after a stroke ends a fraction.
        let mut rest = text.as_str();
        while let Some((above, after)) = rest.split_once('/') {
            let (below, more) = after.split_once('+').unwrap_or((after, ""));
            fraction(above, below);
            rest = more;
        }
    });
}

pub(super) fn clef(xml: &mut Xml, clef: &Clef) {
    let (pitch, line) = clef.marks();
    let (sign, pitched) = match clef.name.as_str() {
        "perc" => ("percussion".to_owned(), false),
        "none" => ("none".to_owned(), false),
        _ => (pitch.name.letter.to_char().to_string(), true),
    };
    xml.within("clef", &[], |xml| {
        xml.text("sign", &[], &sign);
        if pitched {
            xml.number("line", line.into());
        }
        if clef.octaves != 0 {
            xml.number("clef-octave-change", clef.octaves.into());
        }
    });
}

pub(super) fn transpose(xml: &mut Xml, semitones: i32) {
    xml.within("transpose", &[], |xml| {
        let (octaves, rest) = (semitones / 12, semitones % 12);
        xml.number("diatonic", usual_steps(rest).into());
        xml.number("chromatic", rest.into());
        if octaves != 0 {
            xml.number("octave-change", octaves.into());
        }
    });
}

#[cfg(test)]
mod tests {
    use super::*;

    fn written(write: impl FnOnce(&mut Xml)) -> String {
        let mut xml = Xml::new(None);
        write(&mut xml);
        let text = String::from_utf8(xml.finish().unwrap()).unwrap();
        text.lines().skip(1).map(str::trim).collect()
    }

    #[test]
    fn metres() {
        let of = |text: &str| written(|xml| metre(xml, &Metre::parse(text).unwrap()));
        assert_eq!(of("none"), "<time><senza-misura/></time>");
        assert_eq!(
            of("C|"),
            "<time symbol=\"cut\"><beats>2</beats><beat-type>2</beat-type></time>"
        );
        assert_eq!(
            of("2+3/8+1/4"),
            "<time><beats>2+3</beats><beat-type>8</beat-type><beats>1</beats><beat-type>4</beat-type></time>"
        );
    }

    #[test]
    fn keys_by_name_or_by_their_signs() {
        let mut own = Key::new("D".parse().unwrap(), recte_theory::key::Mode::Phrygian);
        assert_eq!(
            written(|xml| key(xml, &own)),
            "<key><fifths>-2</fifths><mode>phrygian</mode></key>"
        );
        own.signature.set(Letter::F, 1);
        assert_eq!(
            written(|xml| key(xml, &own)),
            "<key><key-step>E</key-step><key-alter>-1</key-alter><key-step>F</key-step><key-alter>1</key-alter>\
             <key-step>B</key-step><key-alter>-1</key-alter></key>"
        );
    }

    #[test]
    fn clefs_and_transpositions() {
        let tenor = Clef { name: "treble".into(), line: 0, octaves: -1 };
        assert_eq!(
            written(|xml| clef(xml, &tenor)),
            "<clef><sign>G</sign><line>2</line><clef-octave-change>-1</clef-octave-change></clef>"
        );
        assert_eq!(
            written(|xml| transpose(xml, -14)),
            "<transpose><diatonic>-1</diatonic><chromatic>-2</chromatic><octave-change>-1</octave-change></transpose>"
        );
    }
}
