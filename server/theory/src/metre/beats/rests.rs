//! Which rests show the beat (lessons on grouping rests; compound time: common practice, no source).

use super::{Beats, Ticks, WHOLE, Whole, is_one_value, is_plain};

impl Beats {
    /// Whether a rest may stand there as one sign. A rest for the whole bar is not asked about.
    pub fn is_one_rest(&self, start: Ticks, end: Ticks) -> bool {
        let length = end - start;
        if self.is_rest_unit(start, length) {
            return true;
        }
        let Some(group) = self.group_at(start) else { return false };
        // A half rest on the first two beats of three, or of a bar whose first groups are alike.
        let from_first = start == 0 || self.is_line(start) && self.strict_but_compound();
        if is_plain(length)
            && from_first
            && self.whole(start, length).is_some()
            && end <= self.length
        {
            return true;
        }
        if is_plain(length) && group.threes && start == group.start && end <= group.end {
            return length == 2 * group.part();
        }
        if self.quarters && is_plain(length) && length == WHOLE / 2 && end <= group.end {
            return true;
        }
        // A dotted rest shorter than a beat, from where a plain one would stand.
        let dotted = length % 3 == 0 && is_plain(length / 3 * 2) && end <= group.end;
        let on_unit =
            start == group.start || self.whole(start, length / 3 * 4) == Some(Whole::Even);
        dotted && length < group.length() && on_unit
    }

    /// Whether this stretch, silent, is one rest wherever it stands: a beat, half a bar, half a beat.
    pub fn is_rest_unit(&self, start: Ticks, length: Ticks) -> bool {
        let end = start + length;
        if !is_one_value(length) || end > self.length {
            return false;
        }
        let group = self.groups.iter().any(|group| (group.start, group.end) == (start, end));
        // Counted in quarters, a rest of a beat or more is not dotted.
        if group && !(self.quarters && length % 3 == 0) {
            return true;
        }
        self.whole(start, length) == Some(Whole::Even)
    }

    /// The rests that fill a silent stretch and show the beat.
    pub fn rests(&self, start: Ticks, end: Ticks) -> Vec<Ticks> {
        let mut found = Vec::new();
        let mut at = start;
        while at < end {
            let lengths = self.rest_lengths(at);
            let fits = lengths.into_iter().filter(|length| at + length <= end);
            let next = fits.max().unwrap_or(end - at);
            found.push(next);
            at += next;
        }
        found
    }

    /// The rests that may begin at a moment.
    fn rest_lengths(&self, at: Ticks) -> Vec<Ticks> {
        let mut lengths: Vec<Ticks> = self.groups.iter().map(|group| group.end - at).collect();
        if let Some(group) = self.group_at(at) {
            if group.threes && at == group.start {
                lengths.push(2 * group.part());
            }
            let mut part = group.part();
            while part >= WHOLE / 256 {
                lengths.push(part);
                part /= 2;
            }
        }
        let two_thirds = |length: Ticks| {
            self.group_at(at).is_some_and(|g| g.threes && at == g.start && length == 2 * g.part())
        };
        lengths
            .retain(|&length| length > 0 && (self.is_rest_unit(at, length) || two_thirds(length)));
        lengths
    }
}
