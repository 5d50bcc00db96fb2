//! Answers as a workbook of Office Open XML: one sheet a table, cells with types, so that a sum of a column is a sum.

mod buy;
mod mix;
mod plan;
mod quote;
mod ranking;

pub use buy::buy;
pub use mix::mix;
pub use plan::plan;
pub use quote::quote;
pub use ranking::ranking;

use rust_xlsxwriter::{DocProperties, ExcelDateTime, Format, FormatAlign, Workbook, Worksheet, XlsxError};

/// A value with its type.
#[derive(Clone, Debug, PartialEq)]
enum Cell {
    Text(String),
    Count(u64),
    /// With so many decimals.
    Number(f64, usize),
    Nothing,
}

impl Cell {
    fn text(text: impl Into<String>) -> Cell {
        Cell::Text(text.into())
    }

    fn maybe(text: Option<&String>) -> Cell {
        text.map_or(Cell::Nothing, Cell::text)
    }

    fn number(value: Option<f64>, places: usize) -> Cell {
        value.map_or(Cell::Nothing, |v| Cell::Number(v, places))
    }
}

/// A table: titles with the widths of their columns in letters, and rows.
struct Sheet {
    name: &'static str,
    columns: Vec<(String, u16)>,
    rows: Vec<Vec<Cell>>,
}

impl Sheet {
    fn new(name: &'static str, columns: &[(&str, u16)]) -> Sheet {
        Sheet {
            name,
            columns: columns.iter().map(|(title, width)| ((*title).to_owned(), *width)).collect(),
            rows: Vec::new(),
        }
    }

    fn write(&self, to: &mut Worksheet, formats: &Formats) -> Result<(), XlsxError> {
        to.set_name(self.name)?;
        for (column, (title, width)) in (0u16..).zip(&self.columns) {
            to.set_column_width(column, *width)?;
            to.write_string_with_format(0, column, title, &formats.head)?;
        }
        for (row, cells) in (1u32..).zip(&self.rows) {
            for (column, cell) in (0u16..).zip(cells) {
                match cell {
                    Cell::Text(text) => to.write_string_with_format(row, column, text, &formats.text)?,
                    Cell::Count(count) => {
                        to.write_number_with_format(row, column, *count as f64, &formats.numbers[0])?
                    }
                    Cell::Number(value, places) => {
                        let format = formats.numbers.get(*places).unwrap_or(&formats.text);
                        to.write_number_with_format(row, column, *value, format)?
                    }
                    Cell::Nothing => continue,
                };
            }
        }
        to.set_freeze_panes(1, 0)?;
        if let (Some(last), false) = (self.columns.len().checked_sub(1), self.rows.is_empty()) {
            to.autofilter(0, 0, self.rows.len() as u32, last as u16)?;
        }
        to.set_landscape().set_print_fit_to_pages(1, 0).set_repeat_rows(0, 0)?;
        Ok(())
    }
}

/// What is taken for granted, one line each.
fn told(assumptions: &[String]) -> Sheet {
    let mut sheet = Sheet::new("taken for granted", &[("what", 110)]);
    sheet.rows.extend(assumptions.iter().map(|words| vec![Cell::text(words)]));
    sheet
}

struct Formats {
    head: Format,
    text: Format,
    /// By decimals.
    numbers: Vec<Format>,
}

/// The bytes of a workbook; the same sheets give the same bytes.
fn written(sheets: &[Sheet]) -> Result<Vec<u8>, XlsxError> {
    let formats = Formats {
        head: Format::new().set_bold().set_text_wrap().set_align(FormatAlign::Top),
        text: Format::new().set_align(FormatAlign::Top).set_text_wrap(),
        numbers: (0..5)
            .map(|places| Format::new().set_num_format(pattern(places)).set_align(FormatAlign::Top))
            .collect(),
    };
    let mut book = Workbook::new();
    // The day of making would differ from run to run.
    book.set_properties(&DocProperties::new().set_creation_datetime(&ExcelDateTime::from_ymd(2000, 1, 1)?));
    for sheet in sheets {
        sheet.write(book.add_worksheet(), &formats)?;
    }
    book.save_to_buffer()
}

/// The number format of so many decimals.
fn pattern(places: usize) -> String {
    match places {
        0 => "#,##0".to_owned(),
        n => format!("#,##0.{}", "0".repeat(n)),
    }
}
