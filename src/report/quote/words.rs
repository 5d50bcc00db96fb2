//! Words of a quote that its printers share.

use super::{LeadAnswer, Nearest, QuoteAnswer, Reader, RefusalAnswer, RouteAnswer};
use crate::matching::Standing;
use crate::matching::fit::Where;
use crate::quantity::print::{number as decimals, thousands};
use crate::report::text;

/// Who decides in the end.
pub(in crate::report) const MANUAL: &str = "The machine's manual, local codes and the competent person decide.";

/// What a price is for.
pub(in crate::report) fn price_title(currency: &str, per: u64) -> String {
    match per {
        1 => format!("{} a piece", currency),
        n => format!("{} for {}", currency, thousands(n as f64)),
    }
}

/// A price in a column whose head is [`price_title`] for `per` pieces: one for another number of pieces says so.
pub(in crate::report) fn price(quote: &QuoteAnswer, r: &RouteAnswer, per: u64) -> String {
    let other = if r.per == per { String::new() } else { format!(" for {}", thousands(r.per as f64)) };
    format!("{}{other}", quote.money(r.price))
}

/// How far the price of the order may be off, in percent down and up.
pub(in crate::report) fn band(r: &RouteAnswer) -> String {
    let total = r.total.to_units();
    let share = |at: f64| (100.0 * (at - total).abs() / total.max(f64::MIN_POSITIVE)).round();
    format!("-{:.0} +{:.0} %", share(r.total_low), share(r.total_high))
}

/// Weeks as a delivery is told: in halves, upwards.
pub(in crate::report) fn half_weeks(weeks: f64) -> f64 {
    (weeks * 2.0 - 1e-9).ceil().max(1.0) / 2.0
}

pub(in crate::report) fn weeks(weeks: f64) -> String {
    decimals(half_weeks(weeks), 1)
}

/// What stands between the route and an order.
pub(in crate::report) fn standing(r: &RouteAnswer, currency: &str) -> Option<String> {
    match r.standing {
        Standing::Owned | Standing::Refused => None,
        Standing::NotStated => Some("The machine spec leaves something unsaid that decides; see below.".to_owned()),
        Standing::WithPurchase => {
            let bought = r.purchases.iter().map(|p| {
                let price = p.price.map_or_else(String::new, |p| format!(", {} {currency}", text::money(p)));
                format!("{} x {}{price}", p.count, p.attachment)
            });
            Some(format!("Only with attachments to buy: {}.", bought.collect::<Vec<_>>().join("; ")))
        }
    }
}

/// When the order is delivered; the steps on the way are the shop's affair.
pub(in crate::report) fn delivery(lead: &LeadAnswer, reader: Reader) -> String {
    let LeadAnswer { weeks: total, steps, on_top } = lead;
    let days = |weeks: f64| match weeks * 7.0 {
        d if d < 0.95 => "under a day".to_owned(),
        d if d < 13.5 => {
            let d = d.round();
            if d == 1.0 { "1 day".to_owned() } else { format!("{d:.0} days") }
        }
        _ => format!("{} weeks", decimals(weeks, 1)),
    };
    let longest = steps.iter().filter(|s| s.waits).map(|s| s.weeks).fold(0.0, f64::max);
    let wait = steps.iter().find(|s| s.waits && s.weeks == longest);
    let mut parts: Vec<String> = wait.into_iter().map(|s| format!("{} {}", s.what, days(s.weeks))).collect();
    parts.extend(steps.iter().filter(|s| !s.waits).map(|s| format!("{} {}", s.what, days(s.weeks))));
    let total = weeks(*total);
    let mut words = format!("Delivery {total} week{}", if total == "1" { "" } else { "s" });
    if reader == Reader::Shop {
        words.push_str(&format!(": {}", parts.join(", then ")));
    }
    if !on_top.is_empty() {
        words.push_str(&format!("; on top {}, whose time is not stated", on_top.join(", ")));
    }
    words
}

/// What comes nearest to fitting.
pub(in crate::report) fn nearest(n: &Nearest, currency: &str) -> String {
    let changes: Vec<&str> = n.fit.changes.iter().map(|c| c.change.as_str()).collect();
    let price = n.fit.price.filter(|p| *p > 0.0);
    let price = price.map_or_else(String::new, |p| format!(", {} {currency}", text::money(p)));
    format!("Nearest: {} on {}, {}{price}", changes.join(" and "), n.machine, n.mode)
}

/// What a customer is told of a part that is not offered: what he could change himself, where that alone would help.
pub(in crate::report) fn not_offered(r: &RefusalAnswer) -> String {
    let of_drawing = |n: &&Nearest| n.fit.changes.iter().all(|c| c.at == Where::Drawing);
    match r.nearest.as_ref().filter(of_drawing) {
        Some(n) => {
            let changes: Vec<&str> = n.fit.changes.iter().map(|c| c.change.as_str()).collect();
            format!("As drawn it cannot be offered. It could be with {}.", changes.join(" and "))
        }
        None => "As drawn it cannot be offered.".to_owned(),
    }
}

/// What the figures are.
pub(in crate::report) fn estimate(quote: &QuoteAnswer) -> String {
    format!(
        "An estimate by turnwright {}: the same specs, shop file, tables and version give the same quote and the same \
         identity.",
        quote.version
    )
}
