//! How likely a purchase pays: volumes and prices drawn again and again, each draw planned again with and without it.

use super::base::{Places, Variant};
use super::cash::{Case, npv};
use super::outlook::Outlook;
use super::sets::{Fault, Judge, Judged, Without};
use crate::costing::Amount;
use crate::fleet::solver::Random;
use crate::model::finance::Risk;
use crate::model::mix::MixJob;
use crate::quantity::Money;
use rayon::prelude::*;
use std::f64::consts::TAU;

/// What the draws come to.
#[derive(Clone, Debug, PartialEq)]
pub struct Chance {
    /// Net present value of each draw, ascending.
    pub npv: Vec<Money>,
}

impl Chance {
    /// The value below which this share of the draws lies, 0 to 1: between two draws on the straight line.
    pub fn below(&self, share: f64) -> Money {
        let Some(last) = self.npv.len().checked_sub(1) else { return Money::ZERO };
        let at = share.clamp(0.0, 1.0) * last as f64;
        let (low, rest) = (at.floor() as usize, at.fract());
        let (a, b) = (self.npv[low].to_units(), self.npv[(low + 1).min(last)].to_units());
        // Where both are one, so is what lies between them.
        if a == b { self.npv[low] } else { Money::units(a + (b - a) * rest) }
    }

    /// The share of draws in which it pays.
    pub fn pays(&self) -> f64 {
        self.npv.iter().filter(|n| **n > Money::ZERO).count() as f64 / self.npv.len().max(1) as f64
    }
}

/// Draws with what is left over without buying in each.
#[derive(Clone, Debug)]
pub struct Draws {
    /// Those that were planned before the search was cut.
    drawn: Vec<(Outlook, Amount)>,
    ways: Vec<Variant>,
}

impl Draws {
    /// Draws outlooks and plans each without buying, in the best of some ways. A draw depends on the seed and its number alone.
    ///
    /// # Errors
    /// [`Fault`].
    pub fn new(judge: &Judge, without: &Without, ways: &[Variant], seed: u64, count: usize) -> Result<Draws, Fault> {
        let risk = &judge.asked.terms.risk;
        let groups = customers(judge.asked.jobs);
        let known = [without.best.places()];
        let draw = |number: usize| {
            let outlook = drawn(&judge.outlook, &groups, risk, &mut Random::new(seed, number as u64));
            let left = judge.uncut(|| Ok(judge.asked.best_from(ways, &without.floor, &outlook, &known)?.left_over));
            left.map(|left| left.map(|left| (outlook, left))).transpose()
        };
        let drawn = (0..count).into_par_iter().filter_map(draw).collect::<Result<Vec<_>, Fault>>()?;
        Ok(Draws { drawn, ways: ways.to_vec() })
    }

    /// What a purchase is worth over the draws.
    ///
    /// # Errors
    /// [`Fault`].
    pub fn of(&self, judge: &Judge, judged: &Judged) -> Result<Chance, Fault> {
        let known: [Places; 1] = [judged.best.places()];
        let draw = |(outlook, before): &(Outlook, Amount)| -> Option<Result<Money, Fault>> {
            let planned = || Ok(judge.asked.best_from(&self.ways, &judged.floor, outlook, &known)?.left_over);
            let worth = |with: Amount| {
                let gain = judge.gain_of(&judged.set, with, *before);
                Ok(npv(&Case { gain, ..judged.case }, judge.asked.terms)?)
            };
            judge.uncut(planned).transpose().map(|with| with.and_then(worth))
        };
        let mut npv = self.drawn.par_iter().filter_map(draw).collect::<Result<Vec<_>, _>>()?;
        npv.sort_by(|a, b| a.to_units().total_cmp(&b.to_units()));
        Ok(Chance { npv })
    }
}

/// Jobs by customer; a job without one is its own.
fn customers(jobs: &[&MixJob]) -> Vec<Vec<usize>> {
    let mut groups: Vec<(Option<&str>, Vec<usize>)> = Vec::new();
    for (number, job) in jobs.iter().enumerate() {
        let name = job.customer.as_deref();
        match groups.iter_mut().find(|(of, _)| name.is_some() && *of == name) {
            Some((_, group)) => group.push(number),
            None => groups.push((name, vec![number])),
        }
    }
    groups.into_iter().map(|(_, group)| group).collect()
}

