//! What an analysis costs: every constant of it. Fitted by random search on analyses by hand of the test half
//! (`tests/reference/harmony.py`), then rounded; a larger number means that ears mind more.

use super::cells::Level;

/// A name that the chord does not have, for each hundredth that it weighs; a hundredth itself.
pub(super) const FOREIGN: i32 = 85;
/// A member that is not heard …
pub(super) const SILENT: i32 = 4000;
/// … and the fifth, which is left out most often.
pub(super) const SILENT_FIFTH: i32 = 2000;
/// Taken off when the root is in the bass …
pub(super) const ROOT_IN_BASS: i32 = 1000;
/// … and when any member is.
pub(super) const MEMBER_IN_BASS: i32 = 3500;
/// A chord with a seventh …
pub(super) const SEVENTH: i32 = 6200;
/// … and the seventh that leads home, which ears expect.
pub(super) const DOMINANT_SEVENTH: i32 = 4800;
/// A chord with a diminished fifth.
pub(super) const DIMINISHED: i32 = 1000;
/// An augmented triad.
pub(super) const AUGMENTED: i32 = 8000;
/// A chord with an augmented sixth.
pub(super) const AUGMENTED_SIXTH: i32 = 5500;

/// Going on to another chord.
pub(super) fn new_chord(level: Level) -> i32 {
    match level {
        Level::Off => 19_000,
        Level::Quarter => 17_000,
        Level::Beat => 12_500,
        Level::Middle => 7_000,
        Level::Bar => 1_000,
    }
}

// The keys, for a chord of a quarter note; a chord of four counts twice as much.

/// A member that the key does not have …
pub(super) const OUT_OF_KEY: i64 = 1200;
/// … the major third in minor, which every cadence may have …
pub(super) const MAJOR_THIRD_IN_MINOR: i64 = 600;
/// … and the raised sixth in minor.
pub(super) const RAISED_SIXTH: i64 = 350;
/// A name that is heard for an eighth note and the key does not have.
pub(super) const NAME_OUT_OF_KEY: i64 = 10;
/// A tonic that is no plain triad of its mode …
pub(super) const TONIC_ALTERED: i64 = 760;
/// … with the seventh that the key gives it …
pub(super) const TONIC_SEVENTH: i64 = 210;
/// … or for the major tonic that ends in minor.
pub(super) const PICARDY: i64 = 450;
/// Per cent of what a chord costs that leads to another of the key.
pub(super) const APPLIED: i64 = 60;
/// A chord borrowed from the minor key on the same tonic …
pub(super) const BORROWED: i64 = 900;
/// … the Neapolitan …
pub(super) const NEAPOLITAN: i64 = 420;
/// … an augmented sixth on the lowered sixth degree …
pub(super) const SIXTH_ON_ITS_DEGREE: i64 = 600;
/// … and the dominant of a degree that it goes to, none of which costs more.
pub(super) const APPLIED_AT_MOST: i64 = 900;
/// Another key than one typed that is believed …
pub(super) const OFF_TYPED: i64 = 70;
/// … for the first chord of a tune, however long, besides …
pub(super) const BEGINS_ELSEWHERE: i64 = 3600;
/// … and for the last.
pub(super) const ENDS_ELSEWHERE: i64 = 1000;
/// For each fifth between the key and the signature typed …
pub(super) const OFF_SIGNATURE: i64 = 50;
/// … of which no more than so many are counted.
pub(super) const OFF_AT_MOST: i32 = 3;
/// Taken off when the last chord of the tune is its tonic.
pub(super) const HOME: i64 = 70;
/// Going on to another key …
pub(super) const NEW_KEY: i64 = 2450;
/// … for each fifth between their signatures …
pub(super) const FIFTH_AWAY: i64 = 350;
/// … when major becomes minor, or the other way …
pub(super) const NEW_MODE: i64 = 320;
/// … and per cent of all that after a long chord.
pub(super) const AFTER_LONG: i64 = 90;
/// Taken off when the dominant goes to the tonic …
pub(super) const DOMINANT_TO_TONIC: i64 = 1200;
/// … the chord on the leading note …
pub(super) const LEADING_TO_TONIC: i64 = 510;
/// … the subdominant …
pub(super) const SUBDOMINANT_TO_TONIC: i64 = 100;
/// … when fourth or sixth degree go to the dominant …
pub(super) const TO_DOMINANT: i64 = 150;
/// … and, next to nothing, when the dominant of another degree goes there.
pub(super) const TO_A_DEGREE: i64 = 14;

/// How far a degree is from the plainest in major, by its place on the line of fifths from the tonic.
pub(super) fn degree_in_major(degree: i32) -> i64 {
    match degree {
        0 => 80,
        1 => 100,
        -1 => 170,
        2 => 130,
        3 => 220,
        4 => 320,
        5 => 50,
        _ => 570,
    }
}

/// The same in minor.
pub(super) fn degree_in_minor(degree: i32) -> i64 {
    match degree {
        0 => 0,
        1 => 100,
        -1 => 170,
        2 => 70,
        -4 => 260,
        -3 => 490,
        -2 => 270,
        5 => 210,
        _ => 260,
    }
}
