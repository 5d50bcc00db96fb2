//! Holes that are not on the axis: where their mouths lie, what they end in, what stays between them.

use super::solid::{Solid, kind_word};
use super::{LEAST_WALL, NEAR};
use crate::lang::Diagnostic;
use crate::model::part::{End, Feature, FeatureId, Hole, Kind, Zone};
use crate::quantity::Length;

/// Holes more nearly parallel to the axis than this are end holes.
const END_HOLE_DEG: f64 = 1e-6;

/// The least ligament: an absolute wall, or a share of the hole; common practice, no source.
pub(super) fn least_ligament(dia: Length) -> Length {
    LEAST_WALL.max(dia * 0.1)
}

pub(super) fn check(solid: &Solid, out: &mut Vec<Diagnostic>) {
    let mut mouths: Vec<Mouth> = Vec::new();
    for (id, feature) in solid.part.features.iter().enumerate() {
        let Kind::Hole(hole) = &feature.kind else { continue };
        let length = solid.part.length.nominal;
        if hole.at < -NEAR || hole.at > length + NEAR {
            continue; // said by the check of the length
        }
        ends(solid, feature, hole, out);
        if hole.angle.value.to_deg() <= END_HOLE_DEG {
            super::holes_end::check(solid, feature, hole, out);
            continue;
        }
        let Some(mouth) = mouth(solid, id, feature, hole, out) else { continue };
        meets(solid, feature, hole, &mouth, out);
        around(solid, feature, hole, &mouth, out);
        for other in &mouths {
            between(solid, other, &mouth, out);
        }
        mouths.push(mouth);
    }
}

/// A hole says how it ends, and what it ends in can be met at all.
fn ends(solid: &Solid, feature: &Feature, hole: &Hole, out: &mut Vec<Diagnostic>) {
    if hole.into.is_none() && !hole.through && hole.depth.is_none() {
        let message = format!("`{}` does not say where it ends", feature.name);
        out.push(
            Diagnostic::error("hole-without-end", feature.place, message)
                .help("add `through`, `depth 3 mm`, or `into` and the name of a bore or groove"),
        );
    }
    let Some(target) = hole.into else { return };
    let f = solid.feature(target);
    let hollow = match &f.kind {
        Kind::Bore(_) | Kind::Groove(_) => true,
        Kind::Taper(t) => t.internal,
        Kind::Undercut(u) => u.inside,
        Kind::Thread(t) => t.internal,
        Kind::Hole(_) | Kind::Slot(_) | Kind::Socket(_) => true,
        _ => false,
    };
    if !hollow {
        let message = format!("`{}` cannot end in `{}`, a {}", feature.name, f.name, kind_word(&f.kind));
        out.push(
            Diagnostic::error("hole-into-solid", feature.place, message)
                .also(f.place, format!("a {}", kind_word(&f.kind)))
                .help("name a bore or a groove, or write `depth` or `through`"),
        );
    }
}

/// Where a hole opens on the outer contour.
struct Mouth<'a> {
    id: FeatureId,
    feature: &'a Feature,
    hole: &'a Hole,
    /// Radius of the surface that it opens on.
    surface: Length,
    /// Half its length along z: the hole's radius over the sine of its angle.
    half: Length,
    /// The clock positions of all its mouths.
    clocks: Vec<f64>,
}

