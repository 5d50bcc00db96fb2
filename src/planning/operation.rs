//! Operations, the tools they need, and what could not be made.

use crate::model::machine::Side;
use crate::model::part::FeatureId;
pub use crate::model::tooling::ToolKind;
use crate::quantity::{Angle, Feed, Force, Length, Power, RotationalSpeed, Time, Torque};

/// What an operation does.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Work {
    Face,
    Turn,
    RoughTurn,
    FinishTurn,
    Groove,
    Chamfer,
    Knurl,
    Centre,
    Drill,
    DeepDrill,
    OscillatingDrill,
    Ream,
    Bore,
    InternalGroove,
    FaceGroove,
    Tap,
    SinglePoint,
    ThreadMill,
    Whirl,
    Die,
    Broach,
    CrossDrill,
    EndDrill,
    SpotFace,
    MillFlats,
    MillSlot,
    MillContour,
    Engrave,
    BackFace,
    CutOff,
    Deburr,
}

impl Work {
    /// The setter's word.
    pub fn word(self) -> &'static str {
        match self {
            Work::Face => "face",
            Work::Turn => "turn",
            Work::RoughTurn => "rough-turn",
            Work::FinishTurn => "finish-turn",
            Work::Groove => "groove",
            Work::Chamfer => "chamfer",
            Work::Knurl => "knurl",
            Work::Centre => "centre",
            Work::Drill => "drill",
            Work::DeepDrill => "deep-hole drill",
            Work::OscillatingDrill => "drill, oscillating",
            Work::Ream => "ream",
            Work::Bore => "bore",
            Work::InternalGroove => "groove inside",
            Work::FaceGroove => "groove the face",
            Work::Tap => "tap",
            Work::SinglePoint => "thread, single-point",
            Work::ThreadMill => "thread-mill",
            Work::Whirl => "whirl",
            Work::Die => "thread with a die",
            Work::Broach => "broach",
            Work::CrossDrill => "cross-drill",
            Work::EndDrill => "drill off the axis",
            Work::SpotFace => "spot",
            Work::MillFlats => "mill flats",
            Work::MillSlot => "mill a slot",
            Work::MillContour => "mill the contour",
            Work::Engrave => "engrave",
            Work::BackFace => "face the cut-off side",
            Work::CutOff => "cut off",
            Work::Deburr => "deburr",
        }
    }
}

/// How a tool is held.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Shank {
    /// A square-shank turning tool.
    Square,
    /// A round shank of this diameter.
    Round(Length),
}

/// A tool that the plan needs, and what it asks of its place.
#[derive(Clone, Debug, PartialEq)]
pub struct Tool {
    pub kind: ToolKind,
    pub side: Side,
    /// Between the tool's axis and the spindle's: 0 points at the main spindle, 180 at the sub-spindle.
    pub angle: Angle,
    /// Allowed deviation of the angle; nothing for tools square to or along the axis.
    pub angle_tolerance: Option<Angle>,
    pub live: bool,
    pub shank: Shank,
    /// Cutting diameter, or the width of a blade.
    pub dia: Length,
    /// Must leave the plane of the axis by this much.
    pub off_axis: Option<Length>,
    pub contouring: bool,
    /// Live tools: the speed wanted, and the torque needed.
    pub speed_wanted: Option<RotationalSpeed>,
    pub torque: Torque,
    /// It can only be made by this attachment (a number in `Machine::options`).
    pub attachment: Option<usize>,
    pub features: Vec<FeatureId>,
}

impl Tool {
    /// Whether two needs are served by one tool.
    pub fn same_as(&self, o: &Tool) -> bool {
        let close = |a: Length, b: Length| (a - b).abs() < Length::um(0.5);
        self.kind == o.kind
            && self.side == o.side
            && self.live == o.live
            && self.attachment == o.attachment
            && (self.angle - o.angle).abs() < Angle::deg(1e-6)
            && close(self.dia, o.dia)
            // A whirling head carries the inserts of one form.
            && self.kind != ToolKind::WhirlingHead
    }
}

