//! What does a bar yield?

use super::prelude::*;
use crate::quantity::Length;

/// Pieces a bar, and what is lost of it.
#[derive(Clone, Copy, Debug)]
pub(super) struct BarLength;

const ONE: &str = "p + r + t <= L";
const LOST: &str = "L - N x p <= L x q / 100";

const DOC: Doc = Doc {
    question: "does a bar yield enough pieces?",
    what: "the length of a piece with cut-off, remnant and first trim against the bar that the feeder takes: not one piece refuses; more than a fifth lost warns",
    formulas: &[ONE, LOST],
    why: "what is left of each bar is paid for and thrown away, and a feeder shorter than bar is sold multiplies it",
    source: "common practice, no source; bar is sold in 3 m",
    trips: include_str!("examples/bar-length.trips.turn"),
    passes: include_str!("examples/bar-length.passes.turn"),
};

impl Rule for BarLength {
    fn name(&self) -> &'static str {
        "bar-length"
    }
    fn doc(&self) -> &'static Doc {
        &DOC
    }
    fn check(&self, case: &Case, out: &mut Vec<Finding>) {
        let blank = &case.plan.blank;
        let used_up = blank.remnant + Length::mm(case.task.thresholds.first_trim_mm);
        let place = case.task.machine.feeder.as_ref().map(|f| f.place);
        let needed = blank.pitch + used_up;
        if blank.pieces == 0 {
            out.push(
                Finding::new(self.name(), Verdict::Refused, Figure::Length(needed), Figure::Length(blank.length))
                    .by(case, ONE, || {
                        let trim = Length::mm(case.task.thresholds.first_trim_mm);
                        let mut terms = bar_terms(case);
                        terms.push(Term::plan("r", "remnant", blank.remnant, "stated by the mode, or usual"));
                        terms.push(Term::threshold("t", trim, "first-trim"));
                        terms
                    })
                    .at(place)
                    .because(format!(
                        "a piece takes {}, remnant and trim {used_up}: not one comes from a bar of {}",
                        blank.pitch, blank.length
                    ))
                    .unless(format!("bar of {needed} and a feeder that takes it")),
            );
            return;
        }
        let lost = blank.length - blank.pitch * f64::from(blank.pieces);
        let limit = blank.length * (case.task.thresholds.bar_loss_percent / 100.0);
        if lost > limit {
            out.push(
                Finding::new(self.name(), Verdict::Warns, Figure::Length(lost), Figure::Length(limit))
                    // Refused where not even one piece comes from it.
                    .margin(Figure::Length(blank.length - needed))
                    .by(case, LOST, || {
                        let mut terms = bar_terms(case);
                        terms.push(Term::plan("N", "pieces a bar", blank.pieces, "what trim and remnant leave"));
                        terms.push(Term::threshold("q", case.task.thresholds.bar_loss_percent, "bar-loss"));
                        terms
                    })
                    .at(place)
                    .because(format!(
                        "{} pieces from a bar of {}: {lost} of it is lost, {:.0} %, {} of that the remnant",
                        blank.pieces,
                        blank.length,
                        100.0 * (lost / blank.length),
                        blank.remnant
                    ))
                    .unless("longer bars, or a mode with a shorter remnant"),
            );
        }
    }
}

fn bar_terms(case: &Case) -> Vec<Term> {
    let blank = &case.plan.blank;
    let feeder = case.task.machine.feeder.as_ref().map(|f| f.place);
    vec![
        Term::machine("L", "bar that is fed, usual unless stated", blank.length, feeder),
        Term::plan("p", "bar for a piece", blank.pitch, "its length, faces and cut-off"),
    ]
}
