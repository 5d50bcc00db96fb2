//! Purchases as a workbook.

use super::{Cell, Sheet, told, written};
use crate::fleet::buy::staircase::Capability;
use crate::report::buy::words::{irr as irr_words, sure as sure_words};
use crate::report::buy::{
    BarAnswer, BuyAnswer, CloseAnswer, LoadAnswer, PayerAnswer, SetAnswer, StepAnswer, SureAnswer, WayAnswer,
    YearAnswer,
};
use rust_xlsxwriter::XlsxError;

/// The sheets of a purchase: what could be bought, alone and together; the ways to get along without; of what is looked at
/// closely the cash flow, ways to pay, jobs by how sure they are, the jobs that pay, hours of all machines, what matters and
/// what each capability is worth; what is taken for granted.
///
/// # Errors
/// [`XlsxError`] where a text or a table is longer than the format holds.
pub fn buy(a: &BuyAnswer) -> Result<Vec<u8>, XlsxError> {
    written(&[
        sets(a),
        without(a),
        cash_flow(a),
        ways(a),
        sure(a),
        payers(a),
        hours(a),
        matters(a),
        capabilities(a),
        told(&a.assumptions),
    ])
}

fn name(what: &[String]) -> Cell {
    Cell::text(what.join(" + "))
}

fn yes(is: bool) -> Cell {
    Cell::text(if is { "yes" } else { "no" })
}

/// In percent: a number where there is one, both in words where the sums change sign more than once.
fn irr(rates: &[f64]) -> Cell {
    match rates {
        [] => Cell::Nothing,
        [rate] => Cell::Number(100.0 * rate, 1),
        several => Cell::text(irr_words(several)),
    }
}

/// Rows of each close look, with the name of what is bought before them.
fn each(sheet: &mut Sheet, a: &BuyAnswer, rows: impl Fn(&CloseAnswer) -> Vec<Vec<Cell>>) {
    for c in &a.close {
        sheet.rows.extend(rows(c).into_iter().map(|row| std::iter::once(name(&c.what)).chain(row).collect()));
    }
}

fn sets(a: &BuyAnswer) -> Sheet {
    let mut sheet = Sheet::new(
        "what could be bought",
        &[
            ("what", 36),
            ("things", 7),
            ("price", 13),
            ("more left over a year", 13),
            ("NPV", 13),
            ("IRR, %", 9),
            ("pays back, years", 9),
            ("NPV as a yearly sum", 13),
            ("pays below", 13),
            ("NPV at most, proven", 13),
            ("currency", 9),
            ("pays", 7),
            ("within budget", 8),
        ],
    );
    let row = |s: &SetAnswer| {
        vec![
            name(&s.what),
            Cell::Count(s.what.len() as u64),
            Cell::Number(s.price, 2),
            Cell::Number(s.gain, 2),
            Cell::Number(s.npv, 2),
            irr(&s.irr),
            Cell::number(s.payback, 2),
            Cell::Number(s.yearly, 2),
            Cell::number(s.stops_paying_at, 2),
            Cell::Number(s.npv_at_most, 2),
            Cell::text(&a.currency),
            yes(s.pays),
            yes(s.within_budget),
        ]
    };
    sheet.rows.extend(a.single.iter().chain(&a.together).map(row));
    sheet
}

fn without(a: &BuyAnswer) -> Sheet {
    let columns =
        [("way", 26), ("left over a year", 14), ("currency", 9), ("must be made and cannot", 12), ("best", 7)];
    let mut sheet = Sheet::new("without buying", &columns);
    sheet.rows.extend(a.without.iter().map(|v| {
        vec![
            Cell::text(v.variant.words()),
            Cell::Number(v.left_over, 2),
            Cell::text(&a.currency),
            Cell::Count(v.unmet as u64),
            yes(v.variant == a.best_without),
        ]
    }));
    sheet
}

fn cash_flow(a: &BuyAnswer) -> Sheet {
    let mut sheet = Sheet::new(
        "cash flow",
        &[
            ("what", 36),
            ("year", 6),
            ("more left over", 13),
            ("upkeep", 13),
            ("price, resale", 13),
            ("written off", 13),
            ("tax", 13),
            ("sum", 13),
            ("so far", 13),
        ],
    );
    each(&mut sheet, a, |c| {
        let year = |y: &YearAnswer| {
            let sums = [y.gain, y.upkeep, y.price, y.written_off, y.tax, y.sum, y.so_far];
            std::iter::once(Cell::Count(y.year as u64)).chain(sums.map(|m| Cell::Number(m, 2))).collect()
        };
        c.years.iter().map(year).collect()
    });
    sheet
}

