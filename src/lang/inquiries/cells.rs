//! The cells of a sheet as text, each row with its number.

use super::SheetError;
use calamine::{Data, Reader, Xlsx, open_workbook_from_rs};
use std::io::Cursor;

/// How a sheet is kept.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// Comma-separated values after RFC 4180, or with semicolons or tabs.
    Csv,
    /// A workbook of Office Open XML; its first sheet is read.
    Workbook,
}

pub(in crate::lang) type Row = (usize, Vec<String>);

pub(in crate::lang) fn rows(kind: Kind, bytes: &[u8]) -> Result<Vec<Row>, SheetError> {
    match kind {
        Kind::Csv => csv(bytes),
        Kind::Workbook => workbook(bytes),
    }
}

fn csv(bytes: &[u8]) -> Result<Vec<Row>, SheetError> {
    let head = bytes.split(|b| *b == b'\n').next().unwrap_or_default();
    let count = |separator: u8| head.iter().filter(|b| **b == separator).count();
    let separator = [b',', b';', b'\t'].into_iter().rev().max_by_key(|s| count(*s)).unwrap_or(b',');
    let mut reader =
        csv::ReaderBuilder::new().has_headers(false).flexible(true).delimiter(separator).from_reader(bytes);
    let mut rows = Vec::new();
    let (mut row, mut at) = (1, 0);
    for record in reader.records() {
        let position = match &record {
            Ok(record) => record.position(),
            Err(e) => e.position(),
        };
        // The reader counts a record from the empty lines before it.
        let start = position.map_or(at, |p| p.byte() as usize);
        let empty = bytes.get(start..).into_iter().flatten().take_while(|b| matches!(b, b'\r' | b'\n')).count();
        row += bytes.get(at..start + empty).into_iter().flatten().filter(|b| **b == b'\n').count();
        at = start + empty;
        let why = || SheetError::Broken { row, why: "it is no UTF-8 text; save the sheet as UTF-8".to_owned() };
        rows.push((row, record.map_err(|_| why())?.iter().map(str::to_owned).collect()));
    }
    Ok(rows)
}

fn workbook(bytes: &[u8]) -> Result<Vec<Row>, SheetError> {
    let broken = |e: calamine::XlsxError| SheetError::NoWorkbook(e.to_string());
    let mut book: Xlsx<_> = open_workbook_from_rs(Cursor::new(bytes)).map_err(broken)?;
    let range = book.worksheet_range_at(0).ok_or(SheetError::Empty)?.map_err(broken)?;
    let first = range.start().map_or(0, |(row, _)| row as usize);
    Ok(range.rows().enumerate().map(|(i, cells)| (first + i + 1, cells.iter().map(text).collect())).collect())
}

/// A cell as a person would type it: whole numbers without a point, days as `2026-12-24`.
fn text(cell: &Data) -> String {
    match cell {
        Data::DateTime(day) => {
            let (year, month, day, ..) = day.to_ymd_hms_milli();
            format!("{year:04}-{month:02}-{day:02}")
        }
        Data::DateTimeIso(text) => text.split('T').next().unwrap_or_default().to_owned(),
        Data::Empty => String::new(),
        other => other.to_string(),
    }
}
