//! From the question to a plan with its proof: prices, first plans, bound, search and branching in turn.

use super::bound::{Climb, Relaxation, SCALE};
use super::branch::{Frontier, Open};
use super::check::{Recomputed, recompute};
use super::reoptimise::{Guide, Plan};
use super::search::{Searcher, Stretch};
use super::{Instance, prices, repair};
use crate::fleet::solver::{Options, Random, Stopped, parallel};
use std::fmt;

/// Searchers that work side by side; their number must not depend on the threads.
const SEARCHERS: usize = 4;
/// Re-optimisations of a searcher between two meetings.
const STRETCH: u64 = 150;
/// Heat at which each of the searchers walks.
const HEATS: [f64; SEARCHERS] = [0.0, 0.15, 0.3, 0.8];
/// Attempts at a first plan that fits, made together and in all; large questions end them at the first that does.
const STARTS_TOGETHER: u64 = 4;
const STARTS: u64 = 16;
const LARGE: usize = 20_000;
/// Table cells of all ways beyond which ways are not forced one by one at the root.
const MOST_FORCING: i64 = 200_000_000;
/// Table cells of all rounds in which the bound is raised; so few that a large question has time left for its search. Its
/// linear prices are as good as proved: knapsacks of many jobs hardly differ from their relaxation.
const MOST_RAISING: i64 = 4_000_000_000;
const FEWEST_ROUNDS: usize = 10;
/// Branching is tried while at most this many ways stay open, or this share of all.
const FEW_WAYS: usize = 1_200;
const SMALL_SHARE: f64 = 0.5;

/// A plan and how good it is.
#[derive(Clone, Debug)]
pub struct Answer {
    /// Machine of each job, or none where it is left out.
    pub plan: Vec<Option<usize>>,
    /// Cost of the plan, recomputed.
    pub cost: i64,
    /// Load of each machine, recomputed.
    pub loads: Vec<i64>,
    /// Proven: no plan costs less.
    pub bound: i64,
    pub stopped: Stopped,
    /// Steps taken: re-optimisations and nodes of the proof.
    pub steps: u64,
    /// What the proof rests on, for [`super::worth`].
    pub(super) prices: Prices,
}

/// Prices at which the bound was proved.
#[derive(Clone, Debug)]
pub(super) struct Prices {
    /// Scaled price of each job.
    pub(super) jobs: Vec<f64>,
    /// Price of a unit of each machine's capacity in the linear relaxation.
    pub(super) capacities: Vec<f64>,
}

impl Answer {
    /// What one more unit of a machine's room would save, as a first estimate: the price of its capacity in the linear
    /// relaxation.
    #[must_use]
    pub fn room_price(&self, machine: usize) -> f64 {
        self.prices.capacities[machine]
    }
}

/// Why there is no plan.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Unsolved {
    /// Proven: the jobs do not fit.
    Infeasible,
    /// None was found, and none was excluded.
    NotFound { stopped: Stopped },
}

impl fmt::Display for Unsolved {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Infeasible => write!(f, "the jobs that must be made do not fit the machines"),
            Self::NotFound { .. } => {
                write!(f, "no plan was found in which all jobs that must be made fit the machines")
            }
        }
    }
}

impl std::error::Error for Unsolved {}

/// Scaled bound from which on no plan below `cost` is left: costs are whole.
pub(super) fn below(cost: i64) -> f64 {
    SCALE * (cost - 1) as f64 + 1.0
}

/// Assigns the jobs to the machines at least cost. A step is a re-optimisation of some machines (a tree of up to 5,000
/// nodes) or a node of the proof; a hundred jobs take some thousand steps.
///
/// # Errors
/// [`Unsolved`] where there is no plan or none was found.
pub fn solve(instance: &Instance, options: &Options<'_>) -> Result<Answer, Unsolved> {
    Run::new(instance, options).ok_or(Unsolved::Infeasible)?.finish()
}

struct Run<'a> {
    instance: &'a Instance,
    options: &'a Options<'a>,
    capacity_prices: Vec<f64>,
    multipliers: Vec<f64>,
    /// Scaled bound at the multipliers, and the best one proved.
    root: f64,
    bound: f64,
    widest: f64,
    best: Option<Plan>,
    open: Open,
    steps: u64,
}

