//! Turning, facing, grooving and cutting off.

use super::super::blank::Blank;
use super::super::operation::{Operation, Tool, ToolKind, Work, WorkList};
use super::super::{Task, cycle};
use super::cutting_data::{self, Cut};
use super::{blank_dia, side_of_end, turning_tool};
use crate::formulas::{FormulaError, beam, cutting, time};
use crate::model::machine::{ModeKind, Side};
use crate::model::part::{Face, FeatureId, Finish, GrooveSide, Kind};
use crate::model::profile::Segment;
use crate::quantity::{Angle, Feed, Force, Length, Time};

/// Approach and overrun of a turning pass (common practice, no source).
const APPROACH: Length = Length::mm(1.0);

/// Adds all turning of the outer contour, the faces and the cut-off.
///
/// # Errors
/// [`FormulaError`] where a figure lies outside a formula's range.
pub fn plan(task: &Task, blank: &Blank, work: &mut WorkList) -> Result<(), FormulaError> {
    face(task, blank, work)?;
    let mut largest_so_far = Length::ZERO;
    let mut row = task.view.contour.clone();
    if task.first == crate::model::part::End::Back {
        row.reverse();
    }
    for segment in &row {
        let kind = &task.view.feature(segment.feature).kind;
        let as_stock = match kind {
            Kind::Turn(t) => t.as_stock,
            Kind::Polygon(p) => p.as_stock,
            _ => false,
        };
        if as_stock {
            largest_so_far = largest_so_far.max(segment.largest());
            continue;
        }
        if matches!(kind, Kind::Groove(_) | Kind::Undercut(_)) {
            let above = neighbour_dia(&row, segment, blank_dia(blank, task.view));
            groove(task, work, segment.feature, above, segment.smallest(), segment.zone.length())?;
            continue;
        }
        let falls_back = segment.smallest() < largest_so_far - Length::um(1.0);
        turn(task, blank, work, segment, falls_back)?;
        largest_so_far = largest_so_far.max(segment.largest());
    }
    small_turned(task, work)?;
    cut_off(task, blank, work)
}

/// The diameter that a groove standing as a segment is cut from: the larger of its neighbours.
fn neighbour_dia(row: &[Segment], segment: &Segment, bar: Length) -> Length {
    let Some(i) = row.iter().position(|s| s == segment) else { return bar };
    let before = i.checked_sub(1).and_then(|j| row.get(j)).map(Segment::largest);
    let after = row.get(i + 1).map(Segment::largest);
    match (before, after) {
        (Some(a), Some(b)) => a.max(b),
        (a, b) => a.or(b).unwrap_or(bar),
    }
}

/// An operation of a turning tool on the main spindle.
fn operation(work: Work, feature: Option<FeatureId>, side: Side, tool: usize, cut: &Cut, dia: Length) -> Operation {
    let speed = crate::formulas::cutting::spindle_speed(cut.speed, dia.max(Length::mm(0.05)));
    let speed = speed.map_or(cut.cap, |n| n.min(cut.cap));
    Operation {
        tool,
        depth: cut.depth,
        passes: cut.passes,
        moving: cycle::movements().approach * f64::from(cut.passes.saturating_sub(1)),
        power: cut.power,
        torque: cut.torque,
        ..Operation::new(work, feature, side, speed, cut.feed)
    }
}

fn face(task: &Task, blank: &Blank, work: &mut WorkList) -> Result<(), FormulaError> {
    let dia = blank_dia(blank, task.view);
    let finish = face_finish(task, task.first);
    let feed = cutting_data::finish_feed(task, dia, finish.map(|f| f.ra));
    let cut = cutting_data::turning_cut(task, Side::Main, dia, dia - Length::mm(0.4), feed, Length::mm(1.0))?;
    // Beside a bushing nothing is roughed, so the finishing tool faces as well and saves a place.
    let kind = if task.guided() { ToolKind::FinishingTool } else { ToolKind::TurningTool };
    let tool = work.tool(turning_tool(kind, Side::Main, Length::ZERO, None));
    let mut op = operation(Work::Face, None, Side::Main, tool, &cut, dia);
    op.cutting = time::facing(dia, Length::ZERO, feed, cut.speed, cut.cap)?;
    work.operations.push(op);
    Ok(())
}

