//! General tolerances for sizes without a tolerance of their own.

use super::{Sourced, read, step};
use crate::quantity::{Angle, Length};
use serde::Deserialize;
use std::sync::LazyLock;

/// The class of the general tolerance.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum GeneralClass {
    /// Fine.
    F,
    /// Medium.
    M,
    /// Coarse.
    C,
    /// Very coarse.
    V,
}

impl GeneralClass {
    /// The class of a letter, in either case.
    pub fn from_letter(letter: &str) -> Option<GeneralClass> {
        match letter {
            "f" | "F" => Some(GeneralClass::F),
            "m" | "M" => Some(GeneralClass::M),
            "c" | "C" => Some(GeneralClass::C),
            "v" | "V" => Some(GeneralClass::V),
            _ => None,
        }
    }

    /// The letter that a drawing writes.
    pub fn letter(self) -> char {
        match self {
            GeneralClass::F => 'f',
            GeneralClass::M => 'm',
            GeneralClass::C => 'c',
            GeneralClass::V => 'v',
        }
    }
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Row {
    /// Open where it is left out.
    up_to: Option<f64>,
    f: Option<f64>,
    m: Option<f64>,
    c: Option<f64>,
    v: Option<f64>,
}

impl Row {
    fn value(&self, class: GeneralClass) -> Option<f64> {
        match class {
            GeneralClass::F => self.f,
            GeneralClass::M => self.m,
            GeneralClass::C => self.c,
            GeneralClass::V => self.v,
        }
    }
    fn up_to(&self) -> f64 {
        self.up_to.unwrap_or(f64::INFINITY)
    }
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    linear: Sourced<Row>,
    radius_and_chamfer: Sourced<Row>,
    angle: Sourced<Row>,
}

static TABLE: LazyLock<File> = LazyLock::new(|| read("iso2768", include_str!("iso2768.yaml")));

fn plus_minus(rows: &[Row], class: GeneralClass, size: Length) -> Option<Length> {
    if size.to_mm().is_nan() || size < Length::mm(0.5) {
        return None;
    }
    step(rows, size, Row::up_to)?.value(class).map(Length::mm)
}

/// The plus-or-minus of a linear size from 0.5 to 4,000 mm; nothing below, where the drawing must state it, and where
/// the class has no value.
pub fn linear(class: GeneralClass, size: Length) -> Option<Length> {
    plus_minus(&TABLE.linear.rows, class, size)
}

/// The plus-or-minus of an outside radius or a chamfer height from 0.5 mm.
pub fn radius_or_chamfer(class: GeneralClass, size: Length) -> Option<Length> {
    plus_minus(&TABLE.radius_and_chamfer.rows, class, size)
}

/// The plus-or-minus of an angle by the length of its shorter leg. Fine and medium are alike.
pub fn angular(class: GeneralClass, shorter_leg: Length) -> Angle {
    let rows = &TABLE.angle.rows;
    // The last row is open above, the first below: only a NaN falls through, and gets the widest.
    let row = step(rows, shorter_leg, Row::up_to).or(rows.first());
    Angle::deg(row.and_then(|r| r.value(class)).unwrap_or(60.0) / 60.0)
}

/// Where the tables of linear sizes, of radii and chamfers, and of angles come from.
pub fn sources() -> [String; 3] {
    [TABLE.linear.cite(), TABLE.radius_and_chamfer.cite(), TABLE.angle.cite()]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_size_belongs_to_the_step_it_ends() {
        let m = |mm| linear(GeneralClass::M, Length::mm(mm)).map(Length::to_mm);
        assert_eq!(m(0.4), None);
        assert_eq!(m(0.5), Some(0.1));
        assert_eq!(m(30.0), Some(0.2));
        assert_eq!(m(30.1), Some(0.3));
        assert_eq!(m(5000.0), None);
        assert_eq!(linear(GeneralClass::V, Length::mm(2.0)), None);
        assert_eq!(radius_or_chamfer(GeneralClass::M, Length::mm(7.0)), Some(Length::mm(1.0)));
        assert_eq!(angular(GeneralClass::M, Length::mm(10.0)), Angle::deg(1.0));
        assert_eq!(angular(GeneralClass::C, Length::mm(500.0)), Angle::deg(10.0 / 60.0));
    }
}
