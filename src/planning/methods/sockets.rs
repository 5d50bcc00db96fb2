//! Drives in an end face: broached with a wobbling or a plain broach, milled, or sawn.

use super::super::Task;
use super::super::cycle;
use super::super::operation::{Operation, Shank, Tool, ToolKind, Work, WorkList};
use super::axial::{APPROACH, POINT_ANGLE, drill_hole, needs_second_spindle, simple};
use super::milled::{SAW, SAW_ARBOR, SAW_TEETH};
use super::{Way, Ways, axial_angle, axial_tool, cutting_data, side_of_end, turning_tool};
use crate::formulas::{FormulaError, cutting, drilling, time};
use crate::model::machine::Side;
use crate::model::part::{End, FeatureId, Socket, SocketShape};
use crate::quantity::{Feed, Force, Length, Power, RotationalSpeed, Time, Torque};

/// Offers the ways to make a socket. A rotary broach (wobble of one degree) pushes a fifth as hard as a plain one (common
/// practice, no source); a slot is sawn by a live cutter.
///
/// # Errors
/// [`FormulaError`] where a figure lies outside a formula's range.
pub fn plan(task: &Task, ways: &mut Ways, id: FeatureId, s: &Socket) -> Result<(), FormulaError> {
    let side = side_of_end(task, s.from);
    if needs_second_spindle(task, &mut ways.base, id, side) {
        return Ok(());
    }
    let across = match &s.shape {
        SocketShape::Hex(size) => size.nominal,
        SocketShape::Hexalobe { outer, .. } => *outer * 0.72,
        SocketShape::Cross(number) => Length::mm(1.5 * f64::from(*number) + 1.0),
        SocketShape::Slot(width) => return slot_drive(task, &mut ways.base, id, s, width.nominal, side),
    };
    let depth = s.depth + drilling::point_length(across, POINT_ANGLE);
    let there = task.view.bore_at(match s.from {
        End::Front => s.depth / 2.0,
        End::Back => task.view.length - s.depth / 2.0,
    });
    if there < across * 0.9 {
        drill_hole(task, &mut ways.base, id, side, across, depth)?;
    }
    let mut offers = vec![rotary(task, id, s, across, side)?, plain(task, id, s, across, side)?];
    if let SocketShape::Hexalobe { outer, .. } = s.shape {
        offers.push(milled(task, id, s, outer, side)?);
    }
    ways.offer(id, offers, Vec::new());
    Ok(())
}

/// The push of a plain broach: the chip is what stands between the drilled hole and the corners, about 0.15 of the width
/// all round, six edges at once.
fn form_force(task: &Task, across: Length) -> Result<Force, FormulaError> {
    Ok(cutting_data::turning_force(task, across * 0.15, Feed::mm_per_rev(0.03))? * 6.0)
}

fn rotary(task: &Task, id: FeatureId, s: &Socket, across: Length, side: Side) -> Result<Way, FormulaError> {
    let mut steps = WorkList::default();
    let tool = steps.tool(axial_tool(ToolKind::Broach, side, across, id));
    let n = RotationalSpeed::rpm(1500.0).min(cutting_data::cap(task, side));
    let feed = Feed::mm_per_rev(0.05);
    let time_in = time::turning(s.depth + APPROACH, feed, n)?;
    simple(&mut steps, Work::Broach, id, side, tool, n, feed, time_in, form_force(task, across)? / 5.0);
    Ok(Way::usual(Work::Broach, steps))
}

