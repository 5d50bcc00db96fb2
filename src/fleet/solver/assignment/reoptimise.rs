//! The best places for a few jobs while all others stay: a tree search that is exact unless its node limit cuts it.
//!
//! With a price for each unit of capacity, the cost of a plan is a constant plus two sums of terms that are never negative:
//! what each job's way lies above the job's cheapest priced way (its regret), and the price of the room that stays empty.
//! Good plans have small sums, so branches soon run out of budget. Two machines re-optimised exactly, ejection chains and
//! exchange cycles of any length among the chosen jobs are all special cases of this neighbourhood.

use super::Instance;
use super::knapsack::{Cell, EXACT_F32, next_row};

/// Regrets are whole multiples of 1 / `UNIT` of a unit of money.
pub(super) const UNIT: i64 = 256;

/// Ways and what they cost above the cheapest priced way of their job.
pub(super) struct Guide<'a> {
    pub(super) instance: &'a Instance,
    /// Price of a unit of capacity of each place, in 1 / `UNIT` of a unit of money.
    prices: Vec<i64>,
    job_prices: Vec<f64>,
    /// Regret of each way, job by job; `i64::MAX` where closed.
    regrets: Vec<i64>,
    /// Open places of each job, least regret first, one job after the other.
    places: Vec<usize>,
    starts: Vec<usize>,
}

impl<'a> Guide<'a> {
    /// Over the ways for which `open` holds, with capacities at these prices.
    pub(super) fn new(
        instance: &'a Instance,
        prices: &[f64],
        job_prices: &[f64],
        open: impl Fn(usize, usize) -> bool,
    ) -> Self {
        let prices: Vec<i64> = prices.iter().map(|p| (p * UNIT as f64).round() as i64).collect();
        let mut regrets = vec![i64::MAX; instance.jobs() * instance.places()];
        let (mut places, mut starts) = (Vec::new(), vec![0]);
        for job in 0..instance.jobs() {
            let own = &mut regrets[job * instance.places()..(job + 1) * instance.places()];
            for place in instance.ways(job).filter(|p| open(job, *p)) {
                own[place] = UNIT * instance.cost(job, place) + prices[place] * instance.takes(job, place);
                places.push(place);
            }
            let least = own.iter().copied().min().unwrap_or(0);
            own.iter_mut().filter(|r| **r != i64::MAX).for_each(|r| *r -= least);
            let from = starts[job];
            places[from..].sort_by_key(|p| own[*p]);
            starts.push(places.len());
        }
        Self { instance, prices, job_prices: job_prices.to_vec(), regrets, places, starts }
    }

    pub(super) fn regret(&self, job: usize, place: usize) -> i64 {
        self.regrets[job * self.instance.places() + place]
    }

    /// Open places of a job, least regret first.
    pub(super) fn places(&self, job: usize) -> &[usize] {
        &self.places[self.starts[job]..self.starts[job + 1]]
    }

    /// Scaled price of a job.
    fn job_price(&self, job: usize) -> f64 {
        self.job_prices[job]
    }

    pub(super) fn price(&self, place: usize) -> i64 {
        self.prices[place]
    }
}

/// Where each job is, with loads and cost kept up to date.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Plan {
    pub(super) place: Vec<usize>,
    pub(super) loads: Vec<i64>,
    pub(super) cost: i64,
}

impl Plan {
    pub(super) fn of(instance: &Instance, place: Vec<usize>) -> Self {
        let mut loads = vec![0; instance.places()];
        let mut cost = 0;
        for (job, p) in place.iter().enumerate() {
            loads[*p] += instance.takes(job, *p);
            cost += instance.cost(job, *p);
        }
        Self { place, loads, cost }
    }

    pub(super) fn shift(&mut self, instance: &Instance, job: usize, to: usize) {
        let from = std::mem::replace(&mut self.place[job], to);
        self.loads[from] -= instance.takes(job, from);
        self.loads[to] += instance.takes(job, to);
        self.cost += instance.cost(job, to) - instance.cost(job, from);
    }

    pub(super) fn fits(&self, instance: &Instance) -> bool {
        self.loads.iter().zip(instance.capacities()).all(|(load, capacity)| load <= capacity)
    }
}

/// A place that a job may go to.
#[derive(Clone, Copy)]
struct Choice {
    /// Index of the place among those of the tree.
    column: usize,
    takes: usize,
    cost: f64,
}

/// A place whose room is shared out among the free jobs.
#[derive(Clone, Copy)]
struct Column {
    place: usize,
    /// Room for the free jobs, in cells of its grid.
    cells: usize,
    grid: i64,
    /// Exact room left.
    room: i64,
}

