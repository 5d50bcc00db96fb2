//! A part: what the drawing asks for, feature by feature.
//!
//! `z` runs along the drawing from its left face (the front, 0) to its right face (the back, the length). Nothing here
//! says which end is made first: that is the plan's decision.

use super::after::After;
pub use super::demand::{Demand, DemandKind};
use super::figure::{Place, Remark, Size, Stated};
pub use super::finish::Finish;
pub use super::process::{FirstArticle, Use, Validated};
use crate::quantity::{Angle, Area, Length, Straightness};
use crate::tables::materials::Material;
use std::sync::Arc;

/// An end of the part.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum End {
    /// The left face of the drawing, z = 0.
    Front,
    /// The right face of the drawing, z = length.
    Back,
}

impl End {
    /// The other one.
    #[must_use]
    pub fn other(self) -> End {
        match self {
            End::Front => End::Back,
            End::Back => End::Front,
        }
    }
    /// The word of the language.
    pub fn word(self) -> &'static str {
        match self {
            End::Front => "front",
            End::Back => "back",
        }
    }
}

/// A stretch along z, `start` before `end`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Zone {
    pub start: Length,
    pub end: Length,
}

impl Zone {
    /// How long it is.
    pub fn length(&self) -> Length {
        self.end - self.start
    }
    /// The length that two zones share; nought or less where they do not meet.
    pub fn overlap(&self, o: &Zone) -> Length {
        self.end.min(o.end) - self.start.max(o.start)
    }
}

/// A feature's number in [`Part::features`].
pub type FeatureId = usize;

/// One feature of the drawing.
#[derive(Clone, Debug, PartialEq)]
pub struct Feature {
    /// The name given, or one made from the statement (`chamfer-1`), unique in the part.
    pub name: String,
    pub kind: Kind,
    /// The whole statement in the source.
    pub place: Place,
    /// The side that the tool must come from, where the spec pins it.
    pub made_from: Option<End>,
    /// Wanted capability index, where the feature is a key characteristic.
    pub cpk: Option<f64>,
}

/// What a feature is.
#[derive(Clone, Debug, PartialEq)]
pub enum Kind {
    Face(Face),
    Turn(Turn),
    Taper(Taper),
    Sphere(Sphere),
    Radius(Radius),
    Chamfer(Chamfer),
    Groove(Groove),
    Undercut(Undercut),
    Knurl(Knurl),
    Thread(Thread),
    Bore(Bore),
    Hole(Hole),
    Slot(Slot),
    Keyway(Keyway),
    Flat(Flat),
    Polygon(Polygon),
    Socket(Socket),
    Contour(Contour),
    Engrave(Engrave),
    Edges(Edges),
}

/// A faced end with a finish of its own.
#[derive(Clone, Debug, PartialEq)]
pub struct Face {
    pub end: End,
    pub finish: Option<Finish>,
}

/// A cylinder.
#[derive(Clone, Debug, PartialEq)]
pub struct Turn {
    pub dia: Size,
    pub zone: Zone,
    pub finish: Option<Finish>,
    /// Left as the bar was bought.
    pub as_stock: bool,
    /// Distance of its axis from the part's axis (an eccentric), with the clock position of the offset.
    pub offset: Option<(Size, Angle)>,
    /// Made by the thread that has no turn beneath it.
    pub thread_blank: bool,
}

/// A cone between two diameters; the first one at `zone.start`.
#[derive(Clone, Debug, PartialEq)]
pub struct Taper {
    pub start_dia: Size,
    pub end_dia: Size,
    pub zone: Zone,
    pub internal: bool,
    pub finish: Option<Finish>,
}

/// A ball end or a spherical under-surface.
#[derive(Clone, Debug, PartialEq)]
pub struct Sphere {
    pub dia: Size,
    pub zone: Zone,
    pub finish: Option<Finish>,
}

/// A rounded corner.
#[derive(Clone, Debug, PartialEq)]
pub struct Radius {
    pub radius: Length,
    pub at: Length,
    pub inside: bool,
}

/// A chamfer: its length along z, and its angle to the axis.
#[derive(Clone, Debug, PartialEq)]
pub struct Chamfer {
    pub width: Length,
    pub angle: Angle,
    pub at: Length,
    pub inside: bool,
}

/// Where a groove lies.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum GrooveSide {
    External,
    Internal,
    /// In an end face; the zone then runs over its depth and `dia` is its smaller diameter.
    Face(End),
}