/// The finish asked for at an end face.
fn face_finish(task: &Task, end: crate::model::part::End) -> Option<Finish> {
    task.view.part.features.iter().find_map(|f| match &f.kind {
        Kind::Face(Face { end: e, finish }) if *e == end => *finish,
        _ => None,
    })
}

fn finish_of(kind: &Kind) -> Option<Length> {
    match kind {
        Kind::Turn(t) => t.finish,
        Kind::Taper(t) => t.finish,
        Kind::Sphere(s) => s.finish,
        Kind::Groove(g) => g.finish,
        _ => None,
    }
    .map(|f| f.ra)
}

fn turn(
    task: &Task,
    blank: &Blank,
    work: &mut WorkList,
    segment: &Segment,
    falls_back: bool,
) -> Result<(), FormulaError> {
    let kind = &task.view.feature(segment.feature).kind;
    let bar = blank_dia(blank, task.view);
    let ra = finish_of(kind);
    let dia = segment.mean();
    let feed = cutting_data::finish_feed(task, dia, ra);
    let finishing = if falls_back { ToolKind::BackTurningTool } else { ToolKind::FinishingTool };
    let length = segment.zone.length() + APPROACH;
    let feature = Some(segment.feature);
    if task.guided() {
        // The whole depth in one pass beside the bushing: a turned diameter has no support for a second one.
        let deepest = Length::mm(4.0).max(bar * 0.3);
        let cut = cutting_data::turning_cut(task, Side::Main, bar, segment.smallest(), feed, deepest)?;
        let tool = work.tool(turning_tool(finishing, Side::Main, Length::ZERO, feature));
        let mut op = operation(Work::Turn, feature, Side::Main, tool, &cut, dia);
        op.cutting = pass(segment, length, &cut)? * f64::from(cut.passes);
        work.operations.push(op);
        return Ok(());
    }
    let allowance = Length::mm(task.thresholds.finish_depth_mm);
    let rough_to = segment.smallest() + allowance * 2.0;
    let deepest = (bar * 0.1).max(Length::mm(0.3)).min(Length::mm(2.5));
    if bar > rough_to {
        let rough = cutting_data::rough_feed(task, dia);
        let deepest = deepest.min(stiff_depth(task, blank, segment, rough)?);
        let cut = cutting_data::turning_cut(task, Side::Main, bar, rough_to, rough, deepest)?;
        let cut = cutting_data::at_constant_power(task, Side::Main, bar, cut)?;
        let roughing = if falls_back { ToolKind::BackTurningTool } else { ToolKind::TurningTool };
        let tool = work.tool(turning_tool(roughing, Side::Main, Length::ZERO, feature));
        let mut op = operation(Work::RoughTurn, feature, Side::Main, tool, &cut, (bar + rough_to) / 2.0);
        let mean = (bar + rough_to) / 2.0;
        op.cutting =
            time::turning_at_surface_speed(mean, mean, length, cut.feed, cut.speed, cut.cap)? * f64::from(cut.passes);
        work.operations.push(op);
    }
    let cut = cutting_data::turning_cut(task, Side::Main, rough_to, segment.smallest(), feed, allowance * 2.0)?;
    let tool = work.tool(turning_tool(finishing, Side::Main, Length::ZERO, feature));
    let mut op = operation(Work::FinishTurn, feature, Side::Main, tool, &cut, dia);
    op.cutting = pass(segment, length, &cut)?;
    work.operations.push(op);
    Ok(())
}

/// How far a roughing cut may bend the piece: what is left for finishing evens it out (common practice, no source).
const ROUGHING_BEND: Length = Length::mm(0.1);

/// The depth of a roughing pass that a piece out of the collet stands: its passive force bends the free stretch, taken at
/// the roughed diameter from the collet to the far end of the segment, no further than [`ROUGHING_BEND`]; at least 0.3 mm.
/// A far end that the sub-spindle or a centre holds bends a sixteenth as much.
fn stiff_depth(task: &Task, blank: &Blank, segment: &Segment, feed: Feed) -> Result<Length, FormulaError> {
    let zone = task.zone_from_first(segment.zone);
    let reach = task.view.length - zone.start + blank.cut_off_width + Length::mm(task.thresholds.nose_gap_mm);
    let dia = segment.smallest().max(Length::mm(0.2));
    let modulus = task.view.part.material.modulus_gpa;
    let free = [beam::BeamSegment::solid(reach, dia)];
    let per_newton = beam::tip_deflection(&free, modulus, Force::n(1.0), reach)?;
    let held = if task.mode.kind == ModeKind::Supported { 1.0 / 16.0 } else { 1.0 };
    let radius = cutting_data::nose_radius(dia);
    let mut depth = Length::mm(2.5);
    while depth > Length::mm(0.3) {
        let force = cutting_data::turning_force(task, depth, feed)? * cutting::passive_share(depth, radius);
        if per_newton * (force / Force::n(1.0)) * held <= ROUGHING_BEND {
            break;
        }
        depth = depth * 0.8;
    }
    Ok(depth.max(Length::mm(0.3)))
}

