//! Threads: single-pointed, whirled, tapped. Every method that works is a choice; the whole job decides between them.

use super::super::blank::Blank;
use super::super::operation::{Gap, GapReason, Operation, Shank, ThreadWork, Tool, ToolKind, WhirlFit, Work, WorkList};
use super::super::{Task, cycle};
use super::{axial_tool, cutting_data, side_of_end, turning_tool};
use crate::formulas::{FormulaError, cutting, drilling, threads as formula};
use crate::model::machine::{AddedMethod, Attachment, Side};
use crate::model::part::{Feature, FeatureId, Kind, Thread, ThreadForm};
use crate::quantity::{Feed, Force, Length, Power, RotationalSpeed, Time, Torque, Velocity};

/// Fastest axis along z when threading (common practice, no source).
const FASTEST_THREAD_FEED: Velocity = Velocity::m_per_min(5.0);
/// Rapid return and infeed of a threading pass (common practice 0.5 to 1.5 s, no source).
const RETURN: Time = Time::s(0.8);
/// Largest thread that is tapped; larger ones are single-pointed (common practice, no source).
const LARGEST_TAP: Length = Length::mm(16.0);

/// One way to make one thread.
#[derive(Clone, Debug)]
pub struct Choice {
    steps: Vec<(Tool, Operation)>,
    thread: ThreadWork,
}

impl Choice {
    /// Cutting and movements together.
    pub fn total(&self) -> Time {
        self.steps.iter().map(|(_, op)| op.cutting + op.moving).sum()
    }

    /// Adds its tools and operations to a work list.
    pub fn add_to(&self, work: &mut WorkList) {
        for (tool, operation) in &self.steps {
            let number = work.tool(tool.clone());
            work.operations.push(Operation { tool: number, ..operation.clone() });
        }
        work.threads.push(self.thread.clone());
    }

    /// Why this choice is not the fastest one: `cortical: thread, single-point in 12 s; whirl would take 9 s`.
    pub fn against(&self, fastest: &Choice, task: &Task) -> String {
        format!(
            "`{}`: {} in {} instead of {} in {}, so that every tool finds a place",
            task.view.feature(self.thread.feature).name,
            self.thread.method.word(),
            self.total(),
            fastest.thread.method.word(),
            fastest.total()
        )
    }
}

/// For each thread the methods that work, fastest first. A thread for which none does is recorded as a gap.
///
/// # Errors
/// [`FormulaError`] where a figure lies outside a formula's range.
pub fn choices(task: &Task, blank: &Blank, work: &mut WorkList) -> Result<Vec<Vec<Choice>>, FormulaError> {
    let mut all = Vec::new();
    for (id, feature) in task.view.part.features.iter().enumerate() {
        let Kind::Thread(thread) = &feature.kind else { continue };
        let mut ruled_out = Vec::new();
        let mut found = if thread.internal {
            internal(task, work, id, feature, thread)?
        } else {
            external(task, blank, id, thread, &mut ruled_out)?
        };
        if found.is_empty() {
            if let Some((_, reason)) = ruled_out.into_iter().next_back() {
                work.gaps.push(Gap { feature: id, reason });
            }
            continue;
        }
        // A screw's own forms are whirled where a head is at hand: one pass beside the full blank, no burr to brush off
        // (common practice, no source). For the others the time decides.
        let preferred = |c: &Choice| !(is_screw(&thread.form) && c.thread.method == Work::Whirl);
        found.sort_by(|a, b| preferred(a).cmp(&preferred(b)).then(a.total().total_cmp(&b.total())));
        let times: Vec<_> = found.iter().map(|c| (c.thread.method, c.total())).collect();
        for choice in &mut found {
            choice.thread.time = choice.total();
            choice.thread.ruled_out.clone_from(&ruled_out);
            choice.thread.others = times.iter().copied().filter(|(m, _)| *m != choice.thread.method).collect();
        }
        all.push(found);
    }
    Ok(all)
}