fn mouth<'a>(
    solid: &Solid<'a>,
    id: FeatureId,
    feature: &'a Feature,
    hole: &'a Hole,
    out: &mut Vec<Diagnostic>,
) -> Option<Mouth<'a>> {
    let on = solid.largest_at(hole.at)?;
    // A groove or an undercut within a segment is what the hole opens on, where it lies wholly in it.
    let half = hole.dia.nominal / 2.0 / libm::sin(hole.angle.value.to_deg().to_radians());
    let stretch = Zone { start: hole.at - half, end: hole.at + half };
    let cut = solid.outside.iter().find(|s| {
        matches!(solid.feature(s.feature).kind, Kind::Groove(_) | Kind::Undercut(_))
            && s.zone.start <= stretch.start + NEAR
            && s.zone.end >= stretch.end - NEAR
    });
    let surface = cut.map_or(on.dia_at(hole.at) / 2.0, |s| s.start_radius);
    let radius = hole.dia.nominal / 2.0;
    if hole.offset.abs() + radius > surface + NEAR {
        let message = if hole.offset.abs() <= NEAR {
            format!(
                "`{}` of dia {} is wider than the part, dia {} at z {}",
                feature.name,
                solid.say(hole.dia.nominal),
                solid.say(surface * 2.0),
                solid.say(hole.at)
            )
        } else {
            format!(
                "`{}` at offset {} with radius {radius} reaches past the part's radius of {surface} at z {}",
                feature.name,
                solid.say(hole.offset.abs()),
                solid.say(hole.at),
                radius = solid.say(radius),
                surface = solid.say(surface)
            )
        };
        out.push(
            Diagnostic::error("hole-off-side", hole.dia.place, message)
                .also(solid.feature(on.feature).place, format!("dia {}", solid.say(surface * 2.0)))
                .help("take a smaller hole or offset, or write a slot or flat"),
        );
        return None;
    }
    let length = solid.part.length.nominal;
    let (start, end) = (stretch.start, stretch.end);
    if start < -NEAR || end > length + NEAR {
        let (face, z) = if start < -NEAR { ("front", Length::ZERO) } else { ("back", length) };
        let message = format!(
            "the mouth of `{}` is {} long at {}, z {}, and runs off the {face} face at z {z}",
            feature.name,
            solid.say(half * 2.0),
            hole.angle.value,
            solid.span(start, end),
            z = solid.say(z)
        );
        let room = if start < -NEAR { half } else { length - half };
        out.push(Diagnostic::error("hole-mouth-off-end", feature.place, message).help(format!(
            "half the mouth is r / sin(angle) = {half}: put the hole at z {room}, or make it steeper or smaller",
            half = solid.say(half),
            room = solid.say(room)
        )));
    } else if cut.is_none() {
        shoulder(solid, feature, hole, half, out);
    }
    let count = hole.count.clamp(1, 720);
    let both = hole.through && (hole.angle.value.to_deg() - 90.0).abs() < 1e-9;
    let mut clocks: Vec<f64> = Vec::new();
    for i in 0..count {
        let clock = hole.clock.to_deg() + 360.0 * f64::from(i) / f64::from(count);
        let lean = libm::asin((hole.offset / surface).clamp(-1.0, 1.0)).to_degrees();
        clocks.push((clock + lean).rem_euclid(360.0));
        if both {
            clocks.push((clock + 180.0 - lean).rem_euclid(360.0));
        }
    }
    Some(Mouth { id, feature, hole, surface, half, clocks })
}

fn shoulder(solid: &Solid, feature: &Feature, hole: &Hole, half: Length, out: &mut Vec<Diagnostic>) {
    let zone = Zone { start: hole.at - half, end: hole.at + half };
    for pair in solid.row.windows(2) {
        let (a, b) = (&pair[0], &pair[1]);
        let z = b.zone.start;
        let step = (a.end_dia - b.start_dia).abs() / 2.0;
        if step <= NEAR || z <= zone.start + NEAR || z >= zone.end - NEAR {
            continue;
        }
        let (a, b) = (solid.feature(a.feature), solid.feature(b.feature));
        let message = format!(
            "the mouth of `{}` is {} long at {}, z {}, and crosses the shoulder of {step} between `{}` and `{}` at z {z}",
            feature.name,
            solid.say(half * 2.0),
            hole.angle.value,
            solid.span(zone.start, zone.end),
            a.name,
            b.name,
            step = solid.say(step),
            z = solid.say(z)
        );
        out.push(
            Diagnostic::warning("hole-mouth-across-shoulder", feature.place, message)
                .also(b.place, format!("begins at z {z}", z = solid.say(z)))
                .help(format!(
                    "half the mouth is r / sin(angle) = {half}: keep it that far from z {z}, or mill a seat first",
                    half = solid.say(half),
                    z = solid.say(z)
                )),
        );
        return;
    }
}