/// One pass along a segment, cone or cylinder.
fn pass(segment: &Segment, length: Length, cut: &Cut) -> Result<Time, FormulaError> {
    let least = Length::mm(0.05);
    let (a, b) = (segment.start_dia.max(least), segment.end_dia.max(least));
    time::turning_at_surface_speed(a, b, length, cut.feed, cut.speed, cut.cap)
}

/// The narrowest external groove of the part: one blade of that width, at most 3 mm, cuts them all.
fn blade_width(task: &Task) -> Length {
    let widths = task.view.part.features.iter().filter_map(|f| match &f.kind {
        Kind::Groove(g) if g.side == GrooveSide::External => Some(g.zone.length()),
        Kind::Undercut(u) if !u.inside => Some(u.zone.length()),
        _ => None,
    });
    widths.min_by(Length::total_cmp).unwrap_or(Length::mm(3.0)).min(Length::mm(3.0))
}

/// Plunges side by side with the part's one grooving blade.
fn groove(
    task: &Task,
    work: &mut WorkList,
    feature: FeatureId,
    from: Length,
    to: Length,
    width: Length,
) -> Result<(), FormulaError> {
    let blade = blade_width(task).min(width);
    let feed = Feed::mm_per_rev((0.006 * from.to_mm()).clamp(0.02, 0.08));
    let cut = cutting_data::plunging_cut(task, Side::Main, from, to, blade, feed)?;
    let feed = cut.feed;
    let tool = work.tool(turning_tool(ToolKind::GroovingTool, Side::Main, blade, Some(feature)));
    let plunges = libm::ceil(width / (blade * 0.8) - 1e-9).max(1.0);
    let mut op = operation(Work::Groove, Some(feature), Side::Main, tool, &cut, from);
    op.cutting = time::facing(from, to.min(from), feed, cut.speed, cut.cap)? * plunges;
    op.passes = plunges as u32;
    // The blade dwells half a turn at the bottom (common practice), so that it is round.
    let dwell = if op.speed.to_rpm() > 0.0 { Time::minutes(0.5 / op.speed.to_rpm()) } else { Time::ZERO };
    op.moving = cycle::movements().approach * (plunges - 1.0) + dwell * plunges;
    work.operations.push(op);
    Ok(())
}

/// Chamfers, corner radii, knurls and grooves that lie within a segment.
fn small_turned(task: &Task, work: &mut WorkList) -> Result<(), FormulaError> {
    for (id, feature) in task.view.part.features.iter().enumerate() {
        match &feature.kind {
            Kind::Chamfer(c) if !c.inside => {
                let dia = task.view.dia_at(c.at);
                let end = task.from_first(c.at) <= task.view.length / 2.0;
                let side = if end || task.machine.sub.is_none() { Side::Main } else { Side::Sub };
                let far_face = task.from_first(c.at) >= task.view.length - Length::um(1.0);
                let side = if far_face { side } else { Side::Main };
                let feed = cutting_data::finish_feed(task, dia, None);
                let cut = cutting_data::turning_cut(task, side, dia, dia - c.width * 2.0, feed, c.width)?;
                let tool = work.tool(turning_tool(ToolKind::FinishingTool, side, Length::ZERO, Some(id)));
                let mut op = operation(Work::Chamfer, Some(id), side, tool, &cut, dia);
                let slant = c.width / libm::cos(c.angle.to_deg().to_radians()).max(0.1);
                op.cutting = time::turning_at_surface_speed(dia, dia, slant, feed, cut.speed, cut.cap)?;
                work.operations.push(op);
            }
            Kind::Knurl(k) => {
                let dia = task.view.dia_at(k.zone.start);
                let feed = Feed::mm_per_rev(0.1);
                let cut = cutting_data::turning_cut(task, Side::Main, dia, dia - k.pitch * 0.5, feed, k.pitch)?;
                let tool = work.tool(turning_tool(ToolKind::KnurlingTool, Side::Main, k.pitch, Some(id)));
                let mut op = operation(Work::Knurl, Some(id), Side::Main, tool, &cut, dia);
                // A knurl is rolled at about a third of the turning speed (common practice, no source).
                op.cutting = time::turning_at_surface_speed(dia, dia, k.zone.length(), feed, cut.speed / 3.0, cut.cap)?;
                work.operations.push(op);
            }
            Kind::Groove(g) if g.side == GrooveSide::External => {
                let stands_alone = task.view.contour.iter().any(|s| s.feature == id);
                if !stands_alone {
                    let from = task.view.dia_at((g.zone.start + g.zone.end) / 2.0);
                    groove(task, work, id, from, g.dia.nominal, g.zone.length())?;
                }
            }
            Kind::Undercut(u) if !u.inside && !task.view.contour.iter().any(|s| s.feature == id) => {
                let from = task.view.dia_at((u.zone.start + u.zone.end) / 2.0);
                groove(task, work, id, from, u.dia.nominal, u.zone.length())?;
            }
            _ => {}
        }
    }
    Ok(())
}

