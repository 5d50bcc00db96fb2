//! A quote for people.

use super::{BreakAnswer, LeadAnswer, OfferAnswer, QuoteAnswer, Reader, RefusalAnswer, RouteAnswer};
use crate::matching::Standing;
use crate::quantity::print::{number as decimals, thousands};
use crate::report::text::{self, Style, head, minutes, number, seconds, sentence, wrapped};
use comfy_table::Cell;

/// How many routes beside the best are printed; the data holds all.
const SHOWN_ROUTES: usize = 3;

/// The whole quote as text.
pub fn text(quote: &QuoteAnswer, reader: Reader, style: Style) -> String {
    let width = usize::from(style.width);
    let mut out = heading(quote, style);
    for offer in &quote.offers {
        out.push('\n');
        out.push_str(&self::offer(quote, offer, reader, style));
    }
    let priced = quote.offers.iter().filter(|o| o.best().is_some()).count();
    if priced > 1 {
        let sum = quote.money(quote.total());
        let words = format!("{priced} parts at the quantities asked for: {sum} {}", quote.currency);
        out.push_str(&format!("\n{}\n", style.bold(&wrapped(&words, width, ""))));
    }
    out.push_str(&cautions(quote, style));
    out
}

fn heading(quote: &QuoteAnswer, style: Style) -> String {
    let width = usize::from(style.width);
    let mut out = format!("{}\n", style.bold(&format!("Quote {}, {}", quote.identity, quote.seller.name)));
    let mut said: Vec<String> = Vec::new();
    said.extend(quote.customer.iter().map(|c| format!("for {c}")));
    said.extend(quote.reference.iter().map(|r| format!("your reference {r}")));
    said.extend(quote.issued.iter().map(|d| format!("issued {d}")));
    match (&quote.holds_to, quote.valid_days) {
        (Some(day), _) => said.push(format!("holds to {day}")),
        (None, Some(days)) => said.push(format!("holds {days} days")),
        (None, None) => {}
    }
    said.push(format!("prices in {} without tax", quote.currency));
    out.push_str(&wrapped(&sentence(&said.join("; ")), width, ""));
    out.push('\n');
    out
}

fn offer(quote: &QuoteAnswer, o: &OfferAnswer, reader: Reader, style: Style) -> String {
    let width = usize::from(style.width);
    let mut out = format!("{}\n", style.bold(&wrapped(&format!("{}: {}, {}", o.part, o.title, o.material), width, "")));
    let order = if o.repeat { "repeat order" } else { "first order" };
    let mut said = format!("{order} of {}", thousands(o.quantity as f64));
    if let Some(due) = &o.due {
        said.push_str(&format!(", wanted {due}"));
    }
    if !o.after.is_empty() {
        said.push_str(&format!("; made after {}, only the change is set up", o.after.join(", ")));
    }
    out.push_str(&wrapped(&said, width, ""));
    out.push('\n');
    if let Some(refusal) = &o.refusal {
        out.push_str(&refused(refusal, quote, style));
        return out;
    }
    out.push_str(&breaks(quote, o, reader, style));
    let Some(best) = o.best() else { return out };
    if reader == Reader::Shop {
        out.push_str(&shares(quote, o, style));
        out.push_str(&routes(quote, o, style));
    }
    out.push_str(&delivery(best, style));
    out.push_str(&format!("\n{}\n", style.bold("This price takes for granted")));
    for assumption in &o.assumptions {
        out.push_str(&item(assumption, width));
    }
    out
}

fn item(words: &str, width: usize) -> String {
    let body = wrapped(words, width.saturating_sub(4), "    ");
    format!("  -{}\n", body.get(3..).unwrap_or_default())
}