/// One step of the piece.
#[derive(Clone, Debug, PartialEq)]
pub struct Operation {
    pub work: Work,
    pub feature: Option<FeatureId>,
    pub side: Side,
    /// It could be made at the other spindle as well.
    pub either_side: bool,
    /// A number in the plan's tools.
    pub tool: usize,
    /// The speed of the work spindle, or of a live tool.
    pub speed: RotationalSpeed,
    pub feed: Feed,
    /// Radial depth of a pass, or diameter of a drill.
    pub depth: Length,
    pub passes: u32,
    /// How often it is done a piece.
    pub count: u32,
    /// All passes, all of `count`.
    pub cutting: Time,
    /// Movements that belong to the operation itself: pecks, returns, positions around the part.
    pub moving: Time,
    /// Push along the axis, at the spindle that it pushes into.
    pub push: Force,
    pub power: Power,
    pub torque: Torque,
}

/// Why a feature cannot be made.
#[derive(Clone, Debug, PartialEq)]
pub enum GapReason {
    /// The far end needs work and there is no second spindle.
    NoSecondSpindle,
    /// A thread too deep to be single-pointed and no whirling here; radial depth over pitch.
    ThreadMethod { depth_over_pitch: f64 },
    /// Lead angle beyond the head.
    LeadAngle { needed: Angle, offered: Angle },
    /// The whirling insert is too narrow even for a single start.
    InsertWidth { needed: Length, offered: Length },
    /// The ring cannot pass over the bar.
    RingBore { needed: Length, offered: Length },
    /// Simultaneous axes wanted.
    Contouring { axes: u32 },
    /// Deeper than any class of drill here.
    TooDeep { ratio: f64, limit: f64 },
    /// Too little room between the thread and a shoulder for the run-out.
    RunOut { needed: Length, offered: Length },
}

/// A feature that no method on this machine makes.
#[derive(Clone, Debug, PartialEq)]
pub struct Gap {
    pub feature: FeatureId,
    pub reason: GapReason,
}

/// How a thread is made, and the figures that the rules about threads compare.
#[derive(Clone, Debug, PartialEq)]
pub struct ThreadWork {
    pub feature: FeatureId,
    pub method: Work,
    pub lead_angle: Angle,
    /// Whirling: what the head offers beside what the thread asks.
    pub whirl: Option<WhirlFit>,
    /// Room along z that the tool needs beside the thread, and what there is.
    pub room: Option<(Length, Length)>,
    /// Drilled depth beyond the full thread of a tapped blind hole, and what the tap's lead needs.
    pub tap_room: Option<(Length, Length)>,
    /// Methods that do not work here, with the reason.
    pub ruled_out: Vec<(Work, GapReason)>,
    /// The other methods that work, with their time.
    pub others: Vec<(Work, Time)>,
    pub time: Time,
}

/// A whirling head against a thread.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct WhirlFit {
    /// A number in `Machine::options`.
    pub attachment: usize,
    pub lead_angle_offered: Option<Angle>,
    /// All starts at once need this width.
    pub width_needed: Length,
    pub width_offered: Option<Length>,
    pub ring_bore: Option<Length>,
    pub passes: u32,
    pub ring_speed: RotationalSpeed,
    pub work_speed: RotationalSpeed,
}

/// The operations of a piece with their tools.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct WorkList {
    pub tools: Vec<Tool>,
    pub operations: Vec<Operation>,
    pub gaps: Vec<Gap>,
    pub threads: Vec<ThreadWork>,
}

impl WorkList {
    /// The number of a tool, merged with one that is there where one tool serves both.
    pub fn tool(&mut self, tool: Tool) -> usize {
        if let Some(i) = self.tools.iter().position(|t| t.same_as(&tool)) {
            let there = &mut self.tools[i];
            there.torque = there.torque.max(tool.torque);
            for f in tool.features {
                if !there.features.contains(&f) {
                    there.features.push(f);
                }
            }
            return i;
        }
        self.tools.push(tool);
        self.tools.len() - 1
    }
}
