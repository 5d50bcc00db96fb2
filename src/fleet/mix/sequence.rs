//! The order of the lots on each machine: setups depend on what ran before, and each lot is wanted on its day.
//!
//! A machine's clock runs in hours that it is planned for: over the horizon it has as many as are available, spread evenly over
//! the calendar. A lot is not made before its own share of the year begins, else all lots of a job would follow each other at
//! once, which is one large lot. Late lots weigh first, then the time at the setting.

use super::plan::{MixPlan, Unit};
use super::routes::Routed;
use crate::fleet::solver::Options;
use crate::fleet::solver::sequence::{Instance, Lot, Objective, solve};
use crate::matching::setups;
use crate::model::machine::Machine;
use crate::model::mix::MixJob;
use crate::model::part::Part;
use crate::model::shop::{Shop, State};
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

/// The lots of every machine of a plan in order. Nothing is given for a machine that has none.
pub fn sequence(
    jobs: &[Ordered],
    machines: &[Machine],
    shop: &Shop,
    plan: &MixPlan,
    years: f64,
    options: &Options<'_>,
) -> Vec<Sequence> {
    let units: Vec<usize> = (0..plan.hours.units.len()).collect();
    let desk = Desk { jobs, machines, shop, plan, years };
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

/// Setups on one machine: between its jobs, and from what stands there.
struct Setups {
    between: Vec<Vec<i64>>,
    first: Vec<i64>,
}

impl Setups {
    fn of(&self, before: Option<&Item>, to: &Item) -> i64 {
        let change = match before {
            Some(before) if before.job == to.job => 0,
            Some(before) => self.between[before.own][to.own],
            None => self.first[to.own],
        };
        change + to.anew
    }
}

struct Desk<'a> {
    jobs: &'a [Ordered<'a>],
    machines: &'a [Machine],
    shop: &'a Shop,
    plan: &'a MixPlan,
    years: f64,
}

impl Desk<'_> {
    fn unit(&self, number: usize, options: &Options<'_>) -> Option<Sequence> {
        let unit = self.plan.hours.units[number];
        let (items, own) = self.items(number, unit);
        if items.is_empty() {
            return None;
        }
        let setups = self.setups(unit, &own);
        let start = unit.promised;
        let mut order = self.ordered(&items, &setups, start, options);
        improve(&mut order, &items, &setups, start);
        let runs = clocked(&order, &items, &setups, start);
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

    fn setups(&self, unit: Unit, own: &[(usize, usize)]) -> Setups {
        let machine = &self.machines[unit.machine];
        let change = |part: &Part, route: usize, job: usize, from: &State| {
            let mode = self.jobs[job].routed.routes[route].mode;
            setups::to_job(part, machine, Some(mode), self.shop, from)
        };
        let repeat = |job: usize| {
            let lots = self.jobs[job].routed.lots;
            Part { repeat: true, orders: vec![lots.size(0)], ..self.jobs[job].part.clone() }
        };
        let parts: Vec<Part> = own.iter().map(|(job, _)| repeat(*job)).collect();
        let now = self.shop.machines.get(&machine.name).and_then(|m| m.now.get(unit.number - 1)).cloned();
        let now = now.unwrap_or_default();
        // A change that cannot be reckoned is taken as setting up anew.
        let anew: Vec<i64> =
            own.iter().map(|(job, route)| self.jobs[*job].routed.routes[*route].later[0].setting).collect();
        let to = |i: usize, from: &State| {
            let (job, route) = own[i];
            change(&parts[i], route, job, from).map_or(anew[i], |c| c.setup.total.to_s().ceil() as i64)
        };
        let left = |i: usize| {
            let (job, route) = own[i];
            change(&parts[i], route, job, &State::default()).map(|c| c.left.state).unwrap_or_default()
        };
        let between = (0..own.len())
            .into_par_iter()
            .map(|i| {
                let state = left(i);
                (0..own.len()).map(|j| to(j, &state)).collect()
            })
            .collect();
        Setups { between, first: (0..own.len()).map(|i| to(i, &now)).collect() }
    }

    /// The better of the orders with the least lateness and with the least setting.
    fn ordered(&self, items: &[Item], setups: &Setups, start: i64, options: &Options<'_>) -> Vec<usize> {
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
            let setup = |_: usize, before: Option<usize>, lot: usize| setups.of(before.map(|b| &items[b]), &items[lot]);
            let instance = Instance::new(lots(), &[start], objective, setup).ok()?;
            solve(&instance, options).ok()?.order.into_iter().next()
        });
        let all = found.chain([by_due]);
        all.min_by_key(|order| worth(order, items, setups, start)).unwrap_or_default()
    }
}

/// Lots on the clock: a setup may be done before the lot is let go.
fn clocked(order: &[usize], items: &[Item], setups: &Setups, start: i64) -> Vec<Run> {
    let mut clock = start;
    let mut before = None;
    let mut runs = Vec::with_capacity(order.len());
    for i in order {
        let item = &items[*i];
        let setup = setups.of(before, item);
        let begin = (clock + setup).max(item.release);
        clock = begin + item.time;
        runs.push(Run { job: item.job, lot: item.lot, setup, start: begin, end: clock, due: item.due });
        before = Some(item);
    }
    runs
}

/// Lateness, then time at the setting.
fn worth(order: &[usize], items: &[Item], setups: &Setups, start: i64) -> (i64, i64) {
    let runs = clocked(order, items, setups, start);
    (runs.iter().map(Run::late).sum(), runs.iter().map(|r| r.setup).sum())
}

/// Moves one lot at a time to where it serves best, until none is left that does.
fn improve(order: &mut Vec<usize>, items: &[Item], setups: &Setups, start: i64) {
    let mut best = worth(order, items, setups, start);
    while order.len() <= MOST_MOVES {
        let before = best;
        for from in 0..order.len() {
            for to in 0..order.len() {
                let mut tried = order.clone();
                let lot = tried.remove(from);
                tried.insert(to, lot);
                let worth = worth(&tried, items, setups, start);
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
