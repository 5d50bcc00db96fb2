//! Setting up: from what is on the machine to what the job needs, line by line with minutes and reasons; and what the job
//! leaves there.

use super::blank::Blank;
use super::cycle::Cycle;
use super::hand_over::HandOver;
use super::operation::{Operation, Tool, ToolKind, Work};
use super::places::{Assignment, setting_kind};
use super::{Plan, Task};
use crate::model::figure::Limits;
use crate::model::machine::{AddedMethod, ModeKind};
use crate::model::part::{BarShape, Kind, Use};
use crate::model::shop::{Mounted, StandingTool, State};
use crate::quantity::{Angle, Length, Time};
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
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Setup {
    /// What stops the machine.
    pub lines: Vec<Line>,
    pub total: Time,
    /// What is done beside it, before or while it runs: presetting, the program of a new part, what must be ordered.
    pub off_machine: Vec<Line>,
    /// Tools and attachments of the job that stand there already.
    pub staying: u32,
    /// Which of the shop's machines of this kind it starts from, counted from 0.
    pub machine: usize,
    /// A mode change whose time the machine does not state was reckoned with a usual one.
    pub change_assumed: bool,
    pub mode_change: Time,
}

impl Setup {
    /// The lines that would be the same whatever job ran before: proving out, first article, setup pieces.
    pub fn own(&self) -> Time {
        self.lines.iter().filter(|l| is_own(l.kind)).map(|l| l.time).sum()
    }

    /// The lines that depend on the job before.
    pub fn change(&self) -> Time {
        self.lines.iter().filter(|l| !is_own(l.kind)).map(|l| l.time).sum()
    }
}

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
    let mut lines = Vec::with_capacity(24);
    let (mode_change, change_assumed) = holding_lines(task, job, state, &mut lines);
    attachment_lines(task, job, &standing, &mut lines);
    tool_lines(task, job, &standing, &mut lines);
    let same_job = state.job.as_deref() == Some(task.view.part.name.as_str());
    if !(same_job && lines.is_empty()) {
        job_lines(task, job, state, &mut lines);
    }
    let total = lines.iter().map(|l| l.time).sum();
    let staying = standing.tools.iter().chain(&standing.heads).filter(|there| **there).count() as u32;
    let off_machine = if lines.is_empty() { Vec::new() } else { off_machine(task, job, &standing) };
    Setup { lines, total, off_machine, staying, machine: 0, change_assumed, mode_change }
}

/// The state that a job leaves: its own holding, tools and heads, and of what stood there before what is not in its way.
pub fn left_behind(task: &Task, job: &Job, before: &State) -> State {
    let standing = Standing::find(task, job, before);
    let mut tools = Vec::new();
    let mut mounted = Vec::new();
    for (tool, placed) in job.tools.iter().zip(&job.assignment.placed) {
        let Some(placed) = placed else { continue };
        if let Some(attachment) = placed.attachment {
            let head = &task.machine.options[attachment];
            mounted.push(Mounted { name: head.name.clone(), angle: head.by_hand.then_some(tool.angle) });
        }
        let carrier = task.machine.carriers[job.assignment.rows[placed.row].carrier].name.clone();
        tools.push(StandingTool {
            kind: tool.kind,
            dia: Some(tool.dia),
            angle: Some(tool.angle),
            carrier: Some(carrier),
            side: Some(tool.side),
        });
    }
    // What is left of each row of places keeps the tools of the job before, as many as there is room for.
    let mut free: Vec<u32> = (0..job.assignment.rows.len()).map(|row| job.assignment.free(row)).collect();
    for (_, old) in before.tools.iter().enumerate().filter(|(i, _)| !standing.used.contains(i)) {
        let live = is_live(old.kind);
        let row = job.assignment.rows.iter().position(|r| {
            let name = &task.machine.carriers[r.carrier].name;
            (r.live == live || r.pocket) && old.carrier.as_ref().is_none_or(|c| c == name)
        });
        if let Some(row) = row.filter(|row| free[*row] > 0) {
            free[row] -= 1;
            tools.push(old.clone());
        }
    }
    State {
        mode: Some(task.mode.kind),
        bar: Some(job.blank.size),
        sub: job.hand_over.map(|h| h.dia),
        mounted,
        tools,
        job: Some(task.view.part.name.clone()),
        material: Some(task.view.part.material.key.clone()),
        cold: false,
    }
}

