//! One line of a sheet of inquiries.

/// What a customer asks for, as a line of a sheet says it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Ask {
    /// The row of the sheet, counted from 1 with the head line, as a spreadsheet counts.
    pub row: usize,
    /// The file of the part's spec, as written.
    pub part: String,
    /// Pieces, at least one; the part's own order where nothing is said.
    pub quantity: Option<u64>,
    /// The day that it is wanted, as `2026-12-24`.
    pub due: Option<String>,
    /// What the customer calls the inquiry.
    pub reference: Option<String>,
}
