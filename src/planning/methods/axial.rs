//! Work along the axis: bores, counterbores, internal grooves.

use super::super::Task;
use super::super::blank::Blank;
use super::super::operation::{Gap, GapReason, Operation, ToolKind, Work, WorkList};
use super::{Way, Ways, axial_tool, cutting_data, deep, side_of_end, sockets};
use crate::formulas::{FormulaError, cutting, drilling, time};
use crate::model::machine::Side;
use crate::model::part::{Bore, Chamfer, Demand, DemandKind, End, FeatureId, GrooveSide, Kind, Zone};
use crate::quantity::{Angle, Feed, Force, Length, Power, RotationalSpeed, Time};

/// Point angle of a solid-carbide drill.
pub const POINT_ANGLE: Angle = Angle::deg(140.0);
/// Approach of a drill before it cuts (common practice, no source).
pub(crate) const APPROACH: Length = Length::mm(1.0);
/// Depth over diameter from which a pilot and a deep-hole drill are used (read: pilot from about 7 D).
pub const DEEP_FROM: f64 = 7.0;
/// Depth over diameter beyond which no drill is planned (common practice: single-lip drills reach about 100).
pub const DEEPEST: f64 = 100.0;
/// Length over diameter to which a boring bar of carbide reaches (common practice: 4 in steel, 6 to 7 in carbide).
const LONGEST_BORING: f64 = 6.0;
/// A boring bar over its bore (common practice, no source).
const BAR_SHARE: f64 = 0.8;
/// The least bore that a boring bar enters (common practice: a bar of 0.5 mm in a bore of 0.6 mm).
const LEAST_BORING: Length = Length::mm(0.6);
/// The largest bore that is reamed with a tool of its own (common practice, no source).
const LARGEST_REAMER: Length = Length::mm(20.0);

/// Adds all axial work.
///
/// # Errors
/// [`FormulaError`] where a figure lies outside a formula's range.
pub fn plan(task: &Task, blank: &Blank, ways: &mut Ways) -> Result<(), FormulaError> {
    let mut centred = [false; 2];
    for (id, feature) in task.view.part.features.iter().enumerate() {
        let work = &mut ways.base;
        match &feature.kind {
            Kind::Bore(b) => bore(task, blank, ways, id, b, &mut centred)?,
            Kind::Socket(s) => sockets::plan(task, ways, id, s)?,
            Kind::Groove(g) if g.side == GrooveSide::Internal => {
                let end = groove_end(task, g.zone);
                inner_groove(task, work, id, ToolKind::InternalGroovingTool, end, g.dia.nominal, g.zone.length())?;
            }
            Kind::Groove(g) => {
                if let GrooveSide::Face(end) = g.side {
                    let outer = g.outer_dia.as_ref().map_or(g.dia.nominal, |d| d.nominal);
                    let width = (outer - g.dia.nominal) / 2.0;
                    inner_groove(task, work, id, ToolKind::FaceGroovingTool, end, outer, width)?;
                }
            }
            Kind::Undercut(u) if u.inside => {
                let end = groove_end(task, u.zone);
                inner_groove(task, work, id, ToolKind::InternalGroovingTool, end, u.dia.nominal, u.zone.length())?;
            }
            Kind::Taper(t) if t.internal => {
                let end = nearer_end(task, t.zone.start, t.zone.end);
                let dia = t.start_dia.nominal.max(t.end_dia.nominal);
                boring_pass(task, work, id, end, dia, t.zone.length(), t.finish.map(|f| f.ra), 1)?;
            }
            Kind::Chamfer(c) if c.inside => inner_chamfer(task, work, id, c)?,
            _ => {}
        }
    }
    Ok(())
}

/// A chamfer in a bore's mouth.
fn inner_chamfer(task: &Task, work: &mut WorkList, id: FeatureId, c: &Chamfer) -> Result<(), FormulaError> {
    let end = nearer_end(task, c.at, c.at);
    let dia = task.view.bore_at(c.at) + c.width * 2.0;
    boring_pass(task, work, id, end, dia, c.width, None, 1)
}

