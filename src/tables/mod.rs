//! Embedded figures, each with its source.
//!
//! Every topic is a YAML file beside its reader. A file is parsed when it is first asked for, once; look-ups go through
//! ordered maps and hand out what was parsed.

pub mod bars;
pub mod cautions;
pub mod cut_off;
pub mod hexalobe;
pub mod iso2768;
pub mod iso286;
pub mod materials;
pub mod roughness;
pub mod shop_times;
pub mod threads;
pub mod thresholds;
pub mod tool_life;

use crate::quantity::Length;
use crate::quantity::print::number;
use serde::Deserialize;
use serde::de::DeserializeOwned;

/// Every table by its name, as it was built in.
pub static TEXTS: &[(&str, &str)] = &[
    ("bars", include_str!("bars.yaml")),
    ("cautions", include_str!("cautions.yaml")),
    ("cut_off", include_str!("cut_off.yaml")),
    ("hexalobe", include_str!("hexalobe.yaml")),
    ("iso2768", include_str!("iso2768.yaml")),
    ("iso286", include_str!("iso286.yaml")),
    ("materials", include_str!("materials.yaml")),
    ("roughness", include_str!("roughness.yaml")),
    ("shop_times", include_str!("shop_times.yaml")),
    ("thresholds", include_str!("thresholds.yaml")),
    ("tool_life", include_str!("tool_life.yaml")),
    ("threads_bone", include_str!("threads/bone.yaml")),
    ("threads_metric", include_str!("threads/metric.yaml")),
    ("threads_other", include_str!("threads/power_and_pipe.yaml")),
    ("threads_unified", include_str!("threads/unified.yaml")),
];

/// How a figure came here.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
pub enum Access {
    /// Read in the source named.
    #[serde(rename = "read")]
    Read,
    /// From memory: the source named was not opened.
    #[serde(rename = "memory")]
    Memory,
    /// Read in part, the rest from memory.
    #[serde(rename = "read and memory")]
    ReadAndMemory,
    /// A habit of the trade that no source was found for.
    #[serde(rename = "common practice")]
    CommonPractice,
    /// Worked out from other figures of these tables.
    #[serde(rename = "computed")]
    Computed,
}

impl Access {
    /// The word that a report shows.
    pub fn word(self) -> &'static str {
        match self {
            Access::Read => "read",
            Access::Memory => "from memory",
            Access::ReadAndMemory => "read in part, the rest from memory",
            Access::CommonPractice => "common practice, no source",
            Access::Computed => "computed",
        }
    }
}

/// Why a table has no answer.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum TableError {
    #[error("{} mm lies outside {table}, which runs from {} to {} mm", number(.size.to_mm(), 4), number(.low.to_mm(), 3), number(.high.to_mm(), 3))]
    OutOfRange { table: &'static str, size: Length, low: Length, high: Length },
    #[error("{table} has no class '{class}'")]
    UnknownClass { table: &'static str, class: String },
    #[error("{table} gives no '{class}' at {} mm", number(.size.to_mm(), 4))]
    NotCovered { table: &'static str, class: String, size: Length },
}

/// Parses an embedded table. The text is part of the program and a test parses every one, so that a failure here is a
/// fault of the build.
fn read<T: DeserializeOwned>(name: &str, text: &str) -> T {
    serde_yaml::from_str(text).unwrap_or_else(|e| panic!("embedded table {name}: {e}"))
}

/// Rows under one source.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Sourced<R> {
    source: String,
    access: Access,
    rows: Vec<R>,
}

impl<R> Sourced<R> {
    /// `ISO 724 (read)`.
    fn cite(&self) -> String {
        cite(&self.source, self.access)
    }
}

/// A source and how it was reached, on one line.
fn cite(source: &str, access: Access) -> String {
    if source.contains("memory") || source == Access::CommonPractice.word() {
        source.to_owned()
    } else {
        format!("{source} ({})", access.word())
    }
}

/// A length as an ordered key, in nanometres: sizes that print alike are one key.
fn key(length: Length) -> i64 {
    // Sizes of parts are far below the 9e12 mm at which this would overflow, and the cast saturates.
    (length.to_mm() * 1e6).round() as i64
}

/// The first row whose upper border the size does not pass: over the border before, up to and including its own.
fn step<T>(rows: &[T], size: Length, up_to: impl Fn(&T) -> f64) -> Option<&T> {
    // A size that came from inches may miss its border by a rounding error.
    rows.iter().find(|r| size.to_mm() <= up_to(r) + 1e-9)
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::Value;

    /// Every list of figures must lie under a `source` and say how it was reached.
    fn walk(at: &str, value: &Value, sourced: bool, missing: &mut Vec<String>) {
        match value {
            Value::Object(map) => {
                let here = map.get("source").and_then(Value::as_str).is_some_and(|s| s.len() > 8);
                let sourced = sourced || here;
                for (name, inner) in map {
                    walk(&format!("{at}.{name}"), inner, sourced, missing);
                }
            }
            Value::Array(list) => {
                for (i, inner) in list.iter().enumerate() {
                    walk(&format!("{at}[{i}]"), inner, sourced, missing);
                }
            }
            Value::Number(_) if !sourced => missing.push(at.to_owned()),
            _ => {}
        }
    }

    #[test]
    fn every_figure_has_a_source() {
        let mut missing = Vec::new();
        // Each threshold carries its source in a field of its own, which its reader demands.
        for (name, text) in TEXTS.iter().filter(|t| t.0 != "thresholds") {
            walk(name, &read(name, text), false, &mut missing);
        }
        assert!(missing.is_empty(), "without a source: {missing:?}");
    }
}
