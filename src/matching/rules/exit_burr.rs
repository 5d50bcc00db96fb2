//! Who takes the burr off inside?

use super::prelude::*;
use crate::model::machine::Side;
use crate::model::part::EdgeKind;
use crate::planning::operation::{Operation, Work};
use crate::quantity::{Angle, Length};

/// Holes that break out into a bore with a long burr, and grooves that are cut into a finished bore.
#[derive(Clone, Copy, Debug)]
pub(super) struct ExitBurr;

const LEAN: &str = "max(90 - b, b - 90) <= b_max";
const SHARE: &str = "d / D <= k";

const DOC: Doc = Doc {
    question: "who takes off the burr where a hole or a groove breaks into a bore?",
    what: "the angle at which a hole leaves through the wall of a bore against 8 deg; of a hole square to it, whose sides leave through the slope of a narrow bore, the hole over the bore against 0.35; and whether a reamer, a boring bar or the drill run through again takes the burr off later, where a first drill would press it into the hole. A groove that is cut into a bore which is finished; any hole into a finished fit of IT 8 or finer, or beside an edge that must be sharp",
    formulas: &[LEAN, SHARE],
    why: "a drill that leaves through a slope bends a long burr into the bore, where no hand reaches it",
    source: "common practice, no source",
    trips: include_str!("examples/exit-burr.trips.turn"),
    passes: include_str!("examples/exit-burr.passes.turn"),
};

impl Rule for ExitBurr {
    fn name(&self) -> &'static str {
        "exit-burr"
    }
    fn doc(&self) -> &'static Doc {
        &DOC
    }
    fn check(&self, case: &Case, out: &mut Vec<Finding>) {
        for (i, op) in case.plan.operations.iter().enumerate() {
            let Some(feature) = op.feature else { continue };
            match op.work {
                Work::CrossDrill => out.extend(hole(self.name(), case, i, feature)),
                Work::InternalGroove => out.extend(groove(self.name(), case, i, feature)),
                _ => {}
            }
        }
    }
}

fn hole(rule: &'static str, case: &Case, i: usize, feature: FeatureId) -> Option<Finding> {
    let (t, part) = (case.task.thresholds, case.task.view.part);
    let Kind::Hole(hole) = &part.features[feature].kind else { return None };
    let bore = part.breaks_into(hole)?;
    let slope = Angle::deg(t.drill_slope_deg);
    let lean = (Angle::deg(90.0) - hole.angle.value).abs();
    let (of, into) = (name(case, feature), name(case, bore));
    let (finding, breaks) = if lean > slope {
        let finding =
            Finding::new(rule, Verdict::Warns, Figure::Angle(lean), Figure::Angle(slope)).by(case, LEAN, || {
                vec![
                    Term::part("b", "angle of the hole to the axis", hole.angle.value, place(case, feature)),
                    Term::threshold("b_max", slope, "drill-slope"),
                ]
            });
        (finding, format!("`{of}` breaks {lean} inclined into `{into}`"))
    } else {
        let Kind::Bore(b) = &part.features[bore].kind else { return fine(rule, case, i, feature, bore) };
        let (d, across) = (hole.dia.nominal, b.dia.nominal);
        let share = d / across;
        if share <= t.exit_burr_share + 1e-9 {
            return fine(rule, case, i, feature, bore);
        }
        let limit = Figure::Number(t.exit_burr_share);
        let finding = Finding::new(rule, Verdict::Warns, Figure::Number(share), limit).by(case, SHARE, || {
            vec![
                Term::part("d", "diameter of the hole", d, place(case, feature)),
                Term::part("D", "diameter of the bore", across, place(case, bore)),
                Term::threshold("k", t.exit_burr_share, "exit-burr-share"),
            ]
        });
        (finding, format!("`{of}` of {d} breaks through the slope of `{into}` of {across}"))
    };
    let finding = finding.about(feature).at([place(case, feature)]);
    let later: Vec<&Operation> = later(case, i, bore).collect();
    let count = case.plan.operations[i].count;
    Some(if let Some(o) = later.iter().find(|o| clears(o.work)) {
        Finding { margin: None, verdict: Verdict::Fits, ..finding }
            .because(format!("{breaks}: {} there takes the burr off", o.work.word()))
    } else if let Some(o) = later.first() {
        finding
            .because(format!("{breaks}, and {} there comes after: it presses the burr into `{of}` ({count} a piece)", o.work.word()))
            .unless("the bore drilled first and its drill run through again, a brush, or thermal or abrasive-flow deburring")
    } else {
        finding
            .because(format!("{breaks} and nothing follows there ({count} a piece)"))
            .unless("deburring of the bore, 2 to 6 s each, or the bore finished after the hole")
    })
}

