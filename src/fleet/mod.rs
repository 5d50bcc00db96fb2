//! The job mix and the purchase: which machine makes which job, in which order, and which machine pays.

pub mod buy;
pub mod mix;
pub mod solver;
