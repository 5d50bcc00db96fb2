//! The cycle of a piece: two chains of work tied by the hand-over, laid out in time.

use super::blank::Blank;
use super::chains::{self, Link};
use super::operation::{Operation, Shank, ToolKind, Work, WorkList};
use super::places::Assignment;
use super::re_grip::{self, ReGrip};
use super::{Task, support};
use crate::formulas::{FormulaError, tool_life};
use crate::model::machine::{Mode, ModeKind, Side, Spindle};
use crate::quantity::{Length, RotationalSpeed, Time};
use crate::tables::materials::Hazard;
use crate::tables::{shop_times, tool_life as lives};
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
    /// From rest to speed, or between speeds over the whole range.
    spindle_start: Time,
    feed_out: Time,
    re_grip: Time,
    /// Speed and phase match, approach, clamp, retract.
    pick_off: Time,
    pick_off_small: Time,
    /// One control waits for the other.
    wait_point: Time,
    /// The sub-spindle's collet cleaned.
    air_blow: Time,
    bar_change: Time,
    coil_change: Time,
    unload: Time,
    /// A part taken by a gripper, or held while it is ejected.
    unload_gripped: Time,
    insert_change: Time,
    solid_tool_change: Time,
}

static MOVEMENTS: LazyLock<Movements> = LazyLock::new(|| {
    let typical = |key: &str| shop_times::band(key).map_or(Time::ZERO, |b| b.typical);
    Movements {
        approach: typical("approach"),
        live_start_stop: typical("live-start-stop"),
        orient: typical("orient"),
        spindle_start: typical("spindle-start"),
        feed_out: typical("feed-out"),
        re_grip: typical("re-grip"),
        pick_off: typical("pick-off"),
        pick_off_small: typical("pick-off-small"),
        wait_point: typical("wait-point"),
        air_blow: typical("air-blow"),
        bar_change: typical("bar-change"),
        coil_change: typical("coil-change"),
        unload: typical("part-unload-chute"),
        unload_gripped: typical("part-unload-gripper"),
        insert_change: typical("insert-change"),
        solid_tool_change: typical("solid-tool-change"),
    }
});

/// The movements of every cycle.
pub fn movements() -> &'static Movements {
    &MOVEMENTS
}

/// What goes on in a stretch of the cycle.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Doing {
    /// A number in the plan's operations.
    Operation(usize),
    /// The bar moves out to the length of a piece, with the re-grips that a short stroke asks for.
    FeedOut,
    /// The sub-spindle takes hold of the finished end and draws the bar out, to support the rest.
    Support,
    /// The sub-spindle comes and takes hold at the same speed and phase.
    PickOff,
    /// The sub-spindle holds the piece while it is cut off.
    Hold,
    /// The finished piece leaves.
    Unload,
    /// The sub-spindle's collet is cleaned for the next piece: by air, or rinsed where dust would harm.
    AirBlow,
}

impl Doing {
    /// The setter's word; of an operation, its work's.
    pub fn word(self, operations: &[Operation]) -> &'static str {
        match self {
            Doing::Operation(i) => operations.get(i).map_or("", |op| op.work.word()),
            Doing::FeedOut => "feed the bar out",
            Doing::Support => "grip the end, draw the bar out",
            Doing::PickOff => "pick off",
            Doing::Hold => "hold for the cut-off",
            Doing::Unload => "unload",
            Doing::AirBlow => "clean the collet",
        }
    }
}

/// A stretch of the cycle at one spindle. Stretches of one spindle do not overlap; between them it waits.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Slot {
    pub doing: Doing,
    pub side: Side,
    /// A number in `Machine::carriers`.
    pub carrier: Option<usize>,
    /// From the start of the cycle.
    pub start: Time,
    /// Before the cut: change of tool, speed, approach, start of a live tool.
    pub before: Before,
    /// In the cut.
    pub cutting: Time,
    /// Movements of the operation itself.
    pub moving: Time,
}

impl Slot {
    /// When it ends, from the start of the cycle.
    pub fn end(&self) -> Time {
        self.start + self.length()
    }

    /// All of it.
    pub fn length(&self) -> Time {
        self.before.all() + self.cutting + self.moving
    }
}

/// What goes before a cut.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Before {
    /// From the tool before to this one.
    pub change: Time,
    /// Waiting for the spindle: its speed, or its stop at an angle.
    pub spindle: Time,
    pub approach: Time,
    pub live: Time,
}

impl Before {
    /// Together.
    pub fn all(&self) -> Time {
        self.change + self.spindle + self.approach + self.live
    }
}

