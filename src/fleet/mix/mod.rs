//! The job mix: what each job takes on each machine, and which machine makes it.

pub mod changes;
pub mod decide;
pub mod plan;
pub mod routes;
pub mod sequence;

pub use plan::{Fate, Hours, MixPlan, NoHours, Placing, WhyNot, Work, placed, plan, usual_steps};
pub use routes::{Routed, routes};
