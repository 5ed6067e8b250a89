//! What each step of the path costs. Our own figures, set by the tests over real scores; a bar that is as it was
//! costs nothing.

/// A bar inserted or deleted …
pub(super) const GAP: u32 = 100;
/// … and the first of a run besides.
pub(super) const OPENS_GAP: u32 = 60;
/// A bar that sounds the same and is written otherwise: of two bars that sound alike, the one that looks alike is it.
pub(super) const RENOTATED: u32 = 1;
/// A changed bar, however little is changed …
pub(super) const CHANGED: u32 = 40;
/// … and if nothing is left of it besides. A bar that is quite another is cheaper than one deleted and one inserted;
/// of a run of them that is not so.
pub(super) const CHANGED_WHOLLY: u32 = 260;
/// A bar of a transposed run …
pub(super) const TRANSPOSED: u32 = 2;
/// … and the first of it besides. A sequence transposed by its own step is one transposition, not a bar less at one
/// end and a bar more at the other.
pub(super) const OPENS_TRANSPOSED: u32 = 50;
/// A bar of a run that is higher or lower within its key: a little more, so that what is transposed exactly is told so …
pub(super) const BY_DEGREES: u32 = 3;
/// … and the first of it besides.
pub(super) const OPENS_BY_DEGREES: u32 = 50;
/// A passage under other bar lines, for each of its old and new bars …
pub(super) const REBARRED: u32 = 1;
/// … and the first of several besides.
pub(super) const OPENS_REBARRED: u32 = 50;

/// A passage in values twice or half as long, for each of its old and new bars …
pub(super) const SCALED: u32 = 1;
/// … and the first of several besides.
pub(super) const OPENS_SCALED: u32 = 50;

/// Thousandths of the sounds that a passage under other bar lines must have kept.
pub(super) const REBARRED_KEEPS: u64 = 800;

/// So many sounds show a transposition, or other values; one or two are just other notes.
pub(super) const SHOWS_TRANSPOSITION: usize = 3;

/// So many steps of the search at most at once; drafts that ask for more are first cut where long runs of bars agree.
pub(super) const CELLS: usize = 1 << 20;
/// So many bars on each side at most between two moments at which old and new bar lines meet.
pub(super) const RELINED: usize = 400;
/// So many sounds are compared for that at most, in one comparison.
pub(super) const RELINED_SOUNDS: usize = 1 << 22;
