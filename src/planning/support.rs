//! A free end that the sub-spindle supports: what its collet covers must be finished before it grips.

use super::methods::turned;
use super::operation::Operation;
use super::{Task, hand_over, sequence};
use crate::model::figure::Stated;
use crate::model::machine::{ModeKind, Side};
use crate::model::part::{End, FeatureId, Kind, Zone};
use crate::model::profile::Segment;
use crate::quantity::Length;

/// The stretch at the free end that is worked out of the collet before the sub-spindle takes hold of it and draws the bar out
/// for the rest, as distances from the end that is made first.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Support {
    /// How far the sub-spindle's collet covers the piece: there the rest is propped.
    pub covered: Length,
    /// How far the end is worked before; the piece's length where nothing is left to support.
    pub worked: Length,
    /// It grips elsewhere for its own work.
    pub grips_anew: bool,
}

/// What a mode with a supported end works before the support is there; None in other modes, and where it is no sub-spindle that
/// supports. A sub-spindle that finds nothing to grip supports nothing. An end that is short for its diameter is worked as far
/// as it goes, so that no surface has a join (common practice, no source).
pub fn of(task: &Task) -> Option<Support> {
    task.machine.sub.as_ref().filter(|_| task.mode.kind == ModeKind::Supported)?;
    let whole = task.view.length;
    let Some((covered, grips_anew)) = hand_over::covers(task) else {
        return Some(Support { covered: whole, worked: whole, grips_anew: false });
    };
    let near = Length::um(1.0);
    let mut worked = covered;
    for feature in task.view.part.features.iter().filter(|f| turned::lies_on_surface(&f.kind)) {
        let zone = task.zone_from_first(task.view.part.stretch(&feature.kind));
        if zone.start < covered - near && !matches!(&feature.kind, Kind::Polygon(p) if p.as_stock) {
            worked = worked.max(zone.end);
        }
    }
    let mut row: Vec<&Segment> = task.view.contour.iter().collect();
    if task.first == End::Back {
        row.reverse();
    }
    for segment in row {
        let zone = task.zone_from_first(segment.zone);
        let is_there = zone.start < worked - near && zone.end > worked + near;
        if is_there && zone.end <= segment.mean() * task.thresholds.slenderness_warns + near {
            worked = zone.end;
        }
    }
    Some(Support { covered, worked: worked.min(whole), grips_anew })
}

impl Support {
    /// Whether a place, from the end made first, is worked before the support is there.
    pub fn is_worked_before(&self, place: Length) -> bool {
        place <= self.worked + Length::um(1.0)
    }

    /// The ends of the stretches that are worked one after the other.
    pub fn ends(&self, whole: Length) -> Vec<Length> {
        if self.is_worked_before(whole) { vec![whole] } else { vec![self.worked, whole] }
    }
}

/// What stands out of the main collet while a zone is cut, as distances from the end that is made first, and whether its far
/// end is held: the whole piece without a sub-spindle that supports.
pub fn stands_out(task: &Task, zone: Zone) -> (Zone, bool) {
    let whole = Zone { start: Length::ZERO, end: task.view.length };
    match of(task) {
        Some(s) if s.is_worked_before(task.zone_from_first(zone).end) => (Zone { end: s.worked, ..whole }, false),
        Some(s) => (Zone { start: s.covered, ..whole }, true),
        None => (whole, task.mode.kind == ModeKind::Supported),
    }
}

/// The runout of what holds the bar while features are made at the main spindle: of an end that is worked before the support is
/// there the collet alone, so that of the collet mode where the machine states it.
pub fn runout(task: &Task, features: &[FeatureId]) -> Option<Stated<Length>> {
    let alone = of(task).filter(|s| {
        features.iter().map(|f| &task.view.feature(*f).kind).all(|kind| {
            // Bores are made from the free end, which the support covers afterwards.
            let bored = matches!(kind, Kind::Bore(_)) || matches!(kind, Kind::Thread(t) if t.internal);
            bored || s.is_worked_before(task.zone_from_first(task.view.part.stretch(kind)).end)
        })
    });
    let collet = || task.machine.modes.iter().find(|m| m.kind == ModeKind::Collet).and_then(|m| m.runout);
    alone.and_then(|_| collet()).or(task.mode.runout)
}

/// The first of operations in their order that is held at both ends, with what supports it; none where the sub-spindle comes for
/// the cut-off alone.
pub fn first_supported(task: &Task, operations: &[Operation]) -> Option<(usize, Support)> {
    let support = of(task)?;
    let at = operations.iter().position(|op| {
        let zone = || op.zone.or_else(|| op.feature.map(|f| task.view.part.stretch(&task.view.feature(f).kind)));
        let beyond = || zone().is_some_and(|z| !support.is_worked_before(task.zone_from_first(z).end));
        op.side == Side::Main && !sequence::is_at_end(op.work) && beyond()
    })?;
    Some((at, support))
}