/// The end an inner groove is cut from: that from which its bore has its last cut, which takes the groove's burr off, where a
/// bar reaches; else the nearer one.
fn groove_end(task: &Task, zone: Zone) -> End {
    let near = Length::um(1.0);
    let mut ends = task.view.part.features.iter().filter_map(|f| match &f.kind {
        Kind::Bore(b) if needs_finishing(b, task.view.length) => {
            let covers = b.zone.start <= zone.start + near && b.zone.end >= zone.end - near;
            let end = bore_end(task, b, f.made_from);
            let reach = if end == End::Front { zone.end } else { task.view.length - zone.start };
            (covers && reach <= b.dia.nominal * BAR_SHARE * task.thresholds.boring_steel).then_some(end)
        }
        _ => None,
    });
    ends.next().unwrap_or_else(|| nearer_end(task, zone.start, zone.end))
}

fn nearer_end(task: &Task, start: Length, end: Length) -> End {
    if (start + end) / 2.0 < task.view.length / 2.0 { End::Front } else { End::Back }
}

/// The end a bore is made from: where it is pinned or blind, that end; a through bore from the end that is made first.
pub fn bore_end(task: &Task, b: &Bore, made_from: Option<End>) -> End {
    made_from.unwrap_or(if b.through { task.first } else { b.from })
}

/// Records a side that cannot be reached.
pub(crate) fn needs_second_spindle(task: &Task, work: &mut WorkList, feature: FeatureId, side: Side) -> bool {
    let missing = side == Side::Sub && task.machine.sub.is_none();
    if missing {
        work.gaps.push(Gap { feature, reason: GapReason::NoSecondSpindle });
    }
    missing
}

/// The drilled depth below the face: a through bore also crosses the cut-off and pushes its point out.
fn drilled_depth(task: &Task, blank: &Blank, b: &Bore, side: Side) -> Length {
    let mut depth = b.depth(task.view.length);
    if b.flat_bottom {
        // The cone stays short of the bottom, which is faced.
        depth = (depth - drilling::point_length(b.dia.nominal, POINT_ANGLE)).max(b.dia.nominal * 0.2);
    }
    match (b.through, side) {
        (true, Side::Main) => {
            task.view.length + blank.cut_off_width + drilling::point_length(b.dia.nominal, POINT_ANGLE)
        }
        (true, Side::Sub) => task.view.length + drilling::point_length(b.dia.nominal, POINT_ANGLE),
        _ => depth,
    }
}

/// Whether a bore is finished after the drill: tighter than the drill holds (IT 11; a piloted deep-hole drill IT 9), or
/// finer than it leaves (Ra 1.6 um; a deep-hole drill 0.8 um). Common practice, no source.
pub fn needs_finishing(b: &Bore, part_length: Length) -> bool {
    let depth = if b.through { part_length } else { b.depth(part_length) };
    let deep = depth / b.dia.nominal >= DEEP_FROM;
    let (grade, finest) = if deep { (9, Length::um(0.8)) } else { (11, Length::um(1.6)) };
    let drilled = crate::tables::iso286::grade_tolerance(grade, b.dia.nominal).unwrap_or(Length::mm(0.1));
    let tight = b.dia.tolerance().is_some_and(|t| t < drilled - Length::um(0.01));
    let fine = b.finish.is_some_and(|f| if deep { f.ra < finest } else { f.ra < finest - Length::um(0.01) });
    tight || fine || b.flat_bottom
}

