//! The purchase: which machine or attachment pays, against the best that can be done without buying.
//!
//! What is bought changes what the mix leaves over ([`crate::fleet::mix`]), and that change alone is its worth: money out of
//! pocket, never hours times an hour rate. Freed hours are worth nothing unless work fills them, and the plan fills them.

pub mod base;
pub mod cash;
pub mod chance;
pub mod choices;
pub mod outlook;
pub mod sets;
pub mod staircase;
pub mod steady;
pub mod study;
pub mod terms;
pub mod tornado;
pub mod weigh;

pub use base::{Best, Variant};
pub use cash::{Case, Paid};
pub use choices::{Choices, Item};
pub use outlook::Outlook;
pub use terms::Terms;
