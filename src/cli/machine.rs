//! A machine, its modes and attachments by the names that a command gives.

use super::plan::ModeArg;
use super::{Exit, World};
use crate::lang::clauses::suggestion;
use crate::model::Machine;
use crate::model::machine::ModeKind;

/// The machine of a name.
///
/// # Errors
/// [`Exit::Unable`] where there is none; the remedy is told.
pub(super) fn named<'m>(world: &mut World, machines: &'m [Machine], name: &str) -> Result<&'m Machine, Exit> {
    machines.iter().find(|m| m.name == name).ok_or_else(|| {
        let known: Vec<&str> = machines.iter().map(|m| m.name.as_str()).collect();
        unknown(world, "machine", name, &known)
    })
}

/// The mode asked for, where one is.
///
/// # Errors
/// [`Exit::Unable`] where the machine does not have it.
pub(super) fn mode(world: &mut World, machine: &Machine, asked: Option<ModeArg>) -> Result<Option<ModeKind>, Exit> {
    let Some(kind) = asked.map(ModeArg::kind) else { return Ok(None) };
    if machine.mode(kind).is_none() {
        let known: Vec<&str> = machine.modes.iter().map(|m| m.kind.word()).collect();
        let words = format!("`{}` has no {} mode; it has {}", machine.name, kind.word(), known.join(", "));
        return Err(world.unable(words));
    }
    Ok(Some(kind))
}

/// The number of an attachment of the machine.
///
/// # Errors
/// [`Exit::Unable`] where the machine has none of that name.
pub(super) fn option(world: &mut World, machine: &Machine, name: &str) -> Result<usize, Exit> {
    machine.options.iter().position(|o| o.name == name).ok_or_else(|| {
        let known: Vec<&str> = machine.options.iter().map(|o| o.name.as_str()).collect();
        unknown(world, &format!("attachment of `{}`", machine.name), name, &known)
    })
}

fn unknown(world: &mut World, what: &str, name: &str, known: &[&str]) -> Exit {
    let help = match suggestion(name, known.iter().copied()) {
        Some(near) => format!("did you mean `{near}`?"),
        None if known.is_empty() => "there are none".to_owned(),
        None => format!("known are {}", known.join(", ")),
    };
    world.unable(format!("no {what} is named `{name}`; {help}"))
}
