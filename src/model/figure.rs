//! Sizes with their tolerance, and the places in the sources that they came from.

use crate::quantity::Length;

/// A piece of a source file, in bytes, the end not included.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Place {
    /// The number of the file in the order of reading.
    pub file: u32,
    pub start: u32,
    pub end: u32,
}

/// A value with the place in the source that stated it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stated<T> {
    pub value: T,
    pub place: Place,
}

/// What a spec says and nothing is reckoned from: it is told to whoever it concerns.
#[derive(Clone, Debug, PartialEq)]
pub struct Remark {
    /// The statement, with the feature that it names: `thread end`.
    pub about: String,
    /// As written: `relief DIN-76`.
    pub words: String,
    pub place: Place,
}

/// Where the limits of a size come from.
#[derive(Clone, Debug, PartialEq)]
pub enum ToleranceSource {
    /// Written at the size: `±0.1`, `+0.02/-0`, `7.986 | 7.995`.
    Written,
    /// An ISO 286 class written at the size: `h8`.
    Class(String),
    /// The general tolerance of the part: its printed name, such as `ISO 2768-m` or `two-place ±0.01 in`.
    General(String),
}

/// What a size may be.
#[derive(Clone, Debug, PartialEq)]
pub enum Limits {
    /// Deviations from the nominal size; `upper` is at least `lower`.
    Both { upper: Length, lower: Length, from: ToleranceSource },
    /// `max`: the size is a limit, smaller is fine.
    AtMost,
    /// `min`: the size is a limit, larger is fine.
    AtLeast,
    /// A bracketed size: for reference, not inspected.
    Reference,
}

/// A size of the drawing: nominal value and what it may be.
#[derive(Clone, Debug, PartialEq)]
pub struct Size {
    pub nominal: Length,
    pub limits: Limits,
    pub place: Place,
}

impl Size {
    /// Largest allowed size; the nominal for a limit or a reference.
    pub fn upper(&self) -> Length {
        match self.limits {
            Limits::Both { upper, .. } => self.nominal + upper,
            _ => self.nominal,
        }
    }

    /// Smallest allowed size; the nominal for a limit or a reference.
    pub fn lower(&self) -> Length {
        match self.limits {
            Limits::Both { lower, .. } => self.nominal + lower,
            _ => self.nominal,
        }
    }

    /// The middle of the limits: what a setter aims at.
    pub fn middle(&self) -> Length {
        (self.upper() + self.lower()) / 2.0
    }

    /// The width of the tolerance, where both limits are given.
    pub fn tolerance(&self) -> Option<Length> {
        match self.limits {
            Limits::Both { upper, lower, .. } => Some(upper - lower),
            _ => None,
        }
    }

    /// Whether the drawing asks for this tolerance at the size itself, and not by its general tolerance.
    pub fn is_toleranced(&self) -> bool {
        matches!(&self.limits, Limits::Both { from, .. } if !matches!(from, ToleranceSource::General(_)))
    }
}
