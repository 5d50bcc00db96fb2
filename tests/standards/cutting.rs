//! Cutting force, power, and times of turning, facing, drilling and threading.

use crate::{Check, Numbers, numbers, run};
use std::f64::consts::PI;
use turnwright::formulas::cutting::{
    cutting_force, cutting_power, ideal_ra, removal_rate_cm3_min, specific_cutting_force, spindle_speed, surface_speed,
    turning_torque,
};
use turnwright::formulas::drilling::{PeckPlan, steady_time};
use turnwright::formulas::threads::{lead_angle, single_point_time, sixty_profile, whirl_time, whirl_work_speed};
use turnwright::formulas::time::{facing, turning};
use turnwright::formulas::{bar, finance};
use turnwright::quantity::{Angle, Feed, Force, Length, RotationalSpeed, Time, Velocity};

const FREE: RotationalSpeed = RotationalSpeed::rpm(1e9);

fn speed_of(v: f64, d: f64) -> RotationalSpeed {
    spindle_speed(Velocity::m_per_min(v), Length::mm(d)).unwrap()
}

/// The time of a cylinder, min.
fn cylinder(length: f64, dia: f64, v: f64, feed: f64) -> f64 {
    turning(Length::mm(length), Feed::mm_per_rev(feed), speed_of(v, dia)).unwrap().to_minutes()
}

/// The time of a face at constant surface speed, min.
fn face(outer: f64, inner: f64, v: f64, feed: f64, cap: RotationalSpeed) -> f64 {
    let t = facing(Length::mm(outer), Length::mm(inner), Feed::mm_per_rev(feed), Velocity::m_per_min(v), cap);
    t.unwrap().to_minutes()
}

/// A hole without point, or with the allowance for it counted as depth, s.
fn hole(depth: f64, feed: f64, n: RotationalSpeed) -> f64 {
    let (z, flat) = (Length::ZERO, Angle::deg(180.0));
    steady_time(Length::mm(depth), z, flat, z, Feed::mm_per_rev(feed), n).unwrap().to_s()
}

