//! Does the bar pass?

use super::prelude::*;
use crate::model::part::BarShape;
use crate::quantity::Length;

/// The bar against the mode's range and the spindle's bore, by its corners.
#[derive(Clone, Copy, Debug)]
pub(super) struct BarRange;

const MODE: &str = "b <= D_max";
const BORE: &str = "b <= B";
const BOTH: &str = "b <= min(D_max, B)";
const LEAST: &str = "b >= D_min";
const STOCKED: &str = "b <= D_s";

const DOC: Doc = Doc {
    question: "does the bar pass through the spindle and what holds it?",
    what: "the bar's diameter, or the corners of hexagonal and square bar, against the bar range of the mode and the bore of the main spindle",
    formulas: &[MODE, BORE, BOTH, LEAST, STOCKED],
    why: "a bar that does not pass cannot be fed; a smaller one than the collet's range is not gripped",
    source: "geometry; corners of a hexagon are across flats / 0.866, of a square / 0.707",
    trips: include_str!("examples/bar-range.trips.turn"),
    passes: include_str!("examples/bar-range.passes.turn"),
};

impl Rule for BarRange {
    fn name(&self) -> &'static str {
        "bar-range"
    }
    fn doc(&self) -> &'static Doc {
        &DOC
    }
    fn check(&self, case: &Case, out: &mut Vec<Finding>) {
        let blank = &case.plan.blank;
        let asked = blank.corners;
        let mode = case.task.mode.kind.word();
        let bar = match blank.shape {
            BarShape::Hex => format!("{} hexagonal bar ({} over corners)", blank.size, asked),
            BarShape::Square => format!("{} square bar ({} over corners)", blank.size, asked),
            _ => format!("{} bar", blank.size),
        };
        let spindle_bore = case.task.machine.main.bore;
        let Some(range) = case.task.mode.bar else {
            let finding = not_stated(self.name(), Figure::Length(asked), "the bar range of this mode");
            out.push(finding.by(case, MODE, || {
                vec![corners(asked), Term::machine("D_max", "largest bar of the mode", None::<Length>, None)]
            }));
            return;
        };
        let bore_limit = spindle_bore.map(|b| b.value);
        let formula = match (range.high, bore_limit) {
            (Some(_), Some(_)) => BOTH,
            (Some(_), None) => MODE,
            _ => BORE,
        };
        let terms = || {
            let mode = range.high.map(|d| Term::machine("D_max", "largest bar of the mode", d, range.place));
            let bore = spindle_bore.map(|b| Term::machine("B", "bore of the main spindle", b.value, b.place));
            std::iter::once(corners(asked)).chain(mode).chain(bore).collect()
        };
        if let Some(largest) = largest(case) {
            let what = if bore_limit.is_some_and(|b| b < range.high.unwrap_or(b)) { "the spindle bore" } else { mode };
            if asked > largest {
                let finding =
                    Finding::new(self.name(), Verdict::Refused, Figure::Length(asked), Figure::Length(largest))
                        .by(case, formula, terms)
                        .because(format!("a {bar} is larger than the {largest} that {what} takes"))
                        .at([range.place]);
                let smaller = blank.seldom_alternative.filter(|a| *a <= largest);
                out.push(match smaller {
                    Some(a) => finding.unless(format!(
                        "bar of {} would pass and still clean up: a size seldom stocked",
                        crate::tables::bars::words(a)
                    )),
                    None => finding.unless(format!("a machine or mode that takes {asked}")),
                });
                return;
            }
            let finding = Finding::new(self.name(), Verdict::Fits, Figure::Length(asked), Figure::Length(largest));
            let finding = finding.by(case, formula, terms).at([range.place]);
            out.push(finding.because(format!("{bar} passes: {what} takes up to {largest}")));
        }
        if let Some(smallest) = range.low.filter(|low| blank.size < *low) {
            let finding =
                Finding::new(self.name(), Verdict::Refused, Figure::Length(blank.size), Figure::Length(smallest));
            out.push(
                finding
                    .margin(Figure::Length(blank.size - smallest))
                    .by(case, LEAST, || {
                        vec![
                            Term::plan("b", "bar", blank.size, STOCK),
                            Term::machine("D_min", "smallest bar of the mode", smallest, range.place),
                        ]
                    })
                    .because(format!("a {bar} is smaller than the {smallest} from which {mode} grips"))
                    .unless(if could_be_larger(case, smallest) {
                        format!("bar of {smallest}, turned down further")
                    } else {
                        format!("a machine or mode that grips {}", blank.size)
                    })
                    .at([range.place]),
            );
        }
        if blank.not_stocked {
            let finding = Finding::new(
                self.name(),
                Verdict::Warns,
                Figure::Length(blank.size),
                Figure::Words("no stocked bar".into()),
            );
            let finding = finding.by(case, STOCKED, || {
                vec![
                    Term::plan("b", "bar that cleans up", blank.size, STOCK),
                    Term::table("D_s", "largest stocked bar", Figure::Words("too small".into()), "bars"),
                ]
            });
            out.push(finding.because(format!("no stocked round bar is large enough for {}", blank.size)));
        }
    }
}

fn corners(bar: Length) -> Term {
    Term::plan("b", "bar over its corners", bar, STOCK)
}

/// The largest bar that mode and spindle take, where either is stated.
fn largest(case: &Case) -> Option<Length> {
    let mode = case.task.mode.bar.and_then(|range| range.high);
    let bore = case.task.machine.main.bore.map(|b| b.value);
    match (mode, bore) {
        (Some(a), Some(b)) => Some(a.min(b)),
        (a, b) => a.or(b),
    }
}

/// Whether the bar passes and is gripped, as far as that is stated.
pub(super) fn enters(case: &Case) -> bool {
    let blank = &case.plan.blank;
    let smallest = case.task.mode.bar.and_then(|range| range.low);
    largest(case).is_none_or(|most| blank.corners <= most) && smallest.is_none_or(|least| blank.size >= least)
}

/// Whether the part can be turned from thicker bar: not where the drawing keeps the bar's surface or the spec its size, nor
/// where one pass beside a bushing would take too much.
fn could_be_larger(case: &Case, bar: Length) -> bool {
    let view = case.task.view;
    let kept = view.part.features.iter().any(|f| match &f.kind {
        Kind::Turn(t) => t.as_stock,
        Kind::Polygon(p) => p.as_stock,
        _ => false,
    });
    let sized = view.part.stock.as_ref().is_some_and(|s| s.size.is_some());
    let smallest = view.contour.iter().map(|s| s.smallest()).min_by(Length::total_cmp).unwrap_or(view.largest);
    !kept && !sized && smallest >= bar * case.task.thresholds.turn_down
}
