//! Changes from job to job: one change line by line, or the matrix of a family.

use super::text::{self, Style, head, minutes, number, wrapped};
use crate::matching::Standing;
use crate::matching::setups::{Change, Matrix};
use crate::model::machine::Machine;
use crate::model::part::Part;
use crate::planning::setup::Line;
use crate::report::csv::field;
use comfy_table::Cell;
use serde::Serialize;

/// One line of a change.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ChangeLine {
    pub what: String,
    pub minutes: f64,
    pub reason: String,
}

impl From<&Line> for ChangeLine {
    fn from(l: &Line) -> ChangeLine {
        ChangeLine {
            what: l.what.clone().into_owned(),
            minutes: l.time.to_minutes(),
            reason: l.reason.clone().into_owned(),
        }
    }
}

/// A change from one job, or the present state, to another job.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ChangeAnswer {
    pub schema: u32,
    pub machine: String,
    pub from: String,
    pub to: String,
    pub mode: &'static str,
    /// With what the shop owns or could buy.
    pub possible: bool,
    pub lines: Vec<ChangeLine>,
    pub total_min: f64,
    /// What does not stop the machine.
    pub off_machine: Vec<ChangeLine>,
    /// Tools and heads that stand already.
    pub staying: u32,
}

/// A change as data.
pub fn change(machine: &Machine, from: &str, to: &Part, found: &Change) -> ChangeAnswer {
    ChangeAnswer {
        schema: super::SCHEMA,
        machine: machine.name.clone(),
        from: from.to_owned(),
        to: to.name.clone(),
        mode: found.row.mode.word(),
        possible: found.row.standing != Standing::Refused,
        lines: found.setup.lines.iter().map(ChangeLine::from).collect(),
        total_min: found.setup.total.to_minutes(),
        off_machine: found.setup.off_machine.iter().map(ChangeLine::from).collect(),
        staying: found.setup.staying,
    }
}

/// Jobs whose tools all find a place together.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct TogetherAnswer {
    pub jobs: Vec<String>,
    pub tools: usize,
    pub longest_change_min: f64,
}

/// A change that is shorter by way of another job.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct DetourAnswer {
    pub from: String,
    pub by_way_of: String,
    pub to: String,
    pub direct_min: f64,
    pub detour_min: f64,
    pub reason: String,
}

/// The matrix as data.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct MatrixAnswer {
    pub schema: u32,
    pub machine: String,
    pub jobs: Vec<String>,
    pub possible: Vec<bool>,
    /// Minutes of the change from the job of the row to the job of the column.
    pub change_min: Vec<Vec<f64>>,
    /// Minutes that each job asks whatever ran before.
    pub own_min: Vec<f64>,
    pub together: Vec<TogetherAnswer>,
    pub detours: Vec<DetourAnswer>,
}

/// A matrix as data.
pub fn matrix(machine: &Machine, parts: &[Part], found: &Matrix) -> MatrixAnswer {
    let name = |i: usize| parts[i].name.clone();
    MatrixAnswer {
        schema: super::SCHEMA,
        machine: machine.name.clone(),
        jobs: parts.iter().map(|p| p.name.clone()).collect(),
        possible: found.rows.iter().map(|r| r.standing != Standing::Refused).collect(),
        change_min: found.change.iter().map(|row| row.iter().map(|t| t.to_minutes()).collect()).collect(),
        own_min: found.own.iter().map(|t| t.to_minutes()).collect(),
        together: found
            .together
            .iter()
            .map(|t| TogetherAnswer {
                jobs: t.jobs.iter().map(|i| name(*i)).collect(),
                tools: t.tools,
                longest_change_min: t.longest_change.to_minutes(),
            })
            .collect(),
        detours: found
            .detours
            .iter()
            .map(|d| DetourAnswer {
                from: name(d.from),
                by_way_of: name(d.by_way_of),
                to: name(d.to),
                direct_min: d.direct.to_minutes(),
                detour_min: d.detour.to_minutes(),
                reason: d.reason.clone(),
            })
            .collect(),
    }
}

/// What every page about setting up ends with.
const CAUTION: &str = "Standard times are estimates until the shop's own stand in its file. Before a bushing, collet, chuck or driven tool is changed: stop and isolate the machine after its manual.";

