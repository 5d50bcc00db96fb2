//! Flats, hexagons, slots, keyways, sculpted surfaces and engraving, by live tools.

use super::super::blank::Blank;
use super::super::operation::{Gap, GapReason, Operation, Shank, Tool, ToolKind, Work, WorkList};
use super::super::{Task, cycle};
use super::{axial_angle, cutting_data, side_of_end, turning_tool};
use crate::formulas::FormulaError;
use crate::model::machine::Side;
use crate::model::part::{FeatureId, Kind};
use crate::quantity::{Angle, Feed, Force, Length, Power, Time, Torque};

/// Adds all milled features.
///
/// # Errors
/// [`FormulaError`] where a figure lies outside a formula's range.
pub fn plan(task: &Task, _blank: &Blank, work: &mut WorkList) -> Result<(), FormulaError> {
    for (id, feature) in task.view.part.features.iter().enumerate() {
        match &feature.kind {
            Kind::Polygon(p) if !p.as_stock => {
                let round = task.view.dia_at((p.zone.start + p.zone.end) / 2.0);
                let depth = (round - p.across.nominal) / 2.0;
                let path = p.zone.length();
                mill(
                    task,
                    work,
                    id,
                    Work::MillFlats,
                    ToolKind::EndMill,
                    cutter(path, round),
                    path,
                    depth,
                    p.sides,
                    None,
                )?;
            }
            Kind::Flat(f) => {
                let round = task.view.dia_at((f.zone.start + f.zone.end) / 2.0);
                let depth = round / 2.0 - f.from_axis.nominal;
                let path = f.zone.length();
                mill(
                    task,
                    work,
                    id,
                    Work::MillFlats,
                    ToolKind::EndMill,
                    cutter(path, round),
                    path,
                    depth,
                    f.count,
                    None,
                )?;
            }
            Kind::Slot(s) => {
                let dia = s.width.nominal;
                let side = s.end.map(|e| side_of_end(task, e));
                // A slot narrower than 0.8 mm is sawn by a disc across the axis.
                if dia < Length::mm(0.8) {
                    let path = s.zone.length() + Length::mm(8.0);
                    mill(
                        task,
                        work,
                        id,
                        Work::MillSlot,
                        ToolKind::SlotMill,
                        Length::mm(16.0),
                        path,
                        s.depth,
                        s.count,
                        side,
                    )?;
                } else {
                    mill(
                        task,
                        work,
                        id,
                        Work::MillSlot,
                        ToolKind::EndMill,
                        dia,
                        s.zone.length(),
                        s.depth,
                        s.count,
                        side,
                    )?;
                }
            }
            Kind::Keyway(k) => {
                let path = k.zone.length();
                mill(task, work, id, Work::MillSlot, ToolKind::EndMill, k.width.nominal, path, k.depth, 1, None)?;
            }
            Kind::Contour(c) => contour(task, work, id, c.area.to_mm2(), c.scallop, c.axes)?,
            Kind::Engrave(e) => {
                let strokes = e.text.chars().count().max(1) as f64 * 4.0;
                let path = e.height * strokes;
                mill(task, work, id, Work::Engrave, ToolKind::EngravingTool, Length::mm(0.3), path, e.depth, 1, None)?;
            }
            _ => {}
        }
    }
    Ok(())
}

/// The end mill for a flat: as wide as the flat is long, from 3 to 10 mm, no larger than the work.
fn cutter(path: Length, round: Length) -> Length {
    path.min(round).max(Length::mm(3.0)).min(Length::mm(10.0))
}

