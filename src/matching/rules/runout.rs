//! Do surfaces run true to each other?

use super::prelude::*;
use crate::model::part::{Demand, DemandKind};
use crate::planning::operation::Work;
use crate::planning::support;
use crate::quantity::Length;

/// Runout and concentricity between features, in one clamping or across the hand-over.
#[derive(Clone, Copy, Debug)]
pub(super) struct Runout;

const ONCE: &str = "t_m <= t";
const ACROSS: &str = "sqrt(t_m^2 + t_s^2) <= t";
const AT_WORST: &str = "t_m + t_s <= t";
/// Of drilled or reamed holes; in one clamping there is no second runout.
const DRILLED: &str = "sqrt(t_m^2 + t_s^2 + (w x L / 1000)^2) <= t";
const DRILLED_AT_WORST: &str = "t_m + t_s + w x L / 1000 <= t";

const DOC: Doc = Doc {
    question: "do the surfaces run true to each other?",
    what: "runout, total runout and concentricity against the mode's runout where both surfaces are made in one clamping (an eccentric is never: it warns); across the hand-over against the root of squares of the mode's and the sub-spindle's runout, the plain sum shown as the worst case; a hole that is drilled or reamed also wanders, by 1 um for each mm of its depth",
    formulas: &[ONCE, ACROSS, AT_WORST, DRILLED, DRILLED_AT_WORST],
    why: "what is turned in one clamping runs true to the spindle; what is gripped again runs true to the second collet; a drill goes where its point leads it, and a reamer after the drill",
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
            let at_main: Vec<FeatureId> =
                [Some(demand.feature), demand.datum].into_iter().flatten().filter(|f| !on_sub(case, *f)).collect();
            let mode = support::runout(case.task, &at_main);
            let sub = case.task.machine.sub.as_ref().and_then(|s| s.runout);
            let drilled = drilled_depth(case, demand);
            let formula = match drilled {
                Some(_) => DRILLED,
                None if across => ACROSS,
                None => ONCE,
            };
            let terms = || {
                let mut terms = vec![
                    Term::machine("t_m", "runout of the mode", mode.map(|r| r.value), mode.map(|r| r.place)),
                    Term::part("t", "what the drawing asks for", demand.value, demand.place),
                ];
                if across {
                    let second =
                        Term::machine("t_s", "runout of the sub-spindle", sub.map(|r| r.value), sub.map(|r| r.place));
                    terms.push(second);
                } else if drilled.is_some() {
                    terms.push(Term::plan("t_s", "runout of a second clamping", Length::ZERO, "made in one clamping"));
                }
                if let Some(depth) = drilled {
                    terms.push(Term::threshold("w", case.task.thresholds.drill_wander_mm_per_m, "drill-wander"));
                    terms.push(Term::plan(
                        "L",
                        "depth over which it wanders",
                        depth,
                        "what is drilled or reamed; half of it where the mouth is bored true before the reamer",
                    ));
                }
                terms
            };
            let Some(main) = mode else {
                let finding = not_stated(self.name(), asked, "the runout of this mode");
                out.push(finding.by(case, formula, terms).about(demand.feature));
                continue;
            };
            let (likely, worst, mut words) = match (across, sub) {
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
            let (mut likely, mut worst) = (likely, worst);
            if let Some(depth) = drilled {
                let wander = depth * (case.task.thresholds.drill_wander_mm_per_m / 1000.0);
                likely = Length::mm(libm::hypot(likely.to_mm(), wander.to_mm()));
                worst += wander;
                words += &format!(", and {wander} that the drill wanders over {depth}");
            }
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
            let (formula, told) = match verdict {
                Verdict::Warns if drilled.is_some() => (DRILLED_AT_WORST, worst),
                Verdict::Warns => (AT_WORST, worst),
                _ => (formula, likely),
            };
            let finding = Finding::new(self.name(), verdict, asked, Figure::Length(told))
                .margin(Figure::Length(demand.value - likely))
                .by(case, formula, terms)
                .about(demand.feature)
                .at([demand.place, main.place])
                .because(words);
            out.push(if verdict == Verdict::Fits {
                finding
            } else if drilled.is_some() {
                finding.unless(format!(
                    "{worst} allowed, or the hole bored through instead of reamed, or turned outside on the bore"
                ))
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

/// How deep the surfaces of a demand are drilled or reamed without a boring bar that would true them to the spindle; a mouth
/// that is bored true before the reamer counts for a share of the depth.
fn drilled_depth(case: &Case, demand: &Demand) -> Option<Length> {
    let operations = &case.plan.operations;
    let depths = [Some(demand.feature), demand.datum].into_iter().flatten().filter_map(|f| {
        let Kind::Bore(b) = &case.task.view.feature(f).kind else { return None };
        let done = |work: Work| operations.iter().any(|o| o.feature == Some(f) && o.work == work);
        match (done(Work::Bore), done(Work::Ream)) {
            (true, false) => None,
            (true, true) => Some(b.zone.length() * case.task.thresholds.trued_wander),
            (false, _) => Some(b.zone.length()),
        }
    });
    let depth: Length = depths.fold(Length::ZERO, |sum, depth| sum + depth);
    (depth > Length::ZERO).then_some(depth)
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
