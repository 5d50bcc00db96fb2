//! Where holes meet bores.

use super::part::{FeatureId, Hole, Kind, Part};

impl Part {
    /// What a hole breaks into: the feature that it is said to end in, or the widest bore that it crosses on its way through.
    pub fn breaks_into(&self, hole: &Hole) -> Option<FeatureId> {
        let crossed = || {
            let bores = self.features.iter().enumerate().filter_map(|(id, f)| match &f.kind {
                Kind::Bore(b) if b.zone.start <= hole.at && hole.at <= b.zone.end => Some((id, b.dia.nominal)),
                _ => None,
            });
            bores.max_by(|a, b| a.1.total_cmp(&b.1)).map(|(id, _)| id)
        };
        hole.into.or_else(|| (hole.through && !hole.is_axial()).then(crossed).flatten())
    }
}
