//! What a reading costs: every constant of the speller, in one scale. They were fitted by hand and by coordinate
//! descent on published scores of the test half (`tests/reference/corpus.py`), then rounded; a larger number
//! means that readers and ears mind more.

/// A sounding note of the local key, per 32nd note, that the harmony does not have.
pub(super) const FOREIGN_TO_HARMONY: i16 = 13;
/// A sounding note foreign to the local key as well.
pub(super) const FOREIGN_TO_KEY: i16 = 44;
/// A member of the harmony that does not sound.
pub(super) const SILENT_MEMBER: i16 = 10;
/// Going on to another harmony of the key.
pub(super) const NEW_HARMONY: i16 = 36;
/// Going on to another key …
pub(super) const NEW_KEY: i16 = 53;
/// … for each fifth between the signatures of the two …
pub(super) const FIFTH_AWAY: i16 = 55;
/// … of which no more than so many are counted …
pub(super) const FIFTHS_COUNTED: usize = 5;
/// … and when major becomes minor, or the other way.
pub(super) const NEW_MODE: i16 = 17;
/// Taken off when a harmony goes where it leads: a dominant, a leading chord, an augmented sixth.
pub(super) const RESOLVES: i16 = 36;
/// Taken off when it goes to the six-four chord that delays its goal.
pub(super) const RESOLVES_LATE: i16 = 44;
/// Taken off when the root falls a fifth.
pub(super) const ROOT_FALLS_A_FIFTH: i16 = 6;
/// For each degree of strangeness of a harmony in its key (`table.rs`) as it begins …
pub(super) const STRANGE: i16 = 4;
/// … and for each eighth note that it lasts.
pub(super) const STRANGE_ON: i16 = 2;
/// For each fifth between the signature of the local key and the one typed …
pub(super) const OFF_SIGNATURE: i16 = 2;
/// … of which no more than so many are counted.
pub(super) const OFF_AT_MOST: i32 = 3;
/// A member outside the typed signature, per 32nd note that it sounds.
pub(super) const SIGN_IN_HARMONY: i16 = 4;
/// Where no key is claimed, a member outside these names (G flat to A sharp), whose sound has a name with fewer signs …
pub(super) const PLAIN_NAMES: std::ops::RangeInclusive<i32> = -6..=10;
/// … per 32nd note that it sounds.
pub(super) const RARE_IN_HARMONY: i16 = 1;
/// A signature of more than six signs, for each further one.
pub(super) const MANY_SIGNS: i16 = 4;
/// Beginning in a key, for each sign of its signature.
pub(super) const FIRST_SIGNATURE: i16 = 6;
/// The names that lie near a key, from its signature on the line of fifths: in C from B flat to C sharp.
pub(super) const NEAR_NAMES: (i32, i32) = (-2, 7);
/// Where typed names are evidence, a point for so many fifths that they lie beyond those, per 32nd note …
pub(super) const FIFTHS_FROM_TYPED: i16 = 2;
/// … of which no more than so many are counted.
pub(super) const FAR_AT_MOST: i32 = 6;
/// There, a key whose mode is not the typed one.
pub(super) const OFF_MODE: i16 = 1;

/// A note that the harmony has under another name.
pub(super) const NOT_OF_HARMONY: i32 = 28;
/// A sign that the signature does not have.
pub(super) const SIGN: i32 = 5;
/// C flat, F flat, E sharp or B sharp where the signature has none.
pub(super) const RARE: i32 = 14;
/// A double sign.
pub(super) const DOUBLE_SIGN: i32 = 55;
/// A repeated sound, one after the other in a line, under two names.
pub(super) const REPEATED_OTHERWISE: i32 = 45;
/// The same sound under two names, in this bar or the last.
pub(super) const TWO_NAMES: i32 = 30;
/// A step in a line between two names of one letter, on from a note of the key …
pub(super) const CHROMATIC_STEP: i32 = 15;
/// … and on from a note that is none, which ought to resolve to the next letter.
pub(super) const UNRESOLVED: i32 = 75;

/// What an interval between neighbours of a line costs, by its distance on the line of fifths from 8 (augmented
/// fifth, diminished fourth) on: 9 is an augmented second, 10 a diminished third, 12 a diminished second.
pub(super) const LINE_INTERVALS: [i32; 5] = [28, 10, 14, 80, 68];
/// The same between notes that sound together, from 7 (augmented unison) on.
pub(super) const TOGETHER_INTERVALS: [i32; 6] = [33, 16, 10, 12, 16, 100];

/// Names in a major key by their place on the line of fifths from the tonic, from −10 to 13.
pub(super) const IN_MAJOR: [i32; 24] =
    [60, 50, 44, 36, 26, 20, 14, 10, 6, 0, 0, 0, 0, 0, 0, 0, 4, 8, 12, 16, 24, 32, 40, 50];
/// The same in a minor key.
pub(super) const IN_MINOR: [i32; 24] =
    [70, 60, 50, 42, 30, 16, 0, 0, 0, 0, 0, 0, 2, 6, 1, 1, 4, 12, 18, 26, 34, 42, 50, 60];
/// Beyond those tables, for each further fifth.
pub(super) const FURTHER: i32 = 10;
