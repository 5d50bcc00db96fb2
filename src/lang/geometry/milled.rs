//! Flats, keyways, slots, drives and sculpted surfaces against the cylinder that they are cut from.

use super::NEAR;
use super::solid::{Solid, kind_word};
use crate::lang::Diagnostic;
use crate::model::Place;
use crate::model::part::{Contour, End, Feature, FeatureId, Flat, Keyway, Kind, Slot, Socket, SocketShape, Zone};
use crate::quantity::{Angle, Length};

pub(super) fn check(solid: &Solid, out: &mut Vec<Diagnostic>) {
    for (id, feature) in solid.part.features.iter().enumerate() {
        match &feature.kind {
            Kind::Flat(f) => flat(solid, feature, f, out),
            Kind::Keyway(k) => keyway(solid, feature, k, out),
            Kind::Slot(s) => slot(solid, feature, s, out),
            Kind::Socket(s) => socket(solid, feature, s, out),
            Kind::Contour(c) => contour(solid, feature, c, out),
            _ => {}
        }
        twice(solid, id, out);
    }
}

/// The largest and the smallest diameter beneath a zone, and the feature of the smallest.
fn beneath(solid: &Solid, zone: Zone) -> Option<(Length, Length, FeatureId)> {
    let largest = solid.under(zone).map(|s| s.largest()).fold(Length::ZERO, Length::max);
    let smallest = solid.under(zone).min_by(|a, b| a.smallest().total_cmp(&b.smallest()))?;
    Some((largest, smallest.smallest(), smallest.feature))
}

fn flat(solid: &Solid, feature: &Feature, flat: &Flat, out: &mut Vec<Diagnostic>) {
    let Some((largest, ..)) = beneath(solid, flat.zone) else { return };
    let from_axis = flat.from_axis.nominal;
    if from_axis >= largest / 2.0 - NEAR {
        let message = format!(
            "`{}` lies {from_axis} from the axis, outside the part, whose radius there is {}",
            feature.name,
            solid.say(largest / 2.0),
            from_axis = solid.say(from_axis)
        );
        out.push(Diagnostic::error("flat-outside-diameter", flat.from_axis.place, message).help(format!(
            "`from-axis` is measured from the axis, not across: keep it under {}",
            solid.say(largest / 2.0)
        )));
    }
}

fn keyway(solid: &Solid, feature: &Feature, key: &Keyway, out: &mut Vec<Diagnostic>) {
    let Some((_, smallest, id)) = beneath(solid, key.zone) else { return };
    let under = solid.feature(id);
    let radius = smallest / 2.0;
    if key.depth >= radius - NEAR {
        let message = format!(
            "`{}` is {} deep, past the axis: `{}` has a radius of {radius}",
            feature.name,
            solid.say(key.depth),
            under.name,
            radius = solid.say(radius)
        );
        out.push(
            Diagnostic::error("keyway-too-deep", feature.place, message)
                .also(under.place, format!("dia {smallest}", smallest = solid.say(smallest)))
                .help("a keyway's depth is measured from the surface; see the key's standard for the diameter"),
        );
    }
    if key.width.nominal >= smallest - NEAR {
        out.push(wider(solid, feature, key.width.nominal, key.width.place, id, smallest));
    }
    if key.zone.length() < key.width.nominal - NEAR {
        let message = format!(
            "`{}` is {} long, shorter than its width of {}",
            feature.name,
            solid.say(key.zone.length()),
            solid.say(key.width.nominal)
        );
        out.push(
            Diagnostic::error("keyway-shorter-than-wide", feature.place, message)
                .help("the cutter is as wide as the key: lengthen it to at least the width"),
        );
    }
}

fn wider(solid: &Solid, feature: &Feature, width: Length, place: Place, id: FeatureId, dia: Length) -> Diagnostic {
    let under = solid.feature(id);
    let word = kind_word(&feature.kind);
    let message = format!(
        "`{}` is {width} wide, but `{}` there has dia {dia}",
        feature.name,
        under.name,
        width = solid.say(width),
        dia = solid.say(dia)
    );
    Diagnostic::error("wider-than-part", place, message)
        .also(under.place, format!("dia {dia}", dia = solid.say(dia)))
        .help(format!("a {word} must be narrower than the diameter it is cut into"))
}