fn bore(
    task: &Task,
    blank: &Blank,
    ways: &mut Ways,
    id: FeatureId,
    b: &Bore,
    centred: &mut [bool; 2],
) -> Result<(), FormulaError> {
    let end = bore_end(task, b, task.view.feature(id).made_from);
    let side = side_of_end(task, end);
    if needs_second_spindle(task, &mut ways.base, id, side) {
        return Ok(());
    }
    let dia = b.dia.nominal;
    let there = hole_there(task, id, b, side);
    if there >= dia * 0.5 {
        // Opened by a boring bar, a millimetre deep a pass: a drill would follow the hole and leave a cone at its end.
        let passes = libm::ceil((dia - there) / 2.0 / Length::mm(1.0) - 1e-9).max(1.0) as u32;
        let last = if needs_finishing(b, task.view.length) { 1 } else { 0 };
        return boring_pass(task, &mut ways.base, id, end, dia, b.zone.length(), b.finish.map(|f| f.ra), passes + last);
    }
    let finishing = needs_finishing(b, task.view.length);
    let drill = if finishing { drill_size(dia - finishing_allowance(dia)) } else { dia };
    let depth = drilled_depth(task, blank, b, side);
    let ratio = depth / drill;
    if ratio > DEEPEST {
        ways.base.gaps.push(Gap { feature: id, reason: GapReason::TooDeep { ratio, limit: DEEPEST } });
        return Ok(());
    }
    let opening = if b.through { Length::ZERO } else { deeper_bore_opening(task, id, b, end) };
    if opening < drill {
        if ratio >= DEEP_FROM {
            // The pilot drill centres as well.
            centred[side as usize] = true;
            deep::plan(task, ways, id, side, drill, depth)?;
        } else {
            centre(task, &mut ways.base, id, side, drill, centred)?;
            drill_hole(task, &mut ways.base, id, side, drill, depth)?;
        }
    }
    if finishing {
        let offers = finishing_ways(task, id, b, side, end)?;
        ways.offer(id, offers, Vec::new());
    }
    Ok(())
}

/// The hole that another bore has left where this one begins: made at the main spindle before work at the sub-spindle, or a
/// through bore that is drilled first at the same spindle.
fn hole_there(task: &Task, id: FeatureId, b: &Bore, side: Side) -> Length {
    let mut widest = Length::ZERO;
    for (other, feature) in task.view.part.features.iter().enumerate() {
        let Kind::Bore(o) = &feature.kind else { continue };
        let covers = o.zone.start <= b.zone.start + Length::um(1.0) && o.zone.end >= b.zone.end - Length::um(1.0);
        if other == id || !covers || o.dia.nominal >= b.dia.nominal {
            continue;
        }
        let from = side_of_end(task, bore_end(task, o, feature.made_from));
        if from == Side::Main && side == Side::Sub {
            widest = widest.max(o.dia.nominal);
        }
    }
    widest
}

/// The next drill that is commonly kept, at most as large: by tenths from 3 mm on.
fn drill_size(dia: Length) -> Length {
    if dia < Length::mm(3.0) {
        return Length::mm((dia.to_mm() * 20.0 + 1e-9).floor() / 20.0).max(Length::mm(0.05));
    }
    Length::mm((dia.to_mm() * 10.0 + 1e-9).floor() / 10.0)
}

/// What is left on the diameter for a reamer or a boring bar: 2 %, at least 0.1 mm (common practice, no source).
fn finishing_allowance(dia: Length) -> Length {
    Length::mm(0.1).max(dia * 0.02)
}

/// A centre for the first drill of a side.
fn centre(
    task: &Task,
    work: &mut WorkList,
    id: FeatureId,
    side: Side,
    drill: Length,
    centred: &mut [bool; 2],
) -> Result<(), FormulaError> {
    if std::mem::replace(&mut centred[side as usize], true) {
        return Ok(());
    }
    let dia = drill.max(Length::mm(1.0)).min(Length::mm(6.0));
    let cut = cutting_data::axial_cut(task, dia, side)?;
    let tool = work.tool(axial_tool(ToolKind::CentreDrill, side, dia, id));
    let depth = (drill * 0.4).min(Length::mm(3.0));
    let spot = time::turning(depth + APPROACH, cut.feed, cut.speed)?;
    push(work, Work::Centre, id, side, tool, &cut, drill, spot, Time::ZERO);
    Ok(())
}

