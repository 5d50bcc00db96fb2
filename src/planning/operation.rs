//! Operations, the tools they need, and what could not be made.

use crate::model::machine::Side;
use crate::model::part::{FeatureId, Kind, Part, SocketShape, Zone};
pub use crate::model::tooling::ToolKind;
use crate::quantity::{Angle, Feed, Force, Length, Power, RotationalSpeed, Time, Torque};
use crate::tables::tool_life;
use std::borrow::Cow;

/// What an operation does.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Work {
    Face,
    Turn,
    TurnEccentric,
    RoughTurn,
    FinishTurn,
    Groove,
    Chamfer,
    Knurl,
    Centre,
    Countersink,
    Drill,
    DeepDrill,
    PeckDrill,
    SingleLipDrill,
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
    RollThread,
    Broach,
    FormBroach,
    MillSocket,
    CrossDrill,
    EndDrill,
    SpotFace,
    MillFlats,
    StraddleMill,
    PolygonTurn,
    MillSlot,
    MillKeyway,
    RoughContour,
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
            Work::TurnEccentric => "turn the eccentric",
            Work::RoughTurn => "rough-turn",
            Work::FinishTurn => "finish-turn",
            Work::Groove => "groove",
            Work::Chamfer => "chamfer",
            Work::Knurl => "knurl",
            Work::Centre => "centre",
            Work::Countersink => "countersink",
            Work::Drill => "drill",
            Work::DeepDrill => "deep-hole drill",
            Work::PeckDrill => "deep-hole drill, pecking",
            Work::SingleLipDrill => "single-lip drill",
            Work::OscillatingDrill => "drill, oscillating",
            Work::Ream => "ream",
            Work::Bore => "bore",
            Work::InternalGroove => "internal groove",
            Work::FaceGroove => "groove the face",
            Work::Tap => "tap",
            Work::SinglePoint => "thread, single-point",
            Work::ThreadMill => "thread-mill",
            Work::Whirl => "whirl",
            Work::Die => "thread with a die",
            Work::RollThread => "roll the thread",
            Work::Broach => "broach, rotary",
            Work::FormBroach => "broach",
            Work::MillSocket => "mill the socket",
            Work::CrossDrill => "cross-drill",
            Work::EndDrill => "off-centre drill",
            Work::SpotFace => "enter the slope",
            Work::MillFlats => "mill flats",
            Work::StraddleMill => "mill flats in pairs",
            Work::PolygonTurn => "turn the polygon",
            Work::MillSlot => "mill a slot",
            Work::MillKeyway => "mill the keyway",
            Work::RoughContour => "rough the contour",
            Work::MillContour => "finish the contour",
            Work::Engrave => "engrave",
            Work::BackFace => "face the cut-off side",
            Work::CutOff => "cut off",
            Work::Deburr => "deburr",
        }
    }
}

impl Operation {
    /// How long one edge of its tool is in the metal: an edge that turns past the work rests in between.
    pub fn contact(&self) -> Time {
        self.cutting
            * tool_life::contact_share(match self.work {
                Work::Whirl => "whirl",
                Work::PolygonTurn => "polygon",
                Work::ThreadMill => "thread-mill",
                Work::MillFlats
                | Work::StraddleMill
                | Work::MillSlot
                | Work::MillKeyway
                | Work::MillSocket
                | Work::RoughContour
                | Work::MillContour => "mill",
                _ => "all",
            })
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
    /// All its work could be done at the other spindle as well.
    pub either_side: bool,
    pub features: Vec<FeatureId>,
}

impl Tool {
    /// In the setter's words, with what it cuts: `live drill 1.2 mm at 35 deg`, `tap M4 x 0.7`, `broach hexalobe 15`.
    pub fn words(&self, part: &Part) -> String {
        let form = self.form(part).or_else(|| match (self.kind, self.features.as_slice()) {
            (ToolKind::ThreadingTool | ToolKind::InternalThreadingTool | ToolKind::ThreadMill, [thread]) => {
                form_of(&part.features[*thread].kind)
            }
            _ => None,
        });
        let angle = self.live.then_some(self.angle);
        self.kind.named(form.as_deref(), Some(self.dia), angle)
    }

    /// What a tool of one form is ground for: the thread of a tap, a die, a rolling head or the inserts of a whirling ring,
    /// the drive of a broach. Nothing for tools that serve any of their size.
    pub fn form<'a>(&self, part: &'a Part) -> Option<Cow<'a, str>> {
        let one = matches!(
            self.kind,
            ToolKind::Tap
                | ToolKind::Die
                | ToolKind::RollingHead
                | ToolKind::WhirlingHead
                | ToolKind::Broach
                | ToolKind::FormBroach
        );
        let kinds = self.features.iter().filter_map(|f| part.features.get(*f)).map(|f| &f.kind);
        one.then(|| kinds.filter_map(form_of).next()).flatten()
    }

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

    /// Whether every seat of the one is a seat of the other.
    pub(crate) fn seats_like(&self, o: &Tool) -> bool {
        self.side == o.side
            && self.kind == o.kind
            && self.live == o.live
            && self.attachment == o.attachment
            && self.contouring == o.contouring
            && self.angle == o.angle
            && self.angle_tolerance == o.angle_tolerance
            && self.shank == o.shank
            && self.dia == o.dia
            && self.off_axis == o.off_axis
    }
}

