//! Setting up: from what is on the machine to what the job needs, line by line with minutes and reasons; and what the job
//! leaves there.

mod lines;
mod standing;

use super::blank::Blank;
use super::cycle::Cycle;
use super::hand_over::HandOver;
use super::holding::Missing;
use super::operation::{Operation, Tool};
use super::places::Assignment;
use super::{Moving, Plan, Task};
use crate::model::shop::State;
use crate::quantity::Time;
use crate::tables::materials::Band;
use crate::tables::shop_times;
pub use lines::dimensions;
pub(crate) use lines::time_to_mount;
use lines::{Lines, Now};
use standing::Standing;
pub(crate) use standing::is_same;
pub use standing::{Left, left_behind, tool_words};
use std::borrow::Cow;

/// One line of a setup.
#[derive(Clone, Debug, PartialEq)]
pub struct Line {
    /// The kind of work, a key of the table of shop times or of the shop's own.
    pub kind: &'static str,
    pub what: Cow<'static, str>,
    pub time: Time,
    /// The machine's spec states the time; else it is a standard one.
    pub stated: bool,
    pub reason: Cow<'static, str>,
    /// What must be waited for by the calendar: an order's delivery. It is nobody's work, so `time` is nought.
    pub calendar: Option<Band<Time>>,
}

/// A setup.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Setup {
    /// What stops the machine, in the order of the work.
    pub lines: Vec<Line>,
    pub total: Time,
    /// What is done beside it, before or while it runs: presetting, the program of a new part, what must be ordered.
    pub off_machine: Vec<Line>,
    /// Numbers of the job's tools that stand on the machine already.
    pub staying: Vec<usize>,
    /// Numbers of the job's tools whose head is mounted already, and set to their angle.
    pub heads_staying: Vec<usize>,
    /// Which of the shop's machines of this kind it starts from, counted from 0.
    pub machine: usize,
}

impl Setup {
    /// The share of the change from one way of holding the bar to another.
    pub fn mode_change(&self) -> Time {
        self.lines.iter().filter(|l| l.kind == MODE_CHANGE).map(|l| l.time).sum()
    }

    /// The lines that would be the same whatever job ran before: proving out, first article, setup pieces.
    pub fn own(&self) -> Time {
        self.lines.iter().filter(|l| is_own(l.kind)).map(|l| l.time).sum()
    }

    /// The lines that depend on the job before.
    pub fn change(&self) -> Time {
        self.lines.iter().filter(|l| !is_own(l.kind)).map(|l| l.time).sum()
    }

    /// Work beside the machine; what is waited for by the calendar is not in it.
    pub fn beside(&self) -> Time {
        self.off_machine.iter().map(|l| l.time).sum()
    }
}

/// The kind of the change from one way of holding the bar to another.
const MODE_CHANGE: &str = "mode-change";

fn is_own(kind: &str) -> bool {
    kind.starts_with("prove-out") || kind.starts_with("first-article") || kind == "setup-pieces"
}

/// What a setup is reckoned from.
#[derive(Clone, Copy, Debug)]
pub struct Job<'a> {
    pub blank: &'a Blank,
    pub tools: &'a [Tool],
    pub operations: &'a [Operation],
    pub assignment: &'a Assignment,
    pub cycle: &'a Cycle,
    pub hand_over: Option<&'a HandOver>,
    pub missing: &'a [Missing],
    pub moving: Option<Moving>,
}

impl<'a> Job<'a> {
    /// What a plan asks of a setup.
    pub fn of(plan: &'a Plan) -> Job<'a> {
        Job {
            blank: &plan.blank,
            tools: &plan.tools,
            operations: &plan.operations,
            assignment: &plan.assignment,
            cycle: &plan.cycle,
            hand_over: plan.hand_over.as_ref(),
            missing: &plan.missing,
            moving: plan.moving,
        }
    }
}

/// The setup from the present state; where the shop has several machines of the kind, from the one nearest to the job.
pub fn from_present_state(task: &Task, job: &Job) -> Setup {
    let unknown = State::default();
    let states = task.shop_machine().map_or(std::slice::from_ref(&unknown), |m| m.now.as_slice());
    let each = states.iter().enumerate().map(|(machine, state)| Setup { machine, ..change(task, job, state) });
    each.reduce(|best, next| if next.total < best.total { next } else { best }).unwrap_or_default()
}

/// The setup from a state. From the state that the job itself leaves it is nothing.
pub fn change(task: &Task, job: &Job, state: &State) -> Setup {
    let standing = Standing::find(task, job, state);
    let now = Now::of(task, job, state, &standing);
    let mut holding = Lines::with_capacity(8);
    now.holding(&mut holding);
    let mut mounting = Lines::with_capacity(8);
    now.heads(&mut mounting);
    now.tools(&mut mounting);
    let mut lines = Lines::with_capacity(24);
    now.warm_up(&mut lines);
    let mut off_machine = Vec::new();
    if !now.same_job || !holding.is_empty() || !mounting.is_empty() {
        now.clear(&holding, &mounting, &mut lines);
        let (held, mounted) = (!holding.is_empty(), !mounting.is_empty());
        lines.extend(holding);
        lines.extend(mounting);
        now.run_in(held, mounted, &mut lines);
        off_machine = now.off_machine();
    }
    // What the shop's own records say of its setups, on every line.
    for line in &mut lines {
        line.time = line.time * task.shop.calibration.of_setup(&task.machine.name, line.kind);
    }
    let total = lines.iter().map(|l| l.time).sum();
    let numbers = |there: &[bool]| there.iter().enumerate().filter(|(_, t)| **t).map(|(i, _)| i).collect();
    let (staying, heads_staying) = (numbers(&standing.tools), numbers(&standing.heads));
    Setup { lines, total, off_machine, staying, heads_staying, machine: 0 }
}

/// The standard time of a kind: the shop's own, or the table's typical one.
pub(crate) fn standard(task: &Task, kind: &'static str) -> Time {
    let own = task.shop.setup_times.get(kind);
    own.copied().or_else(|| shop_times::band(kind).map(|b| b.typical)).unwrap_or(Time::ZERO)
}
