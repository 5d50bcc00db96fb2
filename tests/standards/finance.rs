//! Hour rates, annuities, present values, rates of return, learning, lots.

use crate::{Check, Numbers, numbers, run};
use turnwright::formulas::finance::{
    HourRateInputs, book_value, economic_lot, learning_average, learning_exponent, machine_hour_rate, machines_needed,
    order_time, price_with_markup,
};
use turnwright::formulas::investment::{
    annuity, annuity_payback_years, equivalent_annual_cost, internal_rates_of_return, net_present_value, payback_years,
    sinking_fund_factor,
};
use turnwright::quantity::{Area, HourRate, Money, Power, Ratio, Time, YearlyHours};

fn money(c: &Check, name: &str) -> Money {
    Money::units(c.get(name))
}

fn share(c: &Check, name: &str) -> Ratio {
    Ratio::fraction(c.get(name))
}

/// An outlay and even yearly sums.
fn even(c: &Check, outlay: &str, yearly: &str) -> Vec<Money> {
    let mut flows = vec![-money(c, outlay)];
    flows.extend(std::iter::repeat_n(money(c, yearly), c.get("years") as usize));
    flows
}

fn compute(c: &Check) -> Numbers {
    match c.check.as_str() {
        "hour-rate" => hour_rate(c),
        "hour-rate-five" => hour_rate_five(c),
        "routing" => {
            let cost = |steps: &[(f64, f64)]| {
                steps
                    .iter()
                    .map(|(min, rate)| Time::minutes(*min) * HourRate::per_hour(*rate))
                    .sum::<Money>()
                    .to_units()
            };
            numbers([
                ("sequence_1", cost(&[(5.0, 200.0), (8.0, 400.0), (10.0, 350.0), (3.0, 300.0)])),
                ("sequence_2", cost(&[(5.0, 200.0), (14.0, 400.0), (3.0, 300.0)])),
                ("sequence_3", cost(&[(8.0, 1000.0)])),
            ])
        }
        "annuity" => {
            let a = annuity(money(c, "principal"), share(c, "interest"), c.get("years")).unwrap();
            numbers([("annual", a.to_units())])
        }
        "sinking" => {
            let (rate, years) = (share(c, "interest"), c.get("years"));
            let fund = sinking_fund_factor(rate, years).unwrap() * c.get("sum");
            let recovery = annuity(money(c, "sum"), rate, years).unwrap();
            numbers([("sinking_fund", fund), ("capital_recovery", recovery.to_units())])
        }
        "npv-even" => {
            let npv = |i: &str| {
                let flows = even(c, &format!("cost_{i}"), &format!("yearly_{i}"));
                net_present_value(share(c, "interest"), &flows).unwrap().to_units()
            };
            numbers([("technology_1", npv("1")), ("technology_2", npv("2")), ("technology_3", npv("3"))])
        }
        "npv-uneven" => {
            let npv = |letter: &str| {
                let flows: Vec<Money> = (0..5).map(|i| money(c, &format!("{letter}{i}"))).collect();
                net_present_value(share(c, "interest"), &flows).unwrap().to_units()
            };
            numbers([("A", npv("A")), ("B", npv("B"))])
        }
        "irr" => {
            let rates = internal_rates_of_return(&even(c, "cost", "yearly")).unwrap();
            assert_eq!(rates.len(), 1);
            numbers([("irr_percent", rates[0].to_percent())])
        }
        "eac" => {
            let cost = |i: &str| {
                let of = |name: &str| money(c, &format!("{name}_{i}"));
                let years = c.get(&format!("years_{i}"));
                let rate = share(c, "interest");
                equivalent_annual_cost(of("price"), of("salvage"), of("operating"), rate, years).unwrap().to_units()
            };
            numbers([("cost_1", cost("1")), ("cost_2", cost("2"))])
        }
        "book-value" => {
            let (p, s, n, t) = (money(c, "first"), money(c, "salvage"), c.get("life_years"), c.get("at_year"));
            let even = book_value(p, s, n, t).unwrap().to_units();
            // What a sinking fund has saved up by then.
            let rate = share(c, "interest");
            let saved = sinking_fund_factor(rate, n).unwrap() / sinking_fund_factor(rate, t).unwrap();
            numbers([("straight_line", even), ("sinking_fund", (p - (p - s) * saved).to_units())])
        }
        "selling-price" => {
            let percent = |name: &str| Ratio::percent(c.get(name));
            let wages = c.get("wages");
            let overhead = percent("factory_overhead_percent_of_wages").to_fraction() * wages;
            let factory = Money::units(c.get("material") + wages + overhead);
            let total = price_with_markup(factory, percent("other_overhead_percent")).unwrap();
            let price = price_with_markup(total, percent("profit_percent")).unwrap();
            numbers([("total_cost", total.to_units()), ("price", price.to_units())])
        }
        "learning" => {
            let average = |units| {
                learning_average(Time::hours(c.get("first_unit_hours")), share(c, "learning"), units)
                    .unwrap()
                    .to_hours()
            };
            let pairs = [1, 2, 4, 8, 16].map(|x| (x, average(x)));
            let averages = pairs.iter().map(|(x, a)| (format!("average_{x}"), *a));
            let totals = pairs.iter().map(|(x, a)| (format!("total_{x}"), a * f64::from(*x)));
            averages.chain(totals).collect()
        }
        "learning-exponent" => numbers([("b", learning_exponent(share(c, "learning")).unwrap())]),
        "economic-lot" => {
            let (demand, setup, carrying) =
                (c.get("annual_demand"), "order_or_setup_cost", "carrying_cost_per_unit_year");
            let lot = economic_lot(demand, money(c, setup), money(c, carrying)).unwrap();
            numbers([
                ("lot", lot),
                ("setup_cost_year", demand / lot * c.get(setup)),
                ("carrying_cost_year", lot / 2.0 * c.get(carrying)),
            ])
        }
        "order-time" => {
            let (setup, unit) = (Time::minutes(c.get("setup_min")), Time::minutes(c.get("unit_time_min")));
            let minutes = order_time(setup, unit, c.get("lot") as u32).unwrap().to_minutes();
            numbers([("order_min", minutes), ("per_piece_min", minutes / c.get("lot"))])
        }
        "payback" => {
            let mut flows = vec![-money(c, "cost")];
            flows.extend(std::iter::repeat_n(money(c, "yearly"), 5));
            numbers([("payback_years", payback_years(Ratio::ZERO, &flows).unwrap().unwrap())])
        }
        "payback-annuity" => {
            let years = annuity_payback_years(money(c, "cost"), money(c, "yearly"), share(c, "interest")).unwrap();
            numbers([("payback_years", years)])
        }
        "machines-needed" => {
            let machines = machines_needed(
                c.get("annual_output"),
                Ratio::percent(c.get("scrap_percent")),
                Time::s(c.get("time_per_part_s")),
                Ratio::percent(c.get("efficiency_percent")),
                YearlyHours::h_per_year(c.get("hours_per_year")),
            );
            numbers([("machines", machines.unwrap())])
        }
        other => panic!("{}: no calculation {other}", c.id),
    }
}

