//! Can the hole be drilled that deep?

use super::prelude::*;
use crate::formulas::drilling;
use crate::planning::methods::cutting_data;
use crate::planning::operation::{GapReason, Work};
use crate::quantity::Pressure;
use crate::tables::materials::Hazard;

/// Depth class and coolant pressure of deep holes.
#[derive(Clone, Copy, Debug)]
pub(super) struct DeepHole;

const PRESSURE: &str = "p >= k x p_D";
const DEPTH: &str = "l <= l_max";

const DOC: Doc = Doc {
    question: "can the hole be drilled that deep, with the coolant there is?",
    what: "depth over diameter by class (one pass to 3, pecks to 7, pilot and deep-hole drill beyond), and from 7 the coolant pressure that the drill asks for by its diameter and by the depth (all of it from 20 D on, two fifths at 5 D) against what the machine states; a brass or free-cutting material needs none",
    formulas: &[PRESSURE, DEPTH],
    why: "without pressure the chips of a deep hole stay in it and the drill breaks",
    source: "classes read in open pages; pressures common practice, no source",
    trips: include_str!("examples/deep-hole.trips.turn"),
    passes: include_str!("examples/deep-hole.passes.turn"),
};

impl Rule for DeepHole {
    fn name(&self) -> &'static str {
        "deep-hole"
    }
    fn doc(&self) -> &'static Doc {
        &DOC
    }
    fn check(&self, case: &Case, out: &mut Vec<Finding>) {
        for op in &case.plan.operations {
            let how = match op.work {
                Work::DeepDrill => "in one go",
                Work::PeckDrill => "with pecks",
                Work::SingleLipDrill => "with a single-lip drill",
                Work::OscillatingDrill => "oscillating, in one pass",
                _ => continue,
            };
            let Some(feature) = op.feature else { continue };
            let dia = op.depth;
            // The stretch that is drilled: what a wider bore takes away is none of it.
            let depth = match (&case.task.view.part.features[feature].kind, op.zone) {
                (Kind::Bore(_), Some(zone)) => zone.length(),
                _ => continue,
            };
            let ratio = depth / dia;
            let of = name(case, feature);
            let single_lip = op.work == Work::SingleLipDrill || ratio > 40.0;
            let Some(deep) = drilling::coolant_pressure_needed(dia, single_lip) else { continue };
            let share = cutting_data::pressure_share(case.task, ratio);
            let needed = deep * share;
            let short_chips = case.task.view.part.material.iso_513 == 'N'
                && !case.task.view.part.material.hazards.contains(&Hazard::LongChips);
            let stated = case.task.machine.coolant.as_ref().and_then(|c| c.pressure);
            let terms = || {
                let steps = "steps by the drill's diameter, solid or single-lip";
                let by_depth = "`pressure-share` at `pressure-shallow`, all of it from `pressure-deep` on";
                vec![
                    Term::machine("p", "coolant pressure", stated.map(|p| p.value), stated.map(|p| p.place)),
                    Term::rule("k", "share of it that the depth asks for", share, by_depth),
                    Term::rule("p_D", "pressure that the drill asks for in a deep hole", deep, steps),
                ]
            };
            match stated {
                _ if short_chips => out.push(
                    Finding::new(
                        self.name(),
                        Verdict::Fits,
                        Figure::Number(ratio),
                        Figure::Words("short chips".into()),
                    )
                    .about(feature)
                    .because(format!("`{of}` is {ratio:.0} D deep in a short-chip material, {how}")),
                ),
                None => {
                    let finding = not_stated(self.name(), Figure::Pressure(needed), "the coolant pressure");
                    out.push(finding.by(case, PRESSURE, terms).about(feature));
                }
                Some(p) => {
                    // Pecks stand in for pressure down to half of it, at the price of time; oscillation breaks the chip
                    // without any.
                    let least = if op.work == Work::OscillatingDrill {
                        Pressure::ZERO
                    } else {
                        needed * case.task.thresholds.pressure_limit
                    };
                    let limit = if op.work == Work::OscillatingDrill { needed } else { least };
                    let verdict = if p.value >= needed {
                        Verdict::Fits
                    } else if p.value >= least {
                        Verdict::Warns
                    } else {
                        Verdict::Refused
                    };
                    let finding =
                        Finding::new(self.name(), verdict, Figure::Pressure(needed), Figure::Pressure(p.value))
                            .down_to(Figure::Pressure(limit))
                            .by(case, PRESSURE, terms)
                            .about(feature)
                            .at([p.place])
                            .because(format!(
                                "`{of}` of {dia} is {ratio:.0} D deep, {how}: asks for {needed}, there is {}",
                                p.value
                            ));
                    out.push(if verdict == Verdict::Fits {
                        finding
                    } else {
                        finding.unless(format!("coolant at {needed}, or an oscillating drilling unit"))
                    });
                }
            }
        }
        for gap in &case.plan.gaps {
            if let GapReason::TooDeep { ratio, limit } = gap.reason {
                out.push(
                    Finding::new(self.name(), Verdict::Refused, Figure::Number(ratio), Figure::Number(limit))
                        .by(case, DEPTH, || {
                            vec![
                                Term::part("l", "depth over diameter", ratio, place(case, gap.feature)),
                                Term::rule("l_max", "deepest class of drills", limit, "common practice, no source"),
                            ]
                        })
                        .about(gap.feature)
                        .because(format!(
                            "`{}` is {ratio:.0} D deep; no class of drill is planned beyond {limit:.0} D",
                            name(case, gap.feature)
                        ))
                        .unless("drilling from both ends, or a larger diameter"),
                );
            }
        }
    }
}
