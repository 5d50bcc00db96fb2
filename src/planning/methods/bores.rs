//! Bores: what is left to drill where bores of one axis overlap, the drill, and the finishing after it.

use super::super::Task;
use super::super::blank::Blank;
use super::super::operation::{Gap, GapReason, Operation, ToolKind, Work, WorkList};
use super::super::{places, support};
use super::axial::{self, APPROACH, DEEP_FROM, DEEPEST, POINT_ANGLE, drill_hole, needs_second_spindle, push};
use super::bars::{self, BAR_SHARE, Boring, LONGEST_BORING};
use super::{Way, Ways, axial_tool, cutting_data, deep, round_shank, side_of_end};
use crate::formulas::{FormulaError, drilling, time};
use crate::model::machine::Side;
use crate::model::part::{Bore, Demand, DemandKind, End, FeatureId, Kind, Zone};
use crate::quantity::{Feed, Length, RotationalSpeed, Time};

/// The least bore that a boring bar enters (common practice: a bar of 0.5 mm in a bore of 0.6 mm).
pub(super) const LEAST_BORING: Length = Length::mm(0.6);
/// The largest bore that is reamed with a tool of its own (common practice, no source).
const LARGEST_REAMER: Length = Length::mm(20.0);
/// The share of a bore from which a narrower one on its axis serves as its pilot; a narrower one yet would only be drilled
/// to be drilled away (common practice, no source).
const PILOT_FROM: f64 = 0.5;
/// Diameters of its mouth that are bored for a reamer to start true (common practice, no source).
const TRUED: f64 = 1.5;
/// The share of a bore to which a drill opens it; with less to cut it grabs and chatters (common practice, no source).
const OPENED_FROM: f64 = 0.85;

/// How a bore comes about beside the others on its axis.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Making {
    /// The end that it is made from.
    pub end: End,
    pub side: Side,
    /// The stretch along the drawing's z that is left to it: not what a wider bore takes away.
    pub zone: Zone,
    /// The diameter of a narrower bore that is there before it; nought in the solid.
    pub pilot: Length,
}

/// What is left of a bore to make. A narrower bore of at least half the diameter is drilled first and is the pilot of the
/// wider; one narrower still is drilled only where the wider one is not.
pub(crate) fn making(task: &Task, id: FeatureId, b: &Bore) -> Making {
    let end = end_of(task, id, b);
    let side = side_of_end(task, end);
    let near = Length::um(1.0);
    let mut making = Making { end, side, zone: b.zone, pilot: Length::ZERO };
    for (other, feature) in task.view.part.features.iter().enumerate() {
        let Kind::Bore(o) = &feature.kind else { continue };
        if other == id || o.zone.overlap(&b.zone) <= near {
            continue;
        }
        let other_side = side_of_end(task, end_of(task, other, o));
        let (dia, other_dia) = (b.dia.nominal, o.dia.nominal);
        if other_dia > dia + near {
            let pilots = dia >= other_dia * PILOT_FROM;
            let spared = match (other_side, side) {
                // The wider one is there.
                (Side::Main, Side::Sub) => true,
                (Side::Sub, Side::Main) => !pilots,
                _ => !pilots && enters(dia, other_dia),
            };
            if spared && o.zone.start <= making.zone.start + near {
                making.zone.start = o.zone.end.min(making.zone.end);
            } else if spared && o.zone.end >= making.zone.end - near {
                making.zone.end = o.zone.start.max(making.zone.start);
            }
        } else if other_dia < dia - near && other_dia >= dia * PILOT_FROM {
            let covers = o.zone.start <= b.zone.start + near && o.zone.end >= b.zone.end - near;
            let before = other_side == side || other_side == Side::Main;
            if covers && before {
                making.pilot = making.pilot.max(other_dia);
            }
        }
    }
    making
}

/// Whether the shank of a drill follows it into a wider bore, with half a millimetre of air (common practice, no source).
fn enters(drill: Length, bore: Length) -> bool {
    round_shank(drill) + Length::mm(0.5) <= bore
}

