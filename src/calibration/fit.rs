//! The fit: logarithms of actual over estimated times, explained by the machine and the family, each effect shrunk towards
//! nought, wild records held back.
//!
//! For the programmed cycle of order i on machine j with a part of family k, `y_i = ln(actual / estimated) = m_j + f_k + e_i`.
//! The effects minimise `sum_i rho(e_i) + sum_j (s/t_m)^2 m_j^2 / 2 + sum_k (s/t_f)^2 f_k^2 / 2`, with Huber's rho at 1.345 s:
//! the sum is strictly convex, so there is one answer, which weighted shrunk means reach in turn. What else is fitted has one
//! kind of effect. With one machine and no wild record it is `m = n mean(y) / (n + k)`, `k = (s/t)^2`.

use super::Of;
use crate::formulas::FormulaError;
use crate::formulas::robust::{huber_weight, median, pooled_spread, shrunk_mean, spread};
use crate::model::record::Record;
use std::collections::BTreeMap;

/// What is expected before any record, as spreads of logarithms.
struct Expected {
    /// Of an order about its own machine and family.
    order: f64,
    /// Between machines, or kinds of setting up.
    group: f64,
    family: f64,
}

/// How many records what is expected counts for (common practice, no source).
const EXPECTED_COUNTS: f64 = 4.0;

impl Expected {
    /// From what tables and shops usually miss by (common practice, no source; from memory).
    fn of(of: Of) -> Expected {
        match of {
            Of::Cycle | Of::Family => Expected { order: 0.25, group: 0.10, family: 0.07 },
            Of::Stoppages => Expected { order: 0.12, group: 0.06, family: 0.06 },
            Of::Setup => Expected { order: 0.40, group: 0.20, family: 0.20 },
            Of::Element => Expected { order: 0.50, group: 0.25, family: 0.25 },
        }
    }
}

/// What one record says of one kind of time.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Observation {
    pub(super) row: usize,
    pub(super) of: Of,
    /// The machine, or the kind of setting up.
    pub(super) group: String,
    /// Of the cycle only.
    pub(super) family: Option<String>,
    /// Logarithm of actual over estimated.
    pub(super) as_estimated: f64,
    /// The same, with the factors of its elements counted where it is a whole setup.
    y: f64,
}

/// Effects of one kind of time.
struct Fit {
    spread: f64,
    groups: BTreeMap<String, Effect>,
    families: BTreeMap<String, Effect>,
}

/// The logarithm of a factor.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(super) struct Effect {
    /// As its records say it, once all other effects are taken out.
    pub(super) said: f64,
    /// What is believed of it: nearer to nought.
    pub(super) believed: f64,
}

/// All effects.
pub(super) struct Fits {
    cycle: Fit,
    stoppages: Fit,
    element: Fit,
    setup: Fit,
}

impl Fits {
    /// Fits all effects to records; the records' order must be fixed, so that sums come out alike.
    pub(super) fn to(records: &[&Record]) -> Result<Fits, FormulaError> {
        let of = |of: Of, each: &dyn Fn(&Record) -> Vec<Observation>| {
            let observations: Vec<Observation> = records.iter().flat_map(|r| each(r)).collect();
            fit(&observations, &Expected::of(of))
        };
        let element = of(Of::Element, &elements)?;
        let setup = of(Of::Setup, &|r| setup(r, &element).into_iter().collect())?;
        Ok(Fits {
            cycle: of(Of::Cycle, &|r| cycle(r).into_iter().collect())?,
            stoppages: of(Of::Stoppages, &|r| stoppages(r).into_iter().collect())?,
            element,
            setup,
        })
    }

    /// What records say, record by record.
    pub(super) fn observed(&self, records: &[&Record]) -> Vec<Observation> {
        let each = |r: &&Record| {
            let single = [cycle(r), stoppages(r), setup(r, &self.element)];
            single.into_iter().flatten().chain(elements(r)).collect::<Vec<_>>()
        };
        records.iter().flat_map(each).collect()
    }

    fn of(&self, of: Of) -> &Fit {
        match of {
            Of::Cycle | Of::Family => &self.cycle,
            Of::Stoppages => &self.stoppages,
            Of::Setup => &self.setup,
            Of::Element => &self.element,
        }
    }

    /// An effect; none for what no record speaks of.
    pub(super) fn effect(&self, of: Of, name: &str) -> Effect {
        let fit = self.of(of);
        let effects = if of == Of::Family { &fit.families } else { &fit.groups };
        effects.get(name).copied().unwrap_or_default()
    }

