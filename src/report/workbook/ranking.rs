//! Rankings and comparisons of modes as a workbook.

use super::{Cell, Sheet, written};
use crate::report::answer::{RankAnswer, Reason, RowAnswer};
use crate::report::csv::standing;
use rust_xlsxwriter::XlsxError;

/// The sheets of rankings: rows at each quantity, reasons, setups.
///
/// # Errors
/// [`XlsxError`] where a text or a table is longer than the format holds.
pub fn ranking(answers: &[RankAnswer]) -> Result<Vec<u8>, XlsxError> {
    let mut rows = Sheet::new(
        "ranking",
        &[
            ("part", 18),
            ("rank", 6),
            ("machine", 14),
            ("mode", 11),
            ("first end", 9),
            ("standing", 13),
            ("verdict", 10),
            ("setup, min", 10),
            ("cycle, s", 10),
            ("pieces", 10),
            ("cost a piece", 11),
            ("price a piece", 11),
            ("currency", 9),
            ("bar", 18),
            ("pieces a bar", 8),
            ("to buy", 26),
            ("wanted", 11),
            ("reference", 16),
        ],
    );
    let mut reasons = Sheet::new("reasons", REASONS);
    let mut setup = Sheet::new(
        "setup",
        &[("part", 18), ("machine", 14), ("mode", 11), ("step", 44), ("minutes", 9), ("reason", 60)],
    );
    for a in answers {
        for (i, r) in a.rows.iter().enumerate() {
            rows.rows.extend(r.costs.iter().map(|c| {
                vec![
                    Cell::text(&a.part),
                    Cell::Count(i as u64 + 1),
                    Cell::text(&r.machine),
                    Cell::text(r.mode),
                    Cell::text(r.first_end),
                    Cell::text(standing(r.standing)),
                    Cell::text(r.verdict.word()),
                    Cell::Number(r.setup_min, 1),
                    Cell::Number(r.cycle.total_s, 1),
                    Cell::Count(c.quantity),
                    Cell::Number(c.cost, 4),
                    Cell::Number(c.price, 4),
                    Cell::text(&a.currency),
                    Cell::text(&r.stock.text),
                    Cell::Count(r.stock.pieces_per_bar.into()),
                    Cell::text(bought(r)),
                    Cell::maybe(a.due.as_ref()),
                    Cell::maybe(a.reference.as_ref()),
                ]
            }));
            reasons.rows.extend(r.reasons.iter().map(|reason| self::reason(&a.part, r, reason)));
            setup.rows.extend(r.setup.iter().map(|line| {
                vec![
                    Cell::text(&a.part),
                    Cell::text(&r.machine),
                    Cell::text(r.mode),
                    Cell::text(&line.what),
                    Cell::Number(line.minutes, 1),
                    Cell::text(&line.reason),
                ]
            }));
        }
    }
    written(&[rows, reasons, setup])
}

/// The columns of reasons.
pub(super) const REASONS: &[(&str, u16)] = &[
    ("part", 18),
    ("machine", 14),
    ("mode", 11),
    ("rule", 17),
    ("verdict", 10),
    ("feature", 14),
    ("asked", 11),
    ("offered", 11),
    ("margin", 11),
    ("unit", 8),
    ("reason", 80),
    ("remedy", 40),
];

/// One reason as a row.
pub(super) fn reason(part: &str, row: &RowAnswer, r: &Reason) -> Vec<Cell> {
    vec![
        Cell::text(part),
        Cell::text(&row.machine),
        Cell::text(row.mode),
        Cell::text(r.rule),
        Cell::text(r.verdict.word()),
        Cell::maybe(r.feature.as_ref()),
        Cell::number(r.asked.value, 3),
        Cell::number(r.offered.value, 3),
        Cell::number(r.margin.as_ref().and_then(|m| m.value), 3),
        Cell::text(r.offered.unit),
        Cell::text(&r.reason),
        Cell::maybe(r.remedy.as_ref()),
    ]
}

fn bought(row: &RowAnswer) -> String {
    row.purchases.iter().map(|p| format!("{} x {}", p.count, p.attachment)).collect::<Vec<_>>().join("; ")
}