/// The tree over the jobs that may move; kept from call to call for its memory.
#[derive(Default)]
pub(super) struct Tree {
    jobs: Vec<usize>,
    choices: Vec<Choice>,
    /// Exact use of each choice.
    takes: Vec<i64>,
    starts: Vec<usize>,
    columns: Vec<Column>,
    /// Best profit of the jobs from a depth on for each room: rows of all columns; in half the width where all sums are exact.
    narrow: Vec<f32>,
    wide: Vec<f64>,
    /// Where the row of a depth and column begins.
    rows: Vec<usize>,
    /// Sum of the prices of the jobs from a depth on.
    prices: Vec<f64>,
    now: Vec<u16>,
    given: Vec<u16>,
    best: Vec<u16>,
    found: bool,
    changed: usize,
    /// Scaled cost of the free jobs that must not be passed.
    budget: f64,
    nodes: u32,
}

const MOST_CELLS: i64 = 1024;

impl Tree {
    /// Moves the jobs of `free` to the best places among `allowed` that differ from where they are, if the cost rises by
    /// at most `loss`. Of equally good ones the first met is taken. Whether something moved.
    pub(super) fn improve(
        &mut self,
        guide: &Guide<'_>,
        plan: &mut Plan,
        free: &[usize],
        allowed: impl Fn(usize, usize) -> bool,
        loss: i64,
        nodes: u32,
    ) -> bool {
        self.lay_out(guide, plan, free, allowed);
        let given: i64 = free.iter().map(|job| guide.instance.cost(*job, plan.place[*job])).sum();
        self.budget = ((given + loss) * UNIT) as f64;
        self.changed = 0;
        self.nodes = nodes;
        self.found = false;
        if self.most(guide) < EXACT_F32 {
            let mut table = std::mem::take(&mut self.narrow);
            self.search(guide, &mut table);
            self.narrow = table;
        } else {
            let mut table = std::mem::take(&mut self.wide);
            self.search(guide, &mut table);
            self.wide = table;
        }
        if self.found {
            for (depth, job) in self.jobs.iter().enumerate() {
                let to = self.columns[self.choices[self.starts[depth] + usize::from(self.best[depth])].column].place;
                if plan.place[*job] != to {
                    plan.shift(guide.instance, *job, to);
                }
            }
        }
        self.found
    }

    /// Nodes used of those allowed to the last call.
    pub(super) fn used(&self, allowed: u32) -> u32 {
        allowed - self.nodes
    }

    fn lay_out(&mut self, guide: &Guide<'_>, plan: &Plan, free: &[usize], allowed: impl Fn(usize, usize) -> bool) {
        let instance = guide.instance;
        self.jobs.clear();
        self.jobs.extend_from_slice(free);
        // Large jobs first: small ones that are left fill what room there is.
        self.jobs.sort_by_key(|job| (-instance.takes(*job, plan.place[*job]), *job));
        let mut index = vec![usize::MAX; instance.places()];
        self.columns.clear();
        self.choices.clear();
        self.takes.clear();
        self.starts.clear();
        self.given.clear();
        for job in &self.jobs {
            let start = self.choices.len();
            self.starts.push(start);
            // A better plan may be barred from a place that this plan uses.
            let given = plan.place[*job];
            let barred = (guide.regret(*job, given) == i64::MAX).then_some(&given);
            for place in guide.places(*job).iter().chain(barred) {
                let here = given == *place;
                if !here && !allowed(*job, *place) {
                    continue;
                }
                if index[*place] == usize::MAX {
                    index[*place] = self.columns.len();
                    let room = if *place == instance.out() { 0 } else { instance.room(*place) - plan.loads[*place] };
                    self.columns.push(Column { place: *place, cells: 0, grid: 1, room });
                }
                let column = index[*place];
                if here {
                    self.given.push((self.choices.len() - start) as u16);
                    self.columns[column].room += instance.takes(*job, *place);
                }
                let cost = (UNIT * instance.cost(*job, *place)) as f64;
                self.choices.push(Choice { column, takes: 0, cost });
                self.takes.push(instance.takes(*job, *place));
            }
        }
        self.starts.push(self.choices.len());
        for column in &mut self.columns {
            column.grid = 1 + column.room / MOST_CELLS;
            column.cells = (column.room / column.grid) as usize;
        }
        for (choice, takes) in self.choices.iter_mut().zip(&self.takes) {
            choice.takes = (takes / self.columns[choice.column].grid) as usize;
        }
    }

