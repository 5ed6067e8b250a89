//! The remarks as a report tells them: in which chapter, with the bars quoted and what could be done beside them.

use super::bars::Bars;
use super::cautions::could_hurt;
use super::fullness::{Fullness, PROPOSALS};
use super::listen::Sounds;
use super::quotes::{Quote, quote};
use super::since::{Fate, Fates};
use super::staff::{Drafts, Staff};
use crate::host::Located;
use recte_review::{Chapter, Family, FixKind, Severity, Template, find_rule};
use recte_score::Tune;
use recte_score::texture::Table;
use recte_theory::Time;
use std::collections::HashMap;

/// A remark.
#[derive(Clone, Debug, PartialEq)]
pub struct Remark {
    /// The rule's id.
    pub rule: &'static str,
    /// Its family.
    pub family: Family,
    /// How much it matters.
    pub severity: Severity,
    /// Where it is told.
    pub chapter: Chapter,
    /// The voice it is about, by index.
    pub voice: Option<usize>,
    /// The first and the last bar, by index; none for what is about the text.
    pub bars: Option<(u32, u32)>,
    /// When it begins within its first bar, in whole notes.
    pub offset: Time,
    /// One sentence.
    pub message: String,
    /// Other places it speaks of.
    pub related: Vec<String>,
    /// The bars as typed.
    pub quote: Option<Quote>,
    /// What could be done, the best first.
    pub proposals: Vec<Proposal>,
    /// Whether what it is about could hurt who plays or sings it.
    pub could_hurt: bool,
    /// What became of it since the last draft, where one was named and has the tune.
    pub since: Option<Fate>,
}

/// What could be done about a remark.
#[derive(Clone, Debug, PartialEq)]
pub struct Proposal {
    /// The result, as a title.
    pub title: String,
    /// Whether it changes the music.
    pub changes: bool,
    /// The quoted bars as they would be typed; none where the change lies elsewhere.
    pub text: Option<String>,
    /// The same on a staff.
    pub staff: Option<Staff>,
    /// Whether more than the quoted bars of the voice is changed.
    pub elsewhere: bool,
    /// How these bars would sound, where that is another way; in every part.
    pub sounds: Option<Sounds>,
}

/// Rules that only observe, about harmony.
const OBSERVE: [&str; 2] = ["planing", "pedal-point"];

/// Where a remark is told: faults of notation by bar, what a player might mind in his part, what is only observed where it
/// is shown.
fn chapter(rule: &str, family: Family, severity: Severity, template: &Template) -> Chapter {
    let own = match family {
        _ if OBSERVE.contains(&rule) => Chapter::Harmony,
        Family::Idiom if severity == Severity::Hint => Chapter::Parts,
        Family::Texture if rule == "static-layer" => Chapter::Layers,
        Family::Texture => Chapter::Form,
        _ => Chapter::Bars,
    };
    if template.holds(own) { own } else { Chapter::Bars }
}

/// The remarks of one tune, in the order of its bars; what is about no bar comes first.
pub(super) fn remarks(
    tune: &Tune,
    found: &[Located],
    template: &Template,
    fates: Option<&Fates>,
) -> Vec<Remark> {
    let one = |located| {
        let since = fates.and_then(|fates| fates.get(&Located::key(located)).copied());
        (Remark { since, ..remark(located, template) }, located)
    };
    let mut all: Vec<(Remark, &Located)> = found.iter().map(one).collect();
    all.sort_by_key(|(one, _)| (one.bars, one.offset, one.voice, std::cmp::Reverse(one.severity)));
    hear_proposals(tune, &mut all);
    draw_quotes(&mut all);
    all.into_iter().map(|(remark, _)| remark).collect()
}

fn remark(located: &Located, template: &Template) -> Remark {
    let finding = located.finding();
    let family = find_rule(finding.rule).map_or(Family::Source, |rule| rule.family);
    let quoted = quote(&located.block, finding);
    let proposals = finding.fixes.iter().map(|fix| {
        let (text, elsewhere) = match &quoted {
            Some(quoted) => quoted.after(&located.block, &fix.edits),
            None => (None, true),
        };
        let changes = fix.kind == FixKind::Suggestion;
        Proposal { title: fix.title.clone(), changes, text, staff: None, elsewhere, sounds: None }
    });
    Remark {
        rule: finding.rule,
        family,
        severity: finding.severity,
        chapter: chapter(finding.rule, family, finding.severity, template),
        voice: finding.voice.map(|voice| voice as usize),
        bars: finding.bar.map(|from| (from, finding.to_bar.unwrap_or(from).max(from))),
        offset: finding.offset,
        message: finding.message.clone(),
        related: finding.related.iter().map(|one| one.message.clone()).collect(),
        proposals: proposals.collect(),
        // Of a joint of the form a bar says little.
        quote: quoted.map(|quoted| quoted.shown).filter(|_| {
            family != Family::Texture || !finding.fixes.is_empty() || finding.voice.is_some()
        }),
        could_hurt: could_hurt(finding.rule, &finding.message),
        since: None,
    }
}

