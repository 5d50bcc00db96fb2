//! Has the tap room below the thread?

use super::prelude::*;
use crate::planning::operation::Work;
use crate::quantity::Length;

/// Depth below a tapped blind thread.
#[derive(Clone, Copy, Debug)]
pub(super) struct TapDepth;

const LEAD: &str = "l x P + a <= h";

const DOC: Doc = Doc {
    question: "has the tap room below the full thread?",
    what: "what the hole leaves below the full thread against the tap's lead of 2.5 pitches and 1 mm; a bottoming tap wants two pitches, less refuses where nothing but a tap makes the thread",
    formulas: &[LEAD],
    why: "a tap that meets the bottom breaks",
    source: "common practice, no source",
    trips: include_str!("examples/tap-depth.trips.turn"),
    passes: include_str!("examples/tap-depth.passes.turn"),
};

impl Rule for TapDepth {
    fn name(&self) -> &'static str {
        "tap-depth"
    }
    fn doc(&self) -> &'static Doc {
        &DOC
    }
    fn check(&self, case: &Case, out: &mut Vec<Finding>) {
        let t = case.task.thresholds;
        for thread in case.plan.threads.iter().filter(|made| made.method == Work::Tap) {
            let Some((needed, offered)) = thread.tap_room else { continue };
            let Kind::Thread(made) = &case.task.view.part.features[thread.feature].kind else { continue };
            let bottoming = made.pitch * t.bottoming_tap;
            let other = thread.others.first();
            let verdict = if offered >= needed {
                Verdict::Fits
            } else if offered >= bottoming || other.is_some() {
                Verdict::Warns
            } else {
                Verdict::Refused
            };
            let limit = if other.is_some() { needed } else { bottoming.min(needed) };
            let of = name(case, thread.feature);
            let finding = Finding::new(self.name(), verdict, Figure::Length(needed), Figure::Length(offered))
                .down_to(Figure::Length(limit))
                .by(case, LEAD, || {
                    let at = place(case, thread.feature);
                    vec![
                        Term::threshold("l", t.tap_lead, "tap-lead"),
                        Term::part("P", "pitch of the thread", made.pitch, at),
                        Term::threshold("a", Length::mm(t.tap_chips_mm), "tap-chips"),
                        Term::part("h", "what the hole leaves below the thread", offered, at),
                    ]
                })
                .about(thread.feature)
                .because(format!("`{of}`: the tap's lead wants {needed} below the thread, the hole leaves {offered}"));
            out.push(match (verdict, other) {
                (Verdict::Fits, _) => finding,
                (_, Some((work, time))) if offered < bottoming => {
                    finding.unless(format!("{} instead, {time}, or a deeper hole", work.word()))
                }
                (Verdict::Warns, _) => finding.unless("a bottoming tap, or a deeper hole"),
                _ => finding.unless(format!("a hole {} deeper, or a shorter thread", bottoming - offered)),
            });
        }
    }
}
