//! Does the spindle stop where the feature wants it?

use super::prelude::*;
use crate::model::machine::{Orient, Side};
use crate::model::part::DemandKind;
use crate::planning::operation::{ToolKind, Work};
use crate::quantity::Length;

/// Clock positions against the spindle's orientation.
#[derive(Clone, Copy, Debug)]
pub(super) struct Orientation;

const STOPS: &str = "2 x r x sin(e) <= t";

const DOC: Doc = Doc {
    question: "does the spindle stop at the clock positions that the drawing asks for?",
    what: "clock positions of cross work (a count spreads them evenly) against continuous orientation or its steps; contour work needs continuous; where a position is asked for, twice the accuracy of the stop at the feature's radius against it",
    formulas: &[STOPS],
    why: "a spindle that stops only every 15 deg makes four holes but not seven",
    source: "the machine's own figures",
    trips: include_str!("examples/orientation.trips.turn"),
    passes: include_str!("examples/orientation.passes.turn"),
};

impl Rule for Orientation {
    fn name(&self) -> &'static str {
        "orientation"
    }
    fn doc(&self) -> &'static Doc {
        &DOC
    }
    fn check(&self, case: &Case, out: &mut Vec<Finding>) {
        for (i, op) in case.plan.operations.iter().enumerate() {
            let tool = &case.plan.tools[op.tool];
            let Some(feature) = op.feature else { continue };
            if !tool.live || op.work == Work::Whirl || tool.kind == ToolKind::WhirlingHead {
                continue;
            }
            let side = case.plan.cycle.sides.get(i).copied().unwrap_or(op.side);
            let spindle = match side {
                Side::Main => Some(&case.task.machine.main),
                Side::Sub => case.task.machine.sub.as_ref().map(|s| &s.spindle),
            };
            let count = f64::from(op.count.max(1));
            let pitch = 360.0 / count;
            let Some(orient) = spindle.and_then(|s| s.orient) else {
                out.push(
                    not_stated(self.name(), Figure::Count(op.count), "whether the spindle stops at an angle")
                        .about(feature),
                );
                continue;
            };
            let (clock, whole_turn) = clock(&case.task.view.part.features[feature].kind);
            let problem = match orient.value {
                Orient::Continuous => None,
                Orient::No => Some("the spindle does not stop at an angle".to_owned()),
                Orient::Every(_) if whole_turn => Some("the feature turns the spindle while it cuts".to_owned()),
                Orient::Every(step) => {
                    let off = |a: f64| (a / step.to_deg() - (a / step.to_deg()).round()).abs() > 1e-6;
                    (off(pitch) || off(clock)).then(|| format!("the spindle stops only every {step}"))
                }
            };
            if let Some(problem) = problem {
                let asked = Figure::Words(format!("every {} deg", crate::quantity::print::number(pitch, 1)).into());
                out.push(
                    Finding::new(self.name(), Verdict::Refused, asked, Figure::Words(problem.clone().into()))
                        .about(feature)
                        .at([orient.place])
                        .because(format!(
                            "`{}`, {} at the {} spindle: {problem}",
                            name(case, feature),
                            op.work.word(),
                            side.word()
                        ))
                        .unless("a spindle with a rotary axis, or the work moved to the other spindle"),
                );
                continue;
            }
            // A step is not an accuracy: a position on the circumference asks for one.
            let demands = &case.task.view.part.demands;
            let Some(demand) = demands.iter().find(|d| d.feature == feature && d.kind == DemandKind::Position) else {
                continue;
            };
            let asked = Figure::Length(demand.value);
            let stretch = case.task.view.part.stretch(&case.task.view.part.features[feature].kind);
            let radius = case.task.view.dia_at((stretch.start + stretch.end) / 2.0) / 2.0;
            let stated = spindle.and_then(|s| s.orient_accuracy);
            let terms = || {
                let stop = Figure::from(stated.map(|e| e.value));
                vec![
                    Term::part("r", "radius of the part at the feature", radius, place(case, feature)),
                    Term::machine("e", "accuracy of the stop", stop, stated.map(|e| e.place)),
                    Term::part("t", "position that the drawing asks for", demand.value, demand.place),
                ]
            };
            let Some(accuracy) = stated else {
                let what = format!("how accurately the {} spindle stops", side.word());
                out.push(
                    not_stated(self.name(), asked, &what).by(case, STOPS, terms).about(feature).at([demand.place]),
                );
                continue;
            };
            let off: Length = radius * (2.0 * libm::sin(accuracy.value.to_deg().to_radians()));
            let verdict = if off <= demand.value { Verdict::Fits } else { Verdict::Refused };
            let finding = Finding::new(self.name(), verdict, asked, Figure::Length(off))
                .at_most()
                .by(case, STOPS, terms)
                .about(feature)
                .at([demand.place, accuracy.place])
                .because(format!(
                    "`{}`: position {}; the {} spindle stops to {}, {off} at {radius} from the axis",
                    name(case, feature),
                    demand.value,
                    side.word(),
                    accuracy.value
                ));
            out.push(if verdict == Verdict::Fits {
                finding
            } else {
                finding.unless(format!("{off} allowed, or a spindle that stops more accurately"))
            });
        }
    }
}

/// The clock position of a feature, and whether it needs the spindle to turn during the cut.
fn clock(kind: &Kind) -> (f64, bool) {
    match kind {
        Kind::Hole(h) => (h.clock.to_deg(), h.circle.is_some()),
        Kind::Slot(s) => (s.clock.to_deg(), false),
        Kind::Keyway(k) => (k.clock.to_deg(), false),
        Kind::Flat(f) => (f.clock.to_deg(), false),
        Kind::Contour(_) | Kind::Engrave(_) => (0.0, true),
        _ => (0.0, false),
    }
}
