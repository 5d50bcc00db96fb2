//! Starting values of tool life.

use super::{Sourced, read};
use crate::quantity::{Time, Velocity};
use serde::Deserialize;
use std::sync::LazyLock;

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Exponent {
    tool: String,
    n: f64,
    c_steel: f64,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Life {
    letter: char,
    life: f64,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Contact {
    work: String,
    share: f64,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    exponents: Sourced<Exponent>,
    lives: Sourced<Life>,
    contact: Sourced<Contact>,
}

static TABLE: LazyLock<File> = LazyLock::new(|| read("tool_life", include_str!("tool_life.yaml")));

/// Taylor's n of a tool material and its C in soft steel: `hss`, `carbide`, `coated-carbide`, `cermet`, `ceramic`.
pub fn exponent(tool: &str) -> Option<(f64, Velocity)> {
    TABLE.exponents.rows.iter().find(|r| r.tool == tool).map(|r| (r.n, Velocity::m_per_min(r.c_steel)))
}

/// How long an edge is taken to last at the typical turning speed of a material, by its letter of ISO 513; an unknown
/// letter as steel.
pub fn usual_life(iso_513: char) -> Time {
    let rows = &TABLE.lives.rows;
    let row = rows.iter().find(|r| r.letter == iso_513).or(rows.first());
    Time::minutes(row.map_or(30.0, |r| r.life))
}

/// The share of the time in the cut that one edge is in the metal: `whirl`, `polygon`, `thread-mill`, `mill`; all of it for any
/// other work.
pub fn contact_share(work: &str) -> f64 {
    TABLE.contact.rows.iter().find(|r| r.work == work).map_or(1.0, |r| r.share)
}

/// Where the exponents, the lives and the shares come from.
pub fn sources() -> [String; 3] {
    [TABLE.exponents.cite(), TABLE.lives.cite(), TABLE.contact.cite()]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::tables::materials;

    #[test]
    fn every_material_has_a_life() {
        assert!(materials::all().iter().all(|m| usual_life(m.iso_513) >= Time::minutes(15.0)));
        assert_eq!(exponent("coated-carbide"), Some((0.25, Velocity::m_per_min(700.0))));
        assert_eq!(exponent("steel"), None);
        assert_eq!(usual_life('N'), Time::minutes(90.0));
        assert_eq!((contact_share("whirl"), contact_share("turn")), (0.1, 1.0));
    }
}
