//! Does the spindle pull the cut?

use super::prelude::*;
use crate::model::machine::Side;
use crate::planning::operation::Operation;

/// Torque and power of the heaviest cut against the main spindle.
#[derive(Clone, Copy, Debug)]
pub(super) struct SpindleTorque;

const TORQUE: &str = "M <= M_s";
const POWER: &str = "P <= P_s";

const DOC: Doc = Doc {
    question: "does the spindle pull the heaviest cut?",
    what: "torque and motor power of the heaviest operation of a work spindle, with the highest cutting force of the sources or the typical one at a worn edge, whichever is more, against what the spindle states",
    formulas: &[TORQUE, POWER],
    why: "small parts rarely bind on power, but torque at low speed does; the plan takes more passes before it gives up",
    source: "force after Kienzle; material figures from the table",
    trips: include_str!("examples/spindle-torque.trips.turn"),
    passes: include_str!("examples/spindle-torque.passes.turn"),
};

impl Rule for SpindleTorque {
    fn name(&self) -> &'static str {
        "spindle-torque"
    }
    fn doc(&self) -> &'static Doc {
        &DOC
    }
    fn check(&self, case: &Case, out: &mut Vec<Finding>) {
        let heaviest = |value: &dyn Fn(&Operation) -> f64| {
            case.plan
                .operations
                .iter()
                .filter(|o| o.side == Side::Main && !case.plan.tools[o.tool].live)
                .max_by(|a, b| value(a).total_cmp(&value(b)))
                .cloned()
        };
        let spindle = &case.task.machine.main;
        let (Some(by_torque), Some(by_power)) = (heaviest(&|o| o.torque.to_nm()), heaviest(&|o| o.power.to_kw()))
        else {
            return;
        };
        let torque = || {
            let stated = spindle.torque;
            vec![
                Term::plan("M", "torque of the heaviest cut", by_torque.torque, KIENZLE),
                Term::machine("M_s", "torque of the spindle", stated.map(|m| m.value), stated.map(|m| m.place)),
            ]
        };
        match spindle.torque {
            None => {
                let finding =
                    not_stated(self.name(), Figure::Torque(by_torque.torque), "the torque of the main spindle");
                out.push(finding.by(case, TORQUE, torque));
            }
            Some(limit) => out.push(
                judge(
                    self.name(),
                    Figure::Torque(by_torque.torque),
                    Figure::Torque(limit.value),
                    by_torque.torque <= limit.value,
                    format!("{} needs at worst {} of {}", by_torque.work.word(), by_torque.torque, limit.value),
                )
                .by(case, TORQUE, torque),
            ),
        }
        let power = || {
            let stated = spindle.power;
            vec![
                Term::plan("P", "power of the heaviest cut at the motor", by_power.power, KIENZLE),
                Term::machine("P_s", "power of the spindle", stated.map(|p| p.value), stated.map(|p| p.place)),
            ]
        };
        match spindle.power {
            None => {
                let finding = not_stated(self.name(), Figure::Power(by_power.power), "the power of the main spindle");
                out.push(finding.by(case, POWER, power));
            }
            Some(limit) => out.push(
                judge(
                    self.name(),
                    Figure::Power(by_power.power),
                    Figure::Power(limit.value),
                    by_power.power <= limit.value,
                    format!(
                        "{} needs at worst {} of {} at the motor",
                        by_power.work.word(),
                        by_power.power,
                        limit.value
                    ),
                )
                .by(case, POWER, power),
            ),
        }
    }
}

fn judge(rule: &'static str, asked: Figure, offered: Figure, enough: bool, words: String) -> Finding {
    let verdict = if enough { Verdict::Fits } else { Verdict::Refused };
    let remedy = format!("a spindle with {asked}, or lighter cuts than this plan's least");
    let finding = Finding::new(rule, verdict, asked, offered).because(words);
    if enough { finding } else { finding.unless(remedy) }
}
