//! The rules: one file each. A rule compares numbers of a plan with numbers of the machine and says what it found; it
//! prints nothing and decides nothing by a label.

mod prelude;

mod angle;
mod axial_push;
mod back_work;
mod bar_channel;
mod bar_range;
mod bushing_speed;
mod capability;
mod contouring;
mod coolant;
mod deep_hole;
mod hand_over;
mod holder_size;
mod insert_width;
mod lead_angle;
mod live_speed;
mod nose_clearance;
mod off_axis;
mod orientation;
mod roundness;
mod run_out_room;
mod runout;
mod slenderness;
mod spindle_speed;
mod spindle_torque;
mod stand_out;
mod stock_grade;
mod thread_method;
mod tool_places;
mod tool_storage;

use super::finding::Finding;
use crate::planning::{Plan, Task};

/// A plan with the question that it answers.
#[derive(Clone, Copy, Debug)]
pub struct Case<'a> {
    pub task: &'a Task<'a>,
    pub plan: &'a Plan,
}

/// What a reader is told about a rule.
#[derive(Clone, Copy, Debug)]
pub struct Doc {
    /// The question that it answers, as a planner would ask it.
    pub question: &'static str,
    /// What is compared with what.
    pub what: &'static str,
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
    &bar_range::BarRange,
    &bar_channel::BarChannel,
    &stock_grade::StockGrade,
    &stand_out::StandOut,
    &slenderness::Slenderness,
    &capability::Capability,
    &roundness::Roundness,
    &runout::Runout,
    &spindle_speed::SpindleSpeed,
    &bushing_speed::BushingSpeed,
    &spindle_torque::SpindleTorque,
    &tool_places::ToolPlaces,
    &tool_storage::ToolStorage,
    &holder_size::HolderSize,
    &angle::Angle,
    &nose_clearance::NoseClearance,
    &off_axis::OffAxis,
    &orientation::Orientation,
    &contouring::Contouring,
    &live_speed::LiveSpeed,
    &back_work::BackWork,
    &hand_over::HandOver,
    &axial_push::AxialPush,
    &deep_hole::DeepHole,
    &thread_method::ThreadMethod,
    &lead_angle::LeadAngle,
    &insert_width::InsertWidth,
    &run_out_room::RunOutRoom,
    &coolant::Coolant,
];

/// The rule of a name.
pub fn find(name: &str) -> Option<&'static dyn Rule> {
    RULES.iter().copied().find(|r| r.name() == name)
}
