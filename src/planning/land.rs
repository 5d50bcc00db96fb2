//! How far turned work may be drawn back into a guide bushing.

use super::Task;
use crate::quantity::Length;

/// What limits the stretch that is drawn back.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LandLimit {
    /// The bushing's land: beyond it the bar itself is no longer held.
    Land,
    /// The work's diameter: what has been turned down stands free in the bushing, as slender as work out of a collet.
    Slender,
}

/// The stretch of a diameter that a guide bushing lets draw back, and by which limit: the land that the mode states, at most
/// a number of diameters of the work.
pub fn drawn_back_to(task: &Task, dia: Length) -> (Length, LandLimit) {
    let stiff = dia * task.thresholds.land_usual;
    match task.mode.land {
        Some(land) if land.value <= stiff => (land.value, LandLimit::Land),
        _ => (stiff, LandLimit::Slender),
    }
}
