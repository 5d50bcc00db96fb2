//! A year's work as comma-separated values after RFC 4180: one row for each job and machine, and one for what is not made here.

use super::{JobAnswer, MixAnswer};
use crate::report::csv::line;

/// The columns; their names and order are kept between versions.
const COLUMNS: &[&str] = &[
    "part",
    "chance",
    "customer",
    "pieces",
    "lots",
    "where",
    "number",
    "mode",
    "cycle_s",
    "setting_h",
    "hours",
    "cash",
    "full",
    "revenue_of_job",
    "left_over_of_job",
    "why",
];

/// The head line and a row for each job and place.
pub fn csv(a: &MixAnswer) -> String {
    let mut out = format!("{}\r\n", COLUMNS.join(","));
    for job in &a.jobs {
        for row in rows(job) {
            out.push_str(&line(&row));
        }
    }
    out
}

fn rows(job: &JobAnswer) -> Vec<Vec<String>> {
    let common = |pieces: u64, lots: usize| {
        let customer = job.customer.clone().unwrap_or_default();
        vec![job.part.clone(), job.chance.word().to_owned(), customer, pieces.to_string(), lots.to_string()]
    };
    let money = |amount: f64| format!("{amount:.2}");
    let of_job = [money(job.revenue), money(job.left_over)];
    let mut rows = Vec::new();
    for m in &job.made {
        let mut row = common(m.pieces, m.lots);
        row.extend([
            m.machine.clone(),
            m.number.to_string(),
            m.mode.to_owned(),
            format!("{:.2}", m.cycle_s),
            format!("{:.2}", m.setting),
            format!("{:.2}", m.hours),
            money(m.cash),
            money(m.full),
        ]);
        row.extend(of_job.clone());
        row.push(String::new());
        rows.push(row);
    }
    if let Some(o) = &job.out {
        let mut row = common(o.pieces, o.lots);
        let fate = serde_json::to_value(o.fate).ok().and_then(|v| v.as_str().map(str::to_owned)).unwrap_or_default();
        row.push(fate);
        row.extend(vec![String::new(); 5]);
        row.extend([money(o.cost), String::new()]);
        row.extend(of_job);
        row.push(o.why.clone());
        rows.push(row);
    }
    rows
}
