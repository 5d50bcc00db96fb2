//! A quote as comma-separated values after RFC 4180: one row an order quantity and route, or an order quantity as it is sold.

use super::{QuoteAnswer, Reader, RouteAnswer, SoldQuote};
use crate::quantity::print::number;
use crate::report::csv::line;

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

/// The columns of what may be sent: one row an order quantity.
pub const SOLD_COLUMNS: &[&str] =
    &["quote", "part", "quantity", "per", "price", "total", "currency", "weeks", "not_offered"];

/// The head line.
pub fn head(reader: Reader) -> String {
    if reader == Reader::Customer {
        return format!("{}\r\n", SOLD_COLUMNS.join(","));
    }
    let shares = SHARES.iter().map(|share| format!(",{}", share.replace(' ', "_"))).collect::<String>();
    format!("{}{shares}\r\n", COLUMNS.join(","))
}

/// The lines of a quote. For the shop one row an order quantity and route; of the shares each has its own column, of the whole
/// order. For a customer one row an order quantity, or one that says why there is no price.
pub fn csv(quote: &QuoteAnswer, reader: Reader) -> String {
    let rows = match reader {
        Reader::Shop => routes(quote),
        Reader::Customer => sold(quote),
    };
    rows.iter().map(|fields| line(fields)).collect()
}

fn routes(quote: &QuoteAnswer) -> Vec<Vec<String>> {
    let breaks = quote.offers.iter().flat_map(|o| o.breaks.iter().map(move |b| (o, b)));
    breaks.flat_map(|(o, b)| b.routes.iter().enumerate().map(|(i, r)| fields(quote, &o.part, i + 1, r))).collect()
}

fn sold(quote: &QuoteAnswer) -> Vec<Vec<String>> {
    let plain = |c| quote.money(c).replace(',', "");
    let sold = SoldQuote::from(quote);
    let mut rows = Vec::new();
    for part in &sold.parts {
        let of = |quantity: u64| vec![sold.identity.clone(), part.part.clone(), quantity.to_string()];
        for p in &part.prices {
            let weeks = p.weeks.map(|w| number(w, 1)).unwrap_or_default();
            let price =
                [p.per.to_string(), plain(p.price), plain(p.total), sold.currency.clone(), weeks, String::new()];
            rows.push(of(p.quantity).into_iter().chain(price).collect());
        }
        if let Some(why) = &part.not_offered {
            let blank = vec![String::new(); 5];
            rows.push(of(part.quantity).into_iter().chain(blank).chain([why.clone()]).collect());
        }
    }
    rows
}

fn fields(quote: &QuoteAnswer, part: &str, route: usize, r: &RouteAnswer) -> Vec<String> {
    let plain = |c| quote.money(c).replace(',', "");
    let mut fields = vec![
        quote.identity.clone(),
        part.to_owned(),
        r.quantity.to_string(),
        route.to_string(),
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
