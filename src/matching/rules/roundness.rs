//! Is the part round enough, with what the bar passes on?

use super::prelude::*;
use crate::model::part::DemandKind;
use crate::planning::blank;
use crate::planning::deflection::{Capability, SizedBy};
use crate::quantity::Length;

/// Roundness and cylindricity against the mode and the bar.
#[derive(Clone, Copy, Debug)]
pub(super) struct Roundness;

const COLLET: &str = "r_m <= R";
const BUSHING: &str = "sqrt(r_m^2 + (k x r_b)^2) <= R";
const AT_WORST: &str = "r_m + k x r_b <= R";

/// Of cylindricity; without a bushing the bar passes nothing on.
const CYLINDER: &str = "sqrt(r_m^2 + (k x r_b)^2 + (f + a x L / 1000)^2) <= R";
const CYLINDER_AT_WORST: &str = "r_m + k x r_b + f + a x L / 1000 <= R";

const DOC: Doc = Doc {
    question: "is the part round enough, and cylindrical, with what a guide bushing copies from the bar?",
    what: "the demand against the mode's roundness and the bar's share (0.3 of the bar's own roundness, which is half its IT grade unless stated); of cylindricity also against the taper, which is what is left of the bend of piece or boring bar and 0.03 mm/m by the axes: held where the plain sum is within, with a warning where only the root of squares is",
    formulas: &[COLLET, BUSHING, AT_WORST, CYLINDER, CYLINDER_AT_WORST],
    why: "in a guide bushing the bar is the slideway and its ovality is copied; the plan buys the cheapest grade that holds the demand. A long bore may be round everywhere and yet be a cone",
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
            let t = case.task.thresholds;
            let cylinder = (demand.kind == DemandKind::Cylindricity).then(|| Taper::of(case, demand.feature));
            let formula = match cylinder {
                Some(_) => CYLINDER,
                None if case.task.guided() => BUSHING,
                None => COLLET,
            };
            let terms = || {
                let stated = case.task.mode.roundness;
                let mut terms = vec![
                    Term::machine("r_m", "roundness of the mode", stated.map(|r| r.value), stated.map(|r| r.place)),
                    Term::part("R", "what the drawing asks for", demand.value, demand.place),
                ];
                if case.task.guided() || cylinder.is_some() {
                    let by = "half its IT grade, unless the spec states it; nought out of a collet";
                    let roundness = if case.task.guided() { case.plan.blank.roundness } else { Length::ZERO };
                    terms.push(Term::threshold("k", t.bar_roundness_share, "bar-roundness-share"));
                    terms.push(Term::plan("r_b", "roundness of the bar that it passes on", roundness, by));
                }
                if let Some(taper) = &cylinder {
                    let by = "beam theory, less what a taper in the program takes out";
                    let at = place(case, demand.feature);
                    terms.push(Term::plan("f", "change of the bend along it", taper.bend, by));
                    terms.push(Term::threshold("a", t.axis_taper_mm_per_m, "axis-taper"));
                    terms.push(Term::part("L", "its length", taper.length, at));
                }
                terms
            };
            let Some((own, copied)) = blank::roundness(case.task, &case.plan.blank) else {
                let asked = Figure::Length(demand.value);
                let finding = not_stated(self.name(), asked, "the roundness of this mode");
                out.push(finding.by(case, formula, terms).about(demand.feature));
                continue;
            };
            let taper = cylinder.as_ref().map_or(Length::ZERO, |c| c.bend + c.by_axes);
            let round = libm::hypot(own.to_mm(), copied.to_mm());
            let likely = Length::mm(libm::hypot(round, taper.to_mm()));
            let worst = own + copied + taper;
            let verdict = if worst <= demand.value {
                Verdict::Fits
            } else if likely <= demand.value {
                Verdict::Warns
            } else {
                Verdict::Refused
            };
            let mut words = format!(
                "`{}`: {} {}; the mode leaves {own}",
                name(case, demand.feature),
                demand.kind.word(),
                demand.value
            );
            if copied > Length::ZERO {
                words += &format!(" and h{} bar adds {copied}", case.plan.blank.grade);
            }
            if let Some(taper) = &cylinder {
                let bend = match taper.bend > Length::ZERO {
                    true => format!("{} by the bend and ", taper.bend),
                    false => String::new(),
                };
                words += &format!(", taper {bend}{} by the axes over {}", taper.by_axes, taper.length);
            }
            if copied > Length::ZERO || cylinder.is_some() {
                words += &format!(": {likely} likely, {worst} at worst");
            }
            // A warning is about the worst case, refused is what misses even the likely one.
            let (formula, told) = match (verdict, &cylinder) {
                (Verdict::Warns, Some(_)) => (CYLINDER_AT_WORST, worst),
                (Verdict::Warns, None) => (AT_WORST, worst),
                _ => (formula, likely),
            };
            let finding = Finding::new(self.name(), verdict, Figure::Length(demand.value), Figure::Length(told))
                .margin(Figure::Length(demand.value - likely))
                .by(case, formula, terms)
                .about(demand.feature)
                .at([demand.place])
                .because(words);
            out.push(if verdict == Verdict::Fits {
                finding
            } else {
                let better_bar = copied > Length::ZERO && own + taper < demand.value;
                let inside = matches!(case.task.view.feature(demand.feature).kind, Kind::Bore(_));
                let after = if inside { "honing afterwards" } else { "grinding afterwards" };
                let bar = match better_bar {
                    true => format!(", bar rounder than h{} gives", case.plan.blank.grade),
                    false => String::new(),
                };
                finding.unless(format!("{worst} allowed{bar}, or {after}"))
            });
        }
    }
}

/// How far a surface may be from a cylinder by being a cone, on the radius.
struct Taper {
    /// What is left of the bend of piece or boring bar.
    bend: Length,
    by_axes: Length,
    length: Length,
}

impl Taper {
    fn of(case: &Case, feature: FeatureId) -> Taper {
        // A boring bar stands out by the same all along its bore: its spring is a size, no taper.
        let turned = |c: &&Capability| c.feature == feature && matches!(c.sized_by, SizedBy::Turning);
        let bends = case.plan.capabilities.iter().filter(turned).map(|c| c.bend_left);
        let length = case.task.view.part.stretch(&case.task.view.feature(feature).kind).length();
        let by_axes = length * (case.task.thresholds.axis_taper_mm_per_m / 1000.0);
        Taper { bend: bends.max_by(Length::total_cmp).unwrap_or(Length::ZERO), by_axes, length }
    }
}
