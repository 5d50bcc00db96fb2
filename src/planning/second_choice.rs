//! What is told where places force another way than the usual or fastest one.

use super::Task;
use super::methods::{Way, Ways, turned};
use super::operation::{ToolKind, Work, WorkList};
use crate::model::machine::Side;
use crate::model::part::FeatureId;
use crate::quantity::Time;

/// A way that places force instead of the usual or fastest one.
#[derive(Clone, Debug, PartialEq)]
pub struct SecondChoice {
    pub feature: FeatureId,
    /// `cortical: thread, single-point in 7.4 s instead of whirl in 25.3 s, …`.
    pub words: String,
    /// How much longer the feature takes than in the usual way; less than nought where the usual way is slower.
    pub longer: Time,
    /// It makes the feature less well.
    pub poorer: bool,
}

/// The ways that are not the usual ones.
pub(super) fn told(task: &Task, ways: &Ways, picks: &[usize]) -> Vec<SecondChoice> {
    let changed = ways.groups.iter().zip(picks).filter(|(_, pick)| **pick != 0);
    changed
        .map(|(group, pick)| {
            let (taken, usual): (&Way, &Way) = (&group.ways[*pick], &group.ways[0]);
            let (time, usual_time) = (taken.steps.time(), usual.steps.time());
            let name = &task.view.feature(group.feature).name;
            let (this, that) = (taken.words, usual.words);
            let ways = match (time - usual_time).abs() < Time::s(0.05) {
                true => format!("{this} instead of {that}, both in {time}"),
                false => format!("{this} in {time} instead of {that} in {usual_time}"),
            };
            let words = format!("`{name}`: {ways}, so that every tool finds a place");
            let poorer = taken.second.is_some();
            SecondChoice { feature: group.feature, words, longer: time - usual_time, poorer }
        })
        .collect()
}

/// One turning tool that roughs and finishes: its worn edge finishes less well where a surface asks for more than ordinary
/// turning.
pub(super) fn one_turning_tool(task: &Task, work: &WorkList) -> Option<SecondChoice> {
    let is_finished = |tool: usize| {
        let tool = &work.tools[tool];
        tool.kind == ToolKind::TurningTool && tool.side == Side::Main
    };
    let finished = work.operations.iter().filter(|op| op.work == Work::FinishTurn && is_finished(op.tool));
    let features: Vec<FeatureId> = finished.filter_map(|op| op.feature).collect();
    let fine = features.iter().copied().find(|f| turned::is_fine(task, *f));
    let feature = fine.or(features.first().copied())?;
    let name = &task.view.feature(feature).name;
    let words = format!(
        "`{name}`: one turning tool roughs and finishes instead of a finishing tool of its own, so that every tool finds a place"
    );
    Some(SecondChoice { feature, words, longer: Time::ZERO, poorer: fine.is_some() })
}
