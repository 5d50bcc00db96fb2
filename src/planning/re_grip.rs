//! Where a sliding headstock opens, goes back and grips the bar again because one stroke does not feed the whole piece.

use super::Task;
use super::blank::Blank;
use crate::model::part::{FeatureId, GrooveSide, Kind};
use crate::quantity::Length;

/// One re-grip.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ReGrip {
    /// Where the tools stand along the drawing's z by then.
    pub at: Length,
    /// The surface on which it leaves a witness; nothing where it falls on a shoulder or into a groove.
    pub on: Option<FeatureId>,
}

/// The re-grips of a piece in their order. As few as the stroke allows, at shoulders and grooves where there are any within
/// reach; one more is made for the sake of a surface whose tolerance is less than a witness.
pub fn find(task: &Task, blank: &Blank) -> Vec<ReGrip> {
    let Some(stroke) = task.mode.stroke.map(|s| s.value).filter(|s| task.guided() && *s > Length::ZERO) else {
        return Vec::new();
    };
    let near = Length::um(1.0);
    let breaks = breaks(task);
    let mut found = Vec::new();
    let mut fed = Length::ZERO;
    while blank.reach - fed > stroke + near {
        let strokes = libm::ceil((blank.reach - fed) / stroke - 1e-9);
        // Fed at least so far, no more strokes are needed than without a choice.
        let least = (blank.reach - stroke * (strokes - 1.0)).max(fed + near);
        let furthest = fed + stroke;
        let within = |from: Length| breaks.iter().copied().rfind(|z| *z >= from - near && *z <= furthest + near);
        let surface = || surface_at(task, (least + furthest) / 2.0);
        let spared = || within(fed + Length::mm(1.0)).filter(|_| surface().is_some_and(|f| is_tight(task, f)));
        let between = within(least).or_else(spared);
        let on = if between.is_some() { None } else { surface() };
        fed = between.unwrap_or(furthest);
        found.push(ReGrip { at: task.from_first(fed), on });
        // A stroke shorter than any sense: enough to know that it is absurd.
        if found.len() >= 1000 {
            break;
        }
    }
    found
}

/// Whether a witness spoils a surface: its tolerance is less than that, and no grinding takes it away.
pub fn is_tight(task: &Task, feature: FeatureId) -> bool {
    let kind = &task.view.feature(feature).kind;
    let least = Length::um(task.thresholds.re_grip_witness_um);
    let tolerance = match kind {
        Kind::Turn(t) if !t.as_stock => t.dia.tolerance(),
        Kind::Sphere(s) => s.dia.tolerance(),
        _ => None,
    };
    !task.view.part.is_ground(feature) && tolerance.is_some_and(|t| t < least)
}

/// Shoulders and the ends of outer grooves, from the end that is made first, in order.
fn breaks(task: &Task) -> Vec<Length> {
    let ends = task.view.contour.iter().flat_map(|s| [s.zone.start, s.zone.end]);
    let grooves = task.view.part.features.iter().filter_map(|f| match &f.kind {
        Kind::Groove(g) if g.side == GrooveSide::External => Some(g.zone),
        Kind::Undercut(u) if !u.inside => Some(u.zone),
        _ => None,
    });
    let mut all: Vec<Length> = ends.chain(grooves.flat_map(|z| [z.start, z.end])).map(|z| task.from_first(z)).collect();
    all.sort_by(Length::total_cmp);
    all
}

fn surface_at(task: &Task, at: Length) -> Option<FeatureId> {
    let z = task.from_first(at);
    task.view.contour.iter().find(|s| z >= s.zone.start && z <= s.zone.end).map(|s| s.feature)
}
