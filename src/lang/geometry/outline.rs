//! The outer contour: everything inside the part's length and its bar, turned segments end to end, corners large enough
//! for their chamfers and radii.

use super::NEAR;
use super::solid::{Solid, place_of, zone_of};
use crate::lang::Diagnostic;
use crate::model::part::{FeatureId, Kind, Zone};
use crate::model::profile::Segment;
use crate::quantity::{Angle, Length};

pub(super) fn check(solid: &Solid, out: &mut Vec<Diagnostic>) {
    inside_length(solid, out);
    end_to_end(solid, out);
    for (id, feature) in solid.part.features.iter().enumerate() {
        match &feature.kind {
            Kind::Knurl(k) => knurl(solid, id, k.zone, out),
            Kind::Sphere(s) if s.zone.length() > s.dia.nominal + NEAR => out.push(
                Diagnostic::error(
                    "sphere-too-long",
                    feature.place,
                    format!(
                        "`{}` is {} long, but a sphere of dia {} ends after its diameter",
                        feature.name,
                        solid.say(s.zone.length()),
                        solid.say(s.dia.nominal)
                    ),
                )
                .help("shorten its z, or turn the rest as a cylinder"),
            ),
            Kind::Chamfer(c) if !c.inside => {
                let radial = c.width * tangent(c.angle);
                corner(solid, id, Corner { word: "chamfer", at: c.at, along: c.width, radial }, out);
            }
            Kind::Radius(r) if !r.inside => {
                corner(solid, id, Corner { word: "radius", at: r.at, along: r.radius, radial: r.radius }, out);
            }
            _ => {}
        }
    }
}

fn tangent(angle: Angle) -> f64 {
    libm::tan(angle.to_deg().to_radians())
}

fn inside_length(solid: &Solid, out: &mut Vec<Diagnostic>) {
    let length = solid.part.length.nominal;
    for feature in &solid.part.features {
        let (word, start, end) = match (zone_of(solid.part, feature), place_of(feature)) {
            (Some(zone), _) => ("runs", zone.start, zone.end),
            (None, Some(at)) => ("lies", at, at),
            (None, None) => continue,
        };
        let off = if end > length + NEAR {
            format!("to z {end}, past the part's length of {length}", end = solid.say(end), length = solid.say(length))
        } else if start < -NEAR {
            format!("from z {start}, before the front face at z 0", start = solid.say(start))
        } else {
            continue;
        };
        let off = if word == "lies" { off.replacen("to z", "at z", 1).replacen("from z", "at z", 1) } else { off };
        out.push(
            Diagnostic::error("outside-length", feature.place, format!("`{}` {word} {off}", feature.name))
                .also(solid.part.length.place, format!("the length is {length}", length = solid.say(length)))
                .help(format!("keep it within z 0 .. {length}, or change the length", length = solid.say(length))),
        );
    }
}

/// Turned segments, and the cuts that stand between them, fill the length once.
fn end_to_end(solid: &Solid, out: &mut Vec<Diagnostic>) {
    let length = solid.part.length.nominal;
    let (mut reach, mut last): (Length, Option<&Segment>) = (Length::ZERO, None);
    for segment in &solid.row {
        if segment.zone.start > reach + NEAR {
            out.push(gap(solid, reach, segment.zone.start, last, Some(segment)));
        }
        if let Some(before) = last
            && segment.zone.start < reach - NEAR
        {
            let (a, b) = (solid.feature(before.feature), solid.feature(segment.feature));
            let end = reach.min(segment.zone.end);
            let message = format!("`{}` and `{}` both shape z {}", a.name, b.name, solid.span(segment.zone.start, end));
            out.push(
                Diagnostic::error("overlapping-segments", b.place, message)
                    .also(a.place, format!("`{}` runs to z {}", a.name, solid.say(before.zone.end)))
                    .help(format!(
                        "let one end where the other begins, at z {} or z {end}",
                        solid.say(segment.zone.start),
                        end = solid.say(end)
                    )),
            );
        }
        if segment.zone.end > reach {
            (reach, last) = (segment.zone.end, Some(segment));
        }
    }
    if reach < length - NEAR {
        out.push(gap(solid, reach, length, last, None));
    }
}

