//! The whole study of a purchase: without buying, every set, and what stands behind those that an owner would look at.

use super::base::{Best, Variant, best};
use super::cash::{Case, Paid, Worth, break_even, npv, worth};
use super::chance::{Chance, Draws};
use super::choices::Item;
use super::outlook::Outlook;
use super::sets::{Fault, Judge, Judged, Sets, Without};
use super::staircase::{Staircase, staircases};
use super::tornado::{Bar, tornado};
use super::weigh::{Change, change};
use crate::costing::Amount;
use crate::model::mix;
use crate::quantity::Money;
use std::collections::BTreeSet;

/// A purchase that cannot pay even at this share of its price is not looked into further.
const CHEAPER: f64 = 0.8;

/// What is asked.
#[derive(Clone, Copy, Debug)]
pub struct Wish<'a> {
    pub items: &'a [Item],
    /// Items that are looked at closely; the best set is as well.
    pub closely: &'a [Item],
    /// At most so many together.
    pub most: usize,
    pub budget: Option<Money>,
    pub seed: u64,
    /// None where the outlook is taken as it is.
    pub draws: usize,
}

/// A purchase with the jobs that are at least as sure.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sure {
    pub chance: mix::Chance,
    pub jobs: usize,
    pub gain: Money,
    pub npv: Money,
}

/// What stands behind a judgement.
#[derive(Clone, Debug)]
pub struct Close {
    pub judged: Judged,
    pub change: Change,
    /// The installed price at which it stops paying.
    pub break_even: Option<Money>,
    /// Every way to pay that the shop file states, outright first.
    pub ways: Vec<(Paid, Worth)>,
    pub sure: Vec<Sure>,
    /// Proven without a plan: it cannot be worth more. What follows is left out where even a fifth cheaper it cannot pay.
    pub ceiling: Money,
    pub bars: Vec<Bar>,
    pub chance: Option<Chance>,
    /// Of a machine that was not owned and is bought alone.
    pub stairs: Vec<Staircase>,
}

/// The whole answer.
pub struct Study {
    pub without: Without,
    pub sets: Sets,
    pub close: Vec<Close>,
}

/// Studies what may be bought.
///
/// # Errors
/// [`Fault`].
pub fn study(judge: &Judge, wish: &Wish) -> Result<Study, Fault> {
    let without = judge.without()?;
    let sets = judge.sets(wish.items, wish.most, wish.budget, &without)?;
    let mut looked: Vec<&Judged> = sets.single.iter().filter(|j| wish.closely.contains(&j.set[0])).collect();
    if let Some(best) = sets.best(wish.budget)
        && looked.iter().all(|j| j.set != best.set)
    {
        looked.push(best);
    }
    let ways: BTreeSet<Variant> = looked.iter().map(|j| j.best.variant).chain([without.best.variant]).collect();
    let ways: Vec<Variant> = ways.into_iter().collect();
    let draws = match wish.draws {
        0 => None,
        n => Some(Draws::new(judge, &without, &ways, wish.seed, n)?),
    };
    let before = surer(judge).into_iter().map(|(chance, outlook)| {
        let left = left_over(judge, &without.floor, &outlook)?;
        Ok((chance, outlook, left))
    });
    let before = before.collect::<Result<Vec<_>, Fault>>()?;
    let close = looked.into_iter().map(|j| closely(judge, &without, j, &ways, draws.as_ref(), &before));
    let close = close.collect::<Result<Vec<_>, Fault>>()?;
    Ok(Study { without, sets, close })
}

type Before = (mix::Chance, Outlook, Amount);

fn closely(
    judge: &Judge,
    without: &Without,
    judged: &Judged,
    ways: &[Variant],
    draws: Option<&Draws>,
    before: &[Before],
) -> Result<Close, Fault> {
    let terms = judge.asked.terms;
    let ceiling = judge.ceiling(&judged.set, without, 1.0)?;
    let could_pay = judge.ceiling(&judged.set, without, CHEAPER)? > Money::ZERO;
    let loan = terms.loan.map(Paid::Loan);
    let lease = terms.lease.map(Paid::Lease);
    let paid = std::iter::once(Paid::Outright).chain(loan).chain(lease);
    let new = match judged.set[..] {
        [Item::Machine { machine }] if !judge.choices.is_owned(machine) => Some(machine),
        _ => None,
    };
    Ok(Close {
        change: change(&judged.set, (&without.floor, &without.best), (&judged.floor, &judged.best)),
        break_even: break_even(&judged.case, terms)?,
        ways: paid.map(|p| Ok((p, worth(&judged.case, terms, p)?))).collect::<Result<Vec<_>, Fault>>()?,
        sure: before.iter().map(|b| sure(judge, judged, b)).collect::<Result<Vec<_>, Fault>>()?,
        ceiling,
        bars: if could_pay { tornado(judge, without, judged, ways)? } else { Vec::new() },
        chance: draws.filter(|_| could_pay).map(|d| d.of(judge, judged)).transpose()?,
        stairs: match new.filter(|_| could_pay) {
            Some(machine) => staircases(judge, without, judged, machine, ways)?,
            None => Vec::new(),
        },
        judged: judged.clone(),
    })
}

/// The outlooks with booked jobs alone, with likely ones, with all.
fn surer(judge: &Judge) -> Vec<(mix::Chance, Outlook)> {
    let outlook = |chance| {
        let mut outlook = judge.outlook.clone();
        for (volume, job) in outlook.volumes.iter_mut().zip(judge.asked.jobs) {
            *volume *= if job.chance <= chance { 1.0 } else { 0.0 };
        }
        (chance, outlook)
    };
    mix::Chance::ALL.into_iter().map(outlook).collect()
}

fn left_over(judge: &Judge, floor: &super::choices::Floor, outlook: &Outlook) -> Result<Amount, Fault> {
    let best: Option<Best> = best(judge.asked.variants(floor, outlook)?);
    Ok(best.map_or(Amount::ZERO, |b| b.left_over))
}

fn sure(judge: &Judge, judged: &Judged, (chance, outlook, before): &Before) -> Result<Sure, Fault> {
    let with = left_over(judge, &judged.floor, outlook)?;
    let gain = judge.gain(judge.at_least(&judged.set, with, *before), *before);
    let jobs = outlook.volumes.iter().filter(|v| **v > 0.0).count();
    Ok(Sure { chance: *chance, jobs, gain, npv: npv(&Case { gain, ..judged.case }, judge.asked.terms)? })
}
