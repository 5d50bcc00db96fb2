//! Changes from job to job: one change line by line, or the matrix of a family.

use super::answer::SetupLine;
use super::text::{self, Style, minutes, wrapped};
use crate::matching::setups::{Change, Matrix};
use crate::model::machine::Machine;
use crate::model::part::Part;
use crate::model::shop::Shop;
use crate::planning::setup::Line;
use crate::quantity::print;
use crate::report::csv::field;
use schemars::JsonSchema;
use serde::Serialize;

/// What a change starts from.
#[derive(Clone, Debug, PartialEq)]
pub enum Before {
    /// What the shop file says of one of so many machines of the kind.
    Now {
        machines: usize,
    },
    Job {
        name: String,
        possible: bool,
    },
}

/// A change from one job, or the present state, to another job.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct ChangeAnswer {
    pub schema: u32,
    pub machine: String,
    /// The job before; nothing where it is the present state.
    pub from: Option<String>,
    /// The job before can be done there.
    pub from_possible: bool,
    /// From the present state: which machine of the kind is nearest to the job, counted from 1, and how many there are.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub machine_number: Option<[usize; 2]>,
    pub to: String,
    pub mode: &'static str,
    /// With what the shop owns or could buy.
    pub possible: bool,
    pub lines: Vec<SetupLine>,
    /// What the shop's own records correct, and from how many.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub corrections: Vec<String>,
    pub total_min: f64,
    /// What does not stop the machine.
    pub off_machine: Vec<SetupLine>,
    /// Work beside the machine; what is waited for is not in it.
    pub off_machine_min: f64,
    /// Tools and heads of the job that stand already.
    pub staying: Vec<String>,
    /// Tools and heads of the job before that may stay although this one does not need them.
    pub idle: Vec<String>,
    /// Tools and heads of the job before that come off.
    pub coming_off: Vec<String>,
}

/// A change as data; `number` is that of the machine of its kind, counted from 0.
pub fn change(machine: &Machine, shop: &Shop, from: &Before, number: usize, to: &Part, found: &Change) -> ChangeAnswer {
    let (before, from_possible, machine_number) = match from {
        Before::Now { machines } => (None, true, Some([number + 1, *machines])),
        Before::Job { name, possible } => (Some(name.clone()), *possible, None),
    };
    let lines = |lines: &[Line]| lines.iter().map(SetupLine::from).collect();
    ChangeAnswer {
        schema: super::SCHEMA,
        machine: machine.name.clone(),
        from: before,
        from_possible,
        machine_number,
        to: to.name.clone(),
        mode: found.row.mode.word(),
        possible: found.is_possible(),
        lines: lines(&found.setup.lines),
        corrections: super::corrections::of_setup(machine, shop, &found.setup.lines),
        total_min: found.setup.total.to_minutes(),
        off_machine: lines(&found.setup.off_machine),
        off_machine_min: found.setup.beside().to_minutes(),
        staying: found.staying.clone(),
        idle: found.left.idle.clone(),
        coming_off: found.left.off.clone(),
    }
}

/// Jobs whose tools all find a place together.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct TogetherAnswer {
    pub jobs: Vec<String>,
    pub tools: usize,
    pub longest_change_min: f64,
}

/// A change that is shorter by way of another job.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct DetourAnswer {
    pub from: String,
    pub by_way_of: String,
    pub to: String,
    pub direct_min: f64,
    pub detour_min: f64,
    pub reason: String,
}

/// A job that wants an attachment bought.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct WantedAnswer {
    pub job: String,
    pub attachments: Vec<String>,
}

/// The matrix as data.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct MatrixAnswer {
    pub schema: u32,
    pub machine: String,
    /// Those that are possible there, in the order given.
    pub jobs: Vec<String>,
    /// The mode in which each of them is planned.
    pub modes: Vec<&'static str>,
    pub refused: Vec<String>,
    /// Minutes of the change from the job of the row to the job of the column.
    pub change_min: Vec<Vec<f64>>,
    /// Minutes that each job asks whatever ran before, as a repeat order.
    pub own_min: Vec<f64>,
    pub together: Vec<TogetherAnswer>,
    pub detours: Vec<DetourAnswer>,
    pub to_buy: Vec<WantedAnswer>,
}

