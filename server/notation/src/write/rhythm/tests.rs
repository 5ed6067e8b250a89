//! Jobs over single bars.