/// The price at each quantity, on its best route.
fn breaks(quote: &QuoteAnswer, o: &OfferAnswer, reader: Reader, style: Style) -> String {
    let per = o.best().map_or(1, |r| r.per);
    let mut table = text::table(style);
    let mut titles = vec![head("pieces", true), head(&price_title(quote, per), true), head("order", true)];
    if reader == Reader::Shop {
        titles.extend([head("known within", true), head("machine", false), head("mode", false), head("setup", true)]);
        titles.extend([head("cycle", true), head("bars", true), head("kg", true)]);
    }
    titles.push(head("weeks", true));
    table.set_header(titles);
    for b in &o.breaks {
        let Some(best) = b.routes.first() else { continue };
        let here = if b.quantity == o.quantity { "> " } else { "" };
        let mut cells = vec![
            number(format!("{here}{}", thousands(b.quantity as f64))),
            number(quote.money(best.price)),
            number(quote.money(best.total)),
        ];
        if reader == Reader::Shop {
            cells.push(number(band(best)));
            cells.extend([Cell::new(&best.machine), Cell::new(best.mode), number(minutes(best.setup_min))]);
            cells.extend([number(seconds(best.cycle.total_s)), number(thousands(best.bars as f64))]);
            cells.push(number(decimals(best.bar_kg, 1)));
        }
        cells.push(number(best.lead.as_ref().map_or_else(|| "-".to_owned(), |l| weeks(l.weeks))));
        table.add_row(cells);
    }
    let mut out = format!("{}\n", text::drawn(&table));
    if reader == Reader::Shop {
        let width = usize::from(style.width);
        for t in &o.turns {
            let words = format!("From {} pieces on {} costs less than {}.", thousands(t.quantity as f64), t.to, t.from);
            out.push_str(&wrapped(&words, width, ""));
            out.push('\n');
        }
        if let Some(best) = o.best() {
            out.push_str(&standing(best, quote, width));
        }
    }
    out
}

fn price_title(quote: &QuoteAnswer, per: u64) -> String {
    match per {
        1 => format!("{} a piece", quote.currency),
        n => format!("{} for {}", quote.currency, thousands(n as f64)),
    }
}

/// How far the price of the order may be off, in percent down and up.
fn band(r: &RouteAnswer) -> String {
    let total = r.total.to_units();
    let share = |at: f64| (100.0 * (at - total).abs() / total.max(f64::MIN_POSITIVE)).round();
    format!("-{:.0} +{:.0} %", share(r.total_low), share(r.total_high))
}

/// Weeks as a delivery is told: in halves, upwards.
pub(super) fn weeks(weeks: f64) -> String {
    decimals((weeks * 2.0 - 1e-9).ceil().max(1.0) / 2.0, 1)
}

/// What stands between the route and an order.
fn standing(r: &RouteAnswer, quote: &QuoteAnswer, width: usize) -> String {
    let words = match r.standing {
        Standing::Owned | Standing::Refused => return String::new(),
        Standing::NotStated => "The machine spec leaves something unsaid that decides; see below.".to_owned(),
        Standing::WithPurchase => {
            let bought = r.purchases.iter().map(|p| {
                let price = p.price.map_or_else(String::new, |p| format!(", {} {}", text::money(p), quote.currency));
                format!("{} x {}{price}", p.count, p.attachment)
            });
            format!("Only with attachments to buy: {}.", bought.collect::<Vec<_>>().join("; "))
        }
    };
    format!("{}\n", wrapped(&words, width, ""))
}

/// What the price of the quantity asked for is made of.
fn shares(quote: &QuoteAnswer, o: &OfferAnswer, style: Style) -> String {
    let Some(best) = o.best() else { return String::new() };
    let total = best.total.to_units();
    let mut table = text::table(style);
    let count = thousands(best.quantity as f64);
    table.set_header(vec![
        head("", false),
        head(&format!("{} for {count}", quote.currency), true),
        head("a piece", true),
        head("%", true),
    ]);
    let row = |name: &str, amount: super::Cents| {
        let each = amount.to_units() / best.quantity.max(1) as f64;
        let share = 100.0 * amount.to_units() / total.max(f64::MIN_POSITIVE);
        vec![Cell::new(name), number(quote.money(amount)), number(format!("{each:.4}")), number(format!("{share:.1}"))]
    };
    for s in best.shares.iter().filter(|s| s.order.to_units() != 0.0) {
        table.add_row(row(s.share, s.order));
    }
    table.add_row(row("price", best.total));
    format!("\n{}\n{}\n", style.bold("What the price is made of"), text::drawn(&table))
}