/// Whether tools of this kind stand in driven places.
fn is_live(kind: ToolKind) -> bool {
    matches!(
        kind,
        ToolKind::LiveDrill
            | ToolKind::EndMill
            | ToolKind::ThreadMill
            | ToolKind::SlotMill
            | ToolKind::StraddleMill
            | ToolKind::BallMill
            | ToolKind::EngravingTool
            | ToolKind::WhirlingHead
            | ToolKind::PolygonHead
    )
}

/// Which tools and heads of the job stand on the machine already.
struct Standing {
    /// For each tool of the job.
    tools: Vec<bool>,
    /// For each tool of the job: the head that carries it is mounted, and set.
    heads: Vec<bool>,
    /// Numbers of the state's tools that the job uses.
    used: Vec<usize>,
}

impl Standing {
    fn find(task: &Task, job: &Job, state: &State) -> Standing {
        let n = job.tools.len();
        // A job that runs and whose tools nobody lists stands as it was planned.
        let same_job = state.job.as_deref() == Some(task.view.part.name.as_str());
        if same_job && state.tools.is_empty() && state.mode == Some(task.mode.kind) {
            let heads = job.assignment.placed.iter().map(|p| p.as_ref().is_some_and(|p| p.attachment.is_some()));
            return Standing { tools: vec![true; n], heads: heads.collect(), used: Vec::new() };
        }
        let mut found = Standing { tools: vec![false; n], heads: vec![false; n], used: Vec::new() };
        let mut heads = state.mounted.clone();
        for (i, (tool, placed)) in job.tools.iter().zip(&job.assignment.placed).enumerate() {
            let Some(placed) = placed else { continue };
            let carrier = &task.machine.carriers[job.assignment.rows[placed.row].carrier].name;
            let stands = state.tools.iter().enumerate().find(|(at, s)| {
                !found.used.contains(at) && is_same(s, tool) && s.carrier.as_ref().is_none_or(|c| c == carrier)
            });
            if let Some((at, _)) = stands {
                found.used.push(at);
                found.tools[i] = true;
            }
            let Some(attachment) = placed.attachment else { continue };
            let head = &task.machine.options[attachment];
            // A hand-set head serves as it stands only at its angle.
            let set = |m: &Mounted| !head.by_hand || m.angle.is_some_and(|a| (a - tool.angle).abs() < Angle::deg(1e-6));
            if let Some(at) = heads.iter().position(|m| m.name == head.name && set(m)) {
                heads.remove(at);
                found.heads[i] = true;
            }
        }
        found
    }
}

/// A tool that stands serves a need of the plan; what is not said of it fits.
pub(crate) fn is_same(standing: &StandingTool, tool: &Tool) -> bool {
    let close = |d: Length| (d - tool.dia).abs() < Length::um(0.5);
    standing.kind == tool.kind
        && standing.dia.is_none_or(close)
        && standing.angle.is_none_or(|a| (a - tool.angle).abs() < Angle::deg(1e-6))
        && standing.side.is_none_or(|s| s == tool.side)
}

