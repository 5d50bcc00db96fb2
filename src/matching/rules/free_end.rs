//! Does the free end whip?

use super::prelude::*;
use crate::model::machine::{ModeKind, Side};
use crate::planning::bar_speed;
use crate::planning::operation::Work;
use crate::planning::slender::{self, FreeEnd as Free};
use crate::quantity::{RotationalSpeed, Time};

/// Critical speed of the turned piece in front of what holds it.
#[derive(Clone, Copy, Debug)]
pub(super) struct FreeEnd;

const WHIP: &str = "n <= k x n_c";
const SUPPORT: &str = "L / d <= l_max";

const DOC: Doc = Doc {
    question: "does the turned end whip in front of bushing or collet?",
    what: "the speed that the turning of the last third asks for against 0.8 of the first critical speed of the free end, held at one end; the plan keeps to it; beyond 20 diameters in front of a bushing the end wants support",
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
        let t = case.task.thresholds;
        // Shorter ends are stiff; out of a free collet the bend decides long before.
        let Some(Free { end, critical, limit }) = slender::free_end(case.task) else { return };
        let (length, dia, ratio) = (end.length, end.dia, end.ratio());
        let (speed, lost) = asked(case, limit);
        let whip = || {
            let caps = "cutting speed, held to the caps of mode, spindle and bar";
            vec![
                Term::plan("n", "what the turning of the last third asks for", speed, caps),
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
                        "{length} of {dia} in front: critical at {critical}, good for {limit}, where the last third asks \
                         for {speed}; planned with that, about {lost} longer"
                    ))
                    .unless("the sub-spindle to support the end, its time added to the cycle"),
            );
        } else if case.task.mode.kind != ModeKind::Supported && ratio > t.free_end {
            out.push(
                Finding::new(self.name(), Verdict::Warns, Figure::Number(ratio), Figure::Number(t.free_end))
                    .by(case, SUPPORT, || {
                        vec![
                            Term::part("L", "length in front", length, case.task.view.part.length.place),
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

/// The fastest that the turning of the last third asks for within what spindle and bar allow, and about how much longer a piece
/// takes where the free end holds it back.
fn asked(case: &Case, limit: RotationalSpeed) -> (RotationalSpeed, Time) {
    let bar = bar_speed::guidance(case.task, &case.plan.blank).map(|g| g.allowed);
    let caps = [case.task.speed_cap(Side::Main), bar];
    let part = case.task.view.part;
    let (mut fastest, mut lost) = (RotationalSpeed::ZERO, Time::ZERO);
    for op in case.plan.operations.iter().filter(|o| matches!(o.work, Work::Turn | Work::RoughTurn | Work::FinishTurn))
    {
        let Some(zone) = op.zone.or(op.feature.map(|f| part.stretch(&part.features[f].kind))) else { continue };
        if !slender::is_turned_last(case.task, zone) {
            continue;
        }
        let wanted = caps.iter().flatten().fold(op.wanted, |n, cap| n.min(*cap));
        fastest = fastest.max(wanted);
        if wanted > limit {
            lost += op.cutting * (1.0 - op.speed / wanted);
        }
    }
    (fastest, lost)
}
