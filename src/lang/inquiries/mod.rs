//! A sheet of inquiries, as comma-separated values or a workbook: its lines into the model, each fault with its row. A broken
//! line takes nothing from the others.

pub(in crate::lang) mod cells;

use crate::model::ask::Ask;
use crate::quantity::units::edit_distance;
use jiff::civil::Date;
use std::fmt;

pub use cells::Kind;

/// The columns, in the order in which an example shows them; only the first must be there.
const COLUMNS: [&str; 4] = ["part", "quantity", "due", "reference"];
const MOST_PIECES: u64 = 1_000_000_000;

/// A line that cannot be asked.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fault {
    /// The row of the sheet, counted from 1.
    pub row: usize,
    pub message: String,
    pub help: String,
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "row {}: {}; {}", self.row, self.message, self.help)
    }
}

/// Why nothing of a sheet can be read.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum SheetError {
    #[error("it is no workbook: {0}; save it as .xlsx, or as .csv")]
    NoWorkbook(String),
    #[error("it has no line; the first names the columns: `part,quantity,due,reference`")]
    Empty,
    #[error("`{0}` is no column; {1}")]
    UnknownColumn(String, String),
    #[error("the column `{0}` stands twice; keep one of them")]
    Twice(String),
    #[error("no column is called `part`: it names the file of each part's spec; the first line names the columns")]
    NoPart,
    #[error("row {row} cannot be read: {why}")]
    Broken { row: usize, why: String },
}

/// The lines of a sheet in their order; empty ones are passed over.
///
/// # Errors
/// [`SheetError`] where the sheet as a whole is of no use.
pub fn read(kind: Kind, bytes: &[u8]) -> Result<Vec<Result<Ask, Fault>>, SheetError> {
    let mut rows = cells::rows(kind, bytes)?.into_iter();
    let (_, head) = rows.next().ok_or(SheetError::Empty)?;
    let columns = columns(&head)?;
    let filled = rows.filter(|(_, cells)| cells.iter().any(|c| !c.trim().is_empty()));
    Ok(filled.map(|(row, cells)| line(row, &cells, &columns)).collect())
}

/// Which column each cell of a line belongs to.
fn columns(head: &[String]) -> Result<Vec<Option<&'static str>>, SheetError> {
    let mut columns: Vec<Option<&'static str>> = Vec::new();
    for cell in head {
        let name = cell.trim().trim_start_matches('\u{feff}').to_lowercase();
        if name.is_empty() {
            columns.push(None);
            continue;
        }
        let Some(known) = COLUMNS.into_iter().find(|c| *c == name) else {
            let near =
                COLUMNS.into_iter().min_by_key(|c| edit_distance(c, &name)).filter(|c| edit_distance(c, &name) < 3);
            let help = near
                .map_or_else(|| format!("known are {}", COLUMNS.join(", ")), |near| format!("did you mean `{near}`?"));
            return Err(SheetError::UnknownColumn(cell.trim().to_owned(), help));
        };
        if columns.contains(&Some(known)) {
            return Err(SheetError::Twice(known.to_owned()));
        }
        columns.push(Some(known));
    }
    if columns.contains(&Some("part")) { Ok(columns) } else { Err(SheetError::NoPart) }
}