/// Puts the quotes of what each chapter tells in full on staves; that of the parts tells part after part.
fn draw_quotes(all: &mut [(Remark, &Located)]) {
    let mut full: HashMap<Chapter, Fullness> = HashMap::new();
    let mut drafts = Drafts::default();
    let mut told: Vec<&mut (Remark, &Located)> = all.iter_mut().collect();
    told.sort_by_key(|(one, _)| one.voice.filter(|_| one.chapter == Chapter::Parts));
    for (remark, located) in told {
        let takes = full.entry(remark.chapter).or_default().takes(remark);
        let Some(shown) = remark.quote.as_mut().filter(|_| takes) else { continue };
        let (block, finding) = (&located.block, located.finding());
        let Some(quoted) = quote(block, finding) else { continue };
        let (staff, after) = quoted.drawn(block, finding, &mut drafts, PROPOSALS);
        shown.staff = staff;
        for (proposal, staff) in remark.proposals.iter_mut().zip(after) {
            proposal.staff = staff.filter(|_| proposal.text.is_some());
        }
    }
}

/// Works out how suggestions would sound. Reading a tune anew is dear, so those that touch different bars are taken
/// together, as long as the bars stay what they are.
fn hear_proposals(tune: &Tune, all: &mut [(Remark, &Located)]) {
    // Remark, proposal, bars.
    let mut wanted: Vec<(usize, usize, (u32, u32))> = Vec::new();
    for (at, (remark, _)) in all.iter().enumerate() {
        let Some(bars) = remark.bars else { continue };
        let changing = (0..remark.proposals.len()).filter(|one| remark.proposals[*one].changes);
        for proposal in changing.take(HEARD) {
            wanted.push((at, proposal, bars));
        }
    }
    wanted.truncate(MOST_HEARD);
    while !wanted.is_empty() {
        let mut taken: Vec<(usize, usize, (u32, u32))> = Vec::new();
        let mut left = Vec::new();
        let mut edits = Vec::new();
        let mut block = None;
        for one in wanted {
            let (at, proposal, (from, to)) = one;
            let apart =
                |other: &(usize, usize, (u32, u32))| other.2.1 + 1 < from || to + 1 < other.2.0;
            if !taken.iter().all(apart) {
                left.push(one);
                continue;
            }
            let located = all[at].1;
            edits.extend(located.finding().fixes[proposal].edits.iter().cloned());
            block.get_or_insert(&located.block);
            taken.push(one);
        }
        wanted = left;
        let Some(block) = block else { break };
        let together = block.edited(&edits).ok();
        let same_bars = |other: &Tune| {
            other.bars.iter().map(|bar| bar.start).eq(tune.bars.iter().map(|bar| bar.start))
        };
        match together.filter(|read| same_bars(&read.lowered().tune)) {
            Some(read) => {
                let table = Table::of(&read.lowered().tune);
                for (at, proposal, bars) in taken {
                    all[at].0.proposals[proposal].sounds = Some(Sounds::of(&table, Some(bars)));
                }
            }
            // One of them moves bars: each by itself.
            None => {
                for (at, proposal, bars) in taken {
                    let fix = &all[at].1.finding().fixes[proposal];
                    let Ok(read) = all[at].1.block.edited(&fix.edits) else { continue };
                    if same_bars(&read.lowered().tune) {
                        let table = Table::of(&read.lowered().tune);
                        all[at].0.proposals[proposal].sounds = Some(Sounds::of(&table, Some(bars)));
                    }
                }
            }
        }
    }
}

/// Of one remark so many suggestions can be heard.
const HEARD: usize = 2;
/// Of a tune so many.
const MOST_HEARD: usize = 80;

/// "Bar 3, Violin": where a remark is.
pub fn whereabouts(remark: &Remark, bars: &Bars, voices: &[String]) -> String {
    let voice = remark.voice.filter(|_| voices.len() > 1).and_then(|voice| voices.get(voice));
    let place = remark.bars.map(|(from, to)| recte_review::words::sentence(&bars.span(from, to)));
    let place = place.unwrap_or_else(|| "The text".to_owned());
    voice.map_or(place.clone(), |voice| format!("{place}, {voice}"))
}
