//! Recomputes an order of lots from the question alone. Nothing of the search is used here, so that a slip there cannot
//! hide.

use super::{Instance, Objective};
use std::fmt;

/// A lot on the clock of its machine.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Run {
    pub lot: usize,
    /// Length of the setup before it; the setup ends no later than `start`.
    pub setup: i64,
    pub start: i64,
    pub end: i64,
}

/// An order of lots, recomputed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Recomputed {
    /// The lots of each machine in order.
    pub runs: Vec<Vec<Run>>,
    /// End of the last lot.
    pub makespan: i64,
    /// Sum of all setups.
    pub setup: i64,
    /// Sum of weight times lateness.
    pub tardiness: i64,
}

impl Recomputed {
    /// What was to be least.
    #[must_use]
    pub fn value(&self, objective: Objective) -> i64 {
        match objective {
            Objective::Makespan => self.makespan,
            Objective::Setup => self.setup,
            Objective::Tardiness => self.tardiness,
        }
    }
}

/// What is wrong with an order of lots.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Wrong {
    /// Not one order for each machine.
    Machines,
    /// A lot that is missing, there twice, or not of the question.
    Lot { lot: usize },
    /// A lot on a machine that cannot make it.
    Forbidden { lot: usize },
}

impl fmt::Display for Wrong {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Machines => write!(f, "not one order for each machine"),
            Self::Lot { lot } => write!(f, "lot {lot} is missing, there twice or unknown"),
            Self::Forbidden { lot } => write!(f, "lot {lot} is on a machine that cannot make it"),
        }
    }
}

impl std::error::Error for Wrong {}

/// Times and sums of the lots of each machine in this order.
///
/// # Errors
/// [`Wrong`] where the order breaks a rule of the question.
pub fn recompute(instance: &Instance, order: &[Vec<usize>]) -> Result<Recomputed, Wrong> {
    if order.len() != instance.machines() {
        return Err(Wrong::Machines);
    }
    let mut seen = vec![false; instance.lots().len()];
    let mut sum = Recomputed { runs: Vec::new(), makespan: 0, setup: 0, tardiness: 0 };
    for (machine, lots) in order.iter().enumerate() {
        let mut clock = instance.free_from(machine);
        let mut before = None;
        let mut runs = Vec::with_capacity(lots.len());
        for number in lots {
            let lot = instance.lots().get(*number).ok_or(Wrong::Lot { lot: *number })?;
            if std::mem::replace(&mut seen[*number], true) {
                return Err(Wrong::Lot { lot: *number });
            }
            let forbidden = Wrong::Forbidden { lot: *number };
            let (_, time) = lot.times.iter().find(|(on, _)| *on == machine).ok_or(forbidden)?;
            let setup = instance.setup(machine, before, *number).ok_or(forbidden)?;
            let start = (clock + setup).max(lot.release);
            let end = start + time;
            runs.push(Run { lot: *number, setup, start, end });
            sum.setup += setup;
            sum.makespan = sum.makespan.max(end);
            sum.tardiness += lot.due.map_or(0, |due| lot.weight * (end - due).max(0));
            (clock, before) = (end, Some(*number));
        }
        sum.runs.push(runs);
    }
    match seen.iter().position(|s| !s) {
        Some(lot) => Err(Wrong::Lot { lot }),
        None => Ok(sum),
    }
}
