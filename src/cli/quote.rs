//! `quote`: parts at their prices, to send and to file.

use super::plan::ModeArg;
use super::rank::Format;
use super::{Exit, World, html, inquiry, machine};
use crate::matching::By;
use crate::matching::quoting::{self, Offer, Scope};
use crate::model::Part;
use crate::report::answer::{RankAnswer, answer};
use crate::report::page;
use crate::report::quote::{self as report, Heading, OfferAnswer, QuoteAnswer, Reader};
use clap::ValueEnum;
use jiff::ToSpan;
use jiff::civil::Date;
use std::path::PathBuf;

/// Quote parts: the best route at each order quantity, prices to the cent with what they are made of, bars to buy, delivery
#[derive(Debug, clap::Args)]
#[command(
    after_help = "Examples:\n  turnwright quote parts/valve-spool.turn\n  turnwright quote parts/valve-spool.turn --quantity 500,2000 --customer \"Example Hydraulics\" --date 2026-11-25 --reader customer"
)]
pub(super) struct Args {
    /// Part specs, or folders of them
    #[arg(required = true, value_name = "PART")]
    parts: Vec<PathBuf>,
    #[command(flatten)]
    from: inquiry::From,
    /// Order quantities beside the part's own; the first is the one asked for [default: the first of the part's own]
    #[arg(long, value_name = "N", value_delimiter = ',', value_parser = clap::value_parser!(u64).range(1..=1_000_000_000))]
    quantity: Vec<u64>,
    /// Only on this machine, by its name
    #[arg(long, value_name = "NAME")]
    machine: Option<String>,
    /// Only in this way of holding the bar
    #[arg(long, value_enum, value_name = "MODE")]
    mode: Option<ModeArg>,
    /// Who asks
    #[arg(long, value_name = "NAME")]
    customer: Option<String>,
    /// What the customer calls the inquiry
    #[arg(long, value_name = "TEXT")]
    reference: Option<String>,
    /// Day of issue, from which the quote holds for as long as the shop file says
    #[arg(long, value_name = "YYYY-MM-DD", value_parser = day)]
    date: Option<Date>,
    /// Whom it is printed for: the shop sees what a price is made of, a customer what is sold
    #[arg(long, value_enum, default_value = "shop", value_name = "READER")]
    reader: ReaderArg,
    /// How the quote is printed
    #[arg(long, value_enum, default_value = "table", value_name = "FORMAT")]
    format: Format,
    /// Also write the quote as a page with the drawing of each part, for a browser or a printer
    #[arg(long, value_name = "FILE")]
    html: Option<PathBuf>,
}

/// Whom a quote is printed for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
enum ReaderArg {
    Shop,
    Customer,
}

/// A day of the calendar.
fn day(text: &str) -> Result<Date, String> {
    text.parse().map_err(|_| format!("`{text}` is no day of the calendar; write it like 2026-11-25"))
}

pub(super) fn run(args: &Args, world: &mut World) -> Result<Exit, Exit> {
    let mut inquiry = inquiry::read(world, &args.parts, &args.from)?;
    let mut asked_words: Vec<String> = args.quantity.iter().map(u64::to_string).collect();
    if let Some(name) = &args.machine {
        let only = machine::named(world, &inquiry.machines, name)?.clone();
        machine::mode(world, &only, args.mode)?;
        asked_words.push(format!("machine {name}"));
        inquiry.machines = vec![only];
    }
    asked_words.extend(args.mode.map(|m| format!("mode {}", m.kind().word())));
    asked_words.extend(args.customer.iter().map(|c| format!("customer {c}")));
    asked_words.extend(args.reference.iter().map(|r| format!("reference {r}")));
    asked_words.extend(args.date.map(|d| format!("date {d}")));
    let identity = report::identity(inquiry.sources.iter().map(|(_, _, text)| text), &asked_words);
    let holds_to = match (args.date, inquiry.shop.quotes.valid_days) {
        (Some(date), Some(days)) => Some(date.checked_add(i64::from(days).days()).map_err(|_| {
            world.complain(&format!("error: {days} days after {date} lie beyond the calendar: give another date"));
            Exit::Unable
        })?),
        _ => None,
    };
    let heading = Heading {
        issued: args.date.map(|d| d.to_string()),
        holds_to: holds_to.map(|d| d.to_string()),
        customer: args.customer.clone(),
        reference: args.reference.clone(),
    };
    let scope = Scope { machines: &inquiry.machines, shop: &inquiry.shop, mode: args.mode.map(ModeArg::kind) };
    let offers = offers(&inquiry.parts, scope, &args.quantity);
    let quote = report::answer(&inquiry.shop, identity, heading, offers);
    if let Some(path) = &args.html {
        html::check(world, path, &inquiry.sources)?;
        let rankings = (args.reader == ReaderArg::Shop).then(|| rankings(&inquiry.parts, scope, &quote));
        world.write(path, &page::quote(&quote, &html::drawn(&inquiry), rankings.as_deref()))?;
    }
    print(args, &quote, world)?;
    Ok(if quote.is_whole() { Exit::Fine } else { Exit::Findings })
}

/// Every part by itself, members of one family together.
fn offers(parts: &[Part], scope: Scope, asked: &[u64]) -> Vec<OfferAnswer> {
    let mut told = Vec::new();
    let mut rest = parts;
    while let Some(first) = rest.first() {
        let count = rest.iter().take_while(|p| p.is_of_family(first)).count().max(1);
        let (members, others) = rest.split_at(count);
        let made: Vec<&Part> = members.iter().collect();
        let offers: Vec<Offer> = quoting::family(&made, scope, asked);
        told.extend(members.iter().zip(&offers).map(|(p, o)| report::offer(p, scope.machines, scope.shop, o)));
        rest = others;
    }
    told
}

/// Every part ranked by itself at the quantity asked for.
fn rankings(parts: &[Part], scope: Scope, quote: &QuoteAnswer) -> Vec<RankAnswer> {
    let ranked = |(part, offer): (&Part, &OfferAnswer)| {
        let ranking = quoting::ranked(part, scope, offer.quantity);
        answer(part, scope.machines, scope.shop, &ranking, By::Cost)
    };
    parts.iter().zip(&quote.offers).map(ranked).collect()
}

fn print(args: &Args, quote: &QuoteAnswer, world: &mut World) -> Result<(), Exit> {
    let reader = match args.reader {
        ReaderArg::Shop => Reader::Shop,
        ReaderArg::Customer => Reader::Customer,
    };
    match args.format {
        Format::Table => world.say(&report::text(quote, reader, world.style())),
        Format::Json => world.say_json(quote)?,
        Format::Csv => world.say(&report::csv(quote)),
    }
    Ok(())
}
