//! Is the other end finished?

use super::prelude::*;
use crate::model::machine::Side;
use crate::planning::methods::turned;
use crate::planning::operation::GapReason;

/// Work at the end that is made last.
#[derive(Clone, Copy, Debug)]
pub(super) struct BackWork;

const DOC: Doc = Doc {
    question: "who makes what lies at the end that is cut off?",
    what: "features of the far end, a fine finish there or a tight length, against the presence of a second spindle and of tools at it",
    formulas: &[],
    why: "without a second spindle the part needs a second operation on another machine",
    source: "common practice, no source",
    trips: include_str!("examples/back-work.trips.turn"),
    passes: include_str!("examples/back-work.passes.turn"),
};

impl Rule for BackWork {
    fn name(&self) -> &'static str {
        "back-work"
    }
    fn doc(&self) -> &'static Doc {
        &DOC
    }
    fn check(&self, case: &Case, out: &mut Vec<Finding>) {
        for gap in &case.plan.gaps {
            if gap.reason == GapReason::NoSecondSpindle {
                out.push(
                    Finding::new(self.name(), Verdict::Refused, Figure::Count(1), Figure::Count(0))
                        .without_margin()
                        .about(gap.feature)
                        .at([case.task.view.part.features[gap.feature].place])
                        .because(format!("`{}` lies at the end that is cut off and there is no sub-spindle: needs a second operation", name(case, gap.feature)))
                        .unless("a sub-spindle, the other end made first, or a second operation"),
                );
            }
        }
        let facing = turned::needs_back_facing(case.task);
        match (&case.task.machine.sub, facing) {
            (None, true) => out.push(
                Finding::new(self.name(), Verdict::Refused, Figure::Count(1), Figure::Count(0))
                        .without_margin()
                    .at([case.task.view.part.length.place])
                    .because("the length or finish of the cut-off side asks for facing and there is no sub-spindle: needs a second operation")
                    .unless("a length tolerance of 0.1 mm or more and Ra 3.2 um on that face, or a sub-spindle"),
            ),
            (Some(_), _) => {
                let count = case.plan.cycle.sides.iter().filter(|s| **s == Side::Sub).count() as u32;
                out.push(
                    Finding::new(self.name(), Verdict::Fits, Figure::Count(count), Figure::Count(count))
                        .without_margin()
                        .because(format!("{count} operation{} at the sub-spindle", if count == 1 { "" } else { "s" })),
                );
            }
            (None, false) => out.push(
                Finding::new(self.name(), Verdict::Fits, Figure::Count(0), Figure::Count(0))
                        .without_margin()
                    .because("nothing at the cut-off side asks for work"),
            ),
        }
    }
}
