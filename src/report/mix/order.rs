//! The order of the lots on each machine, as data and for people.

use super::{HOUR, MixAnswer};
use crate::fleet::mix::MixPlan;
use crate::fleet::mix::sequence::{Run, Sequence};
use crate::model::machine::Machine;
use crate::model::mix::MixJob;
use crate::quantity::print::{number as decimals, thousands};
use crate::report::text::{self, Style, head, number, unbroken, wrapped};
use comfy_table::Cell;
use jiff::ToSpan;
use jiff::civil::{Date, DateTime};
use schemars::JsonSchema;
use serde::Serialize;

/// Days of a year by the calendar.
const YEAR: f64 = 365.25;

/// One lot in its place.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct RunAnswer {
    /// The number of its job, from 1: several may be of one part.
    pub job: usize,
    pub part: String,
    /// From 1.
    pub lot: u64,
    pub lots: u64,
    pub setting_h: f64,
    pub cutting_h: f64,
    /// Days of the calendar from the start: the setup begins, the first piece, the last one, when it is wanted.
    pub setup_day: f64,
    pub start_day: f64,
    pub end_day: f64,
    pub due_day: f64,
    /// Days after it is wanted, from 0.
    pub late_days: f64,
    /// The same as dates, where the day of the start is given.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub start: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub end: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub due: Option<String>,
}

/// The lots of a machine in their order.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct SequenceAnswer {
    pub machine: String,
    pub number: usize,
    pub of: usize,
    pub runs: Vec<RunAnswer>,
    /// Hours at the setting in this order, and where each lot were set up anew.
    pub setting_h: f64,
    pub anew_h: f64,
    pub late: usize,
}

/// The sequences as data; `start` is the day on which the mix begins.
pub fn sequenced(
    found: &[Sequence],
    machines: &[Machine],
    jobs: &[&MixJob],
    plan: &MixPlan,
    years: f64,
    start: Option<Date>,
) -> Vec<SequenceAnswer> {
    let lots = |job: usize| {
        let made = plan.jobs[job].made.iter().map(|m| m.lots.len()).sum::<usize>();
        made + plan.jobs[job].out.as_ref().map_or(0, |o| o.lots.len())
    };
    let of = |s: &Sequence| {
        let unit = plan.hours.units[s.unit];
        let day = |seconds: i64| seconds as f64 / unit.available.max(1) as f64 * years * YEAR;
        let date = |day: f64| start.map(|s| at(s, day).date().to_string());
        let run = |r: &Run| {
            let (start_day, end_day, due_day) = (day(r.start), day(r.end), day(r.due));
            RunAnswer {
                job: r.job + 1,
                part: jobs[r.job].part.value.clone(),
                lot: r.lot + 1,
                lots: lots(r.job) as u64,
                setting_h: r.setup as f64 / HOUR as f64,
                cutting_h: (r.end - r.start) as f64 / HOUR as f64,
                setup_day: day(r.start - r.setup),
                start_day,
                end_day,
                due_day,
                late_days: day(r.late()),
                start: date(start_day),
                end: date(end_day),
                due: date(due_day),
            }
        };
        SequenceAnswer {
            machine: machines[unit.machine].name.clone(),
            number: unit.number,
            of: unit.of,
            runs: s.runs.iter().map(run).collect(),
            setting_h: s.setting() as f64 / HOUR as f64,
            anew_h: s.anew as f64 / HOUR as f64,
            late: s.runs.iter().filter(|r| day(r.late()) >= 0.5).count(),
        }
    };
    found.iter().map(of).collect()
}

/// A day of the calendar, counted from the start, with its time.
pub(super) fn at(start: Date, day: f64) -> DateTime {
    let minutes = (day * 1440.0).round() as i64;
    start.to_datetime(jiff::civil::Time::midnight()).checked_add(minutes.minutes()).unwrap_or(DateTime::MAX)
}

/// How much the order saves, and what it leaves late.
pub(in crate::report) fn words(a: &MixAnswer) -> String {
    let sum = |f: fn(&SequenceAnswer) -> f64| a.sequence.iter().map(f).sum::<f64>();
    let late: usize = a.sequence.iter().map(|s| s.late).sum();
    let said = format!(
        "In this order {} h go into setting instead of {} h with each lot set up anew. {}",
        thousands(sum(|s| s.setting_h).round()),
        thousands(sum(|s| s.anew_h).round()),
        match late {
            0 => "Every lot is ready on its day.".to_owned(),
            1 => "One lot is late.".to_owned(),
            n => format!("{n} lots are late."),
        }
    );
    unbroken(&said)
}

/// The sequences for a terminal.
pub(super) fn text(a: &MixAnswer, style: Style) -> String {
    let width = usize::from(style.width);
    let mut out = format!("\n{}\n", style.bold("Order of the lots"));
    out.push_str(&wrapped(&words(a), width, ""));
    out.push('\n');
    for s in &a.sequence {
        let name = super::words::unit(&s.machine, s.number, s.of);
        let said = format!("{name}: {} h at the setting, {} h anew", decimals(s.setting_h, 0), decimals(s.anew_h, 0));
        out.push_str(&format!("\n{}\n{}\n", style.bold(&said), runs(s, style)));
    }
    out
}

fn runs(s: &SequenceAnswer, style: Style) -> String {
    let mut table = text::table(style);
    let dated = s.runs.iter().any(|r| r.start.is_some());
    let days = if dated { ["from", "to", "wanted"] } else { ["from day", "to day", "wanted"] };
    table.set_header(vec![
        head("job", false),
        head("lot", true),
        head("setting", true),
        head("cutting", true),
        head(days[0], true),
        head(days[1], true),
        head(days[2], true),
        head("late", true),
    ]);
    for r in &s.runs {
        let day = |date: &Option<String>, day: f64| date.clone().unwrap_or_else(|| format!("{:.0}", day.floor() + 1.0));
        let late = if r.late_days >= 0.5 { format!("{:.0} d", r.late_days.ceil()) } else { String::new() };
        table.add_row(vec![
            Cell::new(&r.part),
            number(format!("{} of {}", r.lot, r.lots)),
            number(text::minutes(r.setting_h * 60.0)),
            number(format!("{:.0} h", r.cutting_h)),
            number(day(&r.start, r.start_day)),
            number(day(&r.end, r.end_day)),
            number(day(&r.due, r.due_day)),
            number(late),
        ]);
    }
    text::drawn(&table)
}