fn external(
    task: &Task,
    blank: &Blank,
    id: FeatureId,
    thread: &Thread,
    ruled_out: &mut Vec<(Work, GapReason)>,
) -> Result<Vec<Choice>, FormulaError> {
    let mut found = Vec::new();
    if is_screw(&thread.form) {
        let heads = task.machine.options.iter().enumerate();
        for (i, head) in heads.filter(|(_, o)| o.method == Some(AddedMethod::Whirling) && task.available(o) > 0) {
            match whirl(task, blank, id, thread, i, head)? {
                Ok(choice) => found.push(choice),
                Err(reason) => ruled_out.push((Work::Whirl, reason)),
            }
        }
    }
    let steepness = thread.depth() / thread.pitch;
    // Threads of the V standards are single-pointed whatever their height; a screw's own form only where it is shallow.
    if !is_screw(&thread.form) || steepness <= task.thresholds.shallow_thread {
        found.push(single_point(task, id, thread, Side::Main)?);
    } else {
        let reason = GapReason::ThreadMethod { depth_over_pitch: steepness };
        // Whirling that misses by a number is the more useful word, so it stays last.
        ruled_out.insert(0, (Work::SinglePoint, reason));
    }
    Ok(found)
}

fn is_screw(form: &ThreadForm) -> bool {
    matches!(form, ThreadForm::BoneShallow | ThreadForm::BoneDeep | ThreadForm::Profile | ThreadForm::Trapezoidal)
}

/// Free room along z on either side of a thread, up to the next shoulder, the next thread or the end of the part (where
/// nothing limits the run-out).
fn room_beside(task: &Task, id: FeatureId, thread: &Thread) -> (Option<Length>, Option<Length>) {
    let (mut before, mut after): (Option<Length>, Option<Length>) = (None, None);
    let mut limit = |start: Length, end: Length| {
        if end <= thread.zone.start + Length::um(1.0) {
            let room = thread.zone.start - end;
            before = Some(before.map_or(room, |b| b.min(room)));
        } else if start >= thread.zone.end - Length::um(1.0) {
            let room = start - thread.zone.end;
            after = Some(after.map_or(room, |a| a.min(room)));
        }
    };
    for segment in &task.view.contour {
        if segment.largest() > thread.major + Length::um(1.0) {
            limit(segment.zone.start, segment.zone.end);
        }
    }
    for (other, feature) in task.view.part.features.iter().enumerate() {
        if let Kind::Thread(t) = &feature.kind
            && other != id
            && !t.internal
        {
            limit(t.zone.start, t.zone.end);
        }
    }
    (before, after)
}

