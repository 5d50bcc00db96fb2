//! Work along the axis: bores, counterbores, internal grooves.

use super::super::Task;
use super::super::blank::Blank;
use super::super::operation::{Gap, GapReason, Operation, Shank, Tool, ToolKind, Work, WorkList};
use super::bars::{self, Boring};
use super::{Way, Ways, axial_tool, bores, cutting_data, round_shank, side_of_end, sockets};
use crate::formulas::{FormulaError, cutting, drilling, time};
use crate::model::machine::Side;
use crate::model::part::{Chamfer, End, FeatureId, GrooveSide, Kind, Zone};
use crate::quantity::{Angle, Feed, Force, Length, Power, RotationalSpeed, Time};

/// Point angle of a solid-carbide drill.
pub const POINT_ANGLE: Angle = Angle::deg(140.0);
/// Approach of a drill before it cuts (common practice, no source).
pub(crate) const APPROACH: Length = Length::mm(1.0);
/// Depth over diameter from which a pilot and a deep-hole drill are used (read: pilot from about 7 D).
pub const DEEP_FROM: f64 = 7.0;
/// Depth over diameter beyond which no drill is planned (common practice: single-lip drills reach about 100).
pub const DEEPEST: f64 = 100.0;

/// Adds all axial work.
///
/// # Errors
/// [`FormulaError`] where a figure lies outside a formula's range.
pub fn plan(task: &Task, blank: &Blank, ways: &mut Ways) -> Result<(), FormulaError> {
    let mut centred = [false; 2];
    for (id, feature) in task.view.part.features.iter().enumerate() {
        let work = &mut ways.base;
        match &feature.kind {
            Kind::Bore(b) => bores::plan(task, blank, ways, id, b, &mut centred)?,
            Kind::Socket(s) => sockets::plan(task, ways, id, s)?,
            Kind::Groove(g) if g.side == GrooveSide::Internal => {
                in_bore(task, ways, id, g.zone, g.dia.nominal)?;
            }
            Kind::Groove(g) => {
                if let GrooveSide::Face(end) = g.side {
                    let outer = g.outer_dia.as_ref().map_or(g.dia.nominal, |d| d.nominal);
                    let width = (outer - g.dia.nominal) / 2.0;
                    inner_groove(task, work, id, ToolKind::FaceGroovingTool, end, outer, width)?;
                }
            }
            Kind::Undercut(u) if u.inside => {
                in_bore(task, ways, id, u.zone, u.dia.nominal)?;
            }
            Kind::Taper(t) if t.internal => {
                let end = nearer_end(task, t.zone.start, t.zone.end);
                let cone = Boring {
                    dia: t.start_dia.nominal.max(t.end_dia.nominal),
                    entry: t.start_dia.nominal.min(t.end_dia.nominal),
                    length: t.zone.length(),
                    ra: t.finish.map(|f| f.ra),
                    depth: Length::ZERO,
                    passes: 1,
                };
                bars::bore(task, work, id, end, &cone)?;
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
    let entry = task.view.bore_at(c.at);
    let dia = entry + c.width * 2.0;
    let cut = Boring { dia, entry, length: c.width, ra: None, depth: Length::ZERO, passes: 1 };
    bars::bore(task, work, id, end, &cut)
}

/// A groove or an undercut in a bore. It is cut from the end from which its bore has its last cut, which takes the groove's
/// burr off, where a bar reaches; for want of a place from the other end of a through bore, where the burr stays; where no bore
/// is finished, from the nearer end.
fn in_bore(task: &Task, ways: &mut Ways, id: FeatureId, zone: Zone, dia: Length) -> Result<(), FormulaError> {
    let cut = |end: End| -> Result<WorkList, FormulaError> {
        let mut steps = WorkList::default();
        inner_groove(task, &mut steps, id, ToolKind::InternalGroovingTool, end, dia, zone.length())?;
        Ok(steps)
    };
    let near = Length::um(1.0);
    let finished = task.view.part.features.iter().enumerate().find_map(|(bore, f)| match &f.kind {
        Kind::Bore(b) => {
            let making = bores::making(task, bore, b);
            let covers = b.zone.start <= zone.start + near && b.zone.end >= zone.end - near;
            let is_finished = bores::needs_finishing(b, making.zone.length());
            (covers && is_finished && reaches(task, zone, making.end, b.dia.nominal)).then_some((b, making.end))
        }
        _ => None,
    });
    let Some((bore, end)) = finished else {
        ways.base.add(&cut(nearer_end(task, zone.start, zone.end))?);
        return Ok(());
    };
    let mut offers = vec![Way::usual(Work::InternalGroove, cut(end)?)];
    let other = end.other();
    let at_sub = side_of_end(task, other) == Side::Sub && task.machine.sub.is_some();
    if bore.through && at_sub && reaches(task, zone, other, bore.dia.nominal) {
        let why = "its burr stands in the finished bore";
        let words = "internal groove at the sub-spindle";
        offers.push(Way { words, ..Way::second(Work::InternalGroove, why, cut(other)?) });
    }
    ways.offer(id, offers, Vec::new());
    Ok(())
}

/// Whether a bar of steel reaches the far side of a groove in a bore from an end.
fn reaches(task: &Task, groove: Zone, from: End, bore: Length) -> bool {
    let reach = if from == End::Front { groove.end } else { task.view.length - groove.start };
    reach <= bore * bars::BAR_SHARE * task.thresholds.boring_steel
}

pub(super) fn nearer_end(task: &Task, start: Length, end: Length) -> End {
    if (start + end) / 2.0 < task.view.length / 2.0 { End::Front } else { End::Back }
}

/// Records a side that cannot be reached.
pub(crate) fn needs_second_spindle(task: &Task, work: &mut WorkList, feature: FeatureId, side: Side) -> bool {
    let missing = side == Side::Sub && task.machine.sub.is_none();
    if missing {
        work.gaps.push(Gap { feature, reason: GapReason::NoSecondSpindle });
    }
    missing
}

/// A centre for the first drill of a side.
pub(super) fn centre(
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

/// Drills a hole of ordinary depth, in pecks beyond three diameters. Where the grip holds only a feed at which it
/// rubs, a first drill of half the diameter takes seven tenths of the thrust (common practice, no source).
pub(crate) fn drill_hole(
    task: &Task,
    work: &mut WorkList,
    id: FeatureId,
    side: Side,
    dia: Length,
    depth: Length,
) -> Result<(), FormulaError> {
    let mut cut = cutting_data::axial_cut(task, dia, side)?;
    if dia >= cutting_data::OPENED_FROM && cut.feed < cutting_data::least_feed(task, dia)? {
        let full = cutting_data::drill_cut(task, dia, Some(cutting_data::cap(task, side)))?;
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
        wanted: cut.wanted,
        ..Operation::new(what, Some(feature), side, cut.speed, cut.feed)
    });
    &mut work.operations[at]
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
    // In a bore the blade stands on the stoutest bar that enters beside its own depth of cut.
    let shank = match kind {
        ToolKind::InternalGroovingTool => {
            let zone = task.view.part.stretch(&task.view.feature(id).kind);
            let bore = task.view.bore_at((zone.start + zone.end) / 2.0);
            let neck = bore - (dia - bore) / 2.0 - Length::mm(task.thresholds.boring_air_mm);
            Shank::Round(bars::stoutest(task, kind, side, id, neck.max(Length::mm(0.5)).min(bars::STOUT)))
        }
        _ => Shank::Round(round_shank(blade)),
    };
    let tool = work.tool(Tool { shank, ..axial_tool(kind, side, blade, id) });
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
