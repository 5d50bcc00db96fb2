//! Do surfaces run true to each other?

use super::prelude::*;
use crate::model::part::{Demand, DemandKind};
use crate::quantity::Length;

/// Runout and concentricity between features, in one clamping or across the hand-over.
#[derive(Clone, Copy, Debug)]
pub(super) struct Runout;

const ONCE: &str = "t_m <= t";
const ACROSS: &str = "sqrt(t_m^2 + t_s^2) <= t";
const AT_WORST: &str = "t_m + t_s <= t";

const DOC: Doc = Doc {
    question: "do the surfaces run true to each other?",
    what: "runout, total runout and concentricity against the mode's runout where both surfaces are made in one clamping (an eccentric is never: it warns); across the hand-over against the root of squares of the mode's and the sub-spindle's runout, the plain sum shown as the worst case",
    formulas: &[ONCE, ACROSS, AT_WORST],
    why: "what is turned in one clamping runs true to the spindle; what is gripped again runs true to the second collet",
    source: "independent errors add by root of squares; common practice, no source",
    trips: include_str!("examples/runout.trips.turn"),
    passes: include_str!("examples/runout.passes.turn"),
};

impl Rule for Runout {
    fn name(&self) -> &'static str {
        "runout"
    }
    fn doc(&self) -> &'static Doc {
        &DOC
    }
    fn check(&self, case: &Case, out: &mut Vec<Finding>) {
        let kinds = [DemandKind::Runout, DemandKind::TotalRunout, DemandKind::Concentricity, DemandKind::Position];
        let view = case.task.view;
        for demand in view.part.demands.iter().filter(|d| kinds.contains(&d.kind)) {
            let asked = Figure::Length(demand.value);
            if let Some(eccentric) = [Some(demand.feature), demand.datum]
                .into_iter()
                .flatten()
                .find(|f| view.is_eccentric(*f) && !view.part.is_ground(*f))
            {
                out.push(eccentric_finding(case, demand, eccentric, self.name()));
                continue;
            }
            if let Some(finding) = left_to_grinding(case, self.name(), demand) {
                out.push(finding);
                continue;
            }
            let across = demand.datum.is_some_and(|d| on_sub(case, demand.feature) != on_sub(case, d))
                || (demand.datum.is_none() && on_sub(case, demand.feature));
            let (mode, sub) = (case.task.mode.runout, case.task.machine.sub.as_ref().and_then(|s| s.runout));
            let formula = if across { ACROSS } else { ONCE };
            let terms = || {
                let mut terms = vec![
                    Term::machine("t_m", "runout of the mode", mode.map(|r| r.value), mode.map(|r| r.place)),
                    Term::part("t", "what the drawing asks for", demand.value, demand.place),
                ];
                if across {
                    let second =
                        Term::machine("t_s", "runout of the sub-spindle", sub.map(|r| r.value), sub.map(|r| r.place));
                    terms.push(second);
                }
                terms
            };
            let Some(main) = mode else {
                let finding = not_stated(self.name(), asked, "the runout of this mode");
                out.push(finding.by(case, formula, terms).about(demand.feature));
                continue;
            };
            let (likely, worst, words) = match (across, sub) {
                (false, _) => (main.value, main.value, "in one clamping".to_owned()),
                (true, Some(sub)) => (
                    Length::mm(libm::hypot(main.value.to_mm(), sub.value.to_mm())),
                    main.value + sub.value,
                    format!("across the hand-over, {} and {} of the sub-spindle", main.value, sub.value),
                ),
                (true, None) => {
                    let finding = not_stated(self.name(), asked, "the runout of the sub-spindle");
                    out.push(finding.by(case, formula, terms).about(demand.feature));
                    continue;
                }
            };
            // A diametral demand of concentricity or position is twice an offset of the axis, as runout is.
            let verdict = if worst <= demand.value {
                Verdict::Fits
            } else if likely <= demand.value {
                Verdict::Warns
            } else {
                Verdict::Refused
            };
            let to = demand.datum.map(|d| format!(" to `{}`", name(case, d))).unwrap_or_default();
            let words = format!(
                "`{}`{to}: {} {}; {words}: {likely} likely, {worst} at worst",
                name(case, demand.feature),
                demand.kind.word(),
                demand.value
            );
            // A warning is about the worst case, refused is what misses even the likely one.
            let (formula, told) = if verdict == Verdict::Warns { (AT_WORST, worst) } else { (formula, likely) };
            let finding = Finding::new(self.name(), verdict, asked, Figure::Length(told))
                .margin(Figure::Length(demand.value - likely))
                .by(case, formula, terms)
                .about(demand.feature)
                .at([demand.place, main.place])
                .because(words);
            out.push(if verdict == Verdict::Fits {
                finding
            } else if across {
                finding.unless(format!("{worst} allowed, or both surfaces made in one clamping"))
            } else {
                finding.unless(format!("{worst} allowed"))
            });
        }
    }
}

/// An eccentric is turned by the cross slide in step with the spindle: it is as true as that, whatever the runout.
fn eccentric_finding(case: &Case, demand: &Demand, eccentric: FeatureId, rule: &'static str) -> Finding {
    let offered = Figure::Words("slide and spindle in step".into());
    Finding::new(rule, Verdict::Warns, Figure::Length(demand.value), offered)
        .about(demand.feature)
        .at([demand.place])
        .because(format!(
            "`{}`: {} {}; `{}` is turned with the cross slide in step with the spindle: true to that, not to the \
             spindle's runout",
            name(case, demand.feature),
            demand.kind.word(),
            demand.value,
            name(case, eccentric)
        ))
        .unless("a piece measured before the order, or grinding afterwards")
}

/// Whether a feature is made at the sub-spindle.
fn on_sub(case: &Case, feature: FeatureId) -> bool {
    let sides = &case.plan.cycle.sides;
    case.plan
        .operations
        .iter()
        .zip(sides)
        .any(|(o, side)| o.feature == Some(feature) && *side == crate::model::machine::Side::Sub)
}