fn whirl(
    task: &Task,
    blank: &Blank,
    id: FeatureId,
    thread: &Thread,
    attachment: usize,
    head: &Attachment,
) -> Result<Result<Choice, GapReason>, FormulaError> {
    let lead_angle = formula::lead_angle(thread.lead(), thread.mean_dia())?;
    let offered = head.lead_angle.and_then(|r| r.high);
    if let Some(offered) = offered
        && lead_angle > offered
    {
        return Ok(Err(GapReason::LeadAngle { needed: lead_angle, offered }));
    }
    if let Some(bore) = head.ring_bore
        && bore.value < blank.corners
    {
        return Ok(Err(GapReason::RingBore { needed: blank.corners, offered: bore.value }));
    }
    let all_starts = thread.pitch * f64::from(thread.starts);
    let width_offered = head.insert_width.map(|w| w.value);
    let (width, passes) = match width_offered {
        Some(w) if w < thread.pitch => {
            return Ok(Err(GapReason::InsertWidth { needed: thread.pitch, offered: w }));
        }
        Some(w) if w < all_starts => (thread.pitch, thread.starts),
        _ => (all_starts, 1),
    };
    let needed = formula::whirl_run_out(width, Length::mm(task.thresholds.whirl_ring_face_mm), lead_angle);
    let (before, after) = room_beside(task, id, thread);
    let offered_room = match (before, after) {
        (Some(a), Some(b)) => Some(a.min(b)),
        (a, b) => a.or(b),
    };
    if let Some(offered) = offered_room
        && offered < needed
    {
        return Ok(Err(GapReason::RunOut { needed, offered }));
    }
    let circle = head.ring_bore.map_or(thread.major * 2.0, |b| b.value);
    let wanted = cutting::spindle_speed(task.view.part.material.turning_speed.typical, circle)?;
    let ring_speed = head.ring_speed.and_then(|r| r.high).map_or(wanted, |cap| wanted.min(cap));
    let inserts = head.cutters.unwrap_or(6);
    let chip = Length::mm(task.thresholds.whirl_chip_load_mm);
    let work_speed = formula::whirl_work_speed(chip, inserts, ring_speed, thread.major)?;
    let run = thread.lead();
    let each = formula::whirl_time(thread.zone.length(), run, needed.min(run), thread.lead(), work_speed)?;
    let tool = Tool {
        kind: ToolKind::WhirlingHead,
        live: true,
        shank: Shank::Round(Length::mm(3.0)),
        speed_wanted: None,
        attachment: Some(attachment),
        ..turning_tool(ToolKind::WhirlingHead, Side::Main, width, Some(id))
    };
    let operation = Operation {
        depth: thread.depth(),
        passes,
        ..threading(Work::Whirl, id, Side::Main, work_speed, thread.lead(), each * f64::from(passes))
    };
    let fit = WhirlFit {
        attachment,
        lead_angle_offered: offered,
        width_needed: all_starts,
        width_offered,
        ring_bore: head.ring_bore.map(|b| b.value),
        passes,
        ring_speed,
        work_speed,
    };
    let room = offered_room.map(|offered| (needed, offered));
    Ok(Ok(Choice {
        steps: vec![(tool, operation)],
        thread: ThreadWork { whirl: Some(fit), room, ..evidence(id, Work::Whirl, thread)? },
    }))
}

fn evidence(id: FeatureId, method: Work, thread: &Thread) -> Result<ThreadWork, FormulaError> {
    Ok(ThreadWork {
        feature: id,
        method,
        lead_angle: formula::lead_angle(thread.lead(), thread.mean_dia())?,
        whirl: None,
        room: None,
        tap_room: None,
        ruled_out: Vec::new(),
        others: Vec::new(),
        time: Time::ZERO,
    })
}

fn threading(work: Work, id: FeatureId, side: Side, n: RotationalSpeed, lead: Length, cutting: Time) -> Operation {
    Operation {
        work,
        feature: Some(id),
        side,
        either_side: false,
        tool: 0,
        speed: n,
        feed: Feed::mm_per_rev(lead.to_mm()),
        depth: Length::ZERO,
        passes: 1,
        count: 1,
        cutting,
        moving: Time::ZERO,
        push: Force::ZERO,
        power: Power::ZERO,
        torque: Torque::ZERO,
    }
}

fn single_point(task: &Task, id: FeatureId, thread: &Thread, side: Side) -> Result<Choice, FormulaError> {
    let tough = matches!(task.view.part.material.iso_513, 'M' | 'S');
    let passes = formula::single_point_passes(thread.depth(), thread.pitch, tough) * thread.starts;
    // Threading runs at about 60 % of the turning speed (common practice, no source).
    let speed = task.view.part.material.turning_speed.typical * 0.6;
    let by_axis = RotationalSpeed::rpm(FASTEST_THREAD_FEED.to_mm_per_min() / thread.lead().to_mm());
    let n = cutting::spindle_speed(speed, thread.major)?.min(cutting_data::cap(task, side)).min(by_axis);
    let (before, after) = room_beside(task, id, thread);
    let run_in = thread.lead() * 2.0;
    let run_out = thread.pitch * task.thresholds.thread_run_out;
    let time = formula::single_point_time(thread.zone.length(), run_in, run_out, thread.lead(), n, passes, RETURN)?;
    let tool = if thread.internal {
        axial_tool(ToolKind::InternalThreadingTool, side, (thread.minor * 0.7).min(Length::mm(12.0)), id)
    } else {
        turning_tool(ToolKind::ThreadingTool, side, thread.pitch, Some(id))
    };
    let returns = RETURN * f64::from(passes);
    let operation = Operation {
        depth: thread.depth(),
        passes,
        moving: returns,
        ..threading(Work::SinglePoint, id, side, n, thread.lead(), (time - returns).max(Time::ZERO))
    };
    // The tool may run away from a shoulder, so the roomier side decides; an open end is no limit.
    let offered = match (before, after) {
        (Some(a), Some(b)) => Some(a.max(b)),
        _ => None,
    };
    let room = offered.filter(|_| !thread.internal).map(|offered| (run_out, offered));
    Ok(Choice {
        steps: vec![(tool, operation)],
        thread: ThreadWork { room, ..evidence(id, Work::SinglePoint, thread)? },
    })
}

