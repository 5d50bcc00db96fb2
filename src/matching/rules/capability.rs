//! Does the machine hold the tolerance, with what the piece bends?

use super::prelude::*;
use crate::planning::deflection::Capability as Held;
use crate::quantity::Length;

/// The capability of every toleranced diameter.
#[derive(Clone, Copy, Debug)]
pub(super) struct Capability;

const COLLET: &str = "Cp = (T - 2 x (f_max - f_min) - d) / s >= Cp_min";
const BUSHING: &str = "Cp = (T - 2 x (f_max - f_min) - d) / sqrt(s^2 + (k x t)^2) >= Cp_min";

const DOC: Doc = Doc {
    question: "does the machine hold every diameter, with what the piece yields to the cut?",
    what: "Cp = (tolerance - 2 x (greatest - least deflection along the segment) - drift) / spread of the mode; held from 1.33 (a key characteristic from its own figure), with a warning from 1.0; what is ground afterwards is turned with its stock to IT 10",
    formulas: &[COLLET, BUSHING],
    why: "a deflection that is the same everywhere is taken out by an offset; one that changes along the segment makes it conical and eats the tolerance",
    source: "capability after ISO 22514-2, from memory; deflection by exact integration over the steps of the blank; force after Kienzle with a worn edge",
    trips: include_str!("examples/capability.trips.turn"),
    passes: include_str!("examples/capability.passes.turn"),
};

impl Rule for Capability {
    fn name(&self) -> &'static str {
        "capability"
    }
    fn doc(&self) -> &'static Doc {
        &DOC
    }
    fn check(&self, case: &Case, out: &mut Vec<Finding>) {
        let t = case.task.thresholds;
        for c in &case.plan.capabilities {
            let feature = &case.task.view.part.features[c.feature];
            // A key characteristic is the grinder's to hold where it is ground.
            let wanted = feature.cpk.filter(|_| c.for_grinding.is_none()).unwrap_or(t.cp_fits);
            let formula = if case.task.guided() { BUSHING } else { COLLET };
            let terms = || reckoned(case, c, wanted);
            let (Some(cp), Some(spread)) = (c.cp, c.spread) else {
                let finding = not_stated(self.name(), Figure::Number(wanted), "the spread of this mode");
                out.push(finding.by(case, formula, terms).about(c.feature));
                continue;
            };
            let verdict = match cp {
                cp if cp >= wanted - 1e-9 => Verdict::Fits,
                cp if cp >= t.cp_warns - 1e-9 => Verdict::Warns,
                _ => Verdict::Refused,
            };
            let bend = c.deflection.1 - c.deflection.0;
            let drift = if c.drift > Length::ZERO { format!(" - {} drift", c.drift) } else { String::new() };
            let bends = bend >= Length::um(0.05);
            let (bent, push) = if bends {
                (
                    format!(" - 2 x {bend} bend"),
                    format!("; {} push at {} overhang{}", c.force, c.overhang, cautious_force(case)),
                )
            } else {
                (String::new(), String::new())
            };
            let name = match c.for_grinding {
                Some(dia) => format!("`{}`, turned to {dia} and ground afterwards", feature.name),
                None => format!("`{}`", feature.name),
            };
            let words = if bend * 2.0 > c.tolerance {
                format!("{name} bends by {bend}, twice that is more than its tolerance of {}{push}", c.tolerance)
            } else {
                format!("{name}: Cp {cp:.2} = ({} tolerance{bent}{drift}) / {spread} spread{push}", c.tolerance)
            };
            let finding = Finding::new(self.name(), verdict, Figure::Number(wanted), Figure::Number(cp))
                .margin(Figure::Number(cp - t.cp_warns.min(wanted)))
                .by(case, formula, terms)
                .about(c.feature)
                .at([feature.place])
                .because(words);
            out.push(if verdict == Verdict::Fits {
                finding
            } else {
                let enough = spread * wanted + bend * 2.0 + c.drift;
                let by_bend = bend * 2.0 > spread * 0.5;
                let support = if by_bend && !case.task.guided() { ", or support by a guide bushing" } else { "" };
                let before = if c.for_grinding.is_some() { " before grinding" } else { "" };
                finding.unless(format!("a tolerance of {}{before}{support}", round_up(enough)))
            });
        }
    }
}

/// Rounded up to a whole micrometre below a tenth, to a hundredth of a millimetre above.
fn round_up(q: Length) -> Length {
    let step = if q < Length::mm(0.1) { 0.001 } else { 0.01 };
    Length::mm(libm::ceil(q.to_mm() / step - 1e-9) * step)
}

fn reckoned(case: &Case, c: &Held, wanted: f64) -> Vec<Term> {
    let feature = &case.task.view.part.features[c.feature];
    let (t, mode, blank) = (case.task.thresholds, case.task.mode, &case.plan.blank);
    let bend = "beam theory over the steps that stand out, force after Kienzle";
    let mut terms = vec![
        match c.for_grinding {
            Some(_) => Term::table("T", "tolerance of turning for grinding", c.tolerance, "ISO 286 grades"),
            None => Term::part("T", "tolerance of the diameter", c.tolerance, feature.place),
        },
        Term::plan("f_max", "greatest deflection along it", c.deflection.1, bend),
        Term::plan("f_min", "least deflection along it", c.deflection.0, bend),
        Term::threshold("d", c.drift, "thermal-drift"),
        Term::machine("s", "spread of the mode", mode.spread.map(|s| s.value), mode.spread.map(|s| s.place)),
    ];
    if case.task.guided() {
        terms.push(Term::threshold("k", t.bar_step_share, "bar-step-share"));
        terms.push(Term::table("t", "width of the bar's IT grade", blank.size_tolerance, "ISO 286 grades"));
    }
    terms.push(match feature.cpk.filter(|_| c.for_grinding.is_none()) {
        Some(_) => Term::part("Cp_min", "asked of a key characteristic", wanted, feature.place),
        None => Term::threshold("Cp_min", wanted, "cp-fits"),
    });
    terms
}
