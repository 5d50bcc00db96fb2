//! The order of the lots on each machine: setups depend on what ran before, and each lot is wanted on its day.
//!
//! A machine's clock runs in hours that it is planned for: over the horizon it has as many as are available, spread evenly over
//! the calendar. A lot is not made before its own share of the year begins, else all lots of a job would follow each other at
//! once, which is one large lot. Late lots weigh first, then the time at the setting.

use super::changes::{Changes, Running, changes};
use super::plan::{MixPlan, Unit};
use super::routes::Routed;
use crate::fleet::solver::Options;
use crate::fleet::solver::sequence::{Instance, Lot, Objective, solve};
use crate::model::machine::Machine;
use crate::model::mix::MixJob;
use crate::model::part::Part;
use crate::model::shop::Shop;
use rayon::prelude::*;

/// A job as the sequence needs it.
#[derive(Clone, Copy)]
pub struct Ordered<'a> {
    pub job: &'a MixJob,
    pub part: &'a Part,
    pub routed: &'a Routed,
}

/// Up to so many lots every move of one lot is tried at the end.
const MOST_MOVES: usize = 150;
/// A machine with a share of all lots that is smaller than this is searched with as much fewer steps: of a mix of thousands of
/// jobs on dozens of machines none has many.
const SMALL_SHARE: f64 = 0.15;

/// One lot on the clock of its machine, in seconds from the start.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Run {
    /// A number in the jobs given.
    pub job: usize,
    /// Number of the lot, from 0.
    pub lot: u64,
    pub setup: i64,
    /// The first piece; the setup stands before it.
    pub start: i64,
    pub end: i64,
    pub due: i64,
}

impl Run {
    /// Seconds that it ends after its day.
    pub fn late(&self) -> i64 {
        (self.end - self.due).max(0)
    }
}

/// The lots of one machine in their order.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Sequence {
    /// A number in the units of the plan.
    pub unit: usize,
    pub runs: Vec<Run>,
    /// Seconds at the setting where each lot is set up anew, as the plan takes it.
    pub anew: i64,
}

impl Sequence {
    /// Seconds at the setting in this order.
    pub fn setting(&self) -> i64 {
        self.runs.iter().map(|r| r.setup).sum()
    }
}

/// The lots of every machine of a plan in order. Nothing is given for a machine that has none. A step is a move of a lot on one
/// machine.
pub fn sequence(
    jobs: &[Ordered],
    machines: &[Machine],
    shop: &Shop,
    plan: &MixPlan,
    years: f64,
    options: &Options<'_>,
) -> Vec<Sequence> {
    let units: Vec<usize> = (0..plan.hours.units.len()).collect();
    let lots = plan.jobs.iter().flat_map(|j| &j.made).map(|m| m.lots.len()).sum();
    let desk = Desk { jobs, machines, shop, plan, years, lots };
    units.par_iter().filter_map(|unit| desk.unit(*unit, options)).collect()
}

/// A lot to be put in order.
struct Item {
    /// Number among the jobs of the machine.
    own: usize,
    job: usize,
    lot: u64,
    time: i64,
    /// What proving it out anew takes beyond a repeat order.
    anew: i64,
    release: i64,
    due: i64,
}

/// What a lot is set up after: the lot before it, or what stands on the machine.
fn setup(changes: &Changes, before: Option<&Item>, to: &Item) -> i64 {
    let change = match before {
        Some(before) if before.job == to.job => 0,
        Some(before) => changes.between[before.own][to.own],
        None => changes.first[to.own],
    };
    change + to.anew
}

struct Desk<'a> {
    jobs: &'a [Ordered<'a>],
    machines: &'a [Machine],
    shop: &'a Shop,
    plan: &'a MixPlan,
    years: f64,
    /// On all machines.
    lots: usize,
}

