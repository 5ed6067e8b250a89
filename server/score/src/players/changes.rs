//! How a part goes on: another instrument, more or fewer players, as the composer says in the course of it.

use super::desk::{same_desk, same_family};
use super::label::{Label, find, numbers, read_label, words};
use super::{Divisi, Players, Playing};
use crate::tune::{MarkKind, Voice};
use recte_theory::instruments::{Family, Instrument, Roster, key_class};

/// What a text asks for.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(super) enum Change<'r> {
    /// Another instrument.
    To(&'r Instrument),
    /// An instrument that is not known, or only some of the players change.
    Unknown,
    /// Others of the same players.
    Players(Asked),
}

/// Which of the players.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Asked {
    /// One of them.
    One,
    /// So many.
    Several(u8),
    /// Of a section.
    Section(Divisi),
    /// All, as in the beginning.
    All,
    /// Those of them who play, on one note.
    Unison,
}

/// Longer texts say something else.
const LONG: usize = 60;

/// Who plays a voice, stretch by stretch.
pub(super) fn stretches<'r>(
    voice: &Voice,
    begins: Option<&'r Instrument>,
    label: &Label<'r>,
    said: &[(u32, &str)],
    orchestra: bool,
    roster: &'r Roster,
) -> Vec<Playing<'r>> {
    let end = voice.events.len() as u32;
    let mut now =
        Now { instrument: begins, label: label.clone(), orchestra, players: Players::One };
    now.restart();
    let mut texts: Vec<(u32, &str, bool)> =
        said.iter().filter(|(at, _)| *at > 0).map(|(at, text)| (*at, *text, true)).collect();
    let marks = voice.marks.iter().filter(|mark| mark.kind == MarkKind::Annotation);
    texts.extend(marks.filter(|mark| mark.text.len() <= LONG).map(|m| (m.event, &*m.text, false)));
    texts.sort_by_key(|(at, ..)| *at);
    // A part that divides anywhere is not one player's.
    if now.players == Players::One
        && begins.is_some_and(|i| i.family == Family::Strings)
        && texts.iter().any(|(_, text, said)| {
            !said && matches!(asked(text), Some(Asked::Section(Divisi::Divided | Divisi::Together)))
        })
    {
        now.orchestra = true;
        now.restart();
    }
    let mut all: Vec<Playing<'r>> = Vec::new();
    let mut from = 0;
    for (at, text, said) in texts {
        let before = (now.instrument, now.players);
        if said {
            now.label = read_label(text, roster);
            let voice_only = now.label.candidates.first().filter(|one| one.family == Family::Voice);
            now.instrument = match now.label.candidates.as_slice() {
                [one] => Some(one),
                _ => voice_only.copied(),
            };
            now.restart();
        } else if let Some(instrument) = now.instrument
            && let Some(change) = read_change(text, instrument, &now, roster)
        {
            now.take(change);
        }
        if before != (now.instrument, now.players) {
            push(&mut all, from..at, before);
            from = at;
        }
    }
    push(&mut all, from..end.max(1), (now.instrument, now.players));
    all
}

fn push<'r>(
    all: &mut Vec<Playing<'r>>,
    events: std::ops::Range<u32>,
    (instrument, players): (Option<&'r Instrument>, Players),
) {
    if let Some(instrument) = instrument.filter(|_| !events.is_empty()) {
        all.push(Playing { events, instrument, players });
    }
}

struct Now<'r> {
    instrument: Option<&'r Instrument>,
    label: Label<'r>,
    orchestra: bool,
    players: Players,
}

impl<'r> Now<'r> {
    fn all(&self) -> Players {
        self.instrument.map_or(Players::One, |one| self.label.players(one, self.orchestra))
    }

    fn restart(&mut self) {
        self.players = self.all();
    }

    fn take(&mut self, change: Change<'r>) {
        match change {
            Change::To(instrument) => self.instrument = Some(instrument),
            Change::Unknown => self.instrument = None,
            Change::Players(asked) => {
                let all = self.all();
                let section = matches!(all, Players::Section(_));
                self.players = match asked {
                    Asked::One => Players::One,
                    Asked::Several(count) if section || matches!(all, Players::Several(_)) => {
                        Players::Several(count)
                    }
                    Asked::Section(divisi) if section => Players::Section(divisi),
                    Asked::All | Asked::Unison => all,
                    Asked::Several(_) | Asked::Section(_) => self.players,
                };
            }
        }
    }
}

