//! Beams: which notes share one, level by level.

/// What a note has of one beam.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Beam {
    /// It begins here.
    Begin,
    /// It goes on.
    Continue,
    /// It ends here.
    End,
    /// A short piece towards the next note.
    Forward,
    /// A short piece towards the note before.
    Backward,
}

impl Beam {
    /// What the trade calls it.
    pub fn words(self) -> &'static str {
        match self {
            Beam::Begin => "begin",
            Beam::Continue => "continue",
            Beam::End => "end",
            Beam::Forward => "forward hook",
            Beam::Backward => "backward hook",
        }
    }
}

/// One note's part in the beams, level 1 first.
pub type Beams = Vec<Beam>;

/// A note that may share a beam: how many flags it has, and whether the text joins it to the one before.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Stem {
    /// How many flags.
    pub flags: usize,
    /// Whether the text joins it to the one before.
    pub joined: bool,
}

/// The beams of notes that follow one another; a note without flags, or a rest (`None`), has none and parts
/// its neighbours.
pub fn beams(stems: &[Option<Stem>]) -> Vec<Beams> {
    let mut all = vec![Beams::new(); stems.len()];
    let flags = |index: usize| stems.get(index).copied().flatten().map_or(0, |stem| stem.flags);
    let mut first = 0;
    while first < stems.len() {
        let mut end = first + 1;
        while end < stems.len()
            && flags(end) > 0
            && flags(end - 1) > 0
            && stems[end].is_some_and(|stem| stem.joined)
        {
            end += 1;
        }
        if end - first > 1 {
            for (index, beams) in all.iter_mut().enumerate().take(end).skip(first) {
                *beams = (1..=flags(index))
                    .map(|level| {
                        let before = index > first && flags(index - 1) >= level;
                        let after = index + 1 < end && flags(index + 1) >= level;
                        match (before, after) {
                            (false, true) => Beam::Begin,
                            (true, true) => Beam::Continue,
                            (true, false) => Beam::End,
                            (false, false) if index > first => Beam::Backward,
                            (false, false) => Beam::Forward,
                        }
                    })
                    .collect();
            }
        }
        first = end;
    }
    all
}

#[cfg(test)]
mod tests {
    use super::*;

    fn shown(flags: &[usize]) -> Vec<String> {
        let stems: Vec<_> = flags
            .iter()
            .enumerate()
            .map(|(index, &flags)| (flags < 9).then_some(Stem { flags, joined: index > 0 }))
            .collect();
        let words =
            |levels: &Beams| -> Vec<&str> { levels.iter().map(|one| one.words()).collect() };
        beams(&stems).iter().map(|levels| words(levels).join(",")).collect()
    }

    #[test]
    fn levels_and_hooks() {
        assert_eq!(shown(&[1, 1, 1]), ["begin", "continue", "end"]);
        assert_eq!(shown(&[1, 2]), ["begin", "end,backward hook"]);
        assert_eq!(shown(&[2, 1]), ["begin,forward hook", "end"]);
        assert_eq!(shown(&[2, 2, 1]), ["begin,begin", "continue,end", "end"]);
        assert_eq!(shown(&[1]), [""]);
    }

    #[test]
    fn long_notes_and_rests_part() {
        assert_eq!(shown(&[1, 0, 1, 1]), ["", "", "begin", "end"]);
        assert_eq!(shown(&[1, 1, 9, 1]), ["begin", "end", "", ""]);
    }
}
