//! The scale of a view, and the stretches left out of a slender part.

use super::profile::NEAR;

/// Scales after ISO 5455 (read): enlargements and reductions, largest first; those beyond 50:1 continue its row.
const SCALES: &[(u32, u32)] = &[
    (200, 1),
    (100, 1),
    (50, 1),
    (20, 1),
    (10, 1),
    (5, 1),
    (2, 1),
    (1, 1),
    (1, 2),
    (1, 5),
    (1, 10),
    (1, 20),
    (1, 50),
    (1, 100),
];

/// Paper between the two break lines, mm.
const GAP: f64 = 2.6;

/// The least paper that is left of a stretch that is broken, mm.
const KEPT: f64 = 20.0;

/// Below this height a view tells nothing, and the part is rather broken than drawn smaller, mm.
const READABLE: f64 = 14.0;

/// A stretch of z that is drawn in one piece.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Window {
    pub(super) z0: f64,
    pub(super) z1: f64,
    x0: f64,
}

/// Where a place along z stands on the paper.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Axis {
    /// Paper a part: 2 for 2:1.
    pub(super) scale: f64,
    /// As it is written: `2:1`.
    pub(super) words: String,
    pub(super) windows: Vec<Window>,
}

impl Axis {
    /// Moves everything to the right.
    pub(super) fn shifted(mut self, by: f64) -> Axis {
        for w in &mut self.windows {
            w.x0 += by;
        }
        self
    }

    /// The place on the paper.
    pub(super) fn x(&self, z: f64) -> f64 {
        let window = self.windows.iter().rev().find(|w| z >= w.z0 - NEAR).or(self.windows.first());
        window.map_or(0.0, |w| w.x0 + (z.min(w.z1) - w.z0) * self.scale)
    }

    /// The gaps between the windows, on the paper.
    pub(super) fn gaps(&self) -> impl Iterator<Item = (f64, f64)> {
        self.windows.windows(2).map(|w| (w[0].x0 + (w[0].z1 - w[0].z0) * self.scale, w[1].x0))
    }

    /// Whether stretches are left out.
    pub(super) fn is_broken(&self) -> bool {
        self.windows.len() > 1
    }

    /// The width on the paper.
    pub(super) fn width(&self) -> f64 {
        match (self.windows.first(), self.windows.last()) {
            (Some(a), Some(b)) => b.x0 + (b.z1 - b.z0) * self.scale - a.x0,
            _ => 0.0,
        }
    }
}

/// The room on the sheet.
#[derive(Clone, Copy, Debug)]
pub(super) struct Room {
    pub(super) width: f64,
    pub(super) height: f64,
    /// The height where the view is narrow.
    pub(super) tall: f64,
}

/// Chooses the scale and what is left out. `marks` are the places where something happens, ascending, with both ends:
/// only what lies between two of them can be left out.
pub(super) fn choose(marks: &[f64], dia: f64, room: Room) -> Axis {
    let length = marks.last().copied().unwrap_or(0.0);
    let fits_height = |s: f64| {
        let height = dia * s;
        height <= room.height || (height <= room.tall && length * s <= room.width * 0.45)
    };
    let mut best: Option<Axis> = None;
    // Largest first: the first whole one, unless it is too low to read and a larger broken one is there.
    for (n, d) in SCALES {
        let s = f64::from(*n) / f64::from(*d);
        if !fits_height(s) {
            continue;
        }
        let words = format!("{n}:{d}");
        if length * s <= room.width {
            let whole = Axis { scale: s, words, windows: vec![Window { z0: 0.0, z1: length, x0: 0.0 }] };
            return match best {
                Some(broken) if dia * s < READABLE => broken,
                _ => whole,
            };
        }
        if let Some(windows) = broken(marks, s, room.width) {
            // A smaller one that is still readable leaves less out.
            if best.is_none() || dia * s >= READABLE {
                best = Some(Axis { scale: s, words, windows });
            }
        }
    }
    best.unwrap_or_else(|| {
        let s = room.width / length.max(NEAR);
        Axis { scale: s, words: "not to scale".to_owned(), windows: vec![Window { z0: 0.0, z1: length, x0: 0.0 }] }
    })
}

/// The windows that are left where as few as possible of the longest plain stretches are shortened until all fits; nothing
/// where it does not.
fn broken(marks: &[f64], scale: f64, width: f64) -> Option<Vec<Window>> {
    let paper: Vec<f64> = marks.windows(2).map(|m| (m[1] - m[0]) * scale).collect();
    let mut order: Vec<usize> = (0..paper.len()).collect();
    order.sort_by(|a, b| paper[*b].total_cmp(&paper[*a]).then(a.cmp(b)));
    let whole: f64 = paper.iter().sum();
    // The stretches that are broken share evenly what the others leave.
    let (count, kept) = (1..=order.len()).find_map(|count| {
        let cut: f64 = order[..count].iter().map(|i| paper[*i]).sum();
        let each = (width - (whole - cut)) / count as f64;
        let shortest = paper[order[count - 1]];
        (each >= KEPT && shortest > each + GAP).then_some((count, each))
    })?;
    let mut windows = Vec::new();
    let (mut start, mut x0) = (0.0, 0.0);
    for (i, m) in marks.windows(2).enumerate() {
        if !order[..count].contains(&i) {
            continue;
        }
        let half = (kept - GAP) / 2.0 / scale;
        windows.push(Window { z0: start, z1: m[0] + half, x0 });
        x0 += (m[0] + half - start) * scale + GAP;
        start = m[1] - half;
    }
    let end = marks.last().copied().unwrap_or(0.0);
    windows.push(Window { z0: start, z1: end, x0 });
    Some(windows)
}

#[cfg(test)]
mod tests {
    use super::*;

    const ROOM: Room = Room { width: 150.0, height: 64.0, tall: 92.0 };

    #[test]
    fn a_view_takes_the_largest_scale_that_fits() {
        assert_eq!(choose(&[0.0, 30.0], 15.0, ROOM).words, "2:1");
        assert_eq!(choose(&[0.0, 22.0], 45.0, ROOM).words, "2:1");
        assert_eq!(choose(&[0.0, 320.0], 60.0, ROOM).words, "1:2", "wide enough to read: smaller rather than broken");
        assert_eq!(choose(&[0.0, 0.5], 0.4, ROOM).words, "100:1");
    }

    #[test]
    fn a_slender_part_is_broken_where_nothing_happens() {
        let axis = choose(&[0.0, 2.0, 198.0, 200.0], 1.0, ROOM);
        assert!(axis.is_broken());
        assert!(axis.scale >= 14.0, "{}", axis.words);
        assert!(axis.width() <= ROOM.width + 1e-9);
        assert!((axis.x(2.0) - 2.0 * axis.scale).abs() < 1e-9, "what is at the ends stays true");
        assert!(axis.windows.iter().all(|w| w.z1 > w.z0));
        let places: Vec<f64> = [0.0, 1.0, 50.0, 100.0, 199.0, 200.0].iter().map(|z| axis.x(*z)).collect();
        assert!(places.is_sorted());
    }
}