fn hour_rate(c: &Check) -> Numbers {
    let running = c.get("days") * c.get("shifts") * c.get("hours_per_shift") * (1.0 - c.get("downtime_fraction"));
    let rate = machine_hour_rate(&HourRateInputs {
        running: YearlyHours::h_per_year(running),
        replacement: Money::units(
            c.get("purchase") * c.get("price_index_now") / c.get("price_index_then") + c.get("scrapping_cost"),
        ),
        purchase: money(c, "purchase"),
        life_years: c.get("life_years"),
        interest: share(c, "interest_rate"),
        maintenance_a_year: money(c, "maintenance_total_10_years") / 10.0,
        power: Power::kw(c.get("power_kwh_per_h")),
        load: 1.0,
        price_kwh: money(c, "power_price"),
        space: Area::mm2(c.get("space_m2") * 1e6),
        space_price_m2_year: money(c, "space_price_per_m2"),
        tooling: HourRate::per_hour(c.get("tool_cost_per_h")),
    })
    .unwrap();
    numbers([
        ("running_hours", running),
        ("depreciation_per_h", rate.depreciation.to_per_hour()),
        ("interest_per_h", rate.interest.to_per_hour()),
        ("maintenance_per_h", rate.maintenance.to_per_hour()),
        ("electricity_per_h", rate.energy.to_per_hour()),
        ("tools_per_h", rate.tooling.to_per_hour()),
        ("machine_hour_rate", rate.total().to_per_hour()),
    ])
}

fn hour_rate_five(c: &Check) -> Numbers {
    let rate = machine_hour_rate(&HourRateInputs {
        running: YearlyHours::h_per_year(c.get("hours_per_year")),
        replacement: money(c, "purchase"),
        purchase: money(c, "purchase"),
        life_years: c.get("life_years"),
        interest: share(c, "interest_rate"),
        maintenance_a_year: money(c, "purchase") * c.get("maintenance_rate"),
        power: Power::kw(c.get("power_kw")),
        load: 1.0,
        price_kwh: money(c, "power_price"),
        space: Area::mm2(c.get("space_m2") * 1e6),
        space_price_m2_year: money(c, "space_price_per_m2_month") * 12.0,
        tooling: HourRate::ZERO,
    });
    numbers([("rate_per_h", rate.unwrap().total().to_per_hour())])
}

#[test]
fn published_finance() {
    run(include_str!("finance.yaml"), 20, compute);
}
