//! Who plays each voice, from what the composer said of it, its name, and what stands around it.
//!
//! How scores name their players, and how a part says that they change: common practice, no source.

mod changes;
mod desk;
mod label;
mod settle;

use crate::page::{Group, GroupKind};
use crate::tune::{Tune, Voice};
use changes::stretches;
pub use label::is_for_the_feet;
use label::{Label, parts_of_an_organ, read_label};
use recte_theory::instruments::{Family, Instrument, Roster};
use settle::{Line, settle};
use std::ops::Range;

/// How many play a voice together.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Default)]
pub enum Players {
    /// One player or singer.
    #[default]
    One,
    /// So many, each with a note of their own where there are several ("Horns 1.2", "a 2").
    Several(u8),
    /// All of a section or choir.
    Section(Divisi),
}

/// Whether a section divides where several notes stand together.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Default)]
pub enum Divisi {
    /// Nothing is said: it may.
    #[default]
    Open,
    /// It does ("div.").
    Divided,
    /// It does not ("non div.").
    Together,
}

impl Players {
    /// How many of so many notes at once the busiest player has, if they share them as well as they can.
    pub fn share_of(self, notes: usize) -> usize {
        match self {
            Players::One | Players::Section(Divisi::Together) => notes,
            Players::Several(players) => notes.div_ceil(usize::from(players.max(1))),
            Players::Section(_) => notes.min(1),
        }
    }
}

/// Who plays a stretch of a voice.
#[derive(Clone, PartialEq, Debug)]
pub struct Playing<'r> {
    /// The events they play.
    pub events: Range<u32>,
    /// On what.
    pub instrument: &'r Instrument,
    /// How many of them.
    pub players: Players,
}

/// A name that may mean several instruments, and nothing in the score says which.
#[derive(Clone, PartialEq, Debug)]
pub struct OpenName<'r> {
    /// The voice, by index.
    pub voice: usize,
    /// The name.
    pub label: String,
    /// The likeliest, in score order.
    pub candidates: Vec<&'r Instrument>,
}

/// Who plays what in a tune.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Who<'r> {
    /// Who plays each voice, stretch by stretch; nothing where that is not known.
    pub playing: Vec<Vec<Playing<'r>>>,
    /// Names that leave it open.
    pub open: Vec<OpenName<'r>>,
}

/// Who plays each voice, stretch by stretch; nothing where that is not known.
pub fn playing<'r>(tune: &Tune, roster: &'r Roster) -> Vec<Vec<Playing<'r>>> {
    who(tune, roster).playing
}

/// Who plays an event.
pub fn playing_at<'p, 'r>(playing: &'p [Playing<'r>], event: u32) -> Option<&'p Playing<'r>> {
    playing.iter().find(|stretch| stretch.events.contains(&event))
}

/// Who plays each voice, and which names leave that open.
pub fn who<'r>(tune: &Tune, roster: &'r Roster) -> Who<'r> {
    let stands = stands(tune);
    let said: Vec<Vec<(u32, &str)>> =
        tune.voices.iter().map(|voice| said_in(tune, voice)).collect();
    let mut labels: Vec<Label<'r>> = Vec::with_capacity(tune.voices.len());
    for (voice, said) in tune.voices.iter().zip(&said) {
        labels.push(match said.first() {
            Some((0, text)) => read_label(text, roster),
            _ => {
                let (name, short) =
                    (read_label(&voice.name, roster), read_label(&voice.subname, roster));
                let known = !name.candidates.is_empty() || short.candidates.is_empty();
                if known { name } else { short }
            }
        });
    }
    parts_of_an_organ(&mut labels, roster);
    let mut order: Vec<usize> = (0..tune.voices.len()).collect();
    order.sort_by_key(|&voice| (stands[voice].place, voice));
    let lines: Vec<Line<'_, 'r>> = order
        .iter()
        .map(|&at| Line {
            voice: &tune.voices[at],
            label: &labels[at],
            staves: stands[at].staves,
            said: said[at].first().is_some_and(|(from, _)| *from == 0),
        })
        .collect();
    let settled = settle(tune, &lines);
    let mut begins: Vec<Option<&'r Instrument>> = vec![None; tune.voices.len()];
    let mut open = Vec::new();
    for ((&voice, line), settled) in order.iter().zip(&lines).zip(settled) {
        begins[voice] = settled.first().copied().filter(|_| settled.len() == 1);
        if settled.len() > 1 {
            open.push(OpenName { voice, label: line.label.text.clone(), candidates: settled });
        }
    }
    share(tune, &stands, &said, &mut labels, &mut begins);
    let orchestra = is_orchestra(&begins);
    let all =
        tune.voices.iter().enumerate().map(|(at, voice)| {
            stretches(voice, begins[at], &labels[at], &said[at], orchestra, roster)
        });
    let playing = all.collect();
    Who { playing, open }
}

