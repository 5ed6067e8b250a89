//! Directions: dynamics, hairpins, words, tempo, rehearsal marks, signs of repetition.

use super::measure::PartReader;
use super::notations::dynamic;
use super::note::sign_length;
use super::tree::Element;
use crate::sheet::{Mark, ScoreMark, Sheet, Sign};
use recte_theory::Time;

/// Words that say how fast: common practice, no source.
const TEMPO_WORDS: [&str; 17] = [
    "adagi", "agitato", "allegr", "andant", "animato", "con moto", "fast", "grave", "larg", "lent",
    "lively", "maestoso", "moderat", "prest", "slow", "tempo di", "vivac",
];

/// What a direction says, gathered from its parts.
struct Said {
    staff: u8,
    voice: Option<u16>,
    onset: Time,
    /// Whether it is set off from there.
    loose: bool,
    words: Vec<String>,
    tempo: Option<(Vec<Time>, u32)>,
    /// Whether words can say how fast: unless they are said to belong to one part.
    over_all: bool,
    /// Whether they do, whatever they are.
    directs: bool,
    /// The sign that a text has for its place (abc standard v2.1, 4.19).
    side: char,
}

impl PartReader {
    pub(super) fn direction(
        &mut self,
        element: Element<'_, '_>,
        sheet: &mut Sheet,
    ) -> Result<(), String> {
        let voice = element.child("voice").map(|voice| voice.text());
        let mut said = Said {
            staff: self.staff(element),
            voice: voice.map(|voice| self.voice(voice)),
            onset: self.place(element)?,
            loose: element.child("offset").is_some(),
            words: Vec::new(),
            tempo: None,
            over_all: !element.attribute_is("system", "none"),
            directs: element.attribute_is("directive", "yes")
                || element.attribute("system").is_some_and(|system| system != "none"),
            side: side(element),
        };
        for kind in element.all("direction-type") {
            for child in kind.children() {
                self.direction_type(child, &mut said, sheet);
            }
        }
        let words = said.words.join(" ").split_whitespace().collect::<Vec<_>>().join(" ");
        if let Some(sound) = element.child("sound") {
            if said.tempo.is_none() {
                said.tempo = tempo_of(sound).map(|tempo| self.whole_beats(tempo));
            }
            self.sound_signs(sound, said.onset, &words, sheet);
        }
        let is_tempo = said.tempo.is_some()
            || !words.is_empty() && (said.directs || said.over_all && says_tempo(&words));
        if is_tempo {
            let (beat, per_minute) = said.tempo.unwrap_or_default();
            self.score_sign(said.onset, ScoreMark::Tempo { words, beat, per_minute }, sheet);
        } else if !words.is_empty() {
            match sign_of_repetition(&words) {
                Some(name) => self.score_mark(said.onset, name, sheet),
                None => self.put(&said, false, Mark::Text(said.side, words)),
            }
        }
        Ok(())
    }

    fn score_mark(&self, onset: Time, name: &'static str, sheet: &mut Sheet) {
        self.score_sign(onset, ScoreMark::Mark(Mark::Decoration(name)), sheet);
    }

    fn put(&mut self, said: &Said, ends: bool, mark: Mark) {
        let Said { onset, staff, voice, loose, .. } = *said;
        self.sign(Sign { onset, staff, voice, ends, loose, mark });
    }

    fn direction_type(&mut self, element: Element<'_, '_>, said: &mut Said, sheet: &mut Sheet) {
        match element.name() {
            "words" | "symbol" => said.words.push(element.full_text().to_owned()),
            "dynamics" => {
                for level in element.children() {
                    self.put(said, false, dynamic(level.name(), level.text()));
                }
            }
            "wedge" => self.wedge(element, said),
            "metronome" => self.metronome(element, said),
            "rehearsal" => {
                let name = element.text().to_owned();
                let mark = match element.attribute_is("enclosure", "none") {
                    true => ScoreMark::Heading(name),
                    false => ScoreMark::Section(name),
                };
                self.score_sign(said.onset, mark, sheet);
            }
            "segno" => self.score_mark(said.onset, "segno", sheet),
            "coda" => self.score_mark(said.onset, "coda", sheet),
            "pedal" => match element.attribute("type").as_deref() {
                Some("start" | "sostenuto") => {
                    self.put(said, false, Mark::Text('_', "Ped.".to_owned()));
                }
                Some("stop") => self.put(said, true, Mark::Text('_', "*".to_owned())),
                _ => self.notice("changes of the pedal inside a pedal line are left out"),
            },
            "octave-shift" => {
                if !element.attribute_is("type", "stop") {
                    self.notice(
                        "octave lines are left out; the notes are written where they sound",
                    );
                }
            }
            "dashes" | "bracket" => {
                if element.attribute_is("type", "start") {
                    self.notice("dashes and brackets over a passage are left out");
                }
            }
            "other-direction" => {
                if !element.text().is_empty() {
                    said.words.push(element.text().to_owned());
                }
            }
            name => self.notice(format!("the sign “{}” is left out", name.replace('-', " "))),
        }
    }

