//! What a rule sees: a tune, its text, the configuration, and what is worked out once for all rules.

use crate::around::Around;
use crate::config::Config;
use crate::finding::{Finding, Fix, FixKind, Related, Severity};
use crate::idiom::Idiom;
use crate::metre::Counted;
use crate::part_writing::Parts;
use crate::rule::{Family, RULES, Rule, find_rule};
use crate::signs::{Notes, Page};
use crate::spelling::Reading;
use recte_notation::write::{Respelling, TextEdit, retype};
use recte_notation::{Block, Lowered};
use recte_score::players::{Playing, Who, who};
use recte_score::texture::Analysis;
use recte_score::{Event, Note, NoteRef, Sounding, Span, Tune, Voice, soundings};
use std::cell::OnceCell;
use std::collections::BTreeSet;

/// What a rule sees.
pub struct Context<'a> {
    /// The tune's block: text and reading.
    pub block: &'a Block,
    /// The tune.
    pub tune: &'a Tune,
    /// The settings.
    pub config: &'a Config,
    /// What stands around the tune in its file.
    pub around: &'a Around,
    soundings: OnceCell<Vec<Sounding>>,
    reading: OnceCell<Option<Reading>>,
    notes: OnceCell<Notes>,
    counted: OnceCell<Counted>,
    felt_otherwise: OnceCell<BTreeSet<u32>>,
    parts: OnceCell<Option<Parts>>,
    who: Who<'a>,
    idiom: Idiom<'a>,
    texture: OnceCell<Analysis>,
}

impl<'a> Context<'a> {
    /// Over one block.
    pub fn new(block: &'a Block, config: &'a Config, around: &'a Around) -> Context<'a> {
        let tune = &block.lowered().tune;
        let who = who(tune, &config.roster);
        Context {
            block,
            tune,
            config,
            around,
            soundings: OnceCell::new(),
            reading: OnceCell::new(),
            notes: OnceCell::new(),
            counted: OnceCell::new(),
            felt_otherwise: OnceCell::new(),
            parts: OnceCell::new(),
            idiom: Idiom::of(tune, config, &who),
            who,
            texture: OnceCell::new(),
        }
    }

    /// The block's reading.
    pub fn lowered(&self) -> &'a Lowered {
        self.block.lowered()
    }

    /// Everything that sounds, tied notes joined.
    pub fn soundings(&self) -> &[Sounding] {
        self.soundings.get_or_init(|| soundings(self.tune))
    }

    /// How the speller reads the tune; nothing if no accidental is typed.
    pub(crate) fn reading(&self) -> Option<&Reading> {
        self.reading.get_or_init(|| Reading::of(self)).as_ref()
    }