/// The other routes at the quantity asked for.
fn routes(quote: &QuoteAnswer, o: &OfferAnswer, style: Style) -> String {
    let Some(BreakAnswer { routes, .. }) = o.asked() else { return String::new() };
    let others: Vec<&RouteAnswer> = routes.iter().skip(1).take(SHOWN_ROUTES).collect();
    if others.is_empty() {
        return String::new();
    }
    let mut table = text::table(style);
    table.set_header(vec![
        head("machine", false),
        head("mode", false),
        head("setup", true),
        head("cycle", true),
        head(&format!("{} for {}", quote.currency, thousands(o.quantity as f64)), true),
        head("weeks", true),
        head("", false),
    ]);
    for r in &others {
        table.add_row(vec![
            Cell::new(&r.machine),
            Cell::new(r.mode),
            number(minutes(r.setup_min)),
            number(seconds(r.cycle.total_s)),
            number(quote.money(r.total)),
            number(r.lead.as_ref().map_or_else(|| "-".to_owned(), |l| weeks(l.weeks))),
            Cell::new(match r.standing {
                Standing::WithPurchase => "with attachments to buy",
                Standing::NotStated => "not stated",
                _ => r.verdict.word(),
            }),
        ]);
    }
    let more = routes.len().saturating_sub(1 + SHOWN_ROUTES);
    let more = if more > 0 { format!("and {more} more\n") } else { String::new() };
    format!("\n{}\n{}\n{more}", style.bold("Other routes"), text::drawn(&table))
}

fn delivery(best: &RouteAnswer, style: Style) -> String {
    let Some(LeadAnswer { weeks: total, steps, on_top }) = &best.lead else { return String::new() };
    let width = usize::from(style.width);
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
    let mut words = format!("Delivery {} weeks: {}", weeks(*total), parts.join(", then "));
    if !on_top.is_empty() {
        words.push_str(&format!("; on top {}, whose time is not stated", on_top.join(", ")));
    }
    format!("\n{}\n", wrapped(&words, width, ""))
}

fn refused(r: &RefusalAnswer, quote: &QuoteAnswer, style: Style) -> String {
    let width = usize::from(style.width);
    let mut out = format!("{}\n", style.bold("Not offered"));
    if let Some(why) = &r.unpriced {
        out.push_str(&format!("{}\n", wrapped(&format!("The order cannot be priced: {why}."), width, "  ")));
    }
    for row in &r.rows {
        let Some(first) = row.reasons.first() else { continue };
        let more = match row.reasons.len() - 1 {
            0 => String::new(),
            n => format!(" (and {n} more)"),
        };
        out.push_str(&item(&format!("{}, {}: {}{more}", row.machine, row.mode, first.reason), width));
    }
    if let Some(n) = &r.nearest {
        let changes: Vec<&str> = n.fit.changes.iter().map(|c| c.change.as_str()).collect();
        let price = n.fit.price.filter(|p| *p > 0.0);
        let price = price.map_or_else(String::new, |p| format!(", {} {}", text::money(p), quote.currency));
        let words = format!("Nearest: {} on {}, {}{price}", changes.join(" and "), n.machine, n.mode);
        out.push_str(&format!("{}\n", wrapped(&words, width, "")));
    }
    out
}

/// The cautions of all parts, each once.
fn cautions(quote: &QuoteAnswer, style: Style) -> String {
    let width = usize::from(style.width);
    let mut out = format!("\n{}\n", style.bold("Cautions"));
    let mut told: Vec<&str> = Vec::new();
    for c in quote.offers.iter().flat_map(|o| &o.cautions) {
        if told.contains(&c.topic.as_str()) {
            continue;
        }
        told.push(&c.topic);
        out.push_str(&format!("{}\n", wrapped(&format!("{}: {}", c.topic, c.text), width, "  ")));
    }
    let manual = "The machine's manual, local codes and the competent person decide.";
    out.push_str(&format!("{}\n\n", wrapped(manual, width, "  ")));
    let estimate = format!(
        "An estimate by turnwright {}: the same specs, shop file, tables and version give the same quote and the same identity.",
        quote.version
    );
    out.push_str(&format!("{}\n", style.dim(&wrapped(&estimate, width, ""))));
    out
}
