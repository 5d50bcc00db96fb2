//! Threads: whirled, single-pointed, rolled, cut with a die, milled, tapped. Every method that works is offered; the whole
//! job decides between them.

use super::super::blank::Blank;
use super::super::operation::{
    Gap, GapReason, Operation, RunOut, RunOutBound, Shank, ThreadWork, Tool, ToolKind, WhirlFit, Work, WorkList,
};
use super::super::{Task, cycle, land, slender};
use super::{Way, Ways, axial_angle, axial_tool, bars, cutting_data, round_shank, run_out, side_of_end, turning_tool};
use crate::formulas::{FormulaError, cutting, threads as formula};
use crate::model::machine::{AddedMethod, Attachment, ModeKind, Side};
use crate::model::part::{End, Feature, FeatureId, Kind, Thread, ThreadForm};
use crate::quantity::{Feed, Length, RotationalSpeed, Time, Velocity};

/// Fastest axis along z when threading (common practice, no source).
const FASTEST_THREAD_FEED: Velocity = Velocity::m_per_min(5.0);
/// Rapid return and infeed of a threading pass (common practice 0.5 to 1.5 s, no source).
const RETURN: Time = Time::s(0.8);
/// Largest thread that is tapped; larger ones are single-pointed (common practice, no source).
const LARGEST_TAP: Length = Length::mm(16.0);

/// Offers the ways to make each thread. A thread for which there is none is recorded as a gap.
///
/// # Errors
/// [`FormulaError`] where a figure lies outside a formula's range.
pub fn plan(task: &Task, blank: &Blank, ways: &mut Ways) -> Result<(), FormulaError> {
    for (id, feature) in task.view.part.features.iter().enumerate() {
        let Kind::Thread(thread) = &feature.kind else { continue };
        // Rolled after heat treatment, say: the lathe turns its blank only.
        if task.view.part.is_rolled_afterwards(id) {
            continue;
        }
        let mut ruled_out = Vec::new();
        let mut found = if thread.internal {
            internal(task, &mut ways.base, id, feature, thread)?
        } else {
            external(task, blank, id, thread, &mut ruled_out)?
        };
        if found.is_empty() {
            if let Some((_, reason)) = ruled_out.into_iter().next_back() {
                ways.base.gaps.push(Gap { feature: id, reason });
            }
            continue;
        }
        let mut times: Vec<_> = found.iter().map(|way| (way.work, way.steps.time())).collect();
        // Each method once, whatever becomes of the mouth.
        times.dedup_by_key(|(work, _)| *work);
        for way in &mut found {
            let (work, time) = (way.work, way.steps.time());
            for evidence in &mut way.steps.threads {
                evidence.doubt = way.second;
                evidence.time = time;
                evidence.ruled_out.clone_from(&ruled_out);
                evidence.others = times.iter().copied().filter(|(m, _)| *m != work).collect();
                evidence.others.sort_by(|a, b| a.1.total_cmp(&b.1));
            }
        }
        ways.offer(id, found, ruled_out);
    }
    Ok(())
}

/// A way with one tool and one operation.
fn way(tool: Tool, operation: Operation, thread: ThreadWork, second: Option<&'static str>) -> Way {
    let mut steps = WorkList::default();
    let work = operation.work;
    steps.step(tool, operation);
    steps.threads.push(thread);
    Way { second, ..Way::usual(work, steps) }
}

fn external(
    task: &Task,
    blank: &Blank,
    id: FeatureId,
    thread: &Thread,
    ruled_out: &mut Vec<(Work, GapReason)>,
) -> Result<Vec<Way>, FormulaError> {
    let mut found = Vec::new();
    if is_screw(&thread.form) {
        let heads = task.machine.options.iter().enumerate();
        for (i, head) in heads.filter(|(_, o)| o.method == Some(AddedMethod::Whirling) && task.available(o) > 0) {
            match whirl(task, blank, id, thread, i, head)? {
                Ok(way) => found.push(way),
                Err(reason) => ruled_out.push((Work::Whirl, reason)),
            }
        }
    }
    let deepest = deepest_single_point(task, thread);
    // Threads of the V standards are single-pointed whatever their height; a screw's own form to a depth.
    if !is_screw(&thread.form) || thread.depth() <= deepest {
        let whirled = found.iter().any(|w| w.work == Work::Whirl);
        // A thread of one's own form, or a bone screw's, is judged by its flanks; the others by their gauge.
        let bone = is_screw(&thread.form) && thread.form != ThreadForm::Trapezoidal;
        let second = if bone && whirled {
            Some("whirling takes the whole depth beside the full blank and leaves no burr to brush off")
        } else {
            pulled_back(task, thread)
        };
        found.push(single_point(task, id, thread, Side::Main, second)?);
    } else {
        let reason = GapReason::ThreadMethod { needed: thread.depth(), offered: deepest };
        // Whirling that misses by a number is the more useful word, so it stays last.
        ruled_out.insert(0, (Work::SinglePoint, reason));
    }
    if !is_screw(&thread.form) {
        found.extend(die(task, id, thread)?);
        found.extend(rolled(task, id, thread)?);
    }
    found.extend(milled(task, id, thread)?);
    Ok(found)
}

