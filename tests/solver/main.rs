//! The optimisation core against brute force, published optima and itself: the same answer on any number of threads, never
//! below the bound, always as the independent check recomputes it.
#![allow(clippy::disallowed_methods, clippy::unwrap_used, reason = "tests read files, and a panic is their failure")]

mod assignment;
#[path = "../bench/instances.rs"]
mod instances;
mod sequence;
mod worth;

use std::num::NonZeroUsize;
use turnwright::fleet::solver::Options;

/// So many steps from a seed on so many threads.
fn options(steps: u64, seed: u64, threads: usize) -> Options<'static> {
    Options { seed, threads: NonZeroUsize::new(threads).unwrap(), ..Options::with_steps(steps) }
}
