//! Which purchases, alone and together: each set planned, the best within a budget, and how far it can be from the best there is.

use super::base::{Asked, Best, best};
use super::cash::{Case, Paid, Worth, npv, worth};
use super::choices::{Choices, Floor, Item, NoPrice};
use super::outlook::Outlook;
use super::terms::Terms;
use crate::costing::Amount;
use crate::fleet::mix::NoHours;
use crate::fleet::mix::decide::Undecided;
use crate::fleet::mix::plan::Unit;
use crate::formulas::FormulaError;
use crate::quantity::Money;
use rayon::prelude::*;

/// A purchase that cannot pay even at this share of its price is not looked into further.
const CHEAPER: f64 = 0.8;
/// Sets that are tried at most.
pub const MOST_SETS: usize = 1_000;

/// Why a purchase cannot be judged.
#[derive(Debug, thiserror::Error)]
pub enum Fault {
    #[error(transparent)]
    Hours(#[from] NoHours),
    #[error(transparent)]
    Price(#[from] NoPrice),
    #[error("{0}")]
    Undecided(Undecided),
    #[error(transparent)]
    Formula(#[from] FormulaError),
    #[error(
        "{items} things taken up to {most} at a time make more than {MOST_SETS} sets: lower --most, or name fewer candidates and options"
    )]
    TooMany { items: usize, most: usize },
    #[error("nothing to buy: name a machine by --candidate, or an attachment by --option MACHINE:NAME")]
    Nothing,
}

impl From<Undecided> for Fault {
    fn from(u: Undecided) -> Fault {
        Fault::Undecided(u)
    }
}

/// The shop as it is.
#[derive(Clone, Debug)]
pub struct Without {
    pub floor: Floor,
    /// One for each variant.
    pub variants: Vec<Best>,
    pub best: Best,
}

impl Without {
    /// Takes a plan that is better than those that were planned.
    pub(super) fn take(&mut self, best: Best) {
        if let Some(of) = self.variants.iter_mut().find(|v| v.variant == best.variant) {
            *of = Best { most: of.most, ..best.clone() };
        }
        self.best = best;
    }
}

/// A set that was planned.
#[derive(Clone, Debug)]
pub struct Judged {
    pub set: Vec<Item>,
    pub floor: Floor,
    pub best: Best,
    pub case: Case,
    pub worth: Worth,
    /// Proven: no plan leaves more over; nothing where a job that must be made is not.
    most_left: Option<Amount>,
    /// Proven: no plan makes the set worth more against the best without buying.
    pub most: Money,
}

impl Judged {
    pub fn pays(&self) -> bool {
        self.worth.npv > Money::ZERO
    }
}

/// A set that was not planned, since it can be proven not to be worth more than what is known.
#[derive(Clone, Debug)]
pub struct Skipped {
    pub set: Vec<Item>,
    pub most: Money,
}

/// All sets.
#[derive(Clone, Debug)]
pub struct Sets {
    /// One item each, in the order given.
    pub single: Vec<Judged>,
    /// Several items each, most worth first.
    pub together: Vec<Judged>,
    pub skipped: Vec<Skipped>,
    /// Beyond the budget, or an attachment without its machine.
    pub out_of_reach: usize,
    /// Not looked at, since the search was cut.
    pub cut: usize,
}

impl Sets {
    /// What is worth most within the budget; nothing where nothing pays.
    pub fn best(&self, budget: Option<Money>) -> Option<&Judged> {
        let affordable = |j: &&Judged| budget.is_none_or(|b| j.case.price <= b);
        let all = self.single.iter().chain(&self.together).filter(affordable).filter(|j| j.pays());
        all.reduce(|best, next| if next.worth.npv > best.worth.npv { next } else { best })
    }

    /// Takes a better plan of one set, and weighs all against the best without buying anew.
    pub(super) fn anew(&mut self, judge: &Judge, without: &Without, set: &[Item], best: &Best) -> Result<(), Fault> {
        for judged in self.single.iter_mut().chain(&mut self.together) {
            let plan = if judged.set == set { best } else { &judged.best };
            *judged = judge.judged_anew(judged.clone(), plan.clone(), without)?;
        }
        self.sort();
        Ok(())
    }

    /// Sets of several things, most worth first.
    fn sort(&mut self) {
        self.together.sort_by(|a, b| b.worth.npv.to_units().total_cmp(&a.worth.npv.to_units()));
    }

    /// Proven: nothing within the budget is worth more; no less than nothing, which not buying is worth.
    pub fn most(&self, budget: Option<Money>) -> Money {
        let affordable = |j: &&Judged| budget.is_none_or(|b| j.case.price <= b);
        let planned = self.single.iter().chain(&self.together).filter(affordable).map(|j| j.most);
        planned.chain(self.skipped.iter().map(|s| s.most)).fold(Money::ZERO, Money::max)
    }
}

/// What judges purchases: the choices under the question that is asked of each.
pub struct Judge<'a> {
    pub choices: &'a Choices<'a>,
    pub asked: Asked<'a>,
    pub outlook: Outlook,
}

