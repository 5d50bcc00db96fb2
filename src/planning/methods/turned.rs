//! Turning, facing, grooving and cutting off.

use super::super::blank::Blank;
use super::super::operation::{Operation, Tool, ToolKind, Work, WorkList};
use super::super::{Task, cycle, hand_over, slender, support};
use super::cutting_data::{self, Cut};
use super::{blank_dia, bores, run_out, turning_tool};
use crate::formulas::{FormulaError, beam, cutting, time};
use crate::model::machine::Side;
use crate::model::part::{Chamfer, Face, FeatureId, Finish, GrooveSide, Kind, Turn, Zone};
use crate::model::profile::Segment;
use crate::quantity::{Angle, Feed, Force, Length, RotationalSpeed, Time, Velocity};

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
    let turned_over = turn_over_grooves(task, &mut row);
    for (i, segment) in row.iter().enumerate() {
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
            // Beside a bushing the bar behind it still has its whole diameter.
            let bar = blank_dia(blank, task.view);
            let stands = || if task.guided() { bar } else { neighbour_dia(&row, segment, bar) };
            let above = turned_over[i].unwrap_or_else(stands);
            groove(task, work, segment.feature, above, segment.smallest(), segment.zone.length())?;
            continue;
        }
        let falls_back = segment.smallest() < largest_so_far - Length::um(1.0);
        if let Kind::Turn(Turn { offset: Some((offset, _)), .. }) = kind {
            eccentric(task, blank, work, segment, offset.nominal)?;
        } else {
            for stretch in stretches(task, blank_dia(blank, task.view), segment) {
                turn(task, blank, work, &stretch, falls_back)?;
            }
        }
        largest_so_far = largest_so_far.max(segment.largest());
    }
    run_out_grooves(task, blank, work)?;
    small_turned(task, work)?;
    cut_off(task, blank, work)
}