/// Whether the cut-off side must be faced afterwards: a finer finish than cutting off leaves, or a length tolerance that
/// it does not hold (both common practice, no source).
pub fn needs_back_facing(task: &Task) -> bool {
    let fine = face_finish(task, task.first.other()).is_some_and(|f| f.ra < Length::um(3.2));
    let tight = task.view.part.length.tolerance().is_some_and(|t| t < Length::mm(0.1) - Length::um(0.01));
    fine || tight
}

fn cut_off(task: &Task, blank: &Blank, work: &mut WorkList) -> Result<(), FormulaError> {
    let end_z = match task.first {
        crate::model::part::End::Front => task.view.length,
        crate::model::part::End::Back => Length::ZERO,
    };
    // The blade stands in the bar behind the part, so it starts from the bar's own diameter; a bore that reaches the far
    // face and is made from this side leaves only a ring.
    let from = blank_dia(blank, task.view);
    let bore = if drilled_through_from_first(task) { task.view.bore_at(end_z) } else { blank.bore };
    let feed = Feed::mm_per_rev((0.004 * from.to_mm()).clamp(0.02, 0.08));
    let cut = cutting_data::plunging_cut(task, Side::Main, from, bore, blank.cut_off_width, feed)?;
    let feed = cut.feed;
    let tool = work.tool(turning_tool(ToolKind::CutOffTool, Side::Main, blank.cut_off_width, None));
    let mut op = operation(Work::CutOff, None, Side::Main, tool, &cut, from);
    // Speed stays 20 % below turning: the blade is thin and the chip runs between two walls (common practice).
    let speed = cut.speed * 0.8;
    // Near the centre the feed falls to a half, since the speed does (read: 1/2 to 1/3 in one catalogue).
    let slow = (bore + Length::mm(4.0)).min(from);
    op.cutting =
        time::facing(from, slow, feed, speed, cut.cap)? + time::facing(slow, bore, feed * 0.5, speed, cut.cap)?;
    work.operations.push(op);
    if needs_back_facing(task) && task.machine.sub.is_some() {
        let dia = task.view.dia_at(end_z);
        let ra = face_finish(task, task.first.other()).map(|f| f.ra);
        let feed = cutting_data::finish_feed(task, dia, ra);
        let cut = cutting_data::turning_cut(task, Side::Sub, dia, dia - Length::mm(0.4), feed, Length::mm(1.0))?;
        let need =
            Tool { angle: Angle::deg(180.0), ..turning_tool(ToolKind::FinishingTool, Side::Sub, Length::ZERO, None) };
        let tool = work.tool(need);
        let mut op = operation(Work::BackFace, None, Side::Sub, tool, &cut, dia);
        op.cutting = time::facing(dia, bore.min(dia), feed, cut.speed, cut.cap)?;
        work.operations.push(op);
    }
    Ok(())
}

/// Whether a through bore is drilled before the cut-off, from the end that is made first.
fn drilled_through_from_first(task: &Task) -> bool {
    task.view.part.features.iter().any(|f| {
        matches!(&f.kind, Kind::Bore(b) if b.through
            && side_of_end(task, f.made_from.unwrap_or(task.first)) == Side::Main)
    })
}