/// The time of a piece and what it is made of.
#[derive(Clone, Debug, PartialEq)]
pub struct Cycle {
    /// The chain at the main spindle, without waiting and without the hand-over.
    pub main: Time,
    pub sub: Time,
    /// Both spindles are busy with the hand-over: pick-off and cut-off.
    pub tie: Time,
    /// The work of the carriers that never cut at once, where it is the longest.
    pub group: Time,
    /// What the chains lose because carriers of one group never cut at once.
    pub waiting: Time,
    /// From one piece to the next as programmed.
    pub programmed: Time,
    /// Bar change spread over the pieces of a bar.
    pub bar_change: Time,
    /// Changing worn tools, spread over the pieces that they last.
    pub wear: Time,
    /// Clearing long chips.
    pub chips: Time,
    pub re_grips: Vec<ReGrip>,
    pub contingency: Time,
    /// What the shop's own records add, or take off.
    pub correction: Time,
    /// All together: the cycle of a piece.
    pub total: Time,
    /// Time in the cut, both spindles.
    pub cutting: Time,
    /// The chains follow each other: the sub-spindle supports.
    pub in_sequence: bool,
    /// The spindle of each operation.
    pub sides: Vec<Side>,
    /// The cycle laid out, main spindle first, each in order of time.
    pub slots: Vec<Slot>,
}

/// Lays out the cycle of operations that stand in order.
///
/// # Errors
/// [`FormulaError`] where a tool life lies outside what its formula is valid for.
pub fn lay_out(task: &Task, blank: &Blank, work: &WorkList, assignment: &Assignment) -> Result<Cycle, FormulaError> {
    let m = movements();
    let has_sub = task.machine.sub.is_some();
    let re_grips = re_grip::find(task, blank);
    let in_sequence = task.mode.kind == ModeKind::Supported;
    let mut main = vec![plain(Doing::FeedOut, Side::Main, m.feed_out + m.re_grip * re_grips.len() as f64)];
    let mut sub = Vec::new();
    let mut tie = Vec::new();
    let meeting = if is_small(task) { m.pick_off_small } else { m.pick_off } + m.wait_point * 2.0;
    // A sub-spindle that supports the piece has hold of it already.
    let supported = if in_sequence { support::first_supported(task, &work.operations) } else { None };
    let meets = has_sub && supported.is_none_or(|(_, s)| s.grips_anew);
    if meets {
        tie.push(plain(Doing::PickOff, Side::Main, meeting));
    }
    for side in [Side::Main, Side::Sub] {
        let of_side = |op: &&Operation| op.side == side;
        let mut last = work.operations.iter().rfind(of_side);
        for (i, op) in work.operations.iter().enumerate().filter(|(_, op)| op.side == side) {
            if supported.is_some_and(|(first, _)| first == i) {
                main.push(plain(Doing::Support, Side::Main, meeting + m.re_grip));
            }
            let slot = Slot {
                doing: Doing::Operation(i),
                side,
                carrier: assignment.carrier_of(op.tool),
                start: Time::ZERO,
                before: before(task, work, assignment, last, op),
                cutting: op.cutting,
                moving: op.moving,
            };
            match (side, op.work) {
                (Side::Main, Work::CutOff) if has_sub => tie.push(slot),
                (Side::Main, _) => main.push(slot),
                (Side::Sub, _) => sub.push(slot),
            }
            last = Some(op);
        }
    }
    let unloading = plain(Doing::Unload, if has_sub { Side::Sub } else { Side::Main }, unload(task));
    if has_sub {
        sub.push(unloading);
        sub.push(plain(Doing::AirBlow, Side::Sub, m.air_blow));
    } else {
        main.push(unloading);
    }
    let links = |slots: &[Slot]| -> Vec<Link> {
        let group = |s: &Slot| s.carrier.map(|c| task.machine.carriers[c].group);
        slots.iter().map(|s| Link { seconds: s.length().to_s(), group: group(s) }).collect()
    };
    let (main_links, sub_links) = (links(&main), links(&sub));
    let length = |slots: &[Slot]| slots.iter().map(Slot::length).sum::<Time>();
    let (main_time, sub_time, tie_time) = (length(&main), length(&sub), length(&tie));
    // The sub-spindle's work of the piece before goes on beside the main spindle's of this one; a sub-spindle that supports
    // the piece has no hand for another.
    let joined = if in_sequence {
        let run = |slots: &[Slot], from: Time| {
            let mut end = from.to_s();
            let start = |s: &Slot| {
                let start = end;
                end += s.length().to_s();
                start
            };
            slots.iter().map(start).collect::<Vec<f64>>()
        };
        chains::Starts {
            first: run(&main, sub_time),
            second: run(&sub, Time::ZERO),
            end: (main_time + sub_time).to_s(),
        }
    } else {
        chains::interleave(&main_links, &sub_links)
    };
    for (slots, starts) in [(&mut main, &joined.first), (&mut sub, &joined.second)] {
        for (slot, start) in slots.iter_mut().zip(starts) {
            slot.start = Time::s(*start);
        }
    }
    let mut at = Time::s(joined.end);
    for slot in &mut tie {
        slot.start = at;
        at += slot.length();
    }
    let bare = if in_sequence { main_time + sub_time } else { main_time.max(sub_time) };
    let programmed = at;
    let change = if blank.coil { m.coil_change } else { m.bar_change };
    let bar_change = change / f64::from(blank.pieces.max(1));
    let wear = wear(task, work)?;
    let long = task.view.part.material.hazards.contains(&Hazard::LongChips);
    let chips = if long { programmed * (task.thresholds.chip_clearing_min / 60.0) } else { Time::ZERO };
    let all = programmed + bar_change + wear + chips;
    let contingency = all * (task.thresholds.contingency_percent / 100.0);
    // Stoppages may come out shorter than estimated, but not below nothing.
    let (estimated, records) = (all + contingency, task.cycle_correction());
    let total = (estimated * records.of_whole()).max(programmed * records.of_programmed());
    let group = busiest_group(main_links.iter().chain(&sub_links));
    let mut slots = main;
    slots.extend(tie.iter().copied());
    slots.extend(sub);
    if let Some(grips) = slots.iter().find(|s| s.doing == Doing::Support).copied() {
        slots.push(Slot { side: Side::Sub, ..grips });
        let until = if meets { Time::s(joined.end) } else { programmed };
        slots.push(Slot { start: grips.end(), ..plain(Doing::Hold, Side::Sub, until - grips.end()) });
    }
    if meets {
        let met = Slot { start: Time::s(joined.end), ..plain(Doing::PickOff, Side::Sub, meeting) };
        slots.push(met);
        slots.push(Slot { start: met.end(), ..plain(Doing::Hold, Side::Sub, tie_time - meeting) });
    }
    Ok(Cycle {
        main: main_time,
        sub: sub_time,
        tie: tie_time,
        group,
        waiting: (Time::s(joined.end) - bare).max(Time::ZERO),
        programmed,
        bar_change,
        wear,
        chips,
        re_grips,
        contingency,
        correction: total - estimated,
        total,
        cutting: work.operations.iter().map(|o| o.cutting).sum(),
        in_sequence,
        sides: work.operations.iter().map(|op| op.side).collect(),
        slots,
    })
}