/// A plain broach is pushed in strokes of 0.5 mm with the spindle still, drawn back each time for the chip (common
/// practice, no source).
fn plain(task: &Task, id: FeatureId, s: &Socket, across: Length, side: Side) -> Result<Way, FormulaError> {
    let mut steps = WorkList::default();
    let tool = steps.tool(axial_tool(ToolKind::FormBroach, side, across, id));
    let strokes = libm::ceil(s.depth.to_mm() / 0.5 - 1e-9).max(1.0);
    let op = Operation {
        tool,
        passes: strokes as u32,
        cutting: Time::s(0.6) * strokes,
        moving: cycle::movements().orient,
        push: form_force(task, across)?,
        ..Operation::new(Work::FormBroach, Some(id), side, RotationalSpeed::ZERO, Feed::ZERO)
    };
    steps.operations.push(op);
    Ok(Way::second(Work::FormBroach, "it pushes five times as hard as a rotary broach", steps))
}

/// A small end mill follows the lobes, a fifth of the outer diameter across, in layers of a tenth of its own (common
/// practice, no source).
fn milled(task: &Task, id: FeatureId, s: &Socket, outer: Length, side: Side) -> Result<Way, FormulaError> {
    let mut steps = WorkList::default();
    let dia = outer * 0.2;
    let n = cutting_data::milling_speed(task, dia)?;
    let tool = Tool {
        angle: axial_angle(side),
        live: true,
        shank: Shank::Round(super::round_shank(dia)),
        off_axis: Some(outer / 2.0),
        speed_wanted: Some(n),
        ..turning_tool(ToolKind::EndMill, side, dia, Some(id))
    };
    let layers = libm::ceil(s.depth / (dia * 0.1) - 1e-9).max(1.0);
    let path = Length::mm(std::f64::consts::PI * outer.to_mm() * 1.2);
    let feed = Feed::mm_per_rev((0.008 * dia.to_mm()).clamp(0.002, 0.06) * 2.0);
    let op = Operation {
        passes: layers as u32,
        depth: dia * 0.1,
        cutting: time::turning(path, feed, n)? * layers,
        ..Operation::new(Work::MillSocket, Some(id), side, n, feed)
    };
    steps.step(tool, op);
    Ok(Way::second(Work::MillSocket, "so small a mill breaks sooner than a broach", steps))
}

/// Feed of a slitting saw a tooth (common practice 0.01 to 0.02 mm, no source).
const SAW_FEED: Length = Length::mm(0.015);

/// A slot across the head, sawn at full depth by a disc as thick as the slot: it goes over the head with its run-in on both
/// sides, `sqrt(t (D - t))` for a disc of D at the depth t.
fn slot_drive(
    task: &Task,
    work: &mut WorkList,
    id: FeatureId,
    s: &Socket,
    width: Length,
    side: Side,
) -> Result<(), FormulaError> {
    let m = &task.view.part.material;
    let n = cutting::spindle_speed(m.drilling_speed.typical, SAW)?;
    let feed = Feed::mm_per_rev(SAW_FEED.to_mm() * SAW_TEETH);
    let kc = cutting::specific_cutting_force(cutting_data::cautious_kc11(task), m.mc, SAW_FEED)?;
    let removal_mm3_min = width.to_mm() * s.depth.to_mm() * feed.to_mm_per_rev() * n.to_rpm();
    let power = Power::kw(kc * removal_mm3_min / 60e6);
    let torque = Torque::nm(power.to_kw() * 9549.0 / n.to_rpm());
    let tool = Tool {
        live: true,
        shank: Shank::Round(SAW_ARBOR),
        speed_wanted: Some(n),
        torque,
        ..turning_tool(ToolKind::SlotMill, side, width, Some(id))
    };
    let z = match s.from {
        End::Front => Length::ZERO,
        End::Back => task.view.length,
    };
    let depth_mm = s.depth.to_mm().min(SAW.to_mm() / 2.0);
    let run_in = Length::mm(libm::sqrt(depth_mm * (SAW.to_mm() - depth_mm)));
    let cutting = time::turning(task.view.dia_at(z) + run_in * 2.0 + APPROACH, feed, n)?;
    let op =
        Operation { depth: s.depth, cutting, power, torque, ..Operation::new(Work::MillSlot, Some(id), side, n, feed) };
    work.step(tool, op);
    Ok(())
}
