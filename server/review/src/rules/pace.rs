//! # Faster than it is played
//!
//! A tongue, a bow and a finger have their pace. Sixteenths at quarter = 160 are ten notes and more a second: under
//! a slur a clarinettist plays them, tongued one by one hardly anybody does.
//!
//! Looked at are runs of notes of one length, four at least and for half a second at least, at the tempo that is typed; a tempo in words alone counts at the slowest that
//! the word means, and without a tempo nothing is said. What is slurred is measured against free fingers, what is not
//! against the tongue or the bow (double tonguing counts where players learn it), one repeated note against
//! repetition, sung syllables against diction. Where a part has no slur anywhere, players are thought to slur as they like. What is
//! beyond everyone is told of, what is hard is a hint, and the rest where the settings name the rule.
//!
//! Fast repeated motion for long brings pain to arms and lips: let the player or the teacher say how much is good.
//!
//! What to do: slurs, fewer notes, a slower tempo, or two players in turn.
//!
//! Source: the instrument table (`recte instruments NAME`): notes a second are comfortable figures for planning, most from memory;
//! for clarinets letters of players on single tonguing, for guitars Nelson's figure.
//!
//! ```abc flagged
//! X:1
//! M:2/4
//! L:1/16
//! Q:1/4=176
//! K:C
//! V:1 name="Tuba" clef=bass
//! C,D,E,F, G,F,E,D,|(C,D,E,F, G,F,E,D,)|
//! ```
//! ```abc quiet
//! X:1
//! M:2/4
//! L:1/16
//! Q:1/4=80
//! K:C
//! V:1 name="Tuba" clef=bass
//! C,D,E,F, G,F,E,D,|(C,D,E,F, G,F,E,D,)|
//! ```

use crate::context::Context;
use crate::finding::{Finding, Severity};
use crate::idiom::lines::{runs, seconds, sounding};
use crate::idiom::{Player, Reading, Remark, Stroke, tell};
use crate::rule::{Family, Rule};
use recte_theory::Pitch;
use recte_theory::instruments::Family as Section;
use recte_theory::playability::Verdict;
use recte_theory::playability::harp::second_string;
use recte_theory::playability::pace::{Manner, Pace, Passage, pace};

pub(crate) const RULE: Rule = Rule {
    id: "",
    doc: "",
    family: Family::Idiom,
    severity: Severity::Warning,
    summary: "notes that come faster than they are tongued, bowed, plucked or sung",
    check,
};

/// So many notes are a run.
const RUN: usize = 4;
/// What is shorter than this is over before it tires.
const SECONDS: f64 = 0.5;
/// Below so many notes a second nobody is asked.
const SLOW: f64 = 2.5;

fn check(context: &Context<'_>, findings: &mut Vec<Finding>) {
    for player in &context.idiom().players {
        let mut remarks = Vec::new();
        let slurs =
            player.staves.iter().any(|staff| !context.tune.voices[staff.voice].slurs.is_empty());
        let same_length = |a: &Stroke, b: &Stroke| {
            a.end - a.onset == b.end - b.onset && a.plucked == b.plucked && !a.tremolo && !b.tremolo
        };
        for run in runs(player.strokes(context), same_length).filter(|run| run.len() >= RUN) {
            // A glissando is as quick as it is.
            if run.iter().any(|stroke| stroke.slides) {
                continue;
            }
            let Some(length) = seconds(context, run).map(|seconds| seconds.most) else { continue };
            if length < SECONDS || (run.len() as f64) < SLOW * length {
                continue;
            }
            let asked = Run { context, player, run, length, slurs };
            remarks.extend(asked.remark());
        }
        tell(context, "pace", remarks, findings);
    }
}

/// Notes of one length, one after another.
struct Run<'c, 'a> {
    context: &'c Context<'a>,
    player: &'c Player<'a>,
    run: &'c [Stroke],
    length: f64,
    /// Whether the part has slurs at all.
    slurs: bool,
}

/// One way in which a run could be too fast: some of its strokes, and how many a second.
struct Way<'s> {
    manner: Manner,
    part: &'s [Stroke],
    rate: f64,
    pace: Pace,
}