/// A groove.
#[derive(Clone, Debug, PartialEq)]
pub struct Groove {
    pub side: GrooveSide,
    /// The diameter of its bottom; of a face groove the smaller diameter.
    pub dia: Size,
    /// A face groove's larger diameter.
    pub outer_dia: Option<Size>,
    pub zone: Zone,
    pub corner_radius: Option<Length>,
    pub finish: Option<Finish>,
}

/// A relief for a thread or a grinding wheel.
#[derive(Clone, Debug, PartialEq)]
pub struct Undercut {
    pub dia: Size,
    pub zone: Zone,
    /// The form letter of a standard, where one is named.
    pub form: Option<String>,
    pub inside: bool,
}

/// A knurl.
#[derive(Clone, Debug, PartialEq)]
pub struct Knurl {
    pub pitch: Length,
    pub zone: Zone,
    /// The form letters after DIN 82, such as `RAA`.
    pub form: Option<String>,
}

/// A thread's profile.
#[derive(Clone, Debug, PartialEq)]
pub enum ThreadForm {
    /// ISO 68-1, coarse and fine.
    Metric,
    /// UN, UNC, UNF, UNEF: the series as written.
    Unified(String),
    /// UNJ: a controlled root radius.
    UnifiedJ(String),
    Trapezoidal,
    Acme,
    /// ISO 228-1, parallel.
    PipeParallel,
    /// ISO 7-1, taper external (R) or parallel or taper internal (Rp, Rc).
    PipeTaper,
    Npt,
    /// ISO 5835 shallow.
    BoneShallow,
    /// ISO 5835 deep.
    BoneDeep,
    /// Sizes given in the spec.
    Profile,
}

/// A thread.
#[derive(Clone, Debug, PartialEq)]
pub struct Thread {
    pub form: ThreadForm,
    /// As a drawing writes it, such as `M4 x 0.7` or `1-20 UNEF`.
    pub designation: String,
    /// The class of its limits: `6g`, `6H`, `2A`.
    pub class: Option<String>,
    pub major: Length,
    /// External: the root diameter; internal: the drilled or bored diameter.
    pub minor: Length,
    pub pitch: Length,
    pub starts: u32,
    pub left_hand: bool,
    pub internal: bool,
    /// The stretch with full thread, in z.
    pub zone: Zone,
    /// The side an internal thread is cut from.
    pub from: End,
    /// Included angle between the flanks.
    pub flank_angle: Angle,
    /// Included taper as a ratio (1/16 for a taper pipe thread).
    pub taper: Option<f64>,
    /// Rolled, where the drawing demands it.
    pub rolled: bool,
    /// The figures came from a row of a table that is marked provisional.
    pub provisional: bool,
}

impl Thread {
    /// The advance a turn.
    pub fn lead(&self) -> Length {
        self.pitch * f64::from(self.starts)
    }
    /// The mean of major and minor diameter.
    pub fn mean_dia(&self) -> Length {
        (self.major + self.minor) / 2.0
    }
    /// The radial depth.
    pub fn depth(&self) -> Length {
        (self.major - self.minor) / 2.0
    }
}

/// One step of an axial bore, or a plain bore.
#[derive(Clone, Debug, PartialEq)]
pub struct Bore {
    pub dia: Size,
    pub zone: Zone,
    /// The face that its depth is measured from, or the face it opens to.
    pub from: End,
    pub through: bool,
    pub flat_bottom: bool,
    pub finish: Option<Finish>,
}

impl Bore {
    /// How deep its end lies below the face that it opens to.
    pub fn depth(&self, length: Length) -> Length {
        match self.from {
            End::Front => self.zone.end,
            End::Back => length - self.zone.start,
        }
    }
}

/// A hole that is not on the axis: across, at an angle, or parallel to the axis on a circle.
#[derive(Clone, Debug, PartialEq)]
pub struct Hole {
    pub dia: Size,
    /// Where its axis meets the surface, in z; for an end hole the face's own z.
    pub at: Length,
    /// Between its axis and the part's axis: 0 parallel (an end hole), 90 square across.
    pub angle: Stated<Angle>,
    /// Allowed deviation of the angle, from the drawing or its general tolerance.
    pub angle_tolerance: Angle,
    /// The end to which its mouth leans.
    pub opens: End,
    pub clock: Angle,
    pub count: u32,
    /// Distance of its axis from a plane through the part's axis.
    pub offset: Length,
    /// The bore or groove in which it ends.
    pub into: Option<FeatureId>,
    /// Through the whole part.
    pub through: bool,
    /// Depth along its axis where it neither runs through nor ends in a feature.
    pub depth: Option<Length>,
    /// The pitch circle of end holes.
    pub circle: Option<Length>,
    pub finish: Option<Finish>,
}