fn gap(solid: &Solid, from: Length, to: Length, before: Option<&Segment>, after: Option<&Segment>) -> Diagnostic {
    let name = |s: &Segment| solid.feature(s.feature).name.clone();
    let between = match (before, after) {
        (Some(a), Some(b)) => format!("between `{}` and `{}`", name(a), name(b)),
        (Some(a), None) => format!("between `{}` and the back face", name(a)),
        (None, Some(b)) => format!("between the front face and `{}`", name(b)),
        (None, None) => "anywhere".to_owned(),
    };
    let (start, end) = (from, to);
    let message = format!("nothing says what diameter the part has at z {}, {between}", solid.span(start, end));
    let place = after.or(before).map_or(solid.part.length.place, |s| solid.feature(s.feature).place);
    // A hexagon or flat is milled from a cylinder, which the drawing must give.
    let milled = solid.part.features.iter().find_map(|f| match &f.kind {
        Kind::Polygon(p) if p.zone.overlap(&Zone { start, end }) > NEAR => Some((f, p)),
        _ => None,
    });
    let finding = Diagnostic::error("gap-between-segments", place, message);
    let finding = match before.filter(|_| after.is_some()) {
        Some(a) => finding
            .also(solid.feature(a.feature).place, format!("`{}` ends at z {start}", name(a), start = solid.say(start))),
        None => finding,
    };
    match milled {
        Some((f, p)) => finding.help(format!(
            "`{}` is milled from a cylinder: add `turn dia {} z {}`, or write `as-stock` where the bar has that shape",
            f.name,
            solid.say(p.corners()),
            solid.span(start, end)
        )),
        None => finding.help(format!(
            "add a `turn`, `taper` or `groove` with z {}, or lengthen a neighbour",
            solid.span(start, end)
        )),
    }
}

fn knurl(solid: &Solid, id: FeatureId, zone: Zone, out: &mut Vec<Diagnostic>) {
    let feature = solid.feature(id);
    let thread = solid
        .part
        .features
        .iter()
        .find(|f| matches!(&f.kind, Kind::Thread(t) if !t.internal && t.zone.overlap(&zone) > NEAR));
    if let Some(thread) = thread {
        let message = format!("`{}` lies on the thread `{}`", feature.name, thread.name);
        out.push(
            Diagnostic::error("knurl-on-thread", feature.place, message)
                .also(thread.place, "the thread")
                .help("end the knurl before the thread begins"),
        );
        return;
    }
    let dias: Vec<&Segment> = solid.under(zone).collect();
    let Some(first) = dias.first() else { return };
    if let Some(other) =
        dias.iter().find(|s| (s.start_dia - first.start_dia).abs() > NEAR || (s.end_dia - first.start_dia).abs() > NEAR)
    {
        let message = format!(
            "`{}` runs over dia {} and dia {}, but a knurl needs one cylinder",
            feature.name,
            solid.say(first.start_dia),
            if (other.start_dia - first.start_dia).abs() > NEAR { other.start_dia } else { other.end_dia }
        );
        out.push(
            Diagnostic::error("knurl-across-step", feature.place, message)
                .also(solid.feature(other.feature).place, "another diameter")
                .help("keep it on one cylinder, or write one knurl for each"),
        );
    }
}

/// A chamfer or radius on the outer contour: how far it goes along z, and how far towards the axis.
struct Corner {
    word: &'static str,
    at: Length,
    along: Length,
    radial: Length,
}