impl Judge<'_> {
    fn terms(&self) -> &Terms {
        self.asked.terms
    }

    /// The best that can be done without buying.
    ///
    /// # Errors
    /// [`Fault`].
    pub fn without(&self) -> Result<Without, Fault> {
        let floor = self.choices.floor(&[])?;
        let variants = self.asked.variants(&floor, &self.outlook)?;
        let best = best(variants.clone()).ok_or(Fault::Nothing)?;
        Ok(Without { floor, variants, best })
    }

    /// The purchase of a set as the owner's money sees it, with so much more left over in a full year.
    ///
    /// # Errors
    /// [`NoPrice`].
    pub fn case(&self, set: &[Item], gain: Money) -> Result<Case, NoPrice> {
        let (mut price, mut list) = (Money::ZERO, Money::ZERO);
        for item in set {
            let (installed, resold) = self.choices.price(*item)?;
            price += installed;
            list += resold;
        }
        let machine = set.iter().any(|i| i.is_machine());
        let first_year = if machine { self.terms().first_year() } else { 1.0 };
        let replaced = self.goes(set).map_or(Money::ZERO, |m| self.sold(m));
        Ok(Case { price, list, gain, replaced, first_year })
    }

    /// What a machine that goes brings now: as the shop file states it, else its share of resale.
    pub fn sold(&self, machine: usize) -> Money {
        let spec = &self.choices.machines()[machine];
        let stated = self.choices.shop().machines.get(&spec.name).and_then(|own| own.sells);
        let of_price = || spec.price.as_ref().map(|p| p.list.value * self.terms().resale.to_fraction());
        stated.or_else(of_price).unwrap_or(Money::ZERO)
    }

    /// More left over a year.
    pub fn gain(&self, with: Amount, without: Amount) -> Money {
        let currency = self.choices.shop().currency;
        Money::units((with - without).to_units(currency) / self.asked.years)
    }

    /// More left over a year with a set; where nothing goes, all that is done without buying can be done still.
    pub fn gain_of(&self, set: &[Item], with: Amount, without: Amount) -> Money {
        self.gain(if self.goes(set).is_some() { with } else { with.max(without) }, without)
    }

    /// The machine that goes when a set comes.
    fn goes(&self, set: &[Item]) -> Option<usize> {
        self.choices.replaced().filter(|_| set.iter().any(|i| i.is_machine()))
    }

    /// Plans a set and weighs it against the best without buying.
    ///
    /// # Errors
    /// [`Fault`].
    pub fn judged(&self, set: &[Item], without: &Without) -> Result<Judged, Fault> {
        let floor = self.choices.floor(set)?;
        let plans = self.asked.variants(&floor, &self.outlook)?;
        let most = plans.iter().filter_map(|p| p.most).max();
        let best = best(plans).ok_or(Fault::Nothing)?;
        self.weighed(set.to_vec(), floor, best, most, without)
    }

    /// A judgement with another plan of the same set, or another one without buying.
    ///
    /// # Errors
    /// [`Fault`].
    pub fn judged_anew(&self, judged: Judged, best: Best, without: &Without) -> Result<Judged, Fault> {
        self.weighed(judged.set, judged.floor, best, judged.most_left, without)
    }

    fn weighed(
        &self,
        set: Vec<Item>,
        floor: Floor,
        mut best: Best,
        most_left: Option<Amount>,
        without: &Without,
    ) -> Result<Judged, Fault> {
        // Where nothing goes, the best plan without buying is a plan still.
        if self.goes(&set).is_none()
            && let Some(same) = carried_plan(without, &floor)
            && same.is_better_than(&best)
        {
            best = same;
        }
        let gain = self.gain(best.left_over, without.best.left_over);
        let case = self.case(&set, gain)?;
        let most = most_left.map_or(gain, |m| self.gain(m.max(best.left_over), without.best.left_over));
        let most = npv(&Case { gain: most, ..case }, self.terms())?;
        let worth = worth(&case, self.terms(), Paid::Outright)?;
        Ok(Judged { set, floor, best, case, worth, most_left, most })
    }

    /// Something planned, or nothing where the search was cut before or meanwhile: a plan that is cut short says little.
    ///
    /// # Errors
    /// As `plan`.
    pub fn uncut<T>(&self, plan: impl FnOnce() -> Result<T, Fault>) -> Result<Option<T>, Fault> {
        let cut = || self.asked.options.watch.cut().is_some();
        if cut() {
            return Ok(None);
        }
        let found = plan()?;
        Ok((!cut()).then_some(found))
    }

    /// The most that a set can be worth at a share of its price: every job where it costs least, as if each machine had hours
    /// without end. It needs no plan, and is proven.
    ///
    /// # Errors
    /// [`Fault`].
    pub fn ceiling(&self, set: &[Item], without: &Without, share: f64) -> Result<Money, Fault> {
        let floor = self.choices.floor(set)?;
        let free: Amount = super::base::Variant::ALL
            .into_iter()
            .map(|variant| self.asked.unlimited(&floor, &self.outlook, variant))
            .max()
            .unwrap_or(Amount::ZERO);
        let gain = self.gain(free.max(without.best.left_over), without.best.left_over);
        let case = self.case(set, gain)?;
        Ok(npv(&Case { price: case.price * share, list: case.list * share, ..case }, self.terms())?)
    }

    /// Whether a set could pay at most a fifth cheaper, whatever the plan: only then it is worth looking into further.
    ///
    /// # Errors
    /// [`Fault`].
    pub(super) fn could_pay(&self, set: &[Item], without: &Without) -> Result<bool, Fault> {
        Ok(self.ceiling(set, without, CHEAPER)? > Money::ZERO)
    }

    /// Every set of up to so many items within the budget.
    ///
    /// # Errors
    /// [`Fault`].
    pub fn sets(&self, items: &[Item], most: usize, budget: Option<Money>, without: &Without) -> Result<Sets, Fault> {
        if items.is_empty() {
            return Err(Fault::Nothing);
        }
        let all = subsets(items, most).ok_or(Fault::TooMany { items: items.len(), most })?;
        let (single, several): (Vec<_>, Vec<_>) = all.into_iter().partition(|set| set.len() == 1);
        let sensible = |set: &Vec<Item>| self.choices.makes_sense(set);
        let asked = single.len() + several.len();
        let single: Vec<Vec<Item>> = single.into_iter().filter(sensible).collect();
        let judged = |sets: &[Vec<Item>]| {
            let uncut = |set: &Vec<Item>| self.uncut(|| self.judged(set, without)).transpose();
            sets.par_iter().filter_map(uncut).collect::<Result<Vec<_>, _>>()
        };
        let sensible_single = single.len();
        let single = judged(&single)?;
        let cut = sensible_single - single.len();
        let mut sets = Sets { single, together: Vec::new(), skipped: Vec::new(), out_of_reach: 0, cut };
        let known = sets.best(budget).map_or(Money::ZERO, |j| j.worth.npv);
        let mut several: Vec<Vec<Item>> = several.into_iter().filter(sensible).collect();
        if let Some(budget) = budget {
            let mut within = Vec::new();
            for set in several {
                if self.case(&set, Money::ZERO)?.price <= budget {
                    within.push(set);
                }
            }
            several = within;
        }
        sets.out_of_reach = asked - sensible_single - several.len();
        let ceilings = several.par_iter().map(|set| self.ceiling(set, without, 1.0)).collect::<Result<Vec<_>, _>>()?;
        let (mut open, mut shut) = (Vec::new(), Vec::new());
        for (set, most) in several.into_iter().zip(ceilings) {
            if most > known { open.push(set) } else { shut.push(Skipped { set, most }) }
        }
        sets.skipped = shut;
        sets.together = judged(&open)?;
        sets.cut += open.len() - sets.together.len();
        sets.sort();
        Ok(sets)
    }
}

