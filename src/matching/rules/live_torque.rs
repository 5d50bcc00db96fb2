//! Does the live drive pull its tool?

use super::prelude::*;
use crate::quantity::Torque;

/// Torque of live drills and mills against their drive.
#[derive(Clone, Copy, Debug)]
pub(super) struct LiveTorque;

const TORQUE: &str = "M <= M_d";
const POWER: &str = "M <= 9549 x P / n";
const LESSER: &str = "M <= min(M_d, 9549 x P / n)";

const DOC: Doc = Doc {
    question: "does the live drive pull its tool?",
    what: "the torque of a drill or mill against the drive's stated torque, and against its power at the tool's speed; lighter cuts help to a third of it, less refuses",
    formulas: &[TORQUE, POWER, LESSER],
    why: "a drive that stalls breaks the tool; less feed costs time until the tool only rubs",
    source: "torque after Kienzle; the share common practice, no source",
    trips: include_str!("examples/live-torque.trips.turn"),
    passes: include_str!("examples/live-torque.passes.turn"),
};

impl Rule for LiveTorque {
    fn name(&self) -> &'static str {
        "live-torque"
    }
    fn doc(&self) -> &'static Doc {
        &DOC
    }
    fn check(&self, case: &Case, out: &mut Vec<Finding>) {
        let t = case.task.thresholds;
        let mut worst: Vec<(usize, f64, Finding)> = Vec::new();
        for (tool, placed) in case.plan.tools.iter().zip(&case.plan.assignment.placed) {
            let (Some(wanted), Some(placed)) = (tool.speed_wanted, placed) else { continue };
            if tool.torque <= Torque::ZERO {
                continue;
            }
            let number = case.plan.assignment.rows[placed.row].carrier;
            let carrier = &case.task.machine.carriers[number];
            let own = placed.attachment.and_then(|a| case.task.machine.options[a].speed).or(carrier.speed);
            let n = own.and_then(|r| r.high).map_or(wanted, |cap| wanted.min(cap));
            let by_power = carrier.power.map(|p| Torque::nm(9549.0 * p.value.to_kw() / n.to_rpm().max(1.0)));
            let stated = carrier.torque.map(|q| q.value);
            let offered = match (by_power, stated) {
                (Some(a), Some(b)) => Some(a.min(b)),
                (a, b) => a.or(b),
            };
            let formula = match (by_power, stated) {
                (Some(_), Some(_)) => LESSER,
                (Some(_), None) => POWER,
                _ => TORQUE,
            };
            let terms = || {
                let mut terms = vec![Term::plan("M", "torque of the tool", tool.torque, KIENZLE)];
                if formula != POWER {
                    terms.push(Term::machine(
                        "M_d",
                        "torque of the live drive",
                        stated,
                        carrier.torque.map(|m| m.place),
                    ));
                }
                if let Some(power) = carrier.power {
                    terms.push(Term::machine("P", "power of the live drive", power.value, power.place));
                    terms.push(Term::plan("n", "speed of the tool", n, "what it wants, held to the drive's"));
                }
                terms
            };
            let feature = tool.features.first().copied();
            let share = offered.map_or(0.0, |o| o / tool.torque);
            match worst.iter().position(|(c, ..)| *c == number) {
                Some(at) if share < worst[at].1 => {
                    worst.remove(at);
                }
                Some(_) => continue,
                None => {}
            }
            let Some(offered) = offered else {
                let mut finding =
                    not_stated(self.name(), Figure::Torque(tool.torque), "torque or power of its live tools")
                        .by(case, formula, terms);
                finding.feature = feature;
                worst.push((number, 0.0, finding));
                continue;
            };
            let verdict = match share {
                s if s >= 1.0 => Verdict::Fits,
                s if s >= t.lighter_cut => Verdict::Warns,
                _ => Verdict::Refused,
            };
            let mut finding = Finding::new(self.name(), verdict, Figure::Torque(tool.torque), Figure::Torque(offered))
                .down_to(Figure::Torque(tool.torque * t.lighter_cut))
                .by(case, formula, terms)
                .because(format!(
                    "{} of {} at {n} wants {}; `{}` gives {offered}",
                    tool.kind.word(),
                    tool.dia,
                    tool.torque,
                    carrier.name
                ));
            finding.feature = feature;
            worst.push((
                number,
                share,
                match verdict {
                    Verdict::Fits => finding,
                    Verdict::Warns => finding.unless("less feed or depth, at the price of time"),
                    _ => finding.unless(format!("a drive with {}, or a smaller tool", tool.torque * t.lighter_cut)),
                },
            ));
        }
        out.extend(worst.into_iter().map(|(_, _, finding)| finding));
    }
}
