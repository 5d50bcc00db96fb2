//! One result, many printers.

/// The number of the JSON layout. Fields may be added under the same number; removing or renaming one raises it.
pub const SCHEMA: u32 = 1;

/// How text is printed: decided once by the command line.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Style {
    /// Columns of the terminal, or 100 where there is none.
    pub width: u16,
    pub color: bool,
}