/// How deep a screw's own form is single-pointed: any that is no steeper than a V thread, else by the material, half of it
/// where a slender piece stands free out of the collet.
fn deepest_single_point(task: &Task, thread: &Thread) -> Length {
    let t = task.thresholds;
    let tough = matches!(task.view.part.material.iso_513, 'M' | 'S' | 'H');
    let by_material = Length::mm(if tough { t.deep_thread_tough_mm } else { t.deep_thread_mm });
    let ratio = slender::slender(task.view, task.first).map_or(0.0, |(_, most)| most.ratio());
    let springs = task.mode.kind == ModeKind::Collet && ratio > t.slenderness_limit;
    (thread.pitch * t.shallow_thread).max(by_material * if springs { 0.5 } else { 1.0 })
}

/// Beside a guide bushing each pass draws the turned thread back into a bushing that is wider.
fn pulled_back(task: &Task, thread: &Thread) -> Option<&'static str> {
    (task.guided() && thread.zone.length() > land::drawn_back_to(task, thread.major).0)
        .then_some("each pass draws the thread back into the bushing, further than its land holds the bar")
}

/// The largest thread that is cut with a die or rolled in one pass (common practice, no source).
const LARGEST_DIE: Length = Length::mm(12.0);

/// A die cuts to its own size: for short-chipping and free-cutting material and ordinary classes only (common practice).
fn die(task: &Task, id: FeatureId, thread: &Thread) -> Result<Option<Way>, FormulaError> {
    let m = &task.view.part.material;
    let soft = m.iso_513 == 'N' || m.family.contains("free-cutting");
    let plain = matches!(thread.form, ThreadForm::Metric | ThreadForm::Unified(_)) && thread.starts == 1;
    let at_front = task.zone_from_first(thread.zone).start <= thread.lead() * 2.0;
    if !soft || !plain || !at_front || thread.rolled || thread.major > LARGEST_DIE {
        return Ok(None);
    }
    // A die runs as slow as a tap of its size, on and off again.
    let n = tapping_speed(task, thread, Side::Main)?;
    let time = formula::tapping_time(thread.zone.length(), thread.pitch, n, n, cycle::movements().live_start_stop)?;
    let tool = axial_tool(ToolKind::Die, Side::Main, thread.major, id);
    let operation = threading(Work::Die, id, Side::Main, n, thread.lead(), time);
    let second = Some("a die cuts to its own size and leaves a poorer flank");
    Ok(Some(way(tool, operation, evidence(id, Work::Die, thread)?, second)))
}

/// Revolutions of the work that a rolling head takes beyond the length of the thread (common practice, no source).
const ROLLING_TURNS: f64 = 20.0;

/// Rolled by a head of the machine: ductile material (common practice: not in hardened, nor in cast or short-chipping).
fn rolled(task: &Task, id: FeatureId, thread: &Thread) -> Result<Option<Way>, FormulaError> {
    let heads = task.machine.options.iter().enumerate();
    let head = heads
        .filter(|(_, o)| o.method == Some(AddedMethod::ThreadRolling) && task.available(o) > 0)
        .map(|(i, _)| i)
        .next();
    let ductile = matches!(task.view.part.material.iso_513, 'P' | 'M' | 'N' | 'S');
    let (Some(attachment), true) = (head, ductile) else { return Ok(None) };
    let speed = Velocity::m_per_min(30.0);
    let n = cutting::spindle_speed(speed, thread.major)?.min(cutting_data::cap(task, Side::Main));
    let turns = thread.zone.length() / thread.lead() + ROLLING_TURNS;
    let time = Time::minutes(turns / n.to_rpm());
    let tool = Tool {
        attachment: Some(attachment),
        ..turning_tool(ToolKind::RollingHead, Side::Main, thread.pitch, Some(id))
    };
    let operation = threading(Work::RollThread, id, Side::Main, n, thread.lead(), time);
    Ok(Some(way(tool, operation, evidence(id, Work::RollThread, thread)?, None)))
}

