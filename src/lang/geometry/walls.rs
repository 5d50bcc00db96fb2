//! What is left between the surfaces inside and those outside, and bores against each other.

use super::solid::{Solid, Surface, kind_word};
use super::{LEAST_WALL, NEAR};
use crate::lang::Diagnostic;
use crate::model::part::{Bore, Chamfer, End, Feature, FeatureId, Kind, Zone};
use crate::quantity::Length;

pub(super) fn check(solid: &Solid, out: &mut Vec<Diagnostic>) {
    for inner in &solid.inside {
        thinnest(solid, inner, out);
    }
    for (id, feature) in solid.part.features.iter().enumerate() {
        match &feature.kind {
            Kind::Bore(b) => {
                without_surface(solid, id, b, out);
                web(solid, id, b, out);
            }
            Kind::Chamfer(c) if c.inside => inside_chamfer(solid, feature, c, out),
            _ => {}
        }
    }
}

/// The least wall outside one surface, over everything that cuts the part down from outside.
fn thinnest(solid: &Solid, inner: &Surface, out: &mut Vec<Diagnostic>) {
    let mut worst: Option<(Length, &Surface, Length)> = None;
    for outer in &solid.outside {
        let (start, end) = (inner.zone.start.max(outer.zone.start), inner.zone.end.min(outer.zone.end));
        if end - start <= NEAR {
            continue;
        }
        // Both surfaces are straight in z: the least wall is at an end of what they share.
        for z in [start, end] {
            let wall = outer.radius_at(z) - inner.radius_at(z);
            if worst.is_none_or(|(w, ..)| wall < w) {
                worst = Some((wall, outer, z));
            }
        }
    }
    let Some((wall, outer, z)) = worst.filter(|(w, ..)| *w < LEAST_WALL - NEAR) else { return };
    let (a, b) = (solid.feature(inner.feature), solid.feature(outer.feature));
    let (reach, left) = (inner.radius_at(z), outer.radius_at(z));
    let place = size_place(a);
    let sides = format!(
        "`{}` reaches {reach} from the axis and `{}` leaves {left} at z {z}",
        a.name,
        b.name,
        reach = solid.say(reach),
        left = solid.say(left),
        z = solid.say(z)
    );
    let finding = match (&a.kind, wall <= NEAR) {
        (Kind::Socket(s), true) => {
            let at_face = inner.zone.overlap(&outer.zone) > NEAR
                && match s.from {
                    End::Front => outer.zone.start <= NEAR,
                    End::Back => outer.zone.end >= solid.part.length.nominal - NEAR,
                };
            if at_face {
                Diagnostic::error("socket-wider-than-face", place, format!("no room for the drive: {sides}"))
                    .help("take a smaller drive or a larger head")
            } else {
                Diagnostic::error("socket-deeper-than-head", place, format!("the drive breaks out: {sides}")).help(
                    format!("keep its depth within the head, under {}", solid.say(depth_to(solid, s.from, outer.zone))),
                )
            }
        }
        // A sculpted surface may be meant to open what lies beneath it.
        (_, true) if matches!(b.kind, Kind::Contour(_)) => {
            Diagnostic::warning("bore-through-wall", place, format!("no wall is left: {sides}"))
                .help("make the cut less deep where it is not meant to open the bore")
        }
        (_, true) => Diagnostic::error("bore-through-wall", place, format!("no wall is left: {sides}"))
            .help("make the inside smaller, the outside larger, or end the deeper one earlier"),
        (_, false) => Diagnostic::warning(
            "thin-wall",
            place,
            format!("only {wall} of wall is left: {sides}", wall = solid.say(wall)),
        )
        .help(format!(
            "leave at least {LEAST_WALL} (common practice), or expect it to give under the tool",
            LEAST_WALL = solid.say(LEAST_WALL)
        )),
    };
    out.push(finding.also(b.place, format!("`{}`", b.name)));
}

fn depth_to(solid: &Solid, from: End, zone: Zone) -> Length {
    match from {
        End::Front => zone.start,
        End::Back => solid.part.length.nominal - zone.end,
    }
}

fn size_place(feature: &Feature) -> crate::model::Place {
    match &feature.kind {
        Kind::Bore(b) => b.dia.place,
        Kind::Groove(g) => g.dia.place,
        Kind::Undercut(u) => u.dia.place,
        _ => feature.place,
    }
}