/// Whether the hole comes to the feature that it shall end in.
fn meets(solid: &Solid, feature: &Feature, hole: &Hole, mouth: &Mouth, out: &mut Vec<Diagnostic>) {
    let angle = hole.angle.value.to_deg().to_radians();
    let sign = match hole.opens {
        End::Front => 1.0,
        End::Back => -1.0,
    };
    let run = |radial: Length| hole.at + radial * (sign / libm::tan(angle));
    if let Some(target) = hole.into {
        let Some(surface) = solid.inside.iter().find(|s| s.feature == target) else { return };
        let f = solid.feature(target);
        let wide = surface.start_radius.max(surface.end_radius);
        let (first, last) = (run(mouth.surface - wide), run(mouth.surface + wide));
        let reach = Zone { start: first.min(last) - mouth.half, end: first.max(last) + mouth.half };
        let radius = hole.dia.nominal / 2.0;
        let sides = if reach.overlap(&surface.zone) <= NEAR {
            format!(
                "it comes to dia {} at z {first}, but `{}` runs z {}",
                solid.say(wide * 2.0),
                f.name,
                solid.span(surface.zone.start, surface.zone.end),
                first = solid.say(first)
            )
        } else if hole.offset.abs() >= wide + radius - NEAR {
            format!(
                "at offset {} it passes beside `{}` of dia {}",
                solid.say(hole.offset.abs()),
                f.name,
                solid.say(wide * 2.0)
            )
        } else {
            return;
        };
        out.push(
            Diagnostic::error(
                "hole-misses-bore",
                feature.place,
                format!("`{}` does not meet `{}`: {sides}", feature.name, f.name),
            )
            .also(f.place, format!("z {}", solid.span(surface.zone.start, surface.zone.end)))
            .help("move the hole, change its angle or the end it `opens` to, or let the bore run deeper"),
        );
        return;
    }
    let Some(depth) = hole.depth.filter(|_| !hole.through) else { return };
    let sunk = depth * libm::sin(angle);
    if sunk >= mouth.surface * 2.0 - NEAR {
        let message = format!(
            "`{}` is {depth} deep and comes out again: the part has dia {} there",
            feature.name,
            solid.say(mouth.surface * 2.0),
            depth = solid.say(depth)
        );
        out.push(
            Diagnostic::warning("hole-comes-out", feature.place, message).help("write `through` where that is meant"),
        );
        return;
    }
    // Along the way it may open into a bore, which then should be named.
    let bottom = run(sunk);
    let way = Zone { start: hole.at.min(bottom) - NEAR * 2.0, end: hole.at.max(bottom) + NEAR * 2.0 };
    let nearest = solid
        .hollow(way)
        .filter(|s| hole.offset.abs() < s.start_radius)
        .max_by(|a, b| a.start_radius.total_cmp(&b.start_radius));
    let Some(bore) = nearest else { return };
    let wall = mouth.surface - bore.radius_at(bottom.max(bore.zone.start).min(bore.zone.end)) - sunk;
    let f = solid.feature(bore.feature);
    if wall <= NEAR {
        let message = format!(
            "`{}` of depth {depth} opens into `{}`, dia {}",
            feature.name,
            f.name,
            solid.say(bore.start_radius * 2.0),
            depth = solid.say(depth)
        );
        out.push(
            Diagnostic::warning("hole-opens-into-bore", feature.place, message)
                .also(f.place, format!("`{}`", f.name))
                .help(format!("write `into {}` where that is meant", f.name)),
        );
    } else if wall < LEAST_WALL - NEAR {
        let message = format!(
            "only {wall} of wall is left between the bottom of `{}` and `{}`",
            feature.name,
            f.name,
            wall = solid.say(wall)
        );
        out.push(Diagnostic::warning("thin-wall", feature.place, message).also(f.place, format!("`{}`", f.name)).help(
            format!(
                "leave at least {LEAST_WALL} (common practice), or let the hole open `into {}`",
                f.name,
                LEAST_WALL = solid.say(LEAST_WALL)
            ),
        ));
    }
}

/// Holes of one pattern around the part.
fn around(solid: &Solid, feature: &Feature, hole: &Hole, mouth: &Mouth, out: &mut Vec<Diagnostic>) {
    if hole.count < 2 {
        return;
    }
    let mut clocks = mouth.clocks.clone();
    clocks.sort_by(f64::total_cmp);
    let all = clocks.len();
    clocks.dedup_by(|a, b| (*a - *b).abs() < 1e-6);
    if clocks.len() < all {
        let message = format!(
            "each through hole of `{}` comes out where another begins: count {} is {}",
            feature.name,
            hole.count,
            hole.count / 2
        );
        out.push(
            Diagnostic::warning("through-holes-coincide", feature.place, message)
                .help(format!("write `count {}`, or let them end `into` a bore", hole.count / 2)),
        );
    }
    let turned = clocks.first().map(|first| first + 360.0);
    let next = clocks.iter().copied().skip(1).chain(turned);
    let apart = clocks.iter().zip(next).map(|(a, b)| b - a).fold(360.0, f64::min);
    let chord = mouth.surface * (2.0 * libm::sin(apart.to_radians() / 2.0));
    pattern(solid, feature, hole, chord, format!("the surface of dia {}", solid.say(mouth.surface * 2.0)), out);
}

