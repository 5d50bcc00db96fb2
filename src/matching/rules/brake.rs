//! Does the spindle hold against the mill?

use super::prelude::*;
use crate::model::machine::{Orient, Side};
use crate::planning::operation::Work;
use crate::quantity::{Length, Torque};

/// Milling across against the brake of the spindle that stands.
#[derive(Clone, Copy, Debug)]
pub(super) struct Brake;

/// Torque of a mill, the radius that it acts at, its diameter.
type Milled = (Torque, Length, Length);

const HOLDS: &str = "M x 2 x r / d x S <= M_b";

const DOC: Doc = Doc {
    question: "does the spindle hold still against the mill?",
    what: "the milling force times the radius that it acts at x 1.5 against the brake of the spindle; lighter cuts help to a third of it, less refuses",
    formulas: &[HOLDS],
    why: "a spindle that slips under the mill leaves flats out of place and breaks the tool",
    source: "common practice, no source",
    trips: include_str!("examples/brake.trips.turn"),
    passes: include_str!("examples/brake.passes.turn"),
};

impl Rule for Brake {
    fn name(&self) -> &'static str {
        "brake"
    }
    fn doc(&self) -> &'static Doc {
        &DOC
    }
    fn check(&self, case: &Case, out: &mut Vec<Finding>) {
        let (view, t) = (case.task.view, case.task.thresholds);
        for side in [Side::Main, Side::Sub] {
            let mut worst: Option<(Torque, FeatureId, Milled)> = None;
            for op in case.plan.operations.iter().filter(|o| o.side == side) {
                let mills = matches!(op.work, Work::MillFlats | Work::StraddleMill | Work::MillSlot);
                let (Some(feature), true) = (op.feature, mills) else { continue };
                let tool = &case.plan.tools[op.tool];
                if tool.dia <= Length::ZERO || tool.angle.to_deg() < 1.0 || tool.angle.to_deg() > 179.0 {
                    continue;
                }
                let stretch = view.part.stretch(&view.part.features[feature].kind);
                let arm = view.dia_at((stretch.start + stretch.end) / 2.0) / 2.0;
                let torque = op.torque * (arm / (tool.dia / 2.0));
                if worst.is_none_or(|(w, ..)| torque > w) {
                    worst = Some((torque, feature, (op.torque, arm, tool.dia)));
                }
            }
            let Some((torque, feature, (of_tool, arm, mill))) = worst else { continue };
            let spindle = match side {
                Side::Main => Some(&case.task.machine.main),
                Side::Sub => case.task.machine.sub.as_ref().map(|s| &s.spindle),
            };
            // A pin that locks the spindle at its steps does not slip.
            if spindle.and_then(|s| s.orient).is_some_and(|o| matches!(o.value, Orient::Every(_))) {
                continue;
            }
            let asked = torque * t.brake_safety;
            let stated = spindle.and_then(|s| s.brake);
            let terms = || {
                vec![
                    Term::plan("M", "torque of the mill", of_tool, KIENZLE),
                    Term::part("r", "radius of the part where it is milled", arm, place(case, feature)),
                    Term::plan("d", "diameter of the mill", mill, TOOL),
                    Term::threshold("S", t.brake_safety, "brake-safety"),
                    Term::machine("M_b", "torque of the brake", stated.map(|b| b.value), stated.map(|b| b.place)),
                ]
            };
            let Some(brake) = stated else {
                let what = match side {
                    Side::Main => "the brake of the main spindle",
                    Side::Sub => "the brake of the sub-spindle",
                };
                out.push(not_stated(self.name(), Figure::Torque(asked), what).by(case, HOLDS, terms).about(feature));
                continue;
            };
            let least = asked * t.lighter_cut;
            let verdict = match brake.value {
                b if b >= asked => Verdict::Fits,
                b if b >= least => Verdict::Warns,
                _ => Verdict::Refused,
            };
            let finding = Finding::new(self.name(), verdict, Figure::Torque(asked), Figure::Torque(brake.value))
                .down_to(Figure::Torque(least))
                .by(case, HOLDS, terms)
                .about(feature)
                .at([brake.place])
                .because(format!(
                    "milling `{}` turns the {} spindle with {torque}, {asked} with safety; its brake holds {}",
                    name(case, feature),
                    side.word(),
                    brake.value
                ));
            out.push(match verdict {
                Verdict::Fits => finding,
                Verdict::Warns => finding.unless("lighter cuts, at the price of time"),
                _ => finding.unless(format!("a brake of {least}, or a smaller mill")),
            });
        }
    }
}
