//! Setting up: from what is on the machine now to what the job needs, line by line with minutes and reasons.

use super::Task;
use super::blank::Blank;
use super::cycle::Cycle;
use super::operation::{ToolKind, WorkList};
use super::places::{Assignment, setting_kind};
use crate::model::figure::Limits;
use crate::model::machine::{AddedMethod, ModeKind};
use crate::model::part::Use;
use crate::model::shop::State;
use crate::quantity::{Length, Time};
use crate::tables::shop_times;
use std::borrow::Cow;

/// One line of a setup.
#[derive(Clone, Debug, PartialEq)]
pub struct Line {
    /// The kind of work, a key of the table of shop times or of the shop's own.
    pub kind: &'static str,
    pub what: Cow<'static, str>,
    pub time: Time,
    pub reason: Cow<'static, str>,
}

/// A setup.
#[derive(Clone, Debug, PartialEq)]
pub struct Setup {
    pub lines: Vec<Line>,
    pub total: Time,
    /// Which of the shop's machines of this kind it starts from, counted from 0.
    pub machine: usize,
    /// A mode change whose time the machine does not state was reckoned with a usual one.
    pub change_assumed: bool,
    pub mode_change: Time,
}

/// The setup from the present state; where the shop has several machines of the kind, from the one nearest to the job.
pub fn from_present_state(
    task: &Task,
    blank: &Blank,
    work: &WorkList,
    assignment: &Assignment,
    cycle: &Cycle,
) -> Setup {
    let unknown = State::default();
    let states = task.shop_machine().map_or(std::slice::from_ref(&unknown), |m| m.now.as_slice());
    let common = job_lines(task, work, assignment, cycle);
    let mut best: Option<Setup> = None;
    for (machine, state) in states.iter().enumerate() {
        let mut lines = Vec::with_capacity(common.len() + 8);
        let (mode_change, change_assumed) = holding_lines(task, blank, state, &mut lines);
        attachment_lines(task, work, assignment, state, &mut lines);
        lines.extend(common.iter().cloned());
        let total = lines.iter().map(|l| l.time).sum();
        if best.as_ref().is_none_or(|b| total < b.total) {
            best = Some(Setup { lines, total, machine, change_assumed, mode_change });
        }
    }
    best.unwrap_or(Setup {
        lines: common,
        total: Time::ZERO,
        machine: 0,
        change_assumed: false,
        mode_change: Time::ZERO,
    })
}

/// The standard time of a kind: the shop's own, or the table's typical one.
fn standard(task: &Task, kind: &'static str) -> Time {
    let own = task.shop.setup_times.get(kind);
    own.copied().or_else(|| shop_times::band(kind).map(|b| b.typical)).unwrap_or(Time::ZERO)
}

/// The shop's own time to prove out; else the table's for each spindle, a third of it where the part ran before.
fn prove_out(task: &Task, kind: &'static str) -> Time {
    let own = task.shop.setup_times.get(kind).copied();
    own.unwrap_or_else(|| {
        let spindles = if task.machine.sub.is_some() { 2.0 } else { 1.0 };
        let share = if kind == "prove-out-repeat" { 1.0 / 3.0 } else { 1.0 };
        standard(task, "prove-out-spindle") * spindles * share
    })
}

fn line(
    task: &Task,
    kind: &'static str,
    what: impl Into<Cow<'static, str>>,
    reason: impl Into<Cow<'static, str>>,
) -> Line {
    Line { kind, what: what.into(), time: standard(task, kind), reason: reason.into() }
}

/// Mode, bushing, collets and bar channel.
fn holding_lines(task: &Task, blank: &Blank, state: &State, lines: &mut Vec<Line>) -> (Time, bool) {
    let mut change = (Time::ZERO, false);
    let same_bar = state.bar.is_some_and(|b| (b - blank.size).abs() < Length::um(1.0));
    let kind = task.mode.kind;
    // A collet and a supported mode hold the bar alike: between them nothing is changed.
    let held = |k: ModeKind| if k == ModeKind::Guided { ModeKind::Guided } else { ModeKind::Collet };
    if let Some(now) = state.mode
        && held(now) != held(kind)
    {
        let stated = task.machine.changeover(now, kind).map(|c| c.time.value);
        let time = stated.unwrap_or_else(|| standard(task, "mode-change"));
        change = (time, stated.is_none());
        let what = format!("change from {} to {} work", now.word(), kind.word());
        let reason = if stated.is_some() { "stated by the machine" } else { "not stated by the machine: a usual time" };
        lines.push(Line { kind: "mode-change", what: what.into(), time, reason: reason.into() });
    }
    let reason: Cow<'static, str> = match state.bar {
        Some(bar) if !same_bar => format!("bar {} instead of {bar}", blank.size).into(),
        Some(_) => "same bar".into(),
        None => "what is on the machine now is not stated".into(),
    };
    if task.guided() && (!same_bar || state.mode != Some(ModeKind::Guided)) {
        lines.push(line(task, "guide-bushing", "fit and adjust the guide bushing", reason.clone()));
    }
    if !same_bar {
        lines.push(line(task, "collet-main", "main collet", reason.clone()));
        lines.push(line(task, "bar-channel", "bar channel and pusher collet", reason));
    }
    if task.machine.sub.is_some() {
        lines.push(line(task, "collet-sub", "sub-spindle collet and ejector", "another part"));
    }
    change
}

