//! When an order can be delivered: what must be waited for, the machine's promised hours, its own hours, steps afterwards.

use super::Lot;
use crate::model::shop::Shop;
use crate::planning::Plan;
use crate::quantity::Time;

/// Weeks of a year by the calendar.
const WEEKS: f64 = 52.0;

/// One step to the delivery, by the calendar.
#[derive(Clone, Debug, PartialEq)]
pub struct Step {
    pub what: String,
    pub takes: Time,
    /// It runs beside the other waits: only the longest of them counts.
    pub waits: bool,
}

/// The time to delivery.
#[derive(Clone, Debug, PartialEq)]
pub struct Lead {
    /// In the order in which they count: the waits, the machine, what comes after it.
    pub steps: Vec<Step>,
    pub total: Time,
    /// The shop file states no load of the machine: it is taken to be free.
    pub taken_as_free: bool,
    /// Steps afterwards whose time the shop file does not state; they come on top.
    pub unknown: Vec<String>,
}

/// The lead time of an order on a machine of the shop; nothing where the shop file does not say how many hours a year the
/// machine runs. What the machine is promised to counts only where the shop file states it.
pub fn lead(plan: &Plan, lot: &Lot, shop: &Shop, machine: &str) -> Option<Lead> {
    let entry = shop.machines.get(machine)?;
    let weekly = entry.available?.to_h_per_year() / WEEKS;
    let on_machine = |work: Time| Time::weeks(work.to_hours() / weekly);
    let mut steps = Vec::new();
    let wait = |what: String, takes| Step { what, takes, waits: true };
    steps.extend(entry.load.map(|load| wait(format!("work promised to `{machine}`"), on_machine(load))));
    steps.extend(shop.quotes.bar_delivery.map(|t| wait("bar from the merchant".to_owned(), t)));
    let bought = plan.setup.off_machine.iter();
    steps.extend(bought.filter_map(|l| l.calendar.map(|band| wait(l.what.clone().into_owned(), band.high))));
    steps.push(Step { what: format!("`{machine}`"), takes: on_machine(lot.order_time), waits: false });
    let mut unknown = Vec::new();
    for charge in &lot.beside.treatments {
        match charge.takes {
            Some(takes) => steps.push(Step { what: charge.what.clone(), takes, waits: false }),
            None => unknown.push(charge.what.clone()),
        }
    }
    let longest = steps.iter().filter(|s| s.waits).map(|s| s.takes).fold(Time::ZERO, Time::max);
    let then: Time = steps.iter().filter(|s| !s.waits).map(|s| s.takes).sum();
    Some(Lead { steps, total: longest + then, taken_as_free: entry.load.is_none(), unknown })
}
