//! The one order of a part's features, so that two files with the same statements in another order are the same part.

use super::part::{End, FeatureId, Kind, Part, Zone};
use crate::quantity::Length;

impl Part {
    /// The part with its features in order of the drawing, front to back, and its demands in order of their features.
    /// Features that begin and end at the same places stand in order of their names, which no two share.
    #[must_use]
    pub fn in_drawing_order(mut self) -> Part {
        let mut order: Vec<FeatureId> = (0..self.features.len()).collect();
        order.sort_by(|a, b| {
            let (a, b) = (&self.features[*a], &self.features[*b]);
            let (a_zone, b_zone) = (self.stretch(&a.kind), self.stretch(&b.kind));
            let near = a_zone.start.total_cmp(&b_zone.start).then(a_zone.end.total_cmp(&b_zone.end));
            near.then_with(|| a.name.cmp(&b.name))
        });
        // Where each feature goes.
        let mut moved = vec![0; order.len()];
        for (to, from) in order.iter().enumerate() {
            moved[*from] = to;
        }
        let mut features = Vec::with_capacity(order.len());
        for from in &order {
            let mut feature = self.features[*from].clone();
            match &mut feature.kind {
                Kind::Hole(h) => h.into = h.into.map(|f| moved[f]),
                Kind::Edges(e) => {
                    e.of.iter_mut().for_each(|f| *f = moved[*f]);
                    e.of.sort_unstable();
                }
                _ => {}
            }
            features.push(feature);
        }
        self.features = features;
        for demand in &mut self.demands {
            demand.feature = moved[demand.feature];
            demand.datum = demand.datum.map(|f| moved[f]);
        }
        let key = |d: &super::part::Demand| (d.feature, d.kind, d.datum);
        self.demands.sort_by(|a, b| key(a).cmp(&key(b)).then(a.value.total_cmp(&b.value)));
        // Steps after the machine follow each other as written: their order is part of the work.
        for step in &mut self.after {
            step.feature = step.feature.map(|f| moved[f]);
        }
        self
    }

    /// Where a feature begins and ends along z; nought long for what lies at one place.
    pub fn stretch(&self, kind: &Kind) -> Zone {
        let length = self.length.nominal;
        let from = |end: End, depth: Length| match end {
            End::Front => Zone { start: Length::ZERO, end: depth },
            End::Back => Zone { start: length - depth, end: length },
        };
        let at = |z: Length| Zone { start: z, end: z };
        match kind {
            Kind::Face(f) => from(f.end, Length::ZERO),
            Kind::Socket(s) => from(s.from, s.depth),
            Kind::Radius(r) => at(r.at),
            Kind::Chamfer(c) => at(c.at),
            Kind::Hole(h) => at(h.at),
            Kind::Engrave(e) => at(e.at),
            Kind::Edges(_) => at(length),
            Kind::Turn(t) => t.zone,
            Kind::Taper(t) => t.zone,
            Kind::Sphere(s) => s.zone,
            Kind::Groove(g) => g.zone,
            Kind::Undercut(u) => u.zone,
            Kind::Knurl(k) => k.zone,
            Kind::Thread(t) => t.zone,
            Kind::Bore(b) => b.zone,
            Kind::Slot(s) => s.zone,
            Kind::Keyway(k) => k.zone,
            Kind::Flat(f) => f.zone,
            Kind::Polygon(p) => p.zone,
            Kind::Contour(c) => c.zone,
        }
    }
}
