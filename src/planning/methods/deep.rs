//! Deep holes: a pilot, then a drill in pecks, in one go with enough coolant, with one lip, or oscillating.

use super::super::Task;
use super::super::operation::{ToolKind, Work, WorkList};
use super::axial::{APPROACH, POINT_ANGLE, push, tough};
use super::bores::Making;
use super::{Way, Ways, axial_tool, cutting_data};
use crate::formulas::{FormulaError, drilling};
use crate::model::machine::{AddedMethod, Side};
use crate::model::part::{End, FeatureId, Zone};
use crate::quantity::{Feed, Frequency, Length, Time};

/// Depth of a pilot hole over its diameter (read: 1 to 3 D in several guides).
const PILOT_DEPTH: f64 = 2.0;
/// Depth over diameter to which a twist drill goes in one go with enough coolant through it (common practice: 30 to 40).
const STEADY_TO: f64 = 40.0;
/// Depth over diameter beyond which a single-lip drill is the usual choice (common practice, no source).
const SINGLE_LIP_FROM: f64 = 30.0;
/// Feed of a single-lip drill over its diameter (common practice 0.002 to 0.005, no source).
const SINGLE_LIP_FEED: f64 = 0.003;

/// Offers the ways to drill a deep hole.
///
/// # Errors
/// [`FormulaError`] where a figure lies outside a formula's range.
pub(super) fn plan(
    task: &Task,
    ways: &mut Ways,
    id: FeatureId,
    making: &Making,
    dia: Length,
    depth: Length,
) -> Result<(), FormulaError> {
    let side = making.side;
    let ratio = depth / dia;
    let pressure = task.machine.coolant.as_ref().and_then(|c| c.pressure).map(|p| p.value);
    let enough = |single_lip: bool| {
        let needed =
            drilling::coolant_pressure_needed(dia, single_lip).map(|p| p * cutting_data::pressure_share(task, ratio));
        needed.zip(pressure).is_some_and(|(needed, there)| there >= needed)
    };
    let twist = cutting_data::axial_cut(task, dia, side)?;
    let steady = |feed: Feed| drilling::steady_time(depth, dia, POINT_ANGLE, APPROACH, feed, twist.speed);
    let mut offers = Vec::new();

    let mut pecked = with_pilot(task, id, making, dia)?;
    let tool = pecked.tool(axial_tool(ToolKind::DeepHoleDrill, side, dia, id));
    let all =
        drilling::peck_time(depth, dia, POINT_ANGLE, APPROACH, twist.feed, twist.speed, task.rapid(), tough(task))?;
    let cutting = steady(twist.feed)?;
    push(&mut pecked, Work::PeckDrill, id, side, tool, &twist, dia, cutting, (all - cutting).max(Time::ZERO));
    offers.push(Way::usual(Work::PeckDrill, pecked));

    if ratio <= STEADY_TO && enough(false) {
        let mut in_one_go = with_pilot(task, id, making, dia)?;
        let tool = in_one_go.tool(axial_tool(ToolKind::DeepHoleDrill, side, dia, id));
        push(&mut in_one_go, Work::DeepDrill, id, side, tool, &twist, dia, cutting, Time::ZERO);
        offers.push(Way::usual(Work::DeepDrill, in_one_go));
    }
    if enough(true) {
        let mut single_lip = with_pilot(task, id, making, dia)?;
        let tool = single_lip.tool(axial_tool(ToolKind::SingleLipDrill, side, dia, id));
        let feed = Feed::mm_per_rev(SINGLE_LIP_FEED * dia.to_mm());
        let light = cutting_data::DrillCut { feed, thrust: twist.thrust * 0.3, torque: twist.torque * 0.5, ..twist };
        push(&mut single_lip, Work::SingleLipDrill, id, side, tool, &light, dia, steady(feed)?, Time::ZERO);
        let second = (ratio <= SINGLE_LIP_FROM).then_some("its feed is a fifth of a twist drill's");
        offers.push(Way { second, ..Way::usual(Work::SingleLipDrill, single_lip) });
    }
    if let Some(attachment) = oscillating(task, dia, &twist) {
        let mut swung = with_pilot(task, id, making, dia)?;
        let mut drill = axial_tool(ToolKind::DeepHoleDrill, side, dia, id);
        if side == Side::Main {
            drill.attachment = Some(attachment);
        }
        let tool = swung.tool(drill);
        push(&mut swung, Work::OscillatingDrill, id, side, tool, &twist, dia, cutting, Time::ZERO);
        offers.push(Way::usual(Work::OscillatingDrill, swung));
    }
    for op in offers.iter_mut().flat_map(|way| &mut way.steps.operations) {
        op.zone.get_or_insert(making.zone);
    }
    ways.offer(id, offers, Vec::new());
    Ok(())
}

/// A deep-hole drill must find the axis: a short drill of its diameter makes the first stretch.
fn with_pilot(task: &Task, id: FeatureId, making: &Making, dia: Length) -> Result<WorkList, FormulaError> {
    let side = making.side;
    let mut steps = WorkList::default();
    let cut = cutting_data::axial_cut(task, dia, side)?;
    let tool = steps.tool(axial_tool(ToolKind::PilotDrill, side, dia, id));
    let time = drilling::steady_time(dia * PILOT_DEPTH, dia, POINT_ANGLE, APPROACH, cut.feed, cut.speed)?;
    let first = (dia * PILOT_DEPTH).min(making.zone.length());
    let Zone { start, end } = making.zone;
    let zone = match making.end {
        End::Front => Zone { start, end: start + first },
        End::Back => Zone { start: end - first, end },
    };
    push(&mut steps, Work::Drill, id, side, tool, &cut, dia, time, Time::ZERO).zone = Some(zone);
    Ok(steps)
}

/// An oscillating drilling unit that breaks the chip of this drill at its own feed (the pecks are what is saved).
fn oscillating(task: &Task, dia: Length, cut: &cutting_data::DrillCut) -> Option<usize> {
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
    (swing <= frequency && needed <= stroke && dia > Length::ZERO).then_some(i)
}