/// A hole, however small, into a surface that has had its last cut and shows every burr: a fit of IT 8 or finer, or an edge that
/// must be sharp.
fn fine(rule: &'static str, case: &Case, i: usize, feature: FeatureId, into: FeatureId) -> Option<Finding> {
    let part = case.task.view.part;
    let sharp = part.features.iter().any(|edge| match &edge.kind {
        Kind::Edges(e) => e.kind == EdgeKind::Sharp && (e.of.contains(&into) || e.of.contains(&feature)),
        _ => false,
    });
    let close = match &part.features[into].kind {
        Kind::Bore(b) => {
            let held = crate::tables::iso286::grade_tolerance(8, b.dia.nominal);
            b.dia.tolerance().zip(held.ok()).is_some_and(|(t, held)| t <= held + Length::um(0.01))
        }
        _ => false,
    };
    let cuts = |o: &&Operation| o.feature == Some(into) && (clears(o.work) || o.work == Work::InternalGroove);
    let operations = &case.plan.operations;
    let side = operations[i].side;
    let before = operations
        .iter()
        .enumerate()
        .any(|(j, o)| cuts(&o) && (o.side == side && j < i || o.side == Side::Main && side == Side::Sub));
    if !(sharp || close) || !before || later(case, i, into).any(|o| cuts(&o)) {
        return None;
    }
    let (of, on) = (name(case, feature), name(case, into));
    let what = if sharp { "an edge that must be sharp" } else { "a finished fit" };
    let (asked, offered) = (Figure::Words("before the last cut".into()), Figure::Words("after it".into()));
    Some(
        Finding::new(rule, Verdict::Warns, asked, offered)
            .about(feature)
            .at([place(case, feature)])
            .because(format!(
                "`{of}` breaks into `{on}` after its last cut: a burr on {what} ({} a piece)",
                operations[i].count
            ))
            .unless("the last cut after the hole, a brush, or thermal or abrasive-flow deburring"),
    )
}

/// A groove whose bore has had its last cut before.
fn groove(rule: &'static str, case: &Case, i: usize, feature: FeatureId) -> Option<Finding> {
    let part = case.task.view.part;
    let zone = part.stretch(&part.features[feature].kind);
    let operations = &case.plan.operations;
    let finishes = |o: &&Operation| {
        matches!(o.work, Work::Ream | Work::Bore)
            && o.feature.is_some_and(
                |f| matches!(&part.features[f].kind, Kind::Bore(b) if b.zone.overlap(&zone) > Length::ZERO),
            )
    };
    let bore = operations.iter().rev().find(finishes)?.feature?;
    if later(case, i, bore).any(|o| clears(o.work)) {
        return None;
    }
    let (of, into) = (name(case, feature), name(case, bore));
    let (asked, offered) = (Figure::Words("before the last cut of the bore".into()), Figure::Words("after it".into()));
    let finding = Finding::new(rule, Verdict::Warns, asked, offered).about(feature).at([place(case, feature)]);
    Some(
        finding
            .because(format!("`{of}` is cut into `{into}` after its last cut: the burr stands in the finished bore"))
            .unless("the groove before the last cut of the bore, or the bore brushed"),
    )
}

/// What is done at a bore after an operation: later at the same spindle, or at the sub-spindle.
fn later<'c>(case: &Case<'c>, i: usize, bore: FeatureId) -> impl Iterator<Item = &'c Operation> {
    let operations = &case.plan.operations;
    let side = operations[i].side;
    let after = move |(j, o): &(usize, &Operation)| {
        o.feature == Some(bore) && (o.side == side && *j > i || o.side == Side::Sub && side == Side::Main)
    };
    operations.iter().enumerate().filter(after).map(|(_, o)| o)
}

/// Whether a tool takes a burr off rather than press it away.
fn clears(work: Work) -> bool {
    matches!(work, Work::Ream | Work::Bore | Work::Deburr)
}
