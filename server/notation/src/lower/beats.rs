//! Beats that a bar falls into, told apart from its signature: `%%recte beats 2+2+3`.

use super::body::Reader;
use super::settings::intern;
use crate::problem::ProblemKind;
use recte_score::Span;
use recte_theory::Metre;

/// One instruction that tells beats.
#[derive(Clone, Debug)]
pub(crate) struct ToldBeats {
    text: String,
    /// Where it is typed; none for one in the file header.
    span: Option<Span>,
    /// Whether a metre of the tune has its length.
    used: bool,
}

impl ToldBeats {
    /// One of the file header.
    pub(crate) fn of_file(text: &str) -> ToldBeats {
        ToldBeats { text: text.to_owned(), span: None, used: false }
    }
}

/// The metre with the beats told last for bars of its length, and whose word that is.
pub(crate) fn told(beats: &[ToldBeats], metre: Metre) -> (Metre, Option<usize>) {
    for (index, beats) in beats.iter().enumerate().rev() {
        if let Ok(grouped) = metre.grouped(&beats.text) {
            return (grouped, Some(index));
        }
    }
    (metre, None)
}

impl Reader<'_> {
    /// The place in the tune's list of a metre, with the beats told for bars of its length.
    pub(crate) fn told_metre(&mut self, metre: Metre) -> u16 {
        let (metre, by) = told(&self.beats, metre);
        if let Some(by) = by {
            self.beats[by].used = true;
        }
        intern(&mut self.tune.metres, metre)
    }

    /// `%%recte beats 2+2+3`: the beats of the metre in force, and of every later one of that length.
    pub(crate) fn beats(&mut self, text: &str, span: Span) {
        self.beats.push(ToldBeats { text: text.to_owned(), span: Some(span), used: false });
        let voice = (!self.before_music()).then(|| self.voice_for_music());
        let here = voice.map_or(self.metre, |voice| self.positions[voice].metre);
        let metre = self.told_metre(self.tune.metres[here as usize].clone());
        match voice {
            None => self.metre = metre,
            Some(voice) => self.positions[voice].metre = metre,
        }
    }

    /// Says which told beats fill no bar of the tune.
    pub(crate) fn check_beats(&mut self) {
        for beats in std::mem::take(&mut self.beats) {
            let Some(span) = beats.span.filter(|_| !beats.used) else { continue };
            let message = format!(
                "The beats “{}” fill no bar of this tune; 2+2+3 would fill 7/8, and 3+3+2/8 a bar of 4/4.",
                beats.text
            );
            self.report(ProblemKind::Directive, span, message);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::lower;

    /// The groups of each bar, in eighths.
    fn groups(text: &str) -> Vec<Vec<i64>> {
        let tune = lower(text).tune;
        let eighth = recte_theory::Time::new(1, 8);
        let eighths = |group: recte_theory::Time| group.count_of(eighth).unwrap();
        let bars = tune.voices[0].bars.iter();
        let groups = bars.map(|bar| tune.metres[bar.metre as usize].groupings().swap_remove(0));
        groups.map(|groups| groups.into_iter().map(eighths).collect()).collect()
    }

    #[test]
    fn beats_hold_for_their_metre_wherever_it_stands() {
        let head = "X:1\n%%recte beats 3+2+2\nM:7/8\nL:1/8\nK:C\n";
        assert_eq!(
            groups(&format!("{head}C7|[M:2/4]C4|[M:7/8]C7|]")),
            [vec![3, 2, 2], vec![2, 2], vec![3, 2, 2]]
        );
        let later = "X:1\nM:7/8\nL:1/8\nK:C\nC7|[I:recte beats 2+3+2]C7|]";
        assert_eq!(groups(later), [[2, 2, 3], [2, 3, 2]]);
        let line = "X:1\nM:4/4\nL:1/8\nK:C\nC8|\n%%recte beats 3+3+2/8\nC8|]";
        assert_eq!(groups(line), [vec![2, 2, 2, 2], vec![3, 3, 2]]);
    }

    #[test]
    fn beats_that_fill_no_bar_are_said() {
        let said = |text| {
            let problems = lower(&format!("X:1\n%%recte beats {text}\nM:4/4\nK:C\nC8|]")).problems;
            problems.into_iter().map(|problem| problem.message).collect::<Vec<_>>()
        };
        assert_eq!(said("3+3+2/8"), [""; 0]);
        assert_eq!(said("3+2").len(), 1);
        assert!(said("two")[0].starts_with("The beats “two” fill no bar of this tune"));
    }
}
