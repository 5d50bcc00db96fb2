//! From the question to an order with its bound: exactly where it is small, else by annealing.

use super::anneal;
use super::check::{Recomputed, Wrong, recompute};
use super::state::State;
use super::{Instance, Objective, bound, exact, timed};
use crate::fleet::solver::{Options, Random, Stopped, parallel};

/// Annealing runs side by side; their number must not depend on the threads.
const CHAINS: usize = 2;
/// Of so many steps one is kept for the setups of orders that are as little late.
const OF_SETUPS: u64 = 8;
/// Shares of the cooling after which all runs go on from the best.
const STAGES: [f64; 5] = [0.0, 0.6, 0.75, 0.9, 1.0];

/// An order of the lots and how good it is.
#[derive(Clone, Debug)]
pub struct Answer {
    /// The lots of each machine in order.
    pub order: Vec<Vec<usize>>,
    /// Times and sums of this order, recomputed.
    pub figures: Recomputed,
    /// What was to be least.
    pub value: i64,
    /// Proven: no order has less.
    pub bound: i64,
    pub stopped: Stopped,
    /// Steps taken: moves proposed.
    pub steps: u64,
}

/// Puts the lots on machines and into order. A step is a move proposed; a hundred lots on ten machines take some ten
/// millions. Up to 12 lots are taken exactly, whatever the steps.
///
/// # Errors
/// [`Wrong`] where the independent check refuses what the search found, which would be a slip of the search.
pub fn solve(instance: &Instance, options: &Options<'_>) -> Result<Answer, Wrong> {
    if let Some(order) = exact::solve(instance) {
        let figures = recompute(instance, &order)?;
        let value = figures.value(instance.objective);
        return Ok(Answer { order, figures, value, bound: value, stopped: Stopped::Proved, steps: 0 });
    }
    let bound = bound::bound(instance);
    let (order, steps) = if instance.adds_up() { added(instance, options, bound) } else { timed(instance, options) };
    let figures = recompute(instance, &order)?;
    let value = figures.value(instance.objective);
    let stopped = if value <= bound {
        Stopped::Proved
    } else if options.near_enough(value, bound) {
        Stopped::Gap
    } else if steps >= options.steps / CHAINS as u64 * CHAINS as u64 {
        Stopped::Steps
    } else {
        options.watch.cut().unwrap_or(Stopped::Steps)
    };
    Ok(Answer { order, figures, value, bound: bound.min(value), stopped, steps })
}

/// Whether to stop now.
fn cutter<'a>(options: &'a Options<'_>) -> impl Fn() -> bool + Sync + 'a {
    move || options.watch.cut().is_some()
}

/// Lots in the order in which they are due, then released, then by time.
fn by_urgency(instance: &Instance) -> Vec<usize> {
    let mut lots: Vec<usize> = (0..instance.lots().len()).collect();
    let least = |lot: usize| instance.lots()[lot].times.iter().map(|(_, t)| *t).min().unwrap_or(0);
    lots.sort_by_key(|l| {
        let lot = &instance.lots()[*l];
        (lot.due.filter(|_| lot.weight > 0).unwrap_or(i64::MAX), lot.release, -least(*l), *l)
    });
    lots
}

/// Annealing where times add up.
fn added(instance: &Instance, options: &Options<'_>, bound: i64) -> (Vec<Vec<usize>>, u64) {
    let setting = anneal::Setting::new(instance);
    let cut = cutter(options);
    let start =
        State::grown(instance, &by_urgency(instance), |state, machine, setup, added| match instance.objective {
            Objective::Setup => setup as f64,
            _ => (state.machine(machine).free_from + state.orders[machine].busy + added) as f64,
        });
    let mut chains: Vec<anneal::Chain<'_>> =
        (0..CHAINS as u64).map(|c| anneal::Chain::new(start.clone(), Random::new(options.seed, c))).collect();
    let steps = cooled(
        options,
        &mut chains,
        |chain, count, stage| chain.cool(&setting, count, stage, &cut),
        |chains| {
            let best = chains.iter().map(|c| &c.best).min_by_key(|s| anneal::value(s)).cloned();
            best.is_some_and(|best| {
                chains.iter_mut().for_each(|chain| chain.move_to(&best));
                options.near_enough(anneal::value(&best).0, bound)
            })
        },
    );
    (chains[0].best.orders(), steps)
}