/// Milled: an internal thread by a small mill that circles in the hole, an external one by a disc while the spindle turns
/// slowly in step. A disc of 16 mm or a mill of seven tenths of the hole (common practice, no source).
fn milled(task: &Task, id: FeatureId, thread: &Thread) -> Result<Option<Way>, FormulaError> {
    if is_screw(&thread.form) && thread.form != ThreadForm::Trapezoidal || thread.taper.is_some() || thread.rolled {
        return Ok(None);
    }
    let side = if thread.internal { side_of_end(task, thread.from) } else { Side::Main };
    let cutter = if thread.internal { thread.minor * 0.7 } else { Length::mm(16.0) };
    let Ok(passes) = formula::thread_mill_passes(thread.pitch) else { return Ok(None) };
    if cutter < Length::mm(1.0) || thread.starts > 1 {
        return Ok(None);
    }
    let n = cutting_data::milling_speed(task, cutter)?;
    // A disc on the outside has ten teeth and goes deeper at once than a slim mill in a hole (common practice, no source).
    let (teeth, passes) = match thread.internal {
        true => (if cutter < Length::mm(6.0) { 3 } else { 4 }, passes),
        false => (10, passes.div_ceil(3)),
    };
    let mill = formula::ThreadMill {
        major: thread.major,
        pitch: thread.pitch,
        length: thread.zone.length(),
        cutter_dia: cutter,
        teeth,
        feed_per_tooth: Length::mm((0.006 * cutter.to_mm()).clamp(0.005, 0.05)),
        n,
        internal: thread.internal,
        single_row: !thread.internal,
        passes,
    };
    let time = formula::thread_mill_time(&mill)?;
    let tool = Tool {
        angle: if thread.internal { axial_angle(side) } else { crate::quantity::Angle::deg(90.0) },
        live: true,
        shank: Shank::Round(round_shank(cutter.min(Length::mm(8.0)))),
        off_axis: thread.internal.then_some(thread.major / 2.0),
        speed_wanted: Some(n),
        ..turning_tool(ToolKind::ThreadMill, side, cutter, Some(id))
    };
    let operation =
        Operation { depth: thread.depth(), passes, ..threading(Work::ThreadMill, id, side, n, thread.lead(), time) };
    // In one pass it goes with the bar, in several it draws back as a single point does.
    let second = if !thread.internal && passes > 1 { pulled_back(task, thread) } else { None };
    Ok(Some(way(tool, operation, evidence(id, Work::ThreadMill, thread)?, second)))
}

/// Tapping runs at a fifth of the turning speed, 4 to 25 m/min (common practice, no source).
fn tapping_speed(task: &Task, thread: &Thread, side: Side) -> Result<RotationalSpeed, FormulaError> {
    let speed = (task.view.part.material.turning_speed.typical * 0.2)
        .max(Velocity::m_per_min(4.0))
        .min(Velocity::m_per_min(25.0));
    Ok(cutting::spindle_speed(speed, thread.major)?.min(cutting_data::cap(task, side)))
}

fn is_screw(form: &ThreadForm) -> bool {
    matches!(form, ThreadForm::BoneShallow | ThreadForm::BoneDeep | ThreadForm::Profile | ThreadForm::Trapezoidal)
}

fn whirl(
    task: &Task,
    blank: &Blank,
    id: FeatureId,
    thread: &Thread,
    attachment: usize,
    head: &Attachment,
) -> Result<Result<Way, GapReason>, FormulaError> {
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
    // The insert runs out beside the thread and is backed off there; the ring itself passes over the blank, and so over
    // every shoulder.
    let needed = width / 2.0;
    let room = run_out::beside(task, id, thread, needed);
    if let Some(RunOut { offered, bound: RunOutBound::Shoulder, .. }) = room
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
        depth: thread.depth() / f64::from(passes),
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
    let whirled = ThreadWork { whirl: Some(fit), room, ..evidence(id, Work::Whirl, thread)? };
    Ok(Ok(way(tool, operation, whirled, None)))
}