impl Desk<'_> {
    fn unit(&self, number: usize, options: &Options<'_>) -> Option<Sequence> {
        let unit = self.plan.hours.units[number];
        let (items, own) = self.items(number, unit);
        if items.is_empty() {
            return None;
        }
        let changes = self.changes(unit, &own);
        let start = unit.promised;
        let share = items.len() as f64 / self.lots as f64;
        let steps = (options.steps as f64 * (share / SMALL_SHARE).min(1.0)).ceil() as u64;
        let mut order = self.ordered(&items, &changes, start, &Options { steps, ..*options });
        improve(&mut order, &items, &changes, start);
        let runs = clocked(&order, &items, &changes, start);
        let made = self.plan.jobs.iter().flat_map(|j| &j.made).filter(|m| m.unit == number);
        Some(Sequence { unit: number, runs, anew: made.map(|m| m.takes.setting).sum() })
    }

    /// The lots on a unit, and which jobs they are of, each with its route.
    fn items(&self, number: usize, unit: Unit) -> (Vec<Item>, Vec<(usize, usize)>) {
        let (mut items, mut own) = (Vec::new(), Vec::new());
        for (job, plan) in self.plan.jobs.iter().enumerate() {
            for made in plan.made.iter().filter(|m| m.unit == number) {
                let Ordered { job: asked, routed, .. } = self.jobs[job];
                let route = &routed.routes[made.route];
                own.push((job, made.route));
                let share = unit.available as f64 / routed.lots.count as f64;
                let first = match asked.due {
                    Some(due) => unit.available as f64 * due.to_hours() / (self.years * 365.25 * 24.0),
                    None => share,
                };
                for lot in &made.lots {
                    let (takes, size) = (route.lot(&routed.lots, *lot), usize::from(*lot < routed.lots.larger));
                    let due = first + share * *lot as f64;
                    items.push(Item {
                        own: own.len() - 1,
                        job,
                        lot: *lot,
                        time: takes.seconds - takes.setting,
                        anew: (takes.setting - route.later[size].setting).max(0),
                        release: (due - share).max(0.0) as i64,
                        due: due as i64,
                    });
                }
            }
        }
        (items, own)
    }

    fn changes(&self, unit: Unit, own: &[(usize, usize)]) -> Changes {
        let machine = &self.machines[unit.machine];
        let running = |(job, route): &(usize, usize)| {
            let Ordered { part, routed, .. } = self.jobs[*job];
            Running::of(part, routed, *route)
        };
        let running: Vec<Running> = own.iter().map(running).collect();
        let now = self.shop.machines.get(&machine.name).and_then(|m| m.now.get(unit.number - 1)).cloned();
        changes(&running, machine, self.shop, &now.unwrap_or_default())
    }

    /// The better of the orders with the least lateness and with the least setting.
    fn ordered(&self, items: &[Item], changes: &Changes, start: i64, options: &Options<'_>) -> Vec<usize> {
        let lots = || {
            let lot = |i: &Item| Lot { times: vec![(0, i.time)], release: i.release, due: Some(i.due), weight: 1 };
            items.iter().map(lot).collect::<Vec<_>>()
        };
        let by_due = {
            let mut order: Vec<usize> = (0..items.len()).collect();
            order.sort_by_key(|i| (items[*i].due, items[*i].release, *i));
            order
        };
        let found = [Objective::Tardiness, Objective::Setup].into_iter().filter_map(|objective| {
            let change =
                |_: usize, before: Option<usize>, lot: usize| setup(changes, before.map(|b| &items[b]), &items[lot]);
            let instance = Instance::new(lots(), &[start], objective, change).ok()?;
            solve(&instance, options).ok()?.order.into_iter().next()
        });
        let all = found.chain([by_due]);
        all.min_by_key(|order| worth(order, items, changes, start)).unwrap_or_default()
    }
}

/// Lots on the clock: a setup may be done before the lot is let go.
fn clocked(order: &[usize], items: &[Item], changes: &Changes, start: i64) -> Vec<Run> {
    let mut clock = start;
    let mut before = None;
    let mut runs = Vec::with_capacity(order.len());
    for i in order {
        let item = &items[*i];
        let setup = setup(changes, before, item);
        let begin = (clock + setup).max(item.release);
        clock = begin + item.time;
        runs.push(Run { job: item.job, lot: item.lot, setup, start: begin, end: clock, due: item.due });
        before = Some(item);
    }
    runs
}

/// Lateness, then time at the setting.
fn worth(order: &[usize], items: &[Item], changes: &Changes, start: i64) -> (i64, i64) {
    let runs = clocked(order, items, changes, start);
    (runs.iter().map(Run::late).sum(), runs.iter().map(|r| r.setup).sum())
}

/// Moves one lot at a time to where it serves best, until none is left that does.
fn improve(order: &mut Vec<usize>, items: &[Item], changes: &Changes, start: i64) {
    let mut best = worth(order, items, changes, start);
    while order.len() <= MOST_MOVES {
        let before = best;
        for from in 0..order.len() {
            for to in 0..order.len() {
                let mut tried = order.clone();
                let lot = tried.remove(from);
                tried.insert(to, lot);
                let worth = worth(&tried, items, changes, start);
                if worth < best {
                    best = worth;
                    *order = tried;
                }
            }
        }
        if best == before {
            return;
        }
    }
}
