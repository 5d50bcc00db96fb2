//! Do fine sizes survive hardening?

use super::prelude::*;
use crate::model::figure::Size;
use crate::quantity::Length;
use crate::tables::iso286;

/// Sizes that are made before hardening and not ground after it.
#[derive(Clone, Copy, Debug)]
pub(super) struct Hardening;

const MOVED: &str = "T >= T_h";

const DOC: Doc = Doc {
    question: "do fine sizes survive the hardening after the machine?",
    what: "the written tolerance of each diameter, keyway and slot that is not ground after heat treatment against the width of IT 9: finer warns",
    formulas: &[MOVED],
    why: "a part grows, shrinks and warps when it is hardened, often by some hundredths: a fine size made before is out afterwards",
    source: "common practice, no source; grades after ISO 286",
    trips: include_str!("examples/hardening.trips.turn"),
    passes: include_str!("examples/hardening.passes.turn"),
};

impl Rule for Hardening {
    fn name(&self) -> &'static str {
        "hardening"
    }
    fn doc(&self) -> &'static Doc {
        &DOC
    }
    fn check(&self, case: &Case, out: &mut Vec<Finding>) {
        let part = case.task.view.part;
        let Some(at) = part.after.iter().position(|a| a.process == "heat-treat" && !a.sizes_before) else { return };
        let (hardened, later) = (&part.after[at], &part.after[at + 1..]);
        let grade = libm::round(case.task.thresholds.hardened_grade).clamp(1.0, 18.0) as u8;
        for (id, f) in part.features.iter().enumerate() {
            let ground = later.iter().any(|a| a.process == "grind" && a.feature.is_none_or(|g| g == id));
            if ground || hardened.feature.is_some_and(|only| only != id) {
                continue;
            }
            let Some((size, tolerance)) = fine_size(&f.kind) else { continue };
            let Ok(width) = iso286::grade_tolerance(grade, size.nominal) else { continue };
            if tolerance >= width - Length::um(0.01) {
                continue;
            }
            let finding = Finding::new(self.name(), Verdict::Warns, Figure::Length(width), Figure::Length(tolerance))
                .by(case, MOVED, || {
                    vec![
                        Term::part("T", "tolerance of the size", tolerance, size.place),
                        Term::table("T_h", "width of the finest grade that hardening leaves", width, "ISO 286 grades"),
                    ]
                })
                .about(id)
                .at([size.place, hardened.place])
                .because(format!(
                    "`{}` holds {tolerance} before it is hardened and is not ground after: hardening moves a size of {} by \
                     more",
                    f.name, size.nominal
                ));
            out.push(
                finding.unless(format!("stock left on it and grinding after hardening, or a tolerance of {width}")),
            );
        }
    }
}

/// The size that a feature writes on the drawing with a tolerance of its own.
fn fine_size(kind: &Kind) -> Option<(&Size, Length)> {
    let size = match kind {
        Kind::Turn(turn) if !turn.as_stock && !turn.thread_blank => &turn.dia,
        Kind::Bore(bore) => &bore.dia,
        Kind::Sphere(sphere) => &sphere.dia,
        Kind::Keyway(keyway) => &keyway.width,
        Kind::Slot(slot) => &slot.width,
        _ => return None,
    };
    size.tolerance().filter(|_| size.is_toleranced()).map(|tolerance| (size, tolerance))
}
