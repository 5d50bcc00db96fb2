//! A machine: what its maker or owner states about it. What is not stated is `None` and is answered 'not stated'; it is
//! never assumed to be good.

use super::figure::{Place, Remark, Stated};
use crate::quantity::{
    Acceleration, Angle, Force, Frequency, Length, Money, Power, Pressure, Ratio, RotationalSpeed, Time, Torque,
    Velocity,
};

/// A stretch of values; an open end is `None`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Range<T> {
    pub low: Option<T>,
    pub high: Option<T>,
    pub place: Place,
}

impl<T: PartialOrd + Copy> Range<T> {
    /// Whether a value lies within, ends included.
    pub fn contains(&self, value: T) -> bool {
        self.low.is_none_or(|low| value >= low) && self.high.is_none_or(|high| value <= high)
    }
}

/// Which spindle.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Side {
    Main,
    Sub,
}

impl Side {
    /// The word of the language.
    pub fn word(self) -> &'static str {
        match self {
            Side::Main => "main",
            Side::Sub => "sub",
        }
    }
}

/// Whether the headstock moves along z and feeds the bar through a bushing or collet.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Headstock {
    Sliding,
    Fixed,
}

/// How a spindle can be stopped at an angle.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Orient {
    Continuous,
    /// At every so many degrees.
    Every(Angle),
    No,
}

/// A work spindle.
#[derive(Clone, Debug, PartialEq)]
pub struct Spindle {
    pub speed: Option<Range<RotationalSpeed>>,
    pub power: Option<Stated<Power>>,
    pub torque: Option<Stated<Torque>>,
    /// The largest bar that passes.
    pub bore: Option<Stated<Length>>,
    pub orient: Option<Stated<Orient>>,
    pub orient_accuracy: Option<Stated<Angle>>,
    pub brake: Option<Stated<Torque>>,
    /// Time from rest to top speed.
    pub acceleration_time: Option<Stated<Time>>,
    pub place: Place,
}

/// A second spindle facing the first.
#[derive(Clone, Debug, PartialEq)]
pub struct SubSpindle {
    pub spindle: Spindle,
    pub grip: Option<Range<Length>>,
    /// How much of the part it takes in; `None` within for `through`.
    pub swallow: Option<Stated<Swallow>>,
    /// Longest part that it can eject.
    pub eject: Option<Range<Length>>,
    pub runout: Option<Stated<Length>>,
    pub clamp: Option<Stated<Force>>,
}

/// How much of a part a sub-spindle takes in.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Swallow {
    Through,
    Up(Length),
}

/// A bar feeder.
#[derive(Clone, Debug, PartialEq)]
pub struct Feeder {
    pub length: Option<Range<Length>>,
    /// Channel sizes owned, ascending.
    pub channels: Vec<Length>,
    pub short: bool,
    /// Wire that it takes from a coil: the tools turn about it, since wire on a coil cannot turn.
    pub coil: Option<Range<Length>>,
    pub place: Place,
}

impl Feeder {
    /// The smallest channel in which a bar, measured over its corners, slides with so much air.
    pub fn channel_for(&self, corners: Length, air: Length) -> Option<Length> {
        self.channels.iter().copied().find(|channel| *channel >= corners + air)
    }
}

/// A way to hold the bar.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum ModeKind {
    /// Through a guide bushing; the cut is beside it.
    Guided,
    /// In the collet alone.
    Collet,
    /// In the collet, the free end held by the sub-spindle or a centre.
    Supported,
}

impl ModeKind {
    /// The word of the language.
    pub fn word(self) -> &'static str {
        match self {
            ModeKind::Guided => "guided",
            ModeKind::Collet => "collet",
            ModeKind::Supported => "supported",
        }
    }
}

/// A guide bushing's kind.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Bushing {
    Fixed,
    Rotary,
    SelfAdjusting,
}

