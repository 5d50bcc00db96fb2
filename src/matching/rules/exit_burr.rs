//! Who takes the burr off inside?

use super::prelude::*;
use crate::model::machine::Side;
use crate::planning::operation::Work;
use crate::quantity::Angle;

/// Holes that break out aslant into a bore.
#[derive(Clone, Copy, Debug)]
pub(super) struct ExitBurr;

const LEAN: &str = "max(90 - b, b - 90) <= b_max";

const DOC: Doc = Doc {
    question: "who takes off the burr where a hole breaks into a bore?",
    what: "the angle at which a hole leaves through the wall of a bore against 8 deg, and whether a later operation of that bore takes the burr off",
    formulas: &[LEAN],
    why: "a drill that leaves through a slope bends a long burr into the bore, where no hand reaches it",
    source: "common practice, no source",
    trips: include_str!("examples/exit-burr.trips.turn"),
    passes: include_str!("examples/exit-burr.passes.turn"),
};

impl Rule for ExitBurr {
    fn name(&self) -> &'static str {
        "exit-burr"
    }
    fn doc(&self) -> &'static Doc {
        &DOC
    }
    fn check(&self, case: &Case, out: &mut Vec<Finding>) {
        let slope = Angle::deg(case.task.thresholds.drill_slope_deg);
        let operations = &case.plan.operations;
        for (i, op) in operations.iter().enumerate().filter(|(_, o)| o.work == Work::CrossDrill) {
            let Some(feature) = op.feature else { continue };
            let Kind::Hole(hole) = &case.task.view.part.features[feature].kind else { continue };
            let Some(bore) = hole.into else { continue };
            let lean = (Angle::deg(90.0) - hole.angle.value).abs();
            if lean <= slope {
                continue;
            }
            let later = operations.iter().enumerate().find(|(j, o)| {
                o.feature == Some(bore) && (o.side == op.side && *j > i || o.side == Side::Sub && op.side == Side::Main)
            });
            let verdict = if later.is_some() { Verdict::Fits } else { Verdict::Warns };
            let finding = Finding::new(self.name(), verdict, Figure::Angle(lean), Figure::Angle(slope))
                .by(case, LEAN, || {
                    vec![
                        Term::part("b", "angle of the hole to the axis", hole.angle.value, place(case, feature)),
                        Term::threshold("b_max", slope, "drill-slope"),
                    ]
                })
                .about(feature)
                .at([case.task.view.part.features[feature].place]);
            let (of, into) = (name(case, feature), name(case, bore));
            let count = op.count;
            out.push(match later {
                Some((_, o)) => Finding { margin: None, ..finding }.because(format!(
                    "`{of}` breaks {lean} aslant into `{into}`: {} there takes the burr off",
                    o.work.word()
                )),
                None => finding
                    .because(format!(
                        "`{of}` breaks {lean} aslant into `{into}` and nothing follows there ({count} a piece)"
                    ))
                    .unless("deburring of the bore, 2 to 6 s each, or the bore finished after the hole"),
            });
        }
    }
}
