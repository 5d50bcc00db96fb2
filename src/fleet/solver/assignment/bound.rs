//! A cost below which no plan can lie: each job is priced, each machine loads what pays best at those prices (a knapsack),
//! and the prices are moved until the loads agree best with "each job once" (G. T. Ross and R. M. Soland, A branch and
//! bound algorithm for the generalized assignment problem, Mathematical Programming 8, 1975; M. L. Fisher, R. Jaikumar and
//! L. N. Van Wassenhove, A multiplier adjustment method for the generalized assignment problem, Management Science 32,
//! 1986). The same value as column generation gives, without a linear program.

use super::Instance;
use super::knapsack::{Item, Loss, MOST_CELLS, Tables, best_load, losses};
use crate::fleet::solver::parallel;
use std::num::NonZeroUsize;

/// Prices are whole multiples of 1 / `SCALE` of a unit of money, so that bounds are exact.
pub(super) const SCALE: f64 = 256.0;
/// Below this many ways a step is too short to share among threads.
const WORTH_SHARING: usize = 3_000;

/// A job that a machine may load.
#[derive(Clone, Copy, Debug)]
struct Entry {
    job: usize,
    takes: i64,
    /// Scaled cost.
    cost: f64,
}

/// One machine, or last the place of jobs left out.
#[derive(Clone, Debug)]
struct Column {
    room: i64,
    entries: Vec<Entry>,
}

/// The question with some ways closed, each job's place a matter of price.
#[derive(Clone, Debug)]
pub(super) struct Relaxation {
    columns: Vec<Column>,
    /// Jobs that are not settled.
    open: Vec<usize>,
    /// Scaled cost of jobs with one way left; they are loaded before.
    settled: f64,
    jobs: usize,
    ways: usize,
}

/// The value of a set of prices, and how often each job is loaded.
pub(super) struct Loads {
    pub(super) value: f64,
    /// For each place the jobs it loads.
    pub(super) picks: Vec<Vec<usize>>,
}

/// What the bound would be with a job forced to a place.
pub(super) struct Forced {
    pub(super) job: usize,
    pub(super) place: usize,
    /// Scaled bound.
    pub(super) value: f64,
}

impl Relaxation {
    /// The question with the ways for which `open` holds; nothing where it already breaks: a job without a way, settled
    /// jobs beyond a machine's room.
    pub(super) fn new(instance: &Instance, open: impl Fn(usize, usize) -> bool) -> Option<Self> {
        let mut columns: Vec<Column> =
            (0..instance.places()).map(|p| Column { room: instance.room(p), entries: Vec::new() }).collect();
        let (mut settled, mut unsettled, mut ways) = (0.0, Vec::new(), 0);
        for job in 0..instance.jobs() {
            let mut places = instance.ways(job).filter(|p| open(job, *p));
            let (first, second) = (places.next()?, places.next());
            if second.is_none() {
                settled += SCALE * instance.cost(job, first) as f64;
                columns[first].room -= instance.takes(job, first);
            } else {
                unsettled.push(job);
            }
        }
        if columns.iter().any(|c| c.room < 0) {
            return None;
        }
        for job in &unsettled {
            for place in instance.ways(*job).filter(|p| open(*job, *p)) {
                let takes = instance.takes(*job, place);
                ways += 1;
                columns[place].entries.push(Entry {
                    job: *job,
                    takes,
                    cost: SCALE * instance.cost(*job, place) as f64,
                });
            }
        }
        Some(Self { columns, open: unsettled, settled, jobs: instance.jobs(), ways })
    }

    /// Number of jobs that are not settled.
    pub(super) fn unsettled(&self) -> usize {
        self.open.len()
    }

    /// Cells of the tables of all ways, at most: [`Self::force_each`] fills them twice, [`Self::load`] some of them.
    pub(super) fn cells(&self) -> i64 {
        let cells = |c: &Column| c.entries.len() as i64 * c.room.min(MOST_CELLS as i64);
        self.columns[..self.columns.len() - 1].iter().map(cells).sum()
    }

    fn items(&self, place: usize, prices: &[f64]) -> Vec<Item> {
        self.columns[place].entries.iter().map(|e| Item { takes: e.takes, profit: prices[e.job] - e.cost }).collect()
    }

