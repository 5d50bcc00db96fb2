//! Times of setting up and of the cycle: starting values that a shop's own records replace.

use super::{Access, cite, read};
use crate::quantity::Time;
use crate::tables::materials::Band;
use serde::Deserialize;
use std::collections::BTreeMap;
use std::sync::LazyLock;

#[derive(Clone, Copy, Deserialize)]
enum Unit {
    #[serde(rename = "s")]
    Second,
    #[serde(rename = "min")]
    Minute,
    #[serde(rename = "week")]
    Week,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Row {
    key: String,
    unit: Unit,
    band: [f64; 3],
    source: Option<String>,
    access: Option<Access>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Times {
    source: String,
    access: Access,
    rows: Vec<Row>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    times: Times,
}

/// A standard time with its source.
#[derive(Clone, Debug, PartialEq)]
pub struct StandardTime {
    pub band: Band<Time>,
    pub source: String,
}

static TABLE: LazyLock<BTreeMap<String, StandardTime>> = LazyLock::new(|| {
    let times = read::<File>("shop_times", include_str!("shop_times.yaml")).times;
    let common = cite(&times.source, times.access);
    let row = |r: Row| {
        let time = |v: f64| match r.unit {
            Unit::Second => Time::s(v),
            Unit::Minute => Time::minutes(v),
            Unit::Week => Time::hours(v * 168.0),
        };
        let [low, typical, high] = r.band.map(time);
        let source = r.source.map_or_else(|| common.clone(), |s| cite(&s, r.access.unwrap_or(times.access)));
        (r.key, StandardTime { band: Band { low, typical, high }, source })
    };
    times.rows.into_iter().map(row).collect()
});

/// The band of a standard time by its key: `bar-change`, `turning-tool`, `pick-off`.
pub fn band(key: &str) -> Option<Band<Time>> {
    get(key).map(|t| t.band)
}

/// A standard time with its source.
pub fn get(key: &str) -> Option<&'static StandardTime> {
    TABLE.get(key)
}

/// The keys of the table.
pub fn keys() -> impl Iterator<Item = &'static str> {
    TABLE.keys().map(String::as_str)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn times_are_ordered_and_sourced() {
        for key in keys() {
            let t = get(key).unwrap();
            let Band { low, typical, high } = t.band;
            assert!(Time::ZERO < low && low <= typical && typical <= high, "{key}");
            assert!(!t.source.is_empty());
        }
        assert_eq!(band("bar-change").unwrap().typical, Time::s(40.0));
        assert_eq!(band("whirling-head").unwrap().high, Time::minutes(60.0));
        assert!(get("bar-liner").unwrap().source.contains("(read)"));
    }

    #[test]
    fn the_planner_finds_its_keys() {
        for key in [
            "bar-change",
            "index-gang",
            "index-turret",
            "turret-change",
            "pick-off",
            "pick-off-small",
            "live-start-stop",
            "orient",
            "approach",
            "feed-out",
            "re-grip",
            "part-unload-gripper",
            "part-unload-chute",
            "mode-change",
            "guide-bushing",
            "collet-main",
            "collet-sub",
            "bar-channel",
            "turning-tool",
            "drill-or-boring-tool",
            "live-tool",
            "angle-head-align",
            "whirling-head",
            "high-pressure-line",
            "oscillating-drill",
            "program-load",
            "prove-out-spindle",
            "first-article-per-dimension",
            "first-article-report",
            "offset-tuning",
            "first-bar",
            "whirling-inserts",
            "special-collet",
            "sub-align",
            "broach-orient",
            "bar-liner",
            "warm-up",
            "preset-tool",
            "program-new",
            "program-sculpted",
            "quick-change-tool",
            "oscillating-drill",
            "polygon-head",
            "clean-out",
            "tear-down",
        ] {
            assert!(band(key).is_some(), "{key}");
        }
    }
}
