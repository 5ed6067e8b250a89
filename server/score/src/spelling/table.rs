//! The harmonies of a key that the speller knows, by names and not by sounds.
//!
//! Names are places on the line of fifths from the tonic: 0 the tonic, 1 its fifth, 4 the major third, −3 the
//! minor third, 5 the leading note, 6 the raised fourth, −4 the lowered sixth.
//! Sources: Open Music Theory, chapters "Diatonic seventh chords", "Applied chords", "Modal mixture", "The
//! Neapolitan", "Augmented sixth chords", "Common-tone chords"; the cadence with two leading notes is common
//! practice of the fourteenth century (no source). How strange each is: from memory.

/// A harmony in its key.
pub(super) struct Harmony {
    /// Its names, the root first.
    pub(super) members: &'static [i8],
    /// How far it is from the plainest chords of the key.
    pub(super) strange: i16,
    /// The root it leads to, if it leads anywhere.
    pub(super) goal: Option<i8>,
}

const fn rests(members: &'static [i8], strange: i16) -> Harmony {
    Harmony { members, strange, goal: None }
}

const fn leads(members: &'static [i8], strange: i16, goal: i8) -> Harmony {
    Harmony { members, strange, goal: Some(goal) }
}

/// In a major key.
pub(super) const MAJOR: &[Harmony] = &[
    rests(&[0, 4, 1], 0),
    rests(&[2, -1, 3], 1),
    rests(&[4, 1, 5], 2),
    rests(&[-1, 3, 0], 0),
    leads(&[1, 5, 2], 0, 0),
    rests(&[3, 0, 4], 1),
    leads(&[5, 2, -1], 1, 0),
    leads(&[1, 5, 2, -1], 0, 0),
    leads(&[2, -1, 3, 0], 1, 1),
    rests(&[-1, 3, 0, 4], 3),
    rests(&[0, 4, 1, 5], 3),
    rests(&[3, 0, 4, 1], 3),
    leads(&[5, 2, -1, 3], 3, 0),
    leads(&[5, 2, -1, -4], 2, 0),
    leads(&[3, 7, 4], 3, 2),
    leads(&[3, 7, 4, 1], 2, 2),
    leads(&[5, 9, 6], 4, 4),
    leads(&[5, 9, 6, 3], 3, 4),
    leads(&[0, 4, 1, -2], 2, -1),
    leads(&[2, 6, 3], 2, 1),
    leads(&[2, 6, 3, 0], 1, 1),
    leads(&[4, 8, 5], 3, 3),
    leads(&[4, 8, 5, 2], 2, 3),
    leads(&[7, 4, 1], 3, 2),
    leads(&[7, 4, 1, -2], 2, 2),
    leads(&[9, 6, 3, 0], 4, 4),
    leads(&[4, 1, -2, -5], 4, -1),
    leads(&[6, 3, 0], 2, 1),
    leads(&[6, 3, 0, -3], 3, 1),
    leads(&[6, 3, 0, 4], 3, 1),
    leads(&[8, 5, 2], 3, 3),
    leads(&[8, 5, 2, -1], 2, 3),
    rests(&[-1, -4, 0], 3),
    rests(&[-4, 0, -3], 4),
    rests(&[-3, 1, -2], 5),
    rests(&[-2, 2, -1], 4),
    rests(&[0, -3, 1], 4),
    leads(&[2, -1, -4], 3, 1),
    leads(&[2, -1, -4, 0], 3, 1),
    leads(&[-5, -1, -4], 5, 1),
    leads(&[-4, 0, -3, 6], 4, 1),
    leads(&[-4, 0, 6], 4, 1),
    leads(&[-4, 0, 2, 6], 5, 1),
    leads(&[0, 4, 8], 4, -1),
    leads(&[1, 5, 9], 4, 0),
    leads(&[9, 6, 3, 0], 5, 0),
    leads(&[5, 2, 6], 8, 0),
    leads(&[6, 3, 7], 8, 1),
    leads(&[7, 4, 8], 8, 2),
    leads(&[2, -1, -4, -7], 6, -3),
    leads(&[-4, 0, -3, -6], 5, -5),
    leads(&[-3, 1, -2, -5], 5, -4),
    leads(&[-2, 2, -1, -4], 4, -3),
    leads(&[-5, -1, -4, -7], 8, -6),
];
/// In a minor key.
pub(super) const MINOR: &[Harmony] = &[
    rests(&[0, -3, 1], 0),
    leads(&[2, -1, -4], 1, 1),
    leads(&[2, -1, -4, 0], 1, 1),
    rests(&[-3, 1, -2], 2),
    rests(&[-3, 1, 5], 4),
    rests(&[-1, -4, 0], 0),
    rests(&[-1, -4, 0, -3], 3),
    rests(&[1, -2, 2], 2),
    leads(&[1, 5, 2], 0, 0),
    leads(&[1, 5, 2, -1], 0, 0),
    leads(&[1, 5, 2, -1, -4], 3, 0),
    rests(&[-4, 0, -3], 1),
    rests(&[-4, 0, -3, 1], 3),
    leads(&[-2, 2, -1], 2, -3),
    leads(&[-2, 2, -1, -4], 2, -3),
    leads(&[5, 2, -1], 1, 0),
    leads(&[5, 2, -1, -4], 1, 0),
    leads(&[0, 4, 1], 3, -1),
    leads(&[0, 4, 1, -2], 2, -1),
    leads(&[4, 1, -2], 3, -1),
    leads(&[4, 1, -2, -5], 3, -1),
    leads(&[2, 6, 3], 3, 1),
    leads(&[2, 6, 3, 0], 2, 1),
    leads(&[6, 3, 0], 3, 1),
    leads(&[6, 3, 0, -3], 2, 1),
    leads(&[-3, 1, -2, -5], 3, -4),
    leads(&[-1, 3, 0], 3, -2),
    leads(&[-1, 3, 0, -3], 3, -2),
    rests(&[2, -1, 3], 3),
    leads(&[2, -1, 3, 0], 4, 1),
    rests(&[3, 0, -3], 3),
    rests(&[3, 0, -3, 1], 4),
    leads(&[-5, -1, -4], 3, 1),
    leads(&[-4, 0, -3, 6], 3, 1),
    leads(&[-4, 0, 6], 3, 1),
    leads(&[-4, 0, 2, 6], 4, 1),
    leads(&[3, 0, -3, -6], 4, -2),
    leads(&[5, 2, 6], 8, 0),
    leads(&[6, 3, 7], 8, 1),
    leads(&[2, -1, -4, -7], 4, -3),
    leads(&[-4, 0, -3, -6], 5, -5),
    leads(&[-5, -1, -4, -7], 8, -6),
    leads(&[5, 9, 6], 5, 4),
    leads(&[5, 9, 6, 3], 5, 4),
    leads(&[8, 5, 2], 4, 3),
    leads(&[7, 4, 1], 4, 2),
];

/// Places from the tonic that a key calls its own: major, and minor with both sixths' and sevenths' neighbours.
pub(super) const SCALES: [&[i8]; 2] = [&[-1, 0, 1, 2, 3, 4, 5], &[-4, -3, -2, -1, 0, 1, 2, 5]];