/// Says where the holes of one pattern run into each other, or nearly so.
pub(super) fn pattern(
    solid: &Solid,
    feature: &Feature,
    hole: &Hole,
    chord: Length,
    on: String,
    out: &mut Vec<Diagnostic>,
) {
    let dia = hole.dia.nominal;
    let (count, left) = (hole.count, chord - dia);
    if left <= NEAR {
        let message = format!(
            "{count} holes of dia {dia} stand {chord} apart on {on}: `{}` runs into itself",
            feature.name,
            dia = solid.say(dia),
            chord = solid.say(chord)
        );
        out.push(Diagnostic::error("too-many-around", feature.place, message).help("fewer or smaller holes"));
    } else if left < least_ligament(dia) - NEAR {
        let message = format!(
            "only {left} is left between the {count} holes of `{}` on {on}",
            feature.name,
            left = solid.say(left)
        );
        out.push(Diagnostic::warning("thin-ligament", feature.place, message).help(format!(
            "leave at least {} between holes of dia {dia} (common practice)",
            solid.say(least_ligament(dia)),
            dia = solid.say(dia)
        )));
    }
}

/// Two patterns on one surface.
fn between(solid: &Solid, a: &Mouth, b: &Mouth, out: &mut Vec<Diagnostic>) {
    let along = (a.hole.at - b.hole.at).abs();
    let surface = a.surface.max(b.surface);
    let mut clock = f64::INFINITY;
    for x in &a.clocks {
        for y in &b.clocks {
            let apart = (x - y).rem_euclid(360.0);
            clock = clock.min(apart.min(360.0 - apart));
        }
    }
    let across = surface * (2.0 * libm::sin(clock.to_radians() / 2.0));
    let (one, other) = (solid.feature(a.id), solid.feature(b.id));
    let alike = (a.hole.dia.nominal - b.hole.dia.nominal).abs() <= NEAR;
    let one_axis =
        (a.hole.angle.value.to_deg() - b.hole.angle.value.to_deg()).abs() < 1e-9 && a.hole.opens == b.hole.opens;
    if along <= NEAR && across <= NEAR && one_axis && !alike {
        return; // a stepped hole: a seat or counterbore on the same axis
    }
    if along <= NEAR && across <= NEAR {
        let message = format!(
            "`{}` and `{}` open at the same place, z {} and the same clock",
            one.name,
            other.name,
            solid.say(a.hole.at)
        );
        out.push(
            Diagnostic::error("features-coincide", b.feature.place, message)
                .also(one.place, format!("`{}`", one.name))
                .help("leave one of them out, or give it another z or `clock`"),
        );
        return;
    }
    // Mouths are ellipses, longer along z the more they lean; both are widened by the other's half.
    let (wide, long) = ((a.hole.dia.nominal + b.hole.dia.nominal) / 2.0, a.half + b.half);
    let (u, v) = (along / long, across / wide);
    let share = libm::sqrt(u * u + v * v);
    let distance = Length::mm(libm::sqrt(along.to_mm() * along.to_mm() + across.to_mm() * across.to_mm()));
    let least = least_ligament(a.hole.dia.nominal.max(b.hole.dia.nominal));
    if share <= 1.0 + 1e-9 {
        let message = format!(
            "the mouths of `{}` and `{}` run into each other: their centres stand {along} apart along z and {across} across",
            one.name,
            other.name,
            along = solid.say(along),
            across = solid.say(across)
        );
        out.push(
            Diagnostic::error("holes-overlap", b.feature.place, message)
                .also(one.place, format!("`{}`", one.name))
                .help(format!(
                    "half mouths need {long} along z or {wide} across: move one, or give it another `clock`",
                    wide = solid.say(wide)
                )),
        );
        return;
    }
    let left = distance * (1.0 - 1.0 / share);
    if left < least - NEAR {
        let message = format!(
            "only {left} is left between the mouths of `{}` and `{}`",
            one.name,
            other.name,
            left = solid.say(left)
        );
        out.push(
            Diagnostic::warning("thin-ligament", b.feature.place, message)
                .also(one.place, format!("`{}`", one.name))
                .help(format!("leave at least {least} (common practice)", least = solid.say(least))),
        );
    }
}

