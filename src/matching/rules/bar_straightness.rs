//! Is the bar straight enough?

use super::prelude::*;
use crate::quantity::Length;

/// Straightness of the bar that the spec asks for.
#[derive(Clone, Copy, Debug)]
pub(super) struct BarStraightness;

const STRAIGHT: &str = "s <= s_max";

const DOC: Doc = Doc {
    question: "is the bar straight enough for the way it is held?",
    what: "the straightness of the bar, where the spec states one, against 0.5 mm/m in a guide bushing and 1 mm/m elsewhere",
    formulas: &[STRAIGHT],
    why: "a bowed bar knocks in its channel at speed, binds in a bushing, and runs out where its surface stays as it was bought",
    source: "common practice, no source",
    trips: include_str!("examples/bar-straightness.trips.turn"),
    passes: include_str!("examples/bar-straightness.passes.turn"),
};

impl Rule for BarStraightness {
    fn name(&self) -> &'static str {
        "bar-straightness"
    }
    fn doc(&self) -> &'static Doc {
        &DOC
    }
    fn check(&self, case: &Case, out: &mut Vec<Finding>) {
        let Some(stock) = &case.task.view.part.stock else { return };
        let Some(straightness) = stock.straightness else { return };
        let t = case.task.thresholds;
        let limit = if case.task.guided() { t.straightness_guided } else { t.straightness_collet };
        let stated = straightness.to_mm_per_m();
        let verdict = if stated <= limit + 1e-9 { Verdict::Fits } else { Verdict::Warns };
        let mode = case.task.mode.kind.word();
        let finding =
            Finding::new(self.name(), verdict, Figure::Length(Length::mm(stated)), Figure::Length(Length::mm(limit)))
                .by(case, STRAIGHT, || {
                    let name = if case.task.guided() { "straightness-guided" } else { "straightness-collet" };
                    vec![
                        Term::part("s", "bow of the bar over a metre", Length::mm(stated), stock.place),
                        Term::threshold("s_max", Length::mm(limit), name),
                    ]
                })
                .at([stock.place])
                .because(format!("bar straight to {straightness}; {mode} asks for {limit} mm/m"));
        out.push(if verdict == Verdict::Fits {
            finding
        } else {
            finding.unless(format!("bar straight to {limit} mm/m, ground or straightened, or a lower speed"))
        });
    }
}
