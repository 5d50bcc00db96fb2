//! Demands of form and position against the kind of feature that they name.

use super::solid::{Solid, kind_word};
use crate::lang::Diagnostic;
use crate::model::part::{Demand, DemandKind, Feature, FeatureId, Kind};

pub(super) fn check(solid: &Solid, out: &mut Vec<Diagnostic>) {
    for demand in &solid.part.demands {
        let Some(feature) = solid.part.features.get(demand.feature) else { continue };
        if !can_have(&feature.kind, demand.kind) {
            let word = kind_word(&feature.kind);
            let message = format!("`{}`, a {word}, cannot have a demand of {}", feature.name, demand.kind.word());
            out.push(
                Diagnostic::error("demand-does-not-fit", demand.place, message)
                    .also(feature.place, format!("a {word}"))
                    .help(can_be_asked(feature)),
            );
        }
        datum(solid, demand, demand.datum, out);
    }
}

fn datum(solid: &Solid, demand: &Demand, datum: Option<FeatureId>, out: &mut Vec<Diagnostic>) {
    let word = demand.kind.word();
    let Some(id) = datum else {
        if needs_datum(demand.kind) {
            let message = format!("{word} is measured against a datum, and none is named");
            out.push(Diagnostic::error("datum-missing", demand.place, message).help(format!(
                "write `{word} {} to` and the feature it is measured from",
                solid.feature(demand.feature).name
            )));
        }
        return;
    };
    let feature = solid.feature(id);
    if id == demand.feature {
        let message = format!("`{}` cannot be its own datum for {word}", feature.name);
        out.push(
            Diagnostic::error("datum-is-itself", demand.place, message)
                .help("name another feature after `to`; a demand on the feature alone is roundness, cylindricity, straightness or flatness"),
        );
    } else if !can_be_datum(&feature.kind) {
        let kind = kind_word(&feature.kind);
        let message = format!("`{}`, a {kind}, cannot be the datum of {word}", feature.name);
        out.push(
            Diagnostic::error("datum-does-not-fit", demand.place, message)
                .also(feature.place, format!("a {kind}"))
                .help("a datum is a cylinder, a cone, a bore, a thread or a flat face"),
        );
    }
}

fn needs_datum(kind: DemandKind) -> bool {
    use DemandKind::*;
    match kind {
        Runout | TotalRunout | Concentricity | Parallel | SquareTo | Symmetry => true,
        // A true position may be measured from the features of its own pattern.
        Roundness | Cylindricity | Straightness | Flatness | Position | Profile => false,
    }
}

/// After ISO 1101: what kind of element each tolerance applies to.
fn can_have(feature: &Kind, demand: DemandKind) -> bool {
    use DemandKind::*;
    let cylinder = matches!(feature, Kind::Turn(_) | Kind::Bore(_) | Kind::Hole(_));
    let round = cylinder
        || matches!(feature, Kind::Taper(_) | Kind::Sphere(_) | Kind::Groove(_) | Kind::Undercut(_) | Kind::Contour(_));
    let planar = matches!(feature, Kind::Face(_) | Kind::Flat(_) | Kind::Polygon(_) | Kind::Slot(_) | Kind::Keyway(_));
    let thread = matches!(feature, Kind::Thread(_));
    let socket = matches!(feature, Kind::Socket(_));
    match demand {
        Roundness => round,
        Cylindricity => cylinder || matches!(feature, Kind::Groove(_)),
        Straightness => cylinder || planar || matches!(feature, Kind::Taper(_)),
        Flatness => planar,
        Runout | TotalRunout => round || thread || matches!(feature, Kind::Face(_) | Kind::Knurl(_)),
        Concentricity => round || thread || matches!(feature, Kind::Polygon(_) | Kind::Socket(_)),
        Position => round || planar || thread || socket,
        Symmetry => planar || cylinder || matches!(feature, Kind::Groove(_)),
        Profile => round || planar || matches!(feature, Kind::Radius(_)),
        Parallel | SquareTo => cylinder || planar || thread || matches!(feature, Kind::Taper(_) | Kind::Groove(_)),
    }
}

fn can_be_datum(kind: &Kind) -> bool {
    !matches!(
        kind,
        Kind::Edges(_) | Kind::Engrave(_) | Kind::Chamfer(_) | Kind::Radius(_) | Kind::Knurl(_) | Kind::Contour(_)
    )
}

fn can_be_asked(feature: &Feature) -> String {
    let fit: Vec<&str> =
        DemandKind::ALL.into_iter().filter(|d| can_have(&feature.kind, *d)).map(DemandKind::word).collect();
    let word = kind_word(&feature.kind);
    match fit.split_last() {
        None => format!("a {word} takes no demand of form or position: name the surface beside it"),
        Some((last, [])) => format!("a {word} can have {last}"),
        Some((last, rest)) => {
            format!("a {word} can have {} or {last}", rest.join(", "))
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::bench::{codes, mm, part, turn};
    use crate::model::Place;
    use crate::model::part::*;

    fn asked(kind: DemandKind, feature: FeatureId, datum: Option<FeatureId>) -> Vec<&'static str> {
        let edges = Edges { of: vec![], kind: EdgeKind::Break, at_most: mm(0.1) };
        let f = vec![
            turn("a", 10.0, 0.0, 10.0),
            turn("b", 8.0, 10.0, 20.0),
            super::super::bench::feature("face", Kind::Face(Face { end: End::Front, finish: None })),
            super::super::bench::feature("edges", Kind::Edges(edges)),
        ];
        let mut p = part(20.0, f);
        p.demands.push(Demand { kind, feature, datum, value: mm(0.01), place: Place::default() });
        codes(&p)
    }

    #[test]
    fn demands_name_what_can_have_them() {
        assert!(asked(DemandKind::Roundness, 0, None).is_empty());
        assert_eq!(asked(DemandKind::Roundness, 2, None), ["demand-does-not-fit"]);
        assert!(asked(DemandKind::Flatness, 2, None).is_empty());
        assert_eq!(asked(DemandKind::Flatness, 0, None), ["demand-does-not-fit"]);
        assert_eq!(asked(DemandKind::Roundness, 3, None), ["demand-does-not-fit"]);
        assert!(asked(DemandKind::SquareTo, 2, Some(0)).is_empty());
    }

    #[test]
    fn a_datum_is_another_feature() {
        assert!(asked(DemandKind::Runout, 0, Some(1)).is_empty());
        assert_eq!(asked(DemandKind::Runout, 0, None), ["datum-missing"]);
        assert_eq!(asked(DemandKind::Runout, 0, Some(0)), ["datum-is-itself"]);
        assert_eq!(asked(DemandKind::Runout, 0, Some(3)), ["datum-does-not-fit"]);
        assert!(asked(DemandKind::Position, 0, None).is_empty());
    }
}
