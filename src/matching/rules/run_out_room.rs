//! Is there room for the tool to run out?

use super::prelude::*;
use crate::planning::operation::{GapReason, RunOut, RunOutBound};
use crate::quantity::Length;

/// Room beside a thread.
#[derive(Clone, Copy, Debug)]
pub(super) struct RunOutRoom;

const RING: &str = "w_i / 2 <= w";
const SINGLE: &str = "k x P_h <= w";

const DOC: Doc = Doc {
    question: "is there room beside the thread for the tool to run out?",
    what: "whirling: half the insert, which is backed off beside the thread (the ring itself passes over the blank); single-pointing: 1.25 leads where the tool goes out, at a shoulder or before the next thread (a relief within the thread counts); against the room to the next shoulder or thread, or what is left of the thread's own blank where it ends inside of it. Beside a guide bushing the bar is turned as far as the tool runs out before the thread is cut",
    formulas: &[RING, SINGLE],
    why: "without room the tool hits the shoulder or cuts into the next form",
    source: "whirling by geometry; run-out after DIN 76-1, short, from memory",
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
                        .by(case, RING, || vec![insert(needed * 2.0), room(case, gap.feature, offered)])
                        .about(gap.feature)
                        .because(format!(
                            "`{}`: the insert runs out over {needed}, there are {offered} to the next shoulder or thread",
                            name(case, gap.feature)
                        ))
                        .unless(format!("{needed} of room beside the thread")),
                );
            }
        }
        for thread in &case.plan.threads {
            let Some(RunOut { needed, offered, bound }) = thread.room else { continue };
            let verdict = if offered >= needed { Verdict::Fits } else { Verdict::Warns };
            let of = name(case, thread.feature);
            let finding = Finding::new(self.name(), verdict, Figure::Length(needed), Figure::Length(offered))
                .by(case, if thread.whirl.is_some() { RING } else { SINGLE }, || {
                    let t = case.task.thresholds;
                    let at = place(case, thread.feature);
                    let (pitch, lead) = match &case.task.view.part.features[thread.feature].kind {
                        Kind::Thread(made) => (made.pitch, made.lead()),
                        _ => (Length::ZERO, Length::ZERO),
                    };
                    let mut terms = match &thread.whirl {
                        Some(fit) => {
                            vec![insert(if fit.passes == 1 { fit.width_needed } else { pitch })]
                        }
                        None => vec![
                            Term::threshold("k", t.thread_run_out, "thread-run-out"),
                            Term::part("P_h", "lead of the thread", lead, at),
                        ],
                    };
                    terms.push(match bound {
                        RunOutBound::Shoulder => room(case, thread.feature, offered),
                        RunOutBound::OwnBlank => Term::part("w", "what is left of its blank beside it", offered, at),
                    });
                    terms
                })
                .about(thread.feature)
                .because(match (bound, verdict) {
                    (RunOutBound::OwnBlank, Verdict::Warns) => format!(
                        "`{of}`, {}: ends {offered} inside its own blank and runs out over {needed}: it is cut on through the \
                         rest of the blank",
                        thread.method.word()
                    ),
                    (RunOutBound::OwnBlank, _) => {
                        format!("`{of}`, {}: runs out over {needed} in its own blank, there are {offered}", thread.method.word())
                    }
                    _ => format!("`{of}`, {}: runs out over {needed}, there are {offered}", thread.method.word()),
                });
            out.push(match (bound, verdict) {
                (_, Verdict::Fits) => finding,
                (RunOutBound::OwnBlank, _) => finding.unless(format!(
                    "the thread drawn to the end of its blank, a relief of {needed}, or a longer blank"
                )),
                _ => {
                    finding.unless(format!("a relief of {needed} beside the thread, or so much of it left incomplete"))
                }
            });
        }
    }
}

fn room(case: &Case, thread: FeatureId, there: Length) -> Term {
    Term::part("w", "room to the next shoulder or thread", there, place(case, thread))
}

fn insert(width: Length) -> Term {
    Term::plan("w_i", "width of the insert", width, "all starts at once, or one a pass")
}
