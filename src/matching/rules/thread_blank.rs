//! Does the blank keep the limits of the thread's class?

use super::prelude::*;
use crate::quantity::Length;

/// The diameter turned beneath a thread against the major limits of its class.
#[derive(Clone, Copy, Debug)]
pub(super) struct ThreadBlank;

const LARGE: &str = "d_high <= d_max";
const SMALL: &str = "d_low >= d_min";
const SPREAD: &str = "Cp = (d_max - d_min) / s >= Cp_min";

const DOC: Doc = Doc {
    question: "does the blank keep the limits of the thread's class?",
    what: "the limits of the turn beneath an external thread against the major diameter of its class; where the thread makes its own blank, the width of the class against the spread of the mode",
    formulas: &[LARGE, SMALL, SPREAD],
    why: "a blank that is too large strips the tool and the gauge, one too small leaves flat crests",
    source: "ISO 965-1, ASME B1.1 (tables of the project)",
    trips: include_str!("examples/thread-blank.trips.turn"),
    passes: include_str!("examples/thread-blank.passes.turn"),
};

impl Rule for ThreadBlank {
    fn name(&self) -> &'static str {
        "thread-blank"
    }
    fn doc(&self) -> &'static Doc {
        &DOC
    }
    fn check(&self, case: &Case, out: &mut Vec<Finding>) {
        let t = case.task.thresholds;
        let part = case.task.view.part;
        for (id, feature) in part.features.iter().enumerate() {
            let Kind::Thread(thread) = &feature.kind else { continue };
            // A rolled thread starts from its pitch diameter.
            let (Some(limits), Some(class)) = (thread.crest_limits(), thread.class.as_deref()) else { continue };
            let made = case.plan.threads.iter().find(|w| w.feature == id).map(|w| w.method);
            if thread.rolled
                || case.task.view.part.is_rolled_afterwards(id)
                || made == Some(crate::planning::operation::Work::RollThread)
            {
                continue;
            }
            let width = limits.max - limits.min;
            let toleranced = part.features.iter().find_map(|f| match &f.kind {
                Kind::Turn(turn) if !turn.thread_blank && turn.zone.overlap(&thread.zone) > Length::um(1.0) => {
                    turn.dia.is_toleranced().then_some((f, turn))
                }
                _ => None,
            });
            if let Some((turned, turn)) = toleranced {
                // Tables are printed to a micrometre.
                let near = Length::um(0.6);
                let (low, high) = (turn.dia.lower(), turn.dia.upper());
                let large = high > limits.max + near;
                let (asked, offered) = if large { (limits.max, high) } else { (limits.min, low) };
                let over = (high - limits.max).max(limits.min - low);
                let verdict = if over <= near { Verdict::Fits } else { Verdict::Warns };
                let finding = Finding::new(self.name(), verdict, Figure::Length(asked), Figure::Length(offered))
                    .margin(Figure::Length(near - over))
                    .by(case, if large { LARGE } else { SMALL }, || {
                        let (size, limit) = if large { ("d_high", "d_max") } else { ("d_low", "d_min") };
                        vec![
                            Term::part(size, "limit of the turn", offered, turn.dia.place),
                            Term::table(
                                limit,
                                "limit of the major diameter in its class, to 0.6 um",
                                asked,
                                "thread limits",
                            ),
                        ]
                    })
                    .about(id)
                    .at([turn.dia.place])
                    .because(format!(
                        "`{}` is turned to {low} .. {high}; `{}` {class} has {} .. {} over its crests",
                        turned.name, feature.name, limits.min, limits.max
                    ));
                out.push(if verdict == Verdict::Fits {
                    finding
                } else {
                    finding.unless("the limits of the class for the turn, or the turn left out")
                });
                continue;
            }
            let Some(spread) = case.task.mode.spread else { continue };
            let cp = width / spread.value.max(Length::um(0.1));
            if cp < t.cp_fits {
                let verdict = if cp >= t.cp_warns { Verdict::Warns } else { Verdict::Refused };
                out.push(
                    Finding::new(self.name(), verdict, Figure::Number(t.cp_fits), Figure::Number(cp))
                        .down_to(Figure::Number(t.cp_warns))
                        .by(case, SPREAD, || {
                            vec![
                                Term::table(
                                    "d_max",
                                    "greatest major diameter of the class",
                                    limits.max,
                                    "thread limits",
                                ),
                                Term::table("d_min", "least major diameter of the class", limits.min, "thread limits"),
                                Term::machine("s", "spread of the mode", spread.value, spread.place),
                                Term::threshold("Cp_min", t.cp_fits, "cp-fits"),
                            ]
                        })
                        .about(id)
                        .at([feature.place])
                        .because(format!(
                            "`{}` {class} has {width} over its crests, the mode spreads {}: Cp {cp:.2}",
                            feature.name, spread.value
                        ))
                        .unless("a coarser class, or a mode with less spread"),
                );
            }
        }
    }
}
