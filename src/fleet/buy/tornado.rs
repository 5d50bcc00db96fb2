//! What matters: one figure after the other a tenth and a fifth lower and higher, everything planned again.

use super::cash::{Case, npv};
use super::outlook::Outlook;
use super::sets::{Fault, Judge, Judged};
use super::steady::Steady;
use crate::quantity::Money;

/// A figure that is moved.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, serde::Serialize, schemars::JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Moved {
    Volumes,
    Prices,
    HourCosts,
    /// Of what is bought.
    Price,
    Availability,
    SetupTimes,
}

impl Moved {
    pub const ALL: [Moved; 6] =
        [Moved::Volumes, Moved::Prices, Moved::HourCosts, Moved::Price, Moved::Availability, Moved::SetupTimes];

    /// Those that another plan answers; the price of what is bought changes none.
    pub const PLANNED: [Moved; 5] =
        [Moved::Volumes, Moved::Prices, Moved::HourCosts, Moved::Availability, Moved::SetupTimes];

    /// Numbers of [`FACTORS`] on either side of the middle, each from the harder to the easier: what is harder than planned, and
    /// what is easier.
    pub(super) fn hard_to_easy(self) -> (&'static [usize; 2], &'static [usize; 2]) {
        match self {
            Moved::Prices | Moved::Availability => (&[0, 1], &[3, 4]),
            Moved::Volumes | Moved::HourCosts | Moved::Price | Moved::SetupTimes => (&[4, 3], &[1, 0]),
        }
    }

    /// The owner's words.
    pub fn words(self) -> &'static str {
        match self {
            Moved::Volumes => "volumes",
            Moved::Prices => "prices of the jobs",
            Moved::HourCosts => "wages and running costs",
            Moved::Price => "price of what is bought",
            Moved::Availability => "hours of the machines",
            Moved::SetupTimes => "setup times",
        }
    }

    pub(super) fn outlook(self, plain: &Outlook, factor: f64) -> Outlook {
        let mut o = plain.clone();
        match self {
            Moved::Volumes => o.volumes.iter_mut().for_each(|v| *v *= factor),
            Moved::Prices => o.prices.iter_mut().for_each(|p| *p *= factor),
            Moved::HourCosts => o.by_hour *= factor,
            Moved::Price => {}
            Moved::Availability => o.hours *= factor,
            Moved::SetupTimes => o.setting *= factor,
        }
        o
    }
}

/// Factors, ascending; the middle one changes nothing.
pub const FACTORS: [f64; 5] = [0.8, 0.9, 1.0, 1.1, 1.2];

/// Net present value at each of [`FACTORS`].
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bar {
    pub moved: Moved,
    pub npv: [Money; 5],
}

impl Bar {
    /// From the least to the most that comes of it.
    pub fn swing(&self) -> f64 {
        let all = self.npv.map(Money::to_units);
        all.iter().copied().fold(f64::MIN, f64::max) - all.iter().copied().fold(f64::MAX, f64::min)
    }
}

/// The bars of a purchase, the widest first.
///
/// # Errors
/// [`Fault`].
pub fn tornado(judge: &Judge, judged: &Judged, without: &Steady, with: &Steady) -> Result<Vec<Bar>, Fault> {
    let at = |moved: Moved, at: usize| -> Result<Money, Fault> {
        let case = match (without.moved.get(&moved), with.moved.get(&moved)) {
            (Some(before), Some(now)) => Case { gain: judge.gain_of(&judged.set, now[at], before[at]), ..judged.case },
            _ => {
                let factor = FACTORS[at];
                Case { price: judged.case.price * factor, list: judged.case.list * factor, ..judged.case }
            }
        };
        Ok(npv(&case, judge.asked.terms)?)
    };
    let mut bars = Vec::new();
    for moved in Moved::ALL {
        let mut npv = [Money::ZERO; FACTORS.len()];
        for (i, npv) in npv.iter_mut().enumerate() {
            *npv = at(moved, i)?;
        }
        bars.push(Bar { moved, npv });
    }
    bars.sort_by(|a, b| b.swing().total_cmp(&a.swing()));
    Ok(bars)
}
