//! Does the cross drill push the part away?

use super::prelude::*;
use crate::formulas::beam::{self, BeamSegment};
use crate::formulas::drilling;
use crate::model::machine::{ModeKind, Side};
use crate::model::part::End;
use crate::planning::operation::Work;
use crate::planning::support::{self, Support};
use crate::quantity::Length;

/// Thrust of cross drills against the part's free end.
#[derive(Clone, Copy, Debug)]
pub(super) struct PushOff;

const BENDS: &str = "f <= f_max";

const DOC: Doc = Doc {
    question: "does the cross drill push the part aside?",
    what: "how far the drill's thrust bends what stands out between collet or bushing and the hole, exactly over its steps, against 0.05 mm",
    formulas: &[BENDS],
    why: "a part that springs away lets the drill enter at a slant and breaks it when it comes through",
    source: "beam theory; thrust after Kienzle; limit common practice, no source",
    trips: include_str!("examples/push-off.trips.turn"),
    passes: include_str!("examples/push-off.passes.turn"),
};

impl Rule for PushOff {
    fn name(&self) -> &'static str {
        "push-off"
    }
    fn doc(&self) -> &'static Doc {
        &DOC
    }
    fn check(&self, case: &Case, out: &mut Vec<Finding>) {
        let (view, t) = (case.task.view, case.task.thresholds);
        let m = &view.part.material;
        let limit = Length::mm(t.push_off_limit_mm);
        let mut row: Vec<BeamSegment> = Vec::new();
        for op in case.plan.operations.iter().filter(|o| o.work == Work::CrossDrill) {
            let Some(feature) = op.feature else { continue };
            let Kind::Hole(hole) = &view.part.features[feature].kind else { continue };
            let at = case.task.from_first(hole.at);
            row.clear();
            match (op.side, case.task.mode.kind) {
                (Side::Main, ModeKind::Supported) => {
                    // Beyond what is worked before the support is there both ends are held.
                    let before = support::of(case.task).filter(|s| s.is_worked_before(at));
                    let Some(Support { worked, .. }) = before else { continue };
                    let stub = Length::mm(t.nose_gap_mm) + case.plan.blank.cut_off_width;
                    row.push(BeamSegment { length: stub, dia: case.plan.blank.size, bore: case.plan.blank.bore });
                    steps(case, at, worked, true, &mut row);
                }
                (Side::Main, ModeKind::Guided) => {
                    let carrier = case.plan.assignment.carrier_of(op.tool);
                    let off = carrier.and_then(|c| case.task.machine.carriers[c].off_bushing);
                    let dia = view.dia_at(hole.at);
                    let bore = view.bore_at(hole.at).min(dia * 0.95);
                    row.push(BeamSegment { length: off.map_or(Length::mm(10.0), |o| o.value), dia, bore });
                }
                (Side::Main, ModeKind::Collet) => {
                    let stub = Length::mm(t.nose_gap_mm) + case.plan.blank.cut_off_width;
                    row.push(BeamSegment { length: stub, dia: case.plan.blank.size, bore: case.plan.blank.bore });
                    steps(case, at, view.length, true, &mut row);
                }
                (Side::Sub, _) => {
                    let Some(grip) = &case.plan.hand_over else { continue };
                    steps(case, view.length - grip.overhang, at, false, &mut row);
                }
            }
            let length: Length = row.iter().map(|s| s.length).sum();
            if length <= Length::ZERO {
                continue;
            }
            let thrust = drilling::thrust(m.kc11_n_mm2.high, m.mc, hole.dia.nominal, op.feed, t.worn_edge);
            let Ok(thrust) = thrust else { continue };
            let Ok(bend) = beam::tip_deflection(&row, m.modulus_gpa, thrust, length) else { continue };
            if bend <= limit / 4.0 {
                continue;
            }
            let verdict = if bend <= limit { Verdict::Fits } else { Verdict::Warns };
            let finding = Finding::new(self.name(), verdict, Figure::Length(limit), Figure::Length(bend))
                .at_most()
                .by(case, BENDS, || {
                    let by = "beam theory over the steps, drill's thrust after Kienzle, cautious end, worn edge";
                    vec![
                        Term::plan("f", "deflection where the drill pushes", bend, by),
                        Term::threshold("f_max", limit, "push-off-limit"),
                    ]
                })
                .about(feature)
                .because(format!(
                    "{thrust} of thrust at `{}`, {length} from what holds the part, push it {bend} aside",
                    name(case, feature)
                ));
            out.push(if verdict == Verdict::Fits {
                finding
            } else {
                finding.unless("less feed, a support, or the hole made nearer to what holds the part")
            });
        }
    }
}

/// The part's steps between two places counted from the end made first, bores taken out, away from what holds it.
fn steps(case: &Case, from: Length, to: Length, held_behind: bool, row: &mut Vec<BeamSegment>) {
    let view = case.task.view;
    let begin = row.len();
    for segment in &view.contour {
        let zone = case.task.zone_from_first(segment.zone);
        let length = zone.end.min(to) - zone.start.max(from);
        if length <= Length::ZERO {
            continue;
        }
        let dia = segment.mean();
        let middle = (segment.zone.start + segment.zone.end) / 2.0;
        row.push(BeamSegment { length, dia, bore: view.bore_at(middle).min(dia * 0.95) });
    }
    // The contour runs front to back; at the main spindle the end made first is the free one.
    if (case.task.first == End::Front) == held_behind {
        row[begin..].reverse();
    }
}
