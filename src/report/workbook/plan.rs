//! Operation sheets as a workbook.

use super::ranking::{REASONS, reason};
use super::{Cell, Sheet, written};
use crate::report::sheet::SheetAnswer;
use rust_xlsxwriter::XlsxError;

/// The sheets of plans: operations, what comes on top of the cycle, tools in their places, setup, reasons.
///
/// # Errors
/// [`XlsxError`] where a text or a table is longer than the format holds.
pub fn plan(plans: &[SheetAnswer]) -> Result<Vec<u8>, XlsxError> {
    let mut operations = Sheet::new(
        "operations",
        &[
            ("part", 18),
            ("machine", 14),
            ("number", 7),
            ("spindle", 8),
            ("work", 20),
            ("feature", 14),
            ("tool", 24),
            ("place", 14),
            ("rpm", 9),
            ("feed, mm/rev", 9),
            ("dia, mm", 9),
            ("z from, mm", 9),
            ("z to, mm", 9),
            ("depth, mm", 9),
            ("passes", 7),
            ("count", 7),
            ("start, s", 9),
            ("cutting, s", 9),
            ("end, s", 9),
            ("why here", 44),
        ],
    );
    let mut cycle = Sheet::new("cycle", &[("part", 18), ("machine", 14), ("what", 40), ("seconds", 10)]);
    let mut tools = Sheet::new(
        "tools",
        &[
            ("part", 18),
            ("machine", 14),
            ("place", 16),
            ("tool", 28),
            ("spindle", 8),
            ("attachment", 18),
            ("features", 44),
        ],
    );
    let mut setup = Sheet::new(
        "setup",
        &[("part", 18), ("machine", 14), ("beside the machine", 9), ("step", 44), ("minutes", 9), ("reason", 60)],
    );
    let mut reasons = Sheet::new("reasons", REASONS);
    for p in plans {
        let named = |rest: Vec<Cell>| {
            let mut row = vec![Cell::text(&p.part), Cell::text(&p.job.machine)];
            row.extend(rest);
            row
        };
        operations.rows.extend(p.lines.iter().map(|l| {
            named(vec![
                Cell::Count(l.number as u64),
                Cell::text(l.spindle),
                Cell::text(l.work),
                Cell::maybe(l.feature.as_ref()),
                Cell::maybe(l.tool.as_ref()),
                Cell::maybe(l.place.as_ref()),
                Cell::number(l.speed_rpm, 0),
                Cell::number(l.feed_mm_per_rev, 4),
                Cell::number(l.dia_mm, 3),
                Cell::number(l.z_mm.map(|z| z.0), 3),
                Cell::number(l.z_mm.map(|z| z.1), 3),
                Cell::number(l.depth_mm, 3),
                Cell::Count(l.passes.into()),
                Cell::Count(l.count.into()),
                Cell::Number(l.start_s, 2),
                Cell::Number(l.cutting_s, 2),
                Cell::Number(l.end_s, 2),
                l.order_reason.map_or(Cell::Nothing, Cell::text),
            ])
        }));
        cycle.rows.push(named(vec![Cell::text("as programmed"), Cell::Number(p.programmed_s, 2)]));
        cycle.rows.extend(p.shares.iter().map(|s| named(vec![Cell::text(&s.what), Cell::Number(s.seconds, 2)])));
        cycle.rows.push(named(vec![Cell::text("a piece"), Cell::Number(p.job.cycle.total_s, 2)]));
        tools.rows.extend(p.places.iter().map(|t| {
            named(vec![
                Cell::text(&t.place),
                Cell::text(&t.tool),
                Cell::text(t.spindle),
                Cell::maybe(t.attachment.as_ref()),
                Cell::text(t.features.join("; ")),
            ])
        }));
        for (beside, lines) in [("no", &p.job.setup), ("yes", &p.job.off_machine)] {
            setup.rows.extend(lines.iter().map(|l| {
                named(vec![Cell::text(beside), Cell::text(&l.what), Cell::Number(l.minutes, 1), Cell::text(&l.reason)])
            }));
        }
        reasons.rows.extend(p.job.reasons.iter().map(|r| reason(&p.part, &p.job, r)));
    }
    written(&[operations, cycle, tools, setup, reasons])
}
