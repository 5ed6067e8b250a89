//! Text as it is meant: mnemonics, entities and escapes (abc standard v2.1, 8.2 and 14.1).

use std::borrow::Cow;

/// An accent by its sign after the backslash and by its entity's ending, the letters that take it, and the result.
const ACCENTS: [(&str, &str, &str, &str); 12] = [
    ("`", "grave", "AEIOUaeiou", "ÀÈÌÒÙàèìòù"),
    ("'", "acute", "AEIOUYaeiouyCcNnSsZz", "ÁÉÍÓÚÝáéíóúýĆćŃńŚśŹź"),
    ("^", "circ", "AEIOUaeiouYyCcGgHhJjSsWw", "ÂÊÎÔÛâêîôûŶŷĈĉĜĝĤĥĴĵŜŝŴŵ"),
    ("~", "tilde", "ANOanoIiUu", "ÃÑÕãñõĨĩŨũ"),
    ("\"", "uml", "AEIOUYaeiouy", "ÄËÏÖÜŸäëïöüÿ"),
    ("c", "cedil", "CcSsTt", "ÇçŞşŢţ"),
    (",", "cedil", "CcSsTt", "ÇçŞşŢţ"),
    ("a", "ring", "AaUu", "ÅåŮů"),
    ("/", "slash", "OoDdLl", "ØøĐđŁł"),
    ("u", "breve", "AaEeGgIiOoUu", "ĂăĔĕĞğĬĭŎŏŬŭ"),
    ("v", "caron", "SsCcZzEeRrNnDdTt", "ŠšČčŽžĚěŘřŇňĎďŤť"),
    ("H", "dblac", "OoUu", "ŐőŰű"),
];

/// Two letters after a backslash, the entity's name, and what they stand for. `\oa` is version 2.0's.
const OTHERS: [(&str, &str, &str); 19] = [
    ("ss", "szlig", "ß"),
    ("ae", "aelig", "æ"),
    ("AE", "AElig", "Æ"),
    ("oe", "oelig", "œ"),
    ("OE", "OElig", "Œ"),
    ("dh", "eth", "ð"),
    ("DH", "ETH", "Ð"),
    ("th", "thorn", "þ"),
    ("TH", "THORN", "Þ"),
    ("oa", "aring", "å"),
    ("OA", "", "Å"),
    ("AA", "Aring", "Å"),
    ("\\", "bsol", "\\"),
    ("%", "percnt", "%"),
    ("&", "amp", "&"),
    ("", "copy", "©"),
    ("", "quot", "\""),
    ("", "lt", "<"),
    ("", "gt", ">"),
];

/// The text a composer means by what is typed.
pub(crate) fn decode(typed: &str) -> Cow<'_, str> {
    if !typed.contains(['\\', '&', '$']) {
        return Cow::Borrowed(typed);
    }
    let mut text = String::with_capacity(typed.len());
    let mut rest = typed;
    while let Some(c) = rest.chars().next() {
        let after = &rest[c.len_utf8()..];
        let found = match c {
            '\\' => mnemonic(after),
            '&' => entity(after),
            '$' => font(after),
            _ => None,
        };
        match found {
            Some((meant, length)) => {
                text.push_str(&meant);
                rest = &after[length..];
            }
            None => {
                text.push(c);
                rest = after;
            }
        }
    }
    Cow::Owned(text)
}

/// What stands after a backslash: its meaning and its length.
fn mnemonic(after: &str) -> Option<(String, usize)> {
    for (sign, digits) in [('u', 4), ('U', 8)] {
        let code = after.strip_prefix(sign).and_then(|rest| rest.get(..digits));
        if let Some(c) = code.and_then(|code| character(code, 16)) {
            return Some((c.to_string(), 1 + digits));
        }
    }
    let other = OTHERS.iter().find(|(sign, ..)| !sign.is_empty() && after.starts_with(sign));
    if let Some((sign, _, meant)) = other {
        return Some(((*meant).to_owned(), sign.len()));
    }
    let (sign, _, letters, meant) = ACCENTS.iter().find(|(sign, ..)| after.starts_with(sign))?;
    let letter = after[sign.len()..].chars().next()?;
    Some((accented(letters, meant, letter)?, sign.len() + letter.len_utf8()))
}

/// The character with a number; a control character is no text.
fn character(digits: &str, base: u32) -> Option<char> {
    let c = char::from_u32(u32::from_str_radix(digits, base).ok()?)?;
    (!c.is_control()).then_some(c)
}

fn accented(letters: &str, meant: &str, letter: char) -> Option<String> {
    let place = letters.chars().position(|known| known == letter)?;
    meant.chars().nth(place).map(String::from)
}

/// What stands after an ampersand: `eacute;`, `#233;`.
fn entity(after: &str) -> Option<(String, usize)> {
    let end = after.bytes().take(12).position(|byte| byte == b';')?;
    let name = after.get(..end)?;
    if let Some(number) = name.strip_prefix('#') {
        let c = match number.strip_prefix(['x', 'X']) {
            Some(digits) => character(digits, 16)?,
            None => character(number, 10)?,
        };
        return Some((c.to_string(), end + 1));
    }
    if let Some((_, _, meant)) = OTHERS.iter().find(|(_, known, _)| *known == name) {
        return Some(((*meant).to_owned(), end + 1));
    }
    let letter = name.chars().next()?;
    let accent = &name[letter.len_utf8()..];
    let (_, _, letters, meant) = ACCENTS.iter().find(|(_, known, ..)| *known == accent)?;
    Some((accented(letters, meant, letter)?, end + 1))
}

/// A change of font, `$1`, leaves no trace; `$$` is a dollar.
fn font(after: &str) -> Option<(String, usize)> {
    match after.as_bytes().first()? {
        b'0'..=b'4' => Some((String::new(), 1)),
        b'$' => Some(("$".to_owned(), 1)),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_kind_of_sign() {
        for (typed, meant) in [
            (r"\'Et\'e", "Été"),
            (r#"F\"ur \`a la \^o \~n"#, "Für à la ô ñ"),
            (
                r"gar\ccon \AA\aa \/O \ua \vS \Ho \ss \ae \OE \dh \TH \oa",
                "garçon Åå Ø ă Š ő ß æ Œ ð Þ å",
            ),
            (r"\u00e9 \U000000E9 \ug", "é é ğ"),
            ("&eacute;&copy;&quot;&Aring;&szlig;&#233;", "é©\"Åß\u{e9}"),
            (r"50\% \\ \& a & b &c; &", r"50% \ & a & b &c; &"),
            ("&#xe9;&#XE9; &#0; &#xD800;", "éé &#0; &#xD800;"),
            (r"\u0000 \u001b[2J \ud83d", r"\u0000 \u001b[2J \ud83d"),
            ("$1loud$0 $$5", "loud $5"),
            (r"\", r"\"),
            (r"\q", r"\q"),
        ] {
            assert_eq!(decode(typed), meant, "{typed}");
        }
    }

    #[test]
    fn each_accent_has_its_letters() {
        for (sign, _, letters, meant) in ACCENTS {
            assert_eq!(letters.chars().count(), meant.chars().count(), "{sign}");
        }
    }
}
