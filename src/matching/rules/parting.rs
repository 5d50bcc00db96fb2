//! Does the cut-off blade reach the middle?

use super::prelude::*;
use crate::planning::operation::Work;
use crate::quantity::Length;

/// Reach of the cut-off blade over its width.
#[derive(Clone, Copy, Debug)]
pub(super) struct Parting;

const REACH: &str = "(D - d) / 2 <= k x w";

const DOC: Doc = Doc {
    question: "does the cut-off blade reach the middle of the bar?",
    what: "from the bar's surface to the bore, or the axis, against 8 times the width of the blade planned",
    formulas: &[REACH],
    why: "a blade that stands out further bends: the face comes out hollow and the blade breaks",
    source: "8 times the width in steel: published parting pages of 2011, read; widths by bar common practice, no source",
    trips: include_str!("examples/parting.trips.turn"),
    passes: include_str!("examples/parting.passes.turn"),
};

impl Rule for Parting {
    fn name(&self) -> &'static str {
        "parting"
    }
    fn doc(&self) -> &'static Doc {
        &DOC
    }
    fn check(&self, case: &Case, out: &mut Vec<Finding>) {
        let blank = &case.plan.blank;
        let Some(at) = case.plan.operations.iter().position(|o| o.work == Work::CutOff) else { return };
        let view = case.task.view;
        let z = if case.task.first == crate::model::part::End::Front { view.length } else { Length::ZERO };
        // A bore that is there before the cut-off leaves only a ring to part.
        let drilled = view.part.features.iter().enumerate().any(|(id, f)| {
            matches!(&f.kind, Kind::Bore(b) if b.through)
                && case.plan.operations[..at]
                    .iter()
                    .any(|o| o.feature == Some(id) && o.side == crate::model::machine::Side::Main)
        });
        let bore = if drilled { view.bore_at(z).max(blank.bore) } else { blank.bore };
        let reach = (blank.corners - bore) / 2.0;
        let limit = blank.cut_off_width * case.task.thresholds.parting_reach;
        if reach > limit {
            let wider = Length::mm(libm::ceil((reach / limit * blank.cut_off_width).to_mm() * 2.0) / 2.0);
            out.push(
                Finding::new(self.name(), Verdict::Warns, Figure::Length(reach), Figure::Length(limit))
                    .by(case, REACH, || {
                        vec![
                            Term::plan("D", "bar over its corners", blank.corners, STOCK),
                            Term::plan("d", "bore that is there before the cut-off", bore, "the order of operations"),
                            Term::threshold("k", case.task.thresholds.parting_reach, "parting-reach"),
                            Term::table("w", "width of the blade", blank.cut_off_width, "cut-off widths by bar"),
                        ]
                    })
                    .because(format!(
                        "the blade of {} reaches {reach} into the bar, {limit} is what it stands",
                        blank.cut_off_width
                    ))
                    .unless(format!("a blade of {wider}, which takes more bar, or the bore drilled through first")),
            );
        }
    }
}
