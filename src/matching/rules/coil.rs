//! Is wire fed from its coil?

use super::prelude::*;

/// Wire from a coil against the feeder.
#[derive(Clone, Copy, Debug)]
pub(super) struct Coil;

const DOC: Doc = Doc {
    question: "is wire fed from its coil?",
    what: "wire that the spec buys on a coil against the wire that the feeder takes from one; where it takes none the plan is made with straightened bar",
    formulas: &[],
    why: "wire on a coil cannot turn: it is fed only where the tools turn about it; elsewhere it is straightened and cut, and every bar has its ends",
    source: "common practice, no source",
    trips: include_str!("examples/coil.trips.turn"),
    passes: include_str!("examples/coil.passes.turn"),
};

impl Rule for Coil {
    fn name(&self) -> &'static str {
        "coil"
    }
    fn doc(&self) -> &'static Doc {
        &DOC
    }
    fn check(&self, case: &Case, out: &mut Vec<Finding>) {
        let Some(stock) = case.task.view.part.stock.as_ref().filter(|s| s.coil) else { return };
        let wire = case.plan.blank.corners;
        let feeder = case.task.machine.feeder.as_ref();
        let asked = Figure::Length(wire);
        let finding = match feeder.and_then(|f| f.coil) {
            Some(range) if range.contains(wire) => {
                Finding::new(self.name(), Verdict::Fits, asked, Figure::Words("wire from a coil".into()))
                    .at([range.place])
                    .because(format!("wire of {wire} is fed from the coil: no bar ends, no bar change"))
            }
            Some(range) => {
                let limit = range.high.filter(|h| wire > *h).or(range.low).unwrap_or(wire);
                Finding::new(self.name(), Verdict::Warns, asked, Figure::Words(format!("wire of {limit}").into()))
                    .at([range.place])
                    .because(format!(
                        "the feeder takes wire of {limit} at its limit, not {wire}: planned with straightened bar"
                    ))
                    .unless("straightened bar, or wire within the feeder's range")
            }
            None => Finding::new(self.name(), Verdict::Warns, asked, Figure::Words("bar only".into()))
                .because("the spindle turns its bar, and wire on a coil cannot turn: planned with straightened bar")
                .unless("straightened bar, or a machine whose tools turn about the wire"),
        };
        out.push(finding.without_margin().at([stock.place]));
    }
}
