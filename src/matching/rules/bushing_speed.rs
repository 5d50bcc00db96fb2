//! Does the bar turn too fast in its bushing?

use super::prelude::*;
use crate::formulas::cutting;
use crate::model::machine::{Bushing, ModeKind};
use crate::quantity::Velocity;

/// Speed of the bar in the guide bushing.
#[derive(Clone, Copy, Debug)]
pub(super) struct BushingSpeed;

const RUBS: &str = "v = pi x D x n / 1000 <= v_max";

const DOC: Doc = Doc {
    question: "does the guide bushing stand the speed?",
    what: "the fastest turning operation against the mode's speed; in a bushing that does not turn, the bar's surface speed against 70 m/min",
    formulas: &[RUBS],
    why: "a bar that rubs in a fixed bushing seizes; the plan already caps the speed, so a bushing costs time",
    source: "common practice, no source",
    trips: include_str!("examples/bushing-speed.trips.turn"),
    passes: include_str!("examples/bushing-speed.passes.turn"),
};

impl Rule for BushingSpeed {
    fn name(&self) -> &'static str {
        "bushing-speed"
    }
    fn doc(&self) -> &'static Doc {
        &DOC
    }
    fn check(&self, case: &Case, out: &mut Vec<Finding>) {
        if case.task.mode.kind != ModeKind::Guided {
            return;
        }
        let Some(bushing) = case.task.mode.bushing else {
            out.push(not_stated(self.name(), Figure::Words("a kind of bushing".into()), "the kind of guide bushing"));
            return;
        };
        if bushing.value != Bushing::Fixed {
            return;
        }
        let turning = case.plan.operations.iter().filter(|o| !case.plan.tools[o.tool].live);
        let Some(n) = turning.map(|o| o.speed).max_by(|a, b| a.total_cmp(b)) else { return };
        let speed = cutting::surface_speed(n, case.plan.blank.size);
        let limit = Velocity::m_per_min(case.task.thresholds.bushing_surface_speed);
        let verdict = if speed <= limit { Verdict::Fits } else { Verdict::Refused };
        let finding = Finding::new(self.name(), verdict, Figure::SurfaceSpeed(limit), Figure::SurfaceSpeed(speed))
            .at_most()
            .by(case, RUBS, || {
                vec![
                    Term::plan("D", "bar", case.plan.blank.size, STOCK),
                    Term::plan("n", "fastest turning", n, "cutting speed, held to the caps of mode and spindle"),
                    Term::threshold("v_max", limit, "bushing-surface-speed"),
                ]
            })
            .at([bushing.place])
            .because(format!("{} bar at {n} rubs in the fixed bushing with {speed}", case.plan.blank.size));
        out.push(if verdict == Verdict::Fits {
            finding
        } else {
            let slower = n * (limit / speed);
            finding.unless(format!("a rotary bushing, or turning at {slower} at most"))
        });
    }
}