    /// The tune's accidentals as a reader meets them.
    pub(crate) fn page(&self) -> Page<'_> {
        let notes = self.notes.get_or_init(|| Notes::of(self.tune, self.lowered().reach));
        Page { tune: self.tune, notes }
    }

    /// The tune's bars with their beats.
    pub(crate) fn counted(&self) -> &Counted {
        self.counted.get_or_init(|| Counted::of(self.tune))
    }

    /// Whether a bar is felt in another metre: then nobody asks how it shows the beats of this one.
    pub(crate) fn is_felt_otherwise(&self, bar: u32) -> bool {
        let bars = self.felt_otherwise.get_or_init(|| {
            let mut found = Vec::new();
            if let Some(rule) = find_rule("metre-fit") {
                (rule.check)(self, &mut found);
            }
            let spans = found.iter().filter_map(|finding| finding.bar.zip(finding.to_bar));
            spans.flat_map(|(from, to)| from..=to).collect()
        });
        bars.contains(&bar)
    }

    /// The tune as lines of strict style, if the composer asks for it.
    pub(crate) fn parts(&self) -> Option<&Parts> {
        self.parts.get_or_init(|| Parts::of(self)).as_ref()
    }

    /// The players, and what they are asked for.
    pub(crate) fn idiom(&self) -> &Idiom<'a> {
        &self.idiom
    }

    /// Who plays what, and which names leave that open.
    pub(crate) fn who(&self) -> &Who<'a> {
        &self.who
    }

    /// Who plays a voice, stretch by stretch; nothing where that is not known.
    pub(crate) fn playing(&self, voice: usize) -> &[Playing<'a>] {
        self.who().playing.get(voice).map_or(&[], Vec::as_slice)
    }

    /// Texture and form, each part worked out when it is asked for.
    pub(crate) fn texture(&self) -> &Analysis {
        self.texture.get_or_init(|| Analysis::of(self.tune))
    }

    /// Whether the settings name a rule that only observes, and is silent unless they do.
    pub(crate) fn asks_for(&self, rule: &str) -> bool {
        self.config.rules.contains_key(rule)
    }

    /// A remark at a note of strict style that names another.
    pub(crate) fn at_parts(
        &self,
        at: NoteRef,
        with: &[(NoteRef, String)],
        message: String,
    ) -> Finding {
        let note = |at: NoteRef| &self.tune.voices[at.voice as usize].notes[at.note as usize];
        let related = with
            .iter()
            .map(|(at, message)| Related { span: note(*at).span, message: message.clone() });
        let related = related.collect();
        Finding { related, ..self.at_note(at.voice as usize, note(at), message) }
    }

    /// A remark at an event.
    pub fn at_event(&self, voice: usize, event: &Event, message: String) -> Finding {
        Finding {
            bar: Some(event.bar),
            to_bar: Some(event.bar),
            voice: Some(voice as u32),
            offset: event.offset,
            ..self.at(event.span, message)
        }
    }

    /// A remark at a note.
    pub fn at_note(&self, voice: usize, note: &Note, message: String) -> Finding {
        let event = &self.tune.voices[voice].events[note.event as usize];
        Finding { span: note.span, ..self.at_event(voice, event, message) }
    }

    /// A remark at a place. Rule id and severity are filled in when the rule has run.
    pub fn at(&self, span: Span, message: String) -> Finding {
        Finding {
            rule: "",
            severity: Severity::Error,
            span,
            message,
            related: Vec::new(),
            fixes: Vec::new(),
            voice: None,
            bar: None,
            to_bar: None,
            offset: recte_theory::Time::ZERO,
        }
    }

    /// A fix. When all rules have spoken it is proved, and dropped if it changes a sound or reads worse.
    pub fn fix(&self, title: String, edits: Vec<TextEdit>) -> Fix {
        Fix { title, preferred: false, kind: FixKind::Fix, edits }
    }

    /// A fix that respells notes, and writes or leaves out what accidentals that takes.
    pub fn respelling(&self, title: String, wanted: &[Respelling]) -> Option<Fix> {
        let reach = self.lowered().reach;
        let retyped = retype(self.tune, reach, wanted)?;
        Some(self.fix(title, self.page().edits(self.tune, reach, &retyped)))
    }

    /// A suggestion: it changes the music, and its title says so.
    pub fn suggestion(&self, title: String, edits: Vec<TextEdit>) -> Option<Fix> {
        self.block.edited(&edits).ok()?;
        Some(Fix { title, preferred: false, kind: FixKind::Suggestion, edits })
    }

    /// The voices with their indexes.
    pub fn voices(&self) -> impl Iterator<Item = (usize, &'a Voice)> {
        self.tune.voices.iter().enumerate()
    }

    /// Whether the rules of a family say anything of the tune as it would be after an edit.
    pub fn says_in(&self, block: &Block, family: Family) -> bool {
        let context = Context::new(block, self.config, self.around);
        let mut found = Vec::new();
        for rule in RULES.iter().filter(|rule| rule.family == family) {
            (rule.check)(&context, &mut found);
        }
        !found.is_empty()
    }

    /// Whether there is a note or a rest in any voice.
    pub fn has_music(&self) -> bool {
        self.tune.voices.iter().any(|voice| !voice.events.is_empty())
    }

    /// Runs a rule at a severity. Remarks that the rule makes more softly than is usual for it stay soft.
    pub(crate) fn run(&self, rule: &Rule, severity: Severity, findings: &mut Vec<Finding>) {
        let first = findings.len();
        (rule.check)(self, findings);
        for finding in &mut findings[first..] {
            finding.rule = rule.id;
            let soft = finding.severity < rule.severity;
            finding.severity = if soft { finding.severity.min(severity) } else { severity };
        }
    }
}
