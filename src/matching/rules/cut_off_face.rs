//! What does the cut-off leave on the face?

use super::prelude::*;
use crate::model::part::{DemandKind, End};
use crate::planning::methods::turned;
use crate::planning::operation::Work;
use crate::quantity::Length;

/// Pip and hollow of a face that nothing holds while it is cut off.
#[derive(Clone, Copy, Debug)]
pub(super) struct CutOffFace;

const HOLLOW: &str = "w x k <= t";
const PIP: &str = "p <= T";

const DOC: Doc = Doc {
    question: "what does the cut-off leave on a face that nobody finishes?",
    what: "where no second spindle holds the piece: the pip of the cut-off, to 0.3 mm, against the tolerance of the length; its hollow, 0.03 mm for each mm of the blade, against a flatness or squareness asked for",
    formulas: &[HOLLOW, PIP],
    why: "the piece drops before the blade is through and keeps a pip; a blade that yields leaves the face hollow",
    source: "common practice, no source",
    trips: include_str!("examples/cut-off-face.trips.turn"),
    passes: include_str!("examples/cut-off-face.passes.turn"),
};

impl Rule for CutOffFace {
    fn name(&self) -> &'static str {
        "cut-off-face"
    }
    fn doc(&self) -> &'static Doc {
        &DOC
    }
    fn check(&self, case: &Case, out: &mut Vec<Finding>) {
        if case.task.machine.sub.is_some() && case.plan.hand_over.is_some() {
            return;
        }
        let (view, t) = (case.task.view, case.task.thresholds);
        let width = case.plan.blank.cut_off_width;
        let hollow = width * t.cut_off_hollow;
        let end = case.task.first.other();
        for demand in &view.part.demands {
            let form = matches!(demand.kind, DemandKind::Flatness | DemandKind::SquareTo);
            let face = matches!(&view.part.features[demand.feature].kind, Kind::Face(f) if f.end == end);
            if form && face && demand.value < hollow {
                out.push(
                    Finding::new(self.name(), Verdict::Refused, Figure::Length(demand.value), Figure::Length(hollow))
                        .at_most()
                        .by(case, HOLLOW, || {
                            vec![
                                Term::table("w", "width of the cut-off blade", width, "cut-off widths by bar"),
                                Term::threshold("k", t.cut_off_hollow, "cut-off-hollow"),
                                Term::part("t", "form that the drawing asks of the face", demand.value, demand.place),
                            ]
                        })
                        .about(demand.feature)
                        .at([demand.place])
                        .because(format!(
                            "`{}`: {} {}; a blade of {width} leaves the face hollow by {hollow}: needs a second operation",
                            name(case, demand.feature),
                            demand.kind.word(),
                            demand.value
                        ))
                        .unless(format!("{hollow} allowed, a sub-spindle, or the other end made first")),
                );
            }
        }
        let Some(at) = case.plan.operations.iter().position(|o| o.work == Work::CutOff) else { return };
        let z = if end == End::Front { Length::ZERO } else { view.length };
        let through = view.part.features.iter().enumerate().any(|(id, f)| {
            matches!(&f.kind, Kind::Bore(b) if b.through)
                && case.plan.operations[..at].iter().any(|o| o.feature == Some(id))
        });
        if case.plan.blank.bore > Length::ZERO || (through && view.bore_at(z) > Length::ZERO) {
            // A ring leaves no pip on the axis.
            return;
        }
        if turned::needs_back_facing(case.task) {
            // What must be faced is told by the rule of back work.
            return;
        }
        let Some(tolerance) = view.part.length.tolerance() else { return };
        let pip = Length::mm(t.cut_off_pip_mm);
        if tolerance < pip {
            out.push(
                Finding::new(self.name(), Verdict::Warns, Figure::Length(tolerance), Figure::Length(pip))
                    .at_most()
                    .by(case, PIP, || {
                        vec![
                            Term::threshold("p", pip, "cut-off-pip"),
                            Term::part("T", "tolerance of the length", tolerance, view.part.length.place),
                        ]
                    })
                    .at([view.part.length.place])
                    .because(format!(
                        "nothing holds the piece at the cut-off: a pip to {pip} stays on the axis, the length has {tolerance}"
                    ))
                    .unless("a pip allowed on the drawing, a sub-spindle, or facing by a second operation"),
            );
        }
    }
}