/// The form of a thread or a drive, as a drawing writes it.
fn form_of(kind: &Kind) -> Option<Cow<'_, str>> {
    match kind {
        Kind::Thread(thread) => Some(thread.designation.as_str().into()),
        Kind::Socket(socket) => Some(match &socket.shape {
            SocketShape::Hex(size) => format!("hexagon {}", size.nominal).into(),
            SocketShape::Hexalobe { number, .. } => format!("hexalobe {number}").into(),
            SocketShape::Slot(width) => format!("slot {}", width.nominal).into(),
            SocketShape::Cross(number) => format!("cross {number}").into(),
        }),
        _ => None,
    }
}

/// One step of the piece.
#[derive(Clone, Debug, PartialEq)]
pub struct Operation {
    pub work: Work,
    pub feature: Option<FeatureId>,
    pub side: Side,
    /// A number in the plan's tools.
    pub tool: usize,
    /// The speed of the work spindle, or of a live tool.
    pub speed: RotationalSpeed,
    /// The speed that the cut asks of a work spindle, whatever the spindle turns and the bar stands.
    pub wanted: RotationalSpeed,
    pub feed: Feed,
    /// Radial depth of a pass; of a drill its diameter.
    pub depth: Length,
    /// The stretch along the drawing's z that it works on, where it is not the feature's own.
    pub zone: Option<Zone>,
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
    /// Why it stands where it does in the order, where something forces it.
    pub order_reason: Option<&'static str>,
}

impl Operation {
    /// A step of a tool at a speed and feed; all that is not said is nought, one pass, once.
    pub fn new(work: Work, feature: Option<FeatureId>, side: Side, speed: RotationalSpeed, feed: Feed) -> Operation {
        Operation {
            work,
            feature,
            side,
            tool: 0,
            speed,
            wanted: speed,
            feed,
            depth: Length::ZERO,
            zone: None,
            passes: 1,
            count: 1,
            cutting: Time::ZERO,
            moving: Time::ZERO,
            push: Force::ZERO,
            power: Power::ZERO,
            torque: Torque::ZERO,
            order_reason: None,
        }
    }
}

/// Why a feature cannot be made.
#[derive(Clone, Debug, PartialEq)]
pub enum GapReason {
    /// The far end needs work and there is no second spindle.
    NoSecondSpindle,
    /// A thread too deep to be single-pointed and no whirling here; radial depth.
    ThreadMethod { needed: Length, offered: Length },
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

impl GapReason {
    /// In words, with both numbers.
    pub fn words(&self) -> String {
        match self {
            GapReason::NoSecondSpindle => "the far end needs work and there is no second spindle".to_owned(),
            GapReason::ThreadMethod { needed, offered } => {
                format!("{needed} deep, a single point cuts {offered} here")
            }
            GapReason::LeadAngle { needed, offered } => format!("lead angle {needed}, the head tilts to {offered}"),
            GapReason::InsertWidth { needed, offered } => {
                format!("one start is {needed} wide, the insert {offered}")
            }
            GapReason::RingBore { needed, offered } => {
                format!("the ring passes {offered}, the bar is {needed}")
            }
            GapReason::Contouring { axes } => format!("{axes} axes at once, no live carrier does that"),
            GapReason::TooDeep { ratio, limit } => format!("{ratio:.0} D deep, drills reach {limit:.0} D"),
            GapReason::RunOut { needed, offered } => format!("{needed} of room wanted beside it, there is {offered}"),
        }
    }
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
    pub room: Option<RunOut>,
    /// Drilled depth beyond the full thread of a tapped blind hole, and what the tap's lead needs.
    pub tap_room: Option<(Length, Length)>,
    /// What speaks against the method although it is taken.
    pub doubt: Option<&'static str>,
    /// Methods that do not work here, with the reason.
    pub ruled_out: Vec<(Work, GapReason)>,
    /// The other methods that work, with their time.
    pub others: Vec<(Work, Time)>,
    pub time: Time,
}

/// Room along z where a thread's tool runs out.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RunOut {
    pub needed: Length,
    /// On the tighter side.
    pub offered: Length,
    pub bound: RunOutBound,
}

/// What ends the room beside a thread.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum RunOutBound {
    /// A shoulder, or the next thread.
    Shoulder,
    /// The thread ends inside its own blank, and the tool comes out at the blank's end.
    OwnBlank,
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
            // What is asked of the place is what the most demanding of its features asks.
            there.off_axis = match (there.off_axis, tool.off_axis) {
                (Some(a), Some(b)) => Some(a.max(b)),
                (a, b) => a.or(b),
            };
            there.angle_tolerance = match (there.angle_tolerance, tool.angle_tolerance) {
                (Some(a), Some(b)) => Some(a.min(b)),
                (a, b) => a.or(b),
            };
            there.contouring |= tool.contouring;
            there.either_side &= tool.either_side;
            if let Shank::Round(a) = there.shank
                && let Shank::Round(b) = tool.shank
            {
                there.shank = Shank::Round(a.max(b));
            }
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

    /// Adds a step: its tool, merged where one serves both, and its operation.
    pub fn step(&mut self, tool: Tool, operation: Operation) -> &mut Operation {
        let tool = self.tool(tool);
        let at = self.operations.len();
        self.operations.push(Operation { tool, ..operation });
        &mut self.operations[at]
    }

    /// Adds all of another list: its tools merged, its operations, gaps and threads.
    pub fn add(&mut self, part: &WorkList) {
        let numbers: Vec<usize> = part.tools.iter().map(|tool| self.tool(tool.clone())).collect();
        self.operations.extend(part.operations.iter().map(|op| Operation { tool: numbers[op.tool], ..op.clone() }));
        self.gaps.extend(part.gaps.iter().cloned());
        self.threads.extend(part.threads.iter().cloned());
    }

    /// Cutting and movements of all operations.
    pub fn time(&self) -> Time {
        self.operations.iter().map(|op| op.cutting + op.moving).sum()
    }
}
