//! Numbers that decide, each with its source; a shop may replace any of them.

use serde::Deserialize;
use std::collections::BTreeMap;
use std::sync::LazyLock;

/// One number that decides.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Entry {
    pub name: String,
    pub value: f64,
    /// The unit in which it is written, empty for a bare number.
    pub unit: String,
    pub what: String,
    pub source: String,
}

static TABLE: LazyLock<Vec<Entry>> = LazyLock::new(|| {
    serde_yaml::from_str(include_str!("thresholds.yaml")).unwrap_or_else(|e| unreachable!("thresholds.yaml: {e}"))
});

/// Every entry, in the order of the table.
pub fn all() -> &'static [Entry] {
    &TABLE
}

macro_rules! thresholds {
    ($($field:ident = $name:literal),* $(,)?) => {
        /// The numbers in force: the table's, or the shop's own.
        #[derive(Clone, Debug, PartialEq)]
        pub struct Thresholds { $(#[doc = concat!("The entry `", $name, "`, in the unit of the table.")] pub $field: f64,)* }

        impl Thresholds {
            /// The table with the shop's replacements, by name.
            pub fn with(replaced: &BTreeMap<String, f64>) -> Thresholds {
                let value = |name: &str| {
                    let table = TABLE.iter().find(|e| e.name == name).map(|e| e.value);
                    replaced.get(name).copied().or(table).unwrap_or_else(|| unreachable!("no threshold {name}"))
                };
                Thresholds { $($field: value($name),)* }
            }

            /// The names that a shop may replace.
            pub const NAMES: &'static [&'static str] = &[$($name),*];
        }
    };
}

thresholds! {
    cp_fits = "cp-fits",
    cp_warns = "cp-warns",
    ground_grade = "ground-grade",
    hardened_grade = "hardened-grade",
    centring = "centring",
    taper_left = "taper-left",
    ream_grade = "ream-grade",
    drill_grade = "drill-grade",
    deep_drill_grade = "deep-drill-grade",
    drill_wander_mm_per_m = "drill-wander",
    trued_wander = "trued-wander",
    axis_taper_mm_per_m = "axis-taper",
    thermal_drift_um = "thermal-drift",
    in_step_spread_um = "in-step-spread",
    bar_roundness_share = "bar-roundness-share",
    bar_step_share = "bar-step-share",
    slenderness_warns = "slenderness-warns",
    slenderness_limit = "slenderness-limit",
    grip_share = "grip-share",
    grip_least_mm = "grip-least",
    grip_share_idle = "grip-share-idle",
    grip_least_idle_mm = "grip-least-idle",
    grip_small = "grip-small",
    grip_bearing = "grip-bearing",
    grip_wall_share = "grip-wall-share",
    clamp_friction = "clamp-friction",
    push_safety = "push-safety",
    clean_up_least_mm = "clean-up-least",
    clean_up_share = "clean-up-share",
    face_allowance_mm = "face-allowance",
    first_trim_mm = "first-trim",
    nose_gap_mm = "nose-gap",
    nose_clearance_mm = "nose-clearance",
    worn_edge = "worn-edge",
    finish_depth_mm = "finish-depth",
    efficiency = "efficiency",
    push_off_limit_mm = "push-off-limit",
    holder_worth_s = "holder-worth",
    live_speed_warns = "live-speed-warns",
    shallow_thread = "shallow-thread",
    deep_thread_mm = "deep-thread",
    deep_thread_tough_mm = "deep-thread-tough",
    whirl_chip_load_mm = "whirl-chip-load",
    thread_run_out = "thread-run-out",
    re_grip_witness_um = "re-grip-witness",
    holder_radius_share = "holder-radius-share",
    holder_projection_mm = "holder-projection",
    drill_slope_deg = "drill-slope",
    exit_burr_share = "exit-burr-share",
    bushing_surface_speed = "bushing-surface-speed",
    grip_wall_sleeve = "grip-wall-sleeve",
    wall_turned_share = "wall-turned-share",
    tip_wall_mm = "tip-wall",
    ligament_least_mm = "ligament-least",
    ligament_share = "ligament-share",
    bar_gap_full_mm = "bar-gap-full",
    bar_gap_most_mm = "bar-gap-most",
    bar_gap_share = "bar-gap-share",
    bar_gap_speed_rpm = "bar-gap-speed",
    bar_gap_limit_mm = "bar-gap-limit",
    bar_speed_8_rpm = "bar-speed-8",
    bar_speed_20_rpm = "bar-speed-20",
    bar_speed_32_rpm = "bar-speed-32",
    bar_short_factor = "bar-short",
    straightness_guided = "straightness-guided",
    straightness_collet = "straightness-collet",
    bar_loss_percent = "bar-loss",
    turn_down = "turn-down",
    free_end = "free-end",
    stiff_end = "stiff-end",
    whip_from = "whip-from",
    whip_share = "whip-share",
    chip_depth = "chip-depth",
    drill_feed = "drill-feed",
    gauge_tolerance_um = "gauge-tolerance",
    gauge_share = "gauge-share",
    gauge_finest_um = "gauge-finest",
    finish_cut_um = "finish-cut",
    finish_milled_um = "finish-milled",
    finish_in_step_um = "finish-in-step",
    finish_deep_um = "finish-deep",
    finish_drilled_um = "finish-drilled",
    finish_limit = "finish-limit",
    boring_steel = "boring-steel",
    boring_carbide = "boring-carbide",
    threading_bar = "threading-bar",
    inner_thread_feed = "inner-thread-feed",
    boring_limit = "boring-limit",
    boring_least_mm = "boring-least",
    boring_air_mm = "boring-air",
    groove_depth = "groove-depth",
    groove_depth_steel = "groove-depth-steel",
    face_groove_least_mm = "face-groove-least",
    brake_safety = "brake-safety",
    lighter_cut = "lighter-cut",
    milled_start_deg = "milled-start",
    ring_wall_mm = "ring-wall",
    holder_length_mm = "holder-length",
    holder_mass_kg = "holder-mass",
    cut_off_pip_mm = "cut-off-pip",
    cut_off_hollow = "cut-off-hollow",
    drop_length_mm = "drop-length",
    drop_mass_kg = "drop-mass",
    drop_finish_um = "drop-finish",
    filter_um = "filter",
    filter_small_um = "filter-small",
    bottoming_tap = "bottoming-tap",
    land_usual = "land-usual",
    chip_pressure_bar = "chip-pressure",
    unattended_min = "unattended",
    place_loss_percent = "place-loss",
    contingency_percent = "contingency",
    tool_cost_per_hour = "tool-cost",
    special_collet = "special-collet",
    collet_price = "collet-price",
    bushing_price = "bushing-price",
    collet_reach_mm = "collet-reach",
    coil_length_m = "coil-length",
    bar_roundness = "bar-roundness",
    channel_air_mm = "channel-air",
    liner_gap_mm = "liner-gap",
    grip_easy = "grip-easy",
    grip_limit = "grip-limit",
    grip_overhang = "grip-overhang",
    grip_overhang_limit = "grip-overhang-limit",
    support_warns = "support-warns",
    support_limit = "support-limit",
    parting_reach = "parting-reach",
    tap_lead = "tap-lead",
    tap_chips_mm = "tap-chips",
    pressure_limit = "pressure-limit",
    pressure_share = "pressure-share",
    pressure_shallow = "pressure-shallow",
    pressure_deep = "pressure-deep",
    chip_clearing_min = "chip-clearing",
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_entry_is_used_and_has_a_source() {
        let names: Vec<_> = all().iter().map(|e| e.name.as_str()).collect();
        assert_eq!(names, Thresholds::NAMES);
        assert!(all().iter().all(|e| !e.source.is_empty() && !e.what.is_empty() && e.value.is_finite()));
    }

    #[test]
    fn the_shop_replaces_a_number() {
        let own = Thresholds::with(&BTreeMap::from([("cp-fits".to_owned(), 1.67)]));
        assert_eq!((own.cp_fits, own.cp_warns), (1.67, 1.0));
    }
}
