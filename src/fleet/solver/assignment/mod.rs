//! Jobs to machines at least cost under each machine's capacity: the generalised assignment problem with forbidden pairs
//! and a choice to leave a job out (buy it out, or lose it).
//!
//! [`solve`] prices the capacities ([`prices`]), bounds the cost by a knapsack for each machine ([`bound`]), searches by
//! exact re-optimisation of a few machines at a time ([`reoptimise`], [`search`]) and, where few ways stay open, branches to
//! the proof ([`branch`]). [`worth`] tells what an extra machine or an hour more can save.

mod bound;
mod branch;
pub mod check;
mod instance;
mod knapsack;
mod prices;
mod reoptimise;
mod repair;
mod search;
mod solve;
pub mod worth;

pub use instance::{Fault, Instance, Way};
pub use solve::{Answer, Unsolved, solve};
