//! A shop: its rates, people, standard times, and what is on each machine now.

use super::figure::Stated;
use super::machine::ModeKind;
use crate::quantity::measure::Currency;
use crate::quantity::{HourRate, Length, Ratio, Time, YearlyHours};
use std::collections::BTreeMap;

/// What a markup is a share of. The bare percentage is refused: the two differ by a quarter at 22 %.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Markup {
    OfCost(Ratio),
    OfPrice(Ratio),
}

/// What stands on a machine now.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct State {
    pub mode: Option<ModeKind>,
    /// Bar diameter.
    pub bar: Option<Length>,
    /// Attachments mounted, each as often as it is there.
    pub mounted: Vec<String>,
}

/// A machine of the shop.
#[derive(Clone, Debug, PartialEq)]
pub struct ShopMachine {
    pub hourly: Option<Stated<HourRate>>,
    pub available: Option<YearlyHours>,
    /// Attachments owned and how many of each.
    pub owned: BTreeMap<String, u32>,
    /// One entry for each machine of this kind; at least one.
    pub now: Vec<State>,
}

/// Who works there.
#[derive(Clone, Debug, PartialEq)]
pub struct People {
    pub setters: u32,
    pub hours: Option<YearlyHours>,
    pub setter: HourRate,
    pub operator: HourRate,
    pub machines_per_operator: f64,
}

/// What money costs.
#[derive(Clone, Debug, PartialEq)]
pub struct Finance {
    pub discount: Ratio,
    pub life_years: f64,
    pub resale: Ratio,
    pub tax: Ratio,
}

/// A shop.
#[derive(Clone, Debug, PartialEq)]
pub struct Shop {
    pub name: String,
    pub currency: Currency,
    /// By the name of the machine spec.
    pub machines: BTreeMap<String, ShopMachine>,
    pub people: People,
    pub markup: Markup,
    pub scrap: Ratio,
    pub setup_pieces: u32,
    /// The shop's own standard times by kind, over the built-in ones.
    pub setup_times: BTreeMap<String, Time>,
    /// The shop's own thresholds over those of the table, by name.
    pub thresholds: BTreeMap<String, f64>,
    pub finance: Option<Finance>,
}