/// The end a bore is made from: where it is pinned or blind, that end; a through bore from the end that is made first, but
/// from the other where its drill could not follow it into a wider bore.
fn end_of(task: &Task, id: FeatureId, b: &Bore) -> End {
    let made_from = |f: FeatureId| task.view.feature(f).made_from;
    if let Some(end) = made_from(id) {
        return end;
    }
    if !b.through {
        return b.from;
    }
    let in_the_way = task.view.part.features.iter().enumerate().any(|(other, feature)| match &feature.kind {
        Kind::Bore(o) if other != id && !o.through && o.dia.nominal > b.dia.nominal => {
            let from_first = made_from(other).unwrap_or(o.from) == task.first;
            from_first && b.dia.nominal < o.dia.nominal * PILOT_FROM && !enters(b.dia.nominal, o.dia.nominal)
        }
        _ => false,
    });
    if in_the_way && task.machine.sub.is_some() { task.first.other() } else { task.first }
}

/// The drilled length: out of a wider bore or into one, or below the face. A through bore also crosses the cut-off, and a
/// drill that comes out pushes its point through.
fn drilled_length(blank: &Blank, b: &Bore, making: &Making) -> Length {
    let near = Length::um(1.0);
    let point = drilling::point_length(b.dia.nominal, POINT_ANGLE);
    let length = making.zone.length();
    let into_wider = match making.end {
        End::Front => making.zone.end < b.zone.end - near,
        End::Back => making.zone.start > b.zone.start + near,
    };
    if into_wider {
        return length + point;
    }
    if b.through {
        let cut_off = if making.side == Side::Main { blank.cut_off_width } else { Length::ZERO };
        return length + cut_off + point;
    }
    if b.flat_bottom {
        // The cone stays short of the bottom, which is faced.
        return (length - point).max(b.dia.nominal * 0.2);
    }
    length
}

/// Whether a bore is finished after the drill: tighter than the drill holds (IT 11; a piloted deep-hole drill IT 9), or
/// finer than it leaves (Ra 1.6 um; a deep-hole drill 0.8 um). Common practice, no source.
pub(super) fn needs_finishing(b: &Bore, drilled: Length) -> bool {
    let deep = drilled / b.dia.nominal >= DEEP_FROM;
    let (grade, finest) = if deep { (9, Length::um(0.8)) } else { (11, Length::um(1.6)) };
    let held = crate::tables::iso286::grade_tolerance(grade, b.dia.nominal).unwrap_or(Length::mm(0.1));
    let tight = b.dia.tolerance().is_some_and(|t| t < held - Length::um(0.01));
    let fine = b.finish.is_some_and(|f| if deep { f.ra < finest } else { f.ra < finest - Length::um(0.01) });
    tight || fine || b.flat_bottom
}

/// Adds the work of a bore.
///
/// # Errors
/// [`FormulaError`] where a figure lies outside a formula's range.
pub(super) fn plan(
    task: &Task,
    blank: &Blank,
    ways: &mut Ways,
    id: FeatureId,
    b: &Bore,
    centred: &mut [bool; 2],
) -> Result<(), FormulaError> {
    let making = making(task, id, b);
    let side = making.side;
    if needs_second_spindle(task, &mut ways.base, id, side) {
        return Ok(());
    }
    let dia = b.dia.nominal;
    let finishing = needs_finishing(b, making.zone.length());
    if making.pilot > Length::ZERO {
        let mut offers = vec![Way::usual(Work::Bore, bored(task, id, b, &making, making.pilot)?)];
        if !finishing && making.pilot <= dia * OPENED_FROM {
            offers.push(Way::usual(Work::Drill, opened(task, id, b, &making)?));
        }
        ways.offer(id, offers, Vec::new());
        return Ok(());
    }
    if making.zone.length() <= Length::um(1.0) || drilled_before(task, id, b, making.end) {
        return if finishing { offer_finishing(task, ways, id, b, &making) } else { Ok(()) };
    }
    let wanted = if finishing { drill_size(dia - finishing_allowance(dia)) } else { dia };
    let drill = held_drill(task, id, side, wanted)?;
    let depth = drilled_length(blank, b, &making);
    let ratio = depth / drill;
    if ratio > DEEPEST {
        ways.base.gaps.push(Gap { feature: id, reason: GapReason::TooDeep { ratio, limit: DEEPEST } });
        return Ok(());
    }
    // Out of a wider bore the cone at its bottom centres.
    let at_face = match making.end {
        End::Front => making.zone.start <= Length::um(1.0),
        End::Back => making.zone.end >= task.view.length - Length::um(1.0),
    };
    if ratio >= DEEP_FROM {
        // The pilot drill centres as well.
        centred[side as usize] |= at_face;
        deep::plan(task, ways, id, &making, drill, depth)?;
    } else {
        if at_face {
            axial::centre(task, &mut ways.base, id, side, drill, centred)?;
        }
        let before = ways.base.operations.len();
        drill_hole(task, &mut ways.base, id, side, drill, depth)?;
        ways.base.operations[before..].iter_mut().for_each(|op| op.zone = Some(making.zone));
    }
    if drill < wanted {
        ways.offer(id, vec![Way::usual(Work::Bore, bored(task, id, b, &making, drill)?)], Vec::new());
        return Ok(());
    }
    if finishing { offer_finishing(task, ways, id, b, &making) } else { Ok(()) }
}

