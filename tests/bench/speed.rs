//! Placeholder until there is something to measure.
fn main() {}
