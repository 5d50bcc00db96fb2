//! Does the free end whip?

use super::super::geometry;
use super::prelude::*;
use crate::formulas::beam::{self, Ends};
use crate::model::machine::ModeKind;
use crate::planning::operation::Work;
use crate::quantity::{Length, RotationalSpeed};

/// Critical speed of the turned piece in front of what holds it.
#[derive(Clone, Copy, Debug)]
pub(super) struct FreeEnd;

const WHIP: &str = "n <= k x n_c";
const SUPPORT: &str = "L / d <= l_max";

const DOC: Doc = Doc {
    question: "does the turned end whip in front of bushing or collet?",
    what: "the speed at which the last stretch is turned against 0.8 of the first critical speed of the free end, held at one end; beyond 20 diameters in front of a bushing the end wants support",
    formulas: &[WHIP, SUPPORT],
    why: "a long thin end that turns near its critical speed whips, chatters and bends",
    source: "beam theory (Euler-Bernoulli); share and 20 D common practice, no source",
    trips: include_str!("examples/free-end.trips.turn"),
    passes: include_str!("examples/free-end.passes.turn"),
};

impl Rule for FreeEnd {
    fn name(&self) -> &'static str {
        "free-end"
    }
    fn doc(&self) -> &'static Doc {
        &DOC
    }
    fn check(&self, case: &Case, out: &mut Vec<Finding>) {
        let (view, t) = (case.task.view, case.task.thresholds);
        let Some((whole, _)) = geometry::slender(view, case.task.first) else { return };
        let (length, dia, ratio) = (whole.length, whole.dia, whole.ratio());
        if ratio < 10.0 || case.task.mode.kind == ModeKind::Collet {
            // Shorter ends are stiff; out of a free collet the bend decides long before.
            return;
        }
        let held = case.task.mode.kind == ModeKind::Supported;
        let m = &view.part.material;
        let ends = if held { Ends::HeldAndSupported } else { Ends::Overhung };
        let Ok(critical) = beam::critical_speed(length, dia, Length::ZERO, m.modulus_gpa, m.density_kg_m3, ends) else {
            return;
        };
        // With the whole piece out, what lies in the last third is still being turned.
        let last = |f: FeatureId| {
            case.task.zone_from_first(view.part.stretch(&view.part.features[f].kind)).end > length * (2.0 / 3.0)
        };
        let speed = case
            .plan
            .operations
            .iter()
            .filter(|o| matches!(o.work, Work::Turn | Work::RoughTurn | Work::FinishTurn))
            .filter(|o| o.feature.is_some_and(last))
            .map(|o| o.speed)
            .fold(RotationalSpeed::ZERO, RotationalSpeed::max);
        let limit = critical * t.whip_share;
        let whip = || {
            vec![
                Term::plan(
                    "n",
                    "turning of the last third",
                    speed,
                    "cutting speed, held to the caps of mode and spindle",
                ),
                Term::threshold("k", t.whip_share, "whip-share"),
                Term::plan(
                    "n_c",
                    "first critical speed of the free end",
                    critical,
                    "Euler-Bernoulli, held at one end or both",
                ),
            ]
        };
        if speed > limit {
            out.push(
                Finding::new(self.name(), Verdict::Warns, Figure::Speed(speed), Figure::Speed(limit))
                    .by(case, WHIP, whip)
                    .because(format!(
                        "{length} of {dia} in front turn at {speed}; the free end is critical at {critical}, \
                         work to {limit}"
                    ))
                    .unless(format!("turning the last third at {limit} at most, or the sub-spindle to support it")),
            );
        } else if !held && ratio > t.free_end {
            out.push(
                Finding::new(self.name(), Verdict::Warns, Figure::Number(ratio), Figure::Number(t.free_end))
                    .by(case, SUPPORT, || {
                        vec![
                            Term::part("L", "length in front", length, view.part.length.place),
                            Term::plan("d", "plain bar that bends as much", dia, "L^3 / d^4 as the sum over the steps"),
                            Term::threshold("l_max", t.free_end, "free-end"),
                        ]
                    })
                    .because(format!(
                        "{length} of {dia} in front are {ratio:.1} D, unsupported beyond {} D (critical at {critical})",
                        t.free_end
                    ))
                    .unless("the sub-spindle to support the end, its time added to the cycle"),
            );
        } else {
            out.push(
                Finding::new(self.name(), Verdict::Fits, Figure::Speed(speed), Figure::Speed(limit))
                    .by(case, WHIP, whip)
                    .because(format!("{length} of {dia} in front turn at {speed}, critical at {critical}")),
            );
        }
    }
}
