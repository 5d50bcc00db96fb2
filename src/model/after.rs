//! Steps after the machine.

use super::figure::Place;
use super::part::FeatureId;
use crate::quantity::Length;

/// A step after the machine.
#[derive(Clone, Debug, PartialEq)]
pub struct After {
    /// One of [`After::PROCESSES`].
    pub process: String,
    pub feature: Option<FeatureId>,
    /// Stock that the step takes off.
    pub leaving: Option<Length>,
    /// Whether the drawing's sizes hold before the step.
    pub sizes_before: bool,
    pub place: Place,
}

impl After {
    /// The steps that a spec may name.
    pub const PROCESSES: &'static [&'static str] =
        &["heat-treat", "coat", "grind", "hone", "lap", "roll", "deburr", "wash", "passivate", "mark", "pack"];
}
