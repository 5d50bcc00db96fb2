//! Thread geometry, lead angles, limit sizes, bar, roughness.

use crate::{Check, numbers, run};
use std::f64::consts::PI;
use turnwright::formulas::bar::{Section, mass};
use turnwright::formulas::cutting::{feed_for_ra, ideal_ra, ideal_rz};
use turnwright::formulas::threads::{SixtyProfile, lead_angle, sixty_profile};
use turnwright::quantity::units::meaning;
use turnwright::quantity::{Feed, Length};
use turnwright::tables::threads::{self, Sixty};
use turnwright::tables::{iso286, roughness};

fn mm(c: &Check, name: &str) -> Length {
    Length::mm(c.get(name))
}

/// The diameters of a thread given in mm or in threads per inch, and the unit to answer in.
fn profile(c: &Check) -> (SixtyProfile, fn(Length) -> f64) {
    if c.inputs.contains_key("tpi") {
        let p = sixty_profile(Length::inch(c.get("major_in")), Length::inch(1.0 / c.get("tpi"))).unwrap();
        (p, Length::to_inch)
    } else {
        (sixty_profile(mm(c, "major_mm"), mm(c, "pitch_mm")).unwrap(), Length::to_mm)
    }
}

fn metric_limit(c: &Check) -> f64 {
    let (d, p) = (mm(c, "major_mm"), mm(c, "pitch_mm"));
    let (class, what) = c.of.split_once(' ').unwrap();
    if class == "6H" {
        let l = threads::internal_limits(Sixty::Metric, d, p, class).unwrap();
        return match what {
            "minor-max" => l.minor.max.to_mm(),
            "pitch-max" => l.pitch_dia.max.to_mm(),
            _ => panic!("{what}"),
        };
    }
    let l = threads::external_limits(Sixty::Metric, d, p, class).unwrap();
    match what {
        "major-max" => l.major.max.to_mm(),
        "major-min" => l.major.min.to_mm(),
        "pitch-min" => l.pitch_dia.min.to_mm(),
        "minor-min-rounded" => l.minor_min.unwrap().to_mm(),
        "deviation" => (l.major.max - d).to_um(),
        "major tolerance" => (l.major.max - l.major.min).to_um(),
        "pitch tolerance" => (l.pitch_dia.max - l.pitch_dia.min).to_um(),
        _ => panic!("{what}"),
    }
}

fn unified_limit(c: &Check) -> f64 {
    let (class, what) = c.of.split_once(' ').unwrap();
    let (d, p) = (Length::inch(c.get("major_in")), Length::inch(1.0 / c.get("tpi")));
    let l = threads::external_limits(Sixty::Unified, d, p, class).unwrap();
    match what {
        "major max" => l.major.max.to_inch(),
        "major min" => l.major.min.to_inch(),
        "pitch tolerance" => (l.pitch_dia.max - l.pitch_dia.min).to_inch(),
        _ => panic!("{what}"),
    }
}

fn table_of(c: &Check) -> f64 {
    let (size, what) = c.of.split_once(' ').unwrap_or((&c.of, ""));
    match (c.check.as_str(), what) {
        ("acme-limit", "pitch-max") => threads::acme_limits_2g(threads::acme(size).unwrap()).pitch_dia.max.to_inch(),
        ("acme-limit", "pitch-min") => threads::acme_limits_2g(threads::acme(size).unwrap()).pitch_dia.min.to_inch(),
        ("pipe", "pitch-dia") => threads::pipe_parallel(size).unwrap().pitch_dia.to_mm(),
        ("pipe", "minor") => threads::pipe_parallel(size).unwrap().minor.to_mm(),
        ("npt", "E0") => threads::npt(size).unwrap().pitch_dia_small_end.to_inch(),
        ("npt", "E1") => {
            let row = threads::npt(size).unwrap();
            (row.pitch_dia_small_end + row.hand_tight * threads::PIPE_TAPER).to_inch()
        }
        ("npt", "L2") => threads::npt(size).unwrap().effective.to_inch(),
        _ => panic!("{} {what}", c.check),
    }
}

fn trapezoidal(c: &Check) -> f64 {
    let row = threads::trapezoidal(mm(c, "major_mm"), mm(c, "pitch_mm")).unwrap();
    match c.of.as_str() {
        "pitch-dia" => row.pitch_dia.to_mm(),
        "minor-external" => row.minor_external.to_mm(),
        "major-internal" => row.major_internal.to_mm(),
        what => panic!("{what}"),
    }
}

