//! The optimisation core: jobs to machines at least cost ([`assignment`]), lots in order on machines ([`sequence`]).
//!
//! Both are searched from a seed with an effort counted in steps. Work is split into pieces that do not depend on the number
//! of threads and merged in a fixed order, so that the same seed and steps give the same answer on any machine with any
//! number of threads. A time limit or an interruption only cuts the search short; the answer then says so. Every answer is
//! recomputed from scratch by a module of its own (`check`) before it is returned, and carries a proven bound.

pub mod assignment;
mod parallel;
mod random;
pub mod sequence;

pub use random::Random;

use std::num::NonZeroUsize;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Duration;

/// How long and how hard to search.
#[derive(Clone, Copy)]
pub struct Options<'a> {
    /// Seed of every random choice; the same seed gives the same answer.
    pub seed: u64,
    /// Effort in steps; what a step is stands at the `solve` that takes it. Nought: the first plan that is found.
    pub steps: u64,
    /// Threads to work on; the answer does not depend on it.
    pub threads: NonZeroUsize,
    /// Relative distance of cost and bound at which to stop, from 0 (go on to the proof).
    pub gap: f64,
    /// What may cut the search short.
    pub watch: Watch<'a>,
}

impl Options<'_> {
    /// `steps` from seed 1 on all cores, to the proof, not cut short.
    #[must_use]
    pub fn with_steps(steps: u64) -> Self {
        let threads = std::thread::available_parallelism().unwrap_or(NonZeroUsize::MIN);
        Self { seed: 1, steps, threads, gap: 0.0, watch: Watch::default() }
    }

    /// Whether `cost` is as near to `bound` as was asked.
    fn near_enough(&self, cost: i64, bound: i64) -> bool {
        cost <= bound || cost.saturating_sub(bound) as f64 <= self.gap * (cost as f64).abs()
    }
}

/// What may cut a search short: an interruption and a safety stop by the clock. The clock is handed in, since this floor
/// reads none.
#[derive(Clone, Copy, Default)]
pub struct Watch<'a> {
    /// Set from outside, for instance at Ctrl-C: the search returns the best it has.
    pub interrupted: Option<&'a AtomicBool>,
    /// Time since the search began.
    pub elapsed: Option<&'a (dyn Fn() -> Duration + Sync)>,
    /// Time after which the search is cut.
    pub limit: Option<Duration>,
}

impl Watch<'_> {
    /// Why the search must end now, if it must.
    pub fn cut(&self) -> Option<Stopped> {
        if self.interrupted.is_some_and(|flag| flag.load(Ordering::Relaxed)) {
            return Some(Stopped::Interrupted);
        }
        let (elapsed, limit) = (self.elapsed?(), self.limit?);
        (elapsed >= limit).then_some(Stopped::Time(elapsed))
    }
}

/// Why a search ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Stopped {
    /// Nothing better exists: cost and bound meet.
    Proved,
    /// Cost and bound are as near as was asked.
    Gap,
    /// The steps are spent.
    Steps,
    /// Cut by the clock after this time; a run with another clock may differ.
    Time(Duration),
    /// Cut from outside.
    Interrupted,
}