fn slot(solid: &Solid, feature: &Feature, slot: &Slot, out: &mut Vec<Diagnostic>) {
    let Some((_, smallest, id)) = beneath(solid, slot.zone) else { return };
    let under = solid.feature(id);
    if slot.width.nominal >= smallest - NEAR {
        out.push(wider(solid, feature, slot.width.nominal, slot.width.place, id, smallest));
        return;
    }
    if slot.end.is_some() {
        return; // its depth is its zone, which the check of the length has seen
    }
    if slot.depth >= smallest - NEAR {
        let message = format!(
            "`{}` is {} deep and cuts `{}` of dia {smallest} in two",
            feature.name,
            solid.say(slot.depth),
            under.name,
            smallest = solid.say(smallest)
        );
        out.push(
            Diagnostic::error("slot-too-deep", feature.place, message)
                .also(under.place, format!("dia {smallest}", smallest = solid.say(smallest)))
                .help("a slot's depth is measured from the surface, square to the axis"),
        );
        return;
    }
    let chord = smallest * libm::sin(std::f64::consts::PI / f64::from(slot.count.max(1)));
    if slot.count > 1 && chord <= slot.width.nominal + NEAR {
        let message = format!(
            "{} slots of {} stand {chord} apart on `{}` of dia {smallest}: nothing stays between them",
            slot.count,
            solid.say(slot.width.nominal),
            under.name,
            chord = solid.say(chord),
            smallest = solid.say(smallest)
        );
        out.push(
            Diagnostic::error("too-many-around", feature.place, message)
                .also(under.place, format!("dia {smallest}", smallest = solid.say(smallest)))
                .help("fewer or narrower slots"),
        );
    }
}

fn socket(solid: &Solid, feature: &Feature, socket: &Socket, out: &mut Vec<Diagnostic>) {
    let zone = socket.zone(solid.part.length.nominal);
    let Some((_, smallest, id)) = beneath(solid, zone) else { return };
    if let SocketShape::Slot(width) = &socket.shape
        && width.nominal >= smallest - NEAR
    {
        out.push(wider(solid, feature, width.nominal, width.place, id, smallest));
    }
    let Some(needed) = socket.shape.outer() else { return };
    let face = match socket.from {
        End::Front => Length::ZERO,
        End::Back => solid.part.length.nominal,
    };
    let bored = solid.part.features.iter().filter_map(|f| match &f.kind {
        Kind::Bore(b) if b.zone.start <= face + NEAR && b.zone.end >= face - NEAR => Some((f, b)),
        _ => None,
    });
    if let Some((f, b)) = bored.max_by(|a, b| a.1.dia.nominal.total_cmp(&b.1.dia.nominal))
        && b.dia.nominal >= needed - NEAR
        && b.depth(solid.part.length.nominal) >= socket.depth - NEAR
    {
        let message = format!(
            "`{}` is {needed} over its corners, but `{}` is bored to {} there: no drive is left",
            feature.name,
            f.name,
            solid.say(b.dia.nominal),
            needed = solid.say(needed)
        );
        out.push(
            Diagnostic::error("socket-within-bore", feature.place, message)
                .also(f.place, format!("dia {}", solid.say(b.dia.nominal)))
                .help("take a larger drive or a smaller bore"),
        );
    }
}

fn contour(solid: &Solid, feature: &Feature, contour: &Contour, out: &mut Vec<Diagnostic>) {
    let Some((_, smallest, id)) = beneath(solid, contour.zone) else { return };
    if contour.depth >= smallest / 2.0 - NEAR {
        let under = solid.feature(id);
        let message = format!(
            "`{}` cuts {} deep, past the axis: `{}` has a radius of {}",
            feature.name,
            solid.say(contour.depth),
            under.name,
            solid.say(smallest / 2.0)
        );
        out.push(
            Diagnostic::error("contour-too-deep", feature.place, message)
                .also(under.place, format!("dia {smallest}", smallest = solid.say(smallest)))
                .help("its depth is measured from the turned surface"),
        );
    }
}

/// The same feature written twice.
fn twice(solid: &Solid, id: FeatureId, out: &mut Vec<Diagnostic>) {
    let (features, feature) = (&solid.part.features, solid.feature(id));
    let meet = |a: &Zone, b: &Zone| a.overlap(b) > NEAR;
    let same_clock = |a: Angle, an: u32, b: Angle, bn: u32| {
        let (an, bn) = (an.clamp(1, 360), bn.clamp(1, 360));
        (0..an).any(|i| {
            let clock = a.to_deg() + 360.0 * f64::from(i) / f64::from(an);
            (0..bn).any(|j| {
                let apart = (clock - b.to_deg() - 360.0 * f64::from(j) / f64::from(bn)).rem_euclid(360.0);
                apart.min(360.0 - apart) < 1e-6
            })
        })
    };
    let earlier = features[..id].iter().find(|f| match (&f.kind, &feature.kind) {
        (Kind::Flat(a), Kind::Flat(b)) => {
            meet(&a.zone, &b.zone)
                && (a.from_axis.nominal - b.from_axis.nominal).abs() <= NEAR
                && same_clock(a.clock, a.count, b.clock, b.count)
        }
        (Kind::Keyway(a), Kind::Keyway(b)) => meet(&a.zone, &b.zone) && same_clock(a.clock, 1, b.clock, 1),
        (Kind::Slot(a), Kind::Slot(b)) => {
            a.end == b.end && meet(&a.zone, &b.zone) && same_clock(a.clock, a.count, b.clock, b.count)
        }
        (Kind::Polygon(a), Kind::Polygon(b)) => meet(&a.zone, &b.zone),
        (Kind::Socket(a), Kind::Socket(b)) => a.from == b.from,
        (Kind::Groove(a), Kind::Groove(b)) => {
            a.side == b.side
                && meet(&a.zone, &b.zone)
                && !solid.row.iter().any(|s| std::ptr::eq(solid.feature(s.feature), feature))
        }
        (Kind::Chamfer(a), Kind::Chamfer(b)) => a.inside == b.inside && (a.at - b.at).abs() <= NEAR,
        (Kind::Knurl(a), Kind::Knurl(b)) => meet(&a.zone, &b.zone),
        (Kind::Face(a), Kind::Face(b)) => a.end == b.end,
        _ => false,
    });
    if let Some(f) = earlier {
        let word = kind_word(&feature.kind);
        let message = format!("`{}` and `{}` are the same {word} at the same place", f.name, feature.name);
        out.push(
            Diagnostic::error("features-coincide", feature.place, message)
                .also(f.place, format!("`{}`", f.name))
                .help("leave one of them out, or move it"),
        );
    }
}

