//! What signs and words on the page ask of a player.
//!
//! Names of decorations: abc standard v2.1, section 4.14. Words: common practice, no source.

/// How loud, softest first.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
#[allow(missing_docs)]
pub enum Dynamic {
    Pppp,
    Ppp,
    Pp,
    P,
    Mp,
    Mf,
    F,
    Ff,
    Fff,
    Ffff,
}

/// What a sign or word asks for.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
#[allow(missing_docs)]
pub enum Meaning {
    /// A level of loudness, from here on.
    Dynamic(Dynamic),
    /// One note with a sudden accent (sfz).
    Sforzato,
    CrescendoStart,
    CrescendoEnd,
    DiminuendoStart,
    DiminuendoEnd,
    Staccato,
    /// A wedge or dash: very short.
    Staccatissimo,
    Accent,
    Tenuto,
    Fermata,
    Trill,
    TrillStart,
    TrillEnd,
    /// A mordent, upper or lower, or a short trill.
    Mordent,
    Turn,
    Roll,
    Slide,
    Arpeggio,
    Tremolo,
    UpBow,
    DownBow,
    /// A finger, 0 to 5.
    Finger(u8),
    /// A plus sign: left-hand pizzicato, a stopped horn.
    Plus,
    /// Snap (Bartók) pizzicato.
    Snap,
    /// An open string or a harmonic: a small circle.
    Open,
    /// A harmonic, in words.
    Harmonic,
    /// The thumb position of the cello.
    Thumb,
    Breath,
    /// The end of a phrase: short, medium or long.
    Phrase,
    Pizzicato,
    Arco,
    Muted,
    Unmuted,
    Segno,
    Coda,
    DalSegno,
    DaCapo,
    ToCoda,
    Fine,
}

/// The names of decorations that the standard lists (4.14).
pub const DECORATIONS: [&str; 64] = [
    "trill",
    "trill(",
    "trill)",
    "lowermordent",
    "uppermordent",
    "mordent",
    "pralltriller",
    "roll",
    "turn",
    "turnx",
    "invertedturn",
    "invertedturnx",
    "arpeggio",
    ">",
    "accent",
    "emphasis",
    "fermata",
    "invertedfermata",
    "tenuto",
    "0",
    "1",
    "2",
    "3",
    "4",
    "5",
    "+",
    "plus",
    "snap",
    "slide",
    "wedge",
    "upbow",
    "downbow",
    "open",
    "thumb",
    "breath",
    "pppp",
    "ppp",
    "pp",
    "p",
    "mp",
    "mf",
    "f",
    "ff",
    "fff",
    "ffff",
    "sfz",
    "crescendo(",
    "<(",
    "crescendo)",
    "<)",
    "diminuendo(",
    ">(",
    "diminuendo)",
    ">)",
    "segno",
    "coda",
    "D.S.",
    "D.C.",
    "dacoda",
    "dacapo",
    "fine",
    "shortphrase",
    "mediumphrase",
    "longphrase",
];

impl Meaning {
    /// What a decoration means; `None` for a name that the standard does not have.
    pub fn of_decoration(name: &str) -> Option<Meaning> {
        use self::Dynamic as Level;
        use Meaning::*;
        Some(match name {
            "pppp" => Dynamic(Level::Pppp),
            "ppp" => Dynamic(Level::Ppp),
            "pp" => Dynamic(Level::Pp),
            "p" => Dynamic(Level::P),
            "mp" => Dynamic(Level::Mp),
            "mf" => Dynamic(Level::Mf),
            "f" => Dynamic(Level::F),
            "ff" => Dynamic(Level::Ff),
            "fff" => Dynamic(Level::Fff),
            "ffff" => Dynamic(Level::Ffff),
            "sfz" => Sforzato,
            "crescendo(" | "<(" => CrescendoStart,
            "crescendo)" | "<)" => CrescendoEnd,
            "diminuendo(" | ">(" => DiminuendoStart,
            "diminuendo)" | ">)" => DiminuendoEnd,
            "staccato" | "." => Staccato,
            "wedge" => Staccatissimo,
            ">" | "accent" | "emphasis" => Accent,
            "tenuto" => Tenuto,
            "fermata" | "invertedfermata" | "H" => Fermata,
            "trill" | "T" => Trill,
            "trill(" => TrillStart,
            "trill)" => TrillEnd,
            "lowermordent" | "uppermordent" | "mordent" | "pralltriller" => Mordent,
            "turn" | "turnx" | "invertedturn" | "invertedturnx" => Turn,
            "roll" | "~" => Roll,
            "slide" => Slide,
            "arpeggio" => Arpeggio,
            "upbow" | "u" => UpBow,
            "downbow" | "v" => DownBow,
            "+" | "plus" => Plus,
            "snap" => Snap,
            "open" => Open,
            "thumb" => Thumb,
            "breath" => Breath,
            "shortphrase" | "mediumphrase" | "longphrase" => Phrase,
            "segno" => Segno,
            "coda" => Coda,
            "D.S." => DalSegno,
            "D.C." | "dacapo" => DaCapo,
            "dacoda" => ToCoda,
            "fine" => Fine,
            "0" | "1" | "2" | "3" | "4" | "5" => Finger(name.parse().unwrap_or_default()),
            _ => return None,
        })
    }

