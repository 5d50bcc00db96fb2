//! What the shop's own records correct, in words.

use super::answer::RowAnswer;
use crate::matching::Standing;
use crate::model::machine::Machine;
use crate::model::part::Part;
use crate::model::shop::Shop;
use crate::planning::Plan;
use crate::planning::setup::Line;

/// What the shop's own records correct in a plan: `cycle corrected by 1.08 from 23 records`.
pub(super) fn of(part: &Part, machine: &Machine, shop: &Shop, plan: &Plan) -> Vec<String> {
    let cycle = shop.calibration.of_cycle(&machine.name, part).words().map(|words| format!("cycle {words}"));
    cycle.into_iter().chain(of_setup(machine, shop, &plan.setup.lines)).collect()
}

/// What the shop's own records correct in the lines of a setup.
pub(super) fn of_setup(machine: &Machine, shop: &Shop, lines: &[Line]) -> Vec<String> {
    let records = &shop.calibration;
    let setup = records.setup.get(&machine.name).map(|f| format!("setup corrected by {}", f.words()));
    let mut kinds: Vec<&str> = lines.iter().map(|l| l.kind).collect();
    kinds.sort_unstable();
    kinds.dedup();
    let element = |kind: &str| {
        records.elements.get(kind).map(|f| format!("setup, {}: corrected by {}", kind.replace('-', " "), f.words()))
    };
    setup.into_iter().chain(kinds.into_iter().filter_map(element)).collect()
}

/// A sentence for each machine that can make the part and is corrected.
pub(super) fn notes(rows: &[RowAnswer]) -> Vec<String> {
    let possible = rows.iter().filter(|r| r.standing != Standing::Refused && !r.corrections.is_empty());
    let mut notes: Vec<String> = possible.map(|r| format!("{}: {}.", r.machine, r.corrections.join("; "))).collect();
    notes.sort();
    notes.dedup();
    notes
}

/// What the records mean for bands.
pub(super) fn of_bands(shop: &Shop) -> &'static str {
    match shop.calibration.is_empty() {
        true => "without the shop's own records",
        false => "and follow the shop's own records where the shop file has factors from them",
    }
}