    fn wedge(&mut self, element: Element<'_, '_>, said: &Said) {
        let kind = element.attribute("type").unwrap_or_default();
        let number = element.attribute("number").unwrap_or_default();
        match kind.as_ref() {
            "crescendo" => {
                self.open_wedges.push((number.into_owned(), true));
                self.put(said, false, Mark::Decoration("<("));
            }
            "diminuendo" => {
                self.open_wedges.push((number.into_owned(), false));
                self.put(said, false, Mark::Decoration(">("));
            }
            "stop" => {
                let open = self.open_wedges.iter().rposition(|(open, _)| *open == number);
                let open = open.or(self.open_wedges.len().checked_sub(1));
                match open.map(|place| self.open_wedges.remove(place).1) {
                    Some(true) => self.put(said, true, Mark::Decoration("<)")),
                    Some(false) => self.put(said, true, Mark::Decoration(">)")),
                    None => self.notice("a hairpin ends that was not begun; it is left out"),
                }
            }
            _ => {}
        }
    }

    fn metronome(&mut self, element: Element<'_, '_>, said: &mut Said) {
        // A beat of several notes is one; two beats are an equation between them.
        if element.all("beat-unit").count() > 1 || element.child("metronome-note").is_some() {
            self.notice("a tempo that relates two notes to each other is left out");
            return;
        }
        let unit = |of: Element<'_, '_>| {
            sign_length(of.text_of("beat-unit"), of.all("beat-unit-dot").count() as u32)
        };
        let tied = element.all("beat-unit-tied").map(unit);
        let Some(beat) = std::iter::once(unit(element)).chain(tied).collect::<Option<Vec<_>>>()
        else {
            self.notice("a metronome mark without a beat is left out");
            return;
        };
        let text = element.text_of("per-minute");
        let digits: String = text
            .chars()
            .skip_while(|c| !c.is_ascii_digit())
            .take_while(|c| c.is_ascii_digit() || *c == '.')
            .collect();
        let Some(tempo) = super::measure::decimal(&digits).filter(|tempo| *tempo > Time::ZERO)
        else {
            self.notice(format!("a metronome mark of “{text}” is left out"));
            return;
        };
        if digits != text {
            self.notice(format!("a metronome mark of “{text}” is written as {digits}"));
        }
        said.tempo = Some(self.whole_beats((beat, tempo)));
    }

    /// So many whole beats a minute.
    fn whole_beats(&mut self, (beat, tempo): (Vec<Time>, Time)) -> (Vec<Time>, u32) {
        let half = Time::new(1, 2);
        let rounded = (tempo + half).numerator() / (tempo + half).denominator();
        if tempo.denominator() != 1 {
            self.notice(format!("a tempo is rounded to {rounded}"));
        }
        (beat, u32::try_from(rounded.clamp(1, 2000)).unwrap_or(1))
    }

    /// A `<sound>` by itself.
    pub(super) fn sound(&mut self, element: Element<'_, '_>, sheet: &mut Sheet) {
        let onset = self.position;
        if let Some(tempo) = tempo_of(element) {
            let (beat, per_minute) = self.whole_beats(tempo);
            let words = String::new();
            self.score_sign(onset, ScoreMark::Tempo { words, beat, per_minute }, sheet);
        }
        self.sound_signs(element, onset, "", sheet);
    }

    /// What a `<sound>` says of the order of play that the words beside it do not.
    fn sound_signs(
        &mut self,
        element: Element<'_, '_>,
        onset: Time,
        words: &str,
        sheet: &mut Sheet,
    ) {
        use recte_score::Meaning;
        let said = Meaning::of_words(words);
        let named = sign_of_repetition(words);
        for (attribute, meaning, name) in [
            ("dacapo", Meaning::DaCapo, "D.C."),
            ("dalsegno", Meaning::DalSegno, "D.S."),
            ("tocoda", Meaning::ToCoda, "dacoda"),
            ("fine", Meaning::Fine, "fine"),
        ] {
            if element.attribute(attribute).is_some()
                && said != Some(meaning)
                && named != Some(name)
            {
                self.score_mark(onset, name, sheet);
            }
        }
    }
}

/// Before its note or after it, as the words are aligned; below or above; above where nothing is said.
fn side(element: Element<'_, '_>) -> char {
    match element.attribute("placement").as_deref() {
        Some("below") => return '_',
        Some(_) => return '^',
        None => {}
    }
    let words = element.child("direction-type").and_then(|kind| kind.child("words"));
    let beside = words.filter(|words| {
        words.attribute_is("valign", "middle") && words.attribute("default-y").is_none()
    });
    match beside.and_then(|words| words.attribute("halign")).as_deref() {
        Some("right") => '<',
        Some("left") => '>',
        _ => '^',
    }
}

fn tempo_of(sound: Element<'_, '_>) -> Option<(Vec<Time>, Time)> {
    let tempo = super::measure::decimal(sound.attribute("tempo")?.trim())?;
    (tempo > Time::ZERO).then_some((vec![Time::new(1, 4)], tempo))
}

fn says_tempo(words: &str) -> bool {
    let lower = words.to_lowercase();
    TEMPO_WORDS.iter().any(|word| lower.starts_with(word))
}

/// The decoration that says the same as these words.
fn sign_of_repetition(words: &str) -> Option<&'static str> {
    Some(match words.to_lowercase().trim_end_matches('.') {
        "d.c" => "D.C.",
        "d.s" => "D.S.",
        "fine" => "fine",
        "to coda" => "dacoda",
        _ => return None,
    })
}