    /// More than any load of all free jobs can bring.
    fn most(&self, guide: &Guide<'_>) -> f64 {
        let profit = |d: usize| {
            let choices = &self.choices[self.starts[d]..self.starts[d + 1]];
            choices.iter().map(|c| guide.job_price(self.jobs[d]) - c.cost).fold(0.0, f64::max)
        };
        (0..self.jobs.len()).map(profit).sum()
    }

    fn search<T: Cell>(&mut self, guide: &Guide<'_>, table: &mut Vec<T>) {
        self.fill(guide, table);
        self.descend(table, 0, 0.0);
    }

    fn fill<T: Cell>(&mut self, guide: &Guide<'_>, table: &mut Vec<T>) {
        let depth = self.jobs.len();
        let k = self.columns.len();
        self.rows.clear();
        self.rows.resize((depth + 1) * k, 0);
        self.prices.clear();
        self.prices.resize(depth + 1, 0.0);
        // Every cell is written: what stands there from the call before need not be cleared.
        let first: usize = self.columns.iter().map(|c| c.cells + 1).sum();
        let rest: usize = self.choices.iter().map(|c| self.columns[c.column].cells + 1).sum();
        if table.len() < first + rest {
            table.resize(first + rest, T::default());
        }
        let mut end = 0;
        for (c, column) in self.columns.iter().enumerate() {
            self.rows[depth * k + c] = end;
            end += column.cells + 1;
        }
        table[..end].fill(T::default());
        for d in (0..depth).rev() {
            let price = guide.job_price(self.jobs[d]);
            self.prices[d] = self.prices[d + 1] + price;
            let (before, own) = self.rows.split_at_mut((d + 1) * k);
            let own_row = &mut before[d * k..];
            own_row.copy_from_slice(&own[..k]);
            for choice in &self.choices[self.starts[d]..self.starts[d + 1]] {
                let profit = price - choice.cost;
                let width = self.columns[choice.column].cells + 1;
                if profit > 0.0 && choice.takes < width {
                    let at = own_row[choice.column];
                    let (old, row) = table.split_at_mut(end);
                    next_row(&old[at..at + width], &mut row[..width], choice.takes, T::of(profit));
                    own_row[choice.column] = end;
                    end += width;
                }
            }
        }
        self.now.clear();
        self.now.resize(depth, 0);
        self.best.clear();
        self.best.resize(depth, 0);
    }

    /// All ways on from `depth`, the jobs before it placed at this cost.
    fn descend<T: Cell>(&mut self, table: &[T], depth: usize, cost: f64) {
        if self.nodes == 0 {
            return;
        }
        self.nodes -= 1;
        if depth == self.jobs.len() {
            if self.changed > 0 {
                self.found = true;
                self.best.clone_from(&self.now);
                self.budget = cost - UNIT as f64;
            }
            return;
        }
        let rows = &self.rows[(depth + 1) * self.columns.len()..(depth + 2) * self.columns.len()];
        let profits: f64 = rows.iter().zip(&self.columns).map(|(row, c)| table[row + c.cells].profit()).sum();
        let base = cost + self.prices[depth + 1] - profits;
        let (from, to) = (self.starts[depth], self.starts[depth + 1]);
        let mut order: [(f64, u16); 16] = [(0.0, 0); 16];
        let mut count = 0;
        for c in from..to {
            let choice = &self.choices[c];
            let column = &self.columns[choice.column];
            if choice.takes > column.cells || self.takes[c] > column.room {
                continue;
            }
            let row = rows[choice.column] + column.cells;
            let least = base + choice.cost + table[row].profit() - table[row - choice.takes].profit();
            if least <= self.budget && count < order.len() {
                let mut at = count;
                while at > 0 && order[at - 1].0 > least {
                    order[at] = order[at - 1];
                    at -= 1;
                }
                order[at] = (least, (c - from) as u16);
                count += 1;
            }
        }
        for (least, index) in &order[..count] {
            if *least > self.budget {
                break;
            }
            let c = from + usize::from(*index);
            let choice = self.choices[c];
            let moved = usize::from(*index != self.given[depth]);
            let takes = self.takes[c];
            let column = &mut self.columns[choice.column];
            let cells = column.cells;
            column.room -= takes;
            column.cells = (column.room / column.grid) as usize;
            self.now[depth] = *index;
            self.changed += moved;
            self.descend(table, depth + 1, cost + choice.cost);
            self.changed -= moved;
            let column = &mut self.columns[choice.column];
            column.room += takes;
            column.cells = cells;
        }
    }
}