#[expect(clippy::too_many_arguments, reason = "one operation has this many figures")]
fn mill(
    task: &Task,
    work: &mut WorkList,
    id: FeatureId,
    what: Work,
    kind: ToolKind,
    dia: Length,
    path: Length,
    depth: Length,
    count: u32,
    end_side: Option<Side>,
) -> Result<(), FormulaError> {
    let side = end_side.unwrap_or(Side::Main);
    if super::axial::needs_second_spindle(task, work, id, side) {
        return Ok(());
    }
    let n = cutting_data::milling_speed(task, dia)?;
    let teeth = if dia < Length::mm(3.0) { 2.0 } else { 3.0 };
    let feed = Feed::mm_per_rev((0.008 * dia.to_mm()).clamp(0.002, 0.06) * teeth);
    // Half a diameter deep a pass (common practice, no source).
    let passes = libm::ceil(depth / (dia * 0.5) - 1e-9).clamp(1.0, 60.0);
    let each = Time::minutes((path + dia).to_mm() / (feed.to_mm_per_rev() * n.to_rpm()));
    let thickness = feed.to_mm_per_rev() / teeth;
    let kc = crate::formulas::cutting::specific_cutting_force(
        task.view.part.material.kc11_n_mm2.high,
        task.view.part.material.mc,
        Length::mm(thickness),
    )?;
    let removal_mm3_min = dia.to_mm() * (depth.to_mm() / passes) * feed.to_mm_per_rev() * n.to_rpm();
    let power = Power::kw(kc * removal_mm3_min / 60e6);
    let torque = Torque::nm(power.to_kw() * 9549.0 / n.to_rpm());
    let axial = end_side.is_some() && kind != ToolKind::SlotMill;
    let tool = Tool {
        kind,
        angle: if axial { axial_angle(side) } else { Angle::deg(90.0) },
        live: true,
        shank: Shank::Round(super::round_shank(dia.min(Length::mm(10.0)))),
        dia,
        speed_wanted: Some(n),
        torque,
        // A flat wider than the cutter is fed across, off the plane of the axis.
        off_axis: (kind == ToolKind::EndMill && what == Work::MillFlats).then_some(dia / 2.0),
        ..turning_tool(kind, side, dia, Some(id))
    };
    let tool = work.tool(tool);
    work.operations.push(Operation {
        work: what,
        feature: Some(id),
        side,
        either_side: false,
        tool,
        speed: n,
        feed,
        depth: depth / passes,
        passes: passes as u32,
        count,
        cutting: each * passes * f64::from(count),
        moving: cycle::POSITION * f64::from(count.saturating_sub(1)),
        push: Force::ZERO,
        power,
        torque,
    });
    Ok(())
}

/// Rows of a ball mill: the step-over that leaves the wanted scallop is 2 sqrt(2 R s) for a ball of radius R (geometry).
fn contour(
    task: &Task,
    work: &mut WorkList,
    id: FeatureId,
    area_mm2: f64,
    scallop: Length,
    axes: u32,
) -> Result<(), FormulaError> {
    let reachable = task.machine.carriers.iter().any(|c| c.contouring && c.live_places > 0);
    if !reachable {
        work.gaps.push(Gap { feature: id, reason: GapReason::Contouring { axes } });
        return Ok(());
    }
    let dia = Length::mm(3.0);
    let n = cutting_data::milling_speed(task, dia)?;
    let feed = Feed::mm_per_rev(0.05);
    let step_over = 2.0 * libm::sqrt(2.0 * dia.to_mm() / 2.0 * scallop.to_mm().max(0.0005));
    // Once over for roughing at four times the step, once for finishing.
    let path_mm = area_mm2 / step_over * 1.25;
    let cutting = Time::minutes(path_mm / (feed.to_mm_per_rev() * n.to_rpm()));
    let tool = work.tool(Tool {
        live: true,
        shank: Shank::Round(Length::mm(3.0)),
        contouring: true,
        off_axis: Some(dia / 2.0),
        speed_wanted: Some(n),
        ..turning_tool(ToolKind::BallMill, Side::Main, dia, Some(id))
    });
    work.operations.push(Operation {
        work: Work::MillContour,
        feature: Some(id),
        side: Side::Main,
        either_side: false,
        tool,
        speed: n,
        feed,
        depth: Length::mm(step_over),
        passes: 1,
        count: 1,
        cutting,
        moving: Time::ZERO,
        push: Force::ZERO,
        power: Power::ZERO,
        torque: Torque::ZERO,
    });
    Ok(())
}
