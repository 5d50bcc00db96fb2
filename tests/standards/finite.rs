//! No formula hands out a number that is none: whatever goes in, NaN and infinity are refused or cannot arise.

use proptest::prelude::*;
use turnwright::formulas::bar::{self, Section};
use turnwright::formulas::beam::{self, BeamSegment, Ends};
use turnwright::formulas::tool_life::{self, Taylor};
use turnwright::formulas::{
    FormulaError, capability, cutting, drilling, finance, investment, power_feed, threads, time,
};
use turnwright::quantity::{
    Angle, Area, Feed, Force, HourRate, Length, Money, Power, Ratio, RotationalSpeed, Time, Velocity, YearlyHours,
};

/// Any number: of a part's size, of any size, or none at all.
fn any_number() -> impl Strategy<Value = f64> {
    prop_oneof![
        6 => 0.0..100.0_f64,
        2 => -10.0..1e4_f64,
        2 => prop::num::f64::ANY,
        1 => Just(f64::NAN),
        1 => Just(f64::INFINITY),
        1 => Just(0.0),
        1 => Just(1e-300),
        1 => Just(1e300),
    ]
}

#[derive(Default)]
struct Faults(Vec<String>);

impl Faults {
    fn of(&mut self, name: &str, result: Result<f64, FormulaError>) {
        match result {
            Ok(x) if !x.is_finite() => self.0.push(format!("{name} gave {x}")),
            Ok(_) => {}
            Err(e) => {
                let text = e.to_string();
                if text.is_empty() || text.ends_with('.') {
                    self.0.push(format!("{name} says {text:?}"));
                }
            }
        }
    }
    fn none(self) -> Result<(), TestCaseError> {
        prop_assert!(self.0.is_empty(), "{:?}", self.0);
        Ok(())
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 2000, ..ProptestConfig::default() })]

    #[test]
    fn cutting_and_drilling(n in prop::array::uniform10(any_number()), edges in 0u32..12, tough: bool) {
        let [a, b, c, d, e, f, g, h, ..] = n;
        let mm = Length::mm;
        let (feed, rpm, v) = (Feed::mm_per_rev(d / 50.0), RotationalSpeed::rpm(e * 100.0), Velocity::m_per_min(f));
        let mut x = Faults::default();
        x.of("kc", cutting::specific_cutting_force(a * 30.0, b / 200.0, mm(c)));
        let force = cutting::cutting_force(a * 30.0, b / 200.0, mm(c), feed, Angle::deg(g), h / 50.0);
        x.of("force", force.map(Force::to_n));
        x.of("spindle speed", cutting::spindle_speed(v, mm(a)).map(RotationalSpeed::to_rpm));
        x.of("rz", cutting::ideal_rz(feed, mm(a)).map(Length::to_mm));
        x.of("turning", time::turning(mm(a), feed, rpm).map(Time::to_s));
        x.of("surface speed", time::turning_at_surface_speed(mm(a), mm(b), mm(c), feed, v, rpm).map(Time::to_s));
        x.of("facing", time::facing(mm(a), mm(b), feed, v, rpm).map(Time::to_s));
        x.of("thrust", drilling::thrust(a * 30.0, b / 200.0, mm(c), feed, h / 50.0).map(|f| f.to_n()));
        x.of("torque", drilling::torque(a * 30.0, b / 200.0, mm(c), feed, h / 50.0).map(|t| t.to_nm()));
        x.of("steady", drilling::steady_time(mm(a), mm(b), Angle::deg(g), mm(c), feed, rpm).map(Time::to_s));
        let pecked = drilling::peck_time(mm(a), mm(b), Angle::deg(g), mm(c), feed, rpm, v, tough);
        x.of("pecks", pecked.map(Time::to_s));
        x.of("oscillation", drilling::oscillation_needed(feed, edges, a / 10.0).map(Length::to_mm));
        let feed_at = power_feed::feed_at_power(a * 30.0, b / 200.0, mm(c), Angle::deg(g), h / 50.0, v, Power::kw(e));
        x.of("feed at power", feed_at.map(Feed::to_mm_per_rev));
        let limited = power_feed::limited_feed(feed, Feed::mm_per_rev(a), Some(Feed::mm_per_rev(b)), c / 40.0);
        x.of("limited feed", limited.map(|(f, _)| f.to_mm_per_rev()));
        x.of("cp", capability::cp(mm(a), mm(b), mm(c), mm(d), mm(e)));
        x.none()?;
    }

    #[test]
    fn threads_and_bars(n in prop::array::uniform10(any_number()), count in 0u32..30, internal: bool) {
        let [a, b, c, d, e, f, g, h, ..] = n;
        let (mm, rpm) = (Length::mm, RotationalSpeed::rpm(e * 100.0));
        let mut x = Faults::default();
        x.of("profile", threads::sixty_profile(mm(a), mm(b / 20.0)).map(|p| p.minor_external_d3.to_mm()));
        x.of("lead angle", threads::lead_angle(mm(a), mm(b)).map(Angle::to_deg));
        let single = threads::single_point_time(mm(a), mm(b), mm(c), mm(d), rpm, count, Time::s(f));
        x.of("single point", single.map(Time::to_s));
        let tapped = threads::tapping_time(mm(a), mm(b), rpm, RotationalSpeed::rpm(c), Time::s(f));
        x.of("tapping", tapped.map(Time::to_s));
        let mill = threads::ThreadMill {
            length: mm(a), pitch: mm(b), major: mm(c), cutter_dia: mm(d), teeth: count, feed_per_tooth: mm(f / 100.0),
            n: rpm, internal, single_row: !internal, passes: count,
        };
        x.of("thread mill", threads::thread_mill_time(&mill).map(Time::to_s));
        x.of("mill passes", threads::thread_mill_passes(mm(b)).map(f64::from));
        let work = threads::whirl_work_speed(mm(a / 1000.0), count, rpm, mm(b));
        x.of("whirl speed", work.map(RotationalSpeed::to_rpm));
        x.of("whirl time", threads::whirl_time(mm(a), mm(b), mm(c), mm(d), rpm).map(Time::to_s));
        x.of("pieces", bar::pieces(mm(a * 30.0), mm(b), mm(c), mm(d)).map(f64::from));
        for section in [Section::Round, Section::Hex, Section::Square, Section::Tube { bore: mm(g) }] {
            x.of("mass", bar::mass(mm(a), mm(b), h * 100.0, section).map(|m| m.to_kg()));
        }
        // Counts are saturated, never a panic.
        let _ = threads::single_point_passes(mm(a), mm(b), internal);
        x.none()?;
    }

    #[test]
    fn beams(n in prop::collection::vec(any_number(), 12), propped: bool) {
        let segments: Vec<BeamSegment> = n[..9]
            .chunks(3)
            .map(|c| BeamSegment { length: Length::mm(c[0]), dia: Length::mm(c[1]), bore: Length::mm(c[2] / 4.0) })
            .collect();
        let (gpa, force, at) = (n[9], Force::n(n[10]), Length::mm(n[11]));
        let mut x = Faults::default();
        for ends in [Ends::Overhung, Ends::Supported, Ends::HeldAndSupported, Ends::Held] {
            x.of("deflection", beam::deflection(&segments, gpa, force, at, ends).map(Length::to_mm));
            let whirl = beam::critical_speed(Length::mm(n[0] * 100.0), Length::mm(n[1]), Length::mm(n[2]), gpa, n[3], ends);
            x.of("critical speed", whirl.map(RotationalSpeed::to_rpm));
        }
        x.of("tip", beam::tip_deflection(&segments, gpa, force, at).map(Length::to_mm));
        x.of("prop", beam::prop_force(&segments, gpa, force, at).map(Force::to_n));
        x.of("sag", beam::critical_speed_of_sag(at).map(RotationalSpeed::to_rpm));
        if let Ok((low, high)) = beam::deflection_range(&segments, gpa, force, at / 2.0, at, propped) {
            prop_assert!(low.is_finite() && high.is_finite() && low <= high, "{low:?} {high:?}");
        }
        x.none()?;
    }

    #[test]
    fn money(n in prop::array::uniform10(any_number()), flows in prop::collection::vec(any_number(), 0..20), count: u32) {
        let [a, b, c, d, e, ..] = n;
        let (m, r) = (Money::units, Ratio::fraction(e / 100.0));
        let flows: Vec<Money> = flows.iter().enumerate().map(|(i, f)| m(if i == 0 { -f * 5.0 } else { *f })).collect();
        let mut x = Faults::default();
        let rate = finance::machine_hour_rate(&finance::HourRateInputs {
            running: YearlyHours::h_per_year(a * 80.0), replacement: m(b), purchase: m(c), life_years: d, interest: r,
            maintenance_a_year: m(a), power: Power::kw(b), load: c / 100.0, price_kwh: m(d), space: Area::mm2(a),
            space_price_m2_year: m(b), tooling: HourRate::per_hour(c),
        });
        x.of("hour rate", rate.map(|p| p.depreciation.to_per_hour() + p.energy.to_per_hour()));
        x.of("order time", finance::order_time(Time::s(a), Time::s(b), count).map(Time::to_s));
        x.of("annuity", investment::annuity(m(a), r, b).map(Money::to_units));
        x.of("sinking fund", investment::sinking_fund_factor(r, b));
        x.of("annual cost", investment::equivalent_annual_cost(m(a), m(b), m(c), r, d).map(Money::to_units));
        x.of("present value", investment::net_present_value(r, &flows).map(Money::to_units));
        if let Ok(rates) = investment::internal_rates_of_return(&flows) {
            prop_assert!(rates.iter().all(|r| r.is_finite()) && rates.windows(2).all(|w| w[0] < w[1]), "{rates:?}");
        }
        x.of("payback", investment::payback_years(r, &flows).map(|y| y.unwrap_or(0.0)));
        x.of("annuity payback", investment::annuity_payback_years(m(a), m(b), r));
        x.of("learning", finance::learning_average(Time::s(a), r, count).map(Time::to_s));
        x.of("lot", finance::economic_lot(a, m(b), m(c)));
        x.of("break even", finance::break_even_lot((m(a), m(b)), (m(c), m(d))).map(|y| y.unwrap_or(0.0)));
        x.of("book value", finance::book_value(m(a), m(b), c, d).map(Money::to_units));
        x.of("markup", finance::price_with_markup(m(a), r).map(Money::to_units));
        x.of("margin", finance::price_with_margin(m(a), r).map(Money::to_units));
        let machines = finance::machines_needed(a, r, Time::s(b), Ratio::fraction(c / 50.0), YearlyHours::h_per_year(d));
        x.of("machines", machines);
        if let Ok(t) = Taylor::new(a / 100.0, Velocity::m_per_min(b)) {
            x.of("life", t.life(Velocity::m_per_min(c)).map(Time::to_minutes));
            x.of("speed", t.speed(Time::minutes(c)).map(Velocity::to_m_per_min));
            x.of("economic", t.economic_life(Time::minutes(c), m(d), m(e)).map(Time::to_minutes));
            x.of("productive", t.most_productive_life(Time::minutes(c)).map(Time::to_minutes));
        }
        let cut = |v, f, l| (Velocity::m_per_min(v), Feed::mm_per_rev(f), Length::mm(l));
        let extended = tool_life::extended_life(Time::minutes(a), cut(b, c, d), cut(c, d, e), 0.2, 0.5, 0.2);
        x.of("extended", extended.map(Time::to_minutes));
        x.of("edge pieces", tool_life::pieces_per_edge(Time::s(a), Time::s(b)).map(f64::from));
        x.of("change share", tool_life::change_time_per_piece(Time::s(a), Time::s(b), Time::s(c)).map(Time::to_s));
        x.of("edge cost", tool_life::edge_cost_per_piece(m(a), Time::s(b), Time::s(c)).map(Money::to_units));
        x.none()?;
    }

    /// The formulas that cannot refuse give a number for every number of a workshop's size.
    #[test]
    fn plain_formulas(n in prop::array::uniform4(-1e9..1e9_f64)) {
        let [a, b, c, d] = n;
        let mm = Length::mm;
        let all = [
            cutting::passive_share(mm(a), mm(b)),
            cutting::cutting_power(Force::n(a), Velocity::m_per_min(b)).to_kw(),
            cutting::turning_torque(Force::n(a), mm(b)).to_nm(),
            cutting::surface_speed(RotationalSpeed::rpm(a), mm(b)).to_m_per_min(),
            cutting::ideal_ra(Feed::mm_per_rev(a), mm(b)).to_mm(),
            cutting::feed_for_ra(mm(a), mm(b)).to_mm_per_rev(),
            cutting::removal_rate_cm3_min(Velocity::m_per_min(a), mm(b), Feed::mm_per_rev(c)),
            drilling::point_length(mm(a), Angle::deg(b)).to_mm(),
            threads::depth_after_pass(mm(a), 3, 7).to_mm(),
            bar::hex_corners(mm(a)).to_mm(),
            bar::square_corners(mm(d)).to_mm(),
        ];
        prop_assert!(all.iter().all(|x| x.is_finite()), "{all:?}");
    }
}
