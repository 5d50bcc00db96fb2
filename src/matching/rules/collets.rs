//! Are collets and bushing at hand?

use super::prelude::*;
use crate::model::part::BarShape;
use crate::model::shop::Holding;
use crate::planning::holding::Missing;
use crate::quantity::Length;
use crate::quantity::print::thousands;
use crate::tables::bars::{self, Stocked};

/// Collets and guide bushings against what the shop's list says that it owns.
#[derive(Clone, Copy, Debug)]
pub(super) struct Collets;

const DOC: Doc = Doc {
    question: "are the collets and the guide bushing for these sizes at hand?",
    what: "the bar in the main collet and the bushing, the grip in the sub-spindle's collet, against the sizes that the shop file lists under `collets`, each good for 0.1 mm beyond its own; what is not listed is bought and waited for, and of a kind that is not listed nothing is assumed missing",
    formulas: &[],
    why: "a range of grip says what a spindle could hold, not what lies in the drawer: a bushing that must be ordered moves the start by weeks",
    source: "common practice, no source; prices are invented demo values",
    trips: include_str!("examples/collets.trips.turn"),
    passes: include_str!("examples/collets.passes.turn"),
};

impl Rule for Collets {
    fn name(&self) -> &'static str {
        "collets"
    }
    fn doc(&self) -> &'static Doc {
        &DOC
    }
    fn check(&self, case: &Case, out: &mut Vec<Finding>) {
        let code = case.task.shop.currency.code();
        for missing in &case.plan.missing {
            let asked = Figure::Length(missing.size);
            let at_hand = missing.nearest.map_or("none".into(), |n| format!("{n} at the nearest").into());
            let offered = Figure::Words(at_hand);
            let mut finding = Finding::new(self.name(), Verdict::Warns, asked, offered).without_margin();
            if missing.holding == Holding::Sub {
                finding.feature = case.plan.hand_over.as_ref().map(|h| h.feature);
            }
            let nearest = missing.nearest.map(|n| format!(", the nearest at hand is {n}")).unwrap_or_default();
            let (words, price) = (missing.words(), thousands(missing.price.to_units()));
            out.push(
                finding
                    .because(format!("no {words} in the shop's list{nearest}: {price} {code} and its delivery"))
                    .unless(remedy(case, missing)),
            );
        }
    }
}

/// A bar for which everything is at hand, where the part leaves the choice; else the purchase.
fn remedy(case: &Case, missing: &Missing) -> String {
    let order = format!("order a {}", missing.words());
    let stated = case.task.view.part.stock.as_ref().is_some_and(|s| s.size.is_some());
    if stated || missing.holding == Holding::Sub || missing.shape != BarShape::Round {
        return order;
    }
    let Some(shop) = case.task.shop_machine() else { return order };
    let reach = Length::mm(case.task.thresholds.collet_reach_mm);
    let kinds = [Holding::Main, Holding::Bushing];
    let kinds = kinds.iter().filter(|k| **k == Holding::Main || case.task.guided());
    let lists: Vec<_> = kinds.filter_map(|k| shop.holdings.get(k)).collect();
    let held =
        |dia: Length| lists.iter().all(|list| list.iter().any(|o| o.shape == BarShape::Round && o.takes(dia, reach)));
    let fits = |dia: Length| case.task.mode.bar.is_none_or(|range| range.contains(dia));
    let larger = bars::metric().iter().filter(|b| b.stocked == Stocked::Common && b.dia > missing.size);
    match larger.map(|b| b.dia).find(|dia| held(*dia) && fits(*dia)) {
        Some(dia) => format!("{order}, or bar of {dia}, for which all is at hand"),
        None => order,
    }
}
