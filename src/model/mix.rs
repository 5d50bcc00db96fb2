//! What a shop expects to make: jobs with their yearly pieces, lots and prices.

use super::figure::{Place, Stated};
use crate::quantity::{Money, Time};

/// How sure a job is.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize, schemars::JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Chance {
    /// Ordered.
    #[default]
    Booked,
    /// Asked for and probable.
    Likely,
    /// It could come.
    Hoped,
}

impl Chance {
    /// All, from the surest on.
    pub const ALL: [Chance; 3] = [Chance::Booked, Chance::Likely, Chance::Hoped];

    /// The word of a file.
    pub fn word(self) -> &'static str {
        match self {
            Chance::Booked => "booked",
            Chance::Likely => "likely",
            Chance::Hoped => "hoped",
        }
    }
}

/// What another shop takes for the pieces.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BuyOut {
    /// A piece.
    pub piece: Money,
    /// A lot, whatever its size: transport, incoming inspection.
    pub lot: Money,
}

/// One job of a mix.
#[derive(Clone, Debug, PartialEq)]
pub struct MixJob {
    pub place: Place,
    /// The name of its part.
    pub part: Stated<String>,
    /// Good pieces a year, at least one.
    pub yearly: u64,
    /// Lots a year, at least one and no more than pieces.
    pub lots: u32,
    /// From the start to the day on which the first lot is wanted; the others follow evenly. The end of the first lot's share
    /// of the year where it is not said.
    pub due: Option<Time>,
    /// What the customer pays a piece. Without it nothing is earned, and the job must be made.
    pub price: Option<Money>,
    pub buy_out: Option<BuyOut>,
    pub chance: Chance,
    pub customer: Option<String>,
    /// Machines on which its process is frozen; any where none is named.
    pub validated_on: Vec<Stated<String>>,
    /// What moving it to another machine costs, once, and takes by the calendar; it stays where this is not said.
    pub moving: Option<(Money, Time)>,
    /// It may not be left undone.
    pub must: bool,
    /// Its lots may run on several machines.
    pub split: bool,
}

impl MixJob {
    /// Pieces of one lot; the last one may be smaller.
    pub fn lot(&self) -> u64 {
        self.yearly.div_ceil(u64::from(self.lots))
    }
}

/// What a shop expects to make.
#[derive(Clone, Debug, PartialEq)]
pub struct Mix {
    /// Years that it is planned over, above 0 and up to 10.
    pub years: f64,
    pub jobs: Vec<MixJob>,
}
