//! The whole study of a purchase: without buying, every set, and what stands behind those that an owner would look at.

use super::base::{Best, Places, Variant, best};
use super::cash::{Case, Paid, Worth, break_even, npv, worth};
use super::chance::{Chance, Draws};
use super::choices::Item;
use super::outlook::Outlook;
use super::sets::{Fault, Judge, Judged, Sets, Without, carried_over};
use super::staircase::{Staircase, staircases};
use super::steady::{Steady, steady};
use super::tornado::{Bar, tornado};
use super::weigh::{Change, change};
use crate::costing::Amount;
use crate::fleet::solver::Stopped;
use crate::model::mix;
use crate::quantity::Money;
use std::collections::{BTreeMap, BTreeSet};

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
    /// Why the search was cut, where it was: it may lack sets, and what stands behind them.
    pub cut: Option<Stopped>,
}

/// Studies what may be bought. Once the search is cut, what was found so far is the answer.
///
/// # Errors
/// [`Fault`].
pub fn study(judge: &Judge, wish: &Wish) -> Result<Study, Fault> {
    let mut without = judge.without()?;
    let mut sets = judge.sets(wish.items, wish.most, wish.budget, &without)?;
    let ways: BTreeSet<Variant> =
        looked_at(&sets, wish).iter().map(|j| j.best.variant).chain([without.best.variant]).collect();
    let ways: Vec<Variant> = ways.into_iter().collect();
    let steadied = steadied(judge, wish, &mut without, &mut sets, &ways)?;
    let looked = looked_at(&sets, wish);
    let draws = match steadied.is_some() && wish.draws > 0 {
        true => Some(Draws::new(judge, &without, &ways, wish.seed, wish.draws)?),
        false => None,
    };
    let before = surer(judge).into_iter().map(|(chance, outlook)| {
        let left = left_over(judge, &without.floor, &outlook, &ways, &[without.best.places()])?;
        Ok((chance, outlook, left))
    });
    let before = before.collect::<Result<Vec<_>, Fault>>()?;
    let desk = Desk { judge, without: &without, ways: &ways, steadied: steadied.as_ref(), draws: draws.as_ref() };
    let close = looked.into_iter().map(|j| desk.closely(j, &before)).collect::<Result<Vec<_>, Fault>>()?;
    let cut = judge.asked.options.watch.cut();
    Ok(Study { without, sets, close, cut })
}

/// What is looked at closely: what was asked for, and the best.
fn looked_at<'a>(sets: &'a Sets, wish: &Wish) -> Vec<&'a Judged> {
    let mut looked: Vec<&Judged> = sets.single.iter().filter(|j| wish.closely.contains(&j.set[0])).collect();
    if let Some(best) = sets.best(wish.budget)
        && looked.iter().all(|j| j.set != best.set)
    {
        looked.push(best);
    }
    looked
}

/// Every outlook of the tornado, without buying and with each set that is looked at and could pay.
struct Steadied {
    without: Steady,
    with: BTreeMap<Vec<Item>, Steady>,
}

/// Searches the outlooks of the tornado; plans that turn out better than those as planned take their places. Nothing where the
/// search is cut, or nothing that is looked at could pay.
fn steadied(
    judge: &Judge,
    wish: &Wish,
    without: &mut Without,
    sets: &mut Sets,
    ways: &[Variant],
) -> Result<Option<Steadied>, Fault> {
    let mut with = BTreeMap::new();
    let mut base: Option<Steady> = None;
    loop {
        let mut next = None;
        for judged in looked_at(sets, wish) {
            if !with.contains_key(&judged.set) && judge.could_pay(&judged.set, without)? {
                next = Some(judged.clone());
                break;
            }
        }
        let Some(judged) = next else { break };
        let known = match &base {
            Some(base) => base.known.clone(),
            None => {
                let plain = || steady(judge, &without.floor, &without.best, ways, &[]);
                let Some(found) = judge.uncut(plain)? else { return Ok(None) };
                without.take(found.plain.clone());
                base.insert(found).known.clone()
            }
        };
        let known: Vec<Places> = known.iter().filter_map(|p| carried_places(p, without, &judged)).collect();
        let plain = || steady(judge, &judged.floor, &judged.best, ways, &known);
        let Some(found) = judge.uncut(plain)? else { return Ok(None) };
        sets.anew(judge, without, &judged.set, &found.plain)?;
        with.insert(judged.set, found);
    }
    Ok(base.map(|without| Steadied { without, with }))
}

