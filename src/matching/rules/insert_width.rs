//! Does the insert cover the starts?

use super::prelude::*;
use crate::planning::operation::GapReason;

/// Whirling insert against starts x pitch.
#[derive(Clone, Copy, Debug)]
pub(super) struct InsertWidth;

const STARTS: &str = "z x P <= w";
const START: &str = "P <= w";
const RING: &str = "D <= D_r";

const DOC: Doc = Doc {
    question: "does the whirling insert cover all starts in one pass?",
    what: "starts x pitch against the widest insert: narrower, the thread takes as many passes as starts; narrower than one pitch, it cannot be whirled. The ring must pass over the bar",
    formulas: &[STARTS, START, RING],
    why: "one pass is why whirling pays",
    source: "geometry",
    trips: include_str!("examples/insert-width.trips.turn"),
    passes: include_str!("examples/insert-width.passes.turn"),
};

impl Rule for InsertWidth {
    fn name(&self) -> &'static str {
        "insert-width"
    }
    fn doc(&self) -> &'static Doc {
        &DOC
    }
    fn check(&self, case: &Case, out: &mut Vec<Finding>) {
        for gap in &case.plan.gaps {
            let (needed, offered, words, formula) = match gap.reason {
                GapReason::InsertWidth { needed, offered } => (needed, offered, "wants an insert of", START),
                GapReason::RingBore { needed, offered } => (needed, offered, "stands in bar of", RING),
                _ => continue,
            };
            out.push(
                Finding::new(self.name(), Verdict::Refused, Figure::Length(needed), Figure::Length(offered))
                    .by(case, formula, || match formula {
                        RING => vec![
                            Term::plan("D", "bar over its corners", needed, STOCK),
                            Term::machine("D_r", "bore of the whirling ring", offered, None),
                        ],
                        _ => vec![
                            Term::part("P", "pitch of the thread", needed, place(case, gap.feature)),
                            Term::machine("w", "widest insert", offered, None),
                        ],
                    })
                    .about(gap.feature)
                    .because(format!("`{}` {words} {needed}, the head takes {offered}", name(case, gap.feature)))
                    .unless(format!("a whirling head for {needed}")),
            );
        }
        for thread in &case.plan.threads {
            let Some(fit) = &thread.whirl else { continue };
            let terms = || {
                let (pitch, starts) = match &case.task.view.part.features[thread.feature].kind {
                    Kind::Thread(t) => (t.pitch, t.starts),
                    _ => (fit.width_needed, 1),
                };
                let at = place(case, thread.feature);
                let head = &case.task.machine.options[fit.attachment];
                vec![
                    Term::part("z", "starts of the thread", starts, at),
                    Term::part("P", "pitch of the thread", pitch, at),
                    Term::machine("w", "widest insert", fit.width_offered, head.insert_width.map(|w| w.place)),
                ]
            };
            let Some(offered) = fit.width_offered else {
                out.push(
                    not_stated(self.name(), Figure::Length(fit.width_needed), "the widest whirling insert")
                        .by(case, STARTS, terms)
                        .about(thread.feature),
                );
                continue;
            };
            let verdict = if fit.passes == 1 { Verdict::Fits } else { Verdict::Warns };
            // Refused only where it is too narrow for a single start.
            let start = match &case.task.view.part.features[thread.feature].kind {
                Kind::Thread(t) => t.pitch,
                _ => fit.width_needed,
            };
            let finding = Finding::new(self.name(), verdict, Figure::Length(fit.width_needed), Figure::Length(offered))
                .down_to(Figure::Length(start))
                .by(case, STARTS, terms)
                .about(thread.feature);
            let of = name(case, thread.feature);
            out.push(if fit.passes == 1 {
                finding.because(format!(
                    "`{of}` needs {} for all starts, inserts go to {offered}: one pass",
                    fit.width_needed
                ))
            } else {
                finding
                    .because(format!(
                        "`{of}` needs {} for all starts, inserts go to {offered}: {} passes",
                        fit.width_needed, fit.passes
                    ))
                    .unless(format!("an insert of {}", fit.width_needed))
            });
        }
    }
}