/// Clearance or interference of a fit, um.
fn fit(c: &Check) -> f64 {
    let words: Vec<&str> = c.of.split(' ').collect();
    let (hole_upper, hole_lower) = iso286::limits(mm(c, "size_mm"), words[0]).unwrap();
    let (shaft_upper, shaft_lower) = iso286::limits(mm(c, "size_mm"), words[1]).unwrap();
    match words[2] {
        "min" => (hole_lower - shaft_upper).to_um(),
        "max" => (hole_upper - shaft_lower).to_um(),
        "max-interference" => (shaft_upper - hole_lower).to_um(),
        what => panic!("{what}"),
    }
}

fn limit_size(c: &Check) -> f64 {
    let (class, end) = c.of.split_once(' ').unwrap();
    let (upper, lower) = iso286::limits(mm(c, "size_mm"), class).unwrap();
    (mm(c, "size_mm") + if end == "max" { upper } else { lower }).to_mm()
}

/// The torque of a power screw, from its lead angle; the formula of the textbook.
fn power_screw_torque(c: &Check) -> f64 {
    let d = c.get("mean_dia");
    let tan = lead_angle(mm(c, "lead"), Length::mm(d)).unwrap().to_deg().to_radians().tan();
    let mu = c.get("mu");
    c.get("load") * d / 2.0 * (mu + tan) / (1.0 - mu * tan)
        + mu * c.get("load") * (c.get("collar_outer") + c.get("collar_inner")) / 4.0
}

/// `i = 0.45 D^(1/3) + 0.001 D`, um: the formula of ISO 286-1, evaluated here to hold the table against it.
pub(crate) fn tolerance_unit(over: f64, up_to: f64) -> f64 {
    let d = (over * up_to).sqrt();
    0.45 * d.cbrt() + 0.001 * d
}

fn value(c: &Check) -> f64 {
    let nose = || mm(c, "nose_mm");
    match c.check.as_str() {
        "sixty-pitch-dia" => profile(c).1(profile(c).0.pitch_dia),
        "sixty-minor-internal" => profile(c).1(profile(c).0.minor_internal),
        "sixty-minor-d3" => profile(c).1(profile(c).0.minor_external_d3),
        "sixty-minor-unr" => profile(c).1(profile(c).0.minor_external_unr),
        "metric-limit" => metric_limit(c),
        "unified-limit" => unified_limit(c),
        "unified-size" => threads::unified_size(&c.of).unwrap().to_inch(),
        "lead-angle" => lead_angle(mm(c, "lead"), mm(c, "dia")).unwrap().to_deg(),
        "lead-angle-minutes" => lead_angle(mm(c, "lead"), mm(c, "dia")).unwrap().to_deg() * 60.0,
        "bone-lead-angle" => {
            let (form, size) = c.of.split_once(' ').unwrap();
            let row = threads::bone(form, Length::mm(size.parse().unwrap())).unwrap();
            lead_angle(row.pitch * c.get("starts"), (row.major + row.core) / 2.0).unwrap().to_deg()
        }
        "lead-of-starts" => {
            // The lead that the angle of so many starts stands for.
            let angle = lead_angle(mm(c, "pitch") * c.get("starts"), Length::mm(46.0)).unwrap();
            angle.to_deg().to_radians().tan() * PI * 46.0
        }
        "starts" => {
            let tan = |name| lead_angle(mm(c, name), Length::mm(55.5)).unwrap().to_deg().to_radians().tan();
            tan("lead") / tan("pitch")
        }
        "power-screw-torque" => power_screw_torque(c),
        "trapezoidal" => trapezoidal(c),
        "acme-limit" | "pipe" | "npt" => table_of(c),
        "tolerance-unit" => tolerance_unit(c.get("over"), c.get("up_to")),
        "grade" => iso286::grade_tolerance(c.of[2..].parse().unwrap(), mm(c, "size_mm")).unwrap().to_um(),
        "limit-size" => limit_size(c),
        "fit" => fit(c),
        "feet" => meaning("ft").unwrap().of(c.get("feet")).value,
        "bar-mass" => mass(mm(c, "dia_mm"), Length::m(1.0), c.get("density"), Section::Round).unwrap().to_kg(),
        "four-ra" => 4.0 * ideal_ra(Feed::mm_per_rev(c.get("feed_mm")), nose()).to_um(),
        "ideal-ra" => ideal_ra(Feed::mm_per_rev(c.get("feed_mm")), nose()).to_um(),
        "ideal-rz" => ideal_rz(Feed::mm_per_rev(c.get("feed_mm")), nose()).unwrap().to_um(),
        "feed-for-ra" => feed_for_ra(Length::um(c.get("ra_um")), nose()).to_mm_per_rev(),
        "roughness-grade" => roughness::ra(c.get("grade") as u32).unwrap().to_um(),
        other => panic!("{}: no calculation {other}", c.id),
    }
}

#[test]
fn published_geometry() {
    run(include_str!("geometry.yaml"), 136, |c| numbers([("value", value(c))]));
}