/// The drill for a bore: as large as it is wanted; where no holder takes that, the largest that one takes, if a boring bar
/// reaches far enough to bore the rest. What the grip or the spindle would not hold in a larger holder is no better off in a
/// smaller one: the wanted drill tells what is missing.
fn held_drill(task: &Task, id: FeatureId, side: Side, wanted: Length) -> Result<Length, FormulaError> {
    let holder = places::largest_holder(task, &axial_tool(ToolKind::Drill, side, wanted, id));
    let Some(held) = holder.filter(|h| round_shank(wanted) > *h).map(drill_size) else { return Ok(wanted) };
    let bar = bars::bar_for(task, side, id, held);
    let reaches = bars::reach(task, id, side) / bar <= LONGEST_BORING;
    Ok(if reaches && cutting_data::drill_holds(task, wanted, side)? { held } else { wanted })
}

/// Whether a bore of the same diameter that opens to the same end and is as deep is drilled before: it needs no drill.
fn drilled_before(task: &Task, id: FeatureId, b: &Bore, end: End) -> bool {
    task.view.part.features[..id].iter().enumerate().any(|(other, feature)| match &feature.kind {
        Kind::Bore(o) => {
            !b.through
                && end_of(task, other, o) == end
                && o.depth(task.view.length) >= b.depth(task.view.length)
                && (o.dia.nominal - b.dia.nominal).abs() < Length::um(1.0)
        }
        _ => false,
    })
}

/// The next drill that is commonly kept, at most as large: by hundredths below 1 mm, by tenths from 3 mm on.
fn drill_size(dia: Length) -> Length {
    let a_millimetre = match dia.to_mm() {
        d if d < 1.0 => 100.0,
        d if d < 3.0 => 20.0,
        _ => 10.0,
    };
    Length::mm(((dia.to_mm() * a_millimetre + 1e-9).floor() / a_millimetre).max(0.05))
}

/// What is left on the diameter for a reamer or a boring bar: 2 %, at least 0.1 mm, in small holes 6 % and at least 0.02 mm
/// (common practice, no source).
fn finishing_allowance(dia: Length) -> Length {
    (dia * 0.06).max(Length::mm(0.02)).min(Length::mm(0.1)).max(dia * 0.02)
}

/// A drill that opens the bore that is there.
fn opened(task: &Task, id: FeatureId, b: &Bore, making: &Making) -> Result<WorkList, FormulaError> {
    let (dia, side) = (b.dia.nominal, making.side);
    let mut steps = WorkList::default();
    let full = cutting_data::drill_cut(task, dia, Some(cutting_data::cap(task, side)))?;
    let cut = cutting_data::opened_cut(task, dia, side, full)?;
    let tool = steps.tool(axial_tool(ToolKind::Drill, side, dia, id));
    let time = drilling::steady_time(making.zone.length(), dia, POINT_ANGLE, APPROACH, cut.feed, cut.speed)?;
    push(&mut steps, Work::Drill, id, side, tool, &cut, dia, time, Time::ZERO).zone = Some(making.zone);
    Ok(steps)
}

fn offer_finishing(task: &Task, ways: &mut Ways, id: FeatureId, b: &Bore, making: &Making) -> Result<(), FormulaError> {
    let offers = finishing_ways(task, id, b, making)?;
    ways.offer(id, offers, Vec::new());
    Ok(())
}

