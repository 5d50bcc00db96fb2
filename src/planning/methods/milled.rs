//! Flats, hexagons, slots, keyways, sculpted surfaces and engraving, by live tools.

use super::super::operation::{Gap, GapReason, Operation, Shank, Tool, ToolKind, Work, WorkList};
use super::super::{Task, cycle, places};
use super::cross::side_for;
use super::{Way, Ways, axial_angle, cutting_data, side_of_end, turning_tool};
use crate::formulas::FormulaError;
use crate::model::machine::{AddedMethod, Side};
use crate::model::part::{Contour, End, FeatureId, Keyway, Kind, Slot, Zone};
use crate::quantity::{Angle, Feed, Length, Power, Time, Torque};

/// What a live mill is to do.
struct Milling {
    work: Work,
    kind: ToolKind,
    dia: Length,
    /// Along the work, for each of `count`.
    path: Length,
    depth: Length,
    count: u32,
    zone: Zone,
    /// Into an end face, along the axis.
    end: Option<Side>,
    /// How far the mill must leave the plane of the axis.
    off_axis: Option<Length>,
}

/// Adds all milled features.
///
/// # Errors
/// [`FormulaError`] where a figure lies outside a formula's range.
pub fn plan(task: &Task, ways: &mut Ways) -> Result<(), FormulaError> {
    for (id, feature) in task.view.part.features.iter().enumerate() {
        match &feature.kind {
            Kind::Polygon(p) if !p.as_stock => {
                let round = task.view.dia_at((p.zone.start + p.zone.end) / 2.0);
                flats(task, ways, id, p.zone, (round - p.across.nominal) / 2.0, p.sides, true)?;
            }
            Kind::Flat(f) => {
                let round = task.view.dia_at((f.zone.start + f.zone.end) / 2.0);
                flats(task, ways, id, f.zone, round / 2.0 - f.from_axis.nominal, f.count, f.count % 2 == 0)?;
            }
            Kind::Slot(s) => {
                let milling = slot(task, s);
                mill(task, &mut ways.base, id, &milling)?;
            }
            Kind::Keyway(k) => keyway(task, &mut ways.base, id, k)?,
            Kind::Contour(c) => contour(task, ways, id, c)?,
            Kind::Engrave(e) => {
                let strokes = e.text.chars().count().max(1) as f64 * 4.0;
                let milling = Milling {
                    work: Work::Engrave,
                    kind: ToolKind::EngravingTool,
                    dia: Length::mm(0.3),
                    path: e.height * strokes,
                    depth: e.depth,
                    count: 1,
                    zone: Zone { start: e.at, end: e.at },
                    end: None,
                    off_axis: None,
                };
                mill(task, &mut ways.base, id, &milling)?;
            }
            _ => {}
        }
    }
    Ok(())
}

/// A keyway: roughed with a cutter a fifth narrower, then both walls finished at full depth, so that its class is held.
fn keyway(task: &Task, work: &mut WorkList, id: FeatureId, k: &Keyway) -> Result<(), FormulaError> {
    let rough = Milling {
        work: Work::MillKeyway,
        kind: ToolKind::EndMill,
        dia: mill_size(k.width.nominal * 0.8),
        path: k.zone.length(),
        depth: k.depth,
        count: 1,
        zone: k.zone,
        end: None,
        off_axis: None,
    };
    mill(task, work, id, &rough)?;
    let Some(at) = work.operations.iter().rposition(|op| op.feature == Some(id)) else { return Ok(()) };
    let rough = work.operations[at].clone();
    let walls = (k.zone.length() + k.width.nominal) * 2.0;
    let finish = Operation {
        depth: Length::ZERO,
        passes: 1,
        cutting: Time::minutes(walls.to_mm() / (rough.feed.to_mm_per_rev() * 0.6 * rough.speed.to_rpm())),
        feed: rough.feed * 0.6,
        ..rough
    };
    work.operations.push(finish);
    Ok(())
}

/// End mills that are commonly kept (common practice, no source).
const KEPT_MM: [f64; 15] = [0.3, 0.4, 0.5, 0.6, 0.8, 1.0, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0];

/// The next end mill that is commonly kept, at most as large.
fn mill_size(dia: Length) -> Length {
    KEPT_MM.iter().map(|d| Length::mm(*d)).rfind(|d| *d <= dia + Length::um(1.0)).unwrap_or(dia)
}