fn evidence(id: FeatureId, method: Work, thread: &Thread) -> Result<ThreadWork, FormulaError> {
    Ok(ThreadWork {
        feature: id,
        method,
        lead_angle: formula::lead_angle(thread.lead(), thread.mean_dia())?,
        whirl: None,
        room: None,
        tap_room: None,
        doubt: None,
        ruled_out: Vec::new(),
        others: Vec::new(),
        time: Time::ZERO,
    })
}

fn threading(work: Work, id: FeatureId, side: Side, n: RotationalSpeed, lead: Length, cutting: Time) -> Operation {
    Operation { cutting, ..Operation::new(work, Some(id), side, n, Feed::mm_per_rev(lead.to_mm())) }
}

fn single_point(
    task: &Task,
    id: FeatureId,
    thread: &Thread,
    side: Side,
    second: Option<&'static str>,
) -> Result<Way, FormulaError> {
    let tough = matches!(task.view.part.material.iso_513, 'M' | 'S');
    let passes = formula::single_point_passes(thread.depth(), thread.pitch, tough) * thread.starts;
    // Threading runs at about 60 % of the turning speed (common practice, no source).
    let speed = task.view.part.material.turning_speed.typical * 0.6;
    let fastest =
        if thread.internal { Velocity::m_per_min(task.thresholds.inner_thread_feed) } else { FASTEST_THREAD_FEED };
    let by_axis = RotationalSpeed::rpm(fastest.to_mm_per_min() / thread.lead().to_mm());
    let wanted = cutting::spindle_speed(speed, thread.major)?.min(by_axis);
    let n = wanted.min(cutting_data::cap(task, side));
    let run_in = thread.lead() * 2.0;
    let run_out = thread.lead() * task.thresholds.thread_run_out;
    let time = formula::single_point_time(thread.zone.length(), run_in, run_out, thread.lead(), n, passes, RETURN)?;
    let tool = if thread.internal {
        // The bar leaves its tooth's depth and air for the way out of the thread.
        let neck = thread.minor - thread.depth() - Length::mm(task.thresholds.boring_air_mm);
        let bar = neck.max(thread.minor * 0.5).min(Length::mm(12.0));
        let bar = bars::stoutest(task, ToolKind::InternalThreadingTool, side, id, bar);
        axial_tool(ToolKind::InternalThreadingTool, side, bar, id)
    } else {
        turning_tool(ToolKind::ThreadingTool, side, thread.pitch, Some(id))
    };
    let returns = RETURN * f64::from(passes);
    let operation = Operation {
        depth: thread.depth() * f64::from(thread.starts) / f64::from(passes),
        passes,
        moving: returns,
        wanted,
        ..threading(Work::SinglePoint, id, side, n, thread.lead(), (time - returns).max(Time::ZERO))
    };
    // It comes in where there is room, or from an open end, and goes out at the shoulder; an open end is no limit.
    let room = if thread.internal { None } else { run_out::beside(task, id, thread, run_out) };
    Ok(way(tool, operation, ThreadWork { room, ..evidence(id, Work::SinglePoint, thread)? }, second))
}

