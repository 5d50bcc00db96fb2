//! A sheet of records of orders that were made: its lines into the model, each fault with its row. A broken line takes nothing
//! from the others.

mod columns;

use super::inquiries::cells;
use super::inquiries::{Fault, Kind, SheetError};
use super::shop::nearest;
use super::shop::values::{self, Words};
use crate::model::figure::Place;
use crate::model::machine::{Machine, ModeKind};
use crate::model::record::{Pair, Record};
use crate::quantity::Time;
use columns::{Column, Of, When};
use jiff::civil::Date;
use std::collections::BTreeMap;

pub use columns::HEAD;

/// No cycle, setup or order takes longer.
const LONGEST: Time = Time::hours(10_000.0);

/// Why nothing of a sheet can be read.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum RecordsError {
    #[error(transparent)]
    Sheet(SheetError),
    #[error("it has no line; the first names the columns, such as `{HEAD}`")]
    Empty,
    #[error("the column `{0}` stands twice; keep one of them")]
    Twice(String),
    #[error("`{0}` is no unit of time; write `s`, `min` or `h` between the brackets")]
    Unit(String),
    #[error("no column is called `{0}`; the first line names the columns, such as `{HEAD}`")]
    Missing(&'static str),
}

/// What a sheet holds.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Sheet {
    pub records: Vec<Record>,
    /// Rows that cannot be counted.
    pub faults: Vec<Fault>,
    /// Columns that are not known and were passed over.
    pub passed_over: Vec<Fault>,
}

/// The records of a sheet in their order, held against the machines that they name. Empty lines are passed over, and those
/// that begin with `#`.
///
/// # Errors
/// [`RecordsError`] where the sheet as a whole is of no use.
pub fn read(kind: Kind, bytes: &[u8], machines: &[Machine]) -> Result<Sheet, RecordsError> {
    let rows = cells::rows(kind, bytes).map_err(|e| match e {
        SheetError::Empty => RecordsError::Empty,
        other => RecordsError::Sheet(other),
    })?;
    let said = |cells: &[String]| {
        let first = cells.iter().map(|c| c.trim()).find(|c| !c.is_empty());
        first.is_some_and(|c| !c.starts_with('#'))
    };
    let mut rows = rows.into_iter().filter(|(_, cells)| said(cells));
    let (head_row, head) = rows.next().ok_or(RecordsError::Empty)?;
    let mut sheet = Sheet::default();
    let columns = columns::read(head_row, &head, &mut sheet.passed_over)?;
    let mut seen: BTreeMap<[String; 6], usize> = BTreeMap::new();
    for (row, cells) in rows {
        let line = Line { row, cells: &cells, columns: &columns };
        match line.record(machines).and_then(|record| line.only_once(record, &mut seen)) {
            Ok(record) => sheet.records.push(record),
            Err(fault) => sheet.faults.push(fault),
        }
    }
    Ok(sheet)
}

struct Line<'a> {
    row: usize,
    cells: &'a [String],
    columns: &'a [Option<Column>],
}

