//! A radius along z, piece by piece: cut down or raised by cones and cylinders until it is the contour of a part or of
//! its bore.

/// Two places nearer than this (mm) are one: far below any tolerance.
pub(super) const NEAR: f64 = 1e-6;

/// A stretch along z with its radii at both ends, in mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Span {
    pub(super) z0: f64,
    pub(super) z1: f64,
    pub(super) r0: f64,
    pub(super) r1: f64,
    /// A piece of a curve: where it meets the next piece of it there is no edge.
    pub(super) smooth: bool,
}

impl Span {
    pub(super) fn new((z0, z1): (f64, f64), (r0, r1): (f64, f64)) -> Span {
        Span { z0, z1, r0, r1, smooth: false }
    }
    pub(super) fn even(z0: f64, z1: f64, r: f64) -> Span {
        Span::new((z0, z1), (r, r))
    }
    /// The radius at a place within it.
    pub(super) fn at(&self, z: f64) -> f64 {
        if self.z1 - self.z0 <= NEAR {
            return self.r0;
        }
        self.r0 + (self.r1 - self.r0) * (z - self.z0) / (self.z1 - self.z0)
    }
    fn slope(&self) -> f64 {
        libm::atan2(self.r1 - self.r0, self.z1 - self.z0)
    }
    /// The piece of it between two places.
    fn part(&self, z0: f64, z1: f64) -> Span {
        Span { z0, z1, r0: self.at(z0), r1: self.at(z1), smooth: self.smooth }
    }
}

/// An edge: where the contour bends or steps.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Edge {
    pub(super) z: f64,
    pub(super) before: f64,
    pub(super) after: f64,
}

/// Spans end to end from 0 to the length.
#[derive(Clone, Debug)]
pub(super) struct Profile {
    pub(super) spans: Vec<Span>,
}

impl Profile {
    /// Nothing but the axis.
    pub(super) fn axis(length: f64) -> Profile {
        Profile { spans: vec![Span::even(0.0, length, 0.0)] }
    }

    fn split(&mut self, z: f64) {
        if let Some(i) = self.spans.iter().position(|s| z > s.z0 + NEAR && z < s.z1 - NEAR) {
            let whole = self.spans[i];
            self.spans[i] = whole.part(whole.z0, z);
            self.spans.insert(i + 1, whole.part(z, whole.z1));
        }
    }

    /// Nowhere above the span, within its stretch.
    pub(super) fn cut(&mut self, by: Span) {
        self.merge(by, |own, new| new < own);
    }

    /// Nowhere below the span, within its stretch.
    pub(super) fn raise(&mut self, by: Span) {
        self.merge(by, |own, new| new > own);
    }

    fn merge(&mut self, by: Span, takes: fn(f64, f64) -> bool) {
        if by.z1 - by.z0 <= NEAR {
            return;
        }
        self.split(by.z0);
        self.split(by.z1);
        // Where both cross, the piece is split, so that each piece is wholly one or the other.
        let crossings: Vec<f64> = self.within(by.z0, by.z1).filter_map(|s| crossing(s, &by)).collect();
        for z in crossings {
            self.split(z);
        }
        for s in &mut self.spans {
            let middle = (s.z0 + s.z1) / 2.0;
            if middle > by.z0 && middle < by.z1 && takes(s.at(middle), by.at(middle)) {
                *s = by.part(s.z0, s.z1);
            }
        }
    }

    fn within(&self, z0: f64, z1: f64) -> impl Iterator<Item = &Span> {
        self.spans.iter().filter(move |s| s.z0 >= z0 - NEAR && s.z1 <= z1 + NEAR)
    }

    /// The radius just before and just after a place; at the ends the side that is there.
    pub(super) fn around(&self, z: f64) -> (f64, f64) {
        let before = self.spans.iter().rev().find(|s| s.z0 < z - NEAR && s.z1 >= z - NEAR).map(|s| s.at(z.min(s.z1)));
        let after = self.spans.iter().find(|s| s.z1 > z + NEAR && s.z0 <= z + NEAR).map(|s| s.at(z.max(s.z0)));
        let (b, a) = (before.or(after).unwrap_or(0.0), after.or(before).unwrap_or(0.0));
        (b, a)
    }

    /// The larger radius at a place.
    pub(super) fn at(&self, z: f64) -> f64 {
        let (before, after) = self.around(z);
        before.max(after)
    }

    /// The largest radius of a stretch.
    pub(super) fn largest(&self, z0: f64, z1: f64) -> f64 {
        self.slice(z0, z1).iter().map(|s| s.r0.max(s.r1)).fold(0.0, f64::max)
    }

    /// What lies between two places.
    pub(super) fn slice(&self, z0: f64, z1: f64) -> Vec<Span> {
        self.spans
            .iter()
            .filter(|s| s.z1 > z0 + NEAR && s.z0 < z1 - NEAR)
            .map(|s| s.part(s.z0.max(z0), s.z1.min(z1)))
            .collect()
    }

    /// Where it bends or steps, its ends left out.
    pub(super) fn edges(&self) -> Vec<Edge> {
        self.spans
            .windows(2)
            .filter(|pair| {
                let step = (pair[0].r1 - pair[1].r0).abs() > NEAR;
                let bend = (pair[0].slope() - pair[1].slope()).abs();
                // A curve meets its neighbours without an edge, but for a real corner; elsewhere half a degree is one.
                let least = if pair[0].smooth || pair[1].smooth { 0.45 } else { 0.0087 };
                step || bend > least
            })
            .map(|pair| Edge { z: pair[0].z1, before: pair[0].r1, after: pair[1].r0 })
            .collect()
    }
}

/// Points of spans, steps with two points.
pub(super) fn points(spans: &[Span]) -> Vec<(f64, f64)> {
    let mut all: Vec<(f64, f64)> = Vec::new();
    for s in spans {
        for p in [(s.z0, s.r0), (s.z1, s.r1)] {
            if all.last().is_none_or(|l| (l.0 - p.0).abs() > NEAR || (l.1 - p.1).abs() > NEAR) {
                all.push(p);
            }
        }
    }
    all
}

/// Where two spans cross within the first.
fn crossing(a: &Span, b: &Span) -> Option<f64> {
    let (start, end) = (a.r0 - b.at(a.z0), a.r1 - b.at(a.z1));
    (start * end < 0.0).then(|| a.z0 + (a.z1 - a.z0) * start / (start - end))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn cuts_and_raises_keep_to_their_stretch() {
        let mut p = Profile::axis(10.0);
        p.raise(Span::even(0.0, 10.0, 4.0));
        p.cut(Span::even(3.0, 5.0, 2.0));
        p.cut(Span::new((0.0, 1.0), (3.0, 4.0)));
        assert_eq!(p.around(3.0), (4.0, 2.0));
        assert_eq!(p.around(5.0), (2.0, 4.0));
        assert_eq!(p.around(0.0), (3.0, 3.0));
        assert_eq!(p.edges().iter().map(|e| e.z).collect::<Vec<_>>(), [1.0, 3.0, 5.0]);
    }

    #[test]
    fn a_cone_that_crosses_is_cut_where_it_crosses() {
        let mut p = Profile::axis(10.0);
        p.raise(Span::even(0.0, 10.0, 2.0));
        p.raise(Span::new((0.0, 10.0), (4.0, 0.0)));
        assert_eq!(p.around(5.0), (2.0, 2.0));
        assert_eq!(p.at(2.5), 3.0);
        assert_eq!(p.at(7.5), 2.0);
    }
}