/// One outlook. A customer's volumes move with the market by the square root of the common share and by themselves by that of
/// the rest, so that two customers are correlated by the common share. Factors are lognormal with a mean of 1.
fn drawn(plain: &Outlook, groups: &[Vec<usize>], risk: &Risk, random: &mut Random) -> Outlook {
    let mut outlook = plain.clone();
    let common = libm::sqrt(risk.market.to_fraction());
    let own = libm::sqrt(1.0 - risk.market.to_fraction());
    let [market_volume, market_price] = normal(random);
    let factor = |spread: f64, market: f64, customer: f64| {
        libm::exp(spread * (common * market + own * customer) - spread * spread / 2.0)
    };
    for group in groups {
        let [volume, price] = normal(random);
        for job in group {
            outlook.volumes[*job] *= factor(risk.volumes.to_fraction(), market_volume, volume);
            outlook.prices[*job] *= factor(risk.prices.to_fraction(), market_price, price);
        }
    }
    let lost = random.unit() < risk.customer_lost.to_fraction();
    let whom = random.below(groups.len());
    if lost {
        groups[whom].iter().for_each(|job| outlook.volumes[*job] = 0.0);
    }
    outlook
}

/// Two independent numbers of the normal distribution (Box and Muller, Annals of Mathematical Statistics 29, 1958; from
/// memory).
fn normal(random: &mut Random) -> [f64; 2] {
    // From above nought, whose logarithm there is none.
    let (u, v) = (1.0 - random.unit(), random.unit());
    let r = libm::sqrt(-2.0 * libm::log(u));
    [r * libm::cos(TAU * v), r * libm::sin(TAU * v)]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::Ratio;

    fn draws(risk: &Risk) -> Vec<Outlook> {
        let groups = [vec![0, 1], vec![2]];
        (0..4_000).map(|n| drawn(&Outlook::plain(3), &groups, risk, &mut Random::new(7, n))).collect()
    }

    #[test]
    fn factors_have_the_spread_the_correlation_and_the_mean_that_were_asked_for() {
        let percent = Ratio::percent;
        let risk =
            Risk { volumes: percent(20.0), prices: percent(5.0), market: percent(50.0), customer_lost: percent(0.0) };
        let all = draws(&risk);
        let logs = |job: usize| all.iter().map(move |o| libm::log(o.volumes[job])).collect::<Vec<_>>();
        let mean = |x: &[f64]| x.iter().sum::<f64>() / x.len() as f64;
        let (a, b, c) = (logs(0), logs(1), logs(2));
        assert_eq!(a, b, "jobs of one customer move together");
        let covariance = |x: &[f64], y: &[f64]| {
            let (mx, my) = (mean(x), mean(y));
            x.iter().zip(y).map(|(x, y)| (x - mx) * (y - my)).sum::<f64>() / x.len() as f64
        };
        let spread = libm::sqrt(covariance(&a, &a));
        assert!((spread - 0.2).abs() < 0.01, "{spread}");
        let correlation = covariance(&a, &c) / (spread * libm::sqrt(covariance(&c, &c)));
        assert!((correlation - 0.5).abs() < 0.04, "{correlation}");
        let factors: Vec<f64> = all.iter().map(|o| o.volumes[2]).collect();
        assert!((mean(&factors) - 1.0).abs() < 0.012, "{}", mean(&factors));
    }

    #[test]
    fn one_customer_is_lost_as_often_as_asked() {
        let risk = Risk { customer_lost: Ratio::percent(30.0), ..Risk::NONE };
        let all = draws(&risk);
        let lost = all.iter().filter(|o| o.volumes.contains(&0.0)).count() as f64 / all.len() as f64;
        assert!((lost - 0.3).abs() < 0.025, "{lost}");
        assert!(all.iter().all(|o| o.volumes[0] == o.volumes[1] && o.volumes.contains(&1.0)));
    }

    #[test]
    fn without_spread_every_draw_is_the_plan() {
        assert!(draws(&Risk::NONE).iter().all(|o| *o == Outlook::plain(3)));
    }
}