impl Hole {
    /// Whether it lies in an end face, along the part's axis.
    pub fn is_axial(&self) -> bool {
        self.angle.value < Angle::deg(0.5)
    }

    /// Half of what its mouth takes along the part, on a surface parallel to the axis; an axis within 3 degrees of the
    /// part's own is taken as at 3.
    pub fn mouth_half_length(&self) -> Length {
        self.dia.nominal / 2.0 / libm::sin(self.angle.value.to_deg().to_radians()).max(0.05)
    }
}

/// A milled or sawn slot.
#[derive(Clone, Debug, PartialEq)]
pub struct Slot {
    pub width: Size,
    pub depth: Length,
    pub zone: Zone,
    pub clock: Angle,
    pub count: u32,
    /// An end slot: the face it is cut into.
    pub end: Option<End>,
    pub finish: Option<Finish>,
}

/// A keyway with closed ends.
#[derive(Clone, Debug, PartialEq)]
pub struct Keyway {
    pub width: Size,
    pub depth: Length,
    pub zone: Zone,
    pub clock: Angle,
}

/// One flat, or several.
#[derive(Clone, Debug, PartialEq)]
pub struct Flat {
    /// From the part's axis to the flat.
    pub from_axis: Size,
    pub zone: Zone,
    pub clock: Angle,
    pub count: u32,
    pub finish: Option<Finish>,
}

/// A hexagon or a square.
#[derive(Clone, Debug, PartialEq)]
pub struct Polygon {
    /// 6 or 4.
    pub sides: u32,
    pub across: Size,
    pub zone: Zone,
    pub as_stock: bool,
    /// The corners are turned off by the cylinder beneath.
    pub corners_cut: bool,
}

impl Polygon {
    /// The corner circle: across flats over cos(180 deg / sides).
    pub fn corners(&self) -> Length {
        let sides = if self.sides == 4 { 4.0 } else { 6.0 };
        self.across.nominal / libm::cos(std::f64::consts::PI / sides)
    }
}

/// A drive in an end face.
#[derive(Clone, Debug, PartialEq)]
pub struct Socket {
    pub shape: SocketShape,
    pub depth: Length,
    pub from: End,
}

/// The shape of a drive.
#[derive(Clone, Debug, PartialEq)]
pub enum SocketShape {
    /// Width across flats.
    Hex(Size),
    /// Size number after ISO 10664, and its outer diameter.
    Hexalobe { number: u32, outer: Length },
    /// Width of the slot.
    Slot(Size),
    /// Size number after ISO 4757.
    Cross(u32),
}

impl Socket {
    /// The stretch that it takes of a part of some length.
    pub fn zone(&self, length: Length) -> Zone {
        match self.from {
            End::Front => Zone { start: Length::ZERO, end: self.depth },
            End::Back => Zone { start: length - self.depth, end: length },
        }
    }
}

impl SocketShape {
    /// The circle around a drive's corners; nothing where the size number alone does not say it, or where it is a slot.
    pub fn outer(&self) -> Option<Length> {
        match self {
            SocketShape::Hex(across) => Some(crate::formulas::bar::hex_corners(across.nominal)),
            SocketShape::Hexalobe { outer, .. } => Some(*outer),
            SocketShape::Slot(_) | SocketShape::Cross(_) => None,
        }
    }
}

/// A sculpted surface.
#[derive(Clone, Debug, PartialEq)]
pub struct Contour {
    pub area: Area,
    pub scallop: Length,
    /// Axes that must move at once.
    pub axes: u32,
    pub zone: Zone,
    /// Deepest cut below the turned surface.
    pub depth: Length,
}

/// Engraved text.
#[derive(Clone, Debug, PartialEq)]
pub struct Engrave {
    pub text: String,
    pub height: Length,
    pub depth: Length,
    pub at: Length,
}

/// What happens to edges.
#[derive(Clone, Debug, PartialEq)]
pub struct Edges {
    /// The features whose edges are meant; empty for all.
    pub of: Vec<FeatureId>,
    pub kind: EdgeKind,
    pub at_most: Length,
}

/// After ISO 13715.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum EdgeKind {
    Sharp,
    Break,
    Radius,
}

/// The cross-section of bar.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum BarShape {
    Round,
    Hex,
    Square,
    Tube,
    Profile,
}

/// How bar is finished by its maker.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum BarFinish {
    Ground,
    Drawn,
    Peeled,
}

