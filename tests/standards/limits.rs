//! Limits and fits, general tolerances, bar, roughness; and every value of ISO 286-1 against its formula.

use crate::geometry::tolerance_unit;
use crate::{Check, Numbers, numbers, run};
use serde::Deserialize;
use std::collections::BTreeMap;
use turnwright::formulas::bar::{Section, mass};
use turnwright::formulas::cutting::{feed_for_ra, ideal_ra, ideal_rz};
use turnwright::quantity::{Feed, Length};
use turnwright::tables::iso286::{self, FineGrade};
use turnwright::tables::iso2768::{self, GeneralClass};
use turnwright::tables::roughness;

fn compute(c: &Check) -> Numbers {
    let mm = |name| Length::mm(c.get(name));
    match c.check.as_str() {
        "limits" => {
            let (upper, lower) = iso286::limits(mm("size_mm"), &c.of).unwrap();
            numbers([("upper_mm", upper.to_mm()), ("lower_mm", lower.to_mm())])
        }
        "general" => {
            let class = GeneralClass::from_letter(&c.of).unwrap();
            numbers([("plus_minus_mm", iso2768::linear(class, mm("size_mm")).unwrap().to_mm())])
        }
        "bar-mass" => {
            let kg = mass(mm("dia_mm"), Length::m(1.0), c.get("density"), Section::Round).unwrap().to_kg();
            numbers([("kg_per_m", kg)])
        }
        "roughness" => {
            let feed = Feed::mm_per_rev(c.get("feed_mm"));
            let ra_um = ideal_ra(feed, mm("nose_mm")).to_um();
            let exact_um = ideal_rz(feed, mm("nose_mm")).unwrap().to_um();
            numbers([("rz_exact_um", exact_um), ("ra_um", ra_um), ("rz_um", 4.0 * ra_um)])
        }
        "feed-for-ra" => {
            let feed = feed_for_ra(Length::um(c.get("ra_um")), mm("nose_mm"));
            numbers([("feed_mm", feed.to_mm_per_rev())])
        }
        "roughness-grade" => numbers([("ra_um", roughness::ra(c.get("grade") as u32).unwrap().to_um())]),
        other => panic!("{}: no calculation {other}", c.id),
    }
}