/// The smallest end mill that is commonly kept and covers a width, from 3 to 10 mm, and no larger than a live holder takes
/// that reaches a flat.
fn covering_mill(task: &Task, side: Side, id: FeatureId, width: Length) -> Length {
    let covering = KEPT_MM.iter().map(|d| Length::mm(*d)).find(|d| *d >= width.max(Length::mm(3.0)) - Length::um(1.0));
    let dia = covering.unwrap_or(Length::mm(KEPT_MM[KEPT_MM.len() - 1]));
    let live = Tool { live: true, ..turning_tool(ToolKind::EndMill, side, dia, Some(id)) };
    places::largest_holder(task, &live).map_or(dia, |held| if held < dia { mill_size(held) } else { dia })
}

/// A slitting saw and its teeth (common practice, no source).
pub(super) const SAW: Length = Length::mm(16.0);
pub(super) const SAW_TEETH: f64 = 20.0;
/// The arbor that carries such a saw, which is what its holder must take (common practice, no source).
pub(super) const SAW_ARBOR: Length = Length::mm(4.0);

/// A slot: one narrower than 0.8 mm is sawn by a disc across the axis.
fn slot(task: &Task, s: &Slot) -> Milling {
    let dia = s.width.nominal;
    let sawn = dia < Length::mm(0.8);
    Milling {
        work: Work::MillSlot,
        kind: if sawn { ToolKind::SlotMill } else { ToolKind::EndMill },
        dia: if sawn { SAW } else { dia },
        path: if sawn { s.zone.length() + Length::mm(8.0) } else { s.zone.length() },
        depth: s.depth,
        count: s.count,
        zone: s.zone,
        end: s.end.map(|e| side_of_end(task, e)),
        off_axis: None,
    }
}

/// Flats one after the other with an end mill, opposite ones in pairs, or turned with a polygon head.
fn flats(
    task: &Task,
    ways: &mut Ways,
    id: FeatureId,
    zone: Zone,
    depth: Length,
    count: u32,
    in_pairs: bool,
) -> Result<(), FormulaError> {
    let round = task.view.dia_at((zone.start + zone.end) / 2.0);
    // The mill covers the flat's width or its length, whichever is less, and goes along the other; a smaller one, for which
    // alone there is a holder, in rows side by side.
    let from_axis_mm = (round / 2.0 - depth).to_mm().max(0.0);
    let half_mm2 = (round.to_mm() / 2.0) * (round.to_mm() / 2.0) - from_axis_mm * from_axis_mm;
    let wide = Length::mm(2.0 * libm::sqrt(half_mm2.max(0.0)));
    let across = wide.min(zone.length());
    let (side, _) = side_for(task, Angle::deg(90.0), task.view.feature(id).made_from, task.zone_from_first(zone).start);
    let dia = covering_mill(task, side, id, across);
    let rows = libm::ceil(across / dia - 1e-9).max(1.0);
    let one_by_one = Milling {
        work: Work::MillFlats,
        kind: ToolKind::EndMill,
        dia,
        path: wide.max(zone.length()) * rows,
        depth,
        count,
        zone,
        end: None,
        // A flat wider than the mill is fed across, off the plane of the axis.
        off_axis: (wide > dia + Length::um(1.0)).then_some(wide / 2.0),
    };
    let mut steps = WorkList::default();
    mill(task, &mut steps, id, &one_by_one)?;
    let mut offers = vec![Way::usual(Work::MillFlats, steps)];
    // Two discs on an arbor, at full depth in one pass across the work.
    let disc = (depth * 2.0 + Length::mm(24.0)).max(Length::mm(30.0));
    if in_pairs && count >= 2 && runs_out_free(task, zone, side, (disc, wide), round - depth * 2.0) {
        let mut steps = WorkList::default();
        let pair = Milling {
            work: Work::StraddleMill,
            kind: ToolKind::StraddleMill,
            dia: disc,
            path: round,
            depth,
            count: count / 2,
            off_axis: None,
            ..one_by_one
        };
        mill(task, &mut steps, id, &pair)?;
        offers.push(Way::usual(Work::StraddleMill, steps));
    }
    let heads = task.machine.options.iter().enumerate();
    for (attachment, _) in heads.filter(|(_, o)| o.method == Some(AddedMethod::PolygonTurning) && task.available(o) > 0)
    {
        offers.push(polygon_turned(task, id, zone, depth, attachment)?);
    }
    ways.offer(id, offers, Vec::new());
    Ok(())
}