/// Reaming and boring, where each is possible. A reamer follows the drilled hole, so it mends no runout or position, but
/// wanders less where the mouth was bored true before it; a boring bar reaches only so deep.
fn finishing_ways(task: &Task, id: FeatureId, b: &Bore, making: &Making) -> Result<Vec<Way>, FormulaError> {
    let (dia, side) = (b.dia.nominal, making.side);
    let length = b.zone.length();
    let mut ways = Vec::new();
    let places = |kind: DemandKind| {
        matches!(kind, DemandKind::Runout | DemandKind::TotalRunout | DemandKind::Concentricity | DemandKind::Position)
    };
    let named = |d: &Demand| d.feature == id || d.datum == Some(id);
    let asked: Vec<&Demand> = task.view.part.demands.iter().filter(|d| named(d) && places(d.kind)).collect();
    let wander = length * (task.thresholds.drill_wander_mm_per_m / 1000.0);
    let true_with = |wander: Length| asked.iter().all(|d| runs_out(task, side, d) + wander <= d.value);
    let (follows, trued) = (true_with(wander), true_with(wander * task.thresholds.trued_wander));
    let reach = length / dia;
    let reamed = reamer_holds(task, id, b);
    // Where only a bored hole is true, a bar goes as deep as one can.
    let deepest = if !asked.is_empty() && !trued {
        (task.thresholds.boring_limit * BAR_SHARE).max(LONGEST_BORING)
    } else {
        LONGEST_BORING
    };
    let boring = dia >= LEAST_BORING && reach <= deepest;
    let reaming = !b.flat_bottom && dia <= LARGEST_REAMER;
    let reamed_after = |mut steps: WorkList| -> Result<WorkList, FormulaError> {
        let cut = cutting_data::axial_cut(task, dia, side)?;
        let slow = RotationalSpeed::rpm(cut.speed.to_rpm() * 0.4);
        let feed = Feed::mm_per_rev((0.03 * dia.to_mm()).clamp(0.03, 0.4));
        let tool = steps.tool(axial_tool(ToolKind::Reamer, side, dia, id));
        let time_in = time::turning(making.zone.length() + APPROACH, feed, slow)?;
        // A reamer takes a tenth of what a drill does.
        let light = cutting_data::DrillCut { thrust: cut.thrust * 0.1, torque: cut.torque * 0.2, ..cut };
        let op = push(&mut steps, Work::Ream, id, side, tool, &light, dia, time_in, time_in * 0.3);
        (op.speed, op.wanted) = (slow, cut.wanted * 0.4);
        op.feed = feed;
        op.zone = Some(making.zone);
        Ok(steps)
    };
    // Bored true over the first diameter and a half, the reamer starts on the axis.
    let trues = reaming && reamed && !follows && dia >= LEAST_BORING && length > dia * TRUED && (trued || !boring);
    if (reaming && follows) || !(boring || trues) {
        let second = (boring && !reamed).then_some("a reamer does not hold that tolerance");
        ways.push(Way { second, ..Way::usual(Work::Ream, reamed_after(WorkList::default())?) });
    }
    if trues {
        let mut start = *making;
        match making.end {
            End::Front => start.zone.end = start.zone.start + dia * TRUED,
            End::Back => start.zone.start = start.zone.end - dia * TRUED,
        }
        let from = drill_size(dia - finishing_allowance(dia));
        let cut = Boring { dia, entry: from, length: dia * TRUED, ra: None, depth: (dia - from) / 2.0, passes: 1 };
        let mut steps = WorkList::default();
        bars::bore(task, &mut steps, id, making.end, &cut)?;
        if let Some(op) = steps.operations.last_mut() {
            op.zone = Some(start.zone);
        }
        let way = Way::usual(Work::Ream, reamed_after(steps)?);
        ways.push(Way { words: "bored true at its mouth, then reamed", ..way });
    }
    if boring {
        let steps = bored(task, id, b, making, drill_size(dia - finishing_allowance(dia)))?;
        let slim = dia < Length::mm(6.0) || reach > 5.0;
        let second =
            (slim && reaming && reamed && (follows || trues)).then_some("so slim a boring bar springs and chatters");
        ways.push(Way { second, ..Way::usual(Work::Bore, steps) });
    }
    Ok(ways)
}

