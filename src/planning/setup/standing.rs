//! What of a job stands on the machine already, and what the job leaves there.

use super::super::Task;
use super::super::operation::{Tool, ToolKind};
use super::Job;
use super::lines;
use crate::model::machine::{AddedMethod, Attachment, Carrier, Side};
use crate::model::part::Part;
use crate::model::shop::{Mounted, StandingTool, State};
use crate::quantity::{Angle, Length, Time};
use std::borrow::Cow;

/// Which tools and heads of the job stand on the machine already.
#[derive(Debug)]
pub(super) struct Standing {
    /// For each tool of the job.
    pub(super) tools: Vec<bool>,
    /// For each tool of the job: the head that carries it is mounted, and set.
    pub(super) heads: Vec<bool>,
    /// For each tool of the state: the job uses it.
    used: Vec<bool>,
    /// For each head of the state: the job uses it.
    heads_used: Vec<bool>,
}

impl Standing {
    /// Matches the tools of the job with those that stand there, so that the most setting time is spared.
    pub(super) fn find(task: &Task, job: &Job, state: &State) -> Standing {
        let n = job.tools.len();
        let mut found = Standing {
            tools: vec![false; n],
            heads: vec![false; n],
            used: vec![false; state.tools.len()],
            heads_used: vec![false; state.mounted.len()],
        };
        // A job that runs and whose tools nobody lists stands as it was planned.
        let same_job = state.job.as_deref() == Some(task.view.part.name.as_str());
        if same_job && state.tools.is_empty() && state.mode == Some(task.mode.kind) {
            found.tools.fill(true);
            for (head, placed) in found.heads.iter_mut().zip(&job.assignment.placed) {
                *head = placed.as_ref().is_some_and(|p| p.attachment.is_some());
            }
            return found;
        }
        found.match_heads(task, job, state);
        found.match_tools(task, job, state);
        found
    }

    fn match_heads(&mut self, task: &Task, job: &Job, state: &State) {
        for (i, (tool, placed)) in job.tools.iter().zip(&job.assignment.placed).enumerate() {
            let Some(attachment) = placed.as_ref().and_then(|p| p.attachment) else { continue };
            let head = &task.machine.options[attachment];
            // A hand-set head serves as it stands only at its angle.
            let set = |m: &Mounted| !head.by_hand || m.angle.is_some_and(|a| equal(a, tool.angle));
            let there = (0..state.mounted.len())
                .find(|at| !self.heads_used[*at] && state.mounted[*at].name == head.name && set(&state.mounted[*at]));
            if let Some(at) = there {
                self.heads_used[at] = true;
                self.heads[i] = true;
            }
        }
    }

    /// The tools with the longest setting times first, each giving way where another of the state serves it too: this
    /// spares the most time, since sets of tools that can be served together form a matroid.
    fn match_tools(&mut self, task: &Task, job: &Job, state: &State) {
        if state.tools.is_empty() {
            return;
        }
        let serves: Vec<Vec<usize>> = (0..job.tools.len())
            .map(|i| {
                let Some(placed) = &job.assignment.placed[i] else { return Vec::new() };
                let carrier = &task.machine.carriers[job.assignment.rows[placed.row].carrier].name;
                let there = |s: &StandingTool| {
                    is_same(task, s, &job.tools[i]) && s.carrier.as_ref().is_none_or(|c| c == carrier)
                };
                (0..state.tools.len()).filter(|at| there(&state.tools[*at])).collect()
            })
            .collect();
        let time = |i: usize| -> Time { lines::to_mount(task, job, i).map(|k| super::standard(task, k)).sum() };
        let mut order: Vec<(usize, Time)> = (0..job.tools.len()).map(|i| (i, time(i))).collect();
        order.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(&b.0)));
        let mut owner: Vec<Option<usize>> = vec![None; state.tools.len()];
        for (i, _) in order {
            let mut seen = vec![false; state.tools.len()];
            serve(i, &serves, &mut owner, &mut seen);
        }
        for (at, tool) in owner.iter().enumerate() {
            if let Some(tool) = tool {
                self.tools[*tool] = true;
                self.used[at] = true;
            }
        }
    }
}