/// Reaming and boring, where each is possible. A reamer follows the drilled hole, so it mends no runout or position; a
/// boring bar reaches only so deep.
fn finishing_ways(task: &Task, id: FeatureId, b: &Bore, side: Side, end: End) -> Result<Vec<Way>, FormulaError> {
    let dia = b.dia.nominal;
    let length = b.zone.length();
    let mut ways = Vec::new();
    let places = |kind: DemandKind| {
        matches!(kind, DemandKind::Runout | DemandKind::TotalRunout | DemandKind::Concentricity | DemandKind::Position)
    };
    let named = |d: &Demand| d.feature == id || d.datum == Some(id);
    let placed = task.view.part.demands.iter().any(|d| named(d) && places(d.kind));
    let reach = length / dia;
    let reamed = reamer_holds(task, id, b);
    // Where only a bored hole is true, a bar goes as deep as one can.
    let deepest = if placed { (task.thresholds.boring_limit * BAR_SHARE).max(LONGEST_BORING) } else { LONGEST_BORING };
    let boring = dia >= LEAST_BORING && reach <= deepest;
    let reaming = !b.flat_bottom && dia <= LARGEST_REAMER;
    if reaming || !boring {
        let mut steps = WorkList::default();
        let cut = cutting_data::axial_cut(task, dia, side)?;
        let slow = RotationalSpeed::rpm(cut.speed.to_rpm() * 0.4);
        let feed = Feed::mm_per_rev((0.03 * dia.to_mm()).clamp(0.03, 0.4));
        let tool = steps.tool(axial_tool(ToolKind::Reamer, side, dia, id));
        let time_in = time::turning(length + APPROACH, feed, slow)?;
        // A reamer takes a tenth of what a drill does.
        let light = cutting_data::DrillCut { thrust: cut.thrust * 0.1, torque: cut.torque * 0.2, ..cut };
        let op = push(&mut steps, Work::Ream, id, side, tool, &light, dia, time_in, time_in * 0.3);
        op.speed = slow;
        op.feed = feed;
        let second = match (placed, reamed) {
            _ if !boring => None,
            (true, _) => Some("a reamer follows the drilled hole and mends no runout"),
            (false, false) => Some("a reamer does not hold that tolerance"),
            (false, true) => None,
        };
        ways.push(Way { second, ..Way::usual(Work::Ream, steps) });
    }
    if boring {
        let mut steps = WorkList::default();
        // The second pass takes out what the bar springs in the first.
        let fine = crate::tables::iso286::grade_tolerance(9, dia);
        let tight = b.dia.tolerance().zip(fine.ok()).is_some_and(|(t, it)| t < it);
        let passes = if tight { 2 } else { 1 };
        boring_pass(task, &mut steps, id, end, dia, length, b.finish.map(|f| f.ra), passes)?;
        let left = finishing_allowance(dia) / 2.0 / f64::from(passes);
        steps.operations.iter_mut().for_each(|op| op.depth = left);
        if b.flat_bottom
            && let Some(op) = steps.operations.last_mut()
        {
            // The drill's cone is faced off from the wall to the axis, in cuts of half a millimetre.
            let cone = drilling::point_length(dia, POINT_ANGLE);
            let cuts = libm::ceil(cone / Length::mm(0.5) - 1e-9).max(1.0);
            let speed = task.view.part.material.turning_speed.typical;
            op.cutting += time::facing(dia, Length::ZERO, op.feed, speed, cutting_data::cap(task, side))? * cuts;
        }
        let slim = dia < Length::mm(6.0) || reach > 5.0;
        let second = (slim && reaming && !placed && reamed).then_some("so slim a boring bar springs and chatters");
        ways.push(Way { second, ..Way::usual(Work::Bore, steps) });
    }
    Ok(ways)
}