impl<'c, 'a> Run<'c, 'a> {
    fn remark(&self) -> Option<Remark<'a>> {
        let ways = self.ways().into_iter();
        let Way { manner, part, rate, pace } = ways.max_by_key(|way| way.pace.verdict)?;
        if pace.verdict < Verdict::Awkward {
            return None;
        }
        let what = match manner {
            Manner::Slurred | Manner::Plain => "notes",
            Manner::Plucked => "plucked notes",
            Manner::Syllables => "syllables",
            Manner::Feet => "pedal notes",
            Manner::Detached => match self.player.instrument.family {
                Section::Strings => "separate bows",
                Section::Woodwind | Section::Brass => "tongued notes",
                _ => "strokes",
            },
        };
        let on = match self.player.instrument.family {
            Section::Voice => "for a",
            _ => "on the",
        };
        let message = format!(
            "{} {what} a second here; about {} are comfortable {on} {}{}.",
            number(rate),
            number(pace.limit),
            self.player.name(),
            self.second_string(part)
        );
        Remark::over(self.context, part, pace.verdict, "As fast", message)
    }

    /// What helps a harpist who repeats one note.
    fn second_string(&self, part: &[Stroke]) -> String {
        let notes = part.iter().flat_map(|stroke| stroke.typed(self.context.tune));
        let mut names: Vec<Pitch> = notes.map(|note| note.pitch).collect();
        names.dedup();
        let [note] = names.as_slice() else { return String::new() };
        second_string(self.player.instrument, *note)
            .map(|other| {
                format!("; on {} and {} in turn it is easy", note.symbol(), other.symbol())
            })
            .unwrap_or_default()
    }

    /// The ways in which the run could be too fast.
    fn ways(&self) -> Vec<Way<'c>> {
        let run = self.run;
        let rate = run.len() as f64 / self.length;
        let share = |count: usize| rate * count as f64 / run.len() as f64;
        let family = self.player.instrument.family;
        let all = |_: &Stroke| true;
        let attacked = |stroke: &Stroke| !stroke.slurred;
        let attacks = run.iter().filter(|stroke| attacked(stroke)).count();
        let mut ways = Vec::new();
        match family {
            _ if self.player.has_feet_on(run[0].voice) => {
                ways.extend(self.way(Manner::Feet, run, rate, all));
            }
            _ if run[0].plucked => ways.extend(self.way(Manner::Plucked, run, rate, all)),
            Section::Voice => {
                let syllables = run.iter().filter(|stroke| stroke.syllable).count();
                ways.extend(self.way(Manner::Slurred, run, rate, all));
                ways.extend(self.way(Manner::Syllables, run, share(syllables), all));
            }
            Section::Woodwind | Section::Brass | Section::Strings => {
                ways.extend(self.way(Manner::Slurred, run, rate, all));
                // Those that no slur joins, within a run that may have slurs too.
                let alike = |a: &Stroke, b: &Stroke| a.slurred == b.slurred;
                let apart = run.chunk_by(alike).filter(|part| attacked(&part[0]));
                let longest = apart.max_by_key(|part| part.len());
                if self.slurs && attacks >= RUN {
                    ways.extend(self.way(Manner::Detached, run, share(attacks), attacked));
                    let part = longest.filter(|part| part.len() >= RUN);
                    ways.extend(part.and_then(|p| self.way(Manner::Detached, p, rate, all)));
                }
            }
            _ => ways.extend(self.way(Manner::Plain, run, rate, all)),
        }
        ways
    }

    fn way(
        &self,
        manner: Manner,
        part: &'c [Stroke],
        rate: f64,
        counts: impl Fn(&Stroke) -> bool,
    ) -> Option<Way<'c>> {
        let judge = |reading: Reading| {
            let strokes = part.iter().filter(|stroke| counts(stroke));
            let notes: Vec<Vec<Pitch>> =
                strokes.map(|stroke| sounding(self.context, stroke, reading)).collect();
            let chords: Vec<&[Pitch]> = notes.iter().map(Vec::as_slice).collect();
            let passage = Passage { chords: &chords, per_second: rate, manner };
            let player = self.player;
            pace(player.instrument, player.level, &passage, &self.context.idiom().figures)
        };
        let verdict = |found: &Option<Pace>| found.map_or(Verdict::Easy, |pace| pace.verdict);
        let pace = self.player.kindest(self.context, judge, verdict)?;
        Some(Way { manner, part, rate, pace })
    }
}

/// "11", "7.5".
fn number(rate: f64) -> String {
    if rate < 10.0 && (rate - rate.round()).abs() >= 0.05 {
        format!("{rate:.1}")
    } else {
        format!("{rate:.0}")
    }
}

#[cfg(test)]
mod tests {
    use crate::rule_tests::messages_of;

    fn said(voice: &str, tempo: &str, music: &str) -> Vec<String> {
        let text = format!("X:1\nM:2/4\nL:1/16\nQ:{tempo}\nK:C\nV:1 name=\"{voice}\"\n{music}\n");
        messages_of("pace", &text)
    }

    #[test]
    fn the_sentence() {
        let fast =
            "11 tongued notes a second here; about 8.7 are comfortable on the clarinet in B-flat.";
        let music = "aaaa aaaa|(cdef gfed)|";
        assert_eq!(said("Clarinet in B-flat", "1/4=160", music), [fast]);
    }

    #[test]
    fn slurred_it_is_nothing_and_without_slurs_players_choose() {
        assert!(said("Clarinet in B-flat", "1/4=160", "(cdef gfed)|").is_empty());
        assert!(said("Clarinet in B-flat", "1/4=160", "cdef gfed|").is_empty());
    }

    #[test]
    fn a_harp_has_two_strings_for_most_notes() {
        let found = said("Harp", "1/4=160", "cccc cccc|");
        assert_eq!(found.len(), 1);
        assert!(found[0].ends_with("; on C5 and B♯4 in turn it is easy."), "{found:?}");
        let none = said("Harp", "1/4=160", "dddd dddd|");
        assert!(none[0].ends_with("comfortable on the pedal harp."), "{none:?}");
    }

    #[test]
    fn the_feet_of_an_organist() {
        let said = |tempo: u32| {
            let text = format!(
                "X:1\nM:2/4\nL:1/16\nQ:1/4={tempo}\nK:C\nV:1 name=\"Organ\"\nC8|\n\
                 V:2 name=\"Org. Ped.\" clef=bass\nC,,D,,E,,F,, G,,F,,E,,D,,|\n"
            );
            messages_of("pace", &text)
        };
        assert!(said(80).is_empty());
        assert_eq!(
            said(120),
            ["8 pedal notes a second here; about 6 are comfortable on the organ."]
        );
    }

    #[test]
    fn without_a_tempo_nobody_knows_and_a_word_counts_at_its_slowest() {
        assert!(said("Tuba", "\"rit.\"", "cdef gfed|(cdef gfed)|").is_empty());
        assert!(said("Tuba", "\"Andante\"", "C,D,E,F, G,F,E,D,|(C,D,E,F, G,F,E,D,)|").is_empty());
    }
}