/// Finds a standing tool for a tool of the job; those that have one may take another.
fn serve(i: usize, serves: &[Vec<usize>], owner: &mut [Option<usize>], seen: &mut [bool]) -> bool {
    for at in &serves[i] {
        if std::mem::replace(&mut seen[*at], true) {
            continue;
        }
        if owner[*at].is_none_or(|other| serve(other, serves, owner, seen)) {
            owner[*at] = Some(i);
            return true;
        }
    }
    false
}

/// A tool that stands serves a need of the plan; what is not said of it fits.
pub(crate) fn is_same(task: &Task, standing: &StandingTool, tool: &Tool) -> bool {
    let close = |d: Length| (d - tool.dia).abs() < Length::um(0.5);
    standing.kind == tool.kind
        && standing.dia.is_none_or(close)
        && standing.angle.is_none_or(|a| equal(a, tool.angle))
        && standing.side.is_none_or(|s| s == tool.side)
        && standing.form.as_ref().is_none_or(|form| tool.form(task.view.part).is_none_or(|f| f == form.as_str()))
}

fn equal(a: Angle, b: Angle) -> bool {
    (a - b).abs() < Angle::deg(1e-6)
}

/// A tool in the setter's words, with its spindle where that is the sub-spindle: `finishing tool (sub)`.
pub fn tool_words(part: &Part, tool: &Tool) -> String {
    tool.words(part) + if tool.side == Side::Sub { " (sub)" } else { "" }
}

/// What a job leaves on the machine.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Left {
    /// Its own holding, tools and heads, and of what stood there before what is not in its way.
    pub state: State,
    /// Of what stood there before: what stays although the job does not need it, in words.
    pub idle: Vec<String>,
    /// Of what stood there before: what comes off, in words.
    pub off: Vec<String>,
}

/// The state that a job leaves, and what becomes of what stood there before.
pub fn left_behind(task: &Task, job: &Job, before: &State) -> Left {
    let standing = Standing::find(task, job, before);
    let mut left = Left::default();
    let (mut tools, mut mounted) = (Vec::new(), Vec::new());
    for (tool, placed) in job.tools.iter().zip(&job.assignment.placed) {
        let Some(placed) = placed else { continue };
        if let Some(attachment) = placed.attachment {
            let head = &task.machine.options[attachment];
            mounted.push(Mounted { name: head.name.clone(), angle: head.by_hand.then_some(tool.angle) });
        }
        tools.push(StandingTool {
            kind: tool.kind,
            dia: Some(tool.dia),
            angle: Some(tool.angle),
            carrier: Some(task.machine.carriers[job.assignment.rows[placed.row].carrier].name.clone()),
            side: Some(tool.side),
            form: tool.form(task.view.part).map(Cow::into_owned),
        });
    }
    let mut room =
        Room { task, job, free: (0..job.assignment.rows.len()).map(|row| job.assignment.free(row)).collect() };
    let mut settled = standing.used.clone();
    for (at, head) in before.mounted.iter().enumerate() {
        let Some(option) = task.machine.options.iter().find(|o| o.name == head.name) else { continue };
        // The tool in a head goes where its head goes.
        let its = (0..before.tools.len()).find(|t| !settled[*t] && stands_in(option, head, &before.tools[*t]));
        its.iter().for_each(|t| settled[*t] = true);
        let its = its.map(|t| &before.tools[t]);
        // A head that the job sets elsewhere is taken from here, where the shop has no more of them.
        let there = before.mounted.iter().filter(|m| m.name == head.name).count();
        let spare = mounted.iter().filter(|m| m.name == head.name).count()
            < there.max(task.owned(option).try_into().unwrap_or(usize::MAX));
        let stays = !standing.heads_used[at] && spare && room.keep_head(option);
        if stays {
            mounted.push(head.clone());
            tools.extend(its.cloned());
        }
        let words = if stays { &mut left.idle } else { &mut left.off };
        if !standing.heads_used[at] {
            words.push(head.words());
        }
        words.extend(its.map(StandingTool::words));
    }
    for (_, old) in before.tools.iter().enumerate().filter(|(i, _)| !settled[*i]) {
        if room.keep_tool(old) {
            left.idle.push(old.words());
            tools.push(old.clone());
        } else {
            left.off.push(old.words());
        }
    }
    left.state = State {
        mode: Some(task.mode.kind),
        bar: Some(job.blank.size),
        sub: job.hand_over.map(|h| h.bore.size()),
        mounted,
        tools,
        job: Some(task.view.part.name.clone()),
        material: Some(task.view.part.material.key.clone()),
        cold: false,
    };
    left
}