/// The stock that the spec asks for; what it leaves open is chosen by the plan.
#[derive(Clone, Debug, PartialEq)]
pub struct StockWish {
    pub shape: BarShape,
    /// Diameter, or across flats; left out: chosen.
    pub size: Option<Length>,
    /// A tube's bore.
    pub bore: Option<Length>,
    /// IT grade of the bar's diameter: 9 for `h9`.
    pub grade: Option<u8>,
    pub finish: Option<BarFinish>,
    pub straightness: Option<Straightness>,
    /// Wire from a coil, not straight bar.
    pub coil: bool,
    pub place: Place,
}

/// A part, ready to be planned.
#[derive(Clone, Debug)]
pub struct Part {
    pub name: String,
    pub title: String,
    pub place: Place,
    pub material: Arc<Material>,
    pub material_place: Place,
    /// The customer supplies the bar: it costs nothing.
    pub supplied: bool,
    pub certificate: Option<String>,
    pub stock: Option<StockWish>,
    pub length: Size,
    /// Order quantities, ascending, at least one.
    pub orders: Vec<u64>,
    /// It ran before: programs and first articles are at hand.
    pub repeat: bool,
    /// Pieces a year and lots a year.
    pub yearly: Option<(u64, u64)>,
    pub purpose: Use,
    pub first_article: FirstArticle,
    /// Where its process is frozen, if it is.
    pub validated: Option<Validated>,
    /// The printed name of its general tolerance.
    pub general: String,
    /// Its drawing counts in inches; in millimetres otherwise.
    pub inches: bool,
    /// The end that the spec pins as first.
    pub first_end: Option<End>,
    pub features: Vec<Feature>,
    pub demands: Vec<Demand>,
    pub after: Vec<After>,
    /// The family it belongs to and the value of its parameter, as written.
    pub family: Option<(String, String)>,
    /// When it is wanted, in the words of the spec.
    pub due: Option<String>,
    /// What the spec says beyond what is reckoned with: for the setter, the inspector and the buyer.
    pub remarks: Vec<Remark>,
}

impl Part {
    /// The largest diameter that the part needs of its bar, with the corners of a polygon that keeps them.
    pub fn largest_dia(&self) -> Length {
        let mut largest = Length::ZERO;
        for (id, feature) in self.features.iter().enumerate() {
            // Stock left for grinding stands on the diameter.
            let left = self.ground_after(id).unwrap_or(Length::ZERO);
            largest = largest.max(match &feature.kind {
                Kind::Turn(t) => match &t.offset {
                    Some((offset, _)) => t.dia.upper() + left + offset.upper() * 2.0,
                    None => t.dia.upper() + left,
                },
                Kind::Taper(t) if !t.internal => t.start_dia.upper().max(t.end_dia.upper()),
                Kind::Sphere(s) => s.dia.upper(),
                Kind::Thread(t) if !t.internal => t.major,
                Kind::Polygon(p) if !p.corners_cut && !p.as_stock => p.corners(),
                _ => Length::ZERO,
            });
        }
        largest
    }

    /// What grinding after the machine takes off the diameter of a feature; nothing where it is not ground, or where the
    /// drawing's sizes hold before the grinding.
    pub fn ground_after(&self, id: FeatureId) -> Option<Length> {
        let ground = self.made_afterwards("grind", id).filter(|a| !a.sizes_before)?;
        Some(ground.leaving.unwrap_or(Length::ZERO))
    }

    /// Whether both are members of one family: made by one statement of one file.
    pub fn is_of_family(&self, o: &Part) -> bool {
        self.family.is_some() && o.family.is_some() && self.place == o.place
    }

    /// The step after the machine that makes the final surface of a feature: `grind`, or `roll` of a thread. A step that names
    /// no feature is meant for all.
    fn made_afterwards(&self, process: &str, feature: FeatureId) -> Option<&After> {
        self.after.iter().find(|a| a.process == process && a.feature.is_none_or(|f| f == feature))
    }

    /// Whether a feature is ground, honed or lapped after the machine: its size, form and finish are made there.
    pub fn is_ground(&self, feature: FeatureId) -> bool {
        ["grind", "hone", "lap"].iter().any(|process| self.made_afterwards(process, feature).is_some())
    }

    /// Whether a thread is rolled after the machine, which then only turns its blank.
    pub fn is_rolled_afterwards(&self, feature: FeatureId) -> bool {
        let after = self.made_afterwards("roll", feature).is_some();
        after && matches!(&self.features[feature].kind, Kind::Thread(t) if !t.internal)
    }

    /// The feature of a name.
    pub fn feature(&self, name: &str) -> Option<(FeatureId, &Feature)> {
        self.features.iter().enumerate().find(|(_, f)| f.name == name)
    }
}
