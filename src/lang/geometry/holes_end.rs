//! Holes parallel to the axis, on a circle in an end face or a shoulder.

use super::NEAR;
use super::holes::least_ligament;
use super::solid::Solid;
use crate::lang::Diagnostic;
use crate::model::part::{End, Feature, Hole, Kind, Zone};
use crate::quantity::Length;

/// A hole as it lies in its face.
struct Ring {
    /// Of its pitch circle.
    circle: Length,
    /// Its nearest and farthest distance from the axis.
    inner: Length,
    outer: Length,
}

pub(super) fn check(solid: &Solid, feature: &Feature, hole: &Hole, out: &mut Vec<Diagnostic>) {
    let circle = hole.circle.unwrap_or(hole.offset.abs() * 2.0);
    if circle <= NEAR {
        let message = format!("`{}` is parallel to the axis but does not say on which circle", feature.name);
        out.push(
            Diagnostic::error("end-hole-without-circle", feature.place, message)
                .help("write `angle 0 deg on circle 20 mm`, or `bore` for a hole on the axis"),
        );
        return;
    }
    let radius = hole.dia.nominal / 2.0;
    let ring = Ring { circle, inner: circle / 2.0 - radius, outer: circle / 2.0 + radius };
    face(solid, feature, hole, &ring, out);
    if hole.count > 1 {
        let chord = circle * libm::sin(std::f64::consts::PI / f64::from(hole.count));
        super::holes::pattern(
            solid,
            feature,
            hole,
            chord,
            format!("the circle of {circle}", circle = solid.say(circle)),
            out,
        );
    }
    into(solid, feature, hole, &ring, out);
}

/// The stretch of z that it is drilled through.
fn drilled(solid: &Solid, hole: &Hole) -> Zone {
    let length = solid.part.length.nominal;
    match (hole.opens, hole.depth.filter(|_| !hole.through)) {
        (End::Front, Some(depth)) => Zone { start: hole.at, end: (hole.at + depth).min(length) },
        (End::Back, Some(depth)) => Zone { start: (hole.at - depth).max(Length::ZERO), end: hole.at },
        (End::Front, None) => Zone { start: hole.at, end: length },
        (End::Back, None) => Zone { start: Length::ZERO, end: hole.at },
    }
}

fn face(solid: &Solid, feature: &Feature, hole: &Hole, ring: &Ring, out: &mut Vec<Diagnostic>) {
    // The segment that it is drilled into at its mouth.
    let drilled = drilled(solid, hole);
    let first = match hole.opens {
        End::Front => solid.row.iter().find(|s| s.zone.end > drilled.start + NEAR),
        End::Back => solid.row.iter().rev().find(|s| s.zone.start < drilled.end - NEAR),
    };
    let Some(rim) = first else { return };
    let under = solid.feature(rim.feature);
    let dia = rim.dia_at(hole.at);
    let edge = dia / 2.0 - ring.outer;
    if edge <= NEAR {
        let message = format!(
            "`{}` reaches {} from the axis on its circle of {}, but `{}` ends at {}",
            feature.name,
            solid.say(ring.outer),
            solid.say(ring.circle),
            under.name,
            solid.say(dia / 2.0)
        );
        out.push(
            Diagnostic::error("hole-off-face", feature.place, message)
                .also(under.place, format!("dia {dia}", dia = solid.say(dia)))
                .help(format!(
                    "take a circle under {}",
                    solid.say(ring.circle + (edge - least_ligament(hole.dia.nominal)) * 2.0)
                )),
        );
        return;
    }
    thin(solid, feature, under, edge, "the rim of", out);
    if let Some(depth) = hole.depth.filter(|d| !hole.through && *d > drilled.end - drilled.start + NEAR) {
        let room = drilled.end - drilled.start;
        let message =
            format!("`{}` is {} deep and comes out again after {}", feature.name, solid.say(depth), solid.say(room));
        out.push(
            Diagnostic::warning("hole-comes-out", feature.place, message).help("write `through` where that is meant"),
        );
        return;
    }
    // Further in, a blind hole may break out where the part becomes thinner.
    if hole.depth.is_some() && !hole.through {
        let thinner =
            solid.under(drilled).find(|s| s.feature != rim.feature && s.smallest() / 2.0 <= ring.outer + NEAR);
        if let Some(segment) = thinner {
            let f = solid.feature(segment.feature);
            let message = format!(
                "`{}` runs z {} and breaks out at `{}`, whose radius is {}",
                feature.name,
                solid.span(drilled.start, drilled.end),
                f.name,
                solid.say(segment.smallest() / 2.0)
            );
            out.push(
                Diagnostic::warning("hole-comes-out", feature.place, message)
                    .also(f.place, format!("dia {}", solid.say(segment.smallest())))
                    .help("write `through` where that is meant, or make it less deep"),
            );
        }
    }
    let bored = solid.hollow(drilled).filter(|s| Some(s.feature) != hole.into);
    let Some(bore) = bored.max_by(|a, b| a.start_radius.max(a.end_radius).total_cmp(&b.start_radius.max(b.end_radius)))
    else {
        return;
    };
    let wide = bore.start_radius.max(bore.end_radius);
    let (f, wall) = (solid.feature(bore.feature), ring.inner - wide);
    let beyond = ring.inner >= solid.under(bore.zone).map(|s| s.largest() / 2.0).fold(Length::ZERO, Length::max);
    if beyond {
        return; // it has left the metal before it comes to that bore
    }
    if wall <= NEAR {
        let message = format!(
            "`{}` comes within {} of the axis on its circle of {}, but `{}` is hollow to {wide}",
            feature.name,
            solid.say(ring.inner),
            solid.say(ring.circle),
            f.name,
            wide = solid.say(wide)
        );
        out.push(
            Diagnostic::error("hole-off-face", feature.place, message)
                .also(f.place, format!("dia {}", solid.say(wide * 2.0)))
                .help(format!(
                    "take a circle over {}",
                    solid.say(ring.circle + (least_ligament(hole.dia.nominal) - wall) * 2.0)
                )),
        );
    } else {
        thin(solid, feature, f, wall, "", out);
    }
}

