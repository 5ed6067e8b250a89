//! A pitch as text.

use recte_theory::Pitch;

/// The signs for an alteration: `^`, `__`, `=`.
pub(crate) fn accidental_text(alter: i8) -> &'static str {
    match alter {
        i8::MIN..=-2 => "__",
        -1 => "_",
        0 => "=",
        1 => "^",
        2.. => "^^",
    }
}

/// A letter with its octave signs, the accidental in front if it is asked for: `^c'`.
pub fn pitch_text(pitch: Pitch, accidental: bool) -> String {
    let mut text = String::new();
    if accidental {
        text.push_str(accidental_text(pitch.name.alter));
    }
    let letter = pitch.name.letter.to_char();
    if pitch.octave >= 5 {
        text.push(letter.to_ascii_lowercase());
        text.extend(std::iter::repeat_n('\'', usize::from(pitch.octave.abs_diff(5))));
    } else {
        text.push(letter);
        text.extend(std::iter::repeat_n(',', usize::from(pitch.octave.abs_diff(4))));
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn letters_and_octaves() {
        for (pitch, text) in [
            ("C4", "=C"),
            ("F#4", "^F"),
            ("Bb3", "_B,"),
            ("C##6", "^^c'"),
            ("Ebb5", "__e"),
            ("G2", "=G,,"),
        ] {
            assert_eq!(pitch_text(pitch.parse().unwrap(), true), text);
        }
        assert_eq!(pitch_text("F#5".parse().unwrap(), false), "f");
    }
}