fn plain(doing: Doing, side: Side, moving: Time) -> Slot {
    Slot { doing, side, carrier: None, start: Time::ZERO, before: Before::default(), cutting: Time::ZERO, moving }
}

fn busiest_group<'a>(links: impl Iterator<Item = &'a Link>) -> Time {
    let mut groups: Vec<(u32, f64)> = Vec::with_capacity(4);
    for link in links {
        let Some(group) = link.group else { continue };
        match groups.iter_mut().find(|(g, _)| *g == group) {
            Some((_, t)) => *t += link.seconds,
            None => groups.push((group, link.seconds)),
        }
    }
    Time::s(groups.iter().map(|(_, t)| *t).fold(0.0, f64::max))
}

/// How the work spindle stands during an operation.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Spin {
    Still,
    At(RotationalSpeed),
}

fn spin(work: &WorkList, op: &Operation) -> Spin {
    let tool = &work.tools[op.tool];
    // A whirling ring, a polygon head and a thread mill on the outside work while the spindle turns in step.
    let turns = matches!(tool.kind, ToolKind::WhirlingHead | ToolKind::PolygonHead) || !tool.live;
    if turns && op.work != Work::FormBroach { Spin::At(op.speed) } else { Spin::Still }
}

/// What goes before the cut of an operation, after the one before it at the same spindle.
fn before(task: &Task, work: &WorkList, assignment: &Assignment, last: Option<&Operation>, op: &Operation) -> Before {
    let m = movements();
    let same_tool = last.is_some_and(|l| l.tool == op.tool && !std::ptr::eq(l, op));
    // One tool draws the whole contour in one go.
    let contour = |w: Work| matches!(w, Work::Turn | Work::FinishTurn | Work::Chamfer);
    let goes_on = same_tool && last.is_some_and(|l| contour(l.work)) && contour(op.work);
    let change = if same_tool { Time::ZERO } else { change(task, assignment, last, op) };
    let approach = if goes_on { Time::ZERO } else { m.approach };
    let live = if work.tools[op.tool].live && !same_tool { m.live_start_stop } else { Time::ZERO };
    let spindle = match op.side {
        Side::Main => Some(&task.machine.main),
        Side::Sub => task.machine.sub.as_ref().map(|s| &s.spindle),
    };
    let from = last.map_or(Spin::At(RotationalSpeed::ZERO), |l| spin(work, l));
    let needed = spindle_time(spindle, from, spin(work, op));
    // The spindle changes its speed while the tool changes and comes near.
    let spindle = (needed - change - approach).max(Time::ZERO);
    Before { change, spindle, approach, live }
}