/// The standard time of a kind: the shop's own, or the table's typical one.
pub(crate) fn standard(task: &Task, kind: &'static str) -> Time {
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

/// So much wider than the bar the spindle's bore may be before a liner guides the bar in it (common practice 2 to 4 mm).
const LINER_GAP: Length = Length::mm(4.0);

/// Mode, bushing, collets, liner and bar channel.
fn holding_lines(task: &Task, job: &Job, state: &State, lines: &mut Vec<Line>) -> (Time, bool) {
    let mut change = (Time::ZERO, false);
    let bar = job.blank.size;
    let same_bar = state.bar.is_some_and(|b| (b - bar).abs() < Length::um(1.0));
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
        Some(now) if !same_bar => format!("bar {bar} instead of {now}").into(),
        Some(_) => "same bar".into(),
        None => "what is on the machine now is not stated".into(),
    };
    if task.guided() && (!same_bar || state.mode != Some(ModeKind::Guided)) {
        let what = format!("fit and adjust the {}guide bushing", shaped(job.blank));
        lines.push(line(task, "guide-bushing", what, reason.clone()));
    }
    if !same_bar {
        lines.push(line(task, "collet-main", format!("{}main collet", shaped(job.blank)), reason.clone()));
        lines.push(line(task, "bar-channel", "bar channel and pusher collet", reason.clone()));
        let bore = task.machine.main.bore.map(|b| b.value);
        if !task.guided() && bore.is_some_and(|bore| bore - job.blank.corners > LINER_GAP) {
            lines.push(line(task, "bar-liner", "spindle liner", reason));
        }
    }
    if task.machine.sub.is_some() {
        let grip = job.hand_over.map(|h| h.dia);
        let same = state.sub.zip(grip).is_some_and(|(a, b)| (a - b).abs() < Length::mm(0.05));
        if !same {
            let reason: Cow<'static, str> = match (state.sub, grip) {
                (Some(now), Some(grip)) => format!("grips {grip} instead of {now}").into(),
                _ => "another part".into(),
            };
            lines.push(line(task, "collet-sub", "sub-spindle collet and ejector", reason));
            let what = "first bar, sub-spindle run true and set to the part";
            lines.push(line(task, "sub-align", what, "its collet is new"));
        }
    }
    change
}

/// The word for what holds bar that is not round.
fn shaped(blank: &Blank) -> &'static str {
    match blank.shape {
        BarShape::Hex => "hexagonal ",
        BarShape::Square => "square ",
        _ => "",
    }
}

