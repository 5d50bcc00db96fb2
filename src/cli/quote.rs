//! `quote`: parts at their prices, to send and to file.

use super::batch::{self, Job, JsonList};
use super::inquiry::{self, Inquiry};
use super::plan::ModeArg;
use super::rank::Format;
use super::{Exit, World, html, machine, quotes};
use crate::matching::By;
use crate::matching::quoting::{self, Scope};
use crate::model::Part;
use crate::register::{Entry, Register};
use crate::report::answer::{RankAnswer, answer};
use crate::report::page;
use crate::report::quote::{self as report, Heading, OfferAnswer, QuoteAnswer, Reader};
use crate::report::text::Style;
use crate::report::workbook;
use clap::ValueEnum;
use jiff::ToSpan;
use jiff::civil::Date;
use std::path::{Path, PathBuf};

/// Quote parts: the best route at each order quantity, prices to the cent with what they are made of, bars to buy, delivery
#[derive(Debug, clap::Args)]
#[command(
    after_help = "Examples:\n  turnwright quote parts/valve-spool.turn\n  turnwright quote parts/valve-spool.turn --quantity 500,2000 --customer \"Example Hydraulics\" --date 2026-11-25 --reader customer"
)]
pub(super) struct Args {
    /// Part specs, folders of them, or sheets of inquiries as CSV or XLSX
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
    /// Also write the quote as a Quotation of the Universal Business Language 2.1; needs --date
    #[arg(long, value_name = "FILE", requires = "date")]
    ubl: Option<PathBuf>,
    /// Also write the quote as a workbook for a spreadsheet
    #[arg(long, value_name = "FILE")]
    xlsx: Option<PathBuf>,
    /// Keep the quote in the register; `quotes` lists them
    #[arg(long)]
    save: bool,
    /// The register that --save keeps it in
    #[arg(long, value_name = "FILE", default_value = quotes::DEFAULT)]
    register: PathBuf,
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

impl Args {
    fn reader(&self) -> Reader {
        match self.reader {
            ReaderArg::Shop => Reader::Shop,
            ReaderArg::Customer => Reader::Customer,
        }
    }

    fn scope<'a>(&self, inquiry: &'a Inquiry) -> Scope<'a> {
        Scope { machines: &inquiry.machines, shop: &inquiry.shop, mode: self.mode.map(ModeArg::kind) }
    }
}

/// A day of the calendar.
pub(super) fn day(text: &str) -> Result<Date, String> {
    text.parse().map_err(|_| format!("`{text}` is no day of the calendar; write it like 2026-11-25"))
}

pub(super) fn run(args: &Args, world: &mut World) -> Result<Exit, Exit> {
    let mut batch = batch::read(world, &args.parts, &args.from)?;
    if args.html.is_some() && batch.has_lines() {
        return Err(world.unable("a page shows the parts of specs; name the specs instead of the sheet"));
    }
    let inquiry = &mut batch.inquiry;
    if let Some(name) = &args.machine {
        let only = machine::named(world, &inquiry.machines, name)?.clone();
        machine::mode(world, &only, args.mode)?;
        inquiry.machines = vec![only];
    }
    let holds_to = match (args.date, inquiry.shop.quotes.valid_days) {
        (Some(date), Some(days)) => Some(date.checked_add(i64::from(days).days()).map_err(|_| {
            world.unable(format!("{days} days after {date} lie beyond the calendar: give another date"))
        })?),
        _ => None,
    };
    let heading = Heading {
        issued: args.date.map(|d| d.to_string()),
        holds_to: holds_to.map(|d| d.to_string()),
        customer: args.customer.clone(),
        reference: args.reference.clone(),
    };
    let work = |inquiry: &Inquiry, job: &Job| -> Vec<OfferAnswer> {
        let scope = args.scope(inquiry);
        let asked = job.quantity.map_or_else(|| args.quantity.clone(), |q| vec![q]);
        let parts: Vec<&Part> = job.parts.iter().collect();
        let offers = quoting::family(&parts, scope, &asked);
        parts.iter().zip(&offers).map(|(p, o)| report::offer(p, scope.machines, scope.shop, o)).collect()
    };
    let mut printer = Printer {
        args,
        heading,
        list: JsonList::default(),
        open: None,
        told: 0,
        whole: true,
        first: None,
        drawn: Vec::new(),
        register: None,
    };
    if args.format == Format::Csv {
        world.say(&report::head(args.reader()));
    }
    let (sound, inquiry) =
        batch.answer(world, work, |world, inquiry, job, offers| printer.add(world, inquiry, job, offers))?;
    printer.flush(world, &inquiry)?;
    printer.write(world, &inquiry)?;
    if args.format == Format::Json {
        printer.list.end(world);
    }
    Ok(if sound && printer.whole { Exit::Fine } else { Exit::Findings })
}

