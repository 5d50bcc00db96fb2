//! Does the drill enter the slope?

use super::super::geometry;
use super::prelude::*;
use crate::planning::operation::Work;
use crate::quantity::Angle;

/// Drills that meet the surface aslant.
#[derive(Clone, Copy, Debug)]
pub(super) struct DrillSlope;

const LEAN: &str = "b <= b_max";

const DOC: Doc = Doc {
    question: "does the drill enter where the surface leans?",
    what: "the angle between the drill and the surface's normal, cones included: from 8 deg a flat-point drill at half the feed, as planned, beyond 30 deg a milled start warns",
    formulas: &[LEAN],
    why: "a drill on a slope slides down before it cuts, bends and breaks; a milled start costs a tool and 3 to 8 s each",
    source: "common practice, no source",
    trips: include_str!("examples/drill-slope.trips.turn"),
    passes: include_str!("examples/drill-slope.passes.turn"),
};

impl Rule for DrillSlope {
    fn name(&self) -> &'static str {
        "drill-slope"
    }
    fn doc(&self) -> &'static Doc {
        &DOC
    }
    fn check(&self, case: &Case, out: &mut Vec<Finding>) {
        let t = case.task.thresholds;
        let (slope, milled) = (Angle::deg(t.drill_slope_deg), Angle::deg(t.milled_start_deg));
        for op in case.plan.operations.iter().filter(|o| o.work == Work::CrossDrill) {
            let Some(feature) = op.feature else { continue };
            let Kind::Hole(hole) = &case.task.view.part.features[feature].kind else { continue };
            let lean = geometry::lean_on_surface(case.task.view, hole);
            if lean <= slope {
                continue;
            }
            let verdict = if lean <= milled + Angle::deg(1e-9) { Verdict::Fits } else { Verdict::Warns };
            let finding = Finding::new(self.name(), verdict, Figure::Angle(lean), Figure::Angle(milled))
                .by(case, LEAN, || {
                    vec![
                        Term::part("b", "angle between drill and the surface's normal", lean, place(case, feature)),
                        Term::threshold("b_max", milled, "milled-start"),
                    ]
                })
                .about(feature);
            let of = name(case, feature);
            out.push(if verdict == Verdict::Fits {
                finding.because(format!("`{of}` meets a surface inclined {lean}: a flat-point drill at half the feed"))
            } else {
                finding
                    .because(format!(
                        "`{of}` meets a surface inclined {lean}: planned with a flat-point drill at half \
                         the feed; beyond {milled} a milled start is the safe way"
                    ))
                    .unless("an end mill before the drill: one more place and 3 to 8 s each")
            });
        }
    }
}