/// Attachments that are not mounted yet; hand-set heads once for each distinct angle.
fn attachment_lines(task: &Task, work: &WorkList, assignment: &Assignment, state: &State, lines: &mut Vec<Line>) {
    let mut there = state.mounted.clone();
    for (tool, placed) in work.tools.iter().zip(&assignment.placed) {
        let Some(attachment) = placed.as_ref().and_then(|p| p.attachment) else { continue };
        let head = &task.machine.options[attachment];
        // A head that is mounted stands at another job's angle: a hand-set one is set again.
        if !head.by_hand
            && let Some(at) = there.iter().position(|m| *m == head.name)
        {
            there.remove(at);
            continue;
        }
        let kind = match head.method {
            Some(AddedMethod::Whirling) => "whirling-head",
            Some(AddedMethod::OscillatingDrilling) => "oscillating-drill",
            _ => "angle-head-align",
        };
        let time = head.mount.map_or_else(|| standard(task, kind), |m| m.value);
        let what = match head.by_hand {
            true => format!("mount `{}` and set it to {} with an indicator", head.name, tool.angle),
            false => format!("mount `{}`", head.name),
        };
        let reason = if head.by_hand { "each distinct angle costs one mounting" } else { "not mounted now" };
        lines.push(Line { kind, what: what.into(), time, reason: reason.into() });
    }
}

/// Tools, program, prove-out, first article: what any state must still do.
fn job_lines(task: &Task, work: &WorkList, assignment: &Assignment, cycle: &Cycle) -> Vec<Line> {
    let part = task.view.part;
    let mut lines = Vec::new();
    let mut count: Vec<(&'static str, u32)> = Vec::new();
    for (tool, placed) in work.tools.iter().zip(&assignment.placed) {
        let on_head = placed.as_ref().is_some_and(|p| p.attachment.is_some());
        if on_head || tool.kind == ToolKind::WhirlingHead {
            continue;
        }
        let in_magazine = placed.as_ref().is_some_and(|p| assignment.rows[p.row].pocket);
        let kind = if in_magazine { "quick-change-tool" } else { setting_kind(tool) };
        match count.iter_mut().find(|(k, _)| *k == kind) {
            Some((_, n)) => *n += 1,
            None => count.push((kind, 1)),
        }
    }
    for (kind, n) in count {
        let many = if n == 1 { "" } else { "s" };
        let what = match kind {
            "turning-tool" => format!("{n} turning tool{many} to mount and touch off"),
            "live-tool" => format!("{n} live tool{many} to mount and touch off"),
            "quick-change-tool" => format!("{n} preset tool{many} into the magazine"),
            _ => format!("{n} drill{many} or boring bar{many} to mount and centre"),
        };
        let time = standard(task, kind) * f64::from(n);
        lines.push(Line { kind, what: what.into(), time, reason: reason_of(kind).into() });
    }
    lines.push(line(task, "program-load", "load program and offsets", "every order"));
    let (kind, reason) = match part.repeat {
        true => ("prove-out-repeat", "it ran before"),
        false => ("prove-out-new", "first order of this part"),
    };
    lines.push(Line { kind, what: "prove out".into(), time: prove_out(task, kind), reason: reason.into() });
    let dimensions = part.features.iter().filter(|f| has_dimension(&f.kind)).count() + part.demands.len();
    let each = standard(task, "first-article-per-dimension");
    lines.push(Line {
        kind: "first-article-per-dimension",
        what: format!("first article, {dimensions} dimensions").into(),
        time: each * dimensions as f64,
        reason: "every order".into(),
    });
    if matches!(part.purpose, Use::Implant | Use::Aerospace) {
        lines.push(line(task, "first-article-report", "first-article report", "implant or aerospace work"));
    }
    if matches!(part.material.iso_513, 'S') || part.material.family.contains("plastic") {
        lines.push(line(task, "clean-out", "clean out for the material", "chips must not mix"));
    }
    lines.push(Line {
        kind: "setup-pieces",
        what: format!("{} setup pieces", task.shop.setup_pieces).into(),
        time: cycle.total * f64::from(task.shop.setup_pieces),
        reason: "to bring the sizes in".into(),
    });
    lines.push(line(task, "tear-down", "tear down and clean", "after the order"));
    lines
}

fn reason_of(kind: &str) -> &'static str {
    if kind == "quick-change-tool" { "preset off the machine while it runs" } else { "not on the machine" }
}

fn has_dimension(kind: &crate::model::part::Kind) -> bool {
    use crate::model::part::Kind;
    match kind {
        Kind::Edges(_) => false,
        Kind::Turn(t) => !t.thread_blank && !t.as_stock && !matches!(t.dia.limits, Limits::Reference),
        _ => true,
    }
}