/// Attachments that are not mounted yet; hand-set heads once for each distinct angle.
fn attachment_lines(task: &Task, job: &Job, standing: &Standing, lines: &mut Vec<Line>) {
    for (i, (tool, placed)) in job.tools.iter().zip(&job.assignment.placed).enumerate() {
        let Some(attachment) = placed.as_ref().and_then(|p| p.attachment) else { continue };
        let head = &task.machine.options[attachment];
        if standing.heads[i] {
            // A ring that is there still takes this form's inserts and lean.
            if head.method == Some(AddedMethod::Whirling) && !standing.tools[i] {
                let what = format!("`{}`: inserts of this form, its lean", head.name);
                lines.push(line(task, "whirling-inserts", what, "the ring is mounted"));
            }
            continue;
        }
        let kind = match head.method {
            Some(AddedMethod::Whirling) => "whirling-head",
            Some(AddedMethod::OscillatingDrilling) => "oscillating-drill",
            Some(AddedMethod::PolygonTurning) => "polygon-head",
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

/// Tools that are not on the machine, by kind; pressure lines for deep-hole drills, a form broach set to its clock position.
fn tool_lines(task: &Task, job: &Job, standing: &Standing, lines: &mut Vec<Line>) {
    let mut count: Vec<(&'static str, u32)> = Vec::new();
    let mut add = |kind: &'static str| match count.iter_mut().find(|(k, _)| *k == kind) {
        Some((_, n)) => *n += 1,
        None => count.push((kind, 1)),
    };
    for (i, (tool, placed)) in job.tools.iter().zip(&job.assignment.placed).enumerate() {
        // A tool without a place is nothing to mount: the plan is refused for it.
        if standing.tools[i] || placed.is_none() {
            continue;
        }
        let on_head = placed.as_ref().is_some_and(|p| p.attachment.is_some());
        let in_magazine = placed.as_ref().is_some_and(|p| job.assignment.rows[p.row].pocket);
        if !on_head && tool.kind != ToolKind::WhirlingHead {
            add(if in_magazine { "quick-change-tool" } else { setting_kind(tool) });
        }
        match tool.kind {
            ToolKind::DeepHoleDrill | ToolKind::SingleLipDrill if !on_head => add("high-pressure-line"),
            ToolKind::FormBroach => add("broach-orient"),
            _ => {}
        }
    }
    for (kind, n) in count {
        let many = if n == 1 { "" } else { "s" };
        let what = match kind {
            "turning-tool" => format!("{n} turning tool{many} to mount and touch off"),
            "live-tool" => format!("{n} live tool{many} to mount and touch off"),
            "quick-change-tool" => format!("{n} preset tool{many} into the magazine"),
            "high-pressure-line" => format!("{n} pressure line{many} to a deep-hole drill"),
            "broach-orient" => format!("{n} broach{} to set to the clock position", if n == 1 { "" } else { "es" }),
            _ => format!("{n} drill{many} or boring bar{many} to mount and centre"),
        };
        let reason = match kind {
            "quick-change-tool" => "preset off the machine while it runs",
            "high-pressure-line" => "coolant through the drill",
            "broach-orient" => "the spindle stands still under it",
            _ => "not on the machine",
        };
        let time = standard(task, kind) * f64::from(n);
        lines.push(Line { kind, what: what.into(), time, reason: reason.into() });
    }
}

/// Program, offsets, proving out, first article: what another job asks for whatever stood there.
fn job_lines(task: &Task, job: &Job, state: &State, lines: &mut Vec<Line>) {
    let part = task.view.part;
    let changed = !lines.is_empty();
    if state.cold {
        lines.push(line(task, "warm-up", "warm up", "it has stood still"));
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
    let same_material = state.material.as_deref().is_some_and(|m| m.eq_ignore_ascii_case(&part.material.key));
    if same_material {
        // The chips are those that are there.
    } else if matches!(part.material.iso_513, 'S') || part.material.family.contains("plastic") {
        lines.push(line(task, "clean-out", "clean out for the material", "chips must not mix"));
    } else if matches!(part.purpose, Use::Implant | Use::Food) {
        lines.push(line(task, "clean-out", "clean out for the work", "no foreign chips in implant or food work"));
    }
    lines.push(Line {
        kind: "setup-pieces",
        what: format!("{} setup pieces", task.shop.setup_pieces).into(),
        time: job.cycle.total * f64::from(task.shop.setup_pieces),
        reason: "to bring the sizes in".into(),
    });
    // The next length of a family leaves everything where it stands.
    if changed {
        lines.push(line(task, "tear-down", "tear down and clean", "tools and holding change"));
    }
}

/// What does not stop the machine.
fn off_machine(task: &Task, job: &Job, standing: &Standing) -> Vec<Line> {
    let mut lines = Vec::new();
    let in_magazine = |i: &usize| {
        let placed = job.assignment.placed[*i].as_ref();
        placed.is_some_and(|p| job.assignment.rows[p.row].pocket) && !standing.tools[*i]
    };
    let preset = (0..job.tools.len()).filter(in_magazine).count();
    if preset > 0 {
        let time = standard(task, "preset-tool") * preset as f64;
        let what = format!("preset {preset} tool{} for the magazine", if preset == 1 { "" } else { "s" });
        lines.push(Line {
            kind: "preset-tool",
            what: what.into(),
            time,
            reason: "beside the machine, before or while it runs".into(),
        });
    }
    if !task.view.part.repeat {
        let sculpted = job.operations.iter().any(|o| o.work == Work::MillContour);
        let kind = if sculpted { "program-sculpted" } else { "program-new" };
        lines.push(line(task, kind, "write the program", "first order of this part"));
    }
    if let Some(h) = job.hand_over.filter(|h| h.grip < h.needed || h.over.is_some() || h.on_thread) {
        let what = format!("order a special collet for {}", h.dia);
        let reason = "two to three weeks of delivery (common practice)";
        lines.push(Line { kind: "special-collet", what: what.into(), time: Time::ZERO, reason: reason.into() });
    }
    lines
}

fn has_dimension(kind: &Kind) -> bool {
    match kind {
        Kind::Edges(_) => false,
        Kind::Turn(t) => !t.thread_blank && !t.as_stock && !matches!(t.dia.limits, Limits::Reference),
        _ => true,
    }
}