/// A bore that lies wholly within a larger one makes no surface.
fn without_surface(solid: &Solid, id: FeatureId, bore: &Bore, out: &mut Vec<Diagnostic>) {
    let feature = solid.feature(id);
    for (other, f) in solid.part.features.iter().enumerate() {
        let Kind::Bore(wide) = &f.kind else { continue };
        let covers = wide.zone.start <= bore.zone.start + NEAR && wide.zone.end >= bore.zone.end - NEAR;
        let same = (wide.dia.nominal - bore.dia.nominal).abs() <= NEAR
            && (wide.zone.start - bore.zone.start).abs() <= NEAR
            && (wide.zone.end - bore.zone.end).abs() <= NEAR;
        if other == id || !covers || wide.dia.nominal < bore.dia.nominal - NEAR || (same && other > id) {
            continue;
        }
        let message = format!(
            "`{}` of dia {} lies wholly within `{}` of dia {}",
            feature.name,
            solid.say(bore.dia.nominal),
            f.name,
            solid.say(wide.dia.nominal)
        );
        out.push(
            Diagnostic::error("bore-without-surface", feature.place, message)
                .also(
                    f.place,
                    format!("dia {}, z {}", solid.say(wide.dia.nominal), solid.span(wide.zone.start, wide.zone.end)),
                )
                .help("leave one of them out, or let the smaller one run deeper"),
        );
        return;
    }
}

/// The web between two blind bores from the two ends.
fn web(solid: &Solid, id: FeatureId, bore: &Bore, out: &mut Vec<Diagnostic>) {
    if bore.from != End::Front || bore.through {
        return;
    }
    for f in &solid.part.features {
        let Kind::Bore(back) = &f.kind else { continue };
        let left = back.zone.start - bore.zone.end;
        let joined = solid.inside.iter().any(|s| {
            s.feature != id
                && s.zone.start <= bore.zone.end + NEAR
                && s.zone.end >= back.zone.start - NEAR
                && s.zone.start < bore.zone.end + left / 2.0
                && s.zone.end > bore.zone.end + left / 2.0
        });
        if back.from == End::Back && left > NEAR && left < LEAST_WALL - NEAR && !joined {
            let feature = solid.feature(id);
            let message = format!(
                "`{}` ends at z {} and `{}` at z {}: a web of {left} stays between them",
                feature.name,
                solid.say(bore.zone.end),
                f.name,
                solid.say(back.zone.start),
                left = solid.say(left)
            );
            out.push(
                Diagnostic::warning("thin-web", feature.place, message).also(f.place, format!("`{}`", f.name)).help(
                    format!(
                        "let them meet, or leave at least {LEAST_WALL} (common practice)",
                        LEAST_WALL = solid.say(LEAST_WALL)
                    ),
                ),
            );
        }
    }
}

fn inside_chamfer(solid: &Solid, feature: &Feature, chamfer: &Chamfer, out: &mut Vec<Diagnostic>) {
    let near = |z: Length| (z - chamfer.at).abs() <= NEAR;
    let edge = solid.inside.iter().filter(|s| near(s.zone.start) || near(s.zone.end));
    let Some(bore) = edge.max_by(|a, b| a.radius_at(chamfer.at).total_cmp(&b.radius_at(chamfer.at))) else {
        let message = format!("`{}` is inside at z {}, where no bore has an edge", feature.name, solid.say(chamfer.at));
        out.push(
            Diagnostic::warning("no-corner-there", feature.place, message)
                .help("put it at the z where a bore begins or ends"),
        );
        return;
    };
    let radial = chamfer.width * libm::tan(chamfer.angle.to_deg().to_radians());
    let Some(outer) = solid.largest_at(chamfer.at).map(|s| s.dia_at(chamfer.at) / 2.0) else { return };
    let room = outer - bore.radius_at(chamfer.at);
    let name = &solid.feature(bore.feature).name;
    let word = kind_word(&solid.feature(bore.feature).kind);
    let (needed, room, what) = if radial > room + NEAR {
        (radial, room, format!("the wall outside {word} `{name}`"))
    } else if chamfer.width > bore.zone.length() + NEAR {
        (chamfer.width, bore.zone.length(), format!("the length of {word} `{name}`"))
    } else {
        return;
    };
    let message = format!(
        "the chamfer at z {} takes {needed}, more than {what}, {room}",
        solid.say(chamfer.at),
        needed = solid.say(needed),
        room = solid.say(room)
    );
    out.push(
        Diagnostic::error("corner-too-large", feature.place, message)
            .also(solid.feature(bore.feature).place, format!("`{name}`"))
            .help(format!("make the chamfer at most {room} there", room = solid.say(room))),
    );
}

#[cfg(test)]
mod tests {
    use super::super::bench::*;
    use crate::model::part::*;
    use crate::quantity::Angle;

