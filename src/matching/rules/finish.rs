//! Is the finish within what the cut leaves?

use super::prelude::*;
use crate::formulas::cutting::surface_speed;
use crate::planning::operation::{Operation, Work};
use crate::quantity::Length;

/// Roughness asked for against what each kind of cut leaves.
#[derive(Clone, Copy, Debug)]
pub(super) struct Finish;

const LEAVES: &str = "Ra >= Ra_c";

const DOC: Doc = Doc {
    question: "does the cut leave the finish?",
    what: "the Ra asked for against what the last cut leaves: 0.4 um turned, bored or reamed, 1.6 turned in step with the spindle, 0.8 milled or deep-drilled, 1.6 drilled; down to a quarter of it warns, less refuses",
    formulas: &[LEAVES],
    why: "a finish below that wants burnishing, grinding or lapping, another operation",
    source: "common practice, no source; Rz is read as four times Ra",
    trips: include_str!("examples/finish.trips.turn"),
    passes: include_str!("examples/finish.passes.turn"),
};

impl Rule for Finish {
    fn name(&self) -> &'static str {
        "finish"
    }
    fn doc(&self) -> &'static Doc {
        &DOC
    }
    fn check(&self, case: &Case, out: &mut Vec<Finding>) {
        let t = case.task.thresholds;
        let part = case.task.view.part;
        for (id, feature) in part.features.iter().enumerate() {
            let Some(finish) = feature.kind.finish() else { continue };
            // A surface that is ground afterwards takes its finish there.
            if part.is_ground(id) {
                continue;
            }
            let of_feature = |o: &&Operation| {
                o.feature == Some(id)
                    && !matches!(o.work, Work::Deburr | Work::Centre | Work::Countersink | Work::Chamfer)
            };
            let Some(last) = case.plan.operations.iter().rfind(of_feature) else { continue };
            let (floor, threshold) = match last.work {
                Work::Drill | Work::PeckDrill | Work::CrossDrill | Work::EndDrill => {
                    (t.finish_drilled_um, "finish-drilled")
                }
                Work::DeepDrill | Work::SingleLipDrill | Work::OscillatingDrill => (t.finish_deep_um, "finish-deep"),
                Work::MillFlats | Work::StraddleMill | Work::MillSlot | Work::PolygonTurn => {
                    (t.finish_milled_um, "finish-milled")
                }
                Work::TurnEccentric => (t.finish_in_step_um, "finish-in-step"),
                _ => (t.finish_cut_um, "finish-cut"),
            };
            let floor = Length::um(floor);
            if finish.ra >= floor - Length::um(1e-6) {
                continue;
            }
            let least = floor * t.finish_limit;
            let verdict = if finish.ra >= least - Length::um(1e-6) { Verdict::Warns } else { Verdict::Refused };
            out.push(
                Finding::new(self.name(), verdict, Figure::Length(floor), Figure::Length(finish.ra))
                    .down_to(Figure::Length(least))
                    .by(case, LEAVES, || {
                        vec![
                            Term::part("Ra", "finish asked for", finish.ra, finish.place),
                            Term::threshold("Ra_c", floor, threshold),
                        ]
                    })
                    .about(id)
                    .at([finish.place])
                    .because(format!(
                        "`{}` asks for Ra {}; {} leaves {floor} by habit{}",
                        feature.name,
                        finish.ra,
                        last.work.word(),
                        slow_words(case, last)
                    ))
                    .unless(format!("Ra {floor}, or burnishing or grinding afterwards")),
            );
        }
    }
}

/// Why an eccentric comes out coarser: how slow the slide lets the spindle turn.
fn slow_words(case: &Case, op: &Operation) -> String {
    let Some(feature) = op.feature.filter(|_| op.work == Work::TurnEccentric) else { return String::new() };
    let speed = surface_speed(op.speed, case.task.view.dia_of(feature));
    format!(
        ": in step with the slide it turns {}, which is {} of {}, and the cut is interrupted until the surface is round",
        op.speed, speed, case.task.view.part.material.turning_speed.typical
    )
}
