//! What a part asks of its making beyond the drawing: use, first article, a frozen process.

use super::figure::Place;
use super::machine::ModeKind;
use crate::quantity::{Money, Time};

/// What the part is for: brings its cautions.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Use {
    General,
    Implant,
    Aerospace,
    Food,
}

/// What the first piece of an order is measured for.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct FirstArticle {
    /// Only the key characteristics, not every dimension.
    pub keys_only: bool,
    /// A report goes with the parts.
    pub report: bool,
}

/// A frozen process: the part runs only where it was validated, unless moving it is priced and timed.
#[derive(Clone, Debug, PartialEq)]
pub struct Validated {
    /// Names of machine specs, at least one.
    pub on: Vec<String>,
    /// The way of holding that was validated; any where it is not said.
    pub mode: Option<ModeKind>,
    /// What moving it to another machine or mode costs and how long that takes: validation runs, approval.
    pub moving: Option<(Money, Time)>,
    pub place: Place,
}

impl Validated {
    /// Whether the process was validated on this machine in this mode.
    pub fn holds(&self, machine: &str, mode: ModeKind) -> bool {
        self.on.iter().any(|m| m == machine) && self.mode.is_none_or(|m| m == mode)
    }
    /// Where it was validated: `tilt-32, guided`.
    pub fn words(&self) -> String {
        let mode = self.mode.map(|m| format!(", {}", m.word())).unwrap_or_default();
        format!("{}{mode}", self.on.join(" and "))
    }
}
