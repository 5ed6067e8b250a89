//! What holds for the whole score: titles, bars, repeats, tempi, parts, the page.

use recte_score::{
    Group, GroupKind, Grouping, LineStyle, Tune, Voice, endings, playing_order, repeats,
};
use recte_theory::Time;

pub(super) fn facts(tune: &Tune, staves: &[Vec<&Voice>], all: &mut Vec<String>) {
    let mut say = |fact: String| all.push(fact);
    say(format!("number: {:?}", tune.reference));
    for (place, title) in tune.titles.iter().filter(|t| !t.is_empty()).enumerate() {
        say(format!("title {place}: {title}"));
    }
    for field in tune.texts.iter().filter(|field| !field.text.trim().is_empty()) {
        say(format!("field {}: {}", field.name, field.text));
    }
    if let Some(order) = &tune.part_order {
        say(format!("order of parts: {order}"));
    }
    bars(tune, all);
    for tempo in &tune.tempi {
        let beat: Time = tempo.beats.iter().copied().sum();
        all.push(format!(
            "tempo: bar {} at {}: {:?} beat {beat} a minute {:?}",
            tempo.bar, tempo.offset, tempo.text, tempo.per_minute
        ));
    }
    for section in &tune.sections {
        let kind = if section.part { "part" } else { "section" };
        all.push(format!("{kind}: bar {}: {}", section.bar, section.label));
    }
    all.push(format!("page: {}", page(tune, staves)));
}

fn bars(tune: &Tune, all: &mut Vec<String>) {
    let mut say = |fact: String| all.push(fact);
    for (index, bar) in tune.bars.iter().enumerate() {
        say(format!("bar {index}: length {} number {}", bar.length, bar.number));
        let own = tune.voices.iter().filter_map(|voice| voice.bars.get(index));
        // A line that closes a repeat looks as such lines do.
        let repeat = own.clone().any(|bar| bar.repeat_closes > 0);
        let style = own.clone().map(|bar| bar.style).find(|style| *style != LineStyle::Plain);
        // One that opens a repeat is thick and thin anyway.
        let mut next = tune.voices.iter().filter_map(|voice| voice.bars.get(index + 1));
        let opens = next.any(|bar| bar.repeat_opens > 0) && style == Some(LineStyle::Opening);
        if let Some(style) = style.filter(|_| !repeat && !opens) {
            say(format!("bar {index}: line {style:?}"));
        }
        if let Some(words) = own.clone().find_map(|bar| bar.ending_words.as_deref()) {
            say(format!("bar {index}: an ending called {words}"));
        }
        let metre = own.clone().next().map(|bar| tune.metre(bar).to_string());
        say(format!("bar {index}: metre {metre:?}"));
    }
    for repeat in repeats(tune) {
        say(format!("repeat {} to {}, {} times", repeat.from, repeat.to, repeat.times));
    }
    for ending in endings(tune) {
        say(format!("ending {:?}: {} to {}", ending.times, ending.from, ending.to));
    }
    say(format!("played: {:?}", playing_order(tune)));
}

/// How staves are braced and bracketed, and where bar lines run through.
fn page(tune: &Tune, staves: &[Vec<&Voice>]) -> String {
    let Some(Grouping { groups, .. }) = tune.groupings.first() else {
        return vec!["s"; staves.len()].join(" ");
    };
    let mut known: Vec<&str> = staves.iter().flatten().map(|voice| voice.id.as_str()).collect();
    let mut text = shown(groups, &mut known);
    known.iter().for_each(|_| text.push_str(" s"));
    text
}

fn shown(groups: &[Group], known: &mut Vec<&str>) -> String {
    let mut text: Vec<String> = Vec::new();
    for group in groups {
        let mut take = |id: &str| {
            let place = known.iter().position(|known| *known == id);
            place.map(|place| known.remove(place)).is_some()
        };
        let one = match group.kind {
            GroupKind::Voice => take(&group.id).then(|| "s".to_owned()),
            GroupKind::Staff => {
                let own = group.members.iter().filter(|one| take(&one.id)).count();
                (own > 0).then(|| "s".to_owned())
            }
            GroupKind::Floating => {
                take(&group.id);
                None
            }
            GroupKind::Brace => Some(format!("{{{}}}", shown(&group.members, known))),
            GroupKind::Bracket => Some(format!("[{}]", shown(&group.members, known))),
        };
        if let Some(one) = one {
            text.push(if group.bars_joined { format!("{one}|") } else { one });
        }
    }
    text.join(" ")
}
