//! What a machine has to support a slender piece, as a remedy names it.

use super::prelude::*;
use crate::model::machine::ModeKind;
use crate::quantity::Length;

/// The supports of a piece of this diameter, the nearest first: the tailstock's centre, a supported mode, a steady, a guide
/// bushing. Beside a guide bushing nothing; a piece that is supported already may still want the steady or the bushing.
pub(super) fn ways(case: &Case, dia: Length) -> Vec<String> {
    let machine = case.task.machine;
    if case.task.guided() {
        return Vec::new();
    }
    let free = case.task.mode.kind == ModeKind::Collet;
    let mut ways = Vec::new();
    if free && machine.tailstock {
        ways.push("a centre in its free end, by the tailstock".to_owned());
    }
    let has = |kind: ModeKind| machine.modes.iter().any(|m| m.kind == kind);
    if free && has(ModeKind::Supported) {
        ways.push("the free end held by the sub-spindle (mode supported)".to_owned());
    }
    let steadied = machine.steady.as_ref().is_some_and(|s| s.dia.is_none_or(|r| r.contains(dia)));
    if steadied {
        ways.push("the steady".to_owned());
    }
    ways.push(if has(ModeKind::Guided) { "its guide bushing" } else { "a guide bushing" }.to_owned());
    ways
}