/// A change as text.
pub fn change_text(a: &ChangeAnswer, style: Style) -> String {
    let width = usize::from(style.width);
    let mut out = format!("{}\n", style.bold(&format!("{}: from {} to {}, {}", a.machine, a.from, a.to, a.mode)));
    if !a.possible {
        out.push_str(&wrapped("The job is refused there: `plan` gives the reasons.", width, ""));
        out.push('\n');
    }
    out.push('\n');
    if a.lines.is_empty() {
        out.push_str("Nothing to change: the job stands on the machine as it is planned.\n");
    } else {
        let mut table = text::table(style);
        for l in &a.lines {
            table.add_row(vec![number(minutes(l.minutes)), Cell::new(&l.what), Cell::new(&l.reason)]);
        }
        table.add_row(vec![number(minutes(a.total_min)), Cell::new("together, on the machine"), Cell::new("")]);
        out.push_str(&format!("{}\n", text::drawn(&table)));
    }
    if a.staying > 0 {
        let s = if a.staying == 1 { " or head stays where it stands" } else { "s and heads stay where they stand" };
        out.push_str(&format!("{} tool{s}.\n", a.staying));
    }
    if !a.off_machine.is_empty() {
        out.push_str(&format!("\n{}\n", style.bold("Beside the machine")));
        let mut table = text::table(style);
        for l in &a.off_machine {
            let time = if l.minutes > 0.0 { minutes(l.minutes) } else { String::new() };
            table.add_row(vec![number(time), Cell::new(&l.what), Cell::new(&l.reason)]);
        }
        out.push_str(&format!("{}\n", text::drawn(&table)));
    }
    out.push_str(&format!("\n{}\n", style.dim(&wrapped(CAUTION, width, ""))));
    out
}

/// A matrix as text. Jobs stand by their numbers where their names would not fit side by side.
pub fn matrix_text(a: &MatrixAnswer, style: Style) -> String {
    let width = usize::from(style.width);
    let title = format!("{}: minutes of change from job to job", a.machine);
    let mut out = format!("{}\n\n", style.bold(&title));
    let longest = a.jobs.iter().map(|j| j.chars().count()).max().unwrap_or(0);
    let by_name = longest + 4 + a.jobs.iter().map(|j| j.chars().count().max(5) + 2).sum::<usize>() + 8 <= width;
    let mut table = text::table(style);
    let mut titles = vec![head("from \\ to", false)];
    for (i, job) in a.jobs.iter().enumerate() {
        titles.push(head(&if by_name { job.clone() } else { format!("({})", i + 1) }, true));
    }
    table.set_header(titles);
    for (i, row) in a.change_min.iter().enumerate() {
        let name = if by_name { a.jobs[i].clone() } else { format!("({}) {}", i + 1, a.jobs[i]) };
        let mut cells = vec![Cell::new(name)];
        cells.extend(row.iter().map(|m| number(format!("{m:.0}"))));
        table.add_row(cells);
    }
    let mut own = vec![Cell::new("own")];
    own.extend(a.own_min.iter().map(|m| number(format!("{m:.0}"))));
    table.add_row(own);
    out.push_str(&format!("{}\n", text::drawn(&table)));
    let own = "own: what a job asks whatever ran before it: proving out, first article, setup pieces.";
    out.push_str(&style.dim(&wrapped(own, width, "")));
    out.push('\n');
    for (job, possible) in a.jobs.iter().zip(&a.possible) {
        if !possible {
            out.push_str(&wrapped(&format!("{job} is refused on this machine: `plan` gives the reasons."), width, ""));
            out.push('\n');
        }
    }
    if a.together.is_empty() && a.jobs.len() > 1 {
        out.push_str("\nNo two of these jobs have room for the tools of both.\n");
    }
    for t in &a.together {
        let words = format!(
            "{}: the places hold the tools of all, {} together. Once they stand no tool is changed among them; the longest change that is left takes {}.",
            t.jobs.join(", "),
            t.tools,
            minutes(t.longest_change_min)
        );
        out.push_str(&format!("\n{}\n", wrapped(&words, width, "")));
    }
    for d in &a.detours {
        let words = format!(
            "From {} to {} takes {}, by way of {} {}: {}.",
            d.from,
            d.to,
            minutes(d.direct_min),
            d.by_way_of,
            minutes(d.detour_min),
            d.reason
        );
        out.push_str(&format!("\n{}\n", wrapped(&words, width, "")));
    }
    out.push_str(&format!("\n{}\n", style.dim(&wrapped(CAUTION, width, ""))));
    out
}

/// The columns of a change as CSV.
pub const CHANGE_COLUMNS: &[&str] = &["machine", "from", "to", "where", "what", "minutes", "reason"];

/// A change as CSV.
pub fn change_csv(a: &ChangeAnswer) -> String {
    let mut out = format!("{}\r\n", CHANGE_COLUMNS.join(","));
    for (place, lines) in [("machine", &a.lines), ("beside", &a.off_machine)] {
        for l in lines {
            let minutes = format!("{:.2}", l.minutes);
            let fields: [&str; 7] = [&a.machine, &a.from, &a.to, place, &l.what, &minutes, &l.reason];
            out.push_str(&fields.map(field).join(","));
            out.push_str("\r\n");
        }
    }
    out
}

/// A matrix as CSV: one line for each pair.
pub fn matrix_csv(a: &MatrixAnswer) -> String {
    let mut out = "machine,from,to,change_min,own_min\r\n".to_owned();
    for (i, row) in a.change_min.iter().enumerate() {
        for (j, m) in row.iter().enumerate() {
            let fields = [&a.machine, &a.jobs[i], &a.jobs[j], &format!("{m:.2}"), &format!("{:.2}", a.own_min[j])];
            out.push_str(&fields.map(|f| field(f)).join(","));
            out.push_str("\r\n");
        }
    }
    out
}