#[cfg(test)]
mod tests {
    use super::super::bench::*;
    use crate::model::part::*;
    use crate::quantity::{Angle, Area};

    fn none() -> Vec<&'static str> {
        Vec::new()
    }

    fn on(f: Feature) -> Part {
        part(20.0, vec![turn("a", 10.0, 0.0, 20.0), f])
    }

    fn flat(from_axis: f64, clock: f64) -> Feature {
        let flat =
            Flat { from_axis: size(from_axis), zone: zone(4.0, 6.0), clock: Angle::deg(clock), count: 2, finish: None };
        feature("f", Kind::Flat(flat))
    }

    #[test]
    fn a_flat_cuts_the_cylinder() {
        assert_eq!(codes(&on(flat(4.9, 0.0))), none());
        assert_eq!(codes(&on(flat(5.0, 0.0))), ["flat-outside-diameter"]);
    }

    #[test]
    fn a_keyway_has_room() {
        let key = |width, depth, end| {
            on(feature(
                "k",
                Kind::Keyway(Keyway { width: size(width), depth: mm(depth), zone: zone(4.0, end), clock: Angle::ZERO }),
            ))
        };
        assert_eq!(codes(&key(3.0, 1.8, 9.0)), none());
        assert_eq!(codes(&key(3.0, 5.0, 9.0)), ["keyway-too-deep"]);
        assert_eq!(codes(&key(3.0, 1.8, 7.0)), none());
        assert_eq!(codes(&key(3.0, 1.8, 6.9)), ["keyway-shorter-than-wide"]);
        assert_eq!(codes(&key(10.0, 1.8, 16.0)), ["wider-than-part"]);
    }

    #[test]
    fn a_slot_leaves_the_part_in_one() {
        let slot = |width, depth, count, end| {
            let slot = Slot {
                width: size(width),
                depth: mm(depth),
                zone: zone(0.0, 6.0),
                clock: Angle::ZERO,
                count,
                end,
                finish: None,
            };
            on(feature("s", Kind::Slot(slot)))
        };
        assert_eq!(codes(&slot(2.0, 9.9, 1, None)), none());
        assert_eq!(codes(&slot(2.0, 10.0, 1, None)), ["slot-too-deep"]);
        assert_eq!(codes(&slot(2.0, 12.0, 1, Some(End::Front))), none(), "an end slot is deep along z");
        assert_eq!(codes(&slot(10.0, 1.0, 1, None)), ["wider-than-part"]);
        assert_eq!(codes(&slot(4.9, 1.0, 6, None)), none());
        assert_eq!(codes(&slot(5.0, 1.0, 6, None)), ["too-many-around"], "six chords of dia 10 are 5 each");
    }

    #[test]
    fn a_drive_is_larger_than_the_bore() {
        let with = |dia, depth| {
            let s = Socket {
                shape: SocketShape::Hexalobe { number: 15, outer: mm(3.35) },
                depth: mm(2.0),
                from: End::Front,
            };
            part(20.0, vec![turn("a", 10.0, 0.0, 20.0), bore("b", dia, 0.0, depth), feature("s", Kind::Socket(s))])
        };
        assert_eq!(codes(&with(3.3, 5.0)), none());
        assert_eq!(codes(&with(3.35, 5.0)), ["socket-within-bore"]);
        assert_eq!(codes(&with(3.35, 1.0)), none(), "the bore is only a recess over the drive");
    }

    #[test]
    fn a_sculpted_surface_keeps_a_core() {
        let with = |depth| {
            let c =
                Contour { area: Area::mm2(50.0), scallop: mm(0.01), axes: 5, zone: zone(2.0, 8.0), depth: mm(depth) };
            on(feature("c", Kind::Contour(c)))
        };
        assert_eq!(codes(&with(4.9)), none());
        assert_eq!(codes(&with(5.0)), ["contour-too-deep"]);
    }

    #[test]
    fn nothing_is_written_twice() {
        let with = |clock| {
            let mut p = on(flat(4.0, 0.0));
            p.features.push(flat(4.0, clock));
            p
        };
        assert_eq!(codes(&with(90.0)), none());
        assert_eq!(codes(&with(180.0)), ["features-coincide"], "the second flat of two lies at 180");
    }
}
