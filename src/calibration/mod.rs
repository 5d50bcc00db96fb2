//! Calibration: correction factors from records of orders that were made, shrunk towards no correction where little stands
//! behind them, and how well they hold for records that they were not fitted to.

pub mod estimate;
mod fit;

use crate::formulas::FormulaError;
use crate::formulas::robust::{HUBER, spread};
use crate::model::calibration::{Calibration, Factor};
use crate::model::record::Record;
use fit::{Fits, Observation};
use std::collections::BTreeMap;

/// Up to so many records each is left out by itself; of more, twentieths are.
const EACH_LEFT_OUT: usize = 200;
const FOLDS: usize = 20;
/// A residual beyond so many spreads counts a third at most, and is told.
const WILD: f64 = 3.0 * HUBER;

/// What a factor corrects.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Of {
    /// The programmed cycle, by machine.
    Cycle,
    /// The programmed cycle beside the machine's factor, by family.
    Family,
    /// The cycle with stoppages over the programmed one, by machine.
    Stoppages,
    /// The setup, by machine.
    Setup,
    /// One kind of setting up, by its standard time.
    Element,
}

/// A factor with what the records say and how well it holds.
#[derive(Clone, Debug, PartialEq)]
pub struct Found {
    pub of: Of,
    /// A machine, a family, or the key of a standard time.
    pub name: String,
    pub records: usize,
    /// Actual over estimated as the records say it, other factors taken out.
    pub said: f64,
    /// What is believed of it.
    pub factor: f64,
    pub off: Off,
}

/// How far estimates are off, as spreads of the logarithm of actual over estimated.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Off {
    /// As they were estimated.
    pub before: f64,
    /// Corrected by factors from the other records.
    pub left_out: f64,
}

/// How well all factors of a kind hold together.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Check {
    /// Not [`Of::Family`]: families are checked with the cycle.
    pub of: Of,
    pub records: usize,
    pub off: Off,
}

/// A record that hardly counts.
#[derive(Clone, Debug, PartialEq)]
pub struct Wild {
    pub row: usize,
    pub of: Of,
    pub name: String,
    /// Actual over estimated, all factors counted.
    pub ratio: f64,
}

/// What records say.
#[derive(Clone, Debug, PartialEq)]
pub struct Calibrated {
    pub found: Vec<Found>,
    pub checks: Vec<Check>,
    pub wild: Vec<Wild>,
    /// How many shares of the records were left out in turn.
    pub folds: usize,
}

/// Fits factors to records whose estimates are complete; those of an actual time without an estimate are passed over. The
/// order of the records changes nothing.
///
/// # Errors
/// [`FormulaError`] where a time of a record is none.
pub fn calibrate(records: &[Record]) -> Result<Calibrated, FormulaError> {
    let mut sorted: Vec<&Record> = records.iter().collect();
    sorted.sort_by_cached_key(|r| format!("{:?}", Record { row: 0, ..(*r).clone() }));
    let fits = Fits::to(&sorted)?;
    let all = fits.observed(&sorted);
    let folds = if sorted.len() <= EACH_LEFT_OUT { sorted.len() } else { FOLDS };
    let left_out = left_out(&sorted, folds)?;
    let mut wild = Vec::new();
    for o in &all {
        let residual = fits.residual(o);
        if residual.abs() > WILD * fits.spread(o.of) {
            let ratio = libm::exp(residual);
            wild.push(Wild { row: o.row, of: o.of, name: o.group.clone(), ratio });
        }
    }
    wild.sort_by(|a, b| (a.row, a.of).cmp(&(b.row, b.of)).then_with(|| a.name.cmp(&b.name)));
    let mut found = Vec::new();
    let mut checks = Vec::new();
    for of in [Of::Cycle, Of::Stoppages, Of::Element, Of::Setup] {
        // Left-out residuals stand in the same order as the observations.
        let pairs: Vec<(&Observation, f64)> =
            all.iter().zip(&left_out).filter(|(o, _)| o.of == of).map(|(o, r)| (o, *r)).collect();
        if pairs.is_empty() {
            continue;
        }
        checks.push(Check { of, records: pairs.len(), off: off(&pairs)? });
        found.extend(groups(of, &pairs, |o| Some(o.group.clone()), &fits)?);
        found.extend(groups(Of::Family, &pairs, |o| o.family.clone(), &fits)?);
    }
    checks.sort_by_key(|c| c.of);
    found.sort_by(|a, b| (a.of, &a.name).cmp(&(b.of, &b.name)));
    Ok(Calibrated { found, checks, wild, folds })
}

/// The residual of every observation about factors from the records of the other shares, in the order of the observations.
fn left_out(sorted: &[&Record], folds: usize) -> Result<Vec<f64>, FormulaError> {
    let mut residuals: Vec<Vec<f64>> = vec![Vec::new(); sorted.len()];
    for fold in 0..folds {
        let kept: Vec<&Record> =
            sorted.iter().enumerate().filter(|(i, _)| i % folds != fold).map(|(_, r)| *r).collect();
        let fits = Fits::to(&kept)?;
        for (i, record) in sorted.iter().enumerate().filter(|(i, _)| i % folds == fold) {
            residuals[i] = fits.observed(&[*record]).iter().map(|o| fits.residual(o)).collect();
        }
    }
    Ok(residuals.into_iter().flatten().collect())
}

fn off(pairs: &[(&Observation, f64)]) -> Result<Off, FormulaError> {
    let before: Vec<f64> = pairs.iter().map(|(o, _)| o.as_estimated).collect();
    let left_out: Vec<f64> = pairs.iter().map(|(_, r)| *r).collect();
    Ok(Off { before: spread(&before)?, left_out: spread(&left_out)? })
}

fn groups(
    of: Of,
    pairs: &[(&Observation, f64)],
    name: impl Fn(&Observation) -> Option<String>,
    fits: &Fits,
) -> Result<Vec<Found>, FormulaError> {
    let mut groups: BTreeMap<String, Vec<(&Observation, f64)>> = BTreeMap::new();
    for (o, residual) in pairs {
        if let Some(name) = name(o) {
            groups.entry(name).or_default().push((*o, *residual));
        }
    }
    groups
        .into_iter()
        .map(|(name, pairs)| {
            let effect = fits.effect(of, &name);
            Ok(Found {
                of,
                records: pairs.len(),
                said: libm::exp(effect.said),
                factor: libm::exp(effect.believed),
                off: off(&pairs)?,
                name,
            })
        })
        .collect()
}

impl Calibrated {
    /// The factors as a shop file keeps them.
    pub fn factors(&self) -> Calibration {
        let mut c = Calibration::default();
        for f in &self.found {
            let group = match f.of {
                Of::Cycle => &mut c.cycle,
                Of::Family => &mut c.families,
                Of::Stoppages => &mut c.stoppages,
                Of::Setup => &mut c.setup,
                Of::Element => &mut c.elements,
            };
            let records = u32::try_from(f.records).unwrap_or(u32::MAX);
            group.insert(f.name.clone(), Factor::new(f.factor, records, f.off.left_out));
        }
        c
    }
}
