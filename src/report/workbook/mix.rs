//! A year's work as a workbook.

use super::{Cell, Sheet, told, written};
use crate::report::mix::words::fate;
use crate::report::mix::{JobAnswer, MixAnswer};
use rust_xlsxwriter::XlsxError;

/// The sheets of a mix: jobs, where each is made, what is not made here, machines and setters with their hours, the order of the
/// lots where that was asked, sums, what is taken for granted.
///
/// # Errors
/// [`XlsxError`] where a text or a table is longer than the format holds.
pub fn mix(a: &MixAnswer) -> Result<Vec<u8>, XlsxError> {
    let mut sheets = vec![jobs(a), made(a), not_made(a), machines(a), setters(a)];
    if !a.sequence.is_empty() {
        sheets.push(order(a));
    }
    sheets.extend([sums(a), told(&a.assumptions)]);
    written(&sheets)
}

/// The number of a job, from 1, and its part: several jobs may be of one part.
fn named(number: usize, job: &JobAnswer) -> Vec<Cell> {
    vec![Cell::Count(number as u64 + 1), Cell::text(&job.part)]
}

fn jobs(a: &MixAnswer) -> Sheet {
    let mut sheet = Sheet::new(
        "jobs",
        &[
            ("job", 6),
            ("part", 18),
            ("chance", 9),
            ("customer", 18),
            ("pieces", 10),
            ("lots", 6),
            ("made here", 10),
            ("revenue", 13),
            ("out of pocket", 13),
            ("left over", 13),
            ("currency", 9),
            ("machines that can", 10),
        ],
    );
    sheet.rows.extend(a.jobs.iter().enumerate().map(|(i, job)| {
        let mut row = named(i, job);
        row.extend([
            Cell::text(job.chance.word()),
            Cell::maybe(job.customer.as_ref()),
            Cell::Count(job.pieces),
            Cell::Count(job.lots),
            Cell::Count(job.made.iter().map(|m| m.pieces).sum()),
            Cell::Number(job.revenue, 2),
            Cell::Number(job.cash, 2),
            Cell::Number(job.left_over, 2),
            Cell::text(&a.currency),
            Cell::Count(job.machines as u64),
        ]);
        row
    }));
    sheet
}

fn made(a: &MixAnswer) -> Sheet {
    let mut sheet = Sheet::new(
        "made here",
        &[
            ("job", 6),
            ("part", 18),
            ("machine", 14),
            ("number", 8),
            ("mode", 11),
            ("verdict", 10),
            ("lots", 6),
            ("pieces", 10),
            ("cycle, s", 10),
            ("setting, h", 10),
            ("hours", 10),
            ("out of pocket", 13),
            ("at the full hour rate", 13),
        ],
    );
    for (i, job) in a.jobs.iter().enumerate() {
        sheet.rows.extend(job.made.iter().map(|m| {
            let mut row = named(i, job);
            row.extend([
                Cell::text(&m.machine),
                Cell::Count(m.number as u64),
                Cell::text(m.mode),
                Cell::text(m.verdict.word()),
                Cell::Count(m.lots as u64),
                Cell::Count(m.pieces),
                Cell::Number(m.cycle_s, 1),
                Cell::Number(m.setting, 1),
                Cell::Number(m.hours, 1),
                Cell::Number(m.cash, 2),
                Cell::Number(m.full, 2),
            ]);
            row
        }));
    }
    sheet
}

/// One row for each job, or for each of the machines that come nearest where none can make it.
fn not_made(a: &MixAnswer) -> Sheet {
    let mut sheet = Sheet::new(
        "not made here",
        &[
            ("job", 6),
            ("part", 18),
            ("fate", 11),
            ("lots", 6),
            ("pieces", 10),
            ("cost", 13),
            ("why", 40),
            ("machine", 14),
            ("mode", 11),
            ("reason", 60),
            ("lifted by buying", 26),
        ],
    );
    for (i, job) in a.jobs.iter().enumerate() {
        let Some(out) = &job.out else { continue };
        let mut row = named(i, job);
        row.extend([
            Cell::text(fate(out.fate)),
            Cell::Count(out.lots as u64),
            Cell::Count(out.pieces),
            Cell::Number(out.cost, 2),
            Cell::text(&out.why),
        ]);
        if out.cannot.is_empty() {
            sheet.rows.push(row.clone());
        }
        sheet.rows.extend(out.cannot.iter().map(|c| {
            let nearest =
                [Cell::text(&c.machine), Cell::text(c.mode), Cell::text(&c.reason), Cell::text(c.with.join("; "))];
            row.iter().cloned().chain(nearest).collect()
        }));
    }
    sheet
}