/// Whether a reamer holds the tolerance of a bore by its grade, with the capability that is asked there.
fn reamer_holds(task: &Task, id: FeatureId, b: &Bore) -> bool {
    let t = task.thresholds;
    let cpk = task.view.feature(id).cpk.map(|cpk| cpk / (1.0 - t.centring.clamp(0.0, 0.5)));
    let width = crate::tables::iso286::grade_tolerance(t.ream_grade as u8, b.dia.nominal);
    let needed = width.map(|it| it * (cpk.unwrap_or(t.cp_fits) / t.cp_fits));
    b.dia.tolerance().zip(needed.ok()).is_none_or(|(tolerance, needed)| tolerance >= needed - Length::um(0.01))
}

/// The diameter of a wider step of the same bore that opens to the same end and is as deep: no second drill is needed.
fn deeper_bore_opening(task: &Task, id: FeatureId, b: &Bore, end: End) -> Length {
    let mut widest = Length::ZERO;
    for (other, feature) in task.view.part.features.iter().enumerate() {
        if let Kind::Bore(o) = &feature.kind
            && other != id
            && bore_end(task, o, feature.made_from) == end
            && o.depth(task.view.length) >= b.depth(task.view.length)
            && (o.dia.nominal - b.dia.nominal).abs() < Length::um(1.0)
            && other < id
        {
            widest = widest.max(o.dia.nominal);
        }
    }
    widest
}

/// Drills a hole of ordinary depth, in pecks beyond three diameters. Where the grip would hold less than half the feed, a
/// first drill of half the diameter takes the chisel edge's share of the thrust, about six tenths of it (common practice,
/// no source).
pub(crate) fn drill_hole(
    task: &Task,
    work: &mut WorkList,
    id: FeatureId,
    side: Side,
    dia: Length,
    depth: Length,
) -> Result<(), FormulaError> {
    let mut cut = cutting_data::axial_cut(task, dia, side)?;
    let full = cutting_data::drill_cut(task, dia, Some(cutting_data::cap(task, side)))?;
    if dia >= Length::mm(8.0) && cut.feed < full.feed * 0.5 {
        let half = Length::mm((dia.to_mm()).round() / 2.0);
        let first = cutting_data::axial_cut(task, half, side)?;
        let tool = work.tool(axial_tool(ToolKind::Drill, side, half, id));
        let time = drilling::steady_time(depth, half, POINT_ANGLE, APPROACH, first.feed, first.speed)?;
        push(work, Work::Drill, id, side, tool, &first, half, time, Time::ZERO);
        cut = cutting_data::opened_cut(task, dia, side, full)?;
    }
    let tool = work.tool(axial_tool(ToolKind::Drill, side, dia, id));
    let steady = drilling::steady_time(depth, dia, POINT_ANGLE, APPROACH, cut.feed, cut.speed)?;
    let pecked = if depth / dia > 3.0 {
        drilling::peck_time(depth, dia, POINT_ANGLE, APPROACH, cut.feed, cut.speed, task.rapid(), tough(task))?
    } else {
        steady
    };
    push(work, Work::Drill, id, side, tool, &cut, dia, steady, (pecked - steady).max(Time::ZERO));
    Ok(())
}

/// Heat-resistant and stainless material: shorter pecks.
pub(crate) fn tough(task: &Task) -> bool {
    matches!(task.view.part.material.iso_513, 'M' | 'S')
}

#[expect(clippy::too_many_arguments, reason = "one operation has this many figures")]
pub(crate) fn push<'w>(
    work: &'w mut WorkList,
    what: Work,
    feature: FeatureId,
    side: Side,
    tool: usize,
    cut: &cutting_data::DrillCut,
    dia: Length,
    cutting: Time,
    moving: Time,
) -> &'w mut Operation {
    let power = Power::kw(cut.torque.to_nm() * cut.speed.to_rpm() / 9549.0);
    let at = work.operations.len();
    work.operations.push(Operation {
        tool,
        depth: dia,
        cutting,
        moving,
        push: cut.thrust,
        power,
        torque: cut.torque,
        ..Operation::new(what, Some(feature), side, cut.speed, cut.feed)
    });
    &mut work.operations[at]
}

