//! Room along z where a thread's tool runs out, and how far the ground must be turned before the thread is cut.

use super::super::Task;
use super::super::operation::{RunOut, RunOutBound};
use crate::model::part::{End, FeatureId, GrooveSide, Kind, Thread, Zone};
use crate::model::profile::Segment;
use crate::quantity::Length;

const NEAR: Length = Length::um(1.0);

/// Room beside an outer thread, on its tighter side: up to the next shoulder or thread; where it ends inside its own blank and
/// less of that is left than the tool runs out over, up to the blank's end, beyond which the tool is in the air. Nothing where
/// both ends are open. A relief within the thread's own stretch is room as well.
pub(super) fn beside(task: &Task, id: FeatureId, thread: &Thread, needed: Length) -> Option<RunOut> {
    let sides = [Side::Before, Side::After];
    let tightest = |bound, rooms: [Option<Length>; 2]| {
        let offered = rooms.into_iter().flatten().min_by(Length::total_cmp)?;
        Some(RunOut { needed, offered, bound })
    };
    let shoulder = tightest(RunOutBound::Shoulder, sides.map(|s| to_shoulder(task, id, thread, s)));
    let blank = tightest(RunOutBound::OwnBlank, sides.map(|s| left_of_blank(task, thread, s)));
    match (shoulder, blank) {
        (Some(s), _) if s.offered < needed => Some(s),
        (_, Some(b)) if b.offered < needed => Some(b),
        (s, b) => s.or(b),
    }
}

/// How far the part is turned before an outer thread is cut, from the end that is made first: beyond the thread's end by its
/// run-out, where the bar would else still stand in the way, but no further than to a shoulder.
pub fn turned_to(task: &Task, id: FeatureId, thread: &Thread) -> Length {
    let zone = task.zone_from_first(thread.zone);
    let side = if task.first == End::Front { Side::After } else { Side::Before };
    // Up to the next tenth, as it is programmed.
    let run_out_mm = thread.lead().to_mm() * task.thresholds.thread_run_out;
    let run_out = Length::mm(libm::ceil(run_out_mm * 10.0 - 1e-9) / 10.0);
    let room = to_shoulder(task, id, thread, side).map_or(run_out, |room| room.min(run_out).max(Length::ZERO));
    (zone.end + room).min(task.view.length)
}

/// A side of a thread along the drawing's z.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Side {
    Before,
    After,
}

impl Side {
    /// The distance of a stretch on this side of a thread from it; nothing for one on the other side.
    fn distance(self, thread: &Zone, other: &Zone) -> Option<Length> {
        let distance = match self {
            Side::Before => thread.start - other.end,
            Side::After => other.start - thread.end,
        };
        (distance >= -NEAR).then_some(distance)
    }

    /// Whether a stretch reaches the end of a thread on this side.
    fn at_end(self, thread: &Zone, other: &Zone) -> bool {
        match self {
            Side::Before => other.start <= thread.start + NEAR,
            Side::After => other.end >= thread.end - NEAR,
        }
    }
}

fn to_shoulder(task: &Task, id: FeatureId, thread: &Thread, side: Side) -> Option<Length> {
    let higher = task.view.contour.iter().filter(|s| s.largest() > thread.major + NEAR).map(|s| s.zone);
    let threads = task.view.part.features.iter().enumerate().filter_map(|(other, f)| match &f.kind {
        Kind::Thread(t) if other != id && !t.internal => Some(t.zone),
        _ => None,
    });
    let room = higher.chain(threads).filter_map(|z| side.distance(&thread.zone, &z)).min_by(Length::total_cmp)?;
    Some(room + relief(task, thread, side))
}

/// What of the thread's own stretch a relief takes at its end; one that reaches beyond the thread is room beside it as well.
fn relief(task: &Task, thread: &Thread, side: Side) -> Length {
    let reliefs = task.view.part.features.iter().filter_map(|f| match &f.kind {
        Kind::Groove(g) if g.side == GrooveSide::External && g.dia.nominal <= thread.minor => Some(g.zone),
        Kind::Undercut(u) if !u.inside && u.dia.nominal <= thread.minor => Some(u.zone),
        _ => None,
    });
    let within = reliefs.filter(|z| side.at_end(&thread.zone, z)).map(|z| z.overlap(&thread.zone));
    within.fold(Length::ZERO, Length::max)
}

/// What is left of a thread's blank beyond the thread, where it then falls below the thread's root or the part ends. Less than half
/// a pitch is no more than a chamfer.
fn left_of_blank(task: &Task, thread: &Thread, side: Side) -> Option<Length> {
    if relief(task, thread, side) > Length::ZERO {
        return None;
    }
    let end = if side == Side::Before { thread.zone.start } else { thread.zone.end };
    let stands = |s: &&Segment| s.smallest() > thread.minor && s.largest() <= thread.major + NEAR;
    let mut left = Length::ZERO;
    // Stretches follow each other without a gap, so each pass goes on to the next one or stops.
    loop {
        let at = if side == Side::Before { end - left } else { end + left };
        let next = task.view.contour.iter().filter(stands).find_map(|s| {
            let on = if side == Side::Before { at - s.zone.start } else { s.zone.end - at };
            (s.zone.start <= at + NEAR && s.zone.end >= at - NEAR && on > NEAR).then_some(on)
        });
        match next {
            Some(on) => left += on,
            None => break,
        }
    }
    (left >= thread.pitch / 2.0).then_some(left)
}
