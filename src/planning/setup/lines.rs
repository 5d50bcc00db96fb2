//! The lines of a setup: each element of the work where it is asked, in the order in which a setter does it.

use super::super::Task;
use super::super::operation::{Tool, ToolKind, Work};
use super::super::places::{Placed, setting_kind};
use super::standing::{Standing, tool_words};
use super::{Job, Line, MODE_CHANGE, Moving, standard};
use crate::model::machine::{AddedMethod, Attachment, ModeKind};
use crate::model::part::{BarShape, Kind, Part, Use, Validated};
use crate::model::shop::State;
use crate::quantity::{Length, Time};
use crate::tables::materials::Band;
use crate::tables::shop_times;
use std::borrow::Cow;

pub(super) type Lines = Vec<Line>;

/// The setting kinds of a tool that is not on the machine yet, keys of the table of shop times. A tool without a place is
/// nothing to mount: the plan is refused for it. What stands in a head is mounted with its head.
pub(super) fn to_mount(task: &Task, job: &Job, tool: usize) -> impl Iterator<Item = &'static str> {
    let (placed, tool) = (job.assignment.placed[tool].as_ref(), &job.tools[tool]);
    let on_head = placed.is_some_and(|p| p.attachment.is_some());
    let inserts = (on_head && tool.kind == ToolKind::WhirlingHead).then_some("whirling-inserts");
    let seated = placed.filter(|_| !on_head && tool.kind != ToolKind::WhirlingHead);
    let mount =
        seated.map(|p| if job.assignment.rows[p.row].pocket { "quick-change-tool" } else { setting_kind(tool) });
    // Without pumped pressure such a drill pecks, as any other.
    let pressure = task.machine.coolant.as_ref().and_then(|c| c.pressure);
    let deep = matches!(tool.kind, ToolKind::DeepHoleDrill | ToolKind::SingleLipDrill);
    let line = (deep && seated.is_some() && pressure.is_some()).then_some("high-pressure-line");
    let clock = (tool.kind == ToolKind::FormBroach && placed.is_some()).then_some("broach-orient");
    [mount, inserts, line, clock].into_iter().flatten()
}

/// A job and the state that it is set up from.
pub(super) struct Now<'a> {
    task: &'a Task<'a>,
    job: &'a Job<'a>,
    state: &'a State,
    standing: &'a Standing,
    /// The job runs there, or ran last.
    pub(super) same_job: bool,
    /// Its program is loaded and proved: the job ran last, in this mode.
    programmed: bool,
    same_bar: bool,
    same_material: bool,
    same_sub: bool,
}

