//! Which machine makes which job, at least cost: machines have hours each, and setters share theirs over several machines.
//!
//! The hours of the machines are the assignment's own ([`crate::fleet::solver::assignment`]). Those of the setters are priced:
//! at any price of a setting minute from nought the plan that is best with that price proves that no plan can cost less than
//! its own cost at that price less what all the minutes there are would be worth (Lagrangian relaxation; Fisher, Management
//! Science 27, 1981). The prices rise while too much is set and fall while minutes are left over; each plan on the way is mended
//! to keep within the minutes, and the cheapest is the answer.

use crate::fleet::solver::assignment::{Fault, Instance, Unsolved, Way, solve};
use crate::fleet::solver::{Options, Stopped};
use std::fmt;

/// Prices that are tried.
const ROUNDS: usize = 24;
/// Where the steps are many, prices after the first are tried with a part of them, so that all are tried in bearable time.
const PART: u64 = 5;
const FEW_STEPS: u64 = 2_000;

/// An item on a unit: a number of the unit, what it takes of its time and of the setters', and what it costs.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Place {
    pub unit: usize,
    /// From 0, in the unit of the capacities.
    pub takes: i64,
    /// Part of `takes`.
    pub setting: i64,
    /// In the smallest unit of the currency.
    pub cost: i64,
}

/// What is to be placed: one job, or one lot of it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Item {
    /// At most one for each unit.
    pub places: Vec<Place>,
    /// What not making it costs.
    pub left_out: Option<i64>,
}

impl Item {
    /// Its place on a unit.
    fn at(&self, unit: Option<usize>) -> Option<&Place> {
        unit.and_then(|unit| self.places.iter().find(|p| p.unit == unit))
    }
}

/// Time of setters that is shared over units.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Limit {
    /// Whether it counts on each unit.
    pub on: Vec<bool>,
    pub most: i64,
}

/// All that is to be decided.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Question {
    /// Time of each unit.
    pub capacities: Vec<i64>,
    pub limits: Vec<Limit>,
    pub items: Vec<Item>,
}

/// A plan and how good it is.
#[derive(Clone, Debug)]
pub struct Decided {
    /// The unit of each item; none where it is left out.
    pub plan: Vec<Option<usize>>,
    pub cost: i64,
    /// Proven: no plan costs less.
    pub bound: i64,
    pub stopped: Stopped,
    /// What one more unit of each limit's time would save, at the prices of the bound.
    pub prices: Vec<f64>,
    /// What one more unit of each unit's time would save, as a first estimate at the same prices.
    pub room: Vec<f64>,
}

/// Why nothing is decided.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Undecided {
    Fault(Fault),
    Unsolved(Unsolved),
    /// The setters' time is exceeded whatever is moved.
    Setters,
}

impl fmt::Display for Undecided {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Undecided::Fault(fault) => fault.fmt(f),
            Undecided::Unsolved(unsolved) => unsolved.fmt(f),
            Undecided::Setters => {
                write!(f, "the jobs that must be made take more setting than the setters have hours for")
            }
        }
    }
}

impl std::error::Error for Undecided {}

/// Cost and use of a plan, recomputed from the question alone.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Use {
    pub cost: i64,
    /// Of each unit.
    pub taken: Vec<i64>,
    /// Of each limit.
    pub set: Vec<i64>,
}

impl Question {
    /// Recomputes a plan; nothing where an item is where it may not be.
    pub fn used(&self, plan: &[Option<usize>]) -> Option<Use> {
        let mut used = Use { cost: 0, taken: vec![0; self.capacities.len()], set: vec![0; self.limits.len()] };
        for (item, unit) in self.items.iter().zip(plan) {
            match unit {
                None => used.cost += item.left_out?,
                Some(unit) => {
                    let place = item.places.iter().find(|p| p.unit == *unit)?;
                    used.cost += place.cost;
                    used.taken[*unit] += place.takes;
                    for (set, limit) in used.set.iter_mut().zip(&self.limits) {
                        *set += if limit.on[*unit] { place.setting } else { 0 };
                    }
                }
            }
        }
        Some(used)
    }

