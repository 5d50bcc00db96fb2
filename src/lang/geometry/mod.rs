//! Geometry checks on a resolved part: whether what the drawing asks for can exist as one solid piece.
//!
//! An error is said where the part contradicts itself, a warning where it can be made but hardly well. Every finding
//! gives the numbers of both sides and a remedy.

mod demands;
mod grooves;
mod holes;
mod holes_end;
mod milled;
mod outline;
mod polygons;
mod solid;
mod stock;
mod threads;
mod walls;

#[cfg(test)]
mod bench;

use crate::lang::Diagnostic;
use crate::model::Part;
use crate::quantity::Length;
use solid::Solid;

/// Two places nearer than this are one: far below any tolerance, far above the rounding of inches.
const NEAR: Length = Length::mm(1e-6);

/// The least wall that a cutting tool leaves without tearing or pushing it away; common practice, no source.
const LEAST_WALL: Length = Length::mm(0.3);

/// Checks a part and adds what it finds, in the order of the checks and within one in the order of the features. The
/// messages count in inches where the drawing does.
pub fn check(part: &Part, out: &mut Vec<Diagnostic>) {
    let solid = Solid::of(part);
    outline::check(&solid, out);
    stock::check(&solid, out);
    grooves::check(&solid, out);
    walls::check(&solid, out);
    threads::check(&solid, out);
    holes::check(&solid, out);
    milled::check(&solid, out);
    polygons::check(&solid, out);
    demands::check(&solid, out);
}