    /// What a text over or under the music asks for, if it is one of the trade's words.
    pub fn of_words(text: &str) -> Option<Meaning> {
        let text = text.trim_start_matches(['^', '_', '<', '>', '@', ' ']).trim();
        // A word is text at a note; what is longer is a sentence.
        if text.len() > 24 {
            return None;
        }
        let lower = text.to_lowercase();
        let lower = lower.trim_end_matches('.');
        if let Some(dynamic @ Meaning::Dynamic(_)) = Meaning::of_decoration(lower) {
            return Some(dynamic);
        }
        Some(match lower {
            "pizz" | "pizzicato" => Meaning::Pizzicato,
            "arco" | "coll'arco" => Meaning::Arco,
            "con sord" | "con sordino" | "con sordini" | "muted" => Meaning::Muted,
            "senza sord" | "senza sordino" | "senza sordini" => Meaning::Unmuted,
            "trem" | "tremolo" => Meaning::Tremolo,
            "harm" | "harmonic" | "flag" | "flageolet" => Meaning::Harmonic,
            "cresc" | "crescendo" => Meaning::CrescendoStart,
            "dim" | "diminuendo" | "decresc" | "decrescendo" => Meaning::DiminuendoStart,
            "d.c" | "d. c" | "da capo" | "d.c. al fine" | "da capo al fine" | "d.c. al coda"
            | "da capo al coda" => Meaning::DaCapo,
            "d.s" | "d. s" | "dal segno" | "d.s. al fine" | "dal segno al fine"
            | "d.s. al coda" | "dal segno al coda" => Meaning::DalSegno,
            "to coda" | "al coda" => Meaning::ToCoda,
            "fine" => Meaning::Fine,
            "coda" => Meaning::Coda,
            "segno" => Meaning::Segno,
            "sfz" | "sf" | "fz" => Meaning::Sforzato,
            "ten" => Meaning::Tenuto,
            _ => return None,
        })
    }

    /// The sign that ends what this one begins: a hairpin, an extended trill.
    pub fn end(self) -> Option<Meaning> {
        Some(match self {
            Meaning::CrescendoStart => Meaning::CrescendoEnd,
            Meaning::DiminuendoStart => Meaning::DiminuendoEnd,
            Meaning::TrillStart => Meaning::TrillEnd,
            _ => return None,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_listed_decoration_has_a_meaning() {
        for name in DECORATIONS {
            assert!(Meaning::of_decoration(name).is_some(), "{name}");
        }
        assert_eq!(Meaning::of_decoration("wobble"), None);
        assert_eq!(Meaning::of_decoration("4"), Some(Meaning::Finger(4)));
    }

    #[test]
    fn words() {
        assert_eq!(Meaning::of_words("^pizz."), Some(Meaning::Pizzicato));
        assert_eq!(Meaning::of_words("arco"), Some(Meaning::Arco));
        assert_eq!(Meaning::of_words("_mf"), Some(Meaning::Dynamic(Dynamic::Mf)));
        assert_eq!(Meaning::of_words("Am7"), None);
        assert_eq!(Meaning::of_words("D"), None);
    }

    #[test]
    fn louder_is_more() {
        assert!(Dynamic::Pp < Dynamic::Mp && Dynamic::F < Dynamic::Ff);
    }
}
