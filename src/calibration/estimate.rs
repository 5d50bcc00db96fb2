//! What the program itself estimates for an order of the records, where they do not say it.

use crate::matching::{By, rank};
use crate::model::calibration::Calibration;
use crate::model::machine::Machine;
use crate::model::part::Part;
use crate::model::record::Record;
use crate::model::shop::{Shop, State};
use crate::quantity::Time;

/// The shop as records are estimated with: without factors, since those are what is looked for, and with nothing known of
/// what stood on the machines on the day.
pub fn as_it_was(shop: &Shop) -> Shop {
    let mut shop = Shop { calibration: Calibration::default(), ..shop.clone() };
    for machine in shop.machines.values_mut() {
        machine.now = vec![State::default()];
    }
    shop
}

/// Fills in what a record leaves out of its estimates, from the plan of its part; gives the keys of the elements that were
/// measured, but stand in neither. `shop` is as [`as_it_was`] makes it.
///
/// # Errors
/// In words, why there is no plan to take them from.
pub fn fill_in(record: &mut Record, part: &Part, machine: &Machine, shop: &Shop) -> Result<Vec<String>, String> {
    let ranking = rank(part, std::slice::from_ref(machine), shop, record.quantity, By::Cost);
    let row = ranking.rows.iter().find(|r| record.mode.is_none_or(|m| m == r.mode));
    let unplanned = || format!("`{}` cannot be planned on `{}`", part.name, machine.name);
    let plan = &row.ok_or_else(unplanned)?.judged.plan;
    if let Some(gap) = plan.gaps.first() {
        let feature = &part.features[gap.feature].name;
        return Err(format!("{}: no way is known there to make `{feature}`", unplanned()));
    }
    let cycle = &plan.cycle;
    let programmed = *record.cycle.estimated.get_or_insert(cycle.programmed);
    let pieces = record.quantity.unwrap_or(1) as f64;
    record.stoppages.estimated.get_or_insert(programmed * ((cycle.total / cycle.programmed - 1.0) * pieces));
    let whole = record.setup.estimated.is_none();
    record.setup.estimated.get_or_insert(plan.setup.total);
    for line in &plan.setup.lines {
        // The elements of another estimate than the plan's are not the plan's.
        if whole || record.elements.get(line.kind).is_some_and(|p| p.actual.is_some()) {
            record.elements.entry(line.kind.to_owned()).or_default();
        }
    }
    for (key, pair) in record.elements.iter_mut().filter(|(_, p)| p.estimated.is_none()) {
        let of_kind = plan.setup.lines.iter().filter(|l| l.kind == key.as_str());
        let time: Time = of_kind.map(|l| l.time).sum();
        pair.estimated = (time > Time::ZERO).then_some(time);
    }
    record.family = record.family.take().or_else(|| part.family.as_ref().map(|(name, _)| name.clone()));
    record.member.get_or_insert_with(|| part.name.clone());
    let lacking = record.elements.iter().filter(|(_, p)| p.actual.is_some() && p.estimated.is_none());
    Ok(lacking.map(|(key, _)| key.clone()).collect())
}