impl Line<'_> {
    fn fault(&self, message: impl Into<String>, help: impl Into<String>) -> Fault {
        Fault { row: self.row, message: message.into(), help: help.into() }
    }

    fn cell(&self, wanted: &Column) -> Option<&str> {
        let at = self.columns.iter().position(|c| c.as_ref() == Some(wanted))?;
        self.cells.get(at).map(|c| c.trim()).filter(|c| !c.is_empty())
    }

    fn record(&self, machines: &[Machine]) -> Result<Record, Fault> {
        if let Some((_, extra)) =
            self.cells.iter().enumerate().skip(self.columns.len()).find(|(_, c)| !c.trim().is_empty())
        {
            let message = format!("`{}` stands beyond the last column", extra.trim());
            return Err(self.fault(message, "quote a value that holds the separator"));
        }
        let part = self.cell(&Column::Part);
        let part = part.ok_or_else(|| self.fault("no part is named", "write its name, or the file of its spec"))?;
        let machine = self.machine(machines)?;
        let words = |column: &Column| self.cell(column).map(str::to_owned);
        let mut record = Record {
            row: self.row,
            part: part.to_owned(),
            member: words(&Column::Member),
            family: words(&Column::Family),
            machine: machine.name.clone(),
            mode: self.mode(machine)?,
            quantity: self.quantity()?,
            day: self.day()?,
            order: words(&Column::Order),
            cycle: Pair::default(),
            stoppages: Pair::default(),
            setup: Pair::default(),
            elements: BTreeMap::new(),
        };
        for name in [Some(record.part.as_str()), record.family.as_deref(), record.member.as_deref()] {
            self.name(name.unwrap_or_default())?;
        }
        for column in self.columns.iter().flatten() {
            let Column::Time(of, when, unit) = column else { continue };
            let Some(text) = self.cell(column) else { continue };
            let time = self.time(text, of, *when, unit.as_deref())?;
            let pair = match of {
                Of::Cycle => &mut record.cycle,
                Of::Stoppages => &mut record.stoppages,
                Of::Setup => &mut record.setup,
                Of::Element(key) => record.elements.entry(key.clone()).or_default(),
            };
            match when {
                When::Estimated => pair.estimated = Some(time),
                When::Actual => pair.actual = Some(time),
            }
        }
        self.complete(&record)?;
        Ok(record)
    }

    /// Whether what was measured can be held against an estimate.
    fn complete(&self, r: &Record) -> Result<(), Fault> {
        let pairs = || [r.cycle, r.setup, r.stoppages].into_iter().chain(r.elements.values().copied());
        if pairs().all(|p| p.actual.is_none()) {
            return Err(self.fault("nothing was measured", "fill in `actual cycle`, `actual setup` or `stoppages`"));
        }
        let bare = |p: Pair| p.actual.is_some() && p.estimated.is_none();
        if r.spec().is_none() && pairs().any(bare) {
            let message = format!("`{}` names no spec, and an estimate is missing", r.part);
            let help = "name the file of the part's spec, so that the program's own plan gives it, or fill it in";
            return Err(self.fault(message, help));
        }
        if r.stoppages.actual.is_some() && (r.quantity.is_none() || r.cycle.actual.is_none()) {
            let message = "stoppages without `quantity` and `actual cycle` are a share of nothing known";
            return Err(self.fault(message, "fill in both, or leave the stoppages empty"));
        }
        Ok(())
    }

    /// Names become keys of the shop file.
    fn name(&self, name: &str) -> Result<(), Fault> {
        let bad = name.chars().find(|c| c.is_control() || matches!(c, '\'' | '"' | '\\'));
        bad.map_or(Ok(()), |c| {
            let message = format!("`{}` holds {c:?}, which no name takes", name.escape_debug());
            Err(self.fault(message, "write it without quotes and backslashes"))
        })
    }

    fn machine<'m>(&self, machines: &'m [Machine]) -> Result<&'m Machine, Fault> {
        let name = self.cell(&Column::Machine);
        let name = name.ok_or_else(|| self.fault("no machine is named", "write the name of its spec"))?;
        machines.iter().find(|m| m.name == name).ok_or_else(|| {
            let names: Vec<&str> = machines.iter().map(|m| m.name.as_str()).collect();
            self.fault(format!("no machine is called `{name}`"), nearest(name, &names, "machine"))
        })
    }

    fn mode(&self, machine: &Machine) -> Result<Option<ModeKind>, Fault> {
        let Some(word) = self.cell(&Column::Mode) else { return Ok(None) };
        let found = machine.modes.iter().find(|m| m.kind.word() == word.to_lowercase());
        found.map(|m| Some(m.kind)).ok_or_else(|| {
            let has: Vec<&str> = machine.modes.iter().map(|m| m.kind.word()).collect();
            self.fault(format!("`{}` has no mode `{word}`", machine.name), format!("it has {}", has.join(", ")))
        })
    }

    fn quantity(&self) -> Result<Option<u64>, Fault> {
        let Some(text) = self.cell(&Column::Quantity) else { return Ok(None) };
        super::inquiries::pieces(text).map(Some).ok_or_else(|| {
            self.fault(
                format!("`{text}` is no number of pieces"),
                "write a whole number from 1 to 1_000_000_000 without a point or a comma",
            )
        })
    }

    fn day(&self) -> Result<Option<String>, Fault> {
        let Some(text) = self.cell(&Column::Day) else { return Ok(None) };
        let day: Result<Date, _> = text.parse();
        day.map(|d| Some(d.to_string()))
            .map_err(|_| self.fault(format!("`{text}` is no day of the calendar"), "write it like 2026-11-25"))
    }

    fn time(&self, text: &str, of: &Of, when: When, unit: Option<&str>) -> Result<Time, Fault> {
        let column = columns::name(of, when);
        let bare = text.chars().all(|c| c.is_ascii_digit() || matches!(c, '.' | '_' | '-' | '+'));
        let whole = unit.filter(|_| bare).map_or_else(|| text.to_owned(), |unit| format!("{text} {unit}"));
        let example = if *of == Of::Cycle { "42.5 s" } else { "95 min" };
        let words = Words { text: &whole, place: Place::default() };
        let time: Time = values::quantity(words, example).map_err(|d| {
            let help = d.help.unwrap_or_default();
            let help =
                if d.code == "missing-unit" { format!("{help}, or `{column} [min]` in the first line") } else { help };
            self.fault(format!("{column}: {}", d.message), help)
        })?;
        let from_nought = *of == Of::Stoppages;
        let least = if from_nought { Time::ZERO } else { Time::s(1e-3) };
        if time < least || time > LONGEST {
            let help = match when {
                When::Actual if !from_nought && time <= Time::ZERO => {
                    "what was made took time: correct it, or leave the cell empty where nothing was measured"
                }
                _ if from_nought => "write a time from nought up to 10,000 h",
                _ => "write a time above nought and up to 10,000 h",
            };
            return Err(self.fault(format!("{column}: `{text}` is out of range"), help));
        }
        Ok(time)
    }

    /// Orders told apart by their day or number stand once; of others nothing can be said.
    fn only_once(&self, r: Record, seen: &mut BTreeMap<[String; 6], usize>) -> Result<Record, Fault> {
        if r.day.is_none() && r.order.is_none() {
            return Ok(r);
        }
        let optional = |o: &Option<String>| o.clone().unwrap_or_default();
        let mode = r.mode.map_or("", ModeKind::word).to_owned();
        let key = [r.part.clone(), optional(&r.member), r.machine.clone(), mode, optional(&r.day), optional(&r.order)];
        match seen.insert(key.clone(), r.row) {
            None => Ok(r),
            Some(first) => {
                seen.insert(key, first);
                let message = format!("it repeats row {first}: the same part, machine, mode, day and order");
                Err(self.fault(message, "take it out, or tell the two apart in the column `order`"))
            }
        }
    }
}