fn ways(a: &BuyAnswer) -> Sheet {
    let columns =
        [("what", 36), ("paid", 12), ("own money at once", 13), ("NPV", 13), ("IRR, %", 9), ("pays back, years", 9)];
    let mut sheet = Sheet::new("ways to pay", &columns);
    each(&mut sheet, a, |c| {
        let way = |w: &WayAnswer| {
            let (at_once, npv) = (Cell::Number(w.at_once, 2), Cell::Number(w.npv, 2));
            vec![Cell::text(w.paid), at_once, npv, irr(&w.irr), Cell::number(w.payback, 2)]
        };
        c.ways.iter().map(way).collect()
    });
    sheet
}

fn sure(a: &BuyAnswer) -> Sheet {
    let columns = [("what", 36), ("jobs", 18), ("count", 7), ("more left over a year", 13), ("NPV", 13)];
    let mut sheet = Sheet::new("how sure", &columns);
    each(&mut sheet, a, |c| {
        let row = |s: &SureAnswer| {
            let sums = [s.gain, s.npv].map(|m| Cell::Number(m, 2));
            [Cell::text(sure_words(s)), Cell::Count(s.jobs as u64)].into_iter().chain(sums).collect()
        };
        c.sure.iter().map(row).collect()
    });
    sheet
}

fn payers(a: &BuyAnswer) -> Sheet {
    let columns = [("what", 36), ("job", 22), ("chance", 9), ("customer", 18), ("more left over a year", 13)];
    let mut sheet = Sheet::new("jobs that pay", &columns);
    each(&mut sheet, a, |c| {
        let row = |p: &PayerAnswer| {
            vec![
                Cell::text(&p.job),
                Cell::text(p.chance.word()),
                Cell::maybe(p.customer.as_ref()),
                Cell::Number(p.gain, 2),
            ]
        };
        c.payers.iter().map(row).collect()
    });
    sheet
}

fn hours(a: &BuyAnswer) -> Sheet {
    let mut sheet = Sheet::new(
        "hours",
        &[
            ("what", 36),
            ("machine", 18),
            ("cutting before", 10),
            ("setting before", 10),
            ("promised before", 10),
            ("free before", 10),
            ("cutting now", 10),
            ("setting now", 10),
            ("promised now", 10),
            ("free now", 10),
        ],
    );
    each(&mut sheet, a, |c| {
        let row = |l: &LoadAnswer| {
            let figures = l.before.into_iter().chain(l.now).map(|h| Cell::Number(h, 1));
            std::iter::once(Cell::text(&l.machine)).chain(figures).collect()
        };
        c.loads.iter().map(row).collect()
    });
    sheet
}

fn matters(a: &BuyAnswer) -> Sheet {
    let mut sheet = Sheet::new(
        "what matters",
        &[
            ("what", 36),
            ("figure", 24),
            ("NPV at -20 %", 13),
            ("NPV at -10 %", 13),
            ("NPV as planned", 13),
            ("NPV at +10 %", 13),
            ("NPV at +20 %", 13),
        ],
    );
    each(&mut sheet, a, |c| {
        let row = |b: &BarAnswer| {
            std::iter::once(Cell::text(b.moved.words())).chain(b.npv.map(|n| Cell::Number(n, 2))).collect()
        };
        c.tornado.iter().map(row).collect()
    });
    sheet
}

fn capabilities(a: &BuyAnswer) -> Sheet {
    let mut sheet = Sheet::new(
        "capabilities",
        &[
            ("what", 36),
            ("capability", 26),
            ("figure", 8),
            ("the candidate's own", 11),
            ("more left over a year", 13),
            ("job that gains most", 22),
            ("its gain", 13),
            ("job that loses most", 22),
            ("its loss", 13),
            ("why", 40),
            ("from here it can make", 40),
        ],
    );
    each(&mut sheet, a, |c| {
        let steps = c.stairs.iter().flat_map(|stair| stair.steps.iter().map(move |step| (stair.capability, step)));
        let row = |(capability, s): (Capability, &StepAnswer)| {
            vec![
                Cell::text(capability.figures_are()),
                Cell::Number(s.figure, 0),
                yes(s.own),
                Cell::Number(s.gain, 2),
                s.by.as_ref().map_or(Cell::Nothing, |b| Cell::text(&b.0)),
                Cell::number(s.by.as_ref().map(|b| b.1), 2),
                s.less.as_ref().map_or(Cell::Nothing, |l| Cell::text(&l.job)),
                Cell::number(s.less.as_ref().map(|l| l.money), 2),
                Cell::maybe(s.less.as_ref().and_then(|l| l.line.as_ref())),
                Cell::text(s.newly_able.join("; ")),
            ]
        };
        steps.map(row).collect()
    });
    sheet
}