/// The boring bar for a bore: the slimmest that another bore of this side asks for anyway, where it reaches as deep here;
/// else eight tenths of the bore, at most 12 mm (common practice, no source).
fn bar_for(task: &Task, side: Side, dia: Length, length: Length) -> Length {
    let of = |dia: Length| (dia * BAR_SHARE).min(Length::mm(12.0));
    let own = of(dia);
    let bored = task.view.part.features.iter().filter_map(|f| match &f.kind {
        Kind::Bore(b) if needs_finishing(b, task.view.length) && b.dia.nominal >= LEAST_BORING => {
            let slim = b.dia.nominal < Length::mm(6.0) || b.zone.length() / b.dia.nominal > 5.0;
            (!slim && side_of_end(task, bore_end(task, b, f.made_from)) == side).then_some(b.dia.nominal)
        }
        Kind::Taper(t) if t.internal => {
            let end = nearer_end(task, t.zone.start, t.zone.end);
            (side_of_end(task, end) == side).then(|| t.start_dia.nominal.max(t.end_dia.nominal))
        }
        Kind::Chamfer(c) if c.inside => {
            let end = nearer_end(task, c.at, c.at);
            (side_of_end(task, end) == side).then(|| task.view.bore_at(c.at) + c.width * 2.0)
        }
        _ => None,
    });
    let shared = bored.map(of).filter(|bar| *bar <= own && length / *bar <= LONGEST_BORING);
    shared.min_by(Length::total_cmp).unwrap_or(own)
}

/// One boring pass, or several.
pub(crate) fn boring_pass(
    task: &Task,
    work: &mut WorkList,
    id: FeatureId,
    end: End,
    dia: Length,
    length: Length,
    ra: Option<Length>,
    passes: u32,
) -> Result<(), FormulaError> {
    let side = side_of_end(task, end);
    if needs_second_spindle(task, work, id, side) {
        return Ok(());
    }
    let dia = dia.max(Length::mm(0.3));
    let feed = cutting_data::finish_feed(task, dia, ra);
    let speed = task.view.part.material.turning_speed.typical;
    let cap = cutting_data::cap(task, side);
    let n = cutting::spindle_speed(speed, dia)?.min(cap);
    let tool = work.tool(axial_tool(ToolKind::BoringBar, side, bar_for(task, side, dia, length), id));
    let time_in = time::turning(length + APPROACH, feed, n)? * f64::from(passes);
    simple(work, Work::Bore, id, side, tool, n, feed, time_in, Force::ZERO).passes = passes;
    Ok(())
}

fn inner_groove(
    task: &Task,
    work: &mut WorkList,
    id: FeatureId,
    kind: ToolKind,
    end: End,
    dia: Length,
    width: Length,
) -> Result<(), FormulaError> {
    let side = side_of_end(task, end);
    if needs_second_spindle(task, work, id, side) {
        return Ok(());
    }
    let blade = width.min(Length::mm(2.0)).max(Length::mm(0.5));
    let feed = Feed::mm_per_rev(0.02);
    let n = cutting::spindle_speed(task.view.part.material.turning_speed.low, dia)?.min(cutting_data::cap(task, side));
    let tool = work.tool(axial_tool(kind, side, blade, id));
    let plunges = libm::ceil(width / blade - 1e-9).max(1.0);
    let time_in = time::turning(Length::mm(2.0), feed, n)? * plunges;
    let what = if kind == ToolKind::FaceGroovingTool { Work::FaceGroove } else { Work::InternalGroove };
    simple(work, what, id, side, tool, n, feed, time_in, Force::ZERO);
    Ok(())
}

#[expect(clippy::too_many_arguments, reason = "one operation has this many figures")]
pub(crate) fn simple(
    work: &mut WorkList,
    what: Work,
    feature: FeatureId,
    side: Side,
    tool: usize,
    speed: RotationalSpeed,
    feed: Feed,
    cutting: Time,
    push: Force,
) -> &mut Operation {
    let at = work.operations.len();
    let op = Operation::new(what, Some(feature), side, speed, feed);
    work.operations.push(Operation { tool, cutting, push, ..op });
    &mut work.operations[at]
}
