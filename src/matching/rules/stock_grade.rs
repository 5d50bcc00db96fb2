//! Is the bar good enough for what holds it?

use super::prelude::*;
use crate::model::machine::{Bushing, ModeKind};
use crate::model::part::BarShape;

/// The grade of the bar that the spec asks for against the poorest that the mode takes.
#[derive(Clone, Copy, Debug)]
pub(super) struct StockGrade;

const GRADE: &str = "g <= g_max";

/// The grade to which hexagonal and square bar is drawn (EN 10278).
const DRAWN: u8 = 11;

const DOC: Doc = Doc {
    question: "does the mode take bar of this grade?",
    what: "the IT grade of the bar's diameter against the poorest that the mode states",
    formulas: &[GRADE],
    why: "in a guide bushing the bar is the slideway: poor bar jams or rattles; a collet takes drawn bar",
    source: "EN 10278 classes by finish, read; which mode takes which is stated by the machine",
    trips: include_str!("examples/stock-grade.trips.turn"),
    passes: include_str!("examples/stock-grade.passes.turn"),
};

impl Rule for StockGrade {
    fn name(&self) -> &'static str {
        "stock-grade"
    }
    fn doc(&self) -> &'static Doc {
        &DOC
    }
    fn check(&self, case: &Case, out: &mut Vec<Finding>) {
        let grade = case.plan.blank.grade;
        let mode = case.task.mode;
        let terms = || {
            let (stated, at) = (mode.stock.map(|s| Figure::Grade(s.value)), mode.stock.map(|s| s.place));
            vec![
                Term::plan("g", "IT grade of the bar", Figure::Grade(grade), STOCK),
                Term::machine("g_max", "poorest grade of the mode", stated, at),
            ]
        };
        let Some(poorest) = mode.stock else {
            let finding = not_stated(self.name(), Figure::Grade(grade), "the poorest bar grade of this mode");
            out.push(finding.by(case, GRADE, terms));
            return;
        };
        let asked = Figure::Grade(grade);
        let offered = Figure::Grade(poorest.value);
        // A bushing that adjusts itself follows drawn bar one grade poorer (common practice, no source).
        let is_drawn = matches!(case.plan.blank.shape, BarShape::Hex | BarShape::Square);
        // Its sleeve is slotted and round: it follows no corners.
        let adjusts = !is_drawn
            && mode.kind == ModeKind::Guided
            && mode.bushing.is_some_and(|b| b.value == Bushing::SelfAdjusting);
        let limit = poorest.value + u8::from(adjusts);
        let margin = Figure::Number(f64::from(limit) - f64::from(grade));
        let is_extruded = case.task.view.part.material.family == "plastic" && case.task.guided();
        if grade <= poorest.value && is_extruded && grade < DRAWN {
            out.push(
                Finding::new(self.name(), Verdict::Warns, asked, offered)
                    .margin(margin)
                    .by(case, GRADE, terms)
                    .because(format!(
                        "rod of {} is extruded oversize, by 0.2 mm and more: h{grade} for the bushing is ground to order",
                        case.task.view.part.material.name
                    ))
                    .unless("rod ground to order, its price and delivery with it, or work out of the collet")
                    .at([poorest.place]),
            );
            return;
        }
        if grade <= poorest.value {
            out.push(
                Finding::new(self.name(), Verdict::Fits, asked, offered)
                    .margin(margin)
                    .by(case, GRADE, terms)
                    .because(format!("h{grade} bar; {} takes up to h{}", mode.kind.word(), poorest.value))
                    .at([poorest.place]),
            );
            return;
        }
        let verdict = if grade <= limit { Verdict::Warns } else { Verdict::Refused };
        let place = case.task.view.part.stock.as_ref().map(|s| s.place);
        out.push(
            Finding::new(self.name(), verdict, asked, offered)
                .margin(margin)
                .by(case, GRADE, terms)
                .because(format!(
                    "{} h{grade} bar; {} takes h{} at the poorest",
                    if is_drawn { "hexagonal and square bar is drawn:" } else { "the spec asks for" },
                    mode.kind.word(),
                    poorest.value
                ))
                .unless(if is_drawn {
                    let collet = case.task.machine.modes.iter().any(|m| m.kind == ModeKind::Collet);
                    let work = if collet { "collet mode" } else { "a machine that works out of the collet" };
                    format!("{work}, or round bar with its flats milled: finer than h{DRAWN} it is not sold")
                } else {
                    format!("bar of h{}, ground or drawn to it", poorest.value)
                })
                .at([poorest.place])
                .at(place),
        );
    }
}
