//! `%%score` and `%%staves` (abc standard v2.1, 11.1).

use recte_score::{Group, GroupKind};

/// Groups nested deeper than any score has are read flat.
const DEEPEST: u32 = 16;

/// Reads the grouping of voices; with `staves` a `|` parts bar lines that else run through.
pub(crate) fn groups(text: &str, staves: bool) -> Vec<Group> {
    let mut words = split(text).into_iter().peekable();
    let mut groups = Vec::new();
    while words.peek().is_some() {
        // A bracket that closes nothing is passed over.
        groups.extend(members(&mut words, staves, DEEPEST));
    }
    groups
}

fn split(text: &str) -> Vec<String> {
    let mut words: Vec<String> = Vec::new();
    let mut open = false;
    for c in text.chars() {
        if c.is_whitespace() {
            open = false;
        } else if "()[]{}|*".contains(c) {
            words.push(c.to_string());
            open = false;
        } else if open && let Some(word) = words.last_mut() {
            word.push(c);
        } else {
            words.push(c.to_string());
            open = true;
        }
    }
    words
}

fn members(
    words: &mut std::iter::Peekable<std::vec::IntoIter<String>>,
    staves: bool,
    depth: u32,
) -> Vec<Group> {
    let mut all: Vec<Group> = Vec::new();
    let mut floating = false;
    while let Some(word) = words.next() {
        let kind = match word.as_str() {
            ")" | "]" | "}" => break,
            "|" => {
                if let Some(last) = all.last_mut() {
                    last.bars_joined = !staves;
                }
                continue;
            }
            "*" => {
                floating = true;
                continue;
            }
            "(" => GroupKind::Staff,
            "[" => GroupKind::Bracket,
            "{" => GroupKind::Brace,
            _ if std::mem::take(&mut floating) => GroupKind::Floating,
            _ => GroupKind::Voice,
        };
        let single = matches!(kind, GroupKind::Voice | GroupKind::Floating);
        if !single && depth == 0 {
            continue;
        }
        let inner = if single { Vec::new() } else { members(words, staves, depth - 1) };
        let id = if single { word } else { String::new() };
        all.push(Group { kind, id, bars_joined: staves, members: inner });
    }
    if let Some(last) = all.last_mut() {
        last.bars_joined = false;
    }
    all
}

#[cfg(test)]
mod tests {
    use super::*;

    fn shown(groups: &[Group]) -> String {
        let one = |group: &Group| {
            let inner = shown(&group.members);
            let text = match group.kind {
                GroupKind::Voice => group.id.clone(),
                GroupKind::Floating => format!("*{}", group.id),
                GroupKind::Staff => format!("({inner})"),
                GroupKind::Brace => format!("{{{inner}}}"),
                GroupKind::Bracket => format!("[{inner}]"),
            };
            if group.bars_joined { format!("{text} |") } else { text }
        };
        groups.iter().map(one).collect::<Vec<_>>().join(" ")
    }

    #[test]
    fn nested_groups() {
        assert_eq!(
            shown(&groups("Solo [(S A) | (T B)] {RH|*M LH}", false)),
            "Solo [(S A) | (T B)] {RH | *M LH}"
        );
        assert_eq!(shown(&groups("[1 2] | 3", true)), "[1 | 2] 3");
        assert_eq!(shown(&groups("(1 2", false)), "(1 2)");
        assert_eq!(shown(&groups(") 1", false)), "1");
        let _ = groups(&"(".repeat(100_000), false);
    }
}