    /// What the factors leave of an observation.
    pub(super) fn residual(&self, o: &Observation) -> f64 {
        let family = o.family.as_ref().map_or(0.0, |name| self.effect(Of::Family, name).believed);
        o.y - self.effect(o.of, &o.group).believed - family
    }

    /// The spread of one order about its factors.
    pub(super) fn spread(&self, of: Of) -> f64 {
        self.of(of).spread
    }
}

fn observation(r: &Record, of: Of, group: &str, ratio: f64, y: f64) -> Option<Observation> {
    let family = (of == Of::Cycle).then(|| r.family().to_owned());
    let as_estimated = libm::log(ratio);
    let sound = as_estimated.is_finite() && y.is_finite();
    sound.then(|| Observation { row: r.row, of, group: group.to_owned(), family, as_estimated, y })
}

fn cycle(r: &Record) -> Option<Observation> {
    let ratio = r.cycle.actual? / r.cycle.estimated?;
    observation(r, Of::Cycle, &r.machine, ratio, libm::log(ratio))
}

/// Stoppages as a share of the programmed time: an order without any says something as well, so that not they but the cycle
/// with them is held against the estimate.
fn stoppages(r: &Record) -> Option<Observation> {
    let pieces = r.quantity? as f64;
    let share = |standing, cycle| 1.0 + standing / (cycle * pieces);
    let actual = share(r.stoppages.actual?, r.cycle.actual?);
    let ratio = actual / share(r.stoppages.estimated?, r.cycle.estimated?);
    observation(r, Of::Stoppages, &r.machine, ratio, libm::log(ratio))
}

fn elements(r: &Record) -> Vec<Observation> {
    let each = |(key, pair): (&String, &crate::model::record::Pair)| {
        let ratio = pair.actual? / pair.estimated?;
        observation(r, Of::Element, key, ratio, libm::log(ratio))
    };
    r.elements.iter().filter_map(each).collect()
}

/// A whole setup against its estimate with the elements corrected: what they explain is not the machine's.
fn setup(r: &Record, elements: &Fit) -> Option<Observation> {
    let (actual, estimated) = (r.setup.actual?, r.setup.estimated?);
    let mut corrected = estimated.to_s();
    for (key, pair) in &r.elements {
        let effect = elements.groups.get(key).map_or(0.0, |e| e.believed);
        corrected += pair.estimated.map_or(0.0, |t| t.to_s()) * (libm::exp(effect) - 1.0);
    }
    // Elements that add up to more than the whole would leave nothing.
    let corrected = corrected.max(estimated.to_s() * 0.1);
    observation(r, Of::Setup, &r.machine, actual / estimated, libm::log(actual.to_s() / corrected))
}

/// Effects change by less than this in a turn: they are there.
const SETTLED: f64 = 1e-13;
/// Turns after which they are taken as they are; a few dozen are usual.
const TURNS: usize = 2_000;

fn fit(observations: &[Observation], expected: &Expected) -> Result<Fit, FormulaError> {
    let mut names: [BTreeMap<&str, usize>; 2] = Default::default();
    let at: Vec<[Option<usize>; 2]> = observations
        .iter()
        .map(|o| {
            let [groups, families] = &mut names;
            [Some(index(groups, &o.group)), o.family.as_deref().map(|f| index(families, f))]
        })
        .collect();
    let y: Vec<f64> = observations.iter().map(|o| o.y).collect();
    let s = order_spread(&y, &at, names[0].len(), expected)?;
    let between = [expected.group, expected.family];
    let mut effects = [vec![Effect::default(); names[0].len()], vec![Effect::default(); names[1].len()]];
    for _ in 0..TURNS {
        let mut change = 0.0_f64;
        for kind in 0..2 {
            let mut sums = vec![(0.0, 0.0); effects[kind].len()];
            for (y, at) in y.iter().zip(&at) {
                let Some(i) = at[kind] else { continue };
                let rest = y - at[1 - kind].map_or(0.0, |other| effects[1 - kind][other].believed);
                let weight = huber_weight(rest - effects[kind][i].believed, s)?;
                sums[i].0 += weight * rest;
                sums[i].1 += weight;
            }
            for (effect, (sum, weights)) in effects[kind].iter_mut().zip(sums) {
                let new = shrunk_mean(sum, weights, s, between[kind])?;
                change = change.max((new - effect.believed).abs());
                *effect = Effect { said: sum / weights, believed: new };
            }
        }
        if change < SETTLED {
            break;
        }
    }
    let named = |kind: usize| names[kind].iter().map(|(name, i)| ((*name).to_owned(), effects[kind][*i])).collect();
    Ok(Fit { spread: s, groups: named(0), families: named(1) })
}

