//! The program against values that other programs computed by other methods; see README.md beside this file.

#![allow(clippy::unwrap_used, reason = "a reference that cannot be read fails")]

use serde::Deserialize;
use turnwright::formulas::beam::{BeamSegment, Ends, deflection, deflection_range};
use turnwright::formulas::cutting::{cutting_force, cutting_power, spindle_speed, turning_torque};
use turnwright::formulas::investment::{annuity, internal_rates_of_return, net_present_value};
use turnwright::formulas::time::{facing, turning_at_surface_speed};
use turnwright::quantity::units::meaning;
use turnwright::quantity::{Angle, Feed, Force, Length, Money, Ratio, RotationalSpeed, Velocity};

/// The lines of a table below its header.
fn rows(text: &str) -> impl Iterator<Item = Vec<&str>> {
    text.lines().skip(1).map(|line| line.split(',').collect())
}

fn numbers(row: &[&str]) -> Vec<f64> {
    row.iter().map(|cell| cell.parse().unwrap()).collect()
}

#[track_caller]
fn near(what: &str, got: f64, want: f64, share: f64) {
    let wide = share * want.abs() + 1e-12;
    assert!((got - want).abs() <= wide, "{what}: {got} against {want}");
}

#[test]
fn two_hundred_stepped_shafts() {
    let mut count = 0;
    for row in rows(include_str!("beams.csv")) {
        count += 1;
        let stretch = |text: &str| {
            let n: Vec<f64> = text.split(':').map(|x| x.parse().unwrap()).collect();
            BeamSegment { length: Length::mm(n[0]), dia: Length::mm(n[1]), bore: Length::mm(n[2]) }
        };
        let segments: Vec<BeamSegment> = row[1].split(';').map(stretch).collect();
        let [gpa, force, at, overhung, propped, supported, held, from, to, least, greatest] =
            numbers(&row[2..]).try_into().unwrap();
        let force = Force::n(force);
        let cases = [
            (Ends::Overhung, overhung),
            (Ends::HeldAndSupported, propped),
            (Ends::Supported, supported),
            (Ends::Held, held),
        ];
        for (ends, want) in cases {
            let got = deflection(&segments, gpa, force, Length::mm(at), ends).unwrap().to_mm();
            near(&format!("shaft {} {ends:?}", row[0]), got, want, 1e-6);
        }
        let (low, high) = deflection_range(&segments, gpa, force, Length::mm(from), Length::mm(to), true).unwrap();
        // The reference tries places and may miss the greatest by a little; the program must not fall short of it.
        near(&format!("shaft {} greatest", row[0]), high.to_mm(), greatest, 2e-3);
        assert!(high.to_mm() >= greatest * (1.0 - 1e-6), "shaft {}: {} below {greatest}", row[0], high.to_mm());
        near(&format!("shaft {} least", row[0]), low.to_mm(), least, 2e-3);
    }
    assert_eq!(count, 200);
}

#[test]
fn two_hundred_faces_and_cones() {
    let mut count = 0;
    for row in rows(include_str!("facing.csv")) {
        count += 1;
        let [_, outer, inner, length, feed, speed, cap, seconds] = numbers(&row).try_into().unwrap();
        let (outer, inner, feed) = (Length::mm(outer), Length::mm(inner), Feed::mm_per_rev(feed));
        let (speed, cap) = (Velocity::m_per_min(speed), RotationalSpeed::rpm(cap));
        let t = turning_at_surface_speed(outer, inner, Length::mm(length), feed, speed, cap).unwrap();
        near(row[0], t.to_s(), seconds, 1e-9);
        if length == 0.0 {
            assert_eq!(facing(outer, inner, feed, speed, cap).unwrap(), t);
        }
    }
    assert_eq!(count, 200);
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Investment {
    flows: Vec<f64>,
    rate: f64,
    npv: f64,
    irr: Vec<f64>,
    annuity: f64,
}

#[test]
fn two_hundred_cash_flows() {
    let cases: Vec<Investment> = serde_json::from_str(include_str!("investment.json")).unwrap();
    assert_eq!(cases.len(), 200);
    let mut several = 0;
    for case in &cases {
        let flows: Vec<Money> = case.flows.iter().copied().map(Money::units).collect();
        let npv = net_present_value(Ratio::fraction(case.rate), &flows).unwrap().to_units();
        let size: f64 = case.flows.iter().map(|f| f.abs()).sum();
        assert!((npv - case.npv).abs() < 1e-9 * size, "{:?}: {npv} against {}", case.flows, case.npv);
        let rates = internal_rates_of_return(&flows).unwrap();
        assert_eq!(rates.len(), case.irr.len(), "{:?}: {rates:?} against {:?}", case.flows, case.irr);
        for (rate, want) in rates.iter().zip(&case.irr) {
            // Where two roots nearly meet, a polynomial's roots are the less certain.
            near("rate of return", rate.to_fraction(), *want, 1e-6);
            let left = net_present_value(*rate, &flows).unwrap().to_units();
            // At -90 % a sum of the twelfth year counts 1e12 times.
            let scale = libm::pow((1.0 + rate.to_fraction()).min(1.0), flows.len() as f64);
            assert!(left.abs() * scale < 1e-6 * size, "{:?} at {rate}: {left}", case.flows);
        }
        several += usize::from(rates.len() > 1);
        let years = f64::from(u32::try_from(flows.len()).unwrap() - 1);
        let paid = annuity(flows[0].abs(), Ratio::fraction(0.01 + case.rate.abs()), years).unwrap();
        near("annuity", paid.to_units(), case.annuity, 1e-9);
    }
    assert!(several > 20, "several rates: {several}");
}

#[test]
fn a_hundred_cuts() {
    let mut count = 0;
    for row in rows(include_str!("cutting.csv")) {
        count += 1;
        let [_, kc11, mc, depth, feed, edge, speed, dia, force, power, torque, turns] =
            numbers(&row).try_into().unwrap();
        let (speed, dia) = (Velocity::m_per_min(speed), Length::mm(dia));
        let (depth, feed) = (Length::mm(depth), Feed::mm_per_rev(feed));
        // The reference follows the law below 0.03 mm too, where the program holds the force.
        let held = feed.to_mm_per_rev() * libm::sin(edge.to_radians()) < 0.03;
        assert!(!held, "a case below the range of the law");
        let got = cutting_force(kc11, mc, depth, feed, Angle::deg(edge), 1.0).unwrap();
        near("force", got.to_n(), force, 1e-12);
        near("power", cutting_power(got, speed).to_kw(), power, 1e-12);
        near("torque", turning_torque(got, dia).to_nm(), torque, 1e-12);
        near("speed", spindle_speed(speed, dia).unwrap().to_rpm(), turns, 1e-12);
    }
    assert_eq!(count, 100);
}

#[test]
fn units_as_a_library_converts_them() {
    let mut count = 0;
    for row in rows(include_str!("units.csv")) {
        count += 1;
        let unit = meaning(row[0]).unwrap_or_else(|| panic!("no unit {}", row[0]));
        let kept = meaning(row[1]).unwrap();
        assert_eq!(unit.dimension, kept.dimension, "{}", row[0]);
        near(row[0], unit.factor / kept.factor, row[2].parse().unwrap(), 1e-14);
    }
    assert_eq!(count, 36);
}
