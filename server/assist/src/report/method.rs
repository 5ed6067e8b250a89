//! How each figure of a report was worked out, with its source; and what each chapter is called and shows.

use recte_review::Chapter;

/// How something was worked out.
pub struct Method {
    /// Its name, by which figures refer to it.
    pub id: &'static str,
    /// What it is about.
    pub title: &'static str,
    /// How.
    pub text: &'static str,
    /// Where that comes from.
    pub source: &'static str,
}

const MEMORY: &str = "common practice, no source; limits from memory.";

/// All of them, in the order of the chapters.
pub const METHODS: &[Method] = &[
    Method {
        id: "minutes",
        title: "Length",
        text: "Full bars are counted, a pickup is not. Time is that of the typed tempi, repeats played out, pauses not counted; a \
            tempo in words alone is the span that is printed on metronomes.",
        source: "common practice, no source.",
    },
    Method {
        id: "remarks",
        title: "Remarks",
        text: "What the rules of Recte say; each has its own page below. A fix never changes what sounds, and is proved by \
            reading the result again; what changes the music is called so.",
        source: "named on the page of each rule.",
    },
    Method {
        id: "since",
        title: "Two drafts",
        text: "Voices are paired by what they play and by their names, then bars by the cheapest path from one draft to the other: \
            kept, changed, transposed, under other bar lines, in other values, gone or new. A remark stands where the same rule speaks \
            of the place that the old one has become.",
        source: "Needleman and Wunsch 1970; Gotoh 1982; the costs are our own.",
    },
    Method {
        id: "harmony",
        title: "Chords and degrees",
        text: "All voices together are cut into harmonies by the cheapest path through chords, and these into keys by the \
            cheapest path through keys. A lone melody has no chords unless symbols are typed over it.",
        source: "after Pardo and Birmingham 2002; Temperley 2001; Raphael and Stoddard 2004 (from memory).",
    },
    Method {
        id: "compass",
        title: "Compass and histogram",
        text: "The lowest and highest sounding note, and how long each pitch sounds, against the range and the registers of the \
            instrument at the players' level.",
        source: "the instrument table; recte instruments NAME names the source of each figure.",
    },
    Method {
        id: "registers",
        title: "Registers",
        text: "The share of the sounding time that lies in each register of the instrument.",
        source: "the instrument table; recte instruments NAME names the source of each figure.",
    },
    Method {
        id: "densest",
        title: "Busiest place",
        text: "The second in which most notes or chords are struck; without a tempo, the bar.",
        source: "common practice, no source.",
    },
    Method {
        id: "unbroken",
        title: "Longest without a rest",
        text: "The longest stretch in which something sounds all along in that part.",
        source: "common practice, no source.",
    },
    Method {
        id: "silent",
        title: "Silence",
        text: "The share of the piece in which the part does not sound.",
        source: "common practice, no source.",
    },
    Method {
        id: "hardest",
        title: "Bars that ask most",
        text: "Bars with most remarks on playing: what cannot be played counts five, what is hard two, what lasts over many \
            bars one. Which rules, is said beside them.",
        source: "own proposal, from memory.",
    },
    Method {
        id: "layers",
        title: "Who carries what",
        text: "In each bar the melody is the part that lies on top, moves by its own line and repeats no figure; the bass lies \
            below all others; what holds is sustained; what another plays too, at the unison or in octaves, is doubling.",
        source: "after W. Berry, Structural Functions in Music (1976), ch. 2; weights are an own proposal, from memory.",
    },
    Method {
        id: "figures",
        title: "Figures",
        text: "A pattern of one or two bars that a part plays at least three times in succession, on whatever degree.",
        source: MEMORY,
    },
    Method {
        id: "motifs",
        title: "Motifs",
        text: "Shapes of a line (steps and ratios of length) that come back transposed, upside down, or slower and quicker, with an edit \
            distance below a quarter of their length.",
        source: "strings of intervals and ratios are the usual coding; limits from memory.",
    },
    Method {
        id: "sections",
        title: "Sections",
        text: "Parts and titles that are typed come first; else double bars and repeats; else joints that are heard: novelty of \
            texture and material, closure, pauses, changes of key, metre or tempo, and passages that come back.",
        source: "after Foote 2000 and Temperley 2001 (from memory); weights found on published scores.",
    },
    Method {
        id: "contrast",
        title: "Contrast",
        text: "The mean of |a − b| / scale over register (6 semitones), span (12), density and number of parts (a doubling), loudness (2 \
            steps), pitch classes, consonance (0.25) and colour. Below 0.5 little, to 1 some, above 1 clear.",
        source: "own proposal, from memory.",
    },
    Method {
        id: "abruptness",
        title: "How sudden a joint is",
        text: "What the two bars on each side show of a change, against what four or eight do: near 1 a cut, below 0.5 a change by \
            and by.",
        source: "after Foote 2000 (from memory).",
    },
    Method {
        id: "returns",
        title: "What comes back",
        text: "The share of material along the best diagonal between two sections, at pitch or transposed: from 0.85 literal, from \
            0.6 varied.",
        source: "own proposal, from memory.",
    },
    Method {
        id: "curves",
        title: "Curves",
        text: "By bar: register is the mean pitch by length; density the moments at which something begins, a quarter; loudness the mean \
            of the typed dynamics, pppp 0 to ffff 9; dissonance the share of seconds, sevenths and tritones among the pairs \
            that sound together.",
        source: "common practice, no source; the scale of loudness from memory.",
    },
    Method {
        id: "likeness",
        title: "Likeness of bars",
        text: "The mean of two likenesses, 0 to 1: of texture (the terms of contrast) and of material (which rhythms and pitches \
            they share). Passages that come back are stripes beside the diagonal, sections are blocks along it.",
        source: "after J. Foote 1999 (from memory).",
    },
];