fn times(c: &Check) -> Numbers {
    let mm = |name| Length::mm(c.get(name));
    let feed = || c.get("feed_mm_rev");
    match c.check.as_str() {
        "turning-si" => {
            let v = c.get("cutting_speed_m_s") * 60.0;
            let n = speed_of(v, c.get("diameter_mm"));
            let q = removal_rate_cm3_min(Velocity::m_per_min(v), mm("depth_mm"), Feed::mm_per_rev(feed()));
            let t = turning(mm("length_mm"), Feed::mm_per_rev(feed()), n).unwrap();
            numbers([
                ("spindle_speed_rev_s", n.to_rpm() / 60.0),
                ("time_min", t.to_minutes()),
                ("removal_rate_mm3_s", q * 1000.0 / 60.0),
            ])
        }
        "facing-constant-rpm-in" => {
            let (n, f) =
                (RotationalSpeed::rpm(c.get("spindle_rev_min")), Feed::mm_per_rev(c.get("feed_in_rev") * 25.4));
            let t = turning(Length::inch(c.get("diameter_in") / 2.0), f, n).unwrap();
            numbers([("feed_rate_in_min", f.to_mm_per_rev() * n.to_rpm() / 25.4), ("time_min", t.to_minutes())])
        }
        "stepped-turning" => {
            let v = c.get("cutting_speed_m_min");
            let first = cylinder(c.get("first_length_mm"), c.get("first_diameter_mm"), v, feed());
            let second = cylinder(c.get("second_length_mm"), c.get("second_diameter_mm"), v, feed());
            numbers([("time_min", first + second)])
        }
        "relief" => {
            let t = cylinder(c.get("length_mm"), c.get("diameter_mm"), c.get("cutting_speed_m_min"), feed());
            numbers([("time_min", t)])
        }
        "facing-css" => {
            let v = c.get("cutting_speed_m_min");
            numbers([("time_min", face(c.get("outside_diameter_mm"), c.get("inside_diameter_mm"), v, feed(), FREE))])
        }
        "through-hole" => {
            let d = c.get("drill_diameter_mm");
            let n = speed_of(c.get("cutting_speed_m_min"), d);
            numbers([("time_min", hole(c.get("depth_mm") + 2.0 * 0.29 * d, feed(), n) / 60.0)])
        }
        "five-cuts" => {
            let n = speed_of(c.get("cutting_speed_m_min"), c.get("diameter_mm"));
            let (z, cuts) = (Length::ZERO, c.get("cuts") as u32);
            let t = single_point_time(mm("length_mm"), z, z, mm("lead_mm"), n, cuts, Time::ZERO).unwrap();
            numbers([("time_min", t.to_minutes())])
        }
        "cut-off" => {
            numbers([("time_min", face(c.get("diameter_mm"), 0.0, c.get("cutting_speed_m_min"), feed(), FREE))])
        }
        "capstan" => capstan(c),
        "drilling-15" => {
            let n = speed_of(c.get("cutting_speed_m_min"), c.get("drill_diameter_mm"));
            numbers([("time_s", hole(c.get("depth_mm"), feed(), n))])
        }
        "drilling-five" => {
            let n = c.get("spindle_rev_min");
            let one = hole(c.get("depth_mm"), feed(), RotationalSpeed::rpm(n));
            numbers([("time_s", one * c.get("holes")), ("feed_rate_mm_min", feed() * n)])
        }
        "timed-drilling" => {
            let path = c.get("depth_in") + c.get("approach_allowance_in");
            let rate = path / c.get("time_min");
            // The hole at that pace must take the time it was worked out from.
            let t = hole(path * 25.4, rate * 25.4, RotationalSpeed::rpm(1.0));
            assert!((t / 60.0 - c.get("time_min")).abs() < 1e-9);
            let area = bar::area(Length::inch(c.get("drill_diameter_in")), bar::Section::Round).unwrap();
            numbers([("feed_rate_in_min", rate), ("removal_rate_in3_min", area.to_mm2() / 645.16 * rate)])
        }
        "facing-tube" => {
            let n = RotationalSpeed::rpm(c.get("spindle_rev_min"));
            let (outer, inner) =
                (Length::inch(c.get("outside_diameter_in")), Length::inch(c.get("inside_diameter_in")));
            let t = turning((outer - inner) / 2.0, Feed::mm_per_rev(c.get("feed_in_rev") * 25.4), n).unwrap();
            let feet = |d| surface_speed(n, d).to_m_per_min() / 0.3048;
            numbers([
                ("time_min", t.to_minutes()),
                ("speed_outside_ft_min", feet(outer)),
                ("speed_inside_ft_min", feet(inner)),
            ])
        }
        "facing-cap" => {
            let (v, cap) = (c.get("cutting_speed_m_min"), c.get("max_rev_min"));
            let t = face(c.get("diameter_mm"), 0.0, v, feed(), RotationalSpeed::rpm(cap));
            numbers([("cap_diameter_mm", 1000.0 * v / (PI * cap)), ("time_s", t * 60.0)])
        }
        "wanted-rate" => {
            let (outer, inner) = (c.get("start_diameter_in"), c.get("end_diameter_in"));
            let v = Velocity::m_per_min(c.get("speed_ft_min") * 0.3048);
            let depth = (outer - inner) / 2.0;
            let feed = c.get("removal_rate_in3_min") / (12.0 * c.get("speed_ft_min") * depth);
            let q = removal_rate_cm3_min(v, Length::inch(depth), Feed::mm_per_rev(feed * 25.4));
            assert!((q / 16.387_064 - c.get("removal_rate_in3_min")).abs() < 1e-9);
            let n = spindle_speed(v, Length::inch(outer)).unwrap();
            let t = turning(Length::inch(c.get("length_in")), Feed::mm_per_rev(feed * 25.4), n).unwrap();
            numbers([("depth_in", depth), ("feed_in_rev", feed), ("time_min", t.to_minutes())])
        }
        "pecks" => {
            let step = c.get("peck_mm");
            let count = (c.get("depth_mm") / step).round() as u32;
            let plan = PeckPlan {
                depths: (1..=count).map(|i| Length::mm(step * f64::from(i))).collect(),
                re_entry: mm("re_entry_clearance_mm"),
                clearance: mm("start_clearance_mm"),
                rapid: Velocity::mm_per_min(c.get("rapid_mm_min")),
                turnaround: Time::s(c.get("turnaround_s")),
            };
            let n = RotationalSpeed::rpm(c.get("spindle_rev_min"));
            let steady = hole(c.get("depth_mm") + c.get("start_clearance_mm"), feed(), n);
            let t = plan.time(Feed::mm_per_rev(feed()), n).unwrap();
            numbers([("time_s", t.to_s()), ("time_without_pecking_s", steady)])
        }
        "whirling" => {
            let ring = RotationalSpeed::rpm(c.get("ring_rev_min"));
            let inserts = c.get("inserts") as u32;
            let n = whirl_work_speed(mm("chip_load_mm"), inserts, ring, mm("thread_diameter_mm")).unwrap();
            let t = whirl_time(mm("length_mm"), Length::ZERO, Length::ZERO, mm("lead_mm"), n).unwrap();
            numbers([
                ("workpiece_rev_min", n.to_rpm()),
                ("time_s", t.to_s()),
                ("cutting_speed_m_min", surface_speed(ring, mm("cutting_circle_mm")).to_m_per_min()),
            ])
        }
        "oscillating-feed" => {
            // A hole that takes what the cycle leaves at the low feed, drilled again at the raised one.
            let n = RotationalSpeed::rpm(6000.0);
            let feed = |name| Feed::mm_per_rev(c.get(name) * 25.4e-6);
            let cut = Time::s(c.get("cycle_s") - c.get("other_s"));
            let depth = Length::mm(feed("feed_uin").to_mm_per_rev() * n.to_rpm() * cut.to_minutes());
            let flat = Angle::deg(180.0);
            let time =
                |f| turnwright::formulas::drilling::steady_time(depth, Length::ZERO, flat, Length::ZERO, f, n).unwrap();
            assert!((time(feed("feed_uin")) - cut).abs() < Time::s(1e-9));
            numbers([("cycle_s", time(feed("raised_feed_uin")).to_s() + c.get("other_s"))])
        }
        "bar-yield" => {
            let piece = mm("part_length_mm") + mm("cut_off_width_mm") + mm("face_allowance_mm");
            let count = bar::pieces(mm("bar_length_mm"), mm("remnant_mm"), mm("trim_mm"), piece).unwrap();
            numbers([("parts", f64::from(count))])
        }
        _ => forces(c),
    }
}