fn internal(
    task: &Task,
    base: &mut WorkList,
    id: FeatureId,
    feature: &Feature,
    thread: &Thread,
) -> Result<Vec<Way>, FormulaError> {
    let side = side_of_end(task, feature.made_from.unwrap_or(thread.from));
    if super::axial::needs_second_spindle(task, base, id, side) {
        return Ok(Vec::new());
    }
    let middle = (thread.zone.start + thread.zone.end) / 2.0;
    let drilled = task.view.bore_at(middle) >= thread.minor * 0.9;
    let t = task.thresholds;
    let lead = thread.pitch * t.tap_lead + Length::mm(t.tap_chips_mm);
    let hole_depth = if drilled { bore_depth(task, thread, middle) } else { Some(thread.zone.length() + lead) };
    if !drilled {
        super::axial::drill_hole(task, base, id, side, thread.minor, thread.zone.length() + lead)?;
    }
    let mut found = Vec::new();
    // Taps are kept for the V threads: one for a screw's form would have to be ground for it.
    if thread.major <= LARGEST_TAP && !is_screw(&thread.form) {
        let n = tapping_speed(task, thread, side)?;
        let time = formula::tapping_time(thread.zone.length(), thread.pitch, n, n, cycle::movements().live_start_stop)?;
        let shank = Shank::Round(super::tap_shank(thread.major));
        let tool = Tool { shank, ..axial_tool(ToolKind::Tap, side, thread.major, id) };
        let operation = threading(Work::Tap, id, side, n, thread.lead(), time);
        let blind = hole_depth.map(|depth| (lead, depth - thread.zone.length()));
        found.push(way(tool, operation, ThreadWork { tap_room: blind, ..evidence(id, Work::Tap, thread)? }, None));
    }
    // A threading bar must enter the hole and reach its end (common practice, no source: from 5 mm, three diameters deep).
    let reaches = thread.zone.length() <= thread.major * 3.0;
    if found.is_empty() || (thread.minor >= Length::mm(5.0) && reaches) {
        found.push(single_point(task, id, thread, side, None)?);
    }
    found.extend(milled(task, id, thread)?);
    let Some(mouth) = mouth(task, base, id, thread, side, drilled)? else { return Ok(found) };
    let mut ways = Vec::new();
    for way in found {
        let mut with = way.clone();
        with.steps.add(&mouth);
        let burr = "the burr of the thread stays at its mouth";
        ways.extend([with, Way { second: Some(way.second.unwrap_or(burr)), ..way }]);
    }
    Ok(ways)
}

/// What a mouth is countersunk to beyond its thread, 90 deg (common practice, no source).
const COUNTERSUNK: Length = Length::mm(0.3);
/// Spotting drills and countersinks that are commonly kept (common practice, no source).
const KEPT_MM: [f64; 9] = [3.0, 4.0, 5.0, 6.0, 8.0, 10.0, 12.0, 16.0, 20.0];

/// The countersink at the mouth of a thread in an end face, where the drawing draws no chamfer: spotted so deep before the hole
/// is drilled, with the centre drill that is there if there is one; by a countersink of its own where the hole has been drilled
/// without.
fn mouth(
    task: &Task,
    base: &mut WorkList,
    id: FeatureId,
    thread: &Thread,
    side: Side,
    drilled: bool,
) -> Result<Option<WorkList>, FormulaError> {
    let to = thread.major + COUNTERSUNK;
    let Some(dia) = KEPT_MM.iter().map(|d| Length::mm(*d)).find(|d| *d >= to) else { return Ok(None) };
    let near = thread.pitch;
    let face = if side == side_of_end(task, End::Front) { Length::ZERO } else { task.view.length };
    let at_face = (thread.zone.start - face).abs() <= near || (thread.zone.end - face).abs() <= near;
    let drawn = task.view.part.features.iter().any(|f| match &f.kind {
        Kind::Chamfer(c) => c.inside && (c.at - face).abs() <= near,
        Kind::Taper(t) => t.internal && ((t.zone.start - face).abs() <= near || (t.zone.end - face).abs() <= near),
        _ => false,
    });
    if !at_face || drawn {
        return Ok(None);
    }
    let cut = cutting_data::axial_cut(task, dia, side)?;
    let depth = to / 2.0 + super::axial::APPROACH;
    let spot = crate::formulas::time::turning(depth, cut.feed, cut.speed)?;
    let beneath = |f: Option<FeatureId>| {
        f.is_some_and(|f| {
            f == id || task.view.part.stretch(&task.view.feature(f).kind).overlap(&thread.zone) > Length::ZERO
        })
    };
    let centre = base.operations.iter().position(|o| o.work == Work::Centre && o.side == side && beneath(o.feature));
    if let Some(centre) = centre {
        let tool = base.operations[centre].tool;
        base.tools[tool].dia = base.tools[tool].dia.max(dia);
        base.tools[tool].shank = Shank::Round(round_shank(base.tools[tool].dia));
        let op = &mut base.operations[centre];
        (op.depth, op.speed, op.wanted, op.feed, op.cutting) = (to, cut.speed, cut.wanted, cut.feed, spot);
        return Ok(None);
    }
    let (work, kind) =
        if drilled { (Work::Countersink, ToolKind::Countersink) } else { (Work::Centre, ToolKind::CentreDrill) };
    let mut steps = WorkList::default();
    let op = Operation { depth: to, cutting: spot, ..Operation::new(work, Some(id), side, cut.speed, cut.feed) };
    steps.step(axial_tool(kind, side, dia, id), op);
    Ok(Some(steps))
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