/// Every part ranked by itself at the quantity asked for.
fn rankings(parts: &[Part], scope: Scope, quote: &QuoteAnswer) -> Vec<RankAnswer> {
    let ranked = |(part, offer): (&Part, &OfferAnswer)| {
        let ranking = quoting::ranked(part, scope, offer.quantity);
        answer(part, scope.machines, scope.shop, &ranking, By::Cost)
    };
    parts.iter().zip(&quote.offers).map(ranked).collect()
}

/// Offers on their way into quotes: all specs of the command line are one quote, and so are lines of a sheet that follow each
/// other with one reference.
struct Printer<'a> {
    args: &'a Args,
    heading: Heading,
    list: JsonList,
    open: Option<Open>,
    told: usize,
    whole: bool,
    /// The one quote of the files, and its parts where a page draws them.
    first: Option<QuoteAnswer>,
    drawn: Vec<Part>,
    /// Opened with the first quote to keep.
    register: Option<Register>,
}

/// A quote that is not told yet.
struct Open {
    /// Its lines come from a sheet.
    of_sheet: bool,
    reference: Option<String>,
    /// Names and texts of the specs that lines name.
    texts: Vec<(String, String)>,
    asked: Vec<String>,
    offers: Vec<OfferAnswer>,
}

impl Printer<'_> {
    fn add(&mut self, world: &mut World, inquiry: &Inquiry, job: Job, offers: Vec<OfferAnswer>) -> Result<(), Exit> {
        let of_sheet = job.sources.is_some();
        let goes_on = self.open.as_ref().is_some_and(|o| {
            o.of_sheet == of_sheet && (!of_sheet || o.reference.is_some() && o.reference == job.reference)
        });
        if !goes_on {
            self.flush(world, inquiry)?;
        }
        let new = || Open {
            of_sheet,
            reference: job.reference.clone(),
            texts: Vec::new(),
            asked: Vec::new(),
            offers: Vec::new(),
        };
        let open = self.open.get_or_insert_with(new);
        if self.args.html.is_some() {
            self.drawn.extend(job.parts);
        }
        let sources = job.sources.iter().flat_map(|s| s.iter());
        let sources = sources.map(|(_, name, text)| (name.to_owned(), text.to_owned()));
        open.texts.extend(sources);
        open.asked.extend(offers.iter().map(|o| format!("{} x {}, {:?}", o.quantity, o.part, o.due)));
        open.offers.extend(offers);
        Ok(())
    }

    /// Tells the open quote, where there is one.
    fn flush(&mut self, world: &mut World, inquiry: &Inquiry) -> Result<(), Exit> {
        let Some(open) = self.open.take() else { return Ok(()) };
        let reference = open.reference.or_else(|| self.heading.reference.clone());
        let heading = Heading { reference, ..self.heading.clone() };
        let mut asked = open.asked;
        asked.extend(self.args.quantity.iter().map(u64::to_string));
        asked.extend(self.args.machine.iter().map(|name| format!("machine {name}")));
        asked.extend(self.args.mode.map(|m| format!("mode {}", m.kind().word())));
        asked.push(format!("{heading:?}"));
        let texts = inquiry.sources.iter().map(|(_, _, text)| text).chain(open.texts.iter().map(|t| t.1.as_str()));
        let quote = report::answer(&inquiry.shop, report::identity(texts, &asked), heading, open.offers);
        self.whole &= quote.is_whole();
        self.one(world, &quote)?;
        if self.args.save {
            let of_inquiry = inquiry.sources.iter().map(|(_, name, text)| (name.to_owned(), text.to_owned()));
            self.keep(world, &quote, of_inquiry.chain(open.texts).collect())?;
        }
        self.tell(world, &quote)?;
        self.told += 1;
        Ok(())
    }

    /// A file holds one quote: it is written when there is no other.
    fn one(&mut self, world: &mut World, quote: &QuoteAnswer) -> Result<(), Exit> {
        let files = [&self.args.ubl, &self.args.xlsx, &self.args.html];
        let Some(path) = files.into_iter().flatten().next() else { return Ok(()) };
        if self.told > 0 {
            return Err(world.unable(format!("`{}` holds one quote, and there are more: quote the lines of a sheet one by one, or give them one reference",
                path.display())));
        }
        self.first = Some(quote.clone());
        Ok(())
    }

    /// Writes the files that were asked for.
    fn write(&self, world: &mut World, inquiry: &Inquiry) -> Result<(), Exit> {
        let Some(quote) = &self.first else { return Ok(()) };
        let unable = |world: &mut World, path: &Path, e: &dyn std::fmt::Display| {
            world.unable(format!("`{}` is not written: {e}", path.display()))
        };
        if let Some(path) = &self.args.ubl {
            let text = report::ubl(quote).map_err(|e| unable(world, path, &e))?;
            world.write_answer(path, text.as_bytes(), &inquiry.sources)?;
        }
        if let Some(path) = &self.args.xlsx {
            world.write_workbook(path, workbook::quote(quote, self.args.reader()), &inquiry.sources)?;
        }
        if let Some(path) = &self.args.html {
            let shop = self.args.reader() == Reader::Shop;
            let rankings = shop.then(|| rankings(&self.drawn, self.args.scope(inquiry), quote));
            let page = page::quote(quote, &html::drawn(&self.drawn, &inquiry.sources), rankings.as_deref());
            world.write_answer(path, page.as_bytes(), &inquiry.sources)?;
        }
        Ok(())
    }

    /// Keeps a quote that offers something.
    fn keep(&mut self, world: &mut World, quote: &QuoteAnswer, texts: Vec<(String, String)>) -> Result<(), Exit> {
        let path = &self.args.register;
        let register = match &mut self.register {
            Some(register) => register,
            none => none.insert(quotes::open(world, path)?),
        };
        let plain = Style { width: 100, color: false };
        let priced = quote.offers.iter().filter(|o| o.best().is_some());
        let entry = Entry {
            identity: quote.identity.clone(),
            saved: world.now(),
            issued: quote.issued.clone(),
            customer: quote.customer.clone(),
            reference: quote.reference.clone(),
            currency: quote.currency.clone(),
            total: quote.money(quote.total()).replace(',', ""),
            parts: priced.map(|o| format!("{} x {}", o.quantity, o.part)).collect::<Vec<_>>().join(", "),
            answer: world.as_json(quote)?,
            printed: report::text(quote, Reader::Shop, plain),
            texts,
        };
        quotes::keep(world, register, path, &entry)
    }

    fn tell(&mut self, world: &mut World, quote: &QuoteAnswer) -> Result<(), Exit> {
        match self.args.format {
            Format::Table => {
                if self.told > 0 {
                    world.say("\n\n");
                }
                world.say(&report::text(quote, self.args.reader(), world.style()));
            }
            Format::Json if self.args.reader() == Reader::Customer => {
                self.list.add(world, &report::SoldQuote::from(quote))?;
            }
            Format::Json => self.list.add(world, quote)?,
            Format::Csv => world.say(&report::csv(quote, self.args.reader())),
        }
        Ok(())
    }
}
