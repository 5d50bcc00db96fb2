//! The limits of a thread's class.

use super::part::{Thread, ThreadForm};
use crate::tables::threads::{LimitPair, Sixty, external_major_limits, internal_minor_limits};

impl Thread {
    /// The series whose limits the tables have. UNJ differs from UN in its root, so its bolt has the same major diameter.
    fn series(&self) -> Option<Sixty> {
        match self.form {
            ThreadForm::Metric => Some(Sixty::Metric),
            ThreadForm::Unified(_) => Some(Sixty::Unified),
            ThreadForm::UnifiedJ(_) if !self.internal => Some(Sixty::Unified),
            _ => None,
        }
    }

    /// Smallest and largest diameter over the crests of an external thread in its class, where the tables have them.
    pub fn crest_limits(&self) -> Option<LimitPair> {
        let class = self.class.as_deref().filter(|_| !self.internal)?;
        external_major_limits(self.series()?, self.major, self.pitch, class).ok()
    }

    /// Smallest and largest minor diameter of an internal thread in its class, where the tables have them.
    pub fn core_limits(&self) -> Option<LimitPair> {
        let class = self.class.as_deref().filter(|_| self.internal)?;
        internal_minor_limits(self.series()?, self.major, self.pitch, class).ok()
    }
}
