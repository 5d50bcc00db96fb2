//! How slender a part is, and how fast its free end may turn.

use super::{PartView, Task};
use crate::formulas::beam::{self, Ends};
use crate::model::machine::ModeKind;
use crate::model::part::{End, Zone};
use crate::quantity::{Length, RotationalSpeed};

/// A stretch from the free end of the part, and the diameter of a plain bar of that length that bends as much at its tip.
#[derive(Clone, Copy, Debug)]
pub struct Slender {
    pub length: Length,
    pub dia: Length,
}

impl Slender {
    /// Length over diameter.
    pub fn ratio(&self) -> f64 {
        self.length / self.dia
    }
}

/// The whole part, and its most slender stretch, each from the end made first, as they bend: `L^3 / D^4` of a plain bar is
/// the sum of `(b^3 - a^3) / d^4` over the steps of a stepped one. A thin tip on a stout body is no more slender than the
/// tip alone, and a neck counts where it lies.
pub fn slender(view: &PartView, first: End) -> Option<(Slender, Slender)> {
    let steps = view.contour.len();
    let (mut at, mut bend) = (0.0_f64, 0.0_f64);
    let mut most: Option<Slender> = None;
    let mut whole = None;
    for i in 0..steps {
        let segment = &view.contour[if first == End::Front { i } else { steps - 1 - i }];
        let (d, length) = (segment.mean().to_mm().max(0.01), segment.zone.length().to_mm());
        if length <= 0.0 {
            continue;
        }
        let end = at + length;
        bend += (end * end * end - at * at * at) / (d * d * d * d);
        at = end;
        let dia = libm::sqrt(libm::sqrt(at * at * at / bend));
        let stretch = Slender { length: Length::mm(at), dia: Length::mm(dia) };
        whole = Some(stretch);
        if most.is_none_or(|m| stretch.ratio() > m.ratio()) {
            most = Some(stretch);
        }
    }
    whole.zip(most)
}

/// A slender end that turns in front of what holds the bar.
#[derive(Clone, Copy, Debug)]
pub struct FreeEnd {
    /// The whole part, as it bends.
    pub end: Slender,
    /// Its first critical speed with all of it out.
    pub critical: RotationalSpeed,
    /// The speed to which it is turned then.
    pub limit: RotationalSpeed,
}

/// The free end of a part. None where it is stiff, and out of a free collet, where the bend decides long before.
pub fn free_end(task: &Task) -> Option<FreeEnd> {
    if task.mode.kind == ModeKind::Collet {
        return None;
    }
    let (end, _) = slender(task.view, task.first)?;
    if end.ratio() < task.thresholds.stiff_end {
        return None;
    }
    let m = &task.view.part.material;
    let ends = if task.mode.kind == ModeKind::Supported { Ends::HeldAndSupported } else { Ends::Overhung };
    let critical =
        beam::critical_speed(end.length, end.dia, Length::ZERO, m.modulus_gpa, m.density_kg_m3, ends).ok()?;
    Some(FreeEnd { end, critical, limit: critical * task.thresholds.whip_share })
}

/// How far the piece is out, from the end made first, when its whole length begins to count as free: what is turned sooner
/// stands out less.
pub fn whips_from(task: &Task) -> Length {
    task.view.length * task.thresholds.whip_from
}

/// Whether a zone of the drawing is turned with the whole piece out.
pub fn is_turned_last(task: &Task, zone: Zone) -> bool {
    task.zone_from_first(zone).end > whips_from(task) + Length::um(1.0)
}
