//! The part against the bar that its spec asks for.

use super::NEAR;
use super::solid::{Solid, kind_word};
use crate::lang::Diagnostic;
use crate::model::Place;
use crate::model::part::{BarShape, FeatureId, Kind, StockWish, Zone};
use crate::quantity::Length;

pub(super) fn check(solid: &Solid, out: &mut Vec<Diagnostic>) {
    let Some(stock) = &solid.part.stock else { return };
    let Some(size) = stock.size else { return };
    for (id, feature) in solid.part.features.iter().enumerate() {
        if let Kind::Polygon(p) = &feature.kind
            && p.as_stock
        {
            let fits = match stock.shape {
                BarShape::Hex => p.sides == 6,
                BarShape::Square => p.sides == 4,
                BarShape::Profile => true,
                BarShape::Round | BarShape::Tube => false,
            };
            if !fits || (p.across.nominal - size).abs() > NEAR && stock.shape != BarShape::Profile {
                out.push(as_stock_differs(solid, id, stock, p.across.nominal, p.across.place));
            }
            continue;
        }
        let (needed, place) = match &feature.kind {
            Kind::Turn(t) => {
                if t.as_stock && matches!(stock.shape, BarShape::Round | BarShape::Tube) {
                    if (t.dia.nominal - size).abs() > NEAR {
                        out.push(as_stock_differs(solid, id, stock, t.dia.nominal, t.dia.place));
                    }
                    continue;
                }
                let off = t.offset.as_ref().map_or(Length::ZERO, |(offset, _)| offset.nominal);
                (t.dia.nominal + off * 2.0, t.dia.place)
            }
            Kind::Taper(t) if !t.internal => (t.start_dia.nominal.max(t.end_dia.nominal), feature.place),
            Kind::Sphere(s) => (s.dia.nominal, s.dia.place),
            Kind::Thread(t) if !t.internal => (t.major, feature.place),
            Kind::Polygon(p) if !p.corners_cut && stock.shape == BarShape::Round => (p.corners(), p.across.place),
            Kind::Polygon(p) => (p.across.nominal, p.across.place),
            _ => continue,
        };
        let (room, what) = match stock.shape {
            BarShape::Hex => (size / libm::cos(std::f64::consts::PI / 6.0), "over the corners"),
            BarShape::Square => (size / libm::cos(std::f64::consts::PI / 4.0), "over the corners"),
            BarShape::Profile => continue,
            BarShape::Round | BarShape::Tube => (size, "across"),
        };
        if needed > room + NEAR {
            let message = format!(
                "`{}` needs {needed}, but the bar measures {room} {what}",
                feature.name,
                needed = solid.say(needed),
                room = solid.say(room)
            );
            out.push(
                Diagnostic::error("outside-stock", place, message)
                    .also(stock.place, "the stock asked for")
                    .help("ask for a larger bar, or leave `stock` out and it is chosen"),
            );
        }
    }
    if let (BarShape::Tube, Some(bore)) = (stock.shape, stock.bore) {
        tube(solid, stock, bore, out);
    }
}

fn as_stock_differs(solid: &Solid, id: FeatureId, stock: &StockWish, size: Length, place: Place) -> Diagnostic {
    let feature = solid.feature(id);
    let bar = match (stock.shape, stock.size) {
        (shape, Some(size)) => format!("{} bar of {size}", shape_word(shape), size = solid.say(size)),
        (shape, None) => format!("{} bar", shape_word(shape)),
    };
    let message = format!(
        "`{}` is left as bought at {} {size}, but the stock is {bar}",
        feature.name,
        kind_word(&feature.kind),
        size = solid.say(size)
    );
    Diagnostic::error("as-stock-differs", place, message)
        .also(stock.place, "the stock asked for")
        .help("give both the same shape and size, or take `as-stock` away so that the surface is cut")
}

fn shape_word(shape: BarShape) -> &'static str {
    match shape {
        BarShape::Round => "round",
        BarShape::Hex => "hex",
        BarShape::Square => "square",
        BarShape::Tube => "tube",
        BarShape::Profile => "profile",
    }
}

