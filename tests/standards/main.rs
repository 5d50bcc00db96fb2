//! Checks against published figures: every one names its source. They are kept as data and run through the program's own
//! formulas and tables; where the program knowingly departs from a printed figure, the check says why and by how much.

#![allow(clippy::disallowed_methods, reason = "a check should not lean on the mathematics of what it checks")]
#![allow(clippy::unwrap_used, reason = "a check that cannot be computed fails")]

mod beam;
mod cutting;
mod docs;
mod finance;
mod finite;
mod geometry;
mod limits;
mod threads;
mod tool_life;

use serde::Deserialize;
use std::collections::BTreeMap;

/// Numbers by name.
pub(crate) type Numbers = BTreeMap<String, f64>;

/// A published figure with what it was worked out from.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Check {
    pub(crate) id: String,
    /// Which calculation.
    pub(crate) check: String,
    /// What of it, in words.
    #[serde(default)]
    pub(crate) of: String,
    #[serde(default)]
    pub(crate) inputs: Numbers,
    expected: Numbers,
    /// Half the last printed digit, or a share of the value.
    tolerance: f64,
    #[serde(default)]
    relative: bool,
    exception: Option<Exception>,
    source: String,
    access: String,
}

/// A figure that the program knowingly does not give.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Exception {
    /// What it gives.
    value: f64,
    reason: String,
}

impl Check {
    /// An input of the check.
    pub(crate) fn get(&self, name: &str) -> f64 {
        *self.inputs.get(name).unwrap_or_else(|| panic!("{}: no input {name}", self.id))
    }

    fn near(&self, got: f64, want: f64) -> bool {
        let width = if self.relative { self.tolerance * want.abs() } else { self.tolerance };
        // A value on the border of its rounding must not fail by a rounding error.
        got.is_finite() && (got - want).abs() <= width * (1.0 + 1e-9) + 1e-12
    }

    fn faults(&self, answer: &Numbers) -> Vec<String> {
        let mut faults = Vec::new();
        if self.source.len() < 5 || !["read", "memory", "read and memory", "computed"].contains(&self.access.as_str()) {
            faults.push(format!("{}: no source", self.id));
        }
        for (name, want) in &self.expected {
            let Some(&got) = answer.get(name) else {
                faults.push(format!("{}: {name} is not computed", self.id));
                continue;
            };
            match &self.exception {
                None if !self.near(got, *want) => {
                    faults.push(format!("{}: {name} is {got}, printed {want} ({})", self.id, self.source));
                }
                Some(e) if !self.near(got, e.value) || self.near(got, *want) || e.reason.is_empty() => {
                    faults.push(format!("{}: {name} is {got}, no longer the exception {}", self.id, e.value));
                }
                _ => {}
            }
        }
        faults
    }
}

/// Runs the checks of a file, of which there must be as many as stated: none may be lost.
pub(crate) fn run(text: &str, count: usize, compute: impl Fn(&Check) -> Numbers) {
    let checks: Vec<Check> = serde_yaml::from_str(text).unwrap();
    assert_eq!(checks.len(), count);
    let ids: std::collections::BTreeSet<&str> = checks.iter().map(|c| c.id.as_str()).collect();
    assert_eq!(ids.len(), count, "an id stands twice");
    let faults: Vec<String> = checks.iter().flat_map(|c| c.faults(&compute(c))).collect();
    assert!(faults.is_empty(), "{} of {count}:\n{}", faults.len(), faults.join("\n"));
}

/// Numbers by name.
pub(crate) fn numbers<const N: usize>(pairs: [(&str, f64); N]) -> Numbers {
    pairs.into_iter().map(|(name, value)| (name.to_owned(), value)).collect()
}
