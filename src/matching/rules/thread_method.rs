//! Does any method make the thread?

use super::prelude::*;
use super::pull_back;
use crate::model::machine::AddedMethod;
use crate::planning::operation::{GapReason, Work};

/// Methods of threading.
#[derive(Clone, Copy, Debug)]
pub(super) struct ThreadMethod;

const DEEP: &str = "h <= h_max";

const DOC: Doc = Doc {
    question: "does any method on this machine make the thread?",
    what: "whirling where a head is at hand; single-pointing for threads up to 0.65 of the pitch deep, for steeper forms to a depth of 2 mm, in tough material 1 mm, half of it in a slender piece out of the collet; tapping for internal threads; refused only when every method fails",
    formulas: &[DEEP],
    why: "a deep flank bends work and tool and wears the point; what is shallow, or cuts easily, can always be single-pointed, at the price of time",
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
            if let GapReason::ThreadMethod { needed, offered } = gap.reason {
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
                    Finding::new(self.name(), Verdict::Refused, Figure::Length(needed), Figure::Length(offered))
                        .by(case, DEEP, || {
                            let by = "the greater of shallow-thread pitches and, by material, deep-thread or deep-thread-tough, \
                                      half of it in a slender piece out of the collet";
                            vec![
                                Term::part("h", "radial depth of the thread", needed, place(case, gap.feature)),
                                Term::plan("h_max", "depth that a single point cuts here", offered, by),
                            ]
                        })
                        .about(gap.feature)
                        .at([case.task.view.part.features[gap.feature].place])
                        .because(format!(
                            "`{}` is {needed} deep, more than the {offered} that a single point cuts here, and no whirling head is at hand",
                            name(case, gap.feature)
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
                            _ if is_inner(case, thread.feature) => {
                                "a place for a countersink, a drill ground with a 90 deg step, or the mouth deburred by hand"
                            }
                            Work::Die => "a trial against the gauge, or a thread mill",
                            _ => "a whirling head, or a trial",
                        }),
                );
            }
        }
    }
}

fn is_inner(case: &Case, thread: FeatureId) -> bool {
    matches!(&case.task.view.feature(thread).kind, Kind::Thread(t) if t.internal)
}
