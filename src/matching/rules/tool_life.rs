//! How long does the machine run alone?

use super::prelude::*;
use crate::planning::operation::Operation;
use crate::quantity::Time;
use crate::tables::tool_life;

/// Pieces to the first change of an edge, against the order.
#[derive(Clone, Copy, Debug)]
pub(super) struct ToolLife;

const ALONE: &str = "t_c x max(floor(T / t), 1) >= t_min";

const DOC: Doc = Doc {
    question: "how long does the machine run before an edge must be changed?",
    what: "the pieces that the busiest edge lasts (its usual life in the material over its time in the metal: an insert that whirls is there for a tenth of its turn) against the order, and their time against an hour unattended",
    formulas: &[ALONE],
    why: "a machine that calls somebody every half hour does not run through the night, nor alongside three others",
    source: "lives assumed by group of material, from memory; one hour common practice, no source",
    trips: include_str!("examples/tool-life.trips.turn"),
    passes: include_str!("examples/tool-life.passes.turn"),
};

impl Rule for ToolLife {
    fn name(&self) -> &'static str {
        "tool-life"
    }
    fn doc(&self) -> &'static Doc {
        &DOC
    }
    fn check(&self, case: &Case, out: &mut Vec<Finding>) {
        let life = tool_life::usual_life(case.task.view.part.material.iso_513);
        let Some(lot) = case.task.view.part.orders.first().copied() else { return };
        let mut busiest: Option<(Time, usize)> = None;
        for i in 0..case.plan.tools.len() {
            let cut: Time = case.plan.operations.iter().filter(|o| o.tool == i).map(Operation::contact).sum();
            if cut > Time::ZERO && busiest.is_none_or(|(c, _)| cut > c) {
                busiest = Some((cut, i));
            }
        }
        let Some((cut, tool)) = busiest else { return };
        let pieces = libm::floor(life / cut + 1e-9).max(0.0);
        if pieces >= lot as f64 {
            return;
        }
        let alone = case.plan.cycle.total * pieces.max(1.0);
        let least = Time::minutes(case.task.thresholds.unattended_min);
        let verdict = if alone >= least { Verdict::Fits } else { Verdict::Warns };
        let all: Time = case.plan.operations.iter().filter(|o| o.tool == tool).map(|o| o.cutting).sum();
        let tool = &case.plan.tools[tool];
        let mut finding = Finding::new(self.name(), verdict, Figure::Time(least), Figure::Time(alone))
            .by(case, ALONE, || {
                vec![
                    Term::plan("t_c", "cycle of a piece", case.plan.cycle.total, "both spindles laid out in time"),
                    Term::table("T", "usual life of an edge in the material", life, "tool life"),
                    Term::plan("t", "the busiest edge in the metal, a piece", cut, "feed and speed of its operations"),
                    Term::threshold("t_min", least, "unattended"),
                ]
            })
            .because(format!(
                "{} {} cuts {cut} a piece and lasts {life}: {pieces:.0} pieces, {alone}; the order has {lot}",
                if cut < all { "each edge of the" } else { "the edge of the" },
                tool.kind.word()
            ));
        finding.feature = tool.features.first().copied();
        out.push(if verdict == Verdict::Fits {
            finding
        } else {
            finding.unless("a sister tool, a longer-lasting edge, or somebody at hand")
        });
    }
}
