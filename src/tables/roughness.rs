//! Roughness grade numbers.

use super::{Sourced, read};
use crate::quantity::Length;
use serde::Deserialize;
use std::sync::LazyLock;

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    grades: Sourced<(u32, f64)>,
}

static TABLE: LazyLock<File> = LazyLock::new(|| read("roughness", include_str!("roughness.yaml")));

/// The Ra of a grade number: 7 for `N7`, 1.6 um.
pub fn ra(grade: u32) -> Option<Length> {
    TABLE.grades.rows.iter().find(|(g, _)| *g == grade).map(|(_, um)| Length::um(*um))
}

/// The coarsest grade number that does not pass an Ra.
pub fn grade(ra: Length) -> Option<u32> {
    TABLE.grades.rows.iter().rev().find(|(_, um)| *um <= ra.to_um() * (1.0 + 1e-9)).map(|(g, _)| *g)
}

/// Where the grades come from.
pub fn source() -> String {
    TABLE.grades.cite()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn grades_and_their_ra() {
        assert_eq!(ra(7), Some(Length::um(1.6)));
        assert_eq!(grade(Length::um(1.6)), Some(7));
        assert_eq!(grade(Length::um(2.0)), Some(7));
        assert_eq!(grade(Length::um(0.01)), None);
    }
}