/// How much two sections differ, by their contrast.
pub fn amount(contrast: f64) -> &'static str {
    match contrast {
        little if little < LITTLE => "little",
        some if some <= 1.0 => "some",
        _ => "clear",
    }
}

/// Below this contrast two sections differ little.
pub(super) const LITTLE: f64 = 0.5;

/// How sudden a joint is, in words.
pub fn joint_words(abruptness: f64) -> &'static str {
    match abruptness {
        slow if slow < 0.5 => "by and by",
        sudden if sudden > 0.8 => "a cut",
        _ => "a quick change",
    }
}

/// What a chapter is called.
pub fn title(chapter: Chapter) -> &'static str {
    match chapter {
        Chapter::Piece => "The piece",
        Chapter::Standout => "What stands out",
        Chapter::Since => "Since the last draft",
        Chapter::Bars => "Bar by bar",
        Chapter::Cautions => "Cautions",
        Chapter::Harmony => "Harmony",
        Chapter::Parts => "The parts",
        Chapter::Layers => "Who carries what",
        Chapter::Form => "Form",
        Chapter::Curves => "Curves",
        Chapter::Likeness => "What comes back",
        Chapter::Method => "How this was worked out",
    }
}

/// What a chapter shows, for someone who learns.
pub fn intro(chapter: Chapter) -> &'static str {
    match chapter {
        Chapter::Piece | Chapter::Standout => "",
        Chapter::Since => {
            "What you changed, as another reads it. Where something was changed that you did not mean to change, look twice."
        }
        Chapter::Bars => {
            "Each remark quotes the bar as it is typed and, beside it, how it could be written. Most of them only change how it is \
            read; what changes the music says so, and is a thing to try, not a correction."
        }
        Chapter::Cautions => "Places to talk over with whoever plays or sings them.",
        Chapter::Harmony => {
            "The chords that are heard, each with its degree: the number of its root in the key of that moment, small for minor, \
            with figures for its bass. Compare them with what you meant."
        }
        Chapter::Parts => {
            "What each player meets: how much of the instrument you use, where it is busiest, how long it goes on without a rest. \
            Players look at this first."
        }
        Chapter::Layers => {
            "Follow one line from left to right: who has the tune, who the bass, who a pattern. A pattern that stays in one \
            place for long is no longer listened to."
        }
        Chapter::Form => {
            "How much each section differs from the one before. There is no right amount; look whether the contrast lies where \
            you want a listener to notice something."
        }
        Chapter::Curves => {
            "Four lines through the piece. Where do they rise together, and is that your climax?"
        }
        Chapter::Likeness => {
            "Each square compares two bars: the darker, the more alike. Stripes beside the diagonal are passages that come back."
        }
        Chapter::Method => "",
    }
}

/// The method of that name.
pub fn method(id: &str) -> Option<&'static Method> {
    METHODS.iter().find(|one| one.id == id)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_has_a_name_of_its_own_and_a_source() {
        let mut ids: Vec<&str> = METHODS.iter().map(|one| one.id).collect();
        assert!(METHODS.iter().all(|one| one.source.ends_with('.') && one.text.ends_with('.')));
        ids.sort_unstable();
        ids.dedup();
        assert_eq!(ids.len(), METHODS.len());
        assert!(method("contrast").is_some() && method("colour").is_none());
    }
}
