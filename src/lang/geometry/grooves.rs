//! Grooves and undercuts against the surfaces beside and above them.

use super::solid::{Solid, kind_word};
use super::{LEAST_WALL, NEAR};
use crate::lang::Diagnostic;
use crate::model::Place;
use crate::model::part::{FeatureId, Groove, GrooveSide, Kind, Zone};
use crate::quantity::Length;

pub(super) fn check(solid: &Solid, out: &mut Vec<Diagnostic>) {
    for id in 0..solid.part.features.len() {
        cut_below(solid, id, out);
    }
}

/// A groove or undercut must lie below a surface beside or above it.
fn cut_below(solid: &Solid, id: FeatureId, out: &mut Vec<Diagnostic>) {
    let feature = solid.feature(id);
    let (dia, zone, inside) = match &feature.kind {
        Kind::Groove(g) => {
            groove_radius(solid, id, g, out);
            match g.side {
                GrooveSide::External => (&g.dia, g.zone, false),
                GrooveSide::Internal => (&g.dia, g.zone, true),
                GrooveSide::Face(_) => return face_groove(solid, id, g, out),
            }
        }
        Kind::Undercut(u) => (&u.dia, u.zone, u.inside),
        _ => return,
    };
    let wide = Zone { start: zone.start - NEAR * 3.0, end: zone.end + NEAR * 3.0 };
    if inside {
        let walls: Vec<_> =
            solid.inside.iter().filter(|s| s.feature != id && s.zone.overlap(&wide) > NEAR).copied().collect();
        let Some(narrow) = walls.iter().min_by(|a, b| a.start_radius.total_cmp(&b.start_radius)) else {
            let message =
                format!("`{}` is inside, but nothing is bored at z {}", feature.name, solid.span(zone.start, zone.end));
            out.push(
                Diagnostic::error("groove-without-bore", feature.place, message)
                    .help("add the bore, or move it to a z where the bore reaches"),
            );
            return;
        };
        let above = narrow.start_radius.min(narrow.end_radius) * 2.0;
        if dia.nominal <= above + NEAR {
            out.push(no_deeper(solid, id, dia.place, dia.nominal, narrow.feature, above, "larger"));
        }
        return;
    }
    let beside = solid.row.iter().filter(|s| s.feature != id && s.zone.overlap(&wide) > NEAR);
    if let Some(largest) = beside.max_by(|a, b| a.largest().total_cmp(&b.largest()))
        && dia.nominal >= largest.largest() - NEAR
    {
        out.push(no_deeper(solid, id, dia.place, dia.nominal, largest.feature, largest.largest(), "smaller"));
    }
}

fn no_deeper(
    solid: &Solid,
    id: FeatureId,
    place: Place,
    dia: Length,
    other: FeatureId,
    above: Length,
    way: &str,
) -> Diagnostic {
    let (feature, other) = (solid.feature(id), solid.feature(other));
    let word = kind_word(&feature.kind);
    let message = format!(
        "`{}` at dia {dia} cuts nothing: `{}` has dia {above} there",
        feature.name,
        other.name,
        dia = solid.say(dia),
        above = solid.say(above)
    );
    Diagnostic::error("cut-no-deeper", place, message)
        .also(other.place, format!("dia {above}", above = solid.say(above)))
        .help(format!("a {word} here needs a diameter {way} than {above}", above = solid.say(above)))
}

fn groove_radius(solid: &Solid, id: FeatureId, groove: &Groove, out: &mut Vec<Diagnostic>) {
    let width = match (groove.side, &groove.outer_dia) {
        (GrooveSide::Face(_), Some(outer)) => (outer.nominal - groove.dia.nominal) / 2.0,
        _ => groove.zone.length(),
    };
    if let Some(radius) = groove.corner_radius
        && radius > width / 2.0 + NEAR
    {
        let feature = solid.feature(id);
        let message = format!(
            "`{}` is {width} wide, too narrow for corners of radius {radius}",
            feature.name,
            width = solid.say(width),
            radius = solid.say(radius)
        );
        out.push(
            Diagnostic::error("groove-radius-too-large", feature.place, message)
                .help(format!("the radius is at most half the width, {}", solid.say(width / 2.0))),
        );
    }
}