/// The numbers that the machines of one floor have on another; nothing where one of them is not there.
pub(super) fn carried_over(from: &Floor, to: &Floor) -> Option<Vec<usize>> {
    let units = &to.hours.units;
    let same = |u: &Unit| units.iter().position(|n| n.machine == u.machine && n.number == u.number);
    from.hours.units.iter().map(same).collect()
}

/// A plan of the shop as it is on the floor with more: its machines are there still, under other numbers.
fn carried_plan(without: &Without, floor: &Floor) -> Option<Best> {
    let mut best = without.best.clone();
    let numbers = carried_over(&without.floor, floor)?;
    for job in &mut best.plan.jobs {
        for made in &mut job.made {
            made.unit = numbers[made.unit];
        }
    }
    best.plan.hours = floor.hours.clone();
    Some(best)
}

/// Every set of one up to so many items, smaller ones first; nothing where there are more than [`MOST_SETS`].
fn subsets(items: &[Item], most: usize) -> Option<Vec<Vec<Item>>> {
    let mut all: Vec<Vec<Item>> = Vec::new();
    let mut last: Vec<Vec<usize>> = vec![Vec::new()];
    for _ in 0..most.min(items.len()) {
        let mut next = Vec::new();
        for set in &last {
            for item in set.last().map_or(0, |l| l + 1)..items.len() {
                let same = |i: &usize| is_same(items[*i], items[item]);
                if !set.iter().any(same) {
                    next.push(set.iter().copied().chain([item]).collect::<Vec<_>>());
                }
            }
            if all.len() + next.len() > MOST_SETS {
                return None;
            }
        }
        all.extend(next.iter().map(|set| set.iter().map(|i| items[*i]).collect()));
        last = next;
    }
    Some(all)
}

/// Two numbers of one attachment are one choice, not two.
fn is_same(a: Item, b: Item) -> bool {
    match (a, b) {
        (Item::Option { machine, option, .. }, Item::Option { machine: m, option: o, .. }) => {
            machine == m && option == o
        }
        _ => false,
    }
}