/// Whether discs that plane a flat over its whole chord cut nothing beside it: where they go in they reach
/// `sqrt(c (D - c))` further along the part than where they come to the end of the chord c, and there must be open air or
/// metal no thicker than what they leave between them. Behind the cut-off stands the bar.
fn runs_out_free(task: &Task, zone: Zone, side: Side, (disc, chord): (Length, Length), between: Length) -> bool {
    if chord >= disc {
        return false;
    }
    let run = Length::mm(libm::sqrt(chord.to_mm() * (disc - chord).to_mm()));
    let near = Length::um(1.0);
    let length = task.view.length;
    let bar_at = |end: End| side == Side::Main && end != task.first;
    let inside_bar =
        bar_at(End::Front) && zone.start < run - near || bar_at(End::Back) && zone.end > length - run + near;
    let beside = [Zone { start: zone.start - run, end: zone.start }, Zone { start: zone.end, end: zone.end + run }];
    let hit = task
        .view
        .contour
        .iter()
        .any(|segment| segment.largest() > between + near && beside.iter().any(|z| segment.zone.overlap(z) > near));
    !inside_bar && !hit
}

/// A ring of cutters that turns in step with the spindle planes all flats in one pass, slightly bulged (common practice:
/// 0.03 mm a revolution of the work at 1,000 rpm).
fn polygon_turned(
    task: &Task,
    id: FeatureId,
    zone: Zone,
    depth: Length,
    attachment: usize,
) -> Result<Way, FormulaError> {
    let mut steps = WorkList::default();
    let n = crate::quantity::RotationalSpeed::rpm(1000.0).min(cutting_data::cap(task, Side::Main));
    let feed = Feed::mm_per_rev(0.03);
    let tool = Tool {
        live: true,
        shank: Shank::Round(Length::mm(3.0)),
        attachment: Some(attachment),
        ..turning_tool(ToolKind::PolygonHead, Side::Main, zone.length(), Some(id))
    };
    let operation = Operation {
        depth,
        cutting: crate::formulas::time::turning(zone.length() + Length::mm(1.0), feed, n)?,
        moving: cycle::movements().orient,
        ..Operation::new(Work::PolygonTurn, Some(id), Side::Main, n, feed)
    };
    steps.step(tool, operation);
    Ok(Way::usual(Work::PolygonTurn, steps))
}

/// Speed, feed a revolution and teeth of a mill.
fn mill_cut(task: &Task, dia: Length) -> Result<(crate::quantity::RotationalSpeed, Feed, f64), FormulaError> {
    let n = cutting_data::milling_speed(task, dia)?;
    let teeth = if dia < Length::mm(3.0) { 2.0 } else { 3.0 };
    Ok((n, Feed::mm_per_rev((0.008 * dia.to_mm()).clamp(0.002, 0.06) * teeth), teeth))
}

fn mill(task: &Task, work: &mut WorkList, id: FeatureId, m: &Milling) -> Result<(), FormulaError> {
    let square = Angle::deg(90.0);
    let nearest = task.zone_from_first(m.zone).start;
    let (side, either_side) = match m.end {
        Some(side) => (side, false),
        None => side_for(task, square, task.view.feature(id).made_from, nearest),
    };
    if super::axial::needs_second_spindle(task, work, id, side) {
        return Ok(());
    }
    let (n, mut feed, mut teeth) = mill_cut(task, m.dia)?;
    if m.kind == ToolKind::StraddleMill {
        // Discs carry a dozen teeth (common practice, no source).
        feed = feed * (12.0 / teeth);
        teeth = 12.0;
    }
    // Half a diameter deep a pass (common practice, no source); discs go to full depth.
    let disc = matches!(m.kind, ToolKind::SlotMill | ToolKind::StraddleMill);
    let passes = if disc { 1.0 } else { libm::ceil(m.depth / (m.dia * 0.5) - 1e-9).clamp(1.0, 60.0) };
    let run_up = if disc { m.dia * 0.25 } else { m.dia };
    let each = Time::minutes((m.path + run_up).to_mm() / (feed.to_mm_per_rev() * n.to_rpm()));
    let thickness = feed.to_mm_per_rev() / teeth;
    let kc = crate::formulas::cutting::specific_cutting_force(
        cutting_data::cautious_kc11(task),
        task.view.part.material.mc,
        Length::mm(thickness),
    )?;
    let wide = if disc { m.zone.length().min(m.dia) } else { m.dia };
    let removal_mm3_min = wide.to_mm() * (m.depth.to_mm() / passes) * feed.to_mm_per_rev() * n.to_rpm();
    let power = Power::kw(kc * removal_mm3_min / 60e6);
    let torque = Torque::nm(power.to_kw() * 9549.0 / n.to_rpm());
    let axial = m.end.is_some() && m.kind != ToolKind::SlotMill;
    let tool = Tool {
        angle: if axial { axial_angle(side) } else { square },
        live: true,
        shank: Shank::Round(if m.kind == ToolKind::SlotMill {
            SAW_ARBOR
        } else {
            super::round_shank(m.dia.min(Length::mm(10.0)))
        }),
        speed_wanted: Some(n),
        torque,
        off_axis: m.off_axis,
        either_side,
        ..turning_tool(m.kind, side, m.dia, Some(id))
    };
    let operation = Operation {
        depth: m.depth / passes,
        passes: passes as u32,
        count: m.count,
        cutting: each * passes * f64::from(m.count),
        moving: cycle::POSITION * f64::from(m.count.saturating_sub(1)),
        power,
        torque,
        ..Operation::new(m.work, Some(id), side, n, feed)
    };
    work.step(tool, operation);
    Ok(())
}