/// A carrier of another group turns to its next tool while this one cuts.
fn change(task: &Task, assignment: &Assignment, last: Option<&Operation>, op: &Operation) -> Time {
    let group = |tool: usize| assignment.carrier_of(tool).map(|c| task.machine.carriers[c].group);
    let (here, there) = (group(op.tool), last.and_then(|l| group(l.tool)));
    match (here, there) {
        (Some(a), Some(b)) if a != b => Time::ZERO,
        _ => assignment.change_to(op.tool),
    }
}

/// From one state of a spindle to the next. Its run-up to full speed where the machine states it, else the usual time.
fn spindle_time(spindle: Option<&Spindle>, from: Spin, to: Spin) -> Time {
    let m = movements();
    let whole = spindle.and_then(|s| s.acceleration_time).map_or(m.spindle_start, |t| t.value);
    let top = spindle.and_then(|s| s.speed).and_then(|r| r.high);
    let share = |n: RotationalSpeed| top.map_or(1.0, |top| (n.abs() / top).min(1.0));
    match (from, to) {
        (Spin::Still, Spin::Still) => Time::ZERO,
        (Spin::At(_), Spin::Still) => m.orient,
        (Spin::Still, Spin::At(n)) => whole * share(n),
        (Spin::At(a), Spin::At(b)) => whole * share(b - a),
    }
}

/// The stops for worn tools, spread over the pieces: an edge lasts its usual life in this material.
fn wear(task: &Task, work: &WorkList) -> Result<Time, FormulaError> {
    let life = lives::usual_life(task.view.part.material.iso_513);
    let mut sum = Time::ZERO;
    for op in &work.operations {
        let change = match work.tools[op.tool].shank {
            Shank::Square => movements().insert_change,
            Shank::Round(_) => movements().solid_tool_change,
        };
        if op.cutting > Time::ZERO {
            sum += tool_life::change_time_per_piece(change, op.contact(), life)?;
        }
    }
    Ok(sum)
}

/// The largest bar of a machine whose sub-spindle is light and has a short way, so that it meets the main spindle in half the time
/// (common practice, no source).
const SMALL_BAR: Length = Length::mm(13.0);

/// Whether the spindles are so small.
pub(super) fn is_small(task: &Task) -> bool {
    let largest = |m: &Mode| m.bar.and_then(|b| b.high);
    task.machine.modes.iter().filter_map(largest).max_by(Length::total_cmp).is_some_and(|d| d <= SMALL_BAR)
}

fn unload(task: &Task) -> Time {
    let long = task.view.length > Length::mm(150.0);
    if task.machine.catcher.as_ref().is_some_and(|c| c.gripper) || long {
        movements().unload_gripped
    } else {
        movements().unload
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_movement_stands_in_the_table() {
        let m = movements();
        let all = [
            m.approach,
            m.live_start_stop,
            m.orient,
            m.spindle_start,
            m.feed_out,
            m.re_grip,
            m.pick_off,
            m.pick_off_small,
            m.wait_point,
            m.air_blow,
            m.bar_change,
            m.unload,
            m.unload_gripped,
            m.insert_change,
            m.solid_tool_change,
        ];
        assert!(all.iter().all(|t| *t > Time::ZERO));
    }

    #[test]
    fn a_spindle_takes_its_share_of_the_run_up() {
        let n = RotationalSpeed::rpm;
        let whole = movements().spindle_start;
        assert_eq!(spindle_time(None, Spin::Still, Spin::Still), Time::ZERO);
        assert_eq!(spindle_time(None, Spin::At(n(100.0)), Spin::Still), movements().orient);
        assert_eq!(spindle_time(None, Spin::Still, Spin::At(n(100.0))), whole);
    }
}
