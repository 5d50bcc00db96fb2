//! Is the bar turned down too far in one pass?

use super::prelude::*;
use crate::model::profile::Segment;

/// Smallest turned diameter over the bar beside a guide bushing.
#[derive(Clone, Copy, Debug)]
pub(super) struct TurnDown;

const NECK: &str = "d >= k x D";

const DOC: Doc = Doc {
    question: "is the bar turned down too far beside the bushing?",
    what: "the smallest diameter that is turned over a stretch longer than itself, against a quarter of the bar's diameter",
    formulas: &[NECK],
    why: "beside a bushing the whole depth goes in one pass: a thin neck twists off under a cut that a thick bar asks for",
    source: "common practice, no source",
    trips: include_str!("examples/turn-down.trips.turn"),
    passes: include_str!("examples/turn-down.passes.turn"),
};

impl Rule for TurnDown {
    fn name(&self) -> &'static str {
        "turn-down"
    }
    fn doc(&self) -> &'static Doc {
        &DOC
    }
    fn check(&self, case: &Case, out: &mut Vec<Finding>) {
        if !case.task.guided() {
            return;
        }
        let carries = |s: &&Segment| s.zone.length() >= s.mean();
        let smallest = case.task.view.contour.iter().filter(carries).min_by(|a, b| a.mean().total_cmp(&b.mean()));
        let Some(segment) = smallest else { return };
        let bar = case.plan.blank.size;
        let limit = bar * case.task.thresholds.turn_down;
        let dia = segment.mean();
        if dia < limit {
            out.push(
                Finding::new(self.name(), Verdict::Warns, Figure::Length(limit), Figure::Length(dia))
                    .by(case, NECK, || {
                        vec![
                            Term::part("d", "smallest stretch that is turned", dia, place(case, segment.feature)),
                            Term::threshold("k", case.task.thresholds.turn_down, "turn-down"),
                            Term::plan("D", "bar", bar, STOCK),
                        ]
                    })
                    .about(segment.feature)
                    .because(format!(
                        "`{}` of {dia} is {:.0} % of the {bar} bar and is cut in one pass: it may twist off",
                        name(case, segment.feature),
                        100.0 * (dia / bar)
                    ))
                    .unless("thinner bar, two passes with a support, or work out of the collet"),
            );
        }
    }
}
