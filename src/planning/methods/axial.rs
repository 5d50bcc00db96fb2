//! Work along the axis: bores, counterbores, sockets, internal grooves.

use super::super::blank::Blank;
use super::super::operation::{Gap, GapReason, Operation, ToolKind, Work, WorkList};
use super::super::{Task, cycle};
use super::cutting_data;
use super::{axial_tool, side_of_end};
use crate::formulas::{FormulaError, cutting, drilling, time};
use crate::model::machine::{AddedMethod, Side};
use crate::model::part::{Bore, End, FeatureId, GrooveSide, Kind, Socket, SocketShape};
use crate::quantity::{Angle, Feed, Force, Frequency, Length, Power, RotationalSpeed, Time, Torque};

/// Point angle of a solid-carbide drill.
pub const POINT_ANGLE: Angle = Angle::deg(140.0);
/// Approach of a drill before it cuts (common practice, no source).
const APPROACH: Length = Length::mm(1.0);
/// Depth over diameter from which a pilot and a deep-hole drill are used (read: pilot from about 7 D).
pub const DEEP_FROM: f64 = 7.0;
/// Depth over diameter beyond which no drill is planned (common practice: single-lip drills reach about 100).
pub const DEEPEST: f64 = 100.0;

/// Adds all axial work.
///
/// # Errors
/// [`FormulaError`] where a figure lies outside a formula's range.
pub fn plan(task: &Task, blank: &Blank, work: &mut WorkList) -> Result<(), FormulaError> {
    let mut centred = [false; 2];
    for (id, feature) in task.view.part.features.iter().enumerate() {
        match &feature.kind {
            Kind::Bore(b) => bore(task, blank, work, id, b, &mut centred)?,
            Kind::Socket(s) => socket(task, work, id, s)?,
            Kind::Groove(g) if g.side == GrooveSide::Internal => {
                let end = nearer_end(task, g.zone.start, g.zone.end);
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
                let end = nearer_end(task, u.zone.start, u.zone.end);
                inner_groove(task, work, id, ToolKind::InternalGroovingTool, end, u.dia.nominal, u.zone.length())?;
            }
            Kind::Taper(t) if t.internal => {
                let end = nearer_end(task, t.zone.start, t.zone.end);
                let dia = t.start_dia.nominal.max(t.end_dia.nominal);
                boring_pass(task, work, id, end, dia, t.zone.length(), t.finish.map(|f| f.ra))?;
            }
            Kind::Chamfer(c) if c.inside => {
                let end = nearer_end(task, c.at, c.at);
                let dia = task.view.bore_at(c.at) + c.width * 2.0;
                boring_pass(task, work, id, end, dia, c.width, None)?;
            }
            _ => {}
        }
    }
    Ok(())
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
    let depth = b.depth(task.view.length);
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
    work: &mut WorkList,
    id: FeatureId,
    b: &Bore,
    centred: &mut [bool; 2],
) -> Result<(), FormulaError> {
    let end = bore_end(task, b, task.view.feature(id).made_from);
    let side = side_of_end(task, end);
    if needs_second_spindle(task, work, id, side) {
        return Ok(());
    }
    let dia = b.dia.nominal;
    let finishing = needs_finishing(b, task.view.length);
    // Reamers take 2 % of the diameter, at least 0.1 mm; boring bars what is left by the next drill (common practice).
    let drill = if finishing { dia - Length::mm(0.1).max(dia * 0.02) } else { dia };
    let depth = drilled_depth(task, blank, b, side);
    let ratio = depth / drill;
    if ratio > DEEPEST {
        work.gaps.push(Gap { feature: id, reason: GapReason::TooDeep { ratio, limit: DEEPEST } });
        return Ok(());
    }
    let opening = if b.through { Length::ZERO } else { deeper_bore_opening(task, id, b, end) };
    if !std::mem::replace(&mut centred[side as usize], true) {
        let centre = cutting_data::axial_cut(task, drill.max(Length::mm(1.0)).min(Length::mm(6.0)), side)?;
        let tool =
            work.tool(axial_tool(ToolKind::CentreDrill, side, drill.max(Length::mm(1.0)).min(Length::mm(6.0)), id));
        let depth = (drill * 0.4).min(Length::mm(3.0));
        let spot = time::turning(depth + APPROACH, centre.feed, centre.speed)?;
        push(work, Work::Centre, id, side, tool, &centre, drill, spot, Time::ZERO);
    }
    if opening < drill {
        drill_hole(task, work, id, side, drill, depth, ratio)?;
    }
    if finishing {
        // A boring bar reaches four diameters in steel, six to seven in carbide; deeper or small bores are reamed.
        let reamed = dia < Length::mm(6.0) || b.zone.length() / dia > 5.0;
        if reamed && !b.flat_bottom {
            let cut = cutting_data::axial_cut(task, dia, side)?;
            let slow = RotationalSpeed::rpm(cut.speed.to_rpm() * 0.4);
            let feed = Feed::mm_per_rev((0.03 * dia.to_mm()).clamp(0.03, 0.4));
            let tool = work.tool(axial_tool(ToolKind::Reamer, side, dia, id));
            let time_in = time::turning(b.zone.length() + APPROACH, feed, slow)?;
            // A reamer takes a tenth of what a drill does.
            let light = cutting_data::DrillCut { thrust: cut.thrust * 0.1, torque: cut.torque * 0.2, ..cut };
            let op = push(work, Work::Ream, id, side, tool, &light, dia, time_in, time_in * 0.3);
            op.speed = slow;
            op.feed = feed;
        } else {
            boring_pass(task, work, id, end, dia, b.zone.length(), b.finish.map(|f| f.ra))?;
        }
    }
    Ok(())
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

fn drill_hole(
    task: &Task,
    work: &mut WorkList,
    id: FeatureId,
    side: Side,
    dia: Length,
    depth: Length,
    ratio: f64,
) -> Result<(), FormulaError> {
    let cut = cutting_data::axial_cut(task, dia, side)?;
    let tough = matches!(task.view.part.material.iso_513, 'M' | 'S');
    if ratio < DEEP_FROM {
        let full = cutting_data::drill_cut(task, dia, Some(cutting_data::cap(task, side)))?;
        // Where the grip would hold less than half the feed, a first drill of half the diameter takes the chisel edge's
        // share of the thrust, about six tenths of it (common practice, no source).
        let cut = if dia >= Length::mm(8.0) && cut.feed < full.feed * 0.5 {
            let first = cutting_data::axial_cut(task, dia * 0.5, side)?;
            let tool = work.tool(axial_tool(ToolKind::Drill, side, dia * 0.5, id));
            let time = drilling::steady_time(depth, dia * 0.5, POINT_ANGLE, APPROACH, first.feed, first.speed)?;
            push(work, Work::Drill, id, side, tool, &first, dia * 0.5, time, Time::ZERO);
            cutting_data::opened_cut(task, dia, side, full)?
        } else {
            cut
        };
        let tool = work.tool(axial_tool(ToolKind::Drill, side, dia, id));
        let steady = drilling::steady_time(depth, dia, POINT_ANGLE, APPROACH, cut.feed, cut.speed)?;
        let pecked = if ratio > 3.0 {
            drilling::peck_time(depth, dia, POINT_ANGLE, APPROACH, cut.feed, cut.speed, task.rapid(), tough)?
        } else {
            steady
        };
        push(work, Work::Drill, id, side, tool, &cut, dia, steady, pecked - steady);
        return Ok(());
    }
    let tool = work.tool(axial_tool(ToolKind::DeepHoleDrill, side, dia, id));
    let steady = drilling::steady_time(depth, dia, POINT_ANGLE, APPROACH, cut.feed, cut.speed)?;
    if let Some((attachment, feed)) = oscillating(task, dia, &cut) {
        let time_in = drilling::steady_time(depth, dia, POINT_ANGLE, APPROACH, feed, cut.speed)?;
        if side == Side::Main {
            work.tools[tool].attachment = Some(attachment);
        }
        let op = push(work, Work::OscillatingDrill, id, side, tool, &cut, dia, time_in, Time::ZERO);
        op.feed = feed;
        return Ok(());
    }
    let pecked = drilling::peck_time(depth, dia, POINT_ANGLE, APPROACH, cut.feed, cut.speed, task.rapid(), tough)?;
    push(work, Work::DeepDrill, id, side, tool, &cut, dia, steady, (pecked - steady).max(Time::ZERO));
    Ok(())
}

/// An oscillating drilling unit that breaks the chip of this drill, and the feed that it allows: the largest for which
/// the stroke reaches what the chip condition asks, at most the drill's own feed (the pecks are what is saved).
fn oscillating(task: &Task, dia: Length, cut: &cutting_data::DrillCut) -> Option<(usize, Feed)> {
    let (i, unit) = task
        .machine
        .options
        .iter()
        .enumerate()
        .find(|(_, o)| o.method == Some(AddedMethod::OscillatingDrilling) && task.available(o) > 0)?;
    let stroke = unit.stroke?.high?;
    let frequency = unit.frequency?.high?;
    // One and a half oscillations a revolution suit two edges and lie within what the head can swing.
    let ratio = 1.5;
    let swing = Frequency::hz(cut.speed.to_rpm() / 60.0 * ratio);
    let needed = drilling::oscillation_needed(cut.feed, 2, ratio).ok()?;
    (swing <= frequency && needed <= stroke && dia > Length::ZERO).then_some((i, cut.feed))
}

#[expect(clippy::too_many_arguments, reason = "one operation has this many figures")]
fn push<'w>(
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
        work: what,
        feature: Some(feature),
        side,
        either_side: false,
        tool,
        speed: cut.speed,
        feed: cut.feed,
        depth: dia,
        passes: 1,
        count: 1,
        cutting,
        moving,
        push: cut.thrust,
        power,
        torque: cut.torque,
    });
    &mut work.operations[at]
}