/// Whether a name means one instrument of a roster or more.
pub fn knows(name: &str, roster: &Roster) -> bool {
    !read_label(name, roster).candidates.is_empty()
}

/// What the composer said last of a voice (`recte level`).
pub fn said_of<'a>(tune: &'a Tune, voice: &Voice, what: &str) -> Option<&'a str> {
    let mut all = tune.instructions.iter().rev();
    all.find(|i| i.what == what && i.voice == voice.id).map(|i| i.value.as_str())
}

/// What `recte instrument` says of a voice, each with the event it holds from.
fn said_in<'t>(tune: &'t Tune, voice: &Voice) -> Vec<(u32, &'t str)> {
    let own = tune.instructions.iter().filter(|i| i.what == "instrument" && i.voice == voice.id);
    let mut all: Vec<(u32, &str)> = Vec::new();
    for instruction in own {
        let at = if instruction.span.start < tune.header.end {
            0
        } else {
            let after = |event: &crate::Event| event.full.start >= instruction.span.start;
            voice.events.iter().position(after).unwrap_or(voice.events.len()) as u32
        };
        all.retain(|(before, _)| *before != at);
        all.push((at, &instruction.value));
    }
    all
}

/// Where a voice stands on the page.
#[derive(Clone, Copy, Default)]
struct Stand {
    /// Its place from the top.
    place: usize,
    /// The staff it shares with voices before it: the first of those.
    staff: Option<usize>,
    /// The brace it stands in: the first voice there.
    brace: Option<usize>,
    /// How many staves that brace has.
    staves: usize,
}

fn stands(tune: &Tune) -> Vec<Stand> {
    let mut all =
        vec![Stand { place: usize::MAX, staves: 1, ..Stand::default() }; tune.voices.len()];
    let index = |id: &str| tune.voices.iter().position(|voice| voice.id == id);
    let Some(grouping) = tune.groupings.first() else { return all };
    for (place, id) in grouping.voices().into_iter().enumerate() {
        if let Some(voice) = index(id) {
            all[voice].place = place;
        }
    }
    let mut groups: Vec<&Group> = grouping.groups.iter().collect();
    while let Some(group) = groups.pop() {
        groups.extend(&group.members);
        let mut inside = Vec::new();
        members(group, &mut |id| inside.extend(index(id)));
        let Some(&first) = inside.first() else { continue };
        for &voice in &inside {
            match group.kind {
                GroupKind::Staff => all[voice].staff = Some(first),
                GroupKind::Brace => {
                    all[voice].brace = Some(first);
                    all[voice].staves = group.members.len();
                }
                GroupKind::Voice | GroupKind::Floating | GroupKind::Bracket => {}
            }
        }
    }
    all
}

fn members<'g>(group: &'g Group, each: &mut dyn FnMut(&'g str)) {
    if !group.id.is_empty() {
        each(&group.id);
    }
    group.members.iter().for_each(|member| members(member, each));
}

/// A voice without a name on the staff of a named one is played by the same players, who share the work; in a
/// brace so are the staves of a keyboard or a harp.
fn share<'r>(
    tune: &Tune,
    stands: &[Stand],
    said: &[Vec<(u32, &str)>],
    labels: &mut [Label<'r>],
    begins: &mut [Option<&'r Instrument>],
) {
    let nameless = |at: usize| {
        let voice = &tune.voices[at];
        voice.name.is_empty() && voice.subname.is_empty() && said[at].is_empty()
    };
    for leader in 0..tune.voices.len() {
        let Some(instrument) = begins[leader] else { continue };
        let hands = instrument.family == Family::Keyboard || instrument.id == "harp";
        let same = |at: &usize| {
            let staff = stands[*at].staff.is_some() && stands[*at].staff == Some(leader);
            let brace = stands[*at].brace.is_some() && stands[*at].brace == Some(leader);
            *at != leader && nameless(*at) && (staff || brace && hands)
        };
        let with: Vec<usize> = (0..tune.voices.len()).filter(same).collect();
        if with.is_empty() {
            continue;
        }
        labels[leader].shared_by(with.len() + 1);
        for at in with {
            begins[at] = Some(instrument);
            labels[at] = labels[leader].clone();
        }
    }
}

/// Two wind instruments or more, or drums with one, make the strings beside them an orchestra's.
fn is_orchestra(begins: &[Option<&Instrument>]) -> bool {
    let of = |families: &[Family]| {
        let mut ids: Vec<&str> = begins
            .iter()
            .flatten()
            .filter(|instrument| families.contains(&instrument.family))
            .map(|instrument| instrument.id.as_str())
            .collect();
        ids.sort_unstable();
        ids.dedup();
        ids.len()
    };
    let winds = of(&[Family::Woodwind, Family::Brass]);
    winds >= 2 || winds == 1 && of(&[Family::Percussion]) > 0
}