fn line(row: usize, cells: &[String], columns: &[Option<&'static str>]) -> Result<Ask, Fault> {
    let fault = |message: String, help: &str| Fault { row, message, help: help.to_owned() };
    if let Some((_, extra)) = cells.iter().enumerate().skip(columns.len()).find(|(_, c)| !c.trim().is_empty()) {
        let message = format!("`{}` stands beyond the last column", extra.trim());
        return Err(fault(message, "quote a value that holds the separator"));
    }
    let cell = |name: &str| {
        let at = columns.iter().position(|c| *c == Some(name))?;
        cells.get(at).map(|c| c.trim()).filter(|c| !c.is_empty())
    };
    let part = cell("part").ok_or_else(|| fault("no part is named".to_owned(), "write the file of its spec"))?;
    let quantity = match cell("quantity") {
        None => None,
        Some(text) => Some(pieces(text).ok_or_else(|| {
            fault(
                format!("`{text}` is no number of pieces"),
                "write a whole number from 1 to 1_000_000_000 without a point or a comma",
            )
        })?),
    };
    let due = match cell("due") {
        None => None,
        Some(text) => {
            let day: Date = text
                .parse()
                .map_err(|_| fault(format!("`{text}` is no day of the calendar"), "write it like 2026-12-24"))?;
            Some(day.to_string())
        }
    };
    Ok(Ask { row, part: part.to_owned(), quantity, due, reference: cell("reference").map(str::to_owned) })
}

pub(super) fn pieces(text: &str) -> Option<u64> {
    let digits = text.replace('_', "");
    let count: u64 = digits.bytes().all(|b| b.is_ascii_digit()).then(|| digits.parse().ok()).flatten()?;
    (1..=MOST_PIECES).contains(&count).then_some(count)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn csv(text: &str) -> Result<Vec<Result<Ask, Fault>>, SheetError> {
        read(Kind::Csv, text.as_bytes())
    }

    fn told(text: &str) -> String {
        match csv(text) {
            Err(e) => e.to_string(),
            Ok(lines) => {
                lines.into_iter().filter_map(Result::err).map(|f| f.to_string()).collect::<Vec<_>>().join("\n")
            }
        }
    }

    #[test]
    fn commas_semicolons_tabs_and_a_byte_order_mark_are_read_alike() {
        let comma = csv("part,quantity,due,reference\na.turn,1_000,2026-12-24,\"x, y\"\n\nb.turn,,,\n").unwrap();
        assert_eq!(comma.len(), 2);
        let first = comma[0].clone().unwrap();
        assert_eq!((first.row, first.quantity, first.reference.as_deref()), (2, Some(1000), Some("x, y")));
        assert_eq!(comma[1].clone().unwrap().row, 4);
        for text in [
            "part;quantity;due;reference\r\na.turn;1_000;2026-12-24;x, y\r\n\r\nb.turn;;;\r\n",
            "\u{feff}Part\tQuantity\tDue\tReference\na.turn\t1_000\t2026-12-24\tx, y\n\nb.turn\n",
        ] {
            assert_eq!(csv(text).unwrap(), comma, "{text}");
        }
    }

    #[test]
    fn a_broken_line_is_told_with_its_row_and_the_rest_is_read() {
        let lines =
            csv("part,quantity,due\na.turn,12.5,\nb.turn,7,\n,3,\nc.turn,0,\nd.turn,5,2026-02-30\ne.turn,1,,x\n")
                .unwrap();
        assert_eq!(lines.iter().filter(|l| l.is_ok()).count(), 1);
        let told: Vec<String> = lines.into_iter().filter_map(Result::err).map(|f| f.to_string()).collect();
        assert_eq!(
            told,
            [
                "row 2: `12.5` is no number of pieces; write a whole number from 1 to 1_000_000_000 without a point or a comma",
                "row 4: no part is named; write the file of its spec",
                "row 5: `0` is no number of pieces; write a whole number from 1 to 1_000_000_000 without a point or a comma",
                "row 6: `2026-02-30` is no day of the calendar; write it like 2026-12-24",
                "row 7: `x` stands beyond the last column; quote a value that holds the separator",
            ]
        );
    }

    #[test]
    fn a_sheet_of_no_use_says_why() {
        assert!(told("").contains("has no line"));
        assert_eq!(told("quantity,due\n1,2\n"), SheetError::NoPart.to_string());
        assert!(told("part,quantty\n").contains("did you mean `quantity`?"));
        assert!(told("part,price\n").contains("known are part, quantity, due, reference"));
        assert!(told("part,part\n").contains("stands twice"));
        assert!(read(Kind::Csv, b"part\n\n\xff\n").unwrap_err().to_string().starts_with("row 3"));
        let no_workbook = read(Kind::Workbook, b"part,quantity\n").unwrap_err();
        assert!(no_workbook.to_string().starts_with("it is no workbook"), "{no_workbook}");
    }
}