/// What a text at a place asks of the players.
fn read_change<'r>(
    text: &str,
    now: &'r Instrument,
    state: &Now<'r>,
    roster: &'r Roster,
) -> Option<Change<'r>> {
    let text = text.trim_start_matches(['^', '_', '<', '>', '@']).trim();
    let text = text.trim_matches(|c| matches!(c, '(' | ')' | '[' | ']' | ' '));
    if let Some(asked) = asked(text) {
        return Some(Change::Players(asked));
    }
    to_instrument(text, now, state, roster)
}

/// Which of the players a text asks for, if that is all it says.
pub(super) fn asked(text: &str) -> Option<Asked> {
    let words = words(text.trim_start_matches(['^', '_', '<', '>', '@']));
    let words: Vec<&str> = words.iter().map(String::as_str).collect();
    let figure = |word: &str| word.parse::<u8>().ok().filter(|count| (1..=16).contains(count));
    let desk =
        |word: &&str| matches!(*word, "desk" | "desks" | "pult" | "pulte" | "leggio" | "leggii");
    Some(match words.as_slice() {
        ["a", "due"] | ["à", "deux"] | ["zu", "zweit"] | ["due", "soli"] => Asked::Several(2),
        ["a", "tre"] | ["à", "trois"] | ["zu", "dritt"] => Asked::Several(3),
        ["a" | "à" | "zu", count] => Asked::Several(figure(count)?),
        ["unis" | "unisono" | "unison" | "unisoni" | "einstimmig"] => Asked::Unison,
        ["tutti" | "alle" | "tous" | "all"] => Asked::All,
        ["solo"] | ["uno", "solo"] | ["un", "solo"] | ["one", "player"] => Asked::One,
        [number, "solo"] | ["solo", number] => super::label::number(number).map(|_| Asked::One)?,
        [count, "soli"] => Asked::Several(figure(count)?),
        [
            "div" | "divisi" | "geteilt" | "get" | "divisés" | "divisées" | "divise" | "divided",
            ..,
        ] if words.len() <= 4 => Asked::Section(Divisi::Divided),
        ["non", "div" | "divisi" | "divise"]
        | ["nicht", "geteilt" | "get"]
        | ["not", "divided"]
        | ["non", "divisés" | "divisées"] => Asked::Section(Divisi::Together),
        ["gli" | "le", "altri" | "altre"]
        | ["altri" | "altre"]
        | ["die", "übrigen"]
        | ["les", "autres"]
        | ["the", "others" | "rest"]
        | ["others"]
        | ["half" | "metà"]
        | ["la", "metà" | "moitié"]
        | ["die", "hälfte"] => Asked::Section(Divisi::Open),
        words if words.len() <= 5 && words.iter().any(desk) => {
            let desks = numbers(text);
            let counted = words.first().and_then(|first| figure(first));
            let plural = words.iter().any(|word| matches!(*word, "desks" | "pulte" | "leggii"));
            let desks = if plural && desks == 1 { counted.unwrap_or(1) } else { desks.max(1) };
            Asked::Several(desks.saturating_mul(2))
        }
        // "1." is a player and "1" may be a finger.
        [_] if text.ends_with('.') && numbers(text) == 1 => Asked::One,
        [number, "st" | "nd" | "rd" | "th"] => figure(number).map(|_| Asked::One)?,
        ["primo" | "secondo" | "terzo" | "quarto"] => Asked::One,
        [_, _, ..]
            if words.iter().all(|word| {
                super::label::number(word).is_some()
                    || matches!(*word, "e" | "u" | "und" | "and" | "et")
            }) =>
        {
            Asked::Several(numbers(&words.join(" ").replace(" e ", " ").replace(" u ", " ")))
        }
        _ => return None,
    })
}

/// How a part says that its player takes another instrument; the first may also say where to put it or go.
const VERBS: [&str; 27] = [
    "changes to",
    "change to",
    "change into",
    "changes into",
    "switch to",
    "switches to",
    "back to",
    "muta in",
    "mutano in",
    "muta a",
    "cambia in",
    "prende",
    "prendono",
    "nimmt",
    "nehmen",
    "wechselt zu",
    "wechseln zu",
    "wechselt in",
    "wechsel zu",
    "wechsel in",
    "prendre",
    "prenez",
    "prend",
    "prennent",
    "changez en",
    "take",
    "takes",
];

const ARTICLES: [&str; 16] = [
    "the", "a", "an", "la", "le", "les", "il", "lo", "i", "die", "der", "das", "den", "al", "alla",
    "au",
];

