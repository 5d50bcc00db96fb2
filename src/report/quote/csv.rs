//! A quote as comma-separated values after RFC 4180: one row an order quantity and route.

use super::{QuoteAnswer, RouteAnswer};
use crate::report::csv::field;

/// The columns before the shares of the price; their names and order are kept between versions.
pub const COLUMNS: &[&str] = &[
    "quote",
    "part",
    "quantity",
    "route",
    "machine",
    "mode",
    "first_end",
    "standing",
    "per",
    "price",
    "total",
    "currency",
    "total_low",
    "total_high",
    "setup_min",
    "cycle_s",
    "order_h",
    "stock",
    "bars",
    "bar_kg",
    "weeks",
];

/// The shares of a price in the order of their columns.
const SHARES: &[&str] = &[
    "material",
    "machine",
    "operator",
    "tools",
    "setting",
    "special collet",
    "collets",
    "moving",
    "setup pieces",
    "scrap",
    "inspection",
    "certificates",
    "treatments after",
    "markup",
];

/// The head line.
pub fn head() -> String {
    let shares = SHARES.iter().map(|share| format!(",{}", share.replace(' ', "_"))).collect::<String>();
    format!("{}{shares}\r\n", COLUMNS.join(","))
}

/// The lines of a quote; of the shares each has its own column, of the whole order.
pub fn csv(quote: &QuoteAnswer) -> String {
    let mut out = String::new();
    for offer in &quote.offers {
        for b in &offer.breaks {
            for (i, r) in b.routes.iter().enumerate() {
                let fields = fields(quote, &offer.part, i + 1, r);
                out.push_str(&fields.iter().map(|f| field(f)).collect::<Vec<_>>().join(","));
                out.push_str("\r\n");
            }
        }
    }
    out
}

fn fields(quote: &QuoteAnswer, part: &str, number: usize, r: &RouteAnswer) -> Vec<String> {
    let plain = |c| quote.money(c).replace(',', "");
    let mut fields = vec![
        quote.identity.clone(),
        part.to_owned(),
        r.quantity.to_string(),
        number.to_string(),
        r.machine.clone(),
        r.mode.to_owned(),
        r.first_end.to_owned(),
        crate::report::csv::standing(r.standing).to_owned(),
        r.per.to_string(),
        plain(r.price),
        plain(r.total),
        quote.currency.clone(),
        format!("{:.2}", r.total_low),
        format!("{:.2}", r.total_high),
        format!("{:.1}", r.setup_min),
        format!("{:.2}", r.cycle.total_s),
        format!("{:.2}", r.order_hours),
        r.stock.text.clone(),
        r.bars.to_string(),
        format!("{:.3}", r.bar_kg),
        r.lead.as_ref().map(|l| format!("{:.2}", l.weeks)).unwrap_or_default(),
    ];
    let share = |name: &&str| r.shares.iter().find(|s| s.share == *name).map(|s| plain(s.order)).unwrap_or_default();
    fields.extend(SHARES.iter().map(share));
    fields
}
