//! Holes that are not on the axis: across, at an angle, and parallel to it on a circle.

use super::super::blank::Blank;
use super::super::operation::{Operation, Shank, Tool, ToolKind, Work, WorkList};
use super::super::{Task, cycle, hand_over};
use super::axial::{POINT_ANGLE, needs_second_spindle};
use super::{axial_angle, cutting_data, round_shank, side_of_end, turning_tool};
use crate::formulas::{FormulaError, drilling};
use crate::model::machine::{Machine, Side};
use crate::model::part::{End, FeatureId, Hole, Kind, Zone};
use crate::quantity::{Angle, Length, Power, Time, Torque};

/// Adds all holes off the axis.
///
/// # Errors
/// [`FormulaError`] where a figure lies outside a formula's range.
pub fn plan(task: &Task, _blank: &Blank, work: &mut WorkList) -> Result<(), FormulaError> {
    for (id, feature) in task.view.part.features.iter().enumerate() {
        if let Kind::Hole(hole) = &feature.kind {
            if hole.is_axial() {
                end_holes(task, work, id, hole)?;
            } else {
                cross_holes(task, work, id, hole, feature.made_from)?;
            }
        }
    }
    Ok(())
}

/// The angle between the tool's axis and the spindle's for a hole: its own where its mouth leans to the end that is made
/// first, 180 deg less it where it leans to the other; the part is not turned round at hand-over, so on either spindle.
pub fn tool_angle(task: &Task, hole: &Hole) -> Angle {
    if (hole.angle.value - Angle::deg(90.0)).abs() < Angle::deg(1e-6) {
        return Angle::deg(90.0);
    }
    if hole.opens == task.first { hole.angle.value } else { Angle::deg(180.0) - hole.angle.value }
}

/// How far the drill goes from the mouth: to the bore it ends in, through the part, or to its depth.
pub fn path_length(task: &Task, hole: &Hole) -> Length {
    if hole.is_axial() {
        return end_depth(task, hole);
    }
    let outer = task.view.dia_at(hole.at);
    let sine = libm::sin(hole.angle.value.to_deg().to_radians()).max(0.05);
    if hole.through {
        return outer / sine;
    }
    if let Some(depth) = hole.depth {
        return depth;
    }
    let reach = match hole.into.map(|f| &task.view.feature(f).kind) {
        Some(Kind::Bore(b)) => (outer - b.dia.nominal) / 2.0,
        Some(Kind::Groove(g)) => (outer - g.dia.nominal).abs() / 2.0,
        _ => outer / 2.0,
    };
    reach.max(hole.dia.nominal) / sine
}

/// A side whose live carriers or hand-set heads reach the angle, the main spindle first, and whether the other would do as
/// well: at the sub-spindle only what stands out of its collet can be reached, and only near to it does the piece stand still.
pub(crate) fn side_for(task: &Task, angle: Angle, made_from: Option<End>, nearest: Length) -> (Side, bool) {
    let at_main = reaches(task, task.machine, Side::Main, angle);
    let grip = hand_over::stands_out_from(task).filter(|_| task.machine.sub.is_some());
    let at_sub = grip.is_some_and(|z| nearest >= z) && reaches(task, task.machine, Side::Sub, angle);
    match made_from {
        Some(end) => (side_of_end(task, end), false),
        None if at_main => (Side::Main, at_sub && hand_over::holds_for_milling(task, nearest)),
        None if at_sub => (Side::Sub, false),
        None => (Side::Main, false),
    }
}

/// Whether any live place or usable head at a spindle reaches an angle.
fn reaches(task: &Task, machine: &Machine, side: Side, angle: Angle) -> bool {
    let within = |a: &crate::model::machine::CarrierAngle| a.low <= angle && angle <= a.high;
    let carrier =
        machine.carriers.iter().any(|c| c.serves(side) && c.live_places > 0 && c.angle.as_ref().is_some_and(within));
    let head = machine.options.iter().any(|o| {
        task.available(o) > 0
            && o.angle.as_ref().is_some_and(within)
            && o.occupies.as_ref().and_then(|at| machine.carrier(&at.carrier)).is_some_and(|(_, c)| c.serves(side))
    });
    carrier || head
}