/// The runout that the spindle of a side leaves between the surfaces of a demand, one of them a bore made there.
fn runs_out(task: &Task, side: Side, demand: &Demand) -> Length {
    let surfaces: Vec<FeatureId> = [Some(demand.feature), demand.datum].into_iter().flatten().collect();
    let own = support::runout(task, &surfaces).map_or(Length::ZERO, |r| r.value);
    let sub = task.machine.sub.as_ref().and_then(|s| s.runout).map_or(Length::ZERO, |r| r.value);
    if side == Side::Sub { own + sub } else { own }
}

/// Whether a reamer holds the tolerance of a bore by its grade, with the capability that is asked there.
fn reamer_holds(task: &Task, id: FeatureId, b: &Bore) -> bool {
    let t = task.thresholds;
    let cpk = task.view.feature(id).cpk.map(|cpk| cpk / (1.0 - t.centring.clamp(0.0, 0.5)));
    let width = crate::tables::iso286::grade_tolerance(t.ream_grade as u8, b.dia.nominal);
    let needed = width.map(|it| it * (cpk.unwrap_or(t.cp_fits) / t.cp_fits));
    b.dia.tolerance().zip(needed.ok()).is_none_or(|(tolerance, needed)| tolerance >= needed - Length::um(0.01))
}

/// A bore opened by a boring bar from a hole that is there: at most a millimetre deep a pass, then what finishing asks for; a
/// second finishing pass takes out what the bar springs in the first.
fn bored(task: &Task, id: FeatureId, b: &Bore, making: &Making, from: Length) -> Result<WorkList, FormulaError> {
    let dia = b.dia.nominal;
    let finest = crate::tables::iso286::grade_tolerance(9, dia);
    let tight = b.dia.tolerance().zip(finest.ok()).is_some_and(|(t, it)| t < it);
    let own_drill = making.pilot == Length::ZERO;
    let to_finish = finishing_allowance(dia) + Length::mm(0.1);
    // A slim bar takes half as much at once (common practice, no source).
    let bar = bars::bar_for(task, making.side, id, from);
    let stiff = bars::reach(task, id, making.side) / bar <= task.thresholds.boring_steel;
    let a_pass = Length::mm(if stiff { 1.0 } else { 0.5 });
    let rough = if dia - from > to_finish { libm::ceil((dia - from) / 2.0 / a_pass - 1e-9) } else { 0.0 };
    let finish = match (needs_finishing(b, making.zone.length()), tight) {
        (false, _) => 0,
        (true, true) if rough < 1.0 => 2,
        (true, _) => 1,
    };
    let left = if finish > 0 { finishing_allowance(dia) } else { Length::ZERO };
    let cut = |stock: Length, passes: u32| Boring {
        dia,
        entry: if rough < 1.0 { dia } else { from },
        length: making.zone.length(),
        ra: b.finish.map(|f| f.ra),
        depth: stock / 2.0 / f64::from(passes),
        passes,
    };
    let mut steps = WorkList::default();
    if rough >= 1.0 || finish == 0 {
        bars::bore(task, &mut steps, id, making.end, &cut(dia - from - left, (rough as u32).max(1)))?;
    }
    if finish > 0 {
        bars::bore(task, &mut steps, id, making.end, &cut(left, finish))?;
    }
    if let Some(op) = steps.operations.last_mut().filter(|_| b.flat_bottom && own_drill) {
        face_bottom(task, op, dia, making.side)?;
    }
    Ok(steps)
}

/// The drill's cone is faced off from the wall to the axis, in cuts of half a millimetre.
fn face_bottom(task: &Task, op: &mut Operation, dia: Length, side: Side) -> Result<(), FormulaError> {
    let cone = drilling::point_length(dia, POINT_ANGLE);
    let cuts = libm::ceil(cone / Length::mm(0.5) - 1e-9).max(1.0);
    let speed = task.view.part.material.turning_speed.typical;
    op.cutting += time::facing(dia, Length::ZERO, op.feed, speed, cutting_data::cap(task, side))? * cuts;
    Ok(())
}