/// A sculpted surface: roughed by its volume with the same ball mill or with an end mill of its own, finished in rows whose
/// step-over leaves the wanted scallop, 2 sqrt(2 R s) for a ball of radius R (geometry).
fn contour(task: &Task, ways: &mut Ways, id: FeatureId, c: &Contour) -> Result<(), FormulaError> {
    let reachable = task.machine.carriers.iter().any(|c| c.contouring && c.live_places > 0);
    if !reachable {
        ways.base.gaps.push(Gap { feature: id, reason: GapReason::Contouring { axes: c.axes } });
        return Ok(());
    }
    let ball = Length::mm(3.0);
    let mut offers = Vec::new();
    let rougher = [
        ("rough and finish with one ball mill", (ToolKind::BallMill, ball)),
        ("rough with an end mill, finish with a ball mill", (ToolKind::EndMill, Length::mm(6.0))),
    ];
    for (words, rougher) in rougher {
        let mut steps = WorkList::default();
        rough_by_volume(task, &mut steps, id, c, rougher)?;
        let n = cutting_data::milling_speed(task, ball)?;
        let feed = Feed::mm_per_rev(0.05);
        let step_over = 2.0 * libm::sqrt(2.0 * ball.to_mm() / 2.0 * c.scallop.to_mm().max(0.0005));
        let path_mm = c.area.to_mm2() / step_over;
        let operation = Operation {
            depth: Length::mm(step_over),
            cutting: Time::minutes(path_mm / (feed.to_mm_per_rev() * n.to_rpm())),
            ..Operation::new(Work::MillContour, Some(id), Side::Main, n, feed)
        };
        steps.step(contouring_tool(task, ToolKind::BallMill, ball, id)?, operation);
        offers.push(Way { words, ..Way::usual(Work::MillContour, steps) });
    }
    ways.offer(id, offers, Vec::new());
    Ok(())
}

/// Half the surface times its deepest cut is taken off, in layers half the cutter deep and half of it wide (common
/// practice, no source).
fn rough_by_volume(
    task: &Task,
    steps: &mut WorkList,
    id: FeatureId,
    c: &Contour,
    (kind, dia): (ToolKind, Length),
) -> Result<(), FormulaError> {
    let volume_mm3 = c.area.to_mm2() * c.depth.to_mm() / 2.0;
    if volume_mm3 <= 0.0 {
        return Ok(());
    }
    let (n, feed, _) = mill_cut(task, dia)?;
    let half = dia.to_mm() / 2.0;
    let layers = libm::ceil(c.depth.to_mm() / half - 1e-9).max(1.0);
    let deep = c.depth.to_mm() / layers;
    let operation = Operation {
        depth: Length::mm(deep),
        passes: layers as u32,
        cutting: Time::minutes(volume_mm3 / (deep * half * feed.to_mm_per_rev() * n.to_rpm())),
        ..Operation::new(Work::RoughContour, Some(id), Side::Main, n, feed)
    };
    steps.step(contouring_tool(task, kind, dia, id)?, operation);
    Ok(())
}

fn contouring_tool(task: &Task, kind: ToolKind, dia: Length, id: FeatureId) -> Result<Tool, FormulaError> {
    Ok(Tool {
        live: true,
        shank: Shank::Round(dia),
        contouring: true,
        off_axis: Some(dia / 2.0),
        speed_wanted: Some(cutting_data::milling_speed(task, dia)?),
        ..turning_tool(kind, Side::Main, dia, Some(id))
    })
}
