//! Ways to make each feature. Where there are several, the whole job decides: [`super::choose`].

pub mod axial;
mod bars;
mod bores;
pub mod cross;
pub mod cutting_data;
mod deep;
pub mod milled;
pub mod run_out;
pub mod sockets;
pub mod threads;
pub mod turned;

use super::blank::Blank;
use super::operation::{GapReason, Shank, Tool, ToolKind, Work, WorkList};
use super::{PartView, Task};
use crate::formulas::FormulaError;
use crate::model::machine::Side;
use crate::model::part::{End, FeatureId};
use crate::quantity::{Angle, Length, Torque};

/// One way to make a feature: its tools and operations.
#[derive(Clone, Debug)]
pub struct Way {
    /// The work that it comes down to.
    pub work: Work,
    /// The setter's words for it.
    pub words: &'static str,
    /// Why it is taken only where the usual way finds no place.
    pub second: Option<&'static str>,
    pub steps: WorkList,
}

/// A feature that can be made in several ways.
#[derive(Clone, Debug)]
pub struct Group {
    pub feature: FeatureId,
    /// The usual ones first, of those the quickest first; at least one.
    pub ways: Vec<Way>,
    /// What cannot be done here, and why.
    pub ruled_out: Vec<(Work, GapReason)>,
}

/// The work of a part on a machine: what has one way only, and what has several.
#[derive(Clone, Debug, Default)]
pub struct Ways {
    pub base: WorkList,
    pub groups: Vec<Group>,
}

impl Way {
    /// A usual way, by the word of its work.
    pub(crate) fn usual(work: Work, steps: WorkList) -> Way {
        Way { work, words: work.word(), second: None, steps }
    }

    /// A way for where the usual one finds no place, and why it comes second.
    pub(crate) fn second(work: Work, why: &'static str, steps: WorkList) -> Way {
        Way { second: Some(why), ..Way::usual(work, steps) }
    }
}

impl Ways {
    /// Offers the ways of a feature; a single one is no choice and goes to the rest.
    pub(crate) fn offer(&mut self, feature: FeatureId, mut ways: Vec<Way>, ruled_out: Vec<(Work, GapReason)>) {
        ways.sort_by(|a, b| {
            a.second.is_some().cmp(&b.second.is_some()).then(a.steps.time().total_cmp(&b.steps.time()))
        });
        match ways.as_slice() {
            [] => {}
            [only] if ruled_out.is_empty() => self.base.add(&only.steps),
            _ => self.groups.push(Group { feature, ways, ruled_out }),
        }
    }
}

impl Ways {
    /// The same with one turning tool at the main spindle that roughs and finishes; nothing where there are not two.
    pub(crate) fn with_one_turning_tool(&self) -> Option<Ways> {
        let is = |t: &Tool, kind| t.kind == kind && t.side == Side::Main;
        let has = |kind| self.base.tools.iter().any(|t| is(t, kind));
        if !has(ToolKind::TurningTool) || !has(ToolKind::FinishingTool) {
            return None;
        }
        let mut roughed = self.base.clone();
        for tool in roughed.tools.iter_mut().filter(|t| is(t, ToolKind::FinishingTool)) {
            tool.kind = ToolKind::TurningTool;
        }
        let mut base = WorkList::default();
        base.add(&roughed);
        Some(Ways { base, groups: self.groups.clone() })
    }
}

/// All ways to make a part on a machine.
///
/// # Errors
/// [`FormulaError`] where a figure lies outside what a formula is valid for.
pub fn gather(task: &Task, blank: &Blank) -> Result<Ways, FormulaError> {
    let mut ways = Ways::default();
    turned::plan(task, blank, &mut ways.base)?;
    axial::plan(task, blank, &mut ways)?;
    cross::plan(task, blank, &mut ways.base)?;
    milled::plan(task, &mut ways)?;
    threads::plan(task, blank, &mut ways)?;
    Ok(ways)
}

/// The spindle at which work into this end of the part is done.
pub(crate) fn side_of_end(task: &Task, end: End) -> Side {
    if end == task.first { Side::Main } else { Side::Sub }
}

/// The angle of a tool along the axis at a spindle.
pub(crate) fn axial_angle(side: Side) -> Angle {
    match side {
        Side::Main => Angle::deg(0.0),
        Side::Sub => Angle::deg(180.0),
    }
}

/// A fixed tool with a square shank, square to the axis.
pub(crate) fn turning_tool(kind: ToolKind, side: Side, width: Length, feature: Option<FeatureId>) -> Tool {
    Tool {
        kind,
        side,
        angle: Angle::deg(90.0),
        angle_tolerance: None,
        live: false,
        shank: Shank::Square,
        dia: width,
        off_axis: None,
        contouring: false,
        speed_wanted: None,
        torque: Torque::ZERO,
        attachment: None,
        either_side: false,
        features: feature.into_iter().collect(),
    }
}

/// A fixed tool along the axis with a round shank.
pub(crate) fn axial_tool(kind: ToolKind, side: Side, dia: Length, feature: FeatureId) -> Tool {
    Tool {
        angle: axial_angle(side),
        shank: Shank::Round(round_shank(dia)),
        dia,
        ..turning_tool(kind, side, dia, Some(feature))
    }
}

/// The shank that a drill or mill of this diameter has: small ones stand on a 3 mm shank (common practice, no source).
pub(crate) fn round_shank(dia: Length) -> Length {
    dia.max(Length::mm(3.0))
}

/// The reduced shank of a machine tap by its thread's diameter (DIN 376 and its neighbours below M5, from memory).
pub(crate) fn tap_shank(dia: Length) -> Length {
    const SHANKS_MM: [(f64, f64); 8] =
        [(4.0, 2.8), (5.0, 3.5), (6.0, 4.5), (8.0, 6.0), (10.0, 7.0), (12.0, 9.0), (14.0, 11.0), (16.0, 12.0)];
    let shank = SHANKS_MM.iter().find(|(thread, _)| dia <= Length::mm(*thread)).map(|(_, shank)| Length::mm(*shank));
    shank.unwrap_or(dia)
}

/// The blank's outer diameter where work on the main spindle begins.
pub(crate) fn blank_dia(blank: &Blank, view: &PartView) -> Length {
    blank.corners.max(view.largest)
}