fn cross_holes(
    task: &Task,
    work: &mut WorkList,
    id: FeatureId,
    hole: &Hole,
    made_from: Option<End>,
) -> Result<(), FormulaError> {
    let angle = tool_angle(task, hole);
    let nearest = task.from_first(hole.at) - hole.mouth_half_length();
    let (side, either_side) = side_for(task, angle, made_from, nearest);
    if needs_second_spindle(task, work, id, side) {
        return Ok(());
    }
    let dia = hole.dia.nominal;
    let length = path_length(task, hole);
    let square = (angle - Angle::deg(90.0)).abs() < Angle::deg(1e-6);
    let offset = (hole.offset != Length::ZERO).then(|| hole.offset.abs() + dia / 2.0);
    let need = |kind, dia: Length, features| Tool {
        kind,
        side,
        angle,
        angle_tolerance: (!square).then_some(hole.angle_tolerance),
        live: true,
        shank: Shank::Round(round_shank(dia)),
        dia,
        off_axis: offset,
        contouring: false,
        speed_wanted: None,
        torque: Torque::ZERO,
        attachment: None,
        either_side,
        features,
    };
    // Off the axis the surface slopes away to the side as well.
    let radius = (task.view.dia_at(hole.at) / 2.0).max(Length::um(1.0));
    let aside = Angle::deg(libm::asin((hole.offset.abs() / radius).min(1.0)).to_degrees());
    let lean = (Angle::deg(90.0) - hole.angle.value).abs().max(aside);
    if lean > Angle::deg(task.thresholds.drill_slope_deg) {
        // A pointed drill skids on a slope: a flat-point drill enters it at half the feed, so no second tool is needed.
        let cut = cutting_data::drill_cut(task, dia, None)?;
        let spot = Tool { speed_wanted: Some(cut.wanted), ..need(ToolKind::LiveDrill, dia, vec![id]) };
        let depth = dia / 2.0 / libm::tan(hole.angle.value.to_deg().to_radians()).max(0.05);
        let time = drilling::steady_time(depth, dia, Angle::deg(180.0), Length::mm(1.0), cut.feed * 0.5, cut.speed)?;
        drill(work, Work::SpotFace, id, side, spot, &cut, (time, Time::ZERO), hole.count);
    }
    let cut = cutting_data::drill_cut(task, dia, None)?;
    let main = Tool { speed_wanted: Some(cut.wanted), torque: cut.torque, ..need(ToolKind::LiveDrill, dia, vec![id]) };
    let tough = matches!(task.view.part.material.iso_513, 'M' | 'S');
    let steady = drilling::steady_time(length, dia, POINT_ANGLE, Length::mm(1.0), cut.feed, cut.speed)?;
    let pecks = if length / dia > 5.0 {
        let rapid = task.rapid();
        let pecked = drilling::peck_time(length, dia, POINT_ANGLE, Length::mm(1.0), cut.feed, cut.speed, rapid, tough)?;
        (pecked - steady).max(Time::ZERO)
    } else {
        Time::ZERO
    };
    drill(work, Work::CrossDrill, id, side, main, &cut, (steady, pecks), hole.count);
    Ok(())
}

/// How thick the part is at a distance from its axis, from an end face to where the outside falls below it.
fn web(task: &Task, from: End, radius: Length) -> Length {
    let mut row: Vec<_> = task.view.contour.iter().collect();
    if from == End::Back {
        row.reverse();
    }
    let thick = row.iter().take_while(|s| s.smallest() / 2.0 >= radius).map(|s| s.zone.length()).sum::<Length>();
    if thick > Length::ZERO { thick } else { task.view.length }
}

/// How deep a hole beside the axis goes into an end face: through what stands there, to its depth, or two diameters.
fn end_depth(task: &Task, hole: &Hole) -> Length {
    let dia = hole.dia.nominal;
    if hole.through { web(task, hole.opens, off_axis(hole) + dia / 2.0) } else { hole.depth.unwrap_or(dia * 2.0) }
}

/// The stretch behind a shoulder into which the drill of a hole in an end face breaks out: its point, and the millimetre that it
/// goes on by.
pub fn breaks_out(task: &Task, hole: &Hole) -> Option<Zone> {
    let thick = Some(end_depth(task, hole)).filter(|d| hole.through && hole.is_axial() && *d < task.view.length)?;
    let half_point = POINT_ANGLE.to_deg().to_radians() / 2.0;
    let beyond = hole.dia.nominal / 2.0 / libm::tan(half_point) + Length::mm(1.0);
    Some(match hole.opens {
        End::Front => Zone { start: hole.at + thick, end: hole.at + thick + beyond },
        End::Back => Zone { start: hole.at - thick - beyond, end: hole.at - thick },
    })
}

/// The distance of a hole in an end face from the axis.
fn off_axis(hole: &Hole) -> Length {
    hole.circle.map_or(hole.offset.abs(), |c| c / 2.0)
}

fn end_holes(task: &Task, work: &mut WorkList, id: FeatureId, hole: &Hole) -> Result<(), FormulaError> {
    let side = side_of_end(task, hole.opens);
    if needs_second_spindle(task, work, id, side) {
        return Ok(());
    }
    let dia = hole.dia.nominal;
    let depth = end_depth(task, hole);
    let cut = cutting_data::drill_cut(task, dia, None)?;
    let tool = Tool {
        kind: ToolKind::LiveDrill,
        angle: axial_angle(side),
        live: true,
        shank: Shank::Round(round_shank(dia)),
        dia,
        off_axis: Some(off_axis(hole)),
        speed_wanted: Some(cut.wanted),
        torque: cut.torque,
        ..turning_tool(ToolKind::LiveDrill, side, dia, Some(id))
    };
    let time = drilling::steady_time(depth, dia, POINT_ANGLE, Length::mm(1.0), cut.feed, cut.speed)?;
    drill(work, Work::EndDrill, id, side, tool, &cut, (time, Time::ZERO), hole.count);
    Ok(())
}

fn drill(
    work: &mut WorkList,
    what: Work,
    feature: FeatureId,
    side: Side,
    tool: Tool,
    cut: &cutting_data::DrillCut,
    (each, pecks): (Time, Time),
    count: u32,
) {
    let operation = Operation {
        depth: tool.dia,
        count,
        cutting: each * f64::from(count),
        // Each further hole turns the spindle to its place.
        moving: pecks * f64::from(count) + cycle::POSITION * f64::from(count.saturating_sub(1)),
        power: Power::kw(cut.torque.to_nm() * cut.speed.to_rpm() / 9549.0),
        torque: cut.torque,
        ..Operation::new(what, Some(feature), side, cut.speed, cut.feed)
    };
    work.step(tool, operation);
}
