//! Does a leaning holder clear the nose?

use super::prelude::*;
use crate::model::machine::Side;
use crate::planning::places;
use crate::quantity::{Angle, Length};

/// Holders that lean towards the spindle nose or the bushing.
#[derive(Clone, Copy, Debug)]
pub(super) struct NoseClearance;

/// Wall of a spindle nose or bushing holder around the largest bar (mm; common practice, no source).
const NOSE_WALL: f64 = 12.0;

const AIR: &str = "max(s - p x cos(b) - R x sin(b), r + p x sin(b) - R x cos(b) - N) >= a";

const DOC: Doc = Doc {
    question: "does the leaning holder clear the spindle nose?",
    what: "a tool that leans towards the nose of the spindle that holds the part: clear where s - p cos b - R sin b is at least 1 mm, or r + p sin b - R cos b at least the nose radius + 1 mm (s mouth to nose, p projection, b lean from the axis, R holder radius, r radius of the mouth)",
    formulas: &[AIR],
    why: "the holder, not the drill, hits the nose: found at the machine it costs a day",
    source: "plane geometry; holder radius (twice the largest tool of its collet) and projection are common practice, no source",
    trips: include_str!("examples/nose-clearance.trips.turn"),
    passes: include_str!("examples/nose-clearance.passes.turn"),
};

impl Rule for NoseClearance {
    fn name(&self) -> &'static str {
        "nose-clearance"
    }
    fn doc(&self) -> &'static Doc {
        &DOC
    }
    fn check(&self, case: &Case, out: &mut Vec<Finding>) {
        for (tool, placed) in case.plan.tools.iter().zip(&case.plan.assignment.placed) {
            let (Some(feature), Some(placed)) = (tool.features.first().copied(), placed) else { continue };
            if !tool.live || tool.angle_tolerance.is_none() {
                continue;
            }
            // Leaning towards the nose: beyond 90 deg at the main spindle, below it at the sub-spindle.
            let lean = match tool.side {
                Side::Main if tool.angle.to_deg() > 90.0 => 180.0 - tool.angle.to_deg(),
                Side::Sub if tool.angle.to_deg() < 90.0 => tool.angle.to_deg(),
                _ => continue,
            };
            let Kind::Hole(hole) = &case.task.view.part.features[feature].kind else { continue };
            let machine = case.task.machine;
            let carrier = &machine.carriers[case.plan.assignment.rows[placed.row].carrier];
            let collet = placed
                .attachment
                .and_then(|a| machine.options[a].holder)
                .or(carrier.live_holder)
                .map_or(Length::mm(10.0), |h| places::round_capacity(h.value));
            let holder = collet * case.task.thresholds.holder_radius_share;
            let projection = Length::mm(case.task.thresholds.holder_projection_mm);
            let mouth = case.task.view.dia_at(hole.at) / 2.0;
            let from_first = case.task.from_first(hole.at);
            let distance = match tool.side {
                Side::Sub => case
                    .plan
                    .hand_over
                    .as_ref()
                    .map_or(Length::ZERO, |h| from_first - (case.task.view.length - h.overhang)),
                Side::Main if case.task.guided() => {
                    carrier.off_bushing.map_or(Length::ZERO, |o| o.value).max(mouth * 6.0)
                }
                Side::Main => case.plan.blank.reach - from_first,
            };
            let nose =
                case.task.mode.bar.and_then(|b| b.high).map_or(Length::mm(20.0), |b| b / 2.0) + Length::mm(NOSE_WALL);
            let (sine, cosine) = (libm::sin(lean.to_radians()), libm::cos(lean.to_radians()));
            let air = Length::mm(case.task.thresholds.nose_clearance_mm);
            let axial = distance - projection * cosine - holder * sine;
            let radial = mouth + projection * sine - holder * cosine - nose;
            let clearance = axial.max(radial);
            let verdict = if clearance >= air { Verdict::Fits } else { Verdict::Refused };
            let finding = Finding::new(self.name(), verdict, Figure::Length(air), Figure::Length(clearance))
                .by(case, AIR, || {
                    let lies = "where the feature and what holds the part lie";
                    vec![
                        Term::plan("s", "mouth to nose along the axis", distance, lies),
                        Term::threshold("p", projection, "holder-projection"),
                        Term::plan(
                            "b",
                            "lean from the axis",
                            Angle::deg(lean),
                            "the hole's angle and the end made first",
                        ),
                        Term::plan(
                            "R",
                            "radius of the holder",
                            holder,
                            "holder-radius-share of the largest tool of its collet",
                        ),
                        Term::part("r", "radius of the part at the mouth", mouth, place(case, feature)),
                        Term::plan("N", "radius of the nose", nose, "half the largest bar and 12 mm of wall"),
                        Term::threshold("a", air, "nose-clearance"),
                    ]
                })
                .about(feature)
                .because(format!(
                    "`{}`: the holder leans {} deg over the {} nose, mouth {distance} away: {clearance} of air",
                    name(case, feature),
                    lean,
                    tool.side.word()
                ));
            out.push(if verdict == Verdict::Fits {
                finding
            } else {
                finding.unless(format!("{} more between mouth and nose, or the other end made first", air - clearance))
            });
        }
    }
}
