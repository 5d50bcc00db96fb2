//! What a spec demands and no rule judges, told to whoever it concerns rather than dropped: demands of form and place,
//! steps after the machine, certificates, what was written for the reader.

use crate::model::Remark;
use crate::model::after::After;
use crate::model::figure::Place;
use crate::model::machine::Machine;
use crate::model::part::{Demand, DemandKind, Part};

/// Whether a rule compares the demand with figures of the machine.
fn is_judged(kind: DemandKind) -> bool {
    match kind {
        DemandKind::Roundness
        | DemandKind::Cylindricity
        | DemandKind::Runout
        | DemandKind::TotalRunout
        | DemandKind::Concentricity
        | DemandKind::Position => true,
        DemandKind::Straightness
        | DemandKind::Flatness
        | DemandKind::Parallel
        | DemandKind::SquareTo
        | DemandKind::Symmetry
        | DemandKind::Profile => false,
    }
}

/// The demands that no rule judges, in words: `flatness of rim, 0.02 mm`.
pub fn unjudged(part: &Part) -> Vec<Remark> {
    let words = |d: &Demand| {
        let name = |f: usize| part.features[f].name.as_str();
        let to = d.datum.map(|f| format!(" to {}", name(f))).unwrap_or_default();
        let words = format!("{} of {}{to}, {}", d.kind.word(), name(d.feature), d.value);
        Remark { about: "to be measured".to_owned(), words, place: d.place }
    };
    part.demands.iter().filter(|d| !is_judged(d.kind)).map(words).collect()
}

/// Everything that the plan of a part tells beside its figures: what the part's spec says, then the machine's.
pub fn of(part: &Part, machine: &Machine) -> Vec<Remark> {
    let mut told = unjudged(part);
    if let Some(certificate) = &part.certificate {
        told.push(remark("certificate", certificate.clone(), part.material_place));
    }
    if part.supplied {
        told.push(remark("material", "supplied by the customer".to_owned(), part.material_place));
    }
    if let Some(due) = &part.due {
        told.push(remark("due", due.clone(), part.place));
    }
    told.extend(part.after.iter().map(|a| remark("afterwards", after(part, a), a.place)));
    // What a step says of itself stands with the step.
    told.extend(part.remarks.iter().filter(|r| part.after.iter().all(|a| a.place != r.place)).cloned());
    told.extend(machine.remarks.iter().map(|r| Remark { about: format!("machine, {}", r.about), ..r.clone() }));
    told
}

fn remark(about: &str, words: String, place: Place) -> Remark {
    Remark { about: about.to_owned(), words, place }
}

/// A step after the machine: `grind journal, leaving 0.2 mm`.
fn after(part: &Part, step: &After) -> String {
    let of = step.feature.map(|f| format!(" {}", part.features[f].name)).unwrap_or_default();
    let leaving = step.leaving.map(|l| format!(", leaving {l}")).unwrap_or_default();
    let sizes = if step.sizes_before { ", sizes hold before it" } else { "" };
    let own = part.remarks.iter().find(|r| r.place == step.place).map(|r| format!(", {}", r.words));
    format!("{}{of}{leaving}{sizes}{}", step.process.replace('-', " "), own.unwrap_or_default())
}
