//! Is there room for the tool to run out?

use super::prelude::*;
use crate::planning::operation::GapReason;

/// Room beside a thread.
#[derive(Clone, Copy, Debug)]
pub(super) struct RunOutRoom;

const DOC: Doc = Doc {
    question: "is there room beside the thread for the tool to run out?",
    what: "whirling: half the insert + ring face x tan(lead angle); single-pointing: 1.25 pitches on the roomier side; against the room to the next shoulder or thread",
    why: "without room the tool hits the shoulder or cuts into the next form",
    source: "whirling by geometry (ring face common practice, no source); run-out after DIN 76-1, short, from memory",
    trips: include_str!("examples/run-out.trips.turn"),
    passes: include_str!("examples/run-out.passes.turn"),
};

impl Rule for RunOutRoom {
    fn name(&self) -> &'static str {
        "run-out"
    }
    fn doc(&self) -> &'static Doc {
        &DOC
    }
    fn check(&self, case: &Case, out: &mut Vec<Finding>) {
        for gap in &case.plan.gaps {
            if let GapReason::RunOut { needed, offered } = gap.reason {
                out.push(
                    Finding::new(self.name(), Verdict::Refused, Figure::Length(needed), Figure::Length(offered))
                        .about(gap.feature)
                        .because(format!(
                            "`{}`: the ring runs out over {needed}, there are {offered} to the next shoulder or thread",
                            name(case, gap.feature)
                        ))
                        .unless(format!("{needed} of room beside the thread")),
                );
            }
        }
        for thread in &case.plan.threads {
            let Some((needed, offered)) = thread.room else { continue };
            let verdict = if offered >= needed { Verdict::Fits } else { Verdict::Warns };
            let of = name(case, thread.feature);
            let finding = Finding::new(self.name(), verdict, Figure::Length(needed), Figure::Length(offered))
                .about(thread.feature)
                .because(format!("`{of}`, {}: runs out over {needed}, there are {offered}", thread.method.word()));
            out.push(if verdict == Verdict::Fits {
                finding
            } else {
                finding.unless(format!("a relief of {needed} beside the thread"))
            });
        }
    }
}
