//! Ids for voices: short, from the part's abbreviation or name.

use super::Voice;
use crate::sheet::Sheet;
use std::collections::HashSet;

/// Longer ids make lines of music longer.
const LONGEST: usize = 6;

pub(super) fn name(sheet: &Sheet, voices: &mut [Voice<'_>]) {
    let mut taken: HashSet<String> = HashSet::new();
    for (index, part) in sheet.parts.iter().enumerate() {
        let own: Vec<&mut Voice<'_>> =
            voices.iter_mut().filter(|voice| voice.part == index).collect();
        let several = own.len() > 1;
        let base = match base(
            &part.abbreviation,
            if part.name.is_empty() { &part.called } else { &part.name },
        ) {
            Some(base) => base,
            None if several => "V".to_owned(),
            None => (index + 1).to_string(),
        };
        let mut stem = base.clone();
        let mut copy = 1;
        while taken.contains(&stem) || (several && taken.contains(&format!("{stem}1"))) {
            copy += 1;
            stem = format!("{base}_{copy}");
        }
        let mut counts: Vec<(u8, u32)> = Vec::new();
        for voice in own {
            let count = match counts.iter_mut().find(|(staff, _)| *staff == voice.staff) {
                Some((_, count)) => {
                    *count += 1;
                    *count
                }
                None => {
                    counts.push((voice.staff, 1));
                    1
                }
            };
            voice.id = match (several, part.staves > 1) {
                (false, _) => stem.clone(),
                (true, true) => format!("{stem}{}{}", voice.staff, letter(count)),
                (true, false) => format!("{stem}{count}"),
            };
            taken.insert(voice.id.clone());
        }
        taken.insert(stem);
    }
}

/// Nothing for the first voice of a staff, then b, c …
fn letter(count: u32) -> String {
    match count {
        1 => String::new(),
        2..=26 => char::from(b'a' + (count - 1) as u8).to_string(),
        _ => format!("v{count}"),
    }
}

/// What a part is called for short, if it has a name.
fn base(abbreviation: &str, name: &str) -> Option<String> {
    let plain =
        |text: &str| -> String { text.chars().filter(|c| c.is_ascii_alphanumeric()).collect() };
    let short = plain(abbreviation);
    if !short.is_empty() && short.len() <= LONGEST {
        return Some(short);
    }
    let mut words: Vec<String> =
        name.split_whitespace().map(plain).filter(|word| !word.is_empty()).collect();
    // "1st Violin" is Violin 1.
    if let Some(first) = words.first().filter(|_| words.len() > 1) {
        let number: String = first.chars().take_while(char::is_ascii_digit).collect();
        if !number.is_empty() {
            words.remove(0);
            words.push(number);
        }
    }
    let short = match words.as_slice() {
        [] => String::new(),
        [word] if word.len() <= 4 => word.clone(),
        [word] => word.chars().take(3).collect(),
        words => words
            .iter()
            .map(|word| match word.chars().all(|c| c.is_ascii_digit() || "IVX".contains(c)) {
                true => word.clone(),
                false => word.chars().take(2).collect(),
            })
            .collect(),
    };
    (!short.is_empty() && short.len() <= 2 * LONGEST).then_some(short)
}