fn internal(
    task: &Task,
    work: &mut WorkList,
    id: FeatureId,
    feature: &Feature,
    thread: &Thread,
) -> Result<Vec<Choice>, FormulaError> {
    let side = side_of_end(task, feature.made_from.unwrap_or(thread.from));
    if super::axial::needs_second_spindle(task, work, id, side) {
        return Ok(Vec::new());
    }
    if thread.major > LARGEST_TAP {
        return Ok(vec![single_point(task, id, thread, side)?]);
    }
    let cap = cutting_data::cap(task, side);
    let middle = (thread.zone.start + thread.zone.end) / 2.0;
    let bore = task.view.bore_at(middle);
    let drilled = bore >= thread.minor * 0.9;
    let mut steps = Vec::new();
    // A tap's lead takes two to four turns; one more millimetre for the chips (common practice, no source).
    let lead = thread.pitch * 2.5 + Length::mm(1.0);
    let hole_depth = if drilled { bore_depth(task, thread, middle) } else { Some(thread.zone.length() + lead) };
    if !drilled {
        let cut = cutting_data::axial_cut(task, thread.minor, side)?;
        let depth = thread.zone.length() + lead;
        let point = super::axial::POINT_ANGLE;
        let time = drilling::steady_time(depth, thread.minor, point, Length::mm(1.0), cut.feed, cut.speed)?;
        let operation = Operation {
            feed: cut.feed,
            depth: thread.minor,
            push: cut.thrust,
            torque: cut.torque,
            ..threading(Work::Drill, id, side, cut.speed, thread.pitch, time)
        };
        steps.push((axial_tool(ToolKind::Drill, side, thread.minor, id), operation));
    }
    // Tapping runs at a fifth of the turning speed, 4 to 25 m/min (common practice, no source).
    let speed = (task.view.part.material.turning_speed.typical * 0.2)
        .max(Velocity::m_per_min(4.0))
        .min(Velocity::m_per_min(25.0));
    let n = cutting::spindle_speed(speed, thread.major)?.min(cap);
    let time = formula::tapping_time(thread.zone.length(), thread.pitch, n, n, cycle::movements().live_start_stop)?;
    steps.push((
        axial_tool(ToolKind::Tap, side, thread.major, id),
        threading(Work::Tap, id, side, n, thread.lead(), time),
    ));
    let blind = hole_depth.map(|depth| (lead, depth - thread.zone.length()));
    Ok(vec![Choice { steps, thread: ThreadWork { tap_room: blind, ..evidence(id, Work::Tap, thread)? } }])
}

/// Depth of the bore beneath a thread, from the same face; nothing for a through bore.
fn bore_depth(task: &Task, thread: &Thread, at: Length) -> Option<Length> {
    task.view.part.features.iter().find_map(|f| match &f.kind {
        Kind::Bore(b) if at >= b.zone.start && at <= b.zone.end => {
            (!b.through && b.from == thread.from).then(|| b.depth(task.view.length))
        }
        _ => None,
    })
}