    fn none() -> Vec<&'static str> {
        Vec::new()
    }

    #[test]
    fn a_bore_leaves_a_wall() {
        let with = |dia| part(20.0, vec![turn("a", 8.0, 0.0, 20.0), bore("b", dia, 0.0, 10.0)]);
        assert_eq!(codes(&with(7.4)), none());
        assert_eq!(codes(&with(7.41)), ["thin-wall"]);
        assert_eq!(codes(&with(8.0)), ["bore-through-wall"]);
        let text = &found(&with(9.0))[0].message;
        assert_eq!(text, "no wall is left: `b` reaches 4.5 mm from the axis and `a` leaves 4 mm at z 0 mm");
    }

    #[test]
    fn grooves_flats_threads_and_keyways_thin_the_wall() {
        let with = |f: Feature| part(20.0, vec![turn("a", 8.0, 0.0, 20.0), bore("b", 5.0, 0.0, 20.0), f]);
        assert_eq!(codes(&with(groove("g", 5.6, 4.0, 6.0))), none());
        assert_eq!(codes(&with(groove("g", 5.5, 4.0, 6.0))), ["thin-wall"]);
        assert_eq!(codes(&with(groove("g", 5.0, 4.0, 6.0))), ["bore-through-wall"]);
        let flat = |from_axis| {
            let flat =
                Flat { from_axis: size(from_axis), zone: zone(4.0, 6.0), clock: Angle::ZERO, count: 1, finish: None };
            feature("f", Kind::Flat(flat))
        };
        assert_eq!(codes(&with(flat(2.8))), none());
        assert_eq!(codes(&with(flat(2.5))), ["bore-through-wall"]);
        let key = |depth| {
            let key = Keyway { width: size(2.0), depth: mm(depth), zone: zone(4.0, 9.0), clock: Angle::ZERO };
            feature("k", Kind::Keyway(key))
        };
        assert_eq!(codes(&with(key(1.2))), none());
        assert_eq!(codes(&with(key(1.5))), ["bore-through-wall"]);
        assert_eq!(codes(&with(feature("t", Kind::Thread(thread(8.0, 1.25, 4.0, 9.0))))), none());
        assert_eq!(codes(&with(feature("t", Kind::Thread(thread(8.0, 2.0, 4.0, 9.0))))), ["thin-wall"]);
    }

    #[test]
    fn an_eccentric_is_thin_on_one_side() {
        let mut cam = turn("cam", 8.0, 0.0, 20.0);
        if let Kind::Turn(t) = &mut cam.kind {
            t.offset = Some((size(1.0), Angle::ZERO));
        }
        let with = |dia| part(20.0, vec![cam.clone(), bore("b", dia, 0.0, 20.0)]);
        assert_eq!(codes(&with(5.4)), none());
        assert_eq!(codes(&with(6.0)), ["bore-through-wall"]);
    }

    #[test]
    fn a_drive_stays_within_its_head() {
        let with = |across, depth| {
            let s = Socket { shape: SocketShape::Hex(size(across)), depth: mm(depth), from: End::Front };
            let f = vec![turn("head", 6.0, 0.0, 2.5), turn("shank", 3.0, 2.5, 20.0), feature("s", Kind::Socket(s))];
            part(20.0, f)
        };
        assert_eq!(codes(&with(3.0, 2.5)), none());
        assert_eq!(codes(&with(3.0, 2.51)), ["socket-deeper-than-head"]);
        assert_eq!(codes(&with(5.3, 2.0)), ["socket-wider-than-face"], "6.12 over its corners");
        let remedy = found(&with(3.0, 2.6))[0].help.clone();
        assert_eq!(remedy.as_deref(), Some("keep its depth within the head, under 2.5 mm"));
    }

    #[test]
    fn a_bore_makes_a_surface_of_its_own() {
        let with = |inner: Feature| part(20.0, vec![turn("a", 20.0, 0.0, 20.0), bore("b", 8.0, 0.0, 10.0), inner]);
        assert_eq!(codes(&with(bore("s", 6.0, 0.0, 12.0))), none());
        assert_eq!(codes(&with(bore("s", 6.0, 0.0, 10.0))), ["bore-without-surface"]);
        assert_eq!(codes(&with(bore("s", 8.0, 0.0, 10.0))), ["bore-without-surface"]);
        assert_eq!(codes(&with(bore("s", 10.0, 0.0, 4.0))), none());
    }

    #[test]
    fn a_web_between_two_bores_is_no_foil() {
        let with = |start| {
            part(20.0, vec![turn("a", 20.0, 0.0, 20.0), bore("b", 8.0, 0.0, 10.0), bore("c", 6.0, start, 20.0)])
        };
        assert_eq!(codes(&with(10.0)), none(), "they meet");
        assert_eq!(codes(&with(10.2)), ["thin-web"]);
        assert_eq!(codes(&with(10.3)), none());
    }

    #[test]
    fn an_inside_chamfer_needs_an_edge_and_a_wall() {
        let with = |at, width| {
            let c = Chamfer { width: mm(width), angle: Angle::deg(45.0), at: mm(at), inside: true };
            part(20.0, vec![turn("a", 10.0, 0.0, 20.0), bore("b", 8.0, 0.0, 10.0), feature("c", Kind::Chamfer(c))])
        };
        assert_eq!(codes(&with(0.0, 0.5)), none());
        assert_eq!(codes(&with(0.0, 1.01)), ["corner-too-large"]);
        assert_eq!(codes(&with(5.0, 0.5)), ["no-corner-there"]);
    }
}
