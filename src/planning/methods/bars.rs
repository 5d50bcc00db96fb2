//! Boring and inner threading bars: the stoutest kept one that enters its hole and stands in a holder there.

use super::super::Task;
use super::super::operation::{ToolKind, Work, WorkList};
use super::super::places;
use super::axial::{APPROACH, nearer_end, needs_second_spindle, simple};
use super::bores::{self, LEAST_BORING};
use super::{axial_tool, cutting_data, side_of_end};
use crate::formulas::{FormulaError, cutting, time};
use crate::model::machine::Side;
use crate::model::part::{End, FeatureId, Kind};
use crate::quantity::{Force, Length};

/// Bars that are commonly kept; slimmer ones are of carbide and come by tenths (common practice, no source).
const KEPT_MM: [f64; 7] = [4.0, 5.0, 6.0, 8.0, 10.0, 12.0, 16.0];
/// The stoutest bar that is taken for an ordinary reach (common practice, no source).
pub(super) const STOUT: Length = Length::mm(12.0);
/// The share of a hole that a bar may fill, so that its chips come out (common practice, no source).
pub(super) const BAR_SHARE: f64 = 0.8;
/// Length over diameter to which a boring bar of carbide reaches (common practice: 4 in steel, 6 to 7 in carbide).
pub(super) const LONGEST_BORING: f64 = 6.0;

/// A cut with a boring bar.
#[derive(Clone, Copy, Debug)]
pub(super) struct Boring {
    /// What it bores to; of a cone the larger end.
    pub dia: Length,
    /// The narrowest hole that the bar must enter.
    pub entry: Length,
    /// The length of the cut along the axis.
    pub length: Length,
    /// The finish that is asked for, as Ra.
    pub ra: Option<Length>,
    /// The radial depth of a pass, where the bar takes more than what springs back.
    pub depth: Length,
    pub passes: u32,
}

/// The stoutest bar of a kind that is no thicker than `thickest` and stands in a holder that reaches this spindle.
pub(super) fn stoutest(task: &Task, kind: ToolKind, side: Side, id: FeatureId, thickest: Length) -> Length {
    let holder = places::largest_holder(task, &axial_tool(kind, side, thickest, id));
    let most = holder.map_or(thickest, |h| thickest.min(h));
    if most < Length::mm(KEPT_MM[0]) {
        let tenths = (most.to_mm() * 10.0 + 1e-9).floor() / 10.0;
        // A bore from 0.6 mm on is entered by a bar ground for it.
        return if tenths < 0.5 { most } else { Length::mm(tenths) };
    }
    KEPT_MM.iter().map(|d| Length::mm(*d)).rfind(|d| *d <= most + Length::um(1.0)).unwrap_or(most)
}

/// How far a tool reaches into the part for a feature, from the face at its spindle.
pub(super) fn reach(task: &Task, id: FeatureId, side: Side) -> Length {
    let zone = task.zone_from_first(task.view.part.stretch(&task.view.feature(id).kind));
    if side == Side::Main { zone.end } else { task.view.length - zone.start }
}

/// The boring bar for a hole: the slimmest that another bore of this side asks for anyway, where it reaches as deep here;
/// else the stoutest that enters, no stouter than the reach asks for.
pub(super) fn bar_for(task: &Task, side: Side, id: FeatureId, entry: Length) -> Length {
    let reach = reach(task, id, side);
    let of = |entry: Length, reach: Length| {
        let usual = if reach > STOUT * task.thresholds.boring_steel { Length::mm(16.0) } else { STOUT };
        stoutest(task, ToolKind::BoringBar, side, id, (entry * BAR_SHARE).min(usual))
    };
    let own = of(entry, reach);
    let bored = task.view.part.features.iter().enumerate().filter_map(|(other, f)| match &f.kind {
        Kind::Bore(b) if b.dia.nominal >= LEAST_BORING => {
            let making = bores::making(task, other, b);
            let length = making.zone.length();
            let slim = b.dia.nominal < Length::mm(6.0) || length / b.dia.nominal > 5.0;
            let bored = bores::needs_finishing(b, length) && !slim && making.side == side;
            bored.then(|| (other, if making.pilot > Length::ZERO { making.pilot } else { b.dia.nominal }))
        }
        Kind::Taper(t) if t.internal => {
            let end = nearer_end(task, t.zone.start, t.zone.end);
            (side_of_end(task, end) == side).then(|| (other, t.start_dia.nominal.min(t.end_dia.nominal)))
        }
        Kind::Chamfer(c) if c.inside => {
            let end = nearer_end(task, c.at, c.at);
            (side_of_end(task, end) == side).then(|| (other, task.view.bore_at(c.at)))
        }
        _ => None,
    });
    let shared = bored.filter(|(_, entry)| *entry > Length::ZERO).map(|(other, entry)| {
        let deep = self::reach(task, other, side);
        of(entry, deep)
    });
    let shared = shared.filter(|bar| *bar <= own && reach / *bar <= LONGEST_BORING);
    shared.min_by(Length::total_cmp).unwrap_or(own)
}

/// One cut with a boring bar, in one pass or several.
///
/// # Errors
/// [`FormulaError`] where a figure lies outside a formula's range.
pub(super) fn bore(task: &Task, work: &mut WorkList, id: FeatureId, end: End, b: &Boring) -> Result<(), FormulaError> {
    let side = side_of_end(task, end);
    if needs_second_spindle(task, work, id, side) {
        return Ok(());
    }
    let dia = b.dia.max(Length::mm(0.3));
    let feed = cutting_data::finish_feed(task, dia, b.ra);
    let speed = task.view.part.material.turning_speed.typical;
    let wanted = cutting::spindle_speed(speed, dia)?;
    let n = wanted.min(cutting_data::cap(task, side));
    let bar = bar_for(task, side, id, b.entry.max(Length::mm(0.3)));
    let tool = work.tool(axial_tool(ToolKind::BoringBar, side, bar, id));
    let time_in = time::turning(b.length + APPROACH, feed, n)? * f64::from(b.passes);
    let op = simple(work, Work::Bore, id, side, tool, n, feed, time_in, Force::ZERO);
    (op.passes, op.wanted) = (b.passes, wanted);
    op.depth = b.depth;
    Ok(())
}
