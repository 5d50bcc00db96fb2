//! Does the tool reach off the axis?

use super::prelude::*;
use crate::model::figure::Place;
use crate::planning::places::{Obstacle, travel_needed};
use crate::quantity::Length;

/// Offsets against Y travel.
#[derive(Clone, Copy, Debug)]
pub(super) struct OffAxis;

const TRAVEL: &str = "y <= Y";

const DOC: Doc = Doc {
    question: "does a live tool reach a feature off the axis?",
    what: "offset plus tool radius against the travel in Y; holes in an end face are reached by X and the spindle's rotary axis",
    formulas: &[TRAVEL],
    why: "without Y a flat wider than its cutter or an offset hole cannot be made in one clamping",
    source: "the machine's own figures",
    trips: include_str!("examples/off-axis.trips.turn"),
    passes: include_str!("examples/off-axis.passes.turn"),
};

impl Rule for OffAxis {
    fn name(&self) -> &'static str {
        "off-axis"
    }
    fn doc(&self) -> &'static Doc {
        &DOC
    }
    fn check(&self, case: &Case, out: &mut Vec<Finding>) {
        for (i, obstacle) in &case.plan.assignment.obstacles {
            let tool = &case.plan.tools[*i];
            let feature = tool.features.first().copied();
            let of = feature.map(|f| name(case, f)).unwrap_or_default();
            if let Obstacle::OffAxis { needed, offered } = obstacle {
                let words = if *offered > Length::ZERO {
                    format!("`{of}` lies {needed} off the axis with its tool's radius; Y travels {offered}")
                } else {
                    format!(
                        "`{of}` lies {needed} off the axis with its tool's radius; no Y axis at the {} spindle",
                        tool.side.word()
                    )
                };
                let mut finding =
                    Finding::new(self.name(), Verdict::Refused, Figure::Length(*needed), Figure::Length(*offered))
                        .by(case, TRAVEL, || terms(*needed, *offered, None))
                        .because(words)
                        .unless(format!("a Y travel of {needed}"));
                finding.feature = feature;
                out.push(finding);
            }
        }
        for (tool, placed) in case.plan.tools.iter().zip(&case.plan.assignment.placed) {
            let Some(placed) = placed else { continue };
            let carrier = &case.task.machine.carriers[case.plan.assignment.rows[placed.row].carrier];
            if let (Some(needed), Some(travel)) = (travel_needed(case.task, tool, carrier), carrier.y_travel) {
                let mut finding =
                    Finding::new(self.name(), Verdict::Fits, Figure::Length(needed), Figure::Length(travel.value))
                        .by(case, TRAVEL, || terms(needed, travel.value, Some(travel.place)))
                        .because(format!("{needed} off the axis, Y of `{}` travels {}", carrier.name, travel.value));
                finding.feature = tool.features.first().copied();
                out.push(finding);
            }
        }
    }
}

fn terms(needed: Length, travel: Length, at: Option<Place>) -> Vec<Term> {
    vec![
        Term::plan("y", "offset of the feature with its tool's radius", needed, TOOL),
        Term::machine("Y", "travel to either side in Y", travel, at),
    ]
}
