//! Figured bass: as signs of its own, and as the words under the bass that many type instead.

use super::measure::PartReader;
use super::tree::Element;
use crate::sheet::{Mark, Part, Sign};

impl PartReader {
    pub(super) fn figured_bass(&mut self, element: Element<'_, '_>) -> Result<(), String> {
        let mut figures = Vec::new();
        for figure in element.all("figure") {
            let sign = |name: &str| match figure.text_of(name) {
                "sharp" => "#",
                "flat" => "b",
                "natural" => "=",
                "double-sharp" => "##",
                "flat-flat" => "bb",
                "slash" | "back-slash" => "/",
                "cross" => "+",
                _ => "",
            };
            figures.push(format!(
                "{}{}{}",
                sign("prefix"),
                figure.text_of("figure-number"),
                sign("suffix")
            ));
        }
        if figures.iter().any(|figure| !figure.is_empty()) {
            let mark = Mark::Text('_', figures.join(" "));
            let onset = self.position;
            let staff = self.staff(element);
            self.sign(Sign { onset, staff, voice: None, ends: false, loose: false, mark });
        }
        Ok(())
    }
}

/// Words of a part that are nothing but figures become text below its notes, since nobody sings them. Whether
/// there are any.
pub(super) fn typed_as_words(part: &mut Part) -> bool {
    let mut lyrics = part.measures.iter().flat_map(|m| &m.events).flat_map(|event| &event.lyrics);
    let numbered = lyrics.clone().any(|lyric| lyric.text.contains(|c: char| c.is_ascii_digit()));
    if !numbered || !lyrics.all(|lyric| !lyric.joined && are_figures(&lyric.text)) {
        return false;
    }
    for event in part.measures.iter_mut().flat_map(|measure| &mut measure.events) {
        for lyric in event.lyrics.drain(..).filter(|lyric| !lyric.text.is_empty()) {
            event.marks.push(Mark::Text('_', lyric.text));
        }
    }
    true
}

/// Whether a syllable is figures one over or after another: `6`, `6/5`, `4 3`, a sharp, flat or natural by itself.
fn are_figures(text: &str) -> bool {
    const SIGNS: &str = "#bsfnx+♯♭♮";
    let figure = |word: &str| {
        let number = word.trim_matches(|c| SIGNS.contains(c));
        let digits = number.len() <= 2 && number.bytes().all(|byte| byte.is_ascii_digit());
        digits && word.chars().count() <= 3
    };
    text.split([' ', '/']).all(figure)
}

#[cfg(test)]
mod tests {
    use super::are_figures;
    use crate::import_musicxml;

    /// The music of two notes with these words, and what is said.
    fn bass(words: [&str; 2]) -> (String, Vec<String>) {
        let note = |word: &str| {
            format!(
                "<note><pitch><step>C</step><octave>3</octave></pitch><duration>2</duration>\
                 <lyric><syllabic>single</syllabic><text>{word}</text></lyric></note>"
            )
        };
        let score = format!(
            "<score-partwise><part-list><score-part id=\"P\"><part-name>Organo</part-name></score-part></part-list>\
             <part id=\"P\"><measure number=\"1\"><attributes><divisions>1</divisions></attributes>{}</measure></part></score-partwise>",
            words.map(note).concat()
        );
        let imported = import_musicxml(score.as_bytes(), "A").unwrap();
        let body = imported.text.lines().skip_while(|line| !line.starts_with("% 1")).skip(1);
        (body.collect::<Vec<_>>().join("/"), imported.left_out)
    }

    #[test]
    fn figures_typed_as_words_are_no_words() {
        let said = "Organo: words that are figured bass stand as text below the notes";
        let figured = ("\"_6\"C, \"_5/4 n\"C, |".to_owned(), vec![said.to_owned()]);
        assert_eq!(bass(["6", "5/4 n"]), figured);
        for words in [["la", "6"], ["n", "b"]] {
            let (music, said) = bass(words);
            assert_eq!(music, format!("C, C, |/w: {} {}", words[0], words[1]));
            assert!(said.is_empty());
        }
    }

    #[test]
    fn what_figures_look_like() {
        for figures in ["6", "6/5", "4 3", "#", "b7", "6+", "9 8", "5/4 n", "♮"] {
            assert!(are_figures(figures), "{figures}");
        }
        for words in ["1.", "so", "1st", "123", "son", "2."] {
            assert!(!are_figures(words), "{words}");
        }
    }
}
