//! Does the tool cut or rub?

use super::prelude::*;
use crate::model::profile::Segment;
use crate::planning::methods::cutting_data;
use crate::planning::operation::{Operation, Work};
use crate::quantity::Length;

/// Least depth of a finishing cut.
#[derive(Clone, Copy, Debug)]
pub(super) struct ChipThickness;

const ONE_CUT: &str = "(D - d) / 2 >= k x r";
const FINISH: &str = "min((D - d) / 2, a) >= k x r";

const DOC: Doc = Doc {
    question: "does the finishing tool cut, or rub?",
    what: "the radial stock that a turning tool takes off against 0.3 of its nose radius",
    formulas: &[ONE_CUT, FINISH],
    why: "a cut thinner than that slides over the metal, hardens it and leaves size and finish to chance",
    source: "common practice, no source",
    trips: include_str!("examples/chip-thickness.trips.turn"),
    passes: include_str!("examples/chip-thickness.passes.turn"),
};

impl Rule for ChipThickness {
    fn name(&self) -> &'static str {
        "chip-thickness"
    }
    fn doc(&self) -> &'static Doc {
        &DOC
    }
    fn check(&self, case: &Case, out: &mut Vec<Finding>) {
        let t = case.task.thresholds;
        let mut worst: Option<(Length, Length, &Operation, &Segment)> = None;
        for op in &case.plan.operations {
            let (Some(feature), true) = (op.feature, matches!(op.work, Work::Turn | Work::FinishTurn)) else {
                continue;
            };
            let Some(segment) = case.task.view.contour.iter().find(|s| s.feature == feature) else { continue };
            let there = (case.plan.blank.size - segment.largest()) / 2.0;
            let depth = if op.work == Work::Turn { there } else { there.min(op.depth) };
            let least = cutting_data::nose_radius(segment.mean()) * t.chip_depth;
            if depth < least && worst.is_none_or(|(d, ..)| depth < d) {
                worst = Some((depth, least, op, segment));
            }
        }
        let Some((depth, least, op, segment)) = worst else { return };
        let feature = segment.feature;
        out.push(
            Finding::new(self.name(), Verdict::Warns, Figure::Length(least), Figure::Length(depth))
                .by(case, if op.work == Work::Turn { ONE_CUT } else { FINISH }, || {
                    let mut terms = vec![
                        Term::plan("D", "bar", case.plan.blank.size, STOCK),
                        Term::part("d", "largest diameter of the stretch", segment.largest(), place(case, feature)),
                        Term::plan(
                            "r",
                            "nose radius",
                            cutting_data::nose_radius(segment.mean()),
                            "usual for the diameter",
                        ),
                        Term::threshold("k", t.chip_depth, "chip-depth"),
                    ];
                    if op.work != Work::Turn {
                        terms.push(Term::plan("a", "depth of the finishing cut", op.depth, "what roughing leaves"));
                    }
                    terms
                })
                .about(feature)
                .because(format!(
                    "`{}` leaves {depth} of depth under the {} bar; a nose radius of {} wants {least}",
                    name(case, feature),
                    case.plan.blank.size,
                    least / t.chip_depth
                ))
                .unless("larger bar, or a sharp ground edge with a smaller radius"),
        );
    }
}