fn corner(solid: &Solid, id: FeatureId, c: Corner, out: &mut Vec<Diagnostic>) {
    let feature = solid.feature(id);
    let length = solid.part.length.nominal;
    if c.at < -NEAR || c.at > length + NEAR {
        return; // said by the check of the length
    }
    let mut borders: Vec<Length> = vec![Length::ZERO, length];
    for (other, f) in solid.part.features.iter().enumerate() {
        if other != id
            && !matches!(f.kind, Kind::Bore(_) | Kind::Socket(_))
            && let Some(zone) = zone_of(solid.part, f)
        {
            borders.extend([zone.start, zone.end]);
        }
    }
    let nearest = borders.iter().min_by(|a, b| (**a - c.at).abs().total_cmp(&(**b - c.at).abs()));
    if let Some(nearest) = nearest.filter(|n| (**n - c.at).abs() > NEAR) {
        let message = format!("`{}` lies at z {}, where the contour has no corner", feature.name, solid.say(c.at));
        out.push(
            Diagnostic::warning("no-corner-there", feature.place, message)
                .help(format!("the nearest corner is at z {nearest}")),
        );
        return;
    }
    let touching: Vec<&Segment> = solid.at(c.at).collect();
    let Some(largest) = touching.iter().max_by(|a, b| a.dia_at(c.at).total_cmp(&b.dia_at(c.at))) else { return };
    let (low, high) = touching
        .iter()
        .fold((largest.dia_at(c.at), Length::ZERO), |(l, h), s| (l.min(s.dia_at(c.at)), h.max(s.dia_at(c.at))));
    let at_end = c.at <= NEAR || c.at >= length - NEAR;
    // A round may lie on the smaller side, in the corner of the shoulder.
    let room_along = match c.word {
        "radius" => touching.iter().map(|s| s.zone.length()).fold(Length::ZERO, Length::max),
        _ => largest.zone.length(),
    };
    let step = (high - low) / 2.0;
    let room_radial = if at_end || step <= NEAR { high / 2.0 } else { step };
    let (needed, room, what) = if c.along > room_along + NEAR {
        (c.along, room_along, format!("the length of `{}`", solid.feature(largest.feature).name))
    } else if c.radial > room_radial + NEAR {
        let what = if at_end || step <= NEAR { "the radius" } else { "the height of the shoulder" };
        (c.radial, room_radial, what.to_owned())
    } else {
        return;
    };
    // A fillet may be larger than its shoulder is high: it is then less than a quarter round.
    let fillet = c.word == "radius" && !at_end && c.along <= room_along + NEAR;
    let kind = if fillet { Diagnostic::warning } else { Diagnostic::error };
    let message = format!(
        "the {} at z {} takes {needed}, more than {what}, {room}",
        c.word,
        solid.say(c.at),
        needed = solid.say(needed),
        room = solid.say(room)
    );
    out.push(
        kind("corner-too-large", feature.place, message)
            .also(solid.feature(largest.feature).place, format!("dia {high}", high = solid.say(high)))
            .help(format!("make the {} at most {room} there", c.word, room = solid.say(room))),
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

    fn chamfer(at: f64, width: f64, deg: f64) -> Feature {
        feature("c", Kind::Chamfer(Chamfer { width: mm(width), angle: Angle::deg(deg), at: mm(at), inside: false }))
    }

    #[test]
    fn segments_fill_the_length_once() {
        let with = |start, end| part(20.0, vec![turn("a", 8.0, 0.0, 10.0), turn("b", 6.0, start, end)]);
        assert_eq!(codes(&with(10.0, 20.0)), none());
        assert_eq!(codes(&with(10.001, 20.0)), ["gap-between-segments"]);
        assert_eq!(codes(&with(9.999, 20.0)), ["overlapping-segments"]);
        assert_eq!(codes(&with(10.0, 19.999)), ["gap-between-segments"]);
        assert_eq!(codes(&with(10.0, 20.001)), ["outside-length"]);
        assert_eq!(codes(&part(20.0, vec![])), ["gap-between-segments"]);
        let message = &found(&with(10.5, 20.0))[0].message;
        assert_eq!(message, "nothing says what diameter the part has at z 10 .. 10.5 mm, between `a` and `b`");
    }

    #[test]
    fn the_rounding_of_inches_is_no_gap() {
        let (a, b) = (0.3 * 25.4, (0.1 + 0.2) * 25.4);
        assert_eq!(codes(&part(20.0, vec![turn("a", 8.0, 0.0, a), turn("b", 6.0, b, 20.0)])), none());
    }

    #[test]
    fn corners_have_room_for_their_chamfers() {
        let step =
            |c| part(20.0, vec![turn("a", 8.0, 0.0, 5.0), turn("b", 10.0, 5.0, 6.0), turn("d", 8.0, 6.0, 20.0), c]);
        assert_eq!(codes(&step(chamfer(5.0, 1.0, 45.0))), none());
        assert_eq!(codes(&step(chamfer(5.0, 1.01, 45.0))), ["corner-too-large"]);
        assert_eq!(
            codes(&step(chamfer(5.0, 0.9, 60.0))),
            ["corner-too-large"],
            "0.9 x tan 60 is more than the step of 1"
        );
        assert_eq!(codes(&step(chamfer(5.0, 1.01, 30.0))), ["corner-too-large"], "longer than the segment of 1");
        assert_eq!(codes(&step(chamfer(0.0, 4.0, 45.0))), none(), "a point at the end is a cone");
        assert_eq!(codes(&step(chamfer(0.0, 4.01, 45.0))), ["corner-too-large"]);
        assert_eq!(codes(&step(chamfer(3.0, 0.2, 45.0))), ["no-corner-there"]);
        let round = |radius| {
            let r = Radius { radius: mm(radius), at: mm(0.0), inside: false };
            part(20.0, vec![turn("a", 8.0, 0.0, 20.0), feature("r", Kind::Radius(r))])
        };
        assert_eq!(codes(&round(4.0)), none());
        assert_eq!(codes(&round(4.01)), ["corner-too-large"]);
    }

    #[test]
    fn knurls_need_one_plain_cylinder() {
        let with = |start, end, extra: Option<Feature>| {
            let k = Knurl { pitch: mm(0.8), zone: zone(start, end), form: None };
            let mut all = vec![turn("a", 8.0, 0.0, 10.0), turn("b", 6.0, 10.0, 20.0), feature("k", Kind::Knurl(k))];
            all.extend(extra);
            part(20.0, all)
        };
        assert_eq!(codes(&with(2.0, 10.0, None)), none());
        assert_eq!(codes(&with(2.0, 10.1, None)), ["knurl-across-step"]);
        let m6 = |start| Some(feature("t", Kind::Thread(thread(6.0, 1.0, start, 20.0))));
        assert_eq!(codes(&with(12.0, 15.0, m6(15.0))), none());
        assert_eq!(codes(&with(12.0, 15.0, m6(14.9))), ["knurl-on-thread"]);
    }

    #[test]
    fn a_sphere_ends_after_its_diameter() {
        let ball = |end| {
            let s = Sphere { dia: size(6.0), zone: zone(0.0, end), finish: None };
            part(20.0, vec![feature("ball", Kind::Sphere(s)), turn("a", 4.0, end, 20.0)])
        };
        assert_eq!(codes(&ball(6.0)), none());
        assert_eq!(codes(&ball(6.1)), ["sphere-too-long"]);
    }
}