type Before = (mix::Chance, Outlook, Amount);

struct Desk<'a> {
    judge: &'a Judge<'a>,
    without: &'a Without,
    ways: &'a [Variant],
    /// Nothing where the search was cut before.
    steadied: Option<&'a Steadied>,
    draws: Option<&'a Draws>,
}

impl Desk<'_> {
    fn closely(&self, judged: &Judged, before: &[Before]) -> Result<Close, Fault> {
        let Desk { judge, without, .. } = self;
        let terms = judge.asked.terms;
        let loan = terms.loan.map(Paid::Loan);
        let lease = terms.lease.map(Paid::Lease);
        let paid = std::iter::once(Paid::Outright).chain(loan).chain(lease);
        let new = match judged.set[..] {
            [Item::Machine { machine }] if !judge.choices.is_owned(machine) => Some(machine),
            _ => None,
        };
        let steady = self.steadied.and_then(|s| Some((&s.without, s.with.get(&judged.set)?)));
        let bars = steady.map(|(without, with)| tornado(judge, judged, without, with)).transpose()?;
        let draws = self.draws.filter(|_| steady.is_some());
        let chance = draws.map(|d| d.of(judge, judged)).transpose()?;
        let stairs = match new.filter(|_| steady.is_some()) {
            Some(machine) => judge.uncut(|| staircases(judge, without, judged, machine, self.ways))?,
            None => None,
        };
        Ok(Close {
            change: change(&judged.set, (&without.floor, &without.best), (&judged.floor, &judged.best)),
            break_even: break_even(&judged.case, terms)?,
            ways: paid.map(|p| Ok((p, worth(&judged.case, terms, p)?))).collect::<Result<Vec<_>, Fault>>()?,
            sure: before.iter().map(|b| self.sure(judged, b)).collect::<Result<Vec<_>, Fault>>()?,
            ceiling: judge.ceiling(&judged.set, without, 1.0)?,
            bars: bars.unwrap_or_default(),
            chance: chance.filter(|c| !c.npv.is_empty()),
            stairs: stairs.unwrap_or_default(),
            judged: judged.clone(),
        })
    }

    fn sure(&self, judged: &Judged, (chance, outlook, before): &Before) -> Result<Sure, Fault> {
        let judge = self.judge;
        let with = left_over(judge, &judged.floor, outlook, self.ways, &[judged.best.places()])?;
        let gain = judge.gain_of(&judged.set, with, *before);
        let jobs = outlook.volumes.iter().filter(|v| **v > 0.0).count();
        Ok(Sure { chance: *chance, jobs, gain, npv: npv(&Case { gain, ..judged.case }, judge.asked.terms)? })
    }
}

/// Places of the shop as it is on the machines of a set; nothing where one of them goes.
fn carried_places(places: &Places, without: &Without, judged: &Judged) -> Option<Places> {
    let numbers = carried_over(&without.floor, &judged.floor)?;
    let there = |units: &Vec<Option<usize>>| units.iter().map(|u| u.map(|u| numbers[u])).collect();
    Some(places.iter().map(|(job, units)| (*job, there(units))).collect())
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

fn left_over(
    judge: &Judge,
    floor: &super::choices::Floor,
    outlook: &Outlook,
    ways: &[Variant],
    known: &[Places],
) -> Result<Amount, Fault> {
    let mut plans: Vec<Best> = judge.asked.variants(floor, outlook)?;
    plans.extend(judge.asked.placed(floor, outlook, ways, known));
    Ok(best(plans).map_or(Amount::ZERO, |b| b.left_over))
}
