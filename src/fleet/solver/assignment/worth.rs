//! What an extra machine, or more room on one, can save at most: proven by one knapsack each at the prices of the plan.
//!
//! The bound of the plan is the jobs' prices less the best load of each machine. A machine more takes its own best load off
//! that and changes nothing else, so the plan's cost less the new bound is more than it can ever save. Candidates that cost
//! more than this are refused with proof; only the others need a plan of their own.

use super::bound::SCALE;
use super::knapsack::{Item, Tables, best_load};
use super::{Answer, Instance};

/// A machine that is not there yet.
#[derive(Clone, Debug)]
pub struct Candidate {
    /// Its capacity, in the unit of the others.
    pub capacity: i64,
    /// Jobs that it could make: number, cost, use.
    pub ways: Vec<(usize, i64, i64)>,
}

/// What more room on a machine is worth.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RoomWorth {
    /// Saving for each unit of room, as a first estimate: the price of the capacity in the linear relaxation.
    pub price: f64,
    /// Proven: the room asked about saves no more than this.
    pub at_most: i64,
}

/// A plan with its prices, ready to be asked.
pub struct Screen<'a> {
    instance: &'a Instance,
    answer: &'a Answer,
    /// Scaled bound at the prices, and the best load of each machine in it.
    value: f64,
    loads: Vec<f64>,
}

impl<'a> Screen<'a> {
    /// The bound of `answer`, which must be of this instance.
    #[must_use]
    pub fn new(instance: &'a Instance, answer: &'a Answer) -> Self {
        let prices = &answer.prices.jobs;
        let loads: Vec<f64> =
            (0..instance.machines()).map(|m| load(items(instance, prices, m), instance.room(m))).collect();
        let out: f64 = items(instance, prices, instance.out()).iter().map(|i| i.profit.max(0.0)).sum();
        let value = prices.iter().sum::<f64>() - loads.iter().sum::<f64>() - out;
        Self { instance, answer, value, loads }
    }

    /// Proven: with this machine more, no plan costs less than the present one by more than this.
    ///
    /// Ways to jobs that do not exist, or of a negative use, are left out.
    #[must_use]
    pub fn extra_machine(&self, candidate: &Candidate) -> i64 {
        let prices = &self.answer.prices.jobs;
        let items = candidate.ways.iter().filter(|(job, _, takes)| *job < prices.len() && *takes >= 0);
        let items = items.map(|(job, cost, takes)| Item { takes: *takes, profit: prices[*job] - SCALE * *cost as f64 });
        self.at_most(self.value - load(items.collect(), candidate.capacity.max(0)))
    }

    /// What `more` units of room on a machine are worth, `more` from 0.
    #[must_use]
    pub fn more_room(&self, machine: usize, more: i64) -> RoomWorth {
        let room = self.instance.room(machine).saturating_add(more.max(0));
        let loaded = load(items(self.instance, &self.answer.prices.jobs, machine), room);
        RoomWorth {
            price: self.answer.room_price(machine),
            at_most: self.at_most(self.value + self.loads[machine] - loaded),
        }
    }

    fn at_most(&self, bound: f64) -> i64 {
        (self.answer.cost - (bound / SCALE).ceil() as i64).max(0)
    }
}

fn items(instance: &Instance, prices: &[f64], place: usize) -> Vec<Item> {
    let allowed = (0..instance.jobs()).filter(|job| instance.allowed(*job, place));
    allowed
        .map(|job| Item {
            takes: instance.takes(job, place),
            profit: prices[job] - SCALE * instance.cost(job, place) as f64,
        })
        .collect()
}

fn load(items: Vec<Item>, room: i64) -> f64 {
    best_load(&items, room, &mut Tables::default(), &mut Vec::new())
}
