//! Does the rim of a bored end stand?

use super::prelude::*;
use crate::model::part::End;
use crate::quantity::Length;

/// Wall at the rim of a bored end.
#[derive(Clone, Copy, Debug)]
pub(super) struct TipWall;

const RIM: &str = "(D - d) / 2 >= t";

const DOC: Doc = Doc {
    question: "does the rim of a bored end stand?",
    what: "the wall left at an end that a bore opens to, from the root of a thread that reaches it, against 0.3 mm",
    formulas: &[RIM],
    why: "a rim thinner than that tears, folds into a burr or breaks off",
    source: "common practice, no source",
    trips: include_str!("examples/tip-wall.trips.turn"),
    passes: include_str!("examples/tip-wall.passes.turn"),
};

impl Rule for TipWall {
    fn name(&self) -> &'static str {
        "tip-wall"
    }
    fn doc(&self) -> &'static Doc {
        &DOC
    }
    fn check(&self, case: &Case, out: &mut Vec<Finding>) {
        let view = case.task.view;
        let least = Length::mm(case.task.thresholds.tip_wall_mm);
        for end in [End::Front, End::Back] {
            let z = if end == End::Front { Length::ZERO } else { view.length };
            let bore = view.bore_at(z);
            if bore <= Length::ZERO {
                continue;
            }
            let near = Length::um(1.0);
            let touches = |s: &&crate::model::profile::Segment| z >= s.zone.start - near && z <= s.zone.end + near;
            let Some(segment) = view.contour.iter().find(touches) else { continue };
            let root = view.part.features.iter().find_map(|f| match &f.kind {
                Kind::Thread(t) if !t.internal => {
                    let gap = if end == End::Front { t.zone.start } else { view.length - t.zone.end };
                    (gap < t.pitch).then_some(t.minor)
                }
                _ => None,
            });
            let outer = segment.dia_at(z);
            let outer = root.map_or(outer, |r| r.min(outer));
            let wall = (outer - bore) / 2.0;
            if wall < least {
                let from = if root.is_some() { "from the root of the thread" } else { "at its edge" };
                out.push(
                    Finding::new(self.name(), Verdict::Warns, Figure::Length(least), Figure::Length(wall))
                        .by(case, RIM, || {
                            vec![
                                Term::part(
                                    "D",
                                    "diameter at the rim, or the root of its thread",
                                    outer,
                                    place(case, segment.feature),
                                ),
                                Term::part("d", "bore at the rim", bore, None),
                                Term::threshold("t", least, "tip-wall"),
                            ]
                        })
                        .about(segment.feature)
                        .because(format!(
                            "the rim at the {} has {wall} of wall {from}, {outer} over a bore of {bore}",
                            end.word()
                        ))
                        .unless(format!("{least} of wall: a smaller bore or a larger end")),
                );
            }
        }
    }
}