fn to_instrument<'r>(
    text: &str,
    now: &'r Instrument,
    state: &Now<'r>,
    roster: &'r Roster,
) -> Option<Change<'r>> {
    let lower = text.to_lowercase().replace("l'", "").replace("l’", "");
    let verb = VERBS.iter().find_map(|verb| split_at_word(&lower, verb));
    let weak = verb.is_none().then(|| split_at_word(&lower, "to")).flatten();
    let (subject, name) = verb.or(weak).unwrap_or(("", &lower));
    let name = without_articles(name.trim().trim_end_matches(')'));
    if name.is_empty() {
        return None;
    }
    if !subject.trim().is_empty() && !is_subject(subject, now, roster) {
        return None;
    }
    let named = verb.is_some() || weak.is_some();
    let change = match key_class(name) {
        Some(key) => match roster.in_key(now, key) {
            Some(instrument) => Some(Change::To(instrument)),
            // A crook that the table does not have; drums and strings are tuned by such words.
            None if verb.is_some() && now.comes_in_keys() => Some(Change::Unknown),
            None => None,
        },
        None => named_instrument(name, now, state, verb.is_some(), named, roster),
    }?;
    // "2. muta in Picc.": the others go on as they were.
    let some = numbers(subject) > 0
        && matches!(state.players, Players::Several(all) if numbers(subject) < all);
    Some(if some { Change::Unknown } else { change })
}

/// What stands before a verb and after it, the verb in words of its own.
fn split_at_word<'t>(text: &'t str, verb: &str) -> Option<(&'t str, &'t str)> {
    let starts = |at: usize| !text[..at].ends_with(char::is_alphanumeric);
    let at = text.match_indices(verb).map(|(at, _)| at).find(|at| {
        let rest = &text[at + verb.len()..];
        starts(*at) && rest.starts_with([' ', '.'])
    })?;
    Some((&text[..at], text[at + verb.len()..].trim_start_matches(['.', ' '])))
}

fn without_articles(mut name: &str) -> &str {
    while let Some((first, rest)) = name.split_once(' ') {
        if !ARTICLES.contains(&first) {
            break;
        }
        name = rest.trim_start();
    }
    name
}

/// Whether what stands before the verb is the part's own player.
fn is_subject(subject: &str, now: &Instrument, roster: &Roster) -> bool {
    let subject = subject.trim();
    let plain = words(subject);
    plain.iter().all(|word| super::label::number(word).is_some())
        || find(subject, roster).all().iter().any(|one| same_desk(one, now))
}

fn named_instrument<'r>(
    name: &str,
    now: &'r Instrument,
    state: &Now<'r>,
    strong: bool,
    named: bool,
    roster: &'r Roster,
) -> Option<Change<'r>> {
    let own = |one: &&&'r Instrument| {
        let doubles = state.label.doubles.iter().chain(&state.label.candidates);
        doubles.into_iter().any(|double| double.id == one.id)
    };
    let found = find_spoken(name, roster);
    let only = |all: Vec<&'r Instrument>| match all.as_slice() {
        [one] => Some(Change::To(one)),
        _ => None,
    };
    let of = |fits: &dyn Fn(&&&'r Instrument) -> bool| -> Vec<&'r Instrument> {
        found.iter().filter(fits).copied().collect()
    };
    // The clarinet a part began with is the one it comes back to, if no key is said.
    let keyless = words(name).last().is_none_or(|last| key_class(last).is_none());
    let begun = state
        .label
        .candidates
        .iter()
        .chain(&state.label.doubles)
        .find(|begun| keyless && found.iter().any(|one| one.is_kind_of(begun)));
    only(of(&own))
        .or_else(|| begun.map(|begun| Change::To(begun)))
        .or_else(|| only(of(&|one| same_desk(one, now))))
        .or_else(|| only(of(&|one| named && same_family(one, now))))
        .or_else(|| only(found.clone()).filter(|_| strong))
}

/// "kleinen Flöte", "Fl. grande", "piccolo solo".
fn find_spoken<'r>(name: &str, roster: &'r Roster) -> Vec<&'r Instrument> {
    let found = find(name, roster).all();
    if !found.is_empty() || name.len() < 3 {
        return found;
    }
    const NEEDLESS: [&str; 8] =
        ["grande", "gr", "grosse", "große", "großen", "ordinary", "again", "now"];
    let bent = name.replace("kleinen", "kleine").replace("flöten", "flöte");
    let kept: Vec<&str> = bent
        .split([' ', '.'])
        .filter(|word| !word.is_empty() && !NEEDLESS.contains(word))
        .collect();
    let kept = kept.join(" ");
    if kept.is_empty() || kept == name { Vec::new() } else { find(&kept, roster).all() }
}