/// One way to hold the bar on one machine.
#[derive(Clone, Debug, PartialEq)]
pub struct Mode {
    pub kind: ModeKind,
    pub bar: Option<Range<Length>>,
    pub bushing: Option<Stated<Bushing>>,
    /// Length of the bushing's land.
    pub land: Option<Stated<Length>>,
    pub speed: Option<Range<RotationalSpeed>>,
    /// Headstock travel a grip (sliding headstock).
    pub stroke: Option<Stated<Length>>,
    /// How far a piece may stand out of the collet.
    pub stick_out: Option<Stated<Length>>,
    /// Poorest IT grade of bar that it takes: 8 for `h8`.
    pub stock: Option<Stated<u8>>,
    pub remnant: Option<Stated<Length>>,
    /// Six sigma of a turned diameter.
    pub spread: Option<Stated<Length>>,
    pub roundness: Option<Stated<Length>>,
    pub runout: Option<Stated<Length>>,
    pub clamp: Option<Stated<Force>>,
    pub place: Place,
}

/// The time to change from one way of holding to another.
#[derive(Clone, Debug, PartialEq)]
pub struct Changeover {
    pub from: ModeKind,
    pub to: ModeKind,
    pub time: Stated<Time>,
}

/// What a tool place takes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Holder {
    /// A square shank, width by height.
    Shank(Length, Length),
    /// A round sleeve up to this bore.
    Sleeve(Length),
    /// A collet up to this diameter.
    Collet(Length),
}

/// An axis of movement.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Axis {
    X,
    Y,
    Z,
    B,
    C,
}

/// The angles that a carrier's tools can take.
#[derive(Clone, Debug, PartialEq)]
pub struct CarrierAngle {
    /// Low and high are equal for a fixed angle.
    pub low: Angle,
    pub high: Angle,
    pub step: Option<Angle>,
    pub accuracy: Option<Angle>,
    pub place: Place,
}

/// A slide, turret or head with tool places.
#[derive(Clone, Debug, PartialEq)]
pub struct Carrier {
    pub name: String,
    /// Carriers of one group never cut at once.
    pub group: u32,
    pub serves: Vec<Side>,
    /// Where it serves both spindles, it works at one of them at a time.
    pub one_at_a_time: bool,
    pub axes: Vec<Axis>,
    /// Travel to either side in Y, where it is stated.
    pub y_travel: Option<Stated<Length>>,
    pub fixed_places: u32,
    pub live_places: u32,
    /// What its fixed places take.
    pub fixed_holder: Option<Stated<Holder>>,
    /// What its live places take.
    pub live_holder: Option<Stated<Holder>>,
    pub speed: Option<Range<RotationalSpeed>>,
    pub power: Option<Stated<Power>>,
    pub torque: Option<Stated<Torque>>,
    pub ratio: Option<f64>,
    pub angle: Option<CarrierAngle>,
    /// Three or more axes can move at once with a live tool.
    pub contouring: bool,
    pub off_bushing: Option<Stated<Length>>,
    pub index: Option<Stated<Time>>,
    /// A travel along z of its own.
    pub own_z: Option<Stated<Length>>,
    /// Largest tool that turns past its neighbours.
    pub swing: Option<Stated<Length>>,
    pub place: Place,
}

impl Carrier {
    /// Whether its tools work at this spindle.
    pub fn serves(&self, side: Side) -> bool {
        self.serves.contains(&side)
    }
    /// Whether it has this axis.
    pub fn has(&self, axis: Axis) -> bool {
        self.axes.contains(&axis)
    }
}

/// A tool magazine.
#[derive(Clone, Debug, PartialEq)]
pub struct Magazine {
    /// The carrier that it feeds.
    pub feeds: String,
    pub pockets: u32,
    pub change: Option<Stated<Time>>,
    pub tool_dia: Option<Stated<Length>>,
    pub tool_length: Option<Stated<Length>>,
    pub tool_mass: Option<Stated<f64>>,
    pub place: Place,
}

/// What cools.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum CoolantMedium {
    Oil,
    Emulsion,
}

/// The coolant system.
#[derive(Clone, Debug, PartialEq)]
pub struct Coolant {
    pub medium: CoolantMedium,
    pub pressure: Option<Stated<Pressure>>,
    pub filter: Option<Stated<Length>>,
    pub fire_suppression: bool,
    pub place: Place,
}

