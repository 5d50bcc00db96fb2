//! What a shop's own records say of the estimates: factors, and how far the records scatter about them.

use super::part::Part;
use crate::quantity::Ratio;
use crate::quantity::print::number;
use std::collections::BTreeMap;

/// A correction factor with what stands behind it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Factor {
    /// Actual over estimated, over 0; 1 corrects nothing.
    pub factor: f64,
    /// At least 1.
    pub records: u32,
    /// Spread of the logarithms of actual over corrected times, each record told by the others.
    pub spread: Ratio,
}

impl Factor {
    /// A factor as a shop file keeps it: to a ten-thousandth, its spread to a hundredth of a percent.
    pub fn new(factor: f64, records: u32, spread: f64) -> Factor {
        let spread = Ratio::percent((spread * 1e4).round() / 100.0);
        Factor { factor: (factor * 1e4).round() / 1e4, records, spread }
    }

    /// `1.08 from 23 records`.
    pub fn words(&self) -> String {
        let records = if self.records == 1 { "record" } else { "records" };
        format!("{} from {} {records}", number(self.factor, 3), self.records)
    }
}

/// The factors of a shop. What is not there is not corrected.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Calibration {
    /// Of the programmed cycle, by machine.
    pub cycle: BTreeMap<String, Factor>,
    /// Of the programmed cycle beside the machine's, by the name of a family or a part.
    pub families: BTreeMap<String, Factor>,
    /// Of the cycle with stoppages over the programmed one, by machine.
    pub stoppages: BTreeMap<String, Factor>,
    /// Of the setup, by machine.
    pub setup: BTreeMap<String, Factor>,
    /// Of one kind of setting up beside the machine's, by the key of its standard time.
    pub elements: BTreeMap<String, Factor>,
}

impl Calibration {
    /// Whether it corrects nothing.
    pub fn is_empty(&self) -> bool {
        self.groups().all(|(_, factors)| factors.is_empty())
    }

    /// All factors by what they correct.
    pub fn groups(&self) -> impl Iterator<Item = (&'static str, &BTreeMap<String, Factor>)> {
        [
            ("cycle of machine", &self.cycle),
            ("cycle of family", &self.families),
            ("stoppages of machine", &self.stoppages),
            ("setup of machine", &self.setup),
            ("setup element", &self.elements),
        ]
        .into_iter()
    }

    /// What corrects the cycle of a part on a machine: by the part's family, or by its own name.
    pub fn of_cycle(&self, machine: &str, part: &Part) -> CycleCorrection<'_> {
        let family = part.family.as_ref().and_then(|(name, _)| self.families.get(name));
        CycleCorrection {
            machine: self.cycle.get(machine),
            family: family.or_else(|| self.families.get(&part.name)),
            stoppages: self.stoppages.get(machine),
        }
    }

    /// The factor of a line of a setup: the machine's by that of its kind.
    pub fn of_setup(&self, machine: &str, kind: &str) -> f64 {
        product([self.setup.get(machine), self.elements.get(kind)])
    }
}

/// What corrects one cycle.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct CycleCorrection<'a> {
    pub machine: Option<&'a Factor>,
    pub family: Option<&'a Factor>,
    pub stoppages: Option<&'a Factor>,
}

impl<'a> CycleCorrection<'a> {
    /// Of the programmed cycle.
    pub fn of_programmed(&self) -> f64 {
        product([self.machine, self.family])
    }

    /// Of the whole cycle.
    pub fn of_whole(&self) -> f64 {
        product([self.machine, self.family, self.stoppages])
    }

    /// The factor whose records tell how far a programmed cycle may lie off: the machine's, else the family's.
    pub fn told_by(&self) -> Option<&'a Factor> {
        self.machine.or(self.family)
    }

    /// `corrected by 1.08 from 23 records`, each factor by itself where there are several; nothing where nothing is corrected.
    pub fn words(&self) -> Option<String> {
        let all = [("machine", self.machine), ("part", self.family), ("stoppages", self.stoppages)];
        let there: Vec<_> = all.into_iter().filter_map(|(of, f)| Some((of, f?))).collect();
        match there.as_slice() {
            [] => None,
            [(_, only)] => Some(format!("corrected by {}", only.words())),
            several => {
                let each: Vec<String> = several.iter().map(|(of, f)| format!("{of} {}", f.words())).collect();
                Some(format!("corrected by {}: {}", number(self.of_whole(), 3), each.join(", ")))
            }
        }
    }
}

fn product<const N: usize>(factors: [Option<&Factor>; N]) -> f64 {
    factors.into_iter().flatten().map(|f| f.factor).product()
}
