//! Does the holder take the tool?

use super::prelude::*;
use crate::model::figure::Place;
use crate::model::part::FeatureId;
use crate::planning::operation::{Shank, Tool, ToolKind};
use crate::planning::places::{self, Obstacle};
use crate::quantity::Length;

/// Shank against sleeve or collet.
#[derive(Clone, Copy, Debug)]
pub(super) struct HolderSize;

const SHANK: &str = "d <= d_h";

const DOC: Doc = Doc {
    question: "does the holder take the tool's shank?",
    what: "the shank (the cutting diameter, at least 3 mm) against the sleeve or collet of the places that reach it",
    formulas: &[SHANK],
    why: "a tool that no holder takes cannot be mounted; a reduced shank is a special tool",
    source: "the machine's own figures; small tools stand on a 3 mm shank, common practice, no source",
    trips: include_str!("examples/holder-size.trips.turn"),
    passes: include_str!("examples/holder-size.passes.turn"),
};

impl Rule for HolderSize {
    fn name(&self) -> &'static str {
        "holder-size"
    }
    fn doc(&self) -> &'static Doc {
        &DOC
    }
    fn check(&self, case: &Case, out: &mut Vec<Finding>) {
        for (tool, obstacle) in &case.plan.assignment.obstacles {
            if let Obstacle::Holder { needed, offered } = obstacle {
                let t = &case.plan.tools[*tool];
                let mut finding =
                    Finding::new(self.name(), Verdict::Refused, Figure::Length(*needed), Figure::Length(*offered))
                        .by(case, SHANK, || terms(*needed, *offered, None))
                        .because(format!(
                            "{} of {}: the largest holder that reaches it takes {offered}",
                            t.kind.word(),
                            t.dia
                        ))
                        .unless(format!("a holder that takes {needed}, or a shank reduced to {offered}"));
                finding.feature = t.features.first().copied();
                out.push(finding);
            }
        }
        let tightest = case
            .plan
            .tools
            .iter()
            .zip(&case.plan.assignment.placed)
            .filter(|(t, _)| !has_smaller(case, t))
            .filter_map(|(t, p)| {
                let (Shank::Round(needed), Some(p)) = (t.shank, p.as_ref()) else { return None };
                let row = &case.plan.assignment.rows[p.row];
                let carrier = &case.task.machine.carriers[row.carrier];
                let holder = if row.live { carrier.live_holder } else { carrier.fixed_holder }?;
                (p.attachment.is_none()).then(|| (needed, places::round_capacity(holder.value), t, holder.place))
            })
            .min_by(|a, b| (a.1 - a.0).total_cmp(&(b.1 - b.0)));
        if let Some((needed, offered, tool, at)) = tightest {
            let kind = tool.kind.word();
            out.push(
                Finding::new(self.name(), Verdict::Fits, Figure::Length(needed), Figure::Length(offered))
                    .by(case, SHANK, || terms(needed, offered, Some(at)))
                    .because(format!("the tightest: {kind} with a shank of {needed} in a holder up to {offered}")),
            );
        }
    }
}

/// Whether a smaller tool does the same work where the holder is smaller, so that the holder is no limit.
fn has_smaller(case: &Case, tool: &Tool) -> bool {
    let mills_flats = |f: &FeatureId| matches!(case.task.view.part.features[*f].kind, Kind::Polygon(_) | Kind::Flat(_));
    match tool.kind {
        ToolKind::BoringBar
        | ToolKind::InternalThreadingTool
        | ToolKind::InternalGroovingTool
        | ToolKind::Drill
        | ToolKind::CentreDrill
        | ToolKind::Countersink => true,
        ToolKind::EndMill => tool.features.iter().all(mills_flats),
        _ => false,
    }
}

fn terms(shank: Length, holder: Length, at: Option<Place>) -> Vec<Term> {
    vec![
        Term::plan("d", "shank of the tool", shank, "its cutting diameter, at least 3 mm"),
        Term::machine("d_h", "largest shank that the holder takes", holder, at),
    ]
}
