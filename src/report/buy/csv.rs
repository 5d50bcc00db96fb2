//! Purchases as comma-separated values after RFC 4180: one row for each set.

use super::{BuyAnswer, SetAnswer};
use crate::report::csv::line;

/// The columns; their names and order are kept between versions.
const COLUMNS: &[&str] = &[
    "what",
    "price",
    "gain_a_year",
    "npv",
    "irr",
    "payback_years",
    "npv_as_yearly_sum",
    "stops_paying_at",
    "npv_at_most",
    "pays",
    "within_budget",
];

/// The head line, then what may be bought alone and together.
pub fn csv(a: &BuyAnswer) -> String {
    let mut out = format!("{}\r\n", COLUMNS.join(","));
    for set in a.single.iter().chain(&a.together) {
        out.push_str(&line(&row(set)));
    }
    out
}

fn row(s: &SetAnswer) -> Vec<String> {
    let money = |amount: f64| format!("{amount:.2}");
    let yes = |b: bool| if b { "yes" } else { "no" }.to_owned();
    vec![
        s.what.join(" + "),
        money(s.price),
        money(s.gain),
        money(s.npv),
        s.irr.iter().map(|r| format!("{r:.4}")).collect::<Vec<_>>().join(" "),
        s.payback.map(|p| format!("{p:.2}")).unwrap_or_default(),
        money(s.yearly),
        s.stops_paying_at.map(money).unwrap_or_default(),
        money(s.npv_at_most),
        yes(s.pays),
        yes(s.within_budget),
    ]
}