/// A tube is hollow all along: the part must be so too, and at least as wide.
fn tube(solid: &Solid, stock: &StockWish, bore: Length, out: &mut Vec<Diagnostic>) {
    let length = solid.part.length.nominal;
    let mut wide: Vec<Zone> =
        solid.inside.iter().filter(|s| s.start_radius.min(s.end_radius) * 2.0 >= bore - NEAR).map(|s| s.zone).collect();
    wide.sort_by(|a, b| a.start.total_cmp(&b.start));
    let mut reach = Length::ZERO;
    for zone in wide {
        if zone.start <= reach + NEAR {
            reach = reach.max(zone.end);
        }
    }
    if reach < length - NEAR {
        let message = format!(
            "the tube is hollow to dia {bore}, but at z {reach} the part has metal inside of that",
            bore = solid.say(bore),
            reach = solid.say(reach)
        );
        out.push(
            Diagnostic::error("tube-too-hollow", stock.place, message)
                .help("take a tube with a bore no larger than the part's smallest through bore, or solid bar"),
        );
    }
}

#[cfg(test)]
mod tests {
    use super::super::bench::*;
    use crate::model::Place;
    use crate::model::part::*;
    use crate::quantity::Angle;

    fn none() -> Vec<&'static str> {
        Vec::new()
    }

    fn stocked(shape: BarShape, size: f64, features: Vec<Feature>) -> Part {
        let mut p = part(20.0, features);
        p.stock = Some(StockWish {
            shape,
            size: Some(mm(size)),
            bore: Some(mm(6.0)),
            grade: None,
            finish: None,
            straightness: None,
            coil: false,
            place: Place::default(),
        });
        p
    }

    #[test]
    fn everything_lies_within_the_bar() {
        let round = |dia| stocked(BarShape::Round, 10.0, vec![turn("a", dia, 0.0, 20.0)]);
        assert_eq!(codes(&round(10.0)), none());
        assert_eq!(codes(&round(10.01)), ["outside-stock"]);
        let hex = |dia| stocked(BarShape::Hex, 10.0, vec![turn("a", dia, 0.0, 20.0)]);
        assert_eq!(codes(&hex(11.5)), none(), "the corners of hex 10 measure 11.547");
        assert_eq!(codes(&hex(11.6)), ["outside-stock"]);
        let cam = |offset| {
            let mut t = turn("a", 8.0, 0.0, 20.0);
            if let Kind::Turn(t) = &mut t.kind {
                t.offset = Some((size(offset), Angle::ZERO));
            }
            stocked(BarShape::Round, 10.0, vec![t])
        };
        assert_eq!(codes(&cam(1.0)), none());
        assert_eq!(codes(&cam(1.01)), ["outside-stock"]);
        let tube = |dia| stocked(BarShape::Tube, 10.0, vec![turn("a", 10.0, 0.0, 20.0), bore("b", dia, 0.0, 20.0)]);
        assert_eq!(codes(&tube(6.0)), none());
        assert_eq!(codes(&tube(5.9)), ["tube-too-hollow"]);
    }

    #[test]
    fn surfaces_left_as_bought_have_the_size_of_the_bar() {
        let hex = |shape, across| {
            let p =
                Polygon { sides: 6, across: size(across), zone: zone(0.0, 20.0), as_stock: true, corners_cut: false };
            stocked(shape, 24.0, vec![feature("h", Kind::Polygon(p))])
        };
        assert_eq!(codes(&hex(BarShape::Hex, 24.0)), none());
        assert_eq!(codes(&hex(BarShape::Hex, 22.0)), ["as-stock-differs"]);
        assert_eq!(codes(&hex(BarShape::Round, 24.0)), ["as-stock-differs"]);
        let round = |dia| {
            let mut t = turn("a", dia, 0.0, 20.0);
            if let Kind::Turn(t) = &mut t.kind {
                t.as_stock = true;
            }
            stocked(BarShape::Round, 10.0, vec![t])
        };
        assert_eq!(codes(&round(10.0)), none());
        assert_eq!(codes(&round(9.9)), ["as-stock-differs"]);
    }
}
