//! A record of an order that was made: what was estimated, and what it took.

use super::machine::ModeKind;
use crate::quantity::Time;
use std::collections::BTreeMap;

/// A time as it was estimated and as it came.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Pair {
    pub estimated: Option<Time>,
    /// Over nought; of stoppages from nought.
    pub actual: Option<Time>,
}

/// One order on one machine, as a line of a sheet says it.
#[derive(Clone, Debug, PartialEq)]
pub struct Record {
    /// The row of the sheet, counted from 1 with the head line.
    pub row: usize,
    /// The part's name, or the file of its spec as written.
    pub part: String,
    /// Which part of the spec's file, where it holds several.
    pub member: Option<String>,
    /// The family that the part belongs to.
    pub family: Option<String>,
    pub machine: String,
    pub mode: Option<ModeKind>,
    pub quantity: Option<u64>,
    /// As `2026-11-25`.
    pub day: Option<String>,
    /// The number of the order.
    pub order: Option<String>,
    /// From one piece to the next as programmed, without stoppages.
    pub cycle: Pair,
    /// Standing of the whole order beside the programmed cycle: bars, worn tools, chips, faults.
    pub stoppages: Pair,
    pub setup: Pair,
    /// Shares of the setup by the key of their standard time, such as `guide-bushing`.
    pub elements: BTreeMap<String, Pair>,
}

impl Record {
    /// The file of the part's spec, where the record names one.
    pub fn spec(&self) -> Option<&str> {
        self.part.to_lowercase().ends_with(".turn").then_some(self.part.as_str())
    }

    /// What the factors of a family go by: the family, or the part itself.
    pub fn family(&self) -> &str {
        self.family.as_deref().or(self.member.as_deref()).unwrap_or(&self.part)
    }
}
