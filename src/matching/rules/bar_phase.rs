//! Does the bushing guide bar that is not round?

use super::prelude::*;
use crate::model::machine::{Bushing, ModeKind};
use crate::model::part::BarShape;

/// Hexagonal, square and profiled bar in a guide bushing.
#[derive(Clone, Copy, Debug)]
pub(super) struct BarPhase;

const DOC: Doc = Doc {
    question: "does the guide bushing hold bar that is not round?",
    what: "the corners of hexagonal, square and profiled bar against a bushing of its shape: one that turns and keeps in phase with the spindle; a bushing that stands still refuses it",
    formulas: &[],
    why: "flats cannot turn in a bushing that stands still; one that turns must meet the flats of every new bar",
    source: "common practice, no source",
    trips: include_str!("examples/bar-phase.trips.turn"),
    passes: include_str!("examples/bar-phase.passes.turn"),
};

impl Rule for BarPhase {
    fn name(&self) -> &'static str {
        "bar-phase"
    }
    fn doc(&self) -> &'static Doc {
        &DOC
    }
    fn check(&self, case: &Case, out: &mut Vec<Finding>) {
        let blank = &case.plan.blank;
        let shape = match blank.shape {
            BarShape::Round | BarShape::Tube => return,
            BarShape::Hex => "hexagonal",
            BarShape::Square => "square",
            BarShape::Profile => "profiled",
        };
        if case.task.mode.kind != ModeKind::Guided {
            return;
        }
        let asked = Figure::Length(blank.corners);
        let Some(bushing) = case.task.mode.bushing else {
            out.push(not_stated(self.name(), asked, "the kind of guide bushing"));
            return;
        };
        let stands = bushing.value == Bushing::Fixed;
        let verdict = if stands { Verdict::Refused } else { Verdict::Warns };
        let word = Figure::Words(if stands { "a bushing that stands still" } else { "a bushing that turns" }.into());
        let finding = Finding::new(self.name(), verdict, asked, word).at([bushing.place]);
        let bar = format!("{} {shape} bar, {} over its corners,", blank.size, blank.corners);
        out.push(if stands {
            finding
                .because(format!("{bar} cannot turn in a bushing that stands still"))
                .unless("a rotary bushing of that shape, work out of the collet, or round bar with the flats milled")
        } else {
            finding
                .because(format!("{bar} asks for a bushing of its shape that turns in phase with the spindle"))
                .unless("work out of the collet, or round bar with the flats milled")
        });
    }
}