#[test]
fn published_limits() {
    run(include_str!("limits.yaml"), 157, compute);
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Units {
    multipliers: BTreeMap<u8, f64>,
    /// Over, up to, tolerance unit in um.
    units: Vec<[f64; 3]>,
    /// Step end, grade, formula, table.
    exceptions: Vec<(f64, u8, f64, f64)>,
}

/// ISO 286-1: every printed tolerance from IT5 up is its multiple of the tolerance unit to 3.5 %, but for the listed
/// roundings; and IT01, IT0 and IT1 follow their own formulas.
#[test]
fn every_standard_tolerance_follows_its_formula() {
    let data: Units = serde_yaml::from_str(include_str!("tolerance_unit.yaml")).unwrap();
    let mut used = 0;
    for &[over, up_to, unit] in &data.units {
        // The standard takes 1 to 3 mm as its first step.
        let i = tolerance_unit(if over == 0.0 { 1.0 } else { over }, up_to);
        assert!((i - unit).abs() < 6e-5, "{up_to}: {i} against {unit}");
        for (&grade, multiplier) in &data.multipliers {
            let table = iso286::grade_tolerance(grade, Length::mm(up_to)).unwrap().to_um();
            match data.exceptions.iter().find(|e| e.0 == up_to && e.1 == grade) {
                Some(&(_, _, formula, printed)) => {
                    used += 1;
                    assert!((i * multiplier - formula).abs() < 0.06 * formula.max(1.0), "{up_to} IT{grade}");
                    assert!((table - printed).abs() < 1e-9, "{up_to} IT{grade}: {table} against {printed}");
                }
                None => assert!((table / (i * multiplier) - 1.0).abs() < 0.0351, "{up_to} IT{grade}: {table}"),
            }
        }
        let d = (over.max(1.0) * up_to).sqrt();
        let small = [
            (iso286::fine_tolerance(FineGrade::It01, Length::mm(up_to)).unwrap().to_um(), 0.3 + 0.008 * d),
            (iso286::fine_tolerance(FineGrade::It0, Length::mm(up_to)).unwrap().to_um(), 0.5 + 0.012 * d),
            (iso286::grade_tolerance(1, Length::mm(up_to)).unwrap().to_um(), 0.8 + 0.02 * d),
        ];
        // Printed to a rough series of numbers: 0.3, 0.4, 0.5, 0.6, 0.8, 1 and so on.
        for (table, formula) in small {
            assert!((table / formula - 1.0).abs() < 0.3, "{up_to}: {table} against {formula}");
        }
    }
    assert_eq!(used, data.exceptions.len(), "an exception stands for no value of the table");
}

/// IT2 to IT4 lie between IT1 and IT5, and every grade grows with the size.
#[test]
fn tolerances_grow_with_grade_and_size() {
    let sizes = [3.0, 6.0, 10.0, 18.0, 30.0, 50.0, 80.0, 120.0, 180.0, 250.0, 315.0, 400.0, 500.0].map(Length::mm);
    for grade in 1..18 {
        for pair in sizes.windows(2) {
            let at = |g, s| iso286::grade_tolerance(g, s).unwrap();
            assert!(at(grade, pair[0]) < at(grade + 1, pair[0]));
            assert!(at(grade, pair[0]) <= at(grade, pair[1]));
        }
    }
}

/// The fundamental deviations of ISO 286-1 against their formulas (from memory), where one is a plain power of the size;
/// printed values are rounded, so to 1 um or 8 %.
#[test]
fn fundamental_deviations_follow_their_formulas() {
    let steps = [(3.0, 6.0), (6.0, 10.0), (10.0, 18.0), (18.0, 30.0), (30.0, 50.0), (50.0, 80.0), (80.0, 120.0)];
    for (over, up_to) in steps {
        let d: f64 = f64::sqrt(over * up_to);
        let formulas = [
            ("d9", -16.0 * d.powf(0.44)),
            ("e8", -11.0 * d.powf(0.41)),
            ("f7", -5.5 * d.powf(0.41)),
            ("g6", -2.5 * d.powf(0.34)),
        ];
        for (class, formula) in formulas {
            let (upper, _) = iso286::limits(Length::mm(up_to), class).unwrap();
            let near = (upper.to_um() - formula).abs() <= (0.08 * formula.abs()).max(1.0);
            assert!(near, "{up_to} {class}: {} against {formula}", upper.to_um());
        }
        let (_, n) = iso286::limits(Length::mm(up_to), "n6").unwrap();
        assert!((n.to_um() - 5.0 * d.powf(0.34)).abs() <= 1.5, "{up_to} n: {}", n.to_um());
    }
}

/// A hole of a letter mirrors the shaft of that letter: EI = -es from D to H in every step.
#[test]
fn holes_mirror_shafts() {
    for up_to in [3.0, 6.0, 10.0, 14.0, 18.0, 24.0, 30.0, 40.0, 50.0, 65.0, 80.0, 100.0, 120.0].map(Length::mm) {
        for (hole, shaft) in [("D9", "d9"), ("E8", "e8"), ("F7", "f7"), ("G6", "g6"), ("H7", "h7")] {
            let (_, hole_lower) = iso286::limits(up_to, hole).unwrap();
            let (shaft_upper, _) = iso286::limits(up_to, shaft).unwrap();
            assert!((hole_lower + shaft_upper).abs() < Length::mm(1e-9), "{hole}");
        }
        // P7 interferes with h6 as H7 does with p6, but for the rounding of delta: the special rule of ISO 286-1.
        let (p7, _) = iso286::limits(up_to, "P7").unwrap();
        let (_, p6) = iso286::limits(up_to, "p6").unwrap();
        let it = |g| iso286::grade_tolerance(g, up_to).unwrap();
        let delta = if up_to.to_mm() <= 3.0 { Length::ZERO } else { it(7) - it(6) };
        assert!((p7 + p6 - delta).abs() < Length::um(0.51), "{}", up_to.to_mm());
    }
}
