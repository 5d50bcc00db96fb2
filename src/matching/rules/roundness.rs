//! Is the part round enough, with what the bar passes on?

use super::prelude::*;
use crate::model::part::DemandKind;
use crate::planning::blank;
use crate::quantity::Length;

/// Roundness and cylindricity against the mode and the bar.
#[derive(Clone, Copy, Debug)]
pub(super) struct Roundness;

const COLLET: &str = "r_m <= R";
const BUSHING: &str = "sqrt(r_m^2 + (k x r_b)^2) <= R";
const AT_WORST: &str = "r_m + k x r_b <= R";

const DOC: Doc = Doc {
    question: "is the part round enough, with what a guide bushing copies from the bar?",
    what: "the demand against the mode's roundness and the bar's share (0.3 of the bar's own roundness, which is half its IT grade unless stated): held where the plain sum is within, with a warning where only the root of squares is",
    formulas: &[COLLET, BUSHING, AT_WORST],
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
            if let Some(finding) = left_to_grinding(case, self.name(), demand) {
                out.push(finding);
                continue;
            }
            let formula = if case.task.guided() { BUSHING } else { COLLET };
            let terms = || {
                let (t, stated) = (case.task.thresholds, case.task.mode.roundness);
                let mut terms = vec![
                    Term::machine("r_m", "roundness of the mode", stated.map(|r| r.value), stated.map(|r| r.place)),
                    Term::part("R", "roundness that the drawing asks for", demand.value, demand.place),
                ];
                if case.task.guided() {
                    let by = "half its IT grade, unless the spec states it";
                    terms.push(Term::threshold("k", t.bar_roundness_share, "bar-roundness-share"));
                    terms.push(Term::plan("r_b", "roundness of the bar", case.plan.blank.roundness, by));
                }
                terms
            };
            let Some((own, copied)) = blank::roundness(case.task, &case.plan.blank) else {
                let asked = Figure::Length(demand.value);
                let finding = not_stated(self.name(), asked, "the roundness of this mode");
                out.push(finding.by(case, formula, terms).about(demand.feature));
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
            // A warning is about the worst case, refused is what misses even the likely one.
            let (formula, told) = if verdict == Verdict::Warns { (AT_WORST, worst) } else { (formula, likely) };
            let finding = Finding::new(self.name(), verdict, Figure::Length(demand.value), Figure::Length(told))
                .margin(Figure::Length(demand.value - likely))
                .by(case, formula, terms)
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
