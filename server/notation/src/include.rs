//! `I:abc-include FILE.abh` (abc standard v2.1, 3.1.17): fields, directives and comments of another file, as if
//! typed at that place. The texts are handed in; what is not is passed over.

use crate::segment::{before_comment, is_field_line, line_at};
use std::collections::BTreeMap;

/// The texts of included files by the names typed; `None` for a file that is not there.
pub type Includes = BTreeMap<String, Option<String>>;

/// The file that a line includes.
pub fn include_name(line: &str) -> Option<&str> {
    let instruction = line.strip_prefix("I:").or(line.strip_prefix("%%"))?.trim_start();
    let name = instruction.strip_prefix("abc-include")?;
    let name = before_comment(name.strip_prefix([' ', '\t'])?).trim();
    (!name.is_empty()).then_some(name)
}

/// The names of all files that a text includes.
pub(crate) fn names(text: &str) -> Box<[String]> {
    if !text.contains("abc-include") {
        return Box::default();
    }
    lines(text).filter_map(include_name).map(str::to_owned).collect()
}

/// What an included text brings: its fields, directives and comments, a line each.
pub(crate) fn brought<'t>(
    includes: &'t Includes,
    line: &str,
) -> Option<impl Iterator<Item = &'t str>> {
    let text = includes.get(include_name(line)?)?.as_deref()?;
    let brings = |line: &&str| {
        line.starts_with('%')
            || line.starts_with("+:")
            || is_field_line(line) && !line.starts_with("X:")
    };
    let text = text.trim_start_matches('\u{FEFF}');
    Some(lines(text).map(|line| line.trim_end_matches(['\r', '\n'])).filter(brings))
}

/// The lines of a text with their ends.
pub(crate) fn lines(text: &str) -> impl Iterator<Item = &str> {
    let mut at = 0;
    std::iter::from_fn(move || {
        let line = line_at(text, at);
        at += line.len();
        (!line.is_empty()).then_some(line)
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_as_they_are_typed() {
        for (line, name) in [
            ("I:abc-include a.abh\n", Some("a.abh")),
            ("%%abc-include  my songs.abh % mine\r\n", Some("my songs.abh")),
            ("I: abc-include a.abh", Some("a.abh")),
            ("I:abc-include\n", None),
            ("I:abc-includes a.abh", None),
            ("% abc-include a.abh", None),
        ] {
            assert_eq!(include_name(line), name, "{line}");
        }
    }

    #[test]
    fn only_fields_directives_and_comments_are_brought() {
        let text = "\u{FEFF}% mine\rX:1\r\nL:1/4\n\nCDEF|\n+:more\n%%score 1".to_owned();
        let includes = Includes::from([("a.abh".to_owned(), Some(text)), ("b".to_owned(), None)]);
        let found: Vec<_> = brought(&includes, "I:abc-include a.abh").unwrap().collect();
        assert_eq!(found, ["% mine", "L:1/4", "+:more", "%%score 1"]);
        assert!(brought(&includes, "I:abc-include b").is_none());
    }
}
