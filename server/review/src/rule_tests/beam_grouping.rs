//! More cases.