fn thin(solid: &Solid, feature: &Feature, other: &Feature, wall: Length, what: &str, out: &mut Vec<Diagnostic>) {
    let Kind::Hole(hole) = &feature.kind else { return };
    let least = least_ligament(hole.dia.nominal);
    if wall < least - NEAR {
        let gap = if what.is_empty() { "" } else { " " };
        let message = format!(
            "only {wall} is left between `{}` and {what}{gap}`{}`",
            feature.name,
            other.name,
            wall = solid.say(wall)
        );
        out.push(
            Diagnostic::warning("thin-ligament", feature.place, message)
                .also(other.place, format!("`{}`", other.name))
                .help(format!("leave at least {least} (common practice)", least = solid.say(least))),
        );
    }
}

fn into(solid: &Solid, feature: &Feature, hole: &Hole, ring: &Ring, out: &mut Vec<Diagnostic>) {
    let Some(target) = hole.into else { return };
    let f = solid.feature(target);
    let way = drilled(solid, hole);
    let (sides, zone) = match &f.kind {
        Kind::Groove(g) => {
            let outer = g.outer_dia.as_ref().map(|d| d.nominal / 2.0);
            let (low, high) = match g.side {
                crate::model::part::GrooveSide::Internal => (Length::ZERO, g.dia.nominal / 2.0),
                _ => (g.dia.nominal / 2.0, outer.unwrap_or(Length::mm(f64::MAX))),
            };
            let apart = ring.outer <= low + NEAR || ring.inner >= high - NEAR;
            (
                apart.then(|| {
                    format!(
                        "it lies {} from the axis, the groove's bottom at {}",
                        solid.span(ring.inner, ring.outer),
                        solid.say(g.dia.nominal / 2.0)
                    )
                }),
                g.zone,
            )
        }
        _ => match solid.inside.iter().find(|s| s.feature == target) {
            Some(s) => {
                let wide = s.start_radius.max(s.end_radius);
                let apart = ring.inner >= wide - NEAR;
                (
                    apart.then(|| {
                        format!(
                            "it comes within {} of the axis, but `{}` reaches {wide}",
                            solid.say(ring.inner),
                            f.name,
                            wide = solid.say(wide)
                        )
                    }),
                    s.zone,
                )
            }
            None => return,
        },
    };
    let sides = sides.or_else(|| {
        (way.overlap(&zone) <= -NEAR).then(|| {
            format!("it runs z {}, `{}` z {}", solid.span(way.start, way.end), f.name, solid.span(zone.start, zone.end))
        })
    });
    if let Some(sides) = sides {
        let message = format!("`{}` does not meet `{}`: {sides}", feature.name, f.name);
        out.push(
            Diagnostic::error("hole-misses-bore", feature.place, message)
                .also(f.place, format!("`{}`", f.name))
                .help("change its circle or depth, or name what it ends in"),
        );
    }
}
