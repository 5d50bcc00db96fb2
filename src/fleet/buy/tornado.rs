//! What matters: one figure after the other a tenth and a fifth lower and higher, everything planned again.

use super::base::Variant;
use super::cash::{Case, npv};
use super::outlook::Outlook;
use super::sets::{Fault, Judge, Judged, Without};
use crate::costing::Amount;
use crate::quantity::Money;
use rayon::prelude::*;

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

    fn outlook(self, plain: &Outlook, factor: f64) -> Outlook {
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

/// The bars of a purchase, the widest first. Of the ways to run the shop only `ways` are tried: those that are best as planned,
/// with and without buying.
///
/// # Errors
/// [`Fault`].
pub fn tornado(judge: &Judge, without: &Without, judged: &Judged, ways: &[Variant]) -> Result<Vec<Bar>, Fault> {
    let at = |(moved, factor): &(Moved, f64)| -> Result<Money, Fault> {
        let case = match moved {
            Moved::Price => {
                Case { price: judged.case.price * *factor, list: judged.case.list * *factor, ..judged.case }
            }
            _ => {
                let outlook = moved.outlook(&judge.outlook, *factor);
                let before = judge.asked.best_of(ways, &without.floor, &outlook)?.left_over;
                Case { gain: gain(judge, before, judged, &outlook, ways)?, ..judged.case }
            }
        };
        Ok(npv(&case, judge.asked.terms)?)
    };
    let asked: Vec<(Moved, f64)> = Moved::ALL.into_iter().flat_map(|m| FACTORS.map(|f| (m, f))).collect();
    let npv = asked.par_iter().map(at).collect::<Result<Vec<_>, _>>()?;
    let five = |npv: &[Money]| std::array::from_fn(|i| npv[i]);
    let bars = Moved::ALL.into_iter().zip(npv.chunks_exact(FACTORS.len()));
    let mut bars: Vec<Bar> = bars.map(|(moved, npv)| Bar { moved, npv: five(npv) }).collect();
    bars.sort_by(|a, b| b.swing().total_cmp(&a.swing()));
    Ok(bars)
}

/// More left over a year in another outlook than the `before` that is left over without buying.
///
/// # Errors
/// [`Fault`].
pub fn gain(
    judge: &Judge,
    before: Amount,
    judged: &Judged,
    outlook: &Outlook,
    ways: &[Variant],
) -> Result<Money, Fault> {
    let with = judge.asked.best_of(ways, &judged.floor, outlook)?.left_over;
    Ok(judge.gain(judge.at_least(&judged.set, with, before), before))
}
