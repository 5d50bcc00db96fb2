//! The columns of a sheet of records.

use super::RecordsError;
use crate::lang::inquiries::Fault;
use crate::lang::shop::{in_words, nearest, setup_keys};
use crate::quantity::measure::Dimension;
use crate::quantity::units::meaning;

/// A first line that serves most shops.
pub const HEAD: &str = "part,machine,mode,day,quantity,estimated cycle [s],actual cycle [s],stoppages [min],estimated setup [min],actual setup [min]";

/// What a time is of.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum Of {
    Cycle,
    Stoppages,
    Setup,
    /// The key of a standard time.
    Element(String),
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum When {
    Estimated,
    Actual,
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum Column {
    Part,
    Member,
    Family,
    Machine,
    Mode,
    Quantity,
    Day,
    Order,
    /// With the unit of its bare numbers, where the head states it.
    Time(Of, When, Option<String>),
}

/// The name of a column of times.
pub(super) fn name(of: &Of, when: When) -> String {
    let when = match when {
        When::Estimated => "estimated",
        When::Actual => "actual",
    };
    match of {
        Of::Cycle => format!("{when} cycle"),
        Of::Setup => format!("{when} setup"),
        Of::Stoppages if when == "actual" => "stoppages".to_owned(),
        Of::Stoppages => format!("{when} stoppages"),
        Of::Element(key) => format!("{when} setup: {}", in_words(key)),
    }
}

/// Which column each cell of a line belongs to; those of no known name are told.
pub(super) fn read(
    row: usize,
    head: &[String],
    passed_over: &mut Vec<Fault>,
) -> Result<Vec<Option<Column>>, RecordsError> {
    let mut columns: Vec<Option<Column>> = Vec::new();
    for cell in head {
        let text = cell.trim().trim_start_matches('\u{feff}').trim();
        if text.is_empty() {
            columns.push(None);
            continue;
        }
        let (words, unit) = match text.strip_suffix(']').and_then(|t| t.split_once('[')) {
            Some((words, unit)) => (words.trim().to_lowercase(), Some(unit.trim().to_owned())),
            None => (text.to_lowercase(), None),
        };
        if let Some(unit) = unit.as_deref().filter(|u| meaning(u).is_none_or(|m| m.dimension != Dimension::TIME)) {
            return Err(RecordsError::Unit(unit.to_owned()));
        }
        let found = column(&words, unit);
        if found.is_none() {
            let names: Vec<String> = known().collect();
            let names: Vec<&str> = names.iter().map(String::as_str).collect();
            let message = format!("the column `{text}` is not known and is passed over");
            passed_over.push(Fault { row, message, help: nearest(&words, &names, "column") });
        }
        let same = |c: &Column| match (c, &found) {
            (Column::Time(of, when, _), Some(Column::Time(o, w, _))) => of == o && when == w,
            (c, Some(f)) => c == f,
            (_, None) => false,
        };
        if columns.iter().flatten().any(same) {
            return Err(RecordsError::Twice(words));
        }
        columns.push(found);
    }
    for (wanted, name) in [(Column::Part, "part"), (Column::Machine, "machine")] {
        if !columns.contains(&Some(wanted)) {
            return Err(RecordsError::Missing(name));
        }
    }
    if !columns.iter().flatten().any(|c| matches!(c, Column::Time(_, When::Actual, _))) {
        return Err(RecordsError::Missing("actual cycle` or `actual setup"));
    }
    Ok(columns)
}

fn column(words: &str, unit: Option<String>) -> Option<Column> {
    Some(match (words, &unit) {
        ("part", None) => Column::Part,
        ("member", None) => Column::Member,
        ("family", None) => Column::Family,
        ("machine", None) => Column::Machine,
        ("mode", None) => Column::Mode,
        ("quantity", None) => Column::Quantity,
        ("day", None) => Column::Day,
        ("order", None) => Column::Order,
        _ => {
            let (of, when) = time(words)?;
            Column::Time(of, when, unit)
        }
    })
}

fn time(words: &str) -> Option<(Of, When)> {
    if words == "stoppages" {
        return Some((Of::Stoppages, When::Actual));
    }
    let (when, rest) = words.split_once(' ')?;
    let when = match when {
        "estimated" => When::Estimated,
        "actual" => When::Actual,
        _ => return None,
    };
    let of = match rest.trim() {
        "cycle" => Of::Cycle,
        "setup" => Of::Setup,
        "stoppages" => Of::Stoppages,
        other => {
            let key = other.strip_prefix("setup:")?.trim().replace(' ', "-");
            Of::Element(setup_keys().find(|k| *k == key)?.to_owned())
        }
    };
    Some((of, when))
}

/// The names of all columns.
fn known() -> impl Iterator<Item = String> {
    let plain = ["part", "machine", "mode", "day", "order", "quantity", "member", "family"].map(str::to_owned);
    let times = [Of::Cycle, Of::Setup, Of::Stoppages].into_iter();
    let both = |of: Of| [name(&of, When::Estimated), name(&of, When::Actual)];
    plain.into_iter().chain(times.flat_map(both)).chain(["actual setup: guide bushing".to_owned()])
}
