//! Is the wall stiff enough?

use super::prelude::*;
use crate::model::machine::Side;
use crate::model::part::GrooveSide;
use crate::planning::operation::{Operation, Work};
use crate::quantity::Length;

/// Wall over diameter where the piece is gripped and where it is turned.
#[derive(Clone, Copy, Debug)]
pub(super) struct ThinWall;

const GRIPPED: &str = "t >= k x D";
const TURNED: &str = "(D - d) / 2 >= k x D";

const DOC: Doc = Doc {
    question: "is the wall stiff enough where it is gripped and cut?",
    what: "wall over diameter: at the grip of the sub-spindle 0.1, to 0.05 with a sleeve, less with a plug; under a turned stretch at least half a diameter long 0.05, less warns",
    formulas: &[GRIPPED, TURNED],
    why: "a collet crushes a thin wall out of round, and a thin tube springs away from the tool",
    source: "common practice, no source",
    trips: include_str!("examples/thin-wall.trips.turn"),
    passes: include_str!("examples/thin-wall.passes.turn"),
};

impl Rule for ThinWall {
    fn name(&self) -> &'static str {
        "thin-wall"
    }
    fn doc(&self) -> &'static Doc {
        &DOC
    }
    fn check(&self, case: &Case, out: &mut Vec<Finding>) {
        let (view, t) = (case.task.view, case.task.thresholds);
        if let Some(grip) = &case.plan.hand_over {
            let (asked, least) = (grip.dia * t.grip_wall_share, grip.dia * t.grip_wall_sleeve);
            if grip.wall < asked {
                // Thinner than a sleeve helps, only what fills the bore keeps it round.
                let plug = grip.wall < least;
                let bored_in_grip = bored_at_sub(case, grip.feature);
                out.push(
                    Finding::new(self.name(), Verdict::Warns, Figure::Length(asked), Figure::Length(grip.wall))
                        .by(case, GRIPPED, || {
                            let at = place(case, grip.feature);
                            vec![
                                Term::part("t", "wall at the grip", grip.wall, at),
                                Term::threshold("k", t.grip_wall_share, "grip-wall-share"),
                                Term::part("D", "diameter that is gripped", grip.dia, at),
                            ]
                        })
                        .about(grip.feature)
                        .because(if bored_in_grip {
                            format!(
                                "the sub-spindle grips `{}` while it is bored to a wall of {} at {}: it goes oval when the \
                                 collet opens",
                                name(case, grip.feature),
                                grip.wall,
                                grip.dia
                            )
                        } else {
                            format!(
                                "the sub-spindle grips `{}` on a wall of {} at {}: the collet crushes it out of round",
                                name(case, grip.feature),
                                grip.wall,
                                grip.dia
                            )
                        })
                        .unless(match (bored_in_grip, plug) {
                            (true, _) => "a lower clamping force, a collet that holds over the full length, or a flange left to grip",
                            (_, true) => "a plug that fills the bore (too thin for a sleeve), or the bore made after the hand-over",
                            _ => "a sleeve in the collet, or a plug in the bore",
                        }),
                );
            }
        }
        let mut worst: Option<(Length, Length, FeatureId, Length)> = None;
        for segment in &view.contour {
            let middle = (segment.zone.start + segment.zone.end) / 2.0;
            let bore = view.bore_at(middle);
            let turned = match &view.feature(segment.feature).kind {
                Kind::Turn(turn) => !turn.as_stock,
                Kind::Groove(g) => g.side == GrooveSide::External,
                _ => false,
            };
            if !turned || bore <= Length::ZERO || segment.zone.length() < segment.mean() / 2.0 {
                continue;
            }
            let wall = (segment.mean() - bore) / 2.0;
            let least = segment.mean() * t.wall_turned_share;
            if wall < least && worst.is_none_or(|(w, l, ..)| wall - least < w - l) {
                worst = Some((wall, least, segment.feature, segment.mean()));
            }
        }
        let Some((wall, least, feature, dia)) = worst else { return };
        let outside_first = outside_first(case, feature);
        out.push(
            Finding::new(self.name(), Verdict::Warns, Figure::Length(least), Figure::Length(wall))
                .by(case, TURNED, || {
                    let at = place(case, feature);
                    vec![
                        Term::part("D", "turned diameter", dia, at),
                        Term::part("d", "bore beneath it", dia - wall * 2.0, None),
                        Term::threshold("k", t.wall_turned_share, "wall-turned-share"),
                    ]
                })
                .about(feature)
                .because(if outside_first {
                    format!(
                        "`{}` is bored out to a tube with {wall} of wall: it springs under the bar",
                        name(case, feature)
                    )
                } else {
                    format!("`{}` is a tube with {wall} of wall: it springs under the tool", name(case, feature))
                })
                .unless(if outside_first {
                    "a sharp bar and light last cuts"
                } else {
                    "the outside finished before the bore, light cuts, or a plug"
                }),
        );
    }
}

/// Whether the bore beneath what the sub-spindle grips is cut there.
fn bored_at_sub(case: &Case, gripped: FeatureId) -> bool {
    let mut made = case.plan.operations.iter().zip(&case.plan.cycle.sides);
    made.any(|(o, side)| {
        *side == Side::Sub
            && matches!(o.work, Work::Bore | Work::Drill)
            && o.feature.is_some_and(|f| lies_beneath(case, f, gripped))
    })
}

/// Whether the plan finishes a tube outside while the wall beneath is still thick.
fn outside_first(case: &Case, feature: FeatureId) -> bool {
    let operations = &case.plan.operations;
    let bores = |o: &Operation| o.work == Work::Bore && o.feature.is_some_and(|f| lies_beneath(case, f, feature));
    let outside = operations.iter().rposition(|o| o.feature == Some(feature));
    let inside = operations.iter().rposition(bores);
    outside.zip(inside).is_some_and(|(outside, inside)| outside < inside)
}

/// Whether a feature is a bore beneath a surface.
fn lies_beneath(case: &Case, feature: FeatureId, surface: FeatureId) -> bool {
    let view = case.task.view;
    let zone = view.part.stretch(&view.feature(surface).kind);
    matches!(&view.feature(feature).kind, Kind::Bore(b) if b.zone.overlap(&zone) > Length::ZERO)
}