    /// The bound at these prices of the jobs.
    pub(super) fn load(&self, prices: &[f64], threads: NonZeroUsize) -> Loads {
        let places: Vec<usize> = (0..self.columns.len()).collect();
        let threads = if self.ways < WORTH_SHARING { NonZeroUsize::MIN } else { threads };
        // Places are shared out in runs, so that a run keeps its tables.
        let runs: Vec<&[usize]> = places.chunks(places.len().div_ceil(16)).collect();
        let loaded = parallel::map(&runs, threads, |run| {
            let (mut tables, mut taken) = (Tables::default(), Vec::new());
            let mut load = |place: &usize| {
                let items = self.items(*place, prices);
                let value = best_load(&items, self.columns[*place].room, &mut tables, &mut taken);
                let entries = self.columns[*place].entries.iter().zip(&taken);
                (value, entries.filter(|(_, t)| **t).map(|(e, _)| e.job).collect::<Vec<_>>())
            };
            run.iter().map(&mut load).collect::<Vec<_>>()
        });
        let mut value = self.settled + self.open.iter().map(|job| prices[*job]).sum::<f64>();
        let mut picks = Vec::with_capacity(places.len());
        for (profit, jobs) in loaded.into_iter().flatten() {
            value -= profit;
            picks.push(jobs);
        }
        Loads { value, picks }
    }

    /// The bound at these prices with each open way forced in turn: the place gives up what it must, and every other place
    /// gives up the job. A job must be somewhere, so the least of its ways is a bound itself.
    pub(super) fn force_each(&self, prices: &[f64], threads: NonZeroUsize) -> Vec<Forced> {
        let places: Vec<usize> = (0..self.columns.len()).collect();
        let by_place: Vec<(f64, Vec<Loss>)> = parallel::map(&places, threads, |place| {
            let items = self.items(*place, prices);
            if self.columns[*place].room == i64::MAX {
                let profit = items.iter().map(|i| i.profit.max(0.0)).sum();
                let loss = |i: &Item| Loss { taken: (-i.profit).max(0.0), left: i.profit.max(0.0) };
                return (profit, items.iter().map(loss).collect());
            }
            losses(&items, self.columns[*place].room)
        });
        let mut value = self.settled + self.open.iter().map(|job| prices[*job]).sum::<f64>();
        let mut left = vec![0.0; self.jobs];
        for (column, (profit, losses)) in self.columns.iter().zip(&by_place) {
            value -= profit;
            column.entries.iter().zip(losses).for_each(|(e, loss)| left[e.job] += loss.left);
        }
        let mut forced = Vec::with_capacity(self.ways);
        for (place, (column, (_, losses))) in self.columns.iter().zip(&by_place).enumerate() {
            for (e, loss) in column.entries.iter().zip(losses) {
                forced.push(Forced { job: e.job, place, value: value + loss.taken + left[e.job] - loss.left });
            }
        }
        forced
    }

    /// Moves the prices of the jobs to raise the bound: a deflected subgradient with Polyak's step towards `target`
    /// (scaled), halved while nothing improves (P. M. Camerini, L. Fratta and F. Maffioli, On improving relaxation methods
    /// by modified gradient techniques, Mathematical Programming Study 3, 1975). Ends early once the bound reaches `target`.
    /// `prices` becomes the best found; returns the bound there.
    pub(super) fn raise(&self, prices: &mut Vec<f64>, climb: &Climb<'_>) -> f64 {
        let mut at = prices.clone();
        let mut direction = vec![0.0; self.jobs];
        let mut best = f64::NEG_INFINITY;
        let (mut share, mut idle) = (climb.share, 0);
        for _ in 0..climb.rounds {
            let loads = self.load(&at, climb.threads);
            if loads.value > best {
                idle = if loads.value > best + 1.0 { 0 } else { idle + 1 };
                best = loads.value;
                prices.clone_from(&at);
            } else {
                idle += 1;
            }
            if best >= climb.target || (climb.cut)() {
                break;
            }
            if idle >= climb.patience {
                share *= 0.5;
                idle = 0;
                at.clone_from(prices);
                if share < 0.002 {
                    break;
                }
            }
            direction.iter_mut().for_each(|d| *d *= 0.3);
            self.open.iter().for_each(|job| direction[*job] += 1.0);
            loads.picks.iter().flatten().for_each(|job| direction[*job] -= 1.0);
            let length: f64 = self.open.iter().map(|job| direction[*job] * direction[*job]).sum();
            if length == 0.0 {
                break;
            }
            let step = share * (climb.target - loads.value).max(1.0) / length;
            for job in &self.open {
                at[*job] = (at[*job] + step * direction[*job]).round().clamp(-climb.widest, climb.widest);
            }
        }
        best
    }
}

/// How the prices are moved.
pub(super) struct Climb<'a> {
    pub(super) rounds: usize,
    /// First share of Polyak's step.
    pub(super) share: f64,
    /// Rounds without gain before the share is halved.
    pub(super) patience: usize,
    /// Scaled bound to reach: the cost of the best plan, or of one that would be.
    pub(super) target: f64,
    /// Largest scaled price of a job, either way.
    pub(super) widest: f64,
    pub(super) threads: NonZeroUsize,
    /// Whether to end at once.
    pub(super) cut: &'a (dyn Fn() -> bool + Sync),
}
