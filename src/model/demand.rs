//! Demands of form and place.

use super::figure::Place;
use super::part::FeatureId;
use crate::quantity::Length;

/// A demand of form or position.
#[derive(Clone, Debug, PartialEq)]
pub struct Demand {
    pub kind: DemandKind,
    pub feature: FeatureId,
    pub datum: Option<FeatureId>,
    pub value: Length,
    pub place: Place,
}

/// After ISO 1101.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum DemandKind {
    Roundness,
    Cylindricity,
    Straightness,
    Flatness,
    Runout,
    TotalRunout,
    Concentricity,
    Position,
    Parallel,
    SquareTo,
    Symmetry,
    Profile,
}

impl DemandKind {
    /// Every kind, in the order in which a reader is told of them.
    pub const ALL: [DemandKind; 12] = [
        DemandKind::Roundness,
        DemandKind::Cylindricity,
        DemandKind::Straightness,
        DemandKind::Flatness,
        DemandKind::Runout,
        DemandKind::TotalRunout,
        DemandKind::Concentricity,
        DemandKind::Position,
        DemandKind::Parallel,
        DemandKind::SquareTo,
        DemandKind::Symmetry,
        DemandKind::Profile,
    ];

    /// The word of the language.
    pub fn word(self) -> &'static str {
        match self {
            DemandKind::Roundness => "roundness",
            DemandKind::Cylindricity => "cylindricity",
            DemandKind::Straightness => "straightness",
            DemandKind::Flatness => "flatness",
            DemandKind::Runout => "runout",
            DemandKind::TotalRunout => "total-runout",
            DemandKind::Concentricity => "concentricity",
            DemandKind::Position => "position",
            DemandKind::Parallel => "parallel",
            DemandKind::SquareTo => "square-to",
            DemandKind::Symmetry => "symmetry",
            DemandKind::Profile => "profile",
        }
    }
}
