//! Is the angle reached, and accurately enough?

use super::prelude::*;
use crate::model::figure::Place;
use crate::planning::operation::Tool;
use crate::planning::places::Obstacle;
use crate::quantity::Angle as Q;

/// Angles of live tools against carriers and hand-set heads.
#[derive(Clone, Copy, Debug)]
pub(super) struct Angle;

const BELOW: &str = "b <= b_max";
const ABOVE: &str = "b >= b_min";
const ACCURACY: &str = "e <= t";

const DOC: Doc = Doc {
    question: "does a tool reach the angle, accurately enough?",
    what: "the tool's angle (the hole's own where its mouth leans to the end made first, 180 deg less it where it leans to the other) against the range of live places and heads; their accuracy, and a step where there is one, against the angle's tolerance",
    formulas: &[BELOW, ABOVE, ACCURACY],
    why: "a continuous axis costs no setup; a head set by hand costs one mounting for each distinct angle and occupies its places; a step is not an accuracy",
    source: "geometry; tolerance from the drawing or ISO 2768-1 where none is given",
    trips: include_str!("examples/angle.trips.turn"),
    passes: include_str!("examples/angle.passes.turn"),
};

impl Rule for Angle {
    fn name(&self) -> &'static str {
        "angle"
    }
    fn doc(&self) -> &'static Doc {
        &DOC
    }
    fn check(&self, case: &Case, out: &mut Vec<Finding>) {
        for (i, obstacle) in &case.plan.assignment.obstacles {
            let tool = &case.plan.tools[*i];
            let of = tool.features.first().map(|f| name(case, *f)).unwrap_or_default();
            let finding = match obstacle {
                Obstacle::Angle { needed, nearest } => {
                    let (offered, words) = match nearest {
                        Some((low, high)) if low == high => (*low, format!("the nearest live place stands at {low}")),
                        Some((low, high)) => {
                            let near = if *needed > *high { *high } else { *low };
                            (near, format!("the nearest reach is {low} to {high}"))
                        }
                        None => (Q::deg(90.0), "no live place states an angle".to_owned()),
                    };
                    let other = Q::deg(180.0) - *needed;
                    let (formula, limit) = if *needed > offered { (BELOW, "b_max") } else { (ABOVE, "b_min") };
                    Finding::new(self.name(), Verdict::Refused, Figure::Angle(*needed), Figure::Angle(offered))
                        .because(format!(
                            "`{of}` asks for a tool at {needed} at the {} spindle; {words}",
                            tool.side.word()
                        ))
                        .by(case, formula, || {
                            vec![
                                Term::plan(
                                    "b",
                                    "angle of the tool",
                                    *needed,
                                    "the hole's angle and the end made first",
                                ),
                                Term::machine(
                                    limit,
                                    "nearest angle of a live place, 90 deg unless stated",
                                    offered,
                                    None,
                                ),
                            ]
                        })
                        // Short of the range on either side.
                        .margin(Figure::Angle(-(offered - *needed).abs()))
                        .unless(format!(
                            "a head or axis that reaches {needed}, or the other end made first (then {other})"
                        ))
                }
                Obstacle::AngleAccuracy { tolerance, offered, step } => {
                    let what = if *step { "is set in steps of" } else { "is accurate to" };
                    Finding::new(self.name(), Verdict::Refused, Figure::Angle(*tolerance), Figure::Angle(*offered))
                        .at_most()
                        .by(case, ACCURACY, || accuracy_terms(case, tool, *tolerance, Some(*offered), None))
                        .because(format!(
                            "`{of}` allows {tolerance} at {}; what reaches it {what} {offered}",
                            tool.angle
                        ))
                        .unless(format!("an angle tolerance of {offered}"))
                }
                _ => continue,
            };
            let place = tool.features.first().map(|f| case.task.view.part.features[*f].place);
            out.push(Finding { feature: tool.features.first().copied(), ..finding }.at(place));
        }
        for (tool, placed) in case.plan.tools.iter().zip(&case.plan.assignment.placed) {
            let (Some(tolerance), Some(placed)) = (tool.angle_tolerance, placed) else { continue };
            let of = tool.features.first().map(|f| name(case, *f)).unwrap_or_default();
            let machine = case.task.machine;
            let row = &case.plan.assignment.rows[placed.row];
            let (source, angle, by_hand) = match placed.attachment {
                Some(a) => (&machine.options[a].name, &machine.options[a].angle, machine.options[a].by_hand),
                None => (&machine.carriers[row.carrier].name, &machine.carriers[row.carrier].angle, false),
            };
            let how = if by_hand { "set by hand" } else { "by its axis" };
            let stated = angle.as_ref().and_then(|a| a.accuracy);
            let terms = || accuracy_terms(case, tool, tolerance, stated, angle.as_ref().map(|a| a.place));
            let Some(accuracy) = stated else {
                let finding = not_stated(self.name(), Figure::Angle(tolerance), "the accuracy of its angle");
                out.push(finding.by(case, ACCURACY, terms));
                continue;
            };
            let mut finding =
                Finding::new(self.name(), Verdict::Fits, Figure::Angle(tolerance), Figure::Angle(accuracy))
                    .at_most()
                    .by(case, ACCURACY, terms)
                    .because(format!(
                        "`{of}` at {} on `{source}`, {how}, accurate to {accuracy} of {tolerance}",
                        tool.angle
                    ));
            finding.feature = tool.features.first().copied();
            out.push(finding);
        }
    }
}

fn accuracy_terms(case: &Case, tool: &Tool, tolerance: Q, accuracy: Option<Q>, at: Option<Place>) -> Vec<Term> {
    vec![
        Term::machine("e", "accuracy of the angle, or its step", accuracy, at),
        Term::part("t", "tolerance of the hole's angle", tolerance, tool.features.first().map(|f| place(case, *f))),
    ]
}
