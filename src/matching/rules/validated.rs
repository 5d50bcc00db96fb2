//! May the part run here at all?

use super::prelude::*;
use crate::model::part::{Use, Validated as Process};
use crate::quantity::Money;

/// A process that was validated on other machines.
#[derive(Clone, Copy, Debug)]
pub(super) struct Validated;

const DOC: Doc = Doc {
    question: "may a part whose process is frozen run here?",
    what: "the machine and the way of holding against those on which the spec says that the process was validated: elsewhere it is refused, or warned of where the spec states what moving it costs and takes; both are then counted",
    formulas: &[],
    why: "an implant, a flight part or an approved series part is released with its machine: another one wants validation runs and an approval, whatever the metal would allow",
    source: "usage of process validation after ISO 13485 and of production part approval, from memory",
    trips: include_str!("examples/validated.trips.turn"),
    passes: include_str!("examples/validated.passes.turn"),
};

impl Rule for Validated {
    fn name(&self) -> &'static str {
        "validated"
    }
    fn doc(&self) -> &'static Doc {
        &DOC
    }
    fn check(&self, case: &Case, out: &mut Vec<Finding>) {
        let part = case.task.view.part;
        let Some(process) = &part.validated else { return };
        let (machine, mode) = (&case.task.machine.name, case.task.mode.kind);
        let here = process.holds(machine, mode);
        let verdict = match (here, &process.moving) {
            (true, _) => Verdict::Fits,
            (false, Some(_)) => Verdict::Warns,
            (false, None) => Verdict::Refused,
        };
        let asked = Figure::Words(process.words().into());
        let offered = Figure::Words(format!("{machine}, {}", mode.word()).into());
        let finding = Finding::new(self.name(), verdict, asked, offered).at([process.place]);
        out.push(match &process.moving {
            _ if here => finding.because("the process was validated here"),
            Some((cost, time)) => finding
                .because(format!(
                    "the process was validated on {}: moving it costs {} and takes {}",
                    process.words(),
                    money(case, *cost),
                    weeks(*time)
                ))
                .unless(format!("run it on {}", process.words())),
            None => finding.because(refusal(process, part.purpose)).unless(format!(
                "run it on {}, or state what moving it costs and takes: `moving 12_000 {} takes 16 weeks`",
                process.words(),
                case.task.shop.currency.code()
            )),
        });
    }
}

fn refusal(process: &Process, purpose: Use) -> String {
    let of = match purpose {
        Use::Implant => "the process of an implant",
        Use::Aerospace => "the process of a flight part",
        Use::Food | Use::General => "the process",
    };
    format!("{of} was validated on {} and is frozen there", process.words())
}

fn money(case: &Case, cost: Money) -> String {
    format!("{} {}", crate::quantity::print::thousands(cost.to_units()), case.task.shop.currency.code())
}

fn weeks(time: crate::quantity::Time) -> String {
    let weeks = time.to_weeks();
    let number = crate::quantity::print::number(weeks, 1);
    if (weeks - 1.0).abs() < 0.05 { "1 week".to_owned() } else { format!("{number} weeks") }
}
