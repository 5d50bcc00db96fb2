//! Lots to machines and into order: unrelated parallel machines with setups that depend on the machine and on the two lots
//! between which they stand. Setups need not obey the triangle inequality.
//!
//! [`solve`] takes small questions exactly (`exact`), larger ones by simulated annealing (`anneal` where machines add up
//! their times, `timed` where due dates and releases count), and states a bound (`bound`).

mod anneal;
mod bound;
pub mod check;
mod exact;
mod instance;
mod solve;
mod state;
mod timed;

pub use instance::{Fault, Instance, Lot, Objective};
pub use solve::{Answer, solve};