#[cfg(test)]
mod tests {
    use super::super::bench::*;
    use crate::model::part::*;
    use crate::quantity::Angle;

    fn none() -> Vec<&'static str> {
        Vec::new()
    }

    /// A shaft of 10, stepped to 8 at z 20, bored 4 from the back to z 10.
    fn with(holes: Vec<Hole>) -> Part {
        let mut f = vec![turn("a", 10.0, 0.0, 20.0), turn("b", 8.0, 20.0, 40.0), bore("core", 4.0, 10.0, 40.0)];
        for (i, h) in holes.into_iter().enumerate() {
            f.push(feature(&format!("h{i}"), Kind::Hole(h)));
        }
        part(40.0, f)
    }

    fn one(h: Hole) -> Vec<&'static str> {
        codes(&with(vec![h]))
    }

    #[test]
    fn a_mouth_stays_on_its_surface() {
        // dia 2 at 30 degrees: half the mouth is 1 / sin 30 = 2
        assert_eq!(one(Hole { depth: Some(mm(1.0)), through: false, ..hole(2.0, 2.0, 30.0) }), none());
        assert_eq!(one(Hole { depth: Some(mm(1.0)), through: false, ..hole(2.0, 1.9, 30.0) }), ["hole-mouth-off-end"]);
        assert_eq!(one(Hole { depth: Some(mm(1.0)), through: false, ..hole(2.0, 18.0, 30.0) }), none());
        assert_eq!(
            one(Hole { depth: Some(mm(1.0)), through: false, ..hole(2.0, 18.1, 30.0) }),
            ["hole-mouth-across-shoulder"]
        );
        assert_eq!(one(Hole { depth: Some(mm(1.0)), through: false, ..hole(2.0, 41.0, 30.0) }), ["outside-length"]);
    }

    #[test]
    fn a_hole_in_a_groove_opens_on_its_bottom() {
        let mut p = with(vec![Hole { depth: Some(mm(1.0)), through: false, ..hole(2.0, 5.0, 90.0) }]);
        p.features.push(groove("g", 9.0, 4.0, 6.0));
        assert_eq!(codes(&p), none());
    }

    #[test]
    fn a_hole_is_narrower_than_the_part() {
        assert_eq!(one(hole(8.0, 30.0, 90.0)), none());
        assert_eq!(one(hole(8.1, 30.0, 90.0)), ["hole-off-side"]);
        assert_eq!(one(Hole { offset: mm(3.0), ..hole(2.0, 30.0, 90.0) }), none());
        assert_eq!(one(Hole { offset: mm(3.1), ..hole(2.0, 30.0, 90.0) }), ["hole-off-side"]);
    }

    fn into_core(at: f64, angle: f64, opens: End) -> Hole {
        Hole { into: Some(2), through: false, opens, ..hole(1.0, at, angle) }
    }

    #[test]
    fn a_hole_meets_what_it_ends_in() {
        // From radius 5 to the bore's 2 at 45 degrees it runs 3 along z, and as far again to its other side and the mouth.
        assert_eq!(one(into_core(12.0, 90.0, End::Front)), none());
        assert_eq!(one(into_core(9.0, 90.0, End::Front)), ["hole-misses-bore"]);
        assert_eq!(one(into_core(8.0, 45.0, End::Front)), none());
        assert_eq!(one(into_core(8.0, 45.0, End::Back)), ["hole-misses-bore"]);
        assert_eq!(one(Hole { offset: mm(2.4), ..into_core(14.0, 90.0, End::Front) }), none());
        assert_eq!(one(Hole { offset: mm(2.5), ..into_core(14.0, 90.0, End::Front) }), ["hole-misses-bore"]);
        assert_eq!(one(Hole { into: Some(0), ..into_core(14.0, 90.0, End::Front) }), ["hole-into-solid"]);
        assert_eq!(one(Hole { into: None, ..into_core(14.0, 90.0, End::Front) }), ["hole-without-end"]);
    }

    #[test]
    fn a_blind_hole_keeps_its_bottom() {
        let blind = |at, depth| one(Hole { depth: Some(mm(depth)), through: false, ..hole(1.0, at, 90.0) });
        assert_eq!(blind(14.0, 2.7), none());
        assert_eq!(blind(14.0, 2.8), ["thin-wall"]);
        assert_eq!(blind(14.0, 3.0), ["hole-opens-into-bore"]);
        assert_eq!(blind(5.0, 9.9), none());
        assert_eq!(blind(5.0, 10.0), ["hole-comes-out"]);
    }

    #[test]
    fn holes_of_a_pattern_have_room() {
        let ring = |dia, count| one(Hole { count, depth: Some(mm(1.0)), through: false, ..hole(dia, 5.0, 90.0) });
        assert_eq!(ring(4.5, 6), none(), "chords of 5 leave 0.5");
        assert_eq!(ring(4.6, 6), ["thin-ligament"], "0.4 is less than a tenth of the hole");
        assert_eq!(ring(5.0, 6), ["too-many-around"]);
        assert_eq!(one(Hole { count: 3, ..hole(2.0, 5.0, 90.0) }), none());
        assert_eq!(one(Hole { count: 4, ..hole(2.0, 5.0, 90.0) }), ["through-holes-coincide"]);
    }

    #[test]
    fn mouths_keep_apart() {
        let pair = |second: Hole| {
            let first = Hole { depth: Some(mm(1.0)), through: false, ..hole(2.0, 5.0, 90.0) };
            codes(&with(vec![first, second]))
        };
        let at =
            |z, clock| Hole { depth: Some(mm(1.0)), through: false, clock: Angle::deg(clock), ..hole(2.0, z, 90.0) };
        assert_eq!(pair(at(5.0, 0.0)), ["features-coincide"]);
        assert_eq!(pair(Hole { dia: size(3.0), ..at(5.0, 0.0) }), none(), "a counterbore on the same axis");
        assert_eq!(pair(at(5.0, 90.0)), none());
        assert_eq!(pair(at(6.9, 0.0)), ["holes-overlap"]);
        assert_eq!(pair(at(7.2, 0.0)), ["thin-ligament"]);
        assert_eq!(pair(at(7.3, 0.0)), none());
        let through = Hole { through: true, depth: None, ..at(5.0, 180.0) };
        assert_eq!(pair(through), ["features-coincide"], "it comes out at clock 0");
    }

    fn ring(dia: f64, circle: f64, depth: Option<f64>) -> Hole {
        Hole {
            circle: Some(mm(circle)),
            depth: depth.map(mm),
            through: depth.is_none(),
            count: 4,
            ..hole(dia, 0.0, 0.0)
        }
    }

    #[test]
    fn end_holes_lie_in_their_face() {
        let flange = |h: Hole| {
            let f = vec![
                turn("rim", 40.0, 0.0, 6.0),
                turn("hub", 20.0, 6.0, 20.0),
                bore("core", 10.0, 0.0, 20.0),
                feature("h", Kind::Hole(h)),
            ];
            codes(&part(20.0, f))
        };
        assert_eq!(flange(ring(4.0, 30.0, None)), none());
        assert_eq!(flange(ring(4.0, 36.0, None)), ["hole-off-face"]);
        assert_eq!(flange(ring(4.0, 35.3, None)), ["thin-ligament"]);
        assert_eq!(flange(ring(4.0, 14.0, None)), ["hole-off-face"]);
        assert_eq!(flange(ring(4.0, 30.0, Some(5.0))), none());
        assert_eq!(flange(ring(4.0, 30.0, Some(7.0))), ["hole-comes-out"]);
        assert_eq!(flange(Hole { circle: None, ..ring(4.0, 30.0, None) }), ["end-hole-without-circle"]);
        assert_eq!(flange(Hole { count: 40, ..ring(4.0, 30.0, None) }), ["too-many-around"]);
    }

    #[test]
    fn an_end_hole_meets_its_groove() {
        let with = |circle| {
            let h = Hole { into: Some(1), through: false, ..ring(2.0, circle, None) };
            let f = vec![turn("a", 40.0, 0.0, 20.0), groove("g", 26.0, 8.0, 12.0), feature("h", Kind::Hole(h))];
            codes(&part(20.0, f))
        };
        assert_eq!(with(26.0), none());
        assert_eq!(with(24.0), ["hole-misses-bore"]);
    }
}