/// The whole cycle of the textbook's capstan lathe: two cuts on 25 mm, one on 15 mm, a thread, a knurl, forms, cut-off.
fn capstan(c: &Check) -> Numbers {
    let thread = single_point_time(
        Length::mm(15.0),
        Length::ZERO,
        Length::ZERO,
        Length::mm(1.5),
        speed_of(8.0, 10.0),
        1,
        Time::ZERO,
    );
    let machining = 2.0 * cylinder(50.0, 25.0, 40.0, 0.4)
        + cylinder(30.0, 15.0, 40.0, 0.4)
        + thread.unwrap().to_minutes()
        + cylinder(10.0, 25.0, 8.0, 0.4)
        + c.get("chamfer_min")
        + c.get("end_form_min")
        + face(25.0, 0.0, 40.0, 0.2, FREE);
    let piece = (machining + c.get("handling_min")) * (1.0 + c.get("contingency"));
    let lot = c.get("lot");
    let order = finance::order_time(Time::minutes(c.get("setup_min")), Time::minutes(piece), lot as u32).unwrap();
    numbers([("time_per_piece_min", order.to_minutes() / lot)])
}

fn forces(c: &Check) -> Numbers {
    let mm = |name| Length::mm(c.get(name));
    let square = Angle::deg(90.0);
    match c.check.as_str() {
        "turning-energy-in" => {
            let (outer, inner) = (Length::inch(c.get("start_diameter_in")), Length::inch(c.get("end_diameter_in")));
            let (mean, n) = ((outer + inner) / 2.0, RotationalSpeed::rpm(c.get("spindle_rev_min")));
            let feed = Feed::mm_per_rev(c.get("tool_speed_in_min") * 25.4 / n.to_rpm());
            let v = surface_speed(n, mean);
            let q = removal_rate_cm3_min(v, (outer - inner) / 2.0, feed) / 16.387_064;
            let hp = c.get("unit_power_hp_min_in3") * q;
            // The force that takes this power at this speed, and its power again.
            let force = Force::n(hp * 0.745_699_871_582_27 * 60_000.0 / v.to_m_per_min());
            let t = turning(Length::inch(c.get("length_in")), feed, n).unwrap();
            numbers([
                ("removal_rate_in3_min", q),
                ("time_min", t.to_minutes()),
                ("power_hp", cutting_power(force, v).to_kw() / 0.745_699_871_582_27),
                ("force_lb", force.to_n() / 4.448_221_615_260_5),
            ])
        }
        "turning-energy-mm" => {
            let (outer, inner) = (mm("start_diameter_mm"), mm("end_diameter_mm"));
            let (mean, n) = ((outer + inner) / 2.0, RotationalSpeed::rpm(c.get("spindle_rev_min")));
            let feed = Feed::mm_per_rev(c.get("tool_speed_mm_min") / n.to_rpm());
            let v = surface_speed(n, mean);
            let q = removal_rate_cm3_min(v, (outer - inner) / 2.0, feed);
            let power_w = c.get("specific_energy_w_s_mm3") * q * 1000.0 / 60.0;
            let force = Force::n(power_w * 60.0 / v.to_m_per_min());
            numbers([
                ("removal_rate_mm3_min", q * 1000.0),
                ("time_min", turning(mm("length_mm"), feed, n).unwrap().to_minutes()),
                ("power_w", cutting_power(force, v).to_kw() * 1000.0),
                ("torque_nm", turning_torque(force, mean).to_nm()),
                ("force_n", force.to_n()),
            ])
        }
        "drilling-energy" => {
            let n = c.get("spindle_rev_min");
            let area = bar::area(mm("drill_diameter_mm"), bar::Section::Round).unwrap().to_mm2();
            let q = area * c.get("feed_mm_rev") * n / 60.0;
            let power_w = c.get("specific_energy_w_s_mm3") * q;
            numbers([("removal_rate_mm3_s", q), ("power_w", power_w), ("torque_nm", power_w / (2.0 * PI * n / 60.0))])
        }
        "power-law" => {
            // c f^0.85 d^0.98: a law of Kienzle's form in the feed, its force on 1 mm of width times d^0.98.
            let (f, d) = (Feed::mm_per_rev(c.get("feed_mm_rev")), c.get("depth_mm"));
            let mc = 1.0 - c.get("feed_exponent");
            let on_1_mm = cutting_force(c.get("c"), mc, Length::mm(1.0), f, square, 1.0).unwrap();
            let force = on_1_mm * d.powf(c.get("depth_exponent"));
            let power = cutting_power(force, Velocity::m_per_min(c.get("speed_m_s") * 60.0));
            numbers([
                ("cutting_power_kw", power.to_kw()),
                ("motor_power_kw", power.to_kw() / c.get("efficiency")),
                ("specific_force_n_mm2", force.to_n() / (f.to_mm_per_rev() * d)),
            ])
        }
        "specific-energy" => {
            let v = surface_speed(RotationalSpeed::rpm(c.get("spindle_rev_min")), mm("diameter_mm"));
            let power = cutting_power(Force::n(c.get("cutting_force_n")), v);
            let q = removal_rate_cm3_min(v, mm("depth_mm"), Feed::mm_per_rev(c.get("feed_mm_rev")));
            let energy = power.to_kw() * 60.0 / q;
            numbers([
                ("power_kw", power.to_kw()),
                ("specific_energy_w_s_mm3", energy),
                ("energy_kwh", energy * c.get("volume_mm3") / 3.6e6),
            ])
        }
        "measured-kc" => {
            let (depth, feed) = (mm("depth_mm"), Feed::mm_per_rev(c.get("feed_mm_rev")));
            let kc = c.get("cutting_force_n") / (depth.to_mm() * feed.to_mm_per_rev());
            let force = cutting_force(kc, 0.0, depth, feed, square, 1.0).unwrap();
            numbers([("kc_n_mm2", force.to_n() / (depth.to_mm() * feed.to_mm_per_rev()))])
        }
        "kienzle-energy" => {
            let feed = Feed::mm_per_rev(c.get("uncut_thickness_mm"));
            let kc11 = 1000.0 * c.get("U0_j_mm3");
            let force = cutting_force(kc11, c.get("exponent"), mm("width_mm"), feed, square, 1.0).unwrap();
            numbers([("force_n", force.to_n())])
        }
        "kienzle-kc" => {
            let sine = c.get("approach_angle_deg").to_radians().sin();
            let h = Length::mm(c.get("feed_mm_rev") * sine);
            numbers([("kc_n_mm2", specific_cutting_force(c.get("kc1_1_n_mm2"), c.get("mc"), h).unwrap())])
        }
        "kienzle-force" => {
            let feed = Feed::mm_per_rev(c.get("feed_mm_rev"));
            let edge = Angle::deg(c.get("approach_angle_deg"));
            let force = cutting_force(c.get("kc1_1_n_mm2"), c.get("mc"), mm("depth_mm"), feed, edge, 1.0).unwrap();
            let power = cutting_power(force, Velocity::m_per_min(c.get("cutting_speed_m_min")));
            numbers([("force_n", force.to_n()), ("power_kw", power.to_kw())])
        }
        "peak-to-valley" => {
            let ra = ideal_ra(Feed::mm_per_rev(c.get("feed_mm_rev")), mm("nose_radius_mm"));
            numbers([("rt_mm", 4.0 * ra.to_mm())])
        }
        "turning-power" => {
            let feed = Feed::mm_per_rev(c.get("feed_mm_rev"));
            let force = cutting_force(c.get("kc_n_mm2"), 0.0, mm("depth_mm"), feed, square, 1.0).unwrap();
            let power = cutting_power(force, Velocity::m_per_min(c.get("cutting_speed_m_min")));
            numbers([("power_kw", power.to_kw() / c.get("machine_efficiency"))])
        }
        "surface-speed" => {
            let d = c.inputs.get("drill_diameter_mm").or(c.inputs.get("diameter_mm")).unwrap();
            let v = surface_speed(RotationalSpeed::rpm(c.get("spindle_rev_min")), Length::mm(*d));
            numbers([("cutting_speed_m_min", v.to_m_per_min())])
        }
        "depth-schedule" => {
            let depth: f64 = c.inputs.values().sum();
            // The program takes as many passes for this depth as the schedule has.
            let passes = turnwright::formulas::threads::single_point_passes(Length::mm(depth), Length::mm(1.0), false);
            assert_eq!(passes as usize, c.inputs.len());
            numbers([("total_depth_mm", depth)])
        }
        "thread-depth-tpi" => {
            let p = sixty_profile(Length::inch(1.0), Length::inch(1.0 / c.get("threads_per_inch"))).unwrap();
            numbers([("depth_in", (Length::inch(1.0) - p.minor_external_d3).to_inch() / 2.0)])
        }
        other => panic!("{}: no calculation {other}", c.id),
    }
}

#[test]
fn published_cutting() {
    run(include_str!("cutting.yaml"), 41, times);
}

/// The lead of a thread by its angle is what a single-point pass feeds in a turn.
#[test]
fn a_pass_feeds_one_lead_a_turn() {
    let (lead, n) = (Length::mm(2.5), RotationalSpeed::rpm(500.0));
    let z = Length::ZERO;
    let t = single_point_time(Length::mm(25.0), z, z, lead, n, 1, Time::ZERO).unwrap();
    assert!((t.to_minutes() * n.to_rpm() - 10.0).abs() < 1e-9);
    assert!(lead_angle(lead, Length::mm(8.0)).unwrap().to_deg() > 5.0);
}