    /// Whether a plan keeps within all that there is.
    pub fn holds(&self, used: &Use) -> bool {
        let within = |taken: &[i64], most: &mut dyn Iterator<Item = i64>| taken.iter().zip(most).all(|(t, m)| *t <= m);
        within(&used.taken, &mut self.capacities.iter().copied())
            && within(&used.set, &mut self.limits.iter().map(|l| l.most))
    }

    fn priced(&self, prices: &[f64]) -> Result<Instance, Fault> {
        let mut instance = Instance::new(self.capacities.clone())?;
        for item in &self.items {
            let way = |p: &Place| {
                let priced: f64 = self.limits.iter().zip(prices).filter(|(l, _)| l.on[p.unit]).map(|(_, m)| m).sum();
                // Downwards, so that the bound stays one.
                Way { machine: p.unit, cost: p.cost + (priced * p.setting as f64).floor() as i64, takes: p.takes }
            };
            let ways: Vec<Way> = item.places.iter().map(way).collect();
            instance.add_job(&ways, item.left_out)?;
        }
        Ok(instance)
    }
}

/// Decides at least cost.
///
/// # Errors
/// [`Undecided`] where the question has a fault, or no plan was found.
pub fn decide(question: &Question, options: &Options<'_>) -> Result<Decided, Undecided> {
    let mut prices = vec![0.0; question.limits.len()];
    let mut best: Option<(Vec<Option<usize>>, i64)> = None;
    let mut bound = i64::MIN;
    let mut of_bound = prices.clone();
    let mut room = vec![0.0; question.capacities.len()];
    let mut stopped = Stopped::Steps;
    for round in 0..ROUNDS {
        let instance = question.priced(&prices).map_err(Undecided::Fault)?;
        let steps = match round {
            0 => options.steps,
            _ => options.steps.min(FEW_STEPS.max(options.steps / PART)),
        };
        let answer = match solve(&instance, &Options { steps, ..*options }) {
            Ok(answer) => answer,
            Err(_) if best.is_some() => break,
            Err(e) => return Err(Undecided::Unsolved(e)),
        };
        stopped = answer.stopped;
        let all: f64 = question.limits.iter().zip(&prices).map(|(l, price)| price * l.most as f64).sum();
        let proven = (answer.bound as f64 - all).floor() as i64;
        if proven > bound {
            (bound, of_bound) = (proven, prices.clone());
            room = (0..room.len()).map(|unit| answer.room_price(unit)).collect();
        }
        let Some(used) = question.used(&answer.plan) else { break };
        let mut plan = answer.plan;
        if let Some(cost) = mend(question, &mut plan)
            && best.as_ref().is_none_or(|b| cost < b.1)
        {
            best = Some((plan, cost));
        }
        let free = used.set.iter().zip(&question.limits).zip(&prices);
        let met = free.clone().all(|((set, limit), price)| *set <= limit.most && (*set == limit.most || *price == 0.0));
        let near = best.as_ref().is_some_and(|b| (b.1 - bound) as f64 <= options.gap * (b.1 as f64).abs());
        if met || near || round + 1 == ROUNDS || matches!(stopped, Stopped::Time(_) | Stopped::Interrupted) {
            break;
        }
        raise(question, &mut prices, &used, best.as_ref().map(|b| b.1), proven, round);
    }
    let (plan, cost) = best.ok_or(Undecided::Setters)?;
    let bound = bound.min(cost);
    if cost == bound {
        stopped = Stopped::Proved;
    }
    Ok(Decided { plan, cost, bound, stopped, prices: of_bound, room })
}

/// Moves the prices towards what is exceeded and away from what is left over (Polyak's step, shortened with the rounds).
fn raise(question: &Question, prices: &mut [f64], used: &Use, best: Option<i64>, proven: i64, round: usize) {
    let over: Vec<f64> = used.set.iter().zip(&question.limits).map(|(set, l)| (*set - l.most) as f64).collect();
    let moved = |(o, p): (&f64, &f64)| if *o < 0.0 && *p == 0.0 { 0.0 } else { o * o };
    let length: f64 = over.iter().zip(prices.iter()).map(moved).sum();
    if length == 0.0 {
        return;
    }
    let dearest = proven.abs() as f64 * 1.05 + 1.0;
    let gap = (best.map_or(dearest, |b| b as f64) - proven as f64).max(1.0);
    let step = gap / length / (1.0 + round as f64 / 6.0);
    for (price, over) in prices.iter_mut().zip(over) {
        *price = (*price + step * over).max(0.0);
    }
}

