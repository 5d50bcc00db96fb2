//! Can the tolerance be measured?

use super::prelude::*;
use crate::quantity::Length;

/// What the tightest size asks of its gauge.
#[derive(Clone, Copy, Debug)]
pub(super) struct Inspection;

const GAUGE: &str = "T >= u / q";

const DOC: Doc = Doc {
    question: "can the tightest size be measured at the machine?",
    what: "the tightest written tolerance below 20 um against ten times the finest gauge (0.5 um)",
    formulas: &[GAUGE],
    why: "a gauge takes a tenth of the tolerance at the most; below that parts are judged by the gauge and not by the size",
    source: "gauge capability of 10 % after common usage, from memory; 20 um and 0.5 um common practice, no source",
    trips: include_str!("examples/inspection.trips.turn"),
    passes: include_str!("examples/inspection.passes.turn"),
};

impl Rule for Inspection {
    fn name(&self) -> &'static str {
        "inspection"
    }
    fn doc(&self) -> &'static Doc {
        &DOC
    }
    fn check(&self, case: &Case, out: &mut Vec<Finding>) {
        let t = case.task.thresholds;
        let sizes = case.task.view.part.features.iter().enumerate().filter_map(|(id, f)| {
            let size = match &f.kind {
                Kind::Turn(turn) if !turn.as_stock && !turn.thread_blank => &turn.dia,
                Kind::Bore(b) => &b.dia,
                Kind::Sphere(s) => &s.dia,
                _ => return None,
            };
            if case.task.view.part.is_ground(id) {
                return None;
            }
            size.tolerance().filter(|_| size.is_toleranced()).map(|tolerance| (id, tolerance, size.place))
        });
        let Some((id, tolerance, place)) = sizes.min_by(|a, b| a.1.total_cmp(&b.1)) else { return };
        if tolerance >= Length::um(t.gauge_tolerance_um) {
            return;
        }
        let least = Length::um(t.gauge_finest_um) / t.gauge_share;
        let verdict = if tolerance >= least { Verdict::Fits } else { Verdict::Warns };
        let key = case.task.view.part.features[id].cpk.map(|c| format!(", Cpk {c}")).unwrap_or_default();
        let finding = Finding::new(self.name(), verdict, Figure::Length(least), Figure::Length(tolerance))
            .by(case, GAUGE, || {
                vec![
                    Term::part("T", "tightest tolerance", tolerance, place),
                    Term::threshold("u", Length::um(t.gauge_finest_um), "gauge-finest"),
                    Term::threshold("q", t.gauge_share, "gauge-share"),
                ]
            })
            .about(id)
            .at([place])
            .because(format!(
                "`{}` holds {tolerance}{key}: wants a gauge good to {}",
                name(case, id),
                tolerance * t.gauge_share
            ));
        out.push(if verdict == Verdict::Fits {
            finding
        } else {
            finding.unless(format!("a tolerance of {least}, or measuring away from the machine, at its temperature"))
        });
    }
}