/// One boring pass.
fn boring_pass(
    task: &Task,
    work: &mut WorkList,
    id: FeatureId,
    end: End,
    dia: Length,
    length: Length,
    ra: Option<Length>,
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
    let tool = work.tool(axial_tool(ToolKind::BoringBar, side, (dia * 0.8).min(Length::mm(12.0)), id));
    let time_in = time::turning(length + APPROACH, feed, n)?;
    simple(work, Work::Bore, id, side, tool, n, feed, time_in, Force::ZERO);
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
) {
    work.operations.push(Operation {
        work: what,
        feature: Some(feature),
        side,
        either_side: false,
        tool,
        speed,
        feed,
        depth: Length::ZERO,
        passes: 1,
        count: 1,
        cutting,
        moving: Time::ZERO,
        push,
        power: Power::ZERO,
        torque: Torque::ZERO,
    });
}

/// Drilled first, then broached: a rotary broach (wobble of one degree) for hexagon and hexalobe, whose push is about a
/// fifth of a plain broach's (common practice, no source); a slot is sawn by a live cutter.
fn socket(task: &Task, work: &mut WorkList, id: FeatureId, s: &Socket) -> Result<(), FormulaError> {
    let side = side_of_end(task, s.from);
    if needs_second_spindle(task, work, id, side) {
        return Ok(());
    }
    let cap = cutting_data::cap(task, side);
    let across = match &s.shape {
        SocketShape::Hex(size) => size.nominal,
        SocketShape::Hexalobe { outer, .. } => *outer * 0.72,
        SocketShape::Cross(number) => Length::mm(1.5 * f64::from(*number) + 1.0),
        SocketShape::Slot(width) => return slot_drive(task, work, id, s, width.nominal, side),
    };
    let depth = s.depth + drilling::point_length(across, POINT_ANGLE);
    let there = task.view.bore_at(match s.from {
        End::Front => s.depth / 2.0,
        End::Back => task.view.length - s.depth / 2.0,
    });
    if there < across * 0.9 {
        drill_hole(task, work, id, side, across, depth, depth / across)?;
    }
    let tool = work.tool(axial_tool(ToolKind::Broach, side, across, id));
    // The chip is what stands between the drilled hole and the corners: about 0.15 of the width all round.
    let force = super::cutting_data::turning_force(task, across * 0.15, Feed::mm_per_rev(0.03))? * 6.0 / 5.0;
    let n = RotationalSpeed::rpm(1500.0).min(cap);
    let feed = Feed::mm_per_rev(0.05);
    let time_in = time::turning(s.depth + APPROACH, feed, n)?;
    simple(work, Work::Broach, id, side, tool, n, feed, time_in, force);
    Ok(())
}

fn slot_drive(
    task: &Task,
    work: &mut WorkList,
    id: FeatureId,
    s: &Socket,
    width: Length,
    side: Side,
) -> Result<(), FormulaError> {
    let cutter = Length::mm(20.0);
    let n = cutting::spindle_speed(task.view.part.material.drilling_speed.typical, cutter)?;
    let tool = work.tool(super::super::operation::Tool {
        kind: ToolKind::SlotMill,
        live: true,
        shank: super::super::operation::Shank::Round(Length::mm(6.0)),
        speed_wanted: Some(n),
        ..super::turning_tool(ToolKind::SlotMill, side, width, Some(id))
    });
    let z = match s.from {
        End::Front => Length::ZERO,
        End::Back => task.view.length,
    };
    let path = task.view.dia_at(z) + cutter * 0.5 + s.depth;
    let feed = Feed::mm_per_rev(0.02 * 20.0);
    simple(work, Work::MillSlot, id, side, tool, n, feed, time::turning(path, feed, n)?, Force::ZERO);
    work.operations.iter_mut().rev().take(1).for_each(|op| op.moving = cycle::movements().orient);
    Ok(())
}