fn face_groove(solid: &Solid, id: FeatureId, groove: &Groove, out: &mut Vec<Diagnostic>) {
    let (feature, Some(outer)) = (solid.feature(id), &groove.outer_dia) else { return };
    if outer.nominal <= groove.dia.nominal + NEAR {
        let message = format!(
            "`{}` runs from dia {} out to dia {}, which leaves no width",
            feature.name,
            solid.say(groove.dia.nominal),
            solid.say(outer.nominal)
        );
        out.push(
            Diagnostic::error("face-groove-without-width", outer.place, message)
                .help("give the smaller and the larger diameter of the groove"),
        );
        return;
    }
    let rim = solid.under(groove.zone).min_by(|a, b| a.smallest().total_cmp(&b.smallest()));
    if let Some(rim) = rim.filter(|r| r.smallest() / 2.0 < outer.nominal / 2.0 + NEAR) {
        let message = format!(
            "`{}` reaches dia {}, but `{}` ends at dia {}",
            feature.name,
            solid.say(outer.nominal),
            solid.feature(rim.feature).name,
            solid.say(rim.smallest())
        );
        out.push(
            Diagnostic::error("face-groove-off-face", outer.place, message)
                .also(solid.feature(rim.feature).place, format!("dia {}", solid.say(rim.smallest())))
                .help(format!("keep its larger diameter under {}", solid.say(rim.smallest() - LEAST_WALL * 2.0))),
        );
    }
    let bored = solid.hollow(groove.zone).max_by(|a, b| a.start_radius.total_cmp(&b.start_radius));
    if let Some(bore) = bored.filter(|b| b.start_radius.max(b.end_radius) > groove.dia.nominal / 2.0 - NEAR) {
        let width = bore.start_radius.max(bore.end_radius) * 2.0;
        let name = &solid.feature(bore.feature).name;
        let message = format!(
            "`{}` begins at dia {}, inside `{name}` of dia {width}",
            feature.name,
            solid.say(groove.dia.nominal),
            width = solid.say(width)
        );
        out.push(
            Diagnostic::error("face-groove-off-face", groove.dia.place, message)
                .also(solid.feature(bore.feature).place, format!("dia {width}", width = solid.say(width)))
                .help(format!("keep its smaller diameter over {}", solid.say(width + LEAST_WALL * 2.0))),
        );
    }
}

#[cfg(test)]
mod tests {
    use super::super::bench::*;
    use crate::model::part::*;

    fn none() -> Vec<&'static str> {
        Vec::new()
    }

    #[test]
    fn grooves_stand_alone_or_lie_within() {
        let row = |groove| part(20.0, vec![turn("a", 8.0, 0.0, 8.0), groove, turn("b", 8.0, 12.0, 20.0)]);
        assert_eq!(codes(&row(groove("g", 5.0, 8.0, 12.0))), none());
        assert_eq!(codes(&row(groove("g", 8.0, 8.0, 12.0))), ["cut-no-deeper"]);
        assert_eq!(codes(&row(groove("g", 5.0, 7.0, 12.0))), ["overlapping-segments"]);
        let within = |dia, start, end| {
            part(20.0, vec![turn("a", 8.0, 0.0, 10.0), turn("b", 9.0, 10.0, 20.0), groove("g", dia, start, end)])
        };
        assert_eq!(codes(&within(5.0, 2.0, 4.0)), none());
        assert_eq!(codes(&within(5.0, 9.0, 11.0)), none(), "across a border, but covered on both sides");
        assert_eq!(codes(&within(8.0, 2.0, 4.0)), ["cut-no-deeper"]);
    }

    #[test]
    fn groove_corners_fit_its_width() {
        let with = |radius| {
            let mut g = groove("g", 5.0, 4.0, 6.0);
            if let Kind::Groove(g) = &mut g.kind {
                g.corner_radius = Some(mm(radius));
            }
            part(20.0, vec![turn("a", 8.0, 0.0, 20.0), g])
        };
        assert_eq!(codes(&with(1.0)), none());
        assert_eq!(codes(&with(1.01)), ["groove-radius-too-large"]);
    }

    #[test]
    fn face_grooves_lie_in_their_face() {
        let with = |inner, outer| {
            let mut g = groove("g", inner, 0.0, 1.0);
            if let Kind::Groove(g) = &mut g.kind {
                g.side = GrooveSide::Face(End::Front);
                g.outer_dia = Some(size(outer));
            }
            part(20.0, vec![turn("a", 20.0, 0.0, 20.0), bore("b", 8.0, 0.0, 5.0), g])
        };
        assert_eq!(codes(&with(12.0, 16.0)), none());
        assert_eq!(codes(&with(12.0, 12.0)), ["face-groove-without-width"]);
        assert_eq!(codes(&with(12.0, 20.0)), ["face-groove-off-face"]);
        assert_eq!(codes(&with(8.0, 12.0)), ["face-groove-off-face"]);
    }

    fn inner_groove(dia: f64, start: f64, end: f64) -> Feature {
        let mut g = groove("g", dia, start, end);
        if let Kind::Groove(g) = &mut g.kind {
            g.side = GrooveSide::Internal;
        }
        g
    }

    #[test]
    fn inner_grooves_need_a_bore() {
        let with = |g| part(20.0, vec![turn("a", 20.0, 0.0, 20.0), bore("b", 8.0, 0.0, 10.0), g]);
        assert_eq!(codes(&with(inner_groove(9.0, 4.0, 6.0))), none());
        assert_eq!(codes(&with(inner_groove(8.0, 4.0, 6.0))), ["cut-no-deeper"]);
        assert_eq!(codes(&with(inner_groove(9.0, 12.0, 14.0))), ["groove-without-bore"]);
    }
}
