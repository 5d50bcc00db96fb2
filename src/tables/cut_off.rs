//! Widths of cut-off blades.

use super::{Sourced, read, step};
use crate::quantity::Length;
use crate::tables::materials::Band;
use serde::Deserialize;
use std::sync::LazyLock;

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Row {
    up_to: f64,
    low: f64,
    typical: f64,
    high: f64,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    widths: Sourced<Row>,
}

static TABLE: LazyLock<File> = LazyLock::new(|| read("cut_off", include_str!("cut_off.yaml")));

/// The band of usual blade widths for a bar; above the largest size of the table that of its last row.
pub fn widths(bar: Length) -> Band<Length> {
    let rows = &TABLE.widths.rows;
    match step(rows, bar, |r| r.up_to).or(rows.last()) {
        Some(r) => Band { low: Length::mm(r.low), typical: Length::mm(r.typical), high: Length::mm(r.high) },
        None => Band { low: Length::ZERO, typical: Length::ZERO, high: Length::ZERO },
    }
}

/// The usual blade width for a bar.
pub fn width(bar: Length) -> Length {
    widths(bar).typical
}

/// Where the widths come from.
pub fn source() -> String {
    TABLE.widths.cite()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::tables::thresholds::Thresholds;
    use std::collections::BTreeMap;

    #[test]
    fn a_usual_blade_parts_its_own_bar() {
        assert_eq!(width(Length::mm(12.0)), Length::mm(2.0));
        assert_eq!(width(Length::mm(80.0)), Length::mm(3.0));
        let reach = Thresholds::with(&BTreeMap::new()).parting_reach;
        for d in 1..=42 {
            let bar = Length::mm(f64::from(d));
            assert!(width(bar) * reach >= bar / 2.0, "{d}");
        }
    }
}