/// A matrix as data.
pub fn matrix(machine: &Machine, parts: &[Part], found: &Matrix) -> MatrixAnswer {
    let name = |i: usize| parts[found.parts[i]].name.clone();
    let jobs: Vec<String> = (0..found.parts.len()).map(name).collect();
    let wanted = |(row, job): (&crate::matching::Row, &String)| {
        let attachments: Vec<String> = row.purchases.iter().map(|p| format!("{} {}", p.count, p.name)).collect();
        (!attachments.is_empty()).then(|| WantedAnswer { job: job.clone(), attachments })
    };
    MatrixAnswer {
        schema: super::SCHEMA,
        machine: machine.name.clone(),
        modes: found.rows.iter().map(|r| r.mode.word()).collect(),
        refused: found.refused.iter().map(|i| parts[*i].name.clone()).collect(),
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
        to_buy: found.rows.iter().zip(&jobs).filter_map(wanted).collect(),
        jobs,
    }
}

/// What every page about setting up ends with.
const CAUTION: &str = "Standard times are estimates until the shop's own stand in its file. Before a bushing, collet, chuck or driven tool is changed: stop and isolate the machine after its manual.";

/// A change as text.
pub fn change_text(a: &ChangeAnswer, style: Style) -> String {
    let width = usize::from(style.width);
    let from = match (&a.from, a.machine_number) {
        (Some(job), _) => job.clone(),
        (None, Some([number, machines])) if machines > 1 => {
            format!("what stands there now (machine {number} of {machines}, the nearest to the job)")
        }
        _ => "what stands there now".to_owned(),
    };
    let title = wrapped(&format!("{}: from {from} to {}, {}", a.machine, a.to, a.mode), width, "");
    let mut out = format!("{}\n", style.bold(&title));
    for (job, possible) in [(a.from.as_ref(), a.from_possible), (Some(&a.to), a.possible)] {
        if let Some(job) = job.filter(|_| !possible) {
            let told = format!("{job} is refused there; `plan` gives the reasons. Reckoned as if it could be made.");
            out.push_str(&format!("{}\n", wrapped(&told, width, "")));
        }
    }
    out.push('\n');
    out.push_str(&text::setup_lines(&a.lines, a.total_min, "together, on the machine", style));
    for correction in &a.corrections {
        out.push_str(&format!("{}\n", wrapped(correction, width, "")));
    }
    if !a.off_machine.is_empty() {
        out.push_str(&format!("\n{}\n", style.bold("Beside the machine")));
        out.push_str(&text::setup_lines(&a.off_machine, a.off_machine_min, "together, while it runs", style));
    }
    let mut tools = String::new();
    for (what, names) in
        [("Stays for the job", &a.staying), ("May stay, not needed", &a.idle), ("Comes off", &a.coming_off)]
    {
        if !names.is_empty() {
            tools.push_str(&format!("{}\n", hanging(&format!("{what}: {}.", counted(names)), width)));
        }
    }
    if !tools.is_empty() {
        out.push_str(&format!("\n{tools}"));
    }
    out.push_str(&format!("\n{}\n", style.dim(&wrapped(CAUTION, width, ""))));
    out
}

/// Names with equal ones counted: `2 turning tool, cut-off tool 2 mm`.
fn counted(names: &[String]) -> String {
    let mut each: Vec<(&str, usize)> = Vec::new();
    for name in names {
        match each.iter_mut().find(|(n, _)| n == name) {
            Some((_, count)) => *count += 1,
            None => each.push((name, 1)),
        }
    }
    let words =
        |(name, count): &(&str, usize)| if *count > 1 { format!("{count} x {name}") } else { (*name).to_owned() };
    each.iter().map(words).collect::<Vec<_>>().join(", ")
}

/// Names in a row: `a, b and c`.
fn listed(names: &[String]) -> String {
    match names {
        [most @ .., last] if !most.is_empty() => format!("{} and {last}", most.join(", ")),
        _ => names.concat(),
    }
}

/// Broken to a width, the lines after the first set in.
fn hanging(words: &str, width: usize) -> String {
    wrapped(words, width, "  ").trim_start().to_owned()
}