/// Lets the turning of a cylinder beside a groove run on over it, so that the blade plunges no deeper than it must: beside a
/// bushing that of the cylinder before it, else of the smaller one. Gives for each segment the diameter that is turned there.
fn turn_over_grooves(task: &Task, row: &mut [Segment]) -> Vec<Option<Length>> {
    let cylinder = |s: &Segment| match &task.view.feature(s.feature).kind {
        Kind::Turn(t) => !t.as_stock && t.offset.is_none(),
        _ => false,
    };
    let mut turned = vec![None; row.len()];
    for i in 0..row.len() {
        if !matches!(&task.view.feature(row[i].feature).kind, Kind::Groove(_) | Kind::Undercut(_)) {
            continue;
        }
        let before = i.checked_sub(1);
        let behind = Some(i + 1).filter(|j| *j < row.len() && !task.guided());
        let beside = [before, behind].into_iter().flatten().filter(|j| cylinder(&row[*j]));
        let Some(j) = beside.min_by(|a, b| row[*a].largest().total_cmp(&row[*b].largest())) else { continue };
        turned[i] = Some(row[j].largest());
        let (over, zone) = (row[i].zone, &mut row[j].zone);
        *zone = Zone { start: zone.start.min(over.start), end: zone.end.max(over.end) };
    }
    turned
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

/// A segment as it is turned: beside a bushing in stretches that end where other work on it ends, so that a thread or a hole
/// is made while the bar beside it is still held, and where a slender end must turn slower; at a supported end where the support
/// begins.
pub(crate) fn stretches(task: &Task, bar: Length, segment: &Segment) -> Vec<Segment> {
    let whole = task.zone_from_first(segment.zone);
    let mut marks: Vec<Length> = Vec::new();
    if task.guided() {
        marks_beside_bushing(task, bar, segment, &mut marks);
    }
    marks.extend(support::of(task).map(|s| s.worked));
    let inside = Length::mm(1.0);
    marks.retain(|end| *end > whole.start + inside && *end < whole.end - inside);
    if marks.is_empty() {
        return vec![*segment];
    }
    marks.sort_by(Length::total_cmp);
    marks.dedup_by(|a, b| (*a - *b).abs() < Length::mm(1.0));
    marks.push(whole.end);
    let mut from = whole.start;
    let piece = |to: Length| {
        // Turning the view round again gives the drawing's z.
        let zone = task.zone_from_first(Zone { start: std::mem::replace(&mut from, to), end: to });
        Segment { zone, start_dia: segment.dia_at(zone.start), end_dia: segment.dia_at(zone.end), ..*segment }
    };
    marks.into_iter().map(piece).collect()
}

/// Where a segment is divided beside a bushing.
fn marks_beside_bushing(task: &Task, bar: Length, segment: &Segment, marks: &mut Vec<Length>) {
    let asks = cutting::spindle_speed(task.view.part.material.turning_speed.typical, bar);
    let whips =
        task.whip_speed.is_some_and(|n| asks.is_ok_and(|asks| asks.min(cutting_data::cap(task, Side::Main)) > n));
    if whips {
        marks.push(slender::whips_from(task));
    }
    for (id, feature) in task.view.part.features.iter().enumerate() {
        if !lies_on_surface(&feature.kind) || id == segment.feature {
            continue;
        }
        let end = task.zone_from_first(task.view.part.stretch(&feature.kind)).end;
        marks.push(match &feature.kind {
            Kind::Hole(h) => end + h.dia.nominal,
            Kind::Thread(t) => run_out::turned_to(task, id, t),
            _ => end,
        });
    }
}

/// Whether a feature is cut into a turned surface from outside.
pub(crate) fn lies_on_surface(kind: &Kind) -> bool {
    match kind {
        Kind::Thread(t) => !t.internal,
        Kind::Groove(g) => g.side == GrooveSide::External,
        Kind::Undercut(u) => !u.inside,
        Kind::Hole(h) => h.circle.is_none(),
        Kind::Slot(s) => s.end.is_none(),
        Kind::Keyway(_) | Kind::Flat(_) | Kind::Knurl(_) | Kind::Polygon(_) | Kind::Contour(_) => true,
        _ => false,
    }
}

/// How fast a cross slide may be driven to and fro where the machine does not say (common practice, no source).
const CROSS_SLIDE_M_S2: f64 = 4.0;

/// An eccentric is turned with the cross slide in step with the spindle: the slide's acceleration caps the speed at
/// `sqrt(a / e)`, e the eccentricity.
fn eccentric(
    task: &Task,
    blank: &Blank,
    work: &mut WorkList,
    segment: &Segment,
    offset: Length,
) -> Result<(), FormulaError> {
    let bar = blank_dia(blank, task.view);
    let a = task.machine.rapid_acceleration.map_or(CROSS_SLIDE_M_S2, |a| a.value.to_m_per_s2());
    let e_m = offset.abs().to_mm().max(0.001) / 1000.0;
    let in_step = RotationalSpeed::rpm(libm::sqrt(a / e_m) * 60.0 / std::f64::consts::TAU);
    let feed = cutting_data::finish_feed(task, segment.mean(), finish_of(&task.view.feature(segment.feature).kind));
    let to = segment.smallest() - offset.abs() * 2.0;
    let cut = cutting_data::turning_cut(task, Side::Main, bar, to.max(Length::mm(0.1)), feed, Length::mm(1.5))?;
    let tool = work.tool(turning_tool(ToolKind::BackTurningTool, Side::Main, Length::ZERO, Some(segment.feature)));
    let mut op = operation(Work::TurnEccentric, Some(segment.feature), Side::Main, tool, &cut, bar);
    (op.speed, op.wanted) = (op.speed.min(in_step), op.wanted.min(in_step));
    op.zone = Some(segment.zone);
    op.cutting = time::turning(segment.zone.length() + APPROACH, feed, op.speed)? * f64::from(cut.passes);
    work.operations.push(op);
    Ok(())
}

/// A thread that ends at the cut-off runs into the full bar behind it: the cut-off blade makes room first, so wide as the
/// thread's run-out and to its root.
fn run_out_grooves(task: &Task, blank: &Blank, work: &mut WorkList) -> Result<(), FormulaError> {
    let bar = blank_dia(blank, task.view);
    for (id, feature) in task.view.part.features.iter().enumerate() {
        let Kind::Thread(t) = &feature.kind else { continue };
        let zone = task.zone_from_first(t.zone);
        let at_end = zone.end >= task.view.length - t.pitch;
        if t.internal || !at_end || bar <= t.major + Length::um(1.0) {
            continue;
        }
        let blade = blank.cut_off_width;
        let feed = Feed::mm_per_rev((0.004 * bar.to_mm()).clamp(0.02, 0.08));
        let cut = cutting_data::whole_cut(task, Side::Main, bar, t.minor, blade, feed)?;
        let tool = work.tool(turning_tool(ToolKind::CutOffTool, Side::Main, blade, None));
        let plunges = libm::ceil(t.pitch * task.thresholds.thread_run_out / blade - 1e-9).max(1.0);
        let mut op = operation(Work::Groove, Some(id), Side::Main, tool, &cut, bar);
        op.cutting = time::facing(bar, t.minor, cut.feed, cut.speed, cut.cap)? * plunges;
        op.passes = plunges as u32;
        op.zone = Some(task.zone_from_first(Zone { start: zone.end, end: zone.end }));
        work.operations.push(op);
    }
    Ok(())
}

/// An operation of a turning tool on the main spindle.
fn operation(work: Work, feature: Option<FeatureId>, side: Side, tool: usize, cut: &Cut, dia: Length) -> Operation {
    let wanted = cutting::spindle_speed(cut.speed, dia.max(Length::mm(0.05))).unwrap_or(cut.cap);
    Operation {
        tool,
        wanted,
        depth: cut.depth,
        passes: cut.passes,
        moving: cycle::movements().approach * f64::from(cut.passes.saturating_sub(1)),
        power: cut.power,
        torque: cut.torque,
        ..Operation::new(work, feature, side, wanted.min(cut.cap), cut.feed)
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

/// Whether a turned surface asks for more than an edge holds that roughs as well: closer than IT 9, or finer than Ra 1.6 um
/// (common practice, no source).
pub(crate) fn is_fine(task: &Task, id: FeatureId) -> bool {
    let kind = &task.view.feature(id).kind;
    let tight = match kind {
        Kind::Turn(t) => {
            let held = crate::tables::iso286::grade_tolerance(9, t.dia.nominal);
            t.dia.tolerance().zip(held.ok()).is_some_and(|(t, held)| t < held - Length::um(0.01))
        }
        _ => false,
    };
    tight || finish_of(kind).is_some_and(|ra| ra < Length::um(1.6) - Length::um(0.01))
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
    // A surface that is ground afterwards takes its finish there.
    let ra = finish_of(kind).filter(|_| !task.view.part.is_ground(segment.feature));
    let dia = segment.mean();
    let feed = cutting_data::finish_feed(task, dia, ra);
    let finishing = if falls_back { ToolKind::BackTurningTool } else { ToolKind::FinishingTool };
    let length = segment.zone.length() + APPROACH;
    let feature = Some(segment.feature);
    if task.guided() {
        // The whole depth in one pass beside the bushing: a turned diameter has no support for a second one.
        let depth = (bar - segment.smallest()) / 2.0;
        let cut = cutting_data::whole_cut(task, Side::Main, bar, segment.smallest(), depth, feed)?;
        let cut = held_quiet(task, segment, cut);
        let tool = work.tool(turning_tool(finishing, Side::Main, Length::ZERO, feature));
        let mut op = operation(Work::Turn, feature, Side::Main, tool, &cut, bar);
        op.zone = Some(segment.zone);
        op.cutting = passes_off(bar, length, &cut)?;
        work.operations.push(op);
        return Ok(());
    }
    // A supported piece is turned in stretches.
    let zone = support::of(task).map(|_| segment.zone);
    let allowance = Length::mm(task.thresholds.finish_depth_mm);
    let rough_to = segment.smallest() + allowance * 2.0;
    let deepest = (bar * ROUGHING_DEPTH).max(Length::mm(0.3)).min(Length::mm(2.5));
    if bar > rough_to {
        let rough = cutting_data::rough_feed(task, dia);
        let deepest = deepest.min(stiff_depth(task, blank, segment, rough)?);
        let cut = cutting_data::turning_cut(task, Side::Main, bar, rough_to, rough, deepest)?;
        let cut = held_quiet(task, segment, cutting_data::at_constant_power(task, Side::Main, bar, cut)?);
        let roughing = if falls_back { ToolKind::BackTurningTool } else { ToolKind::TurningTool };
        let tool = work.tool(turning_tool(roughing, Side::Main, Length::ZERO, feature));
        let mut op = operation(Work::RoughTurn, feature, Side::Main, tool, &cut, bar);
        op.zone = zone;
        op.cutting = passes_off(bar, length, &cut)?;
        work.operations.push(op);
    }
    let cut = cutting_data::turning_cut(task, Side::Main, rough_to, segment.smallest(), feed, allowance * 2.0)?;
    let cut = held_quiet(task, segment, cut);
    let tool = work.tool(turning_tool(finishing, Side::Main, Length::ZERO, feature));
    let skin = |finished: Length| finished.max(Length::mm(0.05)) + allowance * 2.0;
    let mut op = operation(Work::FinishTurn, feature, Side::Main, tool, &cut, skin(dia));
    op.zone = zone;
    let (start, end) = (skin(segment.start_dia), skin(segment.end_dia));
    op.cutting = time::turning_at_surface_speed(start, end, length, cut.feed, cut.speed, cut.cap)?;
    work.operations.push(op);
    Ok(())
}

/// A cut no faster than a slender end stands, where the last of it is turned.
fn held_quiet(task: &Task, segment: &Segment, cut: Cut) -> Cut {
    let whip = task.whip_speed.filter(|_| slender::is_turned_last(task, segment.zone));
    Cut { cap: whip.map_or(cut.cap, |n| n.min(cut.cap)), ..cut }
}

/// How far a roughing cut may bend the piece: the finishing cut evens it out (common practice, no source).
const ROUGHING_BEND: Length = Length::mm(0.3);
/// The deepest roughing pass over the bar's diameter (common practice, no source).
const ROUGHING_DEPTH: f64 = 0.15;

/// The depth of a roughing pass that a piece out of the collet stands: its passive force bends the free stretch, at the roughed
/// diameter along the segment and still as thick as the bar behind it, no further than [`ROUGHING_BEND`]; at least 0.3 mm. A far
/// end that the sub-spindle or a centre holds bends a sixteenth as much.
fn stiff_depth(task: &Task, blank: &Blank, segment: &Segment, feed: Feed) -> Result<Length, FormulaError> {
    let zone = task.zone_from_first(segment.zone);
    let (out, held) = support::stands_out(task, segment.zone);
    let behind = (out.end - zone.end).max(Length::ZERO) + blank.cut_off_width + Length::mm(task.thresholds.nose_gap_mm);
    let reach = behind + zone.length();
    let dia = segment.smallest().max(Length::mm(0.2));
    let modulus = task.view.part.material.modulus_gpa;
    let bar = beam::BeamSegment { length: behind, dia: blank.size.max(dia), bore: blank.bore };
    let free = [bar, beam::BeamSegment::solid(zone.length(), dia)];
    let per_newton = beam::tip_deflection(&free, modulus, Force::n(1.0), reach)?;
    let held = if held { 1.0 / 16.0 } else { 1.0 };
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

/// The passes that take a cylinder down, each at the cutting speed of the skin that it takes off: there the edge wears
/// first, as the corner of a drill does (ISO 3002-1 has the cutting speed at the point of the edge that is fastest, from memory).
fn passes_off(from: Length, length: Length, cut: &Cut) -> Result<Time, FormulaError> {
    let mut all = Time::ZERO;
    for pass in 0..cut.passes {
        let skin = from - cut.depth * 2.0 * f64::from(pass);
        all += time::turning_at_surface_speed(skin, skin, length, cut.feed, cut.speed, cut.cap)?;
    }
    Ok(all)
}

/// The narrowest external groove of the part: one blade of that width, at most 3 mm, cuts them all.
fn blade_width(task: &Task) -> Length {
    let widths = task.view.part.features.iter().filter_map(|f| match &f.kind {
        Kind::Groove(g) if g.side == GrooveSide::External => Some(g.zone.length()),
        Kind::Undercut(u) if !u.inside => Some(u.zone.length()),
        _ => None,
    });
    let narrowest = widths.min_by(Length::total_cmp).unwrap_or(Length::mm(3.0));
    BLADES_MM.iter().map(|w| Length::mm(*w)).rfind(|w| *w <= narrowest).unwrap_or(narrowest)
}

/// Widths of grooving blades that are commonly kept (common practice, no source).
const BLADES_MM: [f64; 9] = [0.4, 0.5, 0.8, 1.0, 1.2, 1.5, 2.0, 2.5, 3.0];

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
    let cut = cutting_data::whole_cut(task, Side::Main, from, to, blade, feed)?;
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
            Kind::Chamfer(c) if !c.inside => chamfer(task, work, id, c)?,
            Kind::Knurl(k) => {
                let dia = task.view.dia_at(k.zone.start);
                let feed = Feed::mm_per_rev(0.1);
                let cut = cutting_data::turning_cut(task, Side::Main, dia, dia - k.pitch * 0.5, feed, k.pitch)?;
                let tool = work.tool(turning_tool(ToolKind::KnurlingTool, Side::Main, k.pitch, Some(id)));
                let mut op = operation(Work::Knurl, Some(id), Side::Main, tool, &cut, dia);
                // A knurl is rolled at about a third of the turning speed, at most 40 m/min (common practice, no source).
                let speed = (cut.speed / 3.0).min(Velocity::m_per_min(40.0));
                op.speed = cutting::spindle_speed(speed, dia)?.min(op.speed);
                op.wanted = op.wanted.min(cutting::spindle_speed(speed, dia)?);
                op.cutting = time::turning_at_surface_speed(dia, dia, k.zone.length(), feed, speed, cut.cap)?;
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

/// An outer chamfer. One that looks back towards the spindle is cut by a back-turning tool once the stretch behind it is
/// there; one at the cut-off side at the sub-spindle, unless a thread begins in it or the piece stands too far out there.
fn chamfer(task: &Task, work: &mut WorkList, id: FeatureId, c: &Chamfer) -> Result<(), FormulaError> {
    let dia = task.view.dia_at(c.at);
    let at = task.from_first(c.at);
    let far_face = at >= task.view.length - Length::um(1.0);
    let threaded = task.view.part.features.iter().any(|f| match &f.kind {
        Kind::Thread(t) if !t.internal => (task.zone_from_first(t.zone).end - at).abs() <= t.pitch,
        _ => false,
    });
    let side = if far_face && !threaded && reaches_cut_off_side(task) { Side::Sub } else { Side::Main };
    let beside = |step: Length| {
        let z = task.from_first((at + step).max(Length::ZERO).min(task.view.length));
        task.view.contour.iter().find(|s| z >= s.zone.start && z <= s.zone.end).map_or(Length::ZERO, |s| s.dia_at(z))
    };
    let looks_back = side == Side::Main && (far_face || beside(Length::um(20.0)) < beside(-Length::um(20.0)));
    let kind = if looks_back { ToolKind::BackTurningTool } else { ToolKind::FinishingTool };
    let feed = cutting_data::finish_feed(task, dia, None);
    let cut = cutting_data::turning_cut(task, side, dia, dia - c.width * 2.0, feed, c.width)?;
    let angle = Angle::deg(if side == Side::Sub { 180.0 } else { 90.0 });
    let tool = work.tool(Tool { angle, ..turning_tool(kind, side, Length::ZERO, Some(id)) });
    let mut op = operation(Work::Chamfer, Some(id), side, tool, &cut, dia);
    let slant = c.width / libm::cos(c.angle.to_deg().to_radians()).max(0.1);
    op.cutting = time::turning_at_surface_speed(dia, dia, slant, feed, cut.speed, cut.cap)?;
    if looks_back && !far_face {
        op.zone = Some(task.zone_from_first(Zone { start: at, end: at + Length::um(10.0) }));
    }
    work.operations.push(op);
    Ok(())
}

/// Whether tools at the sub-spindle work on the cut-off side with the piece held well: it stands out no further than three
/// diameters of the grip (common practice, no source).
fn reaches_cut_off_side(task: &Task) -> bool {
    task.machine.sub.is_some()
        && hand_over::stands_out_from(task).is_some_and(|z| {
            let out = task.view.length - z;
            out <= task.view.dia_at(task.from_first(z)) * 3.0 || out <= Length::mm(15.0)
        })
}

/// Whether the cut-off side is faced at the sub-spindle: where the drawing asks for it, where a drill would stand on what the
/// cut-off leaves, or where every edge is to be broken.
fn faces_cut_off_side(task: &Task) -> bool {
    let end = task.first.other();
    let edges = task.view.part.features.iter().any(|f| matches!(&f.kind, Kind::Edges(e) if e.of.is_empty()));
    let drilled = task.view.part.features.iter().any(|f| match &f.kind {
        Kind::Bore(b) => !b.through && b.from == end,
        Kind::Socket(s) => s.from == end,
        Kind::Thread(t) => t.internal && t.from == end,
        Kind::Hole(h) => h.circle.is_some() && h.opens == end,
        _ => false,
    });
    task.machine.sub.is_some() && (needs_back_facing(task) || ((edges || drilled) && reaches_cut_off_side(task)))
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
    let bore = bored_from_first(task, end_z).max(blank.bore);
    let feed = Feed::mm_per_rev((0.004 * from.to_mm()).clamp(0.02, 0.08));
    let cut = cutting_data::whole_cut(task, Side::Main, from, bore, blank.cut_off_width, feed)?;
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
    if faces_cut_off_side(task) {
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

/// The hole that stands at a place before the cut-off: what is made at the main spindle and reaches it.
fn bored_from_first(task: &Task, z: Length) -> Length {
    let bores = task.view.part.features.iter().enumerate().filter_map(|(id, f)| match &f.kind {
        Kind::Bore(b) => {
            let making = bores::making(task, id, b);
            let there = making.side == Side::Main && z >= making.zone.start && z <= making.zone.end;
            there.then_some(b.dia.nominal)
        }
        _ => None,
    });
    bores.fold(Length::ZERO, Length::max)
}
