//! A quote as a workbook.

use super::{Cell, Sheet, written};
use crate::report::csv::standing;
use crate::report::quote::{Cents, QuoteAnswer, Reader};
use rust_xlsxwriter::XlsxError;

/// The sheets of a quote: its heading, prices, assumptions; for the shop also routes, shares, setup, delivery, refusals.
///
/// # Errors
/// [`XlsxError`] where a text or a table is longer than the format holds.
pub fn quote(quote: &QuoteAnswer, reader: Reader) -> Result<Vec<u8>, XlsxError> {
    let mut sheets = vec![heading(quote), prices(quote), assumptions(quote, reader)];
    if reader == Reader::Shop {
        sheets.extend([routes(quote), shares(quote), setup(quote), delivery(quote), refusals(quote)]);
    }
    written(&sheets)
}

fn heading(quote: &QuoteAnswer) -> Sheet {
    let mut sheet = Sheet::new("quote", &[("", 16), ("", 44)]);
    let mut say = |name: &str, value: Option<&String>| {
        sheet.rows.extend(value.map(|v| vec![Cell::text(name), Cell::text(v)]));
    };
    say("quote", Some(&quote.identity));
    say("seller", Some(&quote.seller.name));
    say("customer", quote.customer.as_ref());
    say("reference", quote.reference.as_ref());
    say("issued", quote.issued.as_ref());
    say("holds to", quote.holds_to.as_ref());
    say("currency", Some(&quote.currency));
    say("made with", Some(&format!("turnwright {}", quote.version)));
    sheet
}

fn amount(quote: &QuoteAnswer, amount: Cents) -> Cell {
    Cell::Number(amount.to_units(), quote.decimals as usize)
}

fn prices(quote: &QuoteAnswer) -> Sheet {
    let mut sheet = Sheet::new(
        "prices",
        &[
            ("part", 18),
            ("title", 30),
            ("material", 18),
            ("pieces", 10),
            ("price", 12),
            ("for pieces", 8),
            ("order", 14),
            ("weeks", 8),
        ],
    );
    for o in &quote.offers {
        sheet.rows.extend(o.breaks.iter().filter_map(|b| {
            let best = b.routes.first()?;
            Some(vec![
                Cell::text(&o.part),
                Cell::text(&o.title),
                Cell::text(&o.material),
                Cell::Count(b.quantity),
                amount(quote, best.price),
                Cell::Count(best.per),
                amount(quote, best.total),
                Cell::number(best.lead.as_ref().map(|l| l.weeks), 1),
            ])
        }));
    }
    sheet
}

fn assumptions(quote: &QuoteAnswer, reader: Reader) -> Sheet {
    let mut sheet = Sheet::new("assumptions", &[("part", 18), ("taken for granted", 90)]);
    for o in &quote.offers {
        sheet.rows.extend(o.assumptions_for(reader).map(|a| vec![Cell::text(&o.part), Cell::text(a)]));
    }
    sheet
}

fn routes(quote: &QuoteAnswer) -> Sheet {
    let mut sheet = Sheet::new(
        "routes",
        &[
            ("part", 18),
            ("pieces", 10),
            ("route", 6),
            ("machine", 14),
            ("mode", 11),
            ("standing", 13),
            ("order", 14),
            ("low", 14),
            ("high", 14),
            ("setup, min", 10),
            ("cycle, s", 10),
            ("order, h", 10),
            ("bar", 18),
            ("bars", 8),
            ("bars, kg", 10),
            ("pieces made", 10),
        ],
    );
    for o in &quote.offers {
        for b in &o.breaks {
            sheet.rows.extend(b.routes.iter().enumerate().map(|(i, r)| {
                vec![
                    Cell::text(&o.part),
                    Cell::Count(r.quantity),
                    Cell::Count(i as u64 + 1),
                    Cell::text(&r.machine),
                    Cell::text(r.mode),
                    Cell::text(standing(r.standing)),
                    amount(quote, r.total),
                    Cell::Number(r.total_low, 2),
                    Cell::Number(r.total_high, 2),
                    Cell::Number(r.setup_min, 1),
                    Cell::Number(r.cycle.total_s, 1),
                    Cell::Number(r.order_hours, 2),
                    Cell::text(&r.stock.text),
                    Cell::Count(r.bars),
                    Cell::Number(r.bar_kg, 2),
                    Cell::Count(r.pieces_made),
                ]
            }));
        }
    }
    sheet
}

fn shares(quote: &QuoteAnswer) -> Sheet {
    let mut sheet = Sheet::new("shares", &[("part", 18), ("pieces", 10), ("share", 18), ("order", 14)]);
    for o in &quote.offers {
        for r in o.breaks.iter().filter_map(|b| b.routes.first()) {
            sheet.rows.extend(r.shares.iter().map(|s| {
                vec![Cell::text(&o.part), Cell::Count(r.quantity), Cell::text(s.share), amount(quote, s.order)]
            }));
        }
    }
    sheet
}

fn setup(quote: &QuoteAnswer) -> Sheet {
    let mut sheet = Sheet::new("setup", &[("part", 18), ("pieces", 10), ("step", 44), ("minutes", 9), ("reason", 60)]);
    for o in &quote.offers {
        let Some(best) = o.best() else { continue };
        sheet.rows.extend(best.setup.iter().map(|l| {
            vec![
                Cell::text(&o.part),
                Cell::Count(best.quantity),
                Cell::text(&l.what),
                Cell::Number(l.minutes, 1),
                Cell::text(&l.reason),
            ]
        }));
    }
    sheet
}

fn delivery(quote: &QuoteAnswer) -> Sheet {
    let mut sheet =
        Sheet::new("delivery", &[("part", 18), ("pieces", 10), ("step", 36), ("weeks", 8), ("beside other waits", 10)]);
    for o in &quote.offers {
        for r in o.breaks.iter().filter_map(|b| b.routes.first()) {
            let steps = r.lead.iter().flat_map(|l| &l.steps);
            sheet.rows.extend(steps.map(|s| {
                vec![
                    Cell::text(&o.part),
                    Cell::Count(r.quantity),
                    Cell::text(&s.what),
                    Cell::Number(s.weeks, 2),
                    Cell::text(if s.waits { "yes" } else { "no" }),
                ]
            }));
        }
    }
    sheet
}

fn refusals(quote: &QuoteAnswer) -> Sheet {
    let mut sheet =
        Sheet::new("not offered", &[("part", 18), ("machine", 14), ("mode", 11), ("rule", 17), ("reason", 90)]);
    for o in &quote.offers {
        let rows = o.refusal.iter().flat_map(|r| &r.rows);
        sheet.rows.extend(rows.flat_map(|row| {
            row.reasons.iter().map(|r| {
                vec![
                    Cell::text(&o.part),
                    Cell::text(&row.machine),
                    Cell::text(row.mode),
                    Cell::text(r.rule),
                    Cell::text(&r.reason),
                ]
            })
        }));
    }
    sheet
}