impl<'a> Run<'a> {
    /// Nothing where it is already certain that there is no plan.
    fn new(instance: &'a Instance, options: &'a Options<'a>) -> Option<Self> {
        let capacity_prices = prices::price_capacities(instance);
        let cheapest = |job: usize| {
            instance.ways(job).fold(f64::INFINITY, |least, p| {
                least.min(instance.cost(job, p) as f64 + capacity_prices[p] * instance.takes(job, p) as f64)
            })
        };
        let widest = (1_u64 << 51) as f64 / instance.jobs().max(1) as f64;
        let multipliers =
            (0..instance.jobs()).map(|job| (SCALE * cheapest(job)).round().clamp(-widest, widest)).collect();
        let mut run = Self {
            instance,
            options,
            capacity_prices,
            multipliers,
            root: f64::NEG_INFINITY,
            bound: -SCALE * instance.dearest() as f64,
            widest: widest.floor(),
            best: None,
            open: Open::all(instance),
            steps: 0,
        };
        run.first_plans();
        run.raise(60)?;
        run.first_walk();
        run.raise(600)?;
        Some(run)
    }

    fn guide(&self) -> Guide<'a> {
        Guide::new(self.instance, &self.capacity_prices, &self.multipliers, |job, p| self.open.holds(job, p))
    }

    /// One more than any plan can cost, or the cost of the best plan.
    fn ceiling(&self) -> i64 {
        self.best.as_ref().map_or(self.instance.dearest() + 1, |plan| plan.cost)
    }

    fn proved(&self) -> i64 {
        // All that is not excluded costs at least the best plan.
        let bound = (self.bound / SCALE).ceil();
        if bound >= self.ceiling() as f64 { self.ceiling() } else { bound as i64 }
    }

    fn keep(&mut self, plan: &Plan) {
        if plan.fits(self.instance) && self.best.as_ref().is_none_or(|best| plan.cost < best.cost) {
            self.best = Some(plan.clone());
        }
    }

    fn first_plans(&mut self) {
        let guide = self.guide();
        for wave in 0..STARTS / STARTS_TOGETHER {
            let starts: Vec<u64> = (wave * STARTS_TOGETHER..(wave + 1) * STARTS_TOGETHER).collect();
            let plans = parallel::map(&starts, self.options.threads, |k| {
                let mut random = Random::new(self.options.seed, 1_000 + self.steps + k);
                repair::start(&guide, &mut random, 0.1 * *k as f64)
            });
            plans.iter().for_each(|plan| self.keep(plan));
            let large = self.instance.jobs() * self.instance.places() > LARGE;
            if self.options.watch.cut().is_some() || (large && self.best.is_some()) {
                break;
            }
        }
        self.steps += u64::from(self.best.is_none()) * STARTS;
    }

    /// Raises the bound and closes ways that no better plan can take. Nothing where no plan is left and none was found.
    fn raise(&mut self, rounds: usize) -> Option<()> {
        if self.best.is_some() && self.stop() == Some(Stopped::Proved) {
            return Some(());
        }
        let cut = || self.options.watch.cut().is_some();
        let Some(relaxation) = Relaxation::new(self.instance, |job, p| self.open.holds(job, p)) else {
            // No way is left for a better plan.
            self.bound = f64::INFINITY;
            return self.best.is_some().then_some(());
        };
        let target = match &self.best {
            Some(plan) => below(plan.cost),
            // Without a plan the step needs some aim.
            None => self.root.max(0.0) + SCALE * 0.02 * self.instance.dearest() as f64 + SCALE,
        };
        let in_reach = usize::try_from(MOST_RAISING / relaxation.cells().max(1)).unwrap_or(usize::MAX);
        let climb = Climb {
            rounds: rounds.min(in_reach.max(FEWEST_ROUNDS)),
            share: 1.0,
            patience: 20,
            target,
            widest: self.widest,
            threads: self.options.threads,
            cut: &cut,
        };
        self.root = relaxation.raise(&mut self.multipliers, &climb);
        self.bound = self.bound.max(self.root);
        self.close_ways(&relaxation);
        (self.best.is_some() || self.bound < below(self.ceiling())).then_some(())
    }

    fn close_ways(&mut self, relaxation: &Relaxation) {
        if self.best.is_some() && relaxation.cells() <= MOST_FORCING {
            let forced = relaxation.force_each(&self.multipliers, self.options.threads);
            self.open.close_beyond(&forced, below(self.ceiling()));
        }
    }

    fn first_walk(&mut self) {
        let Some(plan) = self.best.clone() else { return };
        let guide = self.guide();
        let mut searcher = Searcher::new(plan, self.options.seed, 0);
        let cut = || self.options.watch.cut().is_some();
        searcher.walk(&guide, &Stretch { steps: STRETCH, heat: 0.0, bound: self.proved(), cut: &cut });
        self.keep(&searcher.best);
    }

    fn stop(&self) -> Option<Stopped> {
        let (cost, bound) = (self.ceiling(), self.proved());
        if cost <= bound {
            return Some(Stopped::Proved);
        }
        if self.best.is_some() && self.options.near_enough(cost, bound) {
            return Some(Stopped::Gap);
        }
        self.options.watch.cut().or((self.steps >= self.options.steps).then_some(Stopped::Steps))
    }

    fn finish(mut self) -> Result<Answer, Unsolved> {
        let cut = || self.options.watch.cut().is_some();
        let cut: &(dyn Fn() -> bool + Sync) = &cut;
        let options = self.options;
        let mut searchers: Vec<Searcher> = Vec::new();
        let mut frontier: Option<Frontier<'_>> = None;
        let mut guide = self.guide();
        let mut closed_for = i64::MAX;
        let mut round = 0_u64;
        let stopped = loop {
            if let Some(stopped) = self.stop() {
                break stopped;
            }
            round += 1;
            if let Some(best) = &self.best {
                if searchers.is_empty() {
                    searchers = (1..=SEARCHERS as u64).map(|s| Searcher::new(best.clone(), options.seed, s)).collect();
                }
            } else {
                self.first_plans();
            }
            // Closing ways takes as long as a round of search: it waits for a twentieth of the gap.
            let gained = closed_for.saturating_sub(self.ceiling()).saturating_mul(20);
            if gained > self.ceiling() - self.proved() && self.best.is_some() && frontier.is_none() {
                closed_for = self.ceiling();
                if let Some(relaxation) = Relaxation::new(self.instance, |job, p| self.open.holds(job, p)) {
                    self.close_ways(&relaxation);
                }
                guide = self.guide();
            }
            // Short at first: small questions are soon proved.
            let steps = STRETCH.min(40 * round);
            let stretch = Stretch { steps, heat: 0.0, bound: self.proved(), cut };
            let jobs: Vec<(usize, Searcher)> = searchers.drain(..).enumerate().collect();
            let elite: Vec<Plan> = jobs.iter().map(|(_, s)| s.best.clone()).collect();
            searchers = parallel::map(&jobs, options.threads, |(s, searcher)| {
                let mut searcher = searcher.clone();
                searcher.walk(&guide, &Stretch { heat: HEATS[*s], ..stretch });
                let other = &elite[(*s + 1 + (round as usize % (SEARCHERS - 1))) % SEARCHERS];
                searcher.relink(&guide, other);
                searcher
            });
            self.steps += SEARCHERS as u64 * steps;
            searchers.iter().for_each(|s| self.keep(&s.best));
            self.branch(&mut frontier, cut);
        };
        self.answer(stopped)
    }

    /// Some nodes of the proof, where it is in reach.
    fn branch(&mut self, frontier: &mut Option<Frontier<'a>>, cut: &(dyn Fn() -> bool + Sync)) {
        let ways = (0..self.instance.jobs()).map(|job| self.instance.ways(job).count()).sum::<usize>();
        let open: usize = (0..self.instance.jobs())
            .map(|job| self.instance.ways(job).filter(|p| self.open.holds(job, *p)).count())
            .sum();
        if frontier.is_none() && (open <= FEW_WAYS || (open as f64) < SMALL_SHARE * ways as f64) {
            *frontier =
                Some(Frontier::new(self.instance, self.open.clone(), self.multipliers.clone(), self.root, self.widest));
        }
        let Some(frontier) = frontier else { return };
        for _ in 0..8 {
            if !frontier.is_open() || cut() {
                break;
            }
            self.steps += frontier.advance(self.ceiling(), self.options.threads, cut) as u64;
            for place in frontier.take_settled() {
                self.keep(&Plan::of(self.instance, place));
            }
            self.bound = self.bound.max(frontier.bound());
        }
    }

    fn answer(self, stopped: Stopped) -> Result<Answer, Unsolved> {
        let bound = self.proved();
        let out = self.instance.out();
        let Some(best) = self.best else {
            return Err(if stopped == Stopped::Proved { Unsolved::Infeasible } else { Unsolved::NotFound { stopped } });
        };
        let plan: Vec<Option<usize>> = best.place.iter().map(|p| (*p != out).then_some(*p)).collect();
        // A plan that the independent check refuses would be a slip of the search; it is not handed out.
        let Recomputed { cost, loads } = recompute(self.instance, &plan).map_err(|_| Unsolved::NotFound { stopped })?;
        debug_assert_eq!(cost, best.cost, "the search adds up otherwise than the check");
        let prices = Prices { jobs: self.multipliers, capacities: self.capacity_prices };
        Ok(Answer { plan, cost, loads, bound: bound.min(cost), stopped, steps: self.steps, prices })
    }
}
