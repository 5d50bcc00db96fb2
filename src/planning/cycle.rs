//! The cycle of a piece: two chains of work tied by the hand-over, and the work that either spindle can do placed so that
//! the cycle is shortest.

use super::Task;
use super::blank::Blank;
use super::operation::{Operation, WorkList};
use super::places::Assignment;
use crate::formulas::FormulaError;
use crate::model::machine::{ModeKind, Side};
use crate::quantity::{Length, Time};
use crate::tables::shop_times;
use std::sync::LazyLock;

/// From one clock position to the next (common practice, no source).
pub const POSITION: Time = Time::s(0.5);

/// The movements of every cycle, at the typical time of the table of shop times.
#[derive(Clone, Copy, Debug)]
pub struct Movements {
    /// Approach and retract of a tool.
    pub approach: Time,
    /// Start and stop of a live tool.
    pub live_start_stop: Time,
    /// Stopping the spindle at an angle, or engaging its rotary axis.
    pub orient: Time,
    feed_out: Time,
    re_grip: Time,
    /// Speed and phase match, approach, clamp, retract.
    pick_off: Time,
    bar_change: Time,
    unload: Time,
    /// A part taken by a gripper, or held while it is ejected.
    unload_gripped: Time,
}

static MOVEMENTS: LazyLock<Movements> = LazyLock::new(|| {
    let typical = |key: &str| shop_times::band(key).map_or(Time::ZERO, |b| b.typical);
    Movements {
        approach: typical("approach"),
        live_start_stop: typical("live-start-stop"),
        orient: typical("orient"),
        feed_out: typical("feed-out"),
        re_grip: typical("re-grip"),
        pick_off: typical("pick-off"),
        bar_change: typical("bar-change"),
        unload: typical("part-unload-chute"),
        unload_gripped: typical("part-unload-gripper"),
    }
});

/// The movements of every cycle.
pub fn movements() -> &'static Movements {
    &MOVEMENTS
}

/// The time of a piece and what it is made of.
#[derive(Clone, Debug, PartialEq)]
pub struct Cycle {
    pub main: Time,
    pub sub: Time,
    /// Both spindles are busy with the hand-over.
    pub tie: Time,
    /// The chain over the carriers that never cut at once, where it is the longest.
    pub group: Time,
    /// Bar change spread over the pieces of a bar.
    pub bar_change: Time,
    pub re_grips: u32,
    pub contingency: Time,
    /// All together: the cycle of a piece.
    pub total: Time,
    /// Time in the cut, both spindles.
    pub cutting: Time,
    /// The chains follow each other: the sub-spindle supports or re-grips.
    pub in_sequence: bool,
    /// The spindle of each operation.
    pub sides: Vec<Side>,
}

/// Work at either spindle is placed by trying every way up to this many operations.
const MOST_EITHER: usize = 12;

/// Adds up the cycle.
///
/// # Errors
/// None at present; the signature leaves room for formulas with a range.
pub fn add_up(task: &Task, blank: &Blank, work: &WorkList, assignment: &Assignment) -> Result<Cycle, FormulaError> {
    let has_sub = task.machine.sub.is_some();
    let re_grips = re_grips(task, blank);
    let in_sequence = task.mode.kind == ModeKind::Supported;
    // A tool that could work at either spindle goes to one of them with all its operations.
    let mut either: Vec<usize> = work.operations.iter().filter(|o| o.either_side && has_sub).map(|o| o.tool).collect();
    either.dedup();
    either.truncate(MOST_EITHER);
    let times: Vec<Time> = work.operations.iter().map(|o| operation_time(work, assignment, o)).collect();
    let mut best: Option<(Time, u32, [Time; 3])> = None;
    for choice in 0..(1u32 << either.len()) {
        let side = |op: &Operation| side_of(&either, choice, op);
        let (mut main, mut sub) = (movements().feed_out + movements().re_grip * f64::from(re_grips), Time::ZERO);
        let mut groups: Vec<(u32, Time)> = Vec::with_capacity(4);
        for (i, op) in work.operations.iter().enumerate() {
            let time = times[i];
            match side(op) {
                Side::Main => main += time,
                Side::Sub => sub += time,
            }
            if let Some(carrier) = assignment.carrier_of(op.tool) {
                let group = task.machine.carriers[carrier].group;
                match groups.iter_mut().find(|(g, _)| *g == group) {
                    Some((_, t)) => *t += time,
                    None => groups.push((group, time)),
                }
            }
        }
        if has_sub {
            sub += unload(task);
        } else {
            main += unload(task);
        }
        let group = groups.iter().map(|(_, t)| *t).fold(Time::ZERO, Time::max);
        let longest = if in_sequence { main + sub } else { main.max(sub).max(group) };
        if best.is_none_or(|(t, _, _)| longest < t) {
            best = Some((longest, choice, [main, sub, group]));
        }
    }
    let (longest, choice, [main, sub, group]) = best.unwrap_or((Time::ZERO, 0, [Time::ZERO; 3]));
    let tie = if has_sub { movements().pick_off } else { Time::ZERO };
    let bar_change = movements().bar_change / f64::from(blank.pieces.max(1));
    let bare = longest + tie + bar_change;
    let contingency = bare * (task.thresholds.contingency_percent / 100.0);
    let sides = work.operations.iter().map(|op| side_of(&either, choice, op)).collect();
    Ok(Cycle {
        main,
        sub,
        tie,
        group,
        bar_change,
        re_grips,
        contingency,
        total: bare + contingency,
        cutting: work.operations.iter().map(|o| o.cutting).sum(),
        in_sequence,
        sides,
    })
}

/// The spindle of an operation when the tools that could work at either are placed by the bits of a choice.
fn side_of(either: &[usize], choice: u32, op: &Operation) -> Side {
    match either.iter().position(|tool| *tool == op.tool && op.either_side) {
        Some(bit) if choice & (1 << bit) != 0 => Side::Sub,
        Some(_) => Side::Main,
        None => op.side,
    }
}

/// An operation with the change to its tool, approach, and what a live tool needs around it.
pub fn operation_time(work: &WorkList, assignment: &Assignment, op: &Operation) -> Time {
    let tool = &work.tools[op.tool];
    let around = if tool.live { movements().live_start_stop + movements().orient } else { Time::ZERO };
    op.cutting + op.moving + assignment.change_to(op.tool) + movements().approach + around
}

fn unload(task: &Task) -> Time {
    let long = task.view.length > Length::mm(150.0);
    if task.machine.catcher.as_ref().is_some_and(|c| c.gripper) || long {
        movements().unload_gripped
    } else {
        movements().unload
    }
}

/// How often a sliding headstock must open, go back and grip again: each stroke feeds only so much bar.
pub fn re_grips(task: &Task, blank: &Blank) -> u32 {
    let Some(stroke) = task.mode.stroke.filter(|_| task.guided()) else { return 0 };
    if stroke.value <= Length::ZERO {
        return 0;
    }
    let strokes = libm::ceil(blank.reach / stroke.value - 1e-9).max(1.0);
    strokes as u32 - 1
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_movement_stands_in_the_table() {
        let m = movements();
        let all = [m.approach, m.live_start_stop, m.orient, m.feed_out, m.re_grip, m.pick_off, m.bar_change, m.unload];
        assert!(all.iter().chain([&m.unload_gripped]).all(|t| *t > Time::ZERO));
    }
}
