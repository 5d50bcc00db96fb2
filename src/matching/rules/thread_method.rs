//! Does any method make the thread?

use super::prelude::*;
use super::pull_back;
use crate::model::machine::AddedMethod;
use crate::planning::operation::{GapReason, Work};

/// Methods of threading.
#[derive(Clone, Copy, Debug)]
pub(super) struct ThreadMethod;

const SHALLOW: &str = "h / P <= k";

const DOC: Doc = Doc {
    question: "does any method on this machine make the thread?",
    what: "whirling where a head is at hand; single-pointing for threads up to 0.65 of the pitch deep; tapping for internal threads; refused only when every method fails",
    formulas: &[SHALLOW],
    why: "a deep screw thread single-pointed takes forty passes and bends the work; a shallow one can always be single-pointed, at the price of time",
    source: "common practice, no source",
    trips: include_str!("examples/thread-method.trips.turn"),
    passes: include_str!("examples/thread-method.passes.turn"),
};

impl Rule for ThreadMethod {
    fn name(&self) -> &'static str {
        "thread-method"
    }
    fn doc(&self) -> &'static Doc {
        &DOC
    }
    fn check(&self, case: &Case, out: &mut Vec<Finding>) {
        for gap in &case.plan.gaps {
            if let GapReason::ThreadMethod { depth_over_pitch } = gap.reason {
                let heads = case.task.machine.options.iter().filter(|o| o.method == Some(AddedMethod::Whirling));
                let remedy = heads.min_by_key(|o| o.price.map(|p| p.value.to_units() as u64)).map_or_else(
                    || "a machine with a whirling head".to_owned(),
                    |o| {
                        let code = case.task.shop.currency.code();
                        let price = o
                            .price
                            .map(|p| format!(", {} {code}", crate::quantity::print::thousands(p.value.to_units())));
                        format!("`{}`{}", o.name, price.unwrap_or_default())
                    },
                );
                out.push(
                    Finding::new(self.name(), Verdict::Refused, Figure::Number(depth_over_pitch), Figure::Number(case.task.thresholds.shallow_thread))
                        .by(case, SHALLOW, || {
                            let Kind::Thread(made) = &case.task.view.part.features[gap.feature].kind else { return Vec::new() };
                            let at = place(case, gap.feature);
                            vec![
                                Term::part("h", "radial depth of the thread", made.depth(), at),
                                Term::part("P", "its pitch", made.pitch, at),
                                Term::threshold("k", case.task.thresholds.shallow_thread, "shallow-thread"),
                            ]
                        })
                        .about(gap.feature)
                        .at([case.task.view.part.features[gap.feature].place])
                        .because(format!(
                            "`{}` is {depth_over_pitch:.2} of its pitch deep, more than single-pointing makes ({}), and no whirling head is at hand",
                            name(case, gap.feature), case.task.thresholds.shallow_thread
                        ))
                        .unless(remedy),
                );
            }
        }
        for thread in &case.plan.threads {
            let others: Vec<String> =
                thread.others.iter().map(|(w, t)| format!("{} would take {t}", w.word())).collect();
            let others = if others.is_empty() { String::new() } else { format!("; {}", others.join(", ")) };
            out.push(
                Finding::new(
                    self.name(),
                    Verdict::Fits,
                    Figure::Words("a method".into()),
                    Figure::Words(thread.method.word().into()),
                )
                .about(thread.feature)
                .because(format!(
                    "`{}`: {} in {}{others}",
                    name(case, thread.feature),
                    thread.method.word(),
                    thread.time
                )),
            );
            // Of passes that draw the part back the rule about that says so.
            let back = case.plan.operations.iter().filter(|o| o.feature == Some(thread.feature));
            let drawn = back.filter_map(|o| pull_back::over_land(case, o)).next().is_some();
            if let Some(doubt) = thread.doubt.filter(|_| !drawn) {
                let (usual, taken) = (Figure::Words("a better way".into()), Figure::Words(thread.method.word().into()));
                out.push(
                    Finding::new(self.name(), Verdict::Warns, usual, taken)
                        .about(thread.feature)
                        .because(format!("`{}`: {}: {doubt}", name(case, thread.feature), thread.method.word()))
                        .unless(match thread.method {
                            Work::Die => "a trial against the gauge, or a thread mill",
                            _ => "a whirling head, or a trial",
                        }),
                );
            }
        }
    }
}