/// Whether a standing tool is the one in a head.
fn stands_in(option: &Attachment, head: &Mounted, tool: &StandingTool) -> bool {
    let there = option.occupies.as_ref().is_none_or(|o| tool.carrier.as_ref().is_none_or(|c| *c == o.carrier));
    there
        && match option.method {
            Some(AddedMethod::Whirling) => tool.kind == ToolKind::WhirlingHead,
            Some(AddedMethod::PolygonTurning) => tool.kind == ToolKind::PolygonHead,
            Some(AddedMethod::ThreadRolling) => tool.kind == ToolKind::RollingHead,
            None if option.by_hand => {
                tool.kind.is_driven() && head.angle.zip(tool.angle).is_some_and(|(a, b)| equal(a, b))
            }
            _ => false,
        }
}

/// What is left of each row of places when the job has its own.
struct Room<'a> {
    task: &'a Task<'a>,
    job: &'a Job<'a>,
    free: Vec<u32>,
}

impl Room<'_> {
    fn carrier(&self, row: usize) -> &Carrier {
        &self.task.machine.carriers[self.job.assignment.rows[row].carrier]
    }

    fn take(&mut self, row: Option<usize>, places: u32) -> bool {
        let Some(left) = row.and_then(|row| self.free.get_mut(row)).filter(|left| **left >= places) else {
            return false;
        };
        *left -= places;
        true
    }

    fn keep_head(&mut self, option: &Attachment) -> bool {
        let Some(o) = &option.occupies else { return true };
        let mut rows = self.job.assignment.rows.iter().enumerate();
        let row = rows.find(|(i, r)| self.carrier(*i).name == o.carrier && (r.live == o.live || r.pocket));
        let places = if o.pocket { 1 } else { o.places.max(1) };
        self.take(row.map(|(i, _)| i), places)
    }

    fn keep_tool(&mut self, tool: &StandingTool) -> bool {
        // Such tools stand in heads only, and theirs is gone.
        if matches!(tool.kind, ToolKind::WhirlingHead | ToolKind::PolygonHead) {
            return false;
        }
        let driven = tool.kind.is_driven();
        let fits = |i: usize, pocket: bool| {
            let (row, carrier) = (&self.job.assignment.rows[i], self.carrier(i));
            let reached = |a: Angle| carrier.angle.as_ref().is_none_or(|c| c.low <= a && a <= c.high);
            row.pocket == pocket
                && (row.live == driven || pocket)
                && self.free[i] > 0
                && tool.carrier.as_ref().is_none_or(|c| *c == carrier.name)
                && tool.side.is_none_or(|s| carrier.serves(s))
                && (!driven || tool.angle.is_none_or(reached))
        };
        let rows = 0..self.free.len();
        let row = rows.clone().find(|i| fits(*i, false)).or_else(|| rows.clone().find(|i| fits(*i, true)));
        self.take(row, 1)
    }
}