impl<'a> Now<'a> {
    pub(super) fn of(task: &'a Task<'a>, job: &'a Job<'a>, state: &'a State, standing: &'a Standing) -> Now<'a> {
        let part = task.view.part;
        let same_job = state.job.as_deref() == Some(part.name.as_str());
        let material = state.material.as_deref();
        Now {
            task,
            job,
            state,
            standing,
            same_job,
            programmed: same_job && state.mode == Some(task.mode.kind),
            same_bar: state.bar.is_some_and(|b| (b - job.blank.size).abs() < Length::um(1.0)),
            same_material: material.map_or(same_job, |m| m.eq_ignore_ascii_case(&part.material.key)),
            same_sub: match job.hand_over {
                Some(h) => state.sub.is_some_and(|now| (now - h.bore.size()).abs() < Length::mm(0.05)),
                None => same_job,
            },
        }
    }

    fn part(&self) -> &'a Part {
        self.task.view.part
    }

    fn line(
        &self,
        kind: &'static str,
        what: impl Into<Cow<'static, str>>,
        reason: impl Into<Cow<'static, str>>,
    ) -> Line {
        let time = standard(self.task, kind);
        Line { kind, what: what.into(), time, stated: false, reason: reason.into(), calendar: None }
    }

    /// As [`Now::line`], so many times over.
    fn times(
        &self,
        kind: &'static str,
        many: f64,
        what: impl Into<Cow<'static, str>>,
        reason: impl Into<Cow<'static, str>>,
    ) -> Line {
        Line { time: standard(self.task, kind) * many, ..self.line(kind, what, reason) }
    }

    pub(super) fn warm_up(&self, lines: &mut Lines) {
        if self.state.cold {
            lines.push(self.line("warm-up", "warm up", "it has stood still"));
        }
    }

    /// Mode, liner, collets, bushing and bar channel.
    pub(super) fn holding(&self, lines: &mut Lines) {
        let (task, state, bar) = (self.task, self.state, self.job.blank.size);
        let kind = task.mode.kind;
        // A collet and a supported mode hold the bar alike: between them nothing is changed.
        let bushing = |k: ModeKind| k == ModeKind::Guided;
        let other_mode = state.mode.filter(|now| bushing(*now) != bushing(kind));
        if let Some(now) = other_mode {
            let stated = task.machine.changeover(now, kind).map(|c| c.time.value);
            let time = stated.unwrap_or_else(|| standard(task, MODE_CHANGE));
            let what = format!("change from {} to {} work", now.word(), kind.word());
            let said =
                if stated.is_some() { "stated by the machine" } else { "not stated by the machine: a usual time" };
            lines.push(Line { time, stated: stated.is_some(), ..self.line(MODE_CHANGE, what, said) });
        }
        let reason: Cow<'static, str> = match state.bar {
            Some(now) if !self.same_bar => format!("bar {bar} instead of {now}").into(),
            Some(_) => "another way to hold the bar".into(),
            None => "the bar on the machine now is not stated".into(),
        };
        let bore = task.machine.main.bore.map(|b| b.value);
        let gap = Length::mm(task.thresholds.liner_gap_mm);
        let wide = !task.guided() && bore.is_some_and(|bore| bore - self.job.blank.corners > gap);
        if wide && (!self.same_bar || other_mode.is_some()) {
            let bore = bore.unwrap_or(Length::ZERO);
            lines.push(self.line("bar-liner", "spindle liner", format!("bar {bar} in a bore of {bore}")));
        }
        if !self.same_bar {
            lines.push(self.line("collet-main", format!("{}main collet", self.shaped()), reason.clone()));
        }
        if task.guided() && (!self.same_bar || state.mode != Some(ModeKind::Guided)) {
            let what = format!("fit and adjust the {}guide bushing", self.shaped());
            lines.push(self.line("guide-bushing", what, reason.clone()));
        }
        if !self.same_bar {
            lines.push(self.line("bar-channel", "bar channel and pusher collet", reason));
        }
        if task.machine.sub.is_some() && !self.same_sub {
            let reason: Cow<'static, str> = match (state.sub, self.job.hand_over.map(|h| h.bore)) {
                (Some(now), Some(grip)) => format!("grips {grip} instead of {now}").into(),
                (None, Some(grip)) => format!("grips {grip}; what it holds now is not stated").into(),
                (_, None) => "another part".into(),
            };
            lines.push(self.line("collet-sub", "sub-spindle collet, stop and ejector", reason));
        }
    }

    /// The word for what holds bar that is not round.
    fn shaped(&self) -> &'static str {
        match self.job.blank.shape {
            BarShape::Hex => "hexagonal ",
            BarShape::Square => "square ",
            _ => "",
        }
    }

    /// Heads that are not mounted yet; those set by hand once for each distinct angle.
    pub(super) fn heads(&self, lines: &mut Lines) {
        for (i, (tool, placed)) in self.placed() {
            let Some(attachment) = placed.attachment.filter(|_| !self.standing.heads[i]) else { continue };
            let head = &self.task.machine.options[attachment];
            let (kind, time) = (mounting_kind(head), time_to_mount(self.task, head));
            let (what, reason): (_, Cow<'static, str>) = match head.by_hand {
                true => (
                    format!("mount `{}` and set it to {} with an indicator", head.name, tool.angle),
                    format!("for {}; each distinct angle costs one mounting", tool.words(self.part())).into(),
                ),
                false => (format!("mount `{}`", head.name), self.purpose(tool).into()),
            };
            lines.push(Line { time, stated: head.mount.is_some(), ..self.line(kind, what, reason) });
        }
    }

    /// The features that a tool makes, in words.
    fn purpose(&self, tool: &Tool) -> String {
        let names: Vec<&str> = tool.features.iter().map(|f| self.task.view.feature(*f).name.as_str()).collect();
        if names.is_empty() {
            tool.words(self.part())
        } else {
            format!("{} for {}", tool.words(self.part()), names.join(", "))
        }
    }

    fn placed(&self) -> impl Iterator<Item = (usize, (&'a Tool, &'a Placed))> {
        let all = self.job.tools.iter().zip(&self.job.assignment.placed).enumerate();
        all.filter_map(|(i, (tool, placed))| Some((i, (tool, placed.as_ref()?))))
    }

    /// Tools that are not on the machine, by kind; pressure lines to deep-hole drills, form broaches set to their clock
    /// position, inserts of whirling rings.
    pub(super) fn tools(&self, lines: &mut Lines) {
        let mut kinds: Vec<(&'static str, Vec<usize>)> = Vec::new();
        for (i, _) in self.placed().filter(|(i, _)| !self.standing.tools[*i]) {
            for kind in to_mount(self.task, self.job, i) {
                // A ring that is mounted now comes with its inserts.
                if kind == "whirling-inserts" && !self.standing.heads[i] {
                    continue;
                }
                match kinds.iter_mut().find(|(k, _)| *k == kind) {
                    Some((_, tools)) => tools.push(i),
                    None => kinds.push((kind, vec![i])),
                }
            }
        }
        for (kind, tools) in kinds {
            let n = tools.len();
            let many = if n == 1 { "" } else { "s" };
            let what = match kind {
                "turning-tool" => format!("{n} turning tool{many} to mount and touch off"),
                "live-tool" => format!("{n} live holder{many} to mount, align and touch off"),
                "quick-change-tool" => format!("{n} preset tool{many} into the magazine"),
                "high-pressure-line" => format!("{n} high-pressure line{many} and nozzle{many}"),
                "broach-orient" => format!("{n} broach{} to set to the clock position", if n == 1 { "" } else { "es" }),
                "whirling-inserts" => format!("inserts and helix setting of {n} whirling ring{many}"),
                _ => format!("{n} drill{many}, boring bar{many} or the like to mount and centre"),
            };
            let names: Vec<String> = tools.iter().map(|t| tool_words(self.part(), &self.job.tools[*t])).collect();
            lines.push(self.times(kind, n as f64, what, names.join(", ")));
        }
    }

    /// What comes before all else where another job is set up.
    pub(super) fn clear(&self, holding: &[Line], mounting: &[Line], lines: &mut Lines) {
        let reason = match (holding.is_empty(), mounting.is_empty()) {
            (false, false) => "holding and tools change",
            (false, true) => "the holding changes",
            (true, false) => "tools change",
            // The next length of a family leaves everything where it stands.
            (true, true) => "",
        };
        if !reason.is_empty() {
            lines.push(self.line("tear-down", "tear down and clean", reason));
        }
        if self.same_material {
            return;
        }
        let (part, now) = (self.part(), self.state.material.as_deref());
        let before = now.map_or_else(|| "what was cut before is not stated".to_owned(), |m| format!("after {m}"));
        if matches!(part.material.iso_513, 'S') || part.material.family.contains("plastic") {
            let reason = format!("chips of {} must not mix with others; {before}", part.material.name);
            lines.push(self.line("clean-out", "clean out for the material", reason));
        } else if matches!(part.purpose, Use::Implant | Use::Food) {
            let reason = format!("no foreign chips in implant or food work; {before}");
            lines.push(self.line("clean-out", "clean out for the work", reason));
        }
    }

    /// Program, first bar, offsets, proving out, first article: `held` where the holding has changed, `mounted` where tools or
    /// heads have.
    pub(super) fn run_in(&self, held: bool, mounted: bool, lines: &mut Lines) {
        let (task, part) = (self.task, self.part());
        if !self.programmed {
            lines.push(self.line("program-load", "load the program", "every order"));
        }
        let sub = task.machine.sub.is_some();
        if held || !self.same_bar || !self.same_material {
            let new = if held || !self.same_bar { "the holding is new" } else { "bar of another material" };
            let reason = if sub { format!("{new}; sub-spindle set to the part") } else { new.to_owned() };
            lines.push(self.line("first-bar", "first bar", reason));
        }
        if sub && !self.same_sub {
            lines.push(self.line("sub-align", "sub-spindle run true", "its collet is new"));
        }
        if mounted {
            lines.push(self.line("offset-tuning", "trial cuts, offsets", "tools are new on the machine"));
        }
        if !self.programmed {
            lines.push(self.prove_out());
        }
        let keys = part.features.iter().filter(|f| f.cpk.is_some()).count();
        let (dimensions, reason) = match part.first_article.keys_only {
            true => (keys, "every order; the spec asks for the key characteristics"),
            false => (dimensions(part), "every order"),
        };
        if dimensions > 0 {
            let what = format!("first article, {dimensions} dimension{}", if dimensions == 1 { "" } else { "s" });
            lines.push(self.times("first-article-per-dimension", dimensions as f64, what, reason));
        }
        let by_use = matches!(part.purpose, Use::Implant | Use::Aerospace);
        if by_use || part.first_article.report {
            let reason = if by_use { "implant or aerospace work" } else { "the spec asks for it" };
            lines.push(self.line("first-article-report", "first-article report", reason));
        }
        let pieces = task.shop.setup_pieces;
        lines.push(Line {
            time: self.job.cycle.total * f64::from(pieces),
            ..self.line("setup-pieces", format!("{pieces} setup pieces"), "to bring the sizes in")
        });
    }

    /// The shop's own time to prove out; else the table's for each spindle, a third of it where the part ran before.
    fn prove_out(&self) -> Line {
        let (kind, share, reason) = match self.part().repeat {
            true => ("prove-out-repeat", 1.0 / 3.0, "it ran before"),
            false => ("prove-out-new", 1.0, "first order of this part"),
        };
        let spindles = if self.task.machine.sub.is_some() { 2 } else { 1 };
        let own = self.task.shop.setup_times.get(kind).copied();
        let time = own.unwrap_or_else(|| standard(self.task, "prove-out-spindle") * f64::from(spindles) * share);
        let reason = if spindles == 2 { format!("both spindles; {reason}") } else { reason.to_owned() };
        Line { time, ..self.line(kind, "prove out", reason) }
    }

    /// What does not stop the machine.
    pub(super) fn off_machine(&self) -> Lines {
        let mut lines = Lines::new();
        let pocket = |placed: &Placed| self.job.assignment.rows[placed.row].pocket;
        let preset = self.placed().filter(|(i, (_, placed))| pocket(placed) && !self.standing.tools[*i]).count();
        if preset > 0 {
            let what = format!("preset {preset} tool{} for the magazine", if preset == 1 { "" } else { "s" });
            lines.push(self.times("preset-tool", preset as f64, what, "before or while the machine runs"));
        }
        for missing in self.job.missing {
            let reason = match missing.nearest {
                Some(nearest) => format!("not in the shop's list; the nearest is {nearest}"),
                None => "not in the shop's list".to_owned(),
            };
            lines.push(self.awaited(missing.delivery(), format!("order a {}", missing.words()), reason));
        }
        if let Some(Moving { time, .. }) = self.job.moving {
            let on = self.part().validated.as_ref().map(Validated::words).unwrap_or_default();
            let calendar = Some(Band { low: time, typical: time, high: time });
            let line = self.line("moving", "move the validated process here", format!("validated on {on}"));
            lines.push(Line { time: Time::ZERO, calendar, ..line });
        }
        // A repeat order has its program and its special collet.
        if self.part().repeat || self.programmed {
            return lines;
        }
        let sculpted = self.job.operations.iter().any(|o| o.work == Work::MillContour);
        let kind = if sculpted { "program-sculpted" } else { "program-new" };
        lines.push(self.line(kind, "write the program", "first order of this part"));
        let special = self.job.hand_over.and_then(|h| Some((h, h.special()?)));
        if let Some((h, reason)) = special.filter(|_| !self.same_sub) {
            lines.push(self.awaited("special-collet", format!("order a special collet for {}", h.bore), reason));
        }
        lines
    }

    /// A line for what is waited for by the calendar and is nobody's work: the shop's own time of delivery, or the table's.
    fn awaited(&self, kind: &'static str, what: String, reason: String) -> Line {
        let own = self.task.shop.setup_times.get(kind);
        let own = own.map(|t| Band { low: *t, typical: *t, high: *t });
        let calendar = own.or_else(|| shop_times::band(kind));
        Line { time: Time::ZERO, calendar, ..self.line(kind, what, reason) }
    }
}

/// The key of a head's mounting time.
fn mounting_kind(head: &Attachment) -> &'static str {
    match head.method {
        Some(AddedMethod::Whirling) => "whirling-head",
        Some(AddedMethod::OscillatingDrilling) => "oscillating-drill",
        Some(AddedMethod::PolygonTurning) => "polygon-head",
        _ => "angle-head-align",
    }
}

/// The time to mount a head: its own where its spec states it, else the standard time of its kind.
pub(crate) fn time_to_mount(task: &Task, head: &Attachment) -> Time {
    head.mount.map_or_else(|| standard(task, mounting_kind(head)), |stated| stated.value)
}

/// How many dimensions of a part are measured on its first article: one a feature, and every demand.
pub fn dimensions(part: &Part) -> usize {
    part.features.iter().filter(|f| has_dimension(&f.kind)).count() + part.demands.len()
}

fn has_dimension(kind: &Kind) -> bool {
    use crate::model::figure::Limits;
    match kind {
        Kind::Edges(_) => false,
        Kind::Turn(t) => !t.thread_blank && !t.as_stock && !matches!(t.dia.limits, Limits::Reference),
        _ => true,
    }
}
