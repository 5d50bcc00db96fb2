//! The rules: one file each. A rule compares numbers of a plan with numbers of the machine and says what it found; it
//! prints nothing and decides nothing by a label.

mod prelude;

mod angle;
mod axial_push;
mod back_work;
mod bar_channel;
mod bar_length;
mod bar_phase;
mod bar_range;
mod bar_straightness;
mod boring_reach;
mod brake;
mod bushing_speed;
mod capability;
mod chip_control;
mod chip_thickness;
mod coil;
mod collets;
mod contouring;
mod coolant;
mod cut_off_face;
mod deep_hole;
mod drill_slope;
mod edges;
mod exit_burr;
mod filter;
mod finish;
mod free_end;
mod groove_depth;
mod hand_over;
mod hardening;
mod holder_size;
mod insert_width;
mod inspection;
mod lead_angle;
mod ligament;
mod live_speed;
mod live_torque;
mod nose_clearance;
mod off_axis;
mod orientation;
mod parting;
mod pull_back;
mod push_off;
mod roundness;
mod run_out_room;
mod runout;
mod slenderness;
mod spindle_speed;
mod spindle_torque;
mod stand_out;
mod stock_grade;
mod support;
mod tap_depth;
mod tap_drill;
mod thin_wall;
mod thread_blank;
mod thread_method;
mod tip_wall;
mod tool_life;
mod tool_places;
mod tool_storage;
mod turn_down;
mod unloading;
mod validated;

use super::finding::Finding;
use crate::planning::{Plan, Task};

/// A plan with the question that it answers.
#[derive(Clone, Copy, Debug)]
pub struct Case<'a> {
    pub task: &'a Task<'a>,
    pub plan: &'a Plan,
    /// Whether findings carry the terms of their formulas: reasons that are told in full want them, the thousands of plans
    /// that a ranking judges do not.
    pub with_terms: bool,
}

/// What a reader is told about a rule.
#[derive(Clone, Copy, Debug)]
pub struct Doc {
    /// The question that it answers, as a planner would ask it.
    pub question: &'static str,
    /// What is compared with what.
    pub what: &'static str,
    /// The formulas by which it reckons, `name = left side >= right side`: a comparison of what is offered with what is
    /// asked, in one-line algebra (`+ - x / ^`, `min max sqrt floor`, `sin cos tan atan` in degrees) over the symbols of its
    /// terms in the units that quantities are kept in. None where it judges by what is there or is not.
    pub formulas: &'static [&'static str],
    /// Why it matters at the machine.
    pub why: &'static str,
    /// Where the rule and its numbers come from.
    pub source: &'static str,
    /// A spec that trips it on the machine `example` or one derived from it.
    pub trips: &'static str,
    /// The same with the least change that does not.
    pub passes: &'static str,
}

/// One rule.
pub trait Rule: Sync {
    /// Its name, as findings and `explain` use it.
    fn name(&self) -> &'static str;
    /// What a reader is told about it.
    fn doc(&self) -> &'static Doc;
    /// Adds what it finds. It must compare numbers of the case only, and must not depend on the order of features beyond
    /// reporting in that order.
    fn check(&self, case: &Case, out: &mut Vec<Finding>);
}

/// Every rule, in the order in which a planner would ask.
pub static RULES: &[&dyn Rule] = &[
    &validated::Validated,
    &bar_range::BarRange,
    &bar_phase::BarPhase,
    &bar_channel::BarChannel,
    &bar_straightness::BarStraightness,
    &coil::Coil,
    &bar_length::BarLength,
    &stock_grade::StockGrade,
    &stand_out::StandOut,
    &slenderness::Slenderness,
    &free_end::FreeEnd,
    &turn_down::TurnDown,
    &capability::Capability,
    &hardening::Hardening,
    &inspection::Inspection,
    &roundness::Roundness,
    &runout::Runout,
    &finish::Finish,
    &chip_thickness::ChipThickness,
    &thin_wall::ThinWall,
    &tip_wall::TipWall,
    &ligament::Ligament,
    &spindle_speed::SpindleSpeed,
    &bushing_speed::BushingSpeed,
    &spindle_torque::SpindleTorque,
    &tool_places::ToolPlaces,
    &tool_storage::ToolStorage,
    &holder_size::HolderSize,
    &boring_reach::BoringReach,
    &groove_depth::GrooveDepth,
    &parting::Parting,
    &angle::Angle,
    &nose_clearance::NoseClearance,
    &off_axis::OffAxis,
    &orientation::Orientation,
    &brake::Brake,
    &contouring::Contouring,
    &live_speed::LiveSpeed,
    &live_torque::LiveTorque,
    &drill_slope::DrillSlope,
    &push_off::PushOff,
    &exit_burr::ExitBurr,
    &edges::Edge,
    &back_work::BackWork,
    &cut_off_face::CutOffFace,
    &hand_over::HandOver,
    &collets::Collets,
    &axial_push::AxialPush,
    &unloading::Unloading,
    &deep_hole::DeepHole,
    &filter::Filter,
    &thread_method::ThreadMethod,
    &thread_blank::ThreadBlank,
    &tap_drill::TapDrill,
    &tap_depth::TapDepth,
    &lead_angle::LeadAngle,
    &insert_width::InsertWidth,
    &run_out_room::RunOutRoom,
    &pull_back::PullBack,
    &coolant::Coolant,
    &chip_control::ChipControl,
    &tool_life::ToolLife,
];

/// The rule of a name.
pub fn find(name: &str) -> Option<&'static dyn Rule> {
    RULES.iter().copied().find(|r| r.name() == name)
}
