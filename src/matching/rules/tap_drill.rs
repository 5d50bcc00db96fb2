//! Is the tap drill right?

use super::prelude::*;
use crate::quantity::Length;
use crate::tables::iso286;

/// The hole beneath an internal thread against the minor limits of its class.
#[derive(Clone, Copy, Debug)]
pub(super) struct TapDrill;

const LARGE: &str = "D_high <= D_max";
const SMALL: &str = "D_low >= D_min";

const DOC: Doc = Doc {
    question: "is the hole beneath an internal thread within its class?",
    what: "the hole that the drill leaves (its size to IT 11 above), or the limits of the bore, against the minor diameter of the thread's class",
    formulas: &[LARGE, SMALL],
    why: "too small a hole breaks taps, too large a one leaves half a thread",
    source: "ISO 965-1, ASME B1.1 (tables of the project); a drill cuts to IT 11 oversize: common practice, no source",
    trips: include_str!("examples/tap-drill.trips.turn"),
    passes: include_str!("examples/tap-drill.passes.turn"),
};

impl Rule for TapDrill {
    fn name(&self) -> &'static str {
        "tap-drill"
    }
    fn doc(&self) -> &'static Doc {
        &DOC
    }
    fn check(&self, case: &Case, out: &mut Vec<Finding>) {
        let part = case.task.view.part;
        for (id, feature) in part.features.iter().enumerate() {
            let Kind::Thread(thread) = &feature.kind else { continue };
            let (Some(limits), Some(class)) = (thread.core_limits(), thread.class.as_deref()) else { continue };
            let bore = part.features.iter().find_map(|f| match &f.kind {
                Kind::Bore(b) if b.zone.overlap(&thread.zone) > Length::um(1.0) => Some(b),
                _ => None,
            });
            let (low, high) = match bore {
                Some(b) if b.dia.is_toleranced() => (b.dia.lower(), b.dia.upper()),
                _ => {
                    let drill = bore.map_or(thread.minor, |b| b.dia.nominal);
                    (drill, drill + iso286::grade_tolerance(11, drill).unwrap_or(Length::ZERO))
                }
            };
            let near = Length::um(0.6);
            let verdict = if low > limits.max + near || high < limits.min - near {
                Verdict::Refused
            } else if high > limits.max + near || low < limits.min - near {
                Verdict::Warns
            } else {
                Verdict::Fits
            };
            let large = high > limits.max + near;
            let (asked, offered) = if large { (limits.max, high) } else { (limits.min, low) };
            // Refused where no hole within the limits can come about.
            let margin = (limits.max - low).min(high - limits.min) + near;
            let finding = Finding::new(self.name(), verdict, Figure::Length(asked), Figure::Length(offered))
                .margin(Figure::Length(margin))
                .by(case, if large { LARGE } else { SMALL }, || {
                    let at = bore.map_or(feature.place, |b| b.dia.place);
                    let (hole, limit) = if large { ("D_high", "D_max") } else { ("D_low", "D_min") };
                    vec![
                        Term::part(hole, "limit of the hole: its own, or what a drill leaves to IT 11", offered, at),
                        Term::table(
                            limit,
                            "limit of the minor diameter in its class, to 0.6 um",
                            asked,
                            "thread limits",
                        ),
                    ]
                })
                .about(id)
                .at([bore.map_or(feature.place, |b| b.dia.place)])
                .because(format!(
                    "the hole for `{}` comes out {low} .. {high}; {class} has {} .. {}",
                    feature.name, limits.min, limits.max
                ));
            out.push(match verdict {
                Verdict::Fits => finding,
                _ if large => finding.unless("a smaller drill, or the hole bored or reamed to the limits of the class"),
                _ => finding.unless("a larger drill, or the limits of the class for the bore"),
            });
        }
    }
}