/// The number of a name; a new one where it has none.
fn index<'a>(names: &mut BTreeMap<&'a str, usize>, name: &'a str) -> usize {
    let next = names.len();
    *names.entry(name).or_insert(next)
}

/// The spread of an order about the middle of its machine, together with what is expected. Families are left in it: where
/// they differ, a little more is shrunk.
fn order_spread(y: &[f64], at: &[[Option<usize>; 2]], groups: usize, expected: &Expected) -> Result<f64, FormulaError> {
    if y.is_empty() {
        return Ok(expected.order);
    }
    let mut of: Vec<Vec<f64>> = vec![Vec::new(); groups];
    for (y, at) in y.iter().zip(at) {
        if let Some(i) = at[0] {
            of[i].push(*y);
        }
    }
    let mut residuals = Vec::with_capacity(y.len());
    for values in &of {
        let middle = median(values)?;
        residuals.extend(values.iter().map(|v| v - middle));
    }
    pooled_spread(expected.order, EXPECTED_COUNTS, spread(&residuals)?, y.len() as f64, groups as f64)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn said(group: &str, y: f64) -> Observation {
        Observation { row: 0, of: Of::Setup, group: group.to_owned(), family: None, as_estimated: y, y }
    }

    const EXPECTED: Expected = Expected { order: 0.4, group: 0.2, family: 0.2 };

    #[test]
    fn one_record_by_hand() {
        // s^2 = (4 0.16 + 1 0) / (4 + 1 - 1) = 0.16, k = 0.16 / 0.04 = 4, m = 0.3 / (1 + 4).
        let fit = fit(&[said("a", 0.3)], &EXPECTED).unwrap();
        assert!((fit.spread - 0.4).abs() < 1e-12);
        assert!((fit.groups["a"].believed - 0.06).abs() < 1e-12);
    }

    #[test]
    fn three_records_by_hand() {
        // Middle 0.2, residuals -0.1, 0, 0.1: spread 0.14826, s^2 = (0.64 + 3 0.0219810) / 6 = 0.1176572, k = 2.9414298;
        // no residual reaches 1.345 s = 0.461, so m = 0.6 / 5.9414298.
        let fit = fit(&[said("a", 0.1), said("a", 0.2), said("a", 0.3)], &EXPECTED).unwrap();
        assert!((fit.spread * fit.spread - 0.117_657_2).abs() < 1e-7, "{}", fit.spread);
        assert!((fit.groups["a"].believed - 0.100_985_7).abs() < 1e-7, "{}", fit.groups["a"].believed);
    }

    #[test]
    fn a_wild_record_counts_as_much_as_one_at_the_border() {
        // s of four records: middle 0.2, residuals 0.1, 0, 0, 4.8, the middle of their sizes 0.05.
        let fit = fit(&[said("a", 0.1), said("a", 0.2), said("a", 0.2), said("a", 5.0)], &EXPECTED).unwrap();
        let s2 = (0.64 + 4.0 * (1.4826_f64 * 0.05) * (1.4826 * 0.05)) / 7.0;
        let s = s2.sqrt();
        assert!((fit.spread - s).abs() < 1e-12);
        // The sum of clipped residuals is k m: (0.5 - 3 m) + 1.345 s = k m.
        let m = (0.5 + 1.345 * s) / (3.0 + s2 / 0.04);
        assert!((fit.groups["a"].believed - m).abs() < 1e-9, "{} against {m}", fit.groups["a"].believed);
    }

    #[test]
    fn machine_and_family_share_what_one_record_says_by_their_spreads() {
        let mut o = said("a", 0.3);
        o.family = Some("f".to_owned());
        let expected = Expected { order: 0.25, group: 0.10, family: 0.07 };
        let fit = fit(&[o], &expected).unwrap();
        // Of y, t_m^2 / (t_m^2 + t_f^2 + s^2) is the machine's.
        let all = 0.01 + 0.0049 + 0.0625;
        assert!((fit.groups["a"].believed - 0.3 * 0.01 / all).abs() < 1e-9);
        assert!((fit.families["f"].believed - 0.3 * 0.0049 / all).abs() < 1e-9);
    }
}
