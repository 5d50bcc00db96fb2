//! The finish that a drawing asks of a surface.

use super::figure::Place;
use super::part::Kind;
use crate::quantity::Length;

/// A wanted surface finish. Rz is read as four times Ra (common practice, no source).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Finish {
    pub ra: Length,
    pub place: Place,
}

impl Kind {
    /// The finish asked of the surface that a cut leaves; an end that is faced has its own.
    pub fn finish(&self) -> Option<&Finish> {
        match self {
            Kind::Turn(f) => f.finish.as_ref(),
            Kind::Taper(f) => f.finish.as_ref(),
            Kind::Sphere(f) => f.finish.as_ref(),
            Kind::Groove(f) => f.finish.as_ref(),
            Kind::Bore(f) => f.finish.as_ref(),
            Kind::Hole(f) => f.finish.as_ref(),
            Kind::Slot(f) => f.finish.as_ref(),
            Kind::Flat(f) => f.finish.as_ref(),
            _ => None,
        }
    }

    /// The same, to be changed.
    pub fn finish_mut(&mut self) -> Option<&mut Finish> {
        match self {
            Kind::Turn(f) => f.finish.as_mut(),
            Kind::Taper(f) => f.finish.as_mut(),
            Kind::Sphere(f) => f.finish.as_mut(),
            Kind::Groove(f) => f.finish.as_mut(),
            Kind::Bore(f) => f.finish.as_mut(),
            Kind::Hole(f) => f.finish.as_mut(),
            Kind::Slot(f) => f.finish.as_mut(),
            Kind::Flat(f) => f.finish.as_mut(),
            _ => None,
        }
    }
}
