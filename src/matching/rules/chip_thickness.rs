//! Does the tool cut or rub?

use super::prelude::*;
use crate::model::machine::Side;
use crate::model::profile::Segment;
use crate::planning::methods::cutting_data;
use crate::planning::operation::{Operation, Work};
use crate::quantity::Length;

/// Least depth of a finishing cut.
#[derive(Clone, Copy, Debug)]
pub(super) struct ChipThickness;

const ONE_CUT: &str = "(D - d) / 2 >= k x r";
const FINISH: &str = "min((D - d) / 2, a) >= k x r";

const DRILL: &str = "f >= k x f_0";

const DOC: Doc = Doc {
    question: "do finishing tool and drills cut, or rub?",
    what: "the radial stock that a turning tool takes off against 0.3 of its nose radius; the feed of a drill that grip or spindle hold back against 0.65 of its usual feed, about 0.01 D",
    formulas: &[ONE_CUT, FINISH, DRILL],
    why: "a cut thinner than that slides over the metal, hardens it and leaves size and finish to chance; a drill that rubs hardens the bottom of its hole and burns",
    source: "common practice, no source",
    trips: include_str!("examples/chip-thickness.trips.turn"),
    passes: include_str!("examples/chip-thickness.passes.turn"),
};

impl Rule for ChipThickness {
    fn name(&self) -> &'static str {
        "chip-thickness"
    }
    fn doc(&self) -> &'static Doc {
        &DOC
    }
    fn check(&self, case: &Case, out: &mut Vec<Finding>) {
        let t = case.task.thresholds;
        let mut worst: Option<(Length, Length, &Operation, &Segment)> = None;
        for op in &case.plan.operations {
            let (Some(feature), true) = (op.feature, matches!(op.work, Work::Turn | Work::FinishTurn)) else {
                continue;
            };
            let Some(segment) = case.task.view.contour.iter().find(|s| s.feature == feature) else { continue };
            let there = (case.plan.blank.size - segment.largest()) / 2.0;
            let depth = if op.work == Work::Turn { there } else { there.min(op.depth) };
            let least = cutting_data::nose_radius(segment.mean()) * t.chip_depth;
            if depth < least && worst.is_none_or(|(d, ..)| depth < d) {
                worst = Some((depth, least, op, segment));
            }
        }
        out.extend(drilled(self.name(), case));
        let Some((depth, least, op, segment)) = worst else { return };
        let feature = segment.feature;
        out.push(
            Finding::new(self.name(), Verdict::Warns, Figure::Length(least), Figure::Length(depth))
                .by(case, if op.work == Work::Turn { ONE_CUT } else { FINISH }, || {
                    let mut terms = vec![
                        Term::plan("D", "bar", case.plan.blank.size, STOCK),
                        Term::part("d", "largest diameter of the stretch", segment.largest(), place(case, feature)),
                        Term::plan(
                            "r",
                            "nose radius",
                            cutting_data::nose_radius(segment.mean()),
                            "usual for the diameter",
                        ),
                        Term::threshold("k", t.chip_depth, "chip-depth"),
                    ];
                    if op.work != Work::Turn {
                        terms.push(Term::plan("a", "depth of the finishing cut", op.depth, "what roughing leaves"));
                    }
                    terms
                })
                .about(feature)
                .because(format!(
                    "`{}` leaves {depth} of depth under the {} bar; a nose radius of {} wants {least}",
                    name(case, feature),
                    case.plan.blank.size,
                    least / t.chip_depth
                ))
                .unless("larger bar, or a sharp ground edge with a smaller radius"),
        );
    }
}

/// The drill that is held back most, below the feed at which it cuts.
fn drilled(rule: &'static str, case: &Case) -> Option<Finding> {
    let k = case.task.thresholds.drill_feed;
    // Aluminium and brass cut cleanly however thin the chip is.
    if case.task.view.part.material.iso_513 == 'N' {
        return None;
    }
    let mut worst: Option<(f64, &Operation, Length)> = None;
    for op in &case.plan.operations {
        let drills =
            matches!(op.work, Work::Drill | Work::DeepDrill | Work::PeckDrill | Work::OscillatingDrill | Work::Centre);
        let dia = case.plan.tools[op.tool].dia;
        // What the grip does not hold at all is for the rule about the push to say.
        let slips = cutting_data::DrillLimits::of(case.task, op.side).push.is_some_and(|p| op.push > p);
        let drills = drills && !slips;
        let Some(usual) = cutting_data::drill_cut(case.task, dia, None).ok().filter(|_| drills) else { continue };
        let share = op.feed / usual.feed;
        if share < k - 1e-9 && worst.is_none_or(|(s, ..)| share < s) {
            worst = Some((share, op, Length::mm(usual.feed.to_mm_per_rev())));
        }
    }
    let (_, op, usual) = worst?;
    // Stainless, heat-resistant and other tough material works harder under an edge that rubs.
    let hardens = matches!(case.task.view.part.material.iso_513, 'M' | 'S');
    let (feed, feature) = (Length::mm(op.feed.to_mm_per_rev()), op.feature?);
    Some(
        Finding::new(rule, Verdict::Warns, Figure::Length(usual * k), Figure::Length(feed))
            .by(case, DRILL, || {
                vec![
                    Term::plan("f", "feed a turn that grip and spindle hold", feed, "axial push, torque and power"),
                    Term::threshold("k", k, "drill-feed"),
                    Term::plan("f_0", "usual feed a turn", usual, "1.5 % of the diameter"),
                ]
            })
            .about(feature)
            .because(format!(
                "{} of {} at `{}` is held back to {feed} a turn by grip or spindle: below {} it rubs{}",
                op.work.word(),
                case.plan.tools[op.tool].dia,
                name(case, feature),
                usual * k,
                if hardens { " and hardens the bottom" } else { "" }
            ))
            .unless(match op.side {
                Side::Main => "more clamping force, or a drill with a thinned point",
                Side::Sub => "more clamping force, a drill with a thinned point, or a stop behind the part",
            }),
    )
}
