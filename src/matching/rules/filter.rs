//! Is the coolant clean enough for the drill?

use super::prelude::*;
use crate::planning::operation::Work;
use crate::quantity::Length;

/// Fineness of the coolant filter for drills with coolant through them.
#[derive(Clone, Copy, Debug)]
pub(super) struct Filter;

const FINE: &str = "f <= f_max";

const DOC: Doc = Doc {
    question: "is the coolant clean enough for the drill?",
    what: "for coolant through deep-hole drills the filter against 20 um below 3 mm and 10 um below 1.5 mm",
    formulas: &[FINE],
    why: "a chip in the coolant hole of a small drill stops the flow, and the next peck breaks it",
    source: "common practice, no source",
    trips: include_str!("examples/filter.trips.turn"),
    passes: include_str!("examples/filter.passes.turn"),
};

impl Rule for Filter {
    fn name(&self) -> &'static str {
        "filter"
    }
    fn doc(&self) -> &'static Doc {
        &DOC
    }
    fn check(&self, case: &Case, out: &mut Vec<Finding>) {
        let t = case.task.thresholds;
        let through = |w: Work| matches!(w, Work::DeepDrill | Work::PeckDrill | Work::SingleLipDrill);
        let smallest = case
            .plan
            .operations
            .iter()
            .filter(|o| through(o.work) && o.depth > Length::ZERO)
            .min_by(|a, b| a.depth.total_cmp(&b.depth));
        let (Some(op), Some(coolant)) = (smallest, &case.task.machine.coolant) else { return };
        let needed = Length::um(match op.depth.to_mm() {
            d if d < 1.5 => t.filter_small_um,
            d if d < 3.0 => t.filter_um,
            _ => return,
        });
        let of = op.feature.map(|f| name(case, f)).unwrap_or_default();
        let terms = || {
            let name = if op.depth.to_mm() < 1.5 { "filter-small" } else { "filter" };
            vec![
                Term::machine(
                    "f",
                    "fineness of the filter",
                    coolant.filter.map(|f| f.value),
                    coolant.filter.map(|f| f.place),
                ),
                Term::threshold("f_max", needed, name),
            ]
        };
        let finding = match coolant.filter {
            // It never refuses, so silence is no more than a warning.
            None => {
                Finding::new(self.name(), Verdict::Warns, Figure::Length(needed), Figure::Words("not stated".into()))
                    .because(format!("`{of}` of {} wants a filter of {needed}; the machine states none", op.depth))
                    .unless("state the filter in the machine spec")
            }
            Some(filter) if filter.value <= needed => return,
            Some(filter) => {
                Finding::new(self.name(), Verdict::Warns, Figure::Length(needed), Figure::Length(filter.value))
                    .at_most()
                    .at([filter.place])
                    .because(format!("`{of}` of {} wants a filter of {needed}, there is {}", op.depth, filter.value))
                    .unless(format!("a filter of {needed}"))
            }
        };
        out.push(Finding { feature: op.feature, ..finding.by(case, FINE, terms) });
    }
}