fn machines(a: &MixAnswer) -> Sheet {
    let mut sheet = Sheet::new(
        "machines",
        &[
            ("machine", 14),
            ("number", 8),
            ("hours", 10),
            ("promised, h", 10),
            ("cutting, h", 10),
            ("setting, h", 10),
            ("idle, h", 10),
            ("used, %", 9),
            ("one more hour brings", 13),
        ],
    );
    sheet.rows.extend(a.units.iter().map(|u| {
        let mut row = vec![Cell::text(&u.machine), Cell::Count(u.number as u64)];
        row.extend([u.hours, u.promised, u.cutting, u.setting, u.idle, 100.0 * u.used].map(|v| Cell::Number(v, 1)));
        row.push(Cell::Number(u.hour_brings, 2));
        row
    }));
    sheet
}

fn setters(a: &MixAnswer) -> Sheet {
    let columns = [("on machine", 14), ("setters", 9), ("hours", 10), ("setting, h", 10), ("one more hour brings", 13)];
    let mut sheet = Sheet::new("setters", &columns);
    sheet.rows.extend(a.setters.iter().map(|s| {
        vec![
            s.machine.as_ref().map_or(Cell::text("all"), Cell::text),
            Cell::Count(s.setters.into()),
            Cell::Number(s.hours, 1),
            Cell::Number(s.setting, 1),
            Cell::Number(s.hour_brings, 2),
        ]
    }));
    sheet
}

fn order(a: &MixAnswer) -> Sheet {
    let mut sheet = Sheet::new(
        "order of the lots",
        &[
            ("machine", 14),
            ("number", 8),
            ("place", 7),
            ("job", 6),
            ("part", 18),
            ("lot", 6),
            ("of", 6),
            ("setting, h", 10),
            ("cutting, h", 10),
            ("setup from day", 10),
            ("from day", 10),
            ("to day", 10),
            ("wanted on day", 10),
            ("late, days", 10),
            ("from", 12),
            ("to", 12),
            ("wanted", 12),
        ],
    );
    for s in &a.sequence {
        sheet.rows.extend(s.runs.iter().enumerate().map(|(place, r)| {
            let mut row = vec![
                Cell::text(&s.machine),
                Cell::Count(s.number as u64),
                Cell::Count(place as u64 + 1),
                Cell::Count(r.job as u64),
                Cell::text(&r.part),
                Cell::Count(r.lot),
                Cell::Count(r.lots),
            ];
            let figures = [r.setting_h, r.cutting_h, r.setup_day, r.start_day, r.end_day, r.due_day, r.late_days];
            row.extend(figures.map(|v| Cell::Number(v, 1)));
            row.extend([&r.start, &r.end, &r.due].map(|date| Cell::maybe(date.as_ref())));
            row
        }));
    }
    sheet
}

fn sums(a: &MixAnswer) -> Sheet {
    let mut sheet = Sheet::new("sums", &[("what", 44), ("amount", 14), ("currency", 9), ("", 60)]);
    let mut add = |what: &str, amount: f64, words: Cell| {
        sheet.rows.push(vec![Cell::text(what), Cell::Number(amount, 2), Cell::text(&a.currency), words]);
    };
    add("revenue", a.revenue, Cell::Nothing);
    add("out of pocket", a.cash, Cell::Nothing);
    add("left over", a.left_over, Cell::text(&a.stopped));
    if let Some(most) = a.most {
        add("no plan leaves more over than", most, Cell::text("proven"));
    }
    add("what is made here, at the full hour rates", a.full, Cell::Nothing);
    sheet
}
