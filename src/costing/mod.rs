//! What a plan costs: order time after REFA (T = t_r + m t_e), material, tools, scrap and markup; and what an order of it
//! is sold for.

mod amount;
mod beside;
mod lead;
pub mod lot;

use crate::model::part::Part;
use crate::model::shop::{Shop, ShopMachine};
use crate::planning::Plan;
use crate::planning::bands::Causes;
use crate::planning::hand_over::HandOver;
use crate::quantity::{HourRate, MassPrice, Money, Time};
use crate::tables::thresholds::Thresholds;
pub use amount::Amount;
pub use beside::{Beside, Charge};
pub use lead::{Lead, Step, lead};
pub use lot::{Lot, LotError, Share};

/// The cost of a piece at one order quantity, by kind.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PieceCost {
    pub quantity: u64,
    pub material: Money,
    /// Machine time of the piece at the machine's hour rate.
    pub machine: Money,
    /// The setup, machine and setter, spread over the order.
    pub setting: Money,
    pub operator: Money,
    pub tools: Money,
    /// A special collet for a short or holed grip, spread over the order.
    pub collet: Money,
    /// Collets and bushings that are not at hand, spread over the order.
    pub holding: Money,
    /// Moving a validated process to this machine, spread over the order.
    pub moving: Money,
    pub scrap: Money,
    /// Cost of a piece, before markup.
    pub cost: Money,
    pub price: Money,
    /// What the order costs whatever its size: setting, collets to buy, moving a process, setup pieces.
    pub fixed: Money,
    /// Setup and pieces together.
    pub order_time: Time,
}

/// What makes up the money of a plan apart from the quantity.
#[derive(Clone, Copy, Debug)]
pub struct Rates {
    pub machine: HourRate,
    /// The machine has no rate in the shop file: the mean of those that have one was taken.
    pub assumed: bool,
}

/// The hour rate of a machine: the shop's, or the mean of the shop's machines where it has none for this one.
pub fn rate(shop: &Shop, machine: Option<&ShopMachine>) -> Rates {
    if let Some(rate) = machine.and_then(|m| m.hourly) {
        return Rates { machine: rate.value, assumed: false };
    }
    let rates: Vec<f64> = shop.machines.values().filter_map(|m| m.hourly).map(|r| r.value.to_per_hour()).collect();
    let mean = if rates.is_empty() { 0.0 } else { rates.iter().sum::<f64>() / rates.len() as f64 };
    Rates { machine: HourRate::per_hour(mean), assumed: true }
}

/// The price of a kilogram of the bar that a plan buys.
pub fn bar_price(part: &Part, plan: &Plan) -> MassPrice {
    part.material.bar_price * plan.blank.price_factor
}

/// The cost of a piece at an order quantity.
pub fn piece(part: &Part, plan: &Plan, shop: &Shop, rates: Rates, t: &Thresholds, quantity: u64) -> PieceCost {
    let pieces = quantity.max(1) as f64;
    // Setup pieces and running scrap are made and paid for as well.
    let good_share = shop.good_share();
    let made = (pieces / good_share + f64::from(shop.setup_pieces)) / pieces;
    let material = if part.supplied { Money::ZERO } else { plan.blank.mass * bar_price(part, plan) };
    let machine = plan.cycle.total * rates.machine;
    let operator = plan.cycle.total * shop.people.operator / shop.people.machines_per_operator.max(1.0);
    let tools = plan.cycle.cutting * HourRate::per_hour(t.tool_cost_per_hour);
    let setting = plan.setup.total * (rates.machine + shop.people.setter) / pieces;
    let special = plan.hand_over.as_ref().is_some_and(HandOver::is_special);
    let collet = if special { Money::units(t.special_collet) / pieces } else { Money::ZERO };
    let holding = plan.missing.iter().map(|m| m.price).sum::<Money>() / pieces;
    let moving = plan.moving.map_or(Money::ZERO, |m| m.cost) / pieces;
    let running = material + machine + operator + tools;
    let scrap = running * (made - 1.0);
    let cost = running + setting + collet + holding + moving + scrap;
    let price = shop.markup.price_of(cost);
    let fixed = (setting + collet + holding + moving) * pieces + running * f64::from(shop.setup_pieces);
    let order_time = plan.setup.total + plan.cycle.total * (pieces / good_share);
    PieceCost {
        quantity,
        material,
        machine,
        setting,
        operator,
        tools,
        collet,
        holding,
        moving,
        scrap,
        cost,
        price,
        fixed,
        order_time,
    }
}

/// How far the cost of a piece may lie off, by cause, in the shop's currency.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct CostBand {
    /// Each cause with how much cheaper and how much dearer it makes the piece.
    pub causes: Vec<(&'static str, Money, Money)>,
}

impl CostBand {
    /// The band of a plan's cost at a quantity, from what its cycle and its setup may be off by.
    pub fn of(shop: &Shop, rates: Rates, quantity: u64, cycle: &Causes, setup: &Causes) -> CostBand {
        let pieces = quantity.max(1) as f64;
        let operator = shop.people.operator / shop.people.machines_per_operator.max(1.0);
        let made = 1.0 / shop.good_share() + f64::from(shop.setup_pieces) / pieces;
        let running = |t: Time| (t * rates.machine + t * operator) * made;
        let setting = |t: Time| t * (rates.machine + shop.people.setter) / pieces;
        let mut causes: Vec<_> = cycle.0.iter().map(|c| (c.name, running(c.shorter), running(c.longer))).collect();
        causes.extend(setup.0.iter().map(|c| (c.name, setting(c.shorter), setting(c.longer))));
        CostBand { causes }
    }

    /// How much cheaper and how much dearer a piece may be: independent causes, by root of squares.
    pub fn together(&self) -> (Money, Money) {
        let root = |f: fn(&(&'static str, Money, Money)) -> Money| {
            let squares = self.causes.iter().map(|c| f(c).to_units() * f(c).to_units()).sum::<f64>();
            Money::units(libm::sqrt(squares))
        };
        (root(|c| c.1), root(|c| c.2))
    }

    /// How well the difference of two costs is known: a cause that both share is off for both at once.
    pub fn of_difference(&self, o: &CostBand) -> Money {
        let middle = |band: &CostBand, name: &str| {
            let of = band.causes.iter().filter(|c| c.0 == name);
            of.map(|c| (c.1.to_units() + c.2.to_units()) / 2.0).sum::<f64>()
        };
        let mut names: Vec<&str> = self.causes.iter().chain(&o.causes).map(|c| c.0).collect();
        names.sort_unstable();
        names.dedup();
        let apart = names.iter().map(|name| middle(self, name) - middle(o, name));
        Money::units(libm::sqrt(apart.map(|d| d * d).sum()))
    }
}
