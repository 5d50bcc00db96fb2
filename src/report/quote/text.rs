//! A quote for people.

use super::{BreakAnswer, OfferAnswer, QuoteAnswer, Reader, RefusalAnswer, RouteAnswer, words};
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
    out.push_str(&cautions(quote, reader, style));
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
        out.push_str(&refused(refusal, quote, reader, style));
        return out;
    }
    out.push_str(&breaks(quote, o, reader, style));
    let Some(best) = o.best() else { return out };
    if reader == Reader::Shop {
        out.push_str(&shares(quote, o, style));
        out.push_str(&routes(quote, o, style));
    }
    out.push_str(&delivery(best, reader, style));
    out.push_str(&format!("\n{}\n", style.bold("This price takes for granted")));
    for assumption in o.assumptions_for(reader) {
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
    let mut titles =
        vec![head("pieces", true), head(&words::price_title(&quote.currency, per), true), head("order", true)];
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
            number(words::price(quote, best, per)),
            number(quote.money(best.total)),
        ];
        if reader == Reader::Shop {
            cells.push(number(words::band(best)));
            cells.extend([Cell::new(&best.machine), Cell::new(best.mode), number(minutes(best.setup_min))]);
            cells.extend([number(seconds(best.cycle.total_s)), number(thousands(best.bars as f64))]);
            cells.push(number(decimals(best.bar_kg, 1)));
        }
        cells.push(number(best.lead.as_ref().map_or_else(|| "-".to_owned(), |l| words::weeks(l.weeks))));
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
            out.extend(words::standing(best, &quote.currency).map(|w| format!("{}\n", wrapped(&w, width, ""))));
        }
    }
    out
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
            number(r.lead.as_ref().map_or_else(|| "-".to_owned(), |l| words::weeks(l.weeks))),
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

fn delivery(best: &RouteAnswer, reader: Reader, style: Style) -> String {
    let Some(lead) = &best.lead else { return String::new() };
    format!("\n{}\n", wrapped(&words::delivery(lead, reader), style.width.into(), ""))
}

fn refused(r: &RefusalAnswer, quote: &QuoteAnswer, reader: Reader, style: Style) -> String {
    let width = usize::from(style.width);
    let mut out = format!("{}\n", style.bold("Not offered"));
    if reader == Reader::Customer {
        out.push_str(&format!("{}\n", wrapped(&words::not_offered(r), width, "")));
        return out;
    }
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
        let words = words::nearest(n, &quote.currency);
        out.push_str(&format!("{}\n", wrapped(&words, width, "")));
    }
    out
}

/// The cautions of all parts, each once.
fn cautions(quote: &QuoteAnswer, reader: Reader, style: Style) -> String {
    let width = usize::from(style.width);
    let told = quote.cautions_for(reader);
    let mut out = String::new();
    if reader == Reader::Shop || !told.is_empty() {
        out.push_str(&format!("\n{}\n", style.bold("Cautions")));
    }
    for c in told {
        out.push_str(&format!("{}\n", wrapped(&format!("{}: {}", c.topic, c.text), width, "  ")));
    }
    if reader == Reader::Shop {
        out.push_str(&format!("{}\n", wrapped(words::MANUAL, width, "  ")));
    }
    out.push_str(&format!("\n{}\n", style.dim(&wrapped(&words::estimate(quote), width, ""))));
    out
}