/// A method that an attachment adds.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum AddedMethod {
    Whirling,
    OscillatingDrilling,
    PolygonTurning,
    ThreadRolling,
    Hobbing,
}

/// What an attachment takes up.
#[derive(Clone, Debug, PartialEq)]
pub struct Occupies {
    pub carrier: String,
    /// Nought for a pocket of the magazine that feeds the carrier.
    pub places: u32,
    pub live: bool,
    pub neighbouring: bool,
    pub pocket: bool,
    pub place: Place,
}

/// An attachment: what it adds, what it occupies, what it costs.
#[derive(Clone, Debug, PartialEq)]
pub struct Attachment {
    pub name: String,
    pub method: Option<AddedMethod>,
    pub occupies: Option<Occupies>,
    pub mount: Option<Stated<Time>>,
    pub price: Option<Stated<Money>>,
    pub angle: Option<CarrierAngle>,
    /// The angle is set by hand: each distinct one costs a mounting.
    pub by_hand: bool,
    pub holder: Option<Stated<Holder>>,
    pub speed: Option<Range<RotationalSpeed>>,
    pub lead_angle: Option<Range<Angle>>,
    pub insert_width: Option<Stated<Length>>,
    pub ring_bore: Option<Stated<Length>>,
    pub ring_speed: Option<Range<RotationalSpeed>>,
    /// Inserts in the ring.
    pub cutters: Option<u32>,
    pub frequency: Option<Range<Frequency>>,
    /// Peak-to-peak oscillation.
    pub stroke: Option<Range<Length>>,
    /// Constant-power feed: how far it may change the programmed feed.
    pub feed_override: Option<Range<Ratio>>,
    pub place: Place,
}

/// A steady rest, by the diameters that it holds.
#[derive(Clone, Debug, PartialEq)]
pub struct Steady {
    pub dia: Option<Range<Length>>,
    pub place: Place,
}

/// How finished parts leave.
#[derive(Clone, Debug, PartialEq)]
pub struct Catcher {
    pub length: Option<Range<Length>>,
    pub gripper: bool,
    pub place: Place,
}

/// What it costs to buy.
#[derive(Clone, Debug, PartialEq)]
pub struct Price {
    pub list: Stated<Money>,
    /// What installing it adds.
    pub installed: Option<Ratio>,
}

/// A machine.
#[derive(Clone, Debug, PartialEq)]
pub struct Machine {
    pub name: String,
    pub title: String,
    pub place: Place,
    pub headstock: Headstock,
    pub main: Spindle,
    pub sub: Option<SubSpindle>,
    pub feeder: Option<Feeder>,
    /// At least one.
    pub modes: Vec<Mode>,
    pub changeovers: Vec<Changeover>,
    /// At least one, names distinct.
    pub carriers: Vec<Carrier>,
    pub magazine: Option<Magazine>,
    pub coolant: Option<Coolant>,
    pub steady: Option<Steady>,
    pub tailstock: bool,
    pub catcher: Option<Catcher>,
    pub rapid: Option<Stated<Velocity>>,
    pub rapid_acceleration: Option<Stated<Acceleration>>,
    pub options: Vec<Attachment>,
    pub price: Option<Price>,
    /// What the spec says beyond what is reckoned with.
    pub remarks: Vec<Remark>,
}

impl Machine {
    /// The carrier of a name.
    pub fn carrier(&self, name: &str) -> Option<(usize, &Carrier)> {
        self.carriers.iter().enumerate().find(|(_, c)| c.name == name)
    }
    /// The mode of a kind.
    pub fn mode(&self, kind: ModeKind) -> Option<&Mode> {
        self.modes.iter().find(|m| m.kind == kind)
    }
    /// The stated time from one way of holding to another.
    pub fn changeover(&self, from: ModeKind, to: ModeKind) -> Option<&Changeover> {
        self.changeovers.iter().find(|c| c.from == from && c.to == to)
    }
}
