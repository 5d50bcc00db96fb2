//! Does the collet hold against the push?

use super::prelude::*;
use crate::model::machine::Side;
use crate::planning::hand_over;
use crate::quantity::Force;

/// Axial force of drilling and broaching against the grip.
#[derive(Clone, Copy, Debug)]
pub(super) struct AxialPush;

const HOLDS: &str = "F x S <= mu x C";

const DOC: Doc = Doc {
    question: "does the collet hold the part against drilling and broaching?",
    what: "push at the typical force x 1.5 against friction (0.135, dry collet) x clamping force, at the main spindle, and at the sub-spindle where its ejector is no stop behind the part",
    formulas: &[HOLDS],
    why: "a part pushed back into its collet loses its length",
    source: "safety 1.5 after the practice of VDI 3106, from memory; friction common practice, no source",
    trips: include_str!("examples/axial-push.trips.turn"),
    passes: include_str!("examples/axial-push.passes.turn"),
};

impl Rule for AxialPush {
    fn name(&self) -> &'static str {
        "axial-push"
    }
    fn doc(&self) -> &'static Doc {
        &DOC
    }
    fn check(&self, case: &Case, out: &mut Vec<Finding>) {
        let t = case.task.thresholds;
        let main = case
            .plan
            .operations
            .iter()
            .zip(&case.plan.cycle.sides)
            .filter(|(_, s)| **s == Side::Main)
            .map(|(o, _)| o.push)
            .fold(Force::ZERO, Force::max);
        let sub = case.plan.hand_over.as_ref().map_or(Force::ZERO, |h| h.push);
        let stop = case.task.machine.sub.as_ref().is_some_and(|s| hand_over::has_stop(s, case.task.view));
        let clamps = [
            (Side::Main, main, case.task.mode.clamp),
            (Side::Sub, sub, case.task.machine.sub.as_ref().and_then(|s| s.clamp)),
        ];
        for (side, push, clamp) in clamps {
            if push <= Force::ZERO {
                continue;
            }
            let asked = push * t.push_safety;
            if side == Side::Sub && stop {
                out.push(
                    Finding::new(self.name(), Verdict::Fits, Figure::Force(asked), Figure::Words("a stop".into()))
                        .because(format!("{push} of push at the sub-spindle: the stop behind the part takes it")),
                );
                continue;
            }
            let what = format!("the clamping force of the {} spindle", side.word());
            let terms = || {
                vec![
                    Term::plan(
                        "F",
                        "push of the work into the collet",
                        push,
                        "after Kienzle, typical force, sharp edge",
                    ),
                    Term::threshold("S", t.push_safety, "push-safety"),
                    Term::threshold("mu", t.clamp_friction, "clamp-friction"),
                    Term::machine("C", "clamping force", clamp.map(|c| c.value), clamp.map(|c| c.place)),
                ]
            };
            let Some(clamp) = clamp else {
                out.push(not_stated(self.name(), Figure::Force(asked), &what).by(case, HOLDS, terms));
                continue;
            };
            let holds = clamp.value * t.clamp_friction;
            let verdict = if asked <= holds { Verdict::Fits } else { Verdict::Refused };
            let finding = Finding::new(self.name(), verdict, Figure::Force(asked), Figure::Force(holds))
                .by(case, HOLDS, terms)
                .at([clamp.place])
                .because(format!(
                    "{push} of push at the {} spindle, {asked} with safety; {} of clamping holds {holds}",
                    side.word(),
                    clamp.value
                ));
            out.push(if verdict == Verdict::Fits {
                finding
            } else {
                // Behind the bar in the main spindle there is nothing to stand against.
                let stop = if side == Side::Sub { " a stop behind the part," } else { "" };
                finding.unless(format!("{} of clamping,{stop} or a smaller feed", asked / t.clamp_friction))
            });
        }
    }
}