/// Moves items, or leaves them out, until a plan keeps within all time that there is, and then to where they cost less; its
/// cost, or nothing where that does not come about.
pub fn mend(question: &Question, plan: &mut [Option<usize>]) -> Option<i64> {
    let mut used = question.used(plan)?;
    while !question.holds(&used) {
        let mut moves: Vec<(f64, usize, Option<usize>)> = Vec::new();
        for item in 0..plan.len() {
            let tried = options(question, plan, item).filter_map(|to| {
                let change = change(question, &used, plan, item, to).filter(|c| c.gain > 0)?;
                Some((change.cost as f64 / change.gain as f64, item, to))
            });
            moves.extend(tried.min_by(|a, b| a.0.total_cmp(&b.0)));
        }
        moves.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
        let mut moved = false;
        for (_, item, to) in moves {
            if question.holds(&used) {
                break;
            }
            // Those before may have taken the room, or all that was exceeded.
            if change(question, &used, plan, item, to).is_some_and(|c| c.gain > 0) {
                shift(question, &mut used, plan, item, to);
                moved = true;
            }
        }
        if !moved {
            return None;
        }
    }
    loop {
        let mut better = false;
        for item in 0..plan.len() {
            let tried = options(question, plan, item).filter_map(|to| {
                let change = change(question, &used, plan, item, to)?;
                (change.cost < 0 && change.gain >= 0).then_some((change.cost, to))
            });
            if let Some((_, to)) = tried.min_by_key(|t| t.0) {
                shift(question, &mut used, plan, item, to);
                better = true;
            }
        }
        if !better {
            return Some(used.cost);
        }
    }
}

/// Where else an item may be.
fn options<'a>(
    question: &'a Question,
    plan: &[Option<usize>],
    item: usize,
) -> impl Iterator<Item = Option<usize>> + use<'a> {
    let now = plan[item];
    let of = &question.items[item];
    let units = of.places.iter().map(|p| Some(p.unit)).chain(of.left_out.map(|_| None));
    units.filter(move |to| *to != now)
}

/// What moving an item changes: what the plan costs more, and by how much less the time of units and setters is exceeded.
struct Change {
    cost: i64,
    gain: i64,
}

/// Nothing where the unit has no room for the item.
fn change(question: &Question, used: &Use, plan: &[Option<usize>], item: usize, to: Option<usize>) -> Option<Change> {
    let of = &question.items[item];
    let (from, to) = (of.at(plan[item]), of.at(to));
    if to.is_some_and(|p| used.taken[p.unit] + p.takes > question.capacities[p.unit]) {
        return None;
    }
    let beyond = |taken: i64, most: i64| (taken - most).max(0);
    let relieved = from.map_or(0, |p| {
        let (taken, most) = (used.taken[p.unit], question.capacities[p.unit]);
        beyond(taken, most) - beyond(taken - p.takes, most)
    });
    let limits = used.set.iter().zip(&question.limits);
    let gain = limits.map(|(set, limit)| {
        let on = |place: Option<&Place>| place.filter(|p| limit.on[p.unit]).map_or(0, |p| p.setting);
        beyond(*set, limit.most) - beyond(set - on(from) + on(to), limit.most)
    });
    let cost = |place: Option<&Place>| place.map(|p| p.cost).or(of.left_out);
    Some(Change { cost: cost(to)? - cost(from)?, gain: relieved + gain.sum::<i64>() })
}

/// Moves an item.
fn shift(question: &Question, used: &mut Use, plan: &mut [Option<usize>], item: usize, to: Option<usize>) {
    let of = &question.items[item];
    for (unit, sign) in [(std::mem::replace(&mut plan[item], to), -1), (to, 1)] {
        let Some(place) = of.at(unit) else {
            used.cost += sign * of.left_out.unwrap_or(0);
            continue;
        };
        used.cost += sign * place.cost;
        used.taken[place.unit] += sign * place.takes;
        for (set, limit) in used.set.iter_mut().zip(&question.limits) {
            *set += if limit.on[place.unit] { sign * place.setting } else { 0 };
        }
    }
}
