//! What an attachment is worth for a job: the same part on the same machine without it and with it.

use super::ranking::{By, Ranking, Row, Standing, rank};
use crate::model::machine::{Machine, ModeKind};
use crate::model::part::Part;
use crate::model::shop::{Shop, ShopMachine};
use crate::quantity::Money;

/// More of an attachment than any carrier has places.
const PLENTY: u32 = 99;

/// A job without an attachment and with it.
#[derive(Clone, Debug)]
pub struct Worth {
    /// The attachment's name.
    pub option: String,
    pub without: Option<Row>,
    pub with: Option<Row>,
    /// How many of it the plan with it uses; a control that takes no place counts as one.
    pub used: u32,
    /// Of all that are used, where the spec states a price.
    pub price: Option<Money>,
    /// Pieces after which the price is saved, where a piece costs less with it.
    pub pays_back_after: Option<f64>,
}

/// A shop with a given number of an attachment for a machine.
#[must_use]
pub fn with_owned(shop: &Shop, machine: &Machine, option: &str, count: u32) -> Shop {
    let mut shop = shop.clone();
    let entry = shop.machines.entry(machine.name.clone()).or_insert_with(ShopMachine::unknown);
    entry.owned.insert(option.to_owned(), count);
    shop
}

/// Compares a job without an attachment and with as many as it can use, everything else as the shop has it.
pub fn worth(
    part: &Part,
    machine: &Machine,
    mode: Option<ModeKind>,
    shop: &Shop,
    option: usize,
    quantity: Option<u64>,
) -> Worth {
    let attachment = &machine.options[option];
    let machines = std::slice::from_ref(machine);
    let best = |count: u32| {
        let shop = with_owned(shop, machine, &attachment.name, count);
        let mut ranking: Ranking = rank(part, machines, &shop, quantity, By::Cost);
        ranking.rows.retain(|r| mode.is_none_or(|m| m == r.mode));
        // What would have to be bought besides is not this attachment's worth.
        (!ranking.rows.is_empty()).then(|| ranking.rows.remove(0))
    };
    let (without, with) = (best(0), best(PLENTY));
    let placed = with.as_ref().map_or(0, |r| r.judged.plan.assignment.attachments_used(option));
    let takes_place = attachment.occupies.is_some();
    let used = if takes_place { placed } else { placed.max(1) };
    let price = attachment.price.map(|p| p.value * f64::from(used)).filter(|_| used > 0);
    let possible = |r: &Row| r.standing == Standing::Owned || r.standing == Standing::NotStated;
    let saved = match (&without, &with) {
        (Some(a), Some(b)) if possible(a) && possible(b) => Some(a.cost.cost - b.cost.cost),
        _ => None,
    };
    let pays_back_after = match (price, saved) {
        (Some(price), Some(saved)) if saved > Money::ZERO => Some(libm::ceil(price / saved)),
        _ => None,
    };
    Worth { option: attachment.name.clone(), without, with, used, price, pays_back_after }
}
