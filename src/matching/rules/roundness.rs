//! Is the part round enough, with what the bar passes on?

use super::prelude::*;
use crate::model::part::DemandKind;
use crate::planning::blank;
use crate::quantity::Length;

/// Roundness and cylindricity against the mode and the bar.
#[derive(Clone, Copy, Debug)]
pub(super) struct Roundness;

const DOC: Doc = Doc {
    question: "is the part round enough, with what a guide bushing copies from the bar?",
    what: "the demand against the mode's roundness and the bar's share (0.3 of the bar's own roundness, which is half its IT grade unless stated): held where the plain sum is within, with a warning where only the root of squares is",
    why: "in a guide bushing the bar is the slideway and its ovality is copied; the plan buys the cheapest grade that holds the demand",
    source: "common practice, no source; independent errors add by root of squares",
    trips: include_str!("examples/roundness.trips.turn"),
    passes: include_str!("examples/roundness.passes.turn"),
};

impl Rule for Roundness {
    fn name(&self) -> &'static str {
        "roundness"
    }
    fn doc(&self) -> &'static Doc {
        &DOC
    }
    fn check(&self, case: &Case, out: &mut Vec<Finding>) {
        let wanted = case.task.view.part.demands.iter();
        for demand in wanted.filter(|d| matches!(d.kind, DemandKind::Roundness | DemandKind::Cylindricity)) {
            let Some((own, copied)) = blank::roundness(case.task, &case.plan.blank) else {
                let asked = Figure::Length(demand.value);
                out.push(not_stated(self.name(), asked, "the roundness of this mode").about(demand.feature));
                continue;
            };
            let likely = Length::mm(libm::hypot(own.to_mm(), copied.to_mm()));
            let worst = own + copied;
            let verdict = if worst <= demand.value {
                Verdict::Fits
            } else if likely <= demand.value {
                Verdict::Warns
            } else {
                Verdict::Refused
            };
            let grade = case.plan.blank.grade;
            let words = if copied > Length::ZERO {
                format!(
                    "`{}`: {} {}; the mode leaves {own} and h{grade} bar adds {copied}: {likely} likely, {worst} at worst",
                    name(case, demand.feature),
                    demand.kind.word(),
                    demand.value
                )
            } else {
                format!(
                    "`{}`: {} {}; the mode leaves {own}",
                    name(case, demand.feature),
                    demand.kind.word(),
                    demand.value
                )
            };
            let finding = Finding::new(self.name(), verdict, Figure::Length(demand.value), Figure::Length(likely))
                .at_most()
                .about(demand.feature)
                .at([demand.place])
                .because(words);
            out.push(if verdict == Verdict::Fits {
                finding
            } else {
                finding.unless(format!("{worst} allowed, or bar rounder than h{grade} gives"))
            });
        }
    }
}