/// A matrix as text. Jobs stand by their numbers where their names would not fit side by side, and in several blocks where the
/// numbers would not either.
pub fn matrix_text(a: &MatrixAnswer, style: Style) -> String {
    let width = usize::from(style.width);
    let title = format!("{}: minutes of change from job to job", a.machine);
    let mut out = format!("{}\n", style.bold(&title));
    if !a.refused.is_empty() {
        let are = if a.refused.len() == 1 { "is" } else { "are" };
        let told = format!("{} {are} refused there; `plan` gives the reasons.", listed(&a.refused));
        out.push_str(&format!("{}\n", wrapped(&told, width, "")));
    }
    for wanted in &a.to_buy {
        let told = format!("{} asks for a purchase: {}.", wanted.job, wanted.attachments.join(", "));
        out.push_str(&format!("{}\n", wrapped(&told, width, "")));
    }
    if a.jobs.is_empty() {
        return out;
    }
    out.push_str(&grid(a, style));
    let own =
        "own: what a job asks as a repeat order whatever ran before it: proving out, first article, setup pieces.";
    out.push_str(&format!("{}\n", style.dim(&wrapped(own, width, ""))));
    if a.together.is_empty() && a.jobs.len() > 1 {
        out.push_str("\nNo two of these jobs have room for the tools of both.\n");
    }
    for t in &a.together {
        let words = format!(
            "The places hold the {} tools of {} at once. Once they stand no tool is changed among them; the longest change that is left takes {}.",
            t.tools,
            listed(&t.jobs),
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

/// Columns of minutes, in as many blocks as the width asks.
fn grid(a: &MatrixAnswer, style: Style) -> String {
    let width = usize::from(style.width);
    let n = a.jobs.len();
    let count = |job: &String| job.chars().count();
    let figure = a.change_min.iter().flatten().chain(&a.own_min).map(|m| format!("{m:.0}").len()).max().unwrap_or(1);
    let longest = a.jobs.iter().map(count).max().unwrap_or(0).max(9);
    let named: usize = a.jobs.iter().map(|j| count(j).max(figure) + 2).sum();
    let by_name = longest + 2 + named <= width;
    let digits = format!("{n}").len();
    let side = if by_name { longest + 2 } else { longest + digits + 3 };
    let title = |i: usize| if by_name { a.jobs[i].clone() } else { format!("{}", i + 1) };
    let room = |i: usize| title(i).chars().count().max(figure) + 2;
    let mut out = String::new();
    // All blocks of like width, so that no column stands alone.
    let most = if by_name { n } else { (width.saturating_sub(side) / room(n - 1)).max(1) };
    let each = n.div_ceil(n.div_ceil(most));
    for at in (0..n).step_by(each) {
        let end = (at + each).min(n);
        let row = |name: &str, cell: &dyn Fn(usize) -> String| {
            let cells: String = (at..end).map(|i| format!("{:>1$}", cell(i), room(i))).collect();
            format!("{name:<side$}{cells}").trim_end().to_owned()
        };
        out.push_str(&format!("\n{}\n", style.bold(&row(" from \\ to", &title))));
        for (i, minutes) in a.change_min.iter().enumerate() {
            let name = if by_name { format!(" {}", a.jobs[i]) } else { format!(" {:>digits$} {}", i + 1, a.jobs[i]) };
            out.push_str(&format!("{}\n", row(&name, &|j| format!("{:.0}", minutes[j]))));
        }
        out.push_str(&format!("{}\n", style.dim(&row(" own", &|j| format!("{:.0}", a.own_min[j])))));
    }
    out
}

/// The columns of a change as CSV.
pub const CHANGE_COLUMNS: &[&str] = &["machine", "from", "to", "where", "kind", "what", "minutes", "weeks", "reason"];

/// A change as CSV: one line for each line of the setup, then for what stays, may stay and comes off.
pub fn change_csv(a: &ChangeAnswer) -> String {
    let mut out = format!("{}\r\n", CHANGE_COLUMNS.join(","));
    let from = a.from.as_deref().unwrap_or("now");
    let mut line = |place: &str, kind: &str, what: &str, minutes: &str, weeks: &str, reason: &str| {
        let fields = [&a.machine, from, &a.to, place, kind, what, minutes, weeks, reason];
        out.push_str(&fields.map(field).join(","));
        out.push_str("\r\n");
    };
    for (place, lines) in [("machine", &a.lines), ("beside", &a.off_machine)] {
        for l in lines {
            let span = l.weeks.map(|[low, high]| format!("{}-{}", print::number(low, 1), print::number(high, 1)));
            let minutes = format!("{:.2}", l.minutes);
            line(place, l.kind, &l.what, &minutes, &span.unwrap_or_default(), &l.reason);
        }
    }
    for (place, names) in [("stays", &a.staying), ("may-stay", &a.idle), ("comes-off", &a.coming_off)] {
        for name in names {
            line(place, "", name, "", "", "");
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