/// Cools all runs side by side, stage by stage; after each stage `meet` lets them go on from the best and says whether that is
/// good enough. Gives the steps taken by all.
fn cooled<C: Clone + Send + Sync>(
    options: &Options<'_>,
    chains: &mut Vec<C>,
    cool: impl Fn(&mut C, u64, (f64, f64)) -> u64 + Sync,
    mut meet: impl FnMut(&mut [C]) -> bool,
) -> u64 {
    let mut steps = 0;
    for stage in STAGES.windows(2) {
        let count = stage_steps(options, stage);
        let done = parallel::map(chains, options.threads, |chain| {
            let mut chain = chain.clone();
            let done = cool(&mut chain, count, (stage[0], stage[1]));
            (chain, done)
        });
        steps += done.iter().map(|(_, d)| d).sum::<u64>();
        *chains = done.into_iter().map(|(chain, _)| chain).collect();
        if meet(chains) || options.watch.cut().is_some() {
            break;
        }
    }
    steps
}

/// Steps of one run in a stage.
fn stage_steps(options: &Options<'_>, stage: &[f64]) -> u64 {
    let share = (options.steps / CHAINS as u64) as f64;
    (share * stage[1]).round() as u64 - (share * stage[0]).round() as u64
}

/// Annealing where the clock counts: for the objective, and where that is lateness for the setups among orders that are as
/// little late.
fn timed(instance: &Instance, options: &Options<'_>) -> (Vec<Vec<usize>>, u64) {
    let start = State::grown(instance, &by_urgency(instance), |state, machine, _, added| {
        (state.machine(machine).free_from + state.orders[machine].busy + added) as f64
    });
    let mut orders: Vec<Vec<u32>> = start.orders.iter().map(|order| order.lots.clone()).collect();
    let mut setting = timed::Setting::new(instance);
    let late = instance.objective == Objective::Tardiness;
    let kept = if late { options.steps / OF_SETUPS } else { 0 };
    let mut steps = clocked(instance, &Options { steps: options.steps - kept, ..*options }, &mut setting, &mut orders);
    if late {
        let rest = Options { steps: options.steps - steps, ..*options };
        steps += clocked(instance, &rest, &mut setting.of_setups(), &mut orders);
    }
    let named = |(m, lots): (usize, &Vec<u32>)| lots.iter().map(|l| instance.machines[m].lots[*l as usize]).collect();
    (orders.iter().enumerate().map(named).collect(), steps)
}

/// Annealing from orders, in the numbers of each machine, to the best that is met. Gives the steps taken.
fn clocked(
    instance: &Instance,
    options: &Options<'_>,
    setting: &mut timed::Setting,
    orders: &mut Vec<Vec<u32>>,
) -> u64 {
    let cut = cutter(options);
    let mut first = timed::Chain::new(instance, orders, Random::new(options.seed, 0), setting);
    first.warm(setting);
    let mut chains = vec![first];
    for c in 1..CHAINS as u64 {
        chains.push(timed::Chain::new(instance, orders, Random::new(options.seed, c), setting));
    }
    let steps = cooled(
        options,
        &mut chains,
        |chain, count, stage| chain.cool(setting, count, stage, &cut),
        |chains| {
            if let Some(best) = chains.iter().min_by(|a, b| a.best_energy.total_cmp(&b.best_energy)).cloned() {
                chains.iter_mut().for_each(|chain| chain.move_to(&best, setting));
            }
            chains.iter().all(|chain| chain.is_done(setting))
        },
    );
    orders.clone_from(&chains[0].best);
    steps
}
