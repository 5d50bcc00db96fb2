//! Do the chips break?

use super::prelude::*;
use crate::planning::operation::Work;
use crate::quantity::{Pressure, Time};
use crate::tables::materials::Hazard;

/// Long chips from bores and grooves.
#[derive(Clone, Copy, Debug)]
pub(super) struct ChipControl;

const BREAKS: &str = "p >= p_min";

const DOC: Doc = Doc {
    question: "do the chips break, or does somebody clear them?",
    what: "long-chipping material that is bored, drilled or grooved against coolant at 70 bar; below it the plan counts 2 min an hour, usual are 1 to 5",
    formulas: &[BREAKS],
    why: "long chips wind round tool and part, scratch it and stop the machine",
    source: "common practice, no source",
    trips: include_str!("examples/chip-control.trips.turn"),
    passes: include_str!("examples/chip-control.passes.turn"),
};

impl Rule for ChipControl {
    fn name(&self) -> &'static str {
        "chip-control"
    }
    fn doc(&self) -> &'static Doc {
        &DOC
    }
    fn check(&self, case: &Case, out: &mut Vec<Finding>) {
        let material = &case.task.view.part.material;
        if !material.hazards.contains(&Hazard::LongChips) {
            return;
        }
        let inside = |w: Work| {
            matches!(
                w,
                Work::Drill
                    | Work::DeepDrill
                    | Work::PeckDrill
                    | Work::SingleLipDrill
                    | Work::Bore
                    | Work::Groove
                    | Work::InternalGroove
                    | Work::FaceGroove
            )
        };
        let Some(op) = case.plan.operations.iter().find(|o| inside(o.work)) else { return };
        let enough = Pressure::bar(case.task.thresholds.chip_pressure_bar);
        let stated = case.task.machine.coolant.as_ref().and_then(|c| c.pressure);
        if stated.is_some_and(|p| p.value >= enough) {
            return;
        }
        let cycle = &case.plan.cycle;
        let an_hour = Time::minutes(60.0 * (cycle.chips / cycle.programmed.max(Time::s(1e-3))));
        let there = stated.map_or_else(|| "none is stated".to_owned(), |p| format!("there are {}", p.value));
        let offered = stated.map_or(Figure::Words("not stated".into()), |p| Figure::Pressure(p.value));
        // The chip of a plastic bends and does not break, whatever hits it.
        let is_plastic = material.family == "plastic";
        let help = if is_plastic {
            "no pressure breaks them, but they are blown away".to_owned()
        } else {
            format!("{enough} of coolant break them")
        };
        let mut finding = Finding::new(self.name(), Verdict::Warns, Figure::Pressure(enough), offered)
            .by(case, BREAKS, || {
                vec![
                    Term::machine("p", "coolant pressure", stated.map(|p| p.value), stated.map(|p| p.place)),
                    Term::threshold("p_min", enough, "chip-pressure"),
                ]
            })
            .at([case.task.view.part.material_place])
            .because(format!(
                "{} makes long chips ({}): {help}, {there}; {an_hour} an hour to clear them are in the cycle, usual are 1 \
                 to 5 min",
                material.name,
                op.work.word()
            ))
            .unless(if is_plastic {
                "a sharp edge with much rake, and an air blast"
            } else {
                "coolant at the edge with pressure, chip breakers, or an oscillating feed"
            });
        finding.feature = op.feature;
        out.push(finding);
    }
}
