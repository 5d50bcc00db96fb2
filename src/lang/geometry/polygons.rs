//! Hexagons and squares against the cylinder that they are milled from.

use super::NEAR;
use super::solid::{Solid, kind_word};
use crate::lang::Diagnostic;
use crate::model::part::Kind;

pub(super) fn check(solid: &Solid, out: &mut Vec<Diagnostic>) {
    for feature in &solid.part.features {
        let Kind::Polygon(p) = &feature.kind else { continue };
        if p.as_stock {
            continue;
        }
        let Some(segment) = solid.under(p.zone).min_by(|a, b| a.smallest().total_cmp(&b.smallest())) else { continue };
        let (under, dia) = (solid.feature(segment.feature), segment.smallest());
        let word = kind_word(&feature.kind);
        let (corners, across) = (p.corners(), p.across.nominal);
        if across >= dia - NEAR {
            let message = format!(
                "`{}` is {across} across flats, but `{}` there has dia {dia}: nothing to mill",
                feature.name,
                under.name,
                across = solid.say(across),
                dia = solid.say(dia)
            );
            out.push(
                Diagnostic::error("polygon-outside-segment", p.across.place, message)
                    .also(under.place, format!("dia {dia}", dia = solid.say(dia)))
                    .help(format!(
                        "turn `{}` to {corners} there for full corners, or take a smaller {word}",
                        under.name,
                        corners = solid.say(corners)
                    )),
            );
        } else if corners > dia + NEAR && !p.corners_cut {
            let message = format!(
                "`{}` measures {corners} over its corners, but `{}` there has dia {dia}",
                feature.name,
                under.name,
                corners = solid.say(corners),
                dia = solid.say(dia)
            );
            out.push(
                Diagnostic::error("corners-beyond-segment", p.across.place, message)
                    .also(under.place, format!("dia {dia}", dia = solid.say(dia)))
                    .help(format!(
                        "write `corners cut` where they may be, or turn `{}` to {corners}",
                        under.name,
                        corners = solid.say(corners)
                    )),
            );
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::bench::*;
    use crate::model::part::*;

    #[test]
    fn a_hexagon_fits_its_cylinder() {
        let with = |across, corners_cut| {
            let p = Polygon { sides: 6, across: size(across), zone: zone(4.0, 8.0), as_stock: false, corners_cut };
            codes(&part(20.0, vec![turn("a", 10.0, 0.0, 20.0), feature("h", Kind::Polygon(p))]))
        };
        assert!(with(8.66, false).is_empty(), "corners 9.9997");
        assert_eq!(with(8.67, false), ["corners-beyond-segment"]);
        assert!(with(8.67, true).is_empty());
        assert!(with(9.9, true).is_empty());
        assert_eq!(with(10.0, true), ["polygon-outside-segment"]);
    }
}
