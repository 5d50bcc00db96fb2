//! Recomputes a plan from the question alone. Nothing of the search is used here, so that a slip there cannot hide.

use super::Instance;
use std::fmt;

/// Cost and loads of a plan, recomputed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Recomputed {
    /// Cost of all jobs, those left out with the cost of that.
    pub cost: i64,
    /// Load of each machine, in the unit of its capacity.
    pub loads: Vec<i64>,
}

/// What is wrong with a plan.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Wrong {
    /// Not one place for each job.
    Length,
    /// A job where it cannot be made, or left out where it must be made.
    Forbidden { job: usize },
    /// More on a machine than it has room for.
    Overload { machine: usize },
}

impl fmt::Display for Wrong {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Length => write!(f, "not one place for each job"),
            Self::Forbidden { job } => write!(f, "job {job} is where it may not be"),
            Self::Overload { machine } => write!(f, "machine {machine} has more than it has room for"),
        }
    }
}

impl std::error::Error for Wrong {}

/// Cost and loads of a plan that gives each job its machine, or none where it is left out.
///
/// # Errors
/// [`Wrong`] where the plan breaks a rule of the question.
pub fn recompute(instance: &Instance, plan: &[Option<usize>]) -> Result<Recomputed, Wrong> {
    if plan.len() != instance.jobs() {
        return Err(Wrong::Length);
    }
    let mut cost = 0;
    let mut loads = vec![0; instance.machines()];
    for (job, place) in plan.iter().enumerate() {
        match place {
            Some(machine) => {
                let way = instance.way(job, *machine).ok_or(Wrong::Forbidden { job })?;
                cost += way.cost;
                loads[*machine] += way.takes;
            }
            None => cost += instance.left_out(job).ok_or(Wrong::Forbidden { job })?,
        }
    }
    match loads.iter().zip(instance.capacities()).position(|(load, capacity)| load > capacity) {
        Some(machine) => Err(Wrong::Overload { machine }),
        None => Ok(Recomputed { cost, loads }),
    }
}
