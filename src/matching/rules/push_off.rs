//! Does a cross drill or a whirling ring push the part away?

use super::prelude::*;
use super::support;
use crate::formulas::beam::{self, BeamSegment};
use crate::formulas::drilling;
use crate::model::machine::{ModeKind, Side};
use crate::model::part::End;
use crate::planning::methods::cutting_data;
use crate::planning::operation::{Operation, Work};
use crate::planning::support::{self as planned_support, Support};
use crate::quantity::{Feed, Force, Length};

/// Thrust of cross drills, and the cut of a whirling ring, against the part's free end.
#[derive(Clone, Copy, Debug)]
pub(super) struct PushOff;

const BENDS: &str = "f <= f_max";

const DOC: Doc = Doc {
    question: "does a cross drill or a whirling ring push the part aside?",
    what: "how far the drill's thrust, or out of the collet the cut of a whirling insert at the far end of the thread, bends what stands out between collet or bushing and there, exactly over its steps, against 0.05 mm",
    formulas: &[BENDS],
    why: "a part that springs away lets the drill enter at a slant and breaks it when it comes through; a blank that springs away from the ring chatters and its thread is not round",
    source: "beam theory; thrust and cut after Kienzle; limit common practice, no source",
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
        let limit = Length::mm(t.push_off_limit_mm);
        let mut row: Vec<BeamSegment> = Vec::new();
        for op in &case.plan.operations {
            let Some(feature) = op.feature else { continue };
            let Some(Push { at, force }) = pushes(case, op, &view.part.features[feature].kind) else { continue };
            let middle = case.task.from_first(at);
            row.clear();
            match (op.side, case.task.mode.kind) {
                (Side::Main, ModeKind::Supported) => {
                    // Beyond what is worked before the support is there both ends are held.
                    let before = planned_support::of(case.task).filter(|s| s.is_worked_before(at));
                    let Some(Support { worked, .. }) = before else { continue };
                    let stub = Length::mm(t.nose_gap_mm) + case.plan.blank.cut_off_width;
                    row.push(BeamSegment { length: stub, dia: case.plan.blank.size, bore: case.plan.blank.bore });
                    steps(case, at, worked, true, &mut row);
                }
                (Side::Main, ModeKind::Guided) => {
                    let carrier = case.plan.assignment.carrier_of(op.tool);
                    let off = carrier.and_then(|c| case.task.machine.carriers[c].off_bushing);
                    let dia = view.dia_at(middle);
                    let bore = view.bore_at(middle).min(dia * 0.95);
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
            let modulus = view.part.material.modulus_gpa;
            let Ok(bend) = beam::tip_deflection(&row, modulus, force, length) else { continue };
            if bend <= limit / 4.0 {
                continue;
            }
            let verdict = if bend <= limit { Verdict::Fits } else { Verdict::Warns };
            let finding = Finding::new(self.name(), verdict, Figure::Length(limit), Figure::Length(bend))
                .at_most()
                .by(case, BENDS, || {
                    let by = "beam theory over the steps, force after Kienzle, cautious end or worn edge";
                    vec![
                        Term::plan("f", "deflection where the tool pushes", bend, by),
                        Term::threshold("f_max", limit, "push-off-limit"),
                    ]
                })
                .about(feature)
                .because(format!(
                    "{force} of {} at `{}`, {length} from what holds the part, push it {bend} aside",
                    if op.work == Work::Whirl { "the ring's cut" } else { "thrust" },
                    name(case, feature)
                ));
            out.push(if verdict == Verdict::Fits {
                finding
            } else {
                finding.unless(match op.work {
                    Work::Whirl => support::ways(case, view.dia_of(feature)).join(", or "),
                    _ => "less feed, a support, or the hole made nearer to what holds the part".to_owned(),
                })
            });
        }
    }
}

/// The root of a bone thread, a share of its pitch (common practice, no source).
const ROOT: f64 = 0.25;

/// What pushes the part aside, and where, counted from the end made first.
struct Push {
    at: Length,
    force: Force,
}

/// The push of a cross drill where it stands, or of a whirling insert where the thread is farthest from the collet. Beside a
/// bushing the ring stands where the piece is held.
fn pushes(case: &Case, op: &Operation, kind: &Kind) -> Option<Push> {
    let (task, t) = (case.task, case.task.thresholds);
    let m = &task.view.part.material;
    match (op.work, kind) {
        (Work::CrossDrill, Kind::Hole(hole)) => {
            let force =
                drilling::thrust(cutting_data::cautious_kc11(case.task), m.mc, hole.dia.nominal, op.feed, 1.0).ok()?;
            Some(Push { at: task.from_first(hole.at), force })
        }
        (Work::Whirl, Kind::Thread(thread)) if !task.guided() => {
            // The edge cuts both flanks and the root, at the chip load of the insert.
            let edge = thread.depth() * 2.0 + thread.pitch * ROOT;
            let chip = Feed::mm_per_rev(t.whirl_chip_load_mm);
            let force = cutting_data::turning_force(task, edge, chip).ok()?;
            Some(Push { at: task.zone_from_first(thread.zone).start, force })
        }
        _ => None,
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
