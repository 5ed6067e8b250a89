//! What an editor asks for, in byte offsets: the host that owns documents and hands out immutable snapshots,
//! findings, actions, hover, inlay hints, completion, symbols, folding, layout, and the merged configuration.
//!
//! No protocol type and no file stands here.

mod accept;
pub mod actions;
mod bars;
mod completion;
pub mod config;
pub mod drafts;
mod emend;
mod folding;
mod harmony;
mod host;
mod hover;
mod inlay;
mod layout;
pub mod report;
mod respell;
mod suggestions;
mod symbols;

pub use bars::{Rewriting, Wanted, rewritings};
pub use completion::{Completion, Offered, completion};
pub use emend::{Emended, emend};
pub use folding::{Fold, FoldKind, folds};
pub use host::{Host, Located, Snapshot, check};
pub use hover::{Hover, hover, hover_voice};
pub use inlay::{Inlay, inlays};
pub use layout::{LaidOut, layout_all, layout_lines, layout_typed};
pub use respell::{NotProved, Offer, Passage, Respelled, Style, offers, respell};
pub use suggestions::{Suggestion, suggestions, suggestions_for};
pub use symbols::{Symbol, SymbolKind, symbols};
