//! Published tables.
