//! The operation sheet as comma-separated values after RFC 4180: one line for each operation, share, place, setup line, work
//! beside the machine, way and comparison, told apart by the first column.

use super::SheetAnswer;
use crate::report::csv::field;
use crate::report::text::weeks;

/// The columns; their names and order are kept between versions.
pub const COLUMNS: &[&str] = &[
    "section",
    "number",
    "spindle",
    "work",
    "feature",
    "tool",
    "place",
    "speed_rpm",
    "feed_mm_per_rev",
    "dia_mm",
    "z_from_mm",
    "z_to_mm",
    "depth_mm",
    "passes",
    "count",
    "start_s",
    "wait_s",
    "change_s",
    "spindle_s",
    "approach_s",
    "live_s",
    "cutting_s",
    "moving_s",
    "end_s",
    "minutes",
    "amount",
    "currency",
    "reason",
];

/// A line under construction: values by column.
#[derive(Default)]
struct Line(Vec<(&'static str, String)>);

impl Line {
    fn new(section: &'static str) -> Line {
        Line(vec![("section", section.to_owned())])
    }
    fn with(mut self, column: &'static str, value: impl ToString) -> Line {
        self.0.push((column, value.to_string()));
        self
    }
    fn seconds(self, column: &'static str, s: f64) -> Line {
        self.with(column, format!("{s:.3}"))
    }
    fn write(&self, out: &mut String) {
        let value = |column: &&str| {
            let found = self.0.iter().find(|(c, _)| c == column);
            found.map(|(_, v)| field(v)).unwrap_or_default()
        };
        out.push_str(&COLUMNS.iter().map(value).collect::<Vec<_>>().join(","));
        out.push_str("\r\n");
    }
}

/// The sheet as CSV with a head line.
pub fn sheet(sheet: &SheetAnswer) -> String {
    let mut out = COLUMNS.join(",");
    out.push_str("\r\n");
    let number = |v: Option<f64>, places: usize| v.map(|v| format!("{v:.places$}")).unwrap_or_default();
    for l in &sheet.lines {
        Line::new(if l.hand_over { "hand-over" } else { "operation" })
            .with("number", l.number)
            .with("spindle", l.spindle)
            .with("work", l.work)
            .with("feature", l.feature.clone().unwrap_or_default())
            .with("tool", l.tool.clone().unwrap_or_default())
            .with("place", l.place.clone().unwrap_or_default())
            .with("speed_rpm", number(l.speed_rpm, 1))
            .with("feed_mm_per_rev", number(l.feed_mm_per_rev, 4))
            .with("dia_mm", number(l.dia_mm, 3))
            .with("z_from_mm", number(l.z_mm.map(|z| z.0), 3))
            .with("z_to_mm", number(l.z_mm.map(|z| z.1), 3))
            .with("depth_mm", number(l.depth_mm, 3))
            .with("passes", l.passes)
            .with("count", l.count)
            .seconds("start_s", l.start_s)
            .seconds("wait_s", l.wait_s)
            .seconds("change_s", l.change_s)
            .seconds("spindle_s", l.spindle_s)
            .seconds("approach_s", l.approach_s)
            .seconds("live_s", l.live_s)
            .seconds("cutting_s", l.cutting_s)
            .seconds("moving_s", l.moving_s)
            .seconds("end_s", l.end_s)
            .with("reason", l.order_reason.unwrap_or_default())
            .write(&mut out);
    }
    Line::new("programmed").seconds("end_s", sheet.programmed_s).write(&mut out);
    for s in &sheet.shares {
        Line::new("share").with("work", &s.what).seconds("moving_s", s.seconds).write(&mut out);
    }
    Line::new("cycle").seconds("end_s", sheet.job.cycle.total_s).write(&mut out);
    for p in &sheet.places {
        Line::new("place")
            .with("place", &p.place)
            .with("tool", &p.tool)
            .with("spindle", p.spindle)
            .with("feature", p.features.join("; "))
            .with("reason", p.attachment.clone().unwrap_or_default())
            .write(&mut out);
    }
    for (section, lines) in [("setup", &sheet.job.setup), ("beside", &sheet.job.off_machine)] {
        for s in lines {
            Line::new(section)
                .with("work", &s.what)
                .with("minutes", format!("{:.2}", s.minutes))
                .with("reason", s.weeks.map_or_else(|| s.reason.clone(), |w| format!("{}; {}", s.reason, weeks(w))))
                .write(&mut out);
        }
    }
    for a in &sheet.alternatives {
        let reason = if a.taken { "taken" } else { a.reason.as_str() };
        Line::new("way")
            .with("feature", &a.feature)
            .with("work", a.way)
            .seconds("cutting_s", a.seconds)
            .with("reason", reason)
            .write(&mut out);
    }
    for w in &sheet.worth {
        for (name, side) in [("without", &w.without), ("with", &w.with)] {
            let Some(side) = side else { continue };
            Line::new("worth")
                .with("work", format!("{name} {}", w.option))
                .seconds("end_s", side.cycle_s)
                .with("minutes", format!("{:.2}", side.setup_min))
                .with("amount", format!("{:.4}", side.cost))
                .with("currency", &sheet.currency)
                .with("reason", side.refused_because.clone().unwrap_or_default())
                .write(&mut out);
        }
    }
    out
}
