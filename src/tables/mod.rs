//! Embedded figures, each with its source.

pub mod materials;
