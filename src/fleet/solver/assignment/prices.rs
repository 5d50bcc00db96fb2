//! What a unit of each machine's capacity is worth: the multipliers of the linear relaxation, in which capacities are
//! priced and each job takes its cheapest way (M. L. Fisher, The Lagrangian relaxation method for solving integer
//! programming problems, Management Science 27, 1981).

use super::Instance;

/// Rounds of the subgradient method, its first and its last step as shares of the typical price.
const ROUNDS: usize = 900;
const FIRST_STEP: f64 = 0.3;
const LAST_STEP: f64 = 0.000_3;

/// The ways of all jobs, one after the other.
struct Ways {
    starts: Vec<usize>,
    ways: Vec<(usize, f64, f64)>,
}

impl Ways {
    fn of(instance: &Instance) -> Self {
        let (mut starts, mut ways) = (vec![0], Vec::new());
        for job in 0..instance.jobs() {
            ways.extend(instance.ways(job).map(|p| (p, instance.cost(job, p) as f64, instance.takes(job, p) as f64)));
            starts.push(ways.len());
        }
        Self { starts, ways }
    }

    /// A price at which capacity makes a difference: mean spread of a job's costs over its mean use.
    fn typical_price(&self) -> f64 {
        let (mut spread, mut takes) = (0.0, 0.0);
        for pair in self.starts.windows(2) {
            let ways = &self.ways[pair[0]..pair[1]];
            let least = ways.iter().fold(f64::INFINITY, |least, way| least.min(way.1));
            let most = ways.iter().fold(f64::NEG_INFINITY, |most, way| most.max(way.1));
            spread += most - least;
            takes += ways.iter().map(|way| way.2).sum::<f64>() / ways.len() as f64;
        }
        if spread > 0.0 && takes > 0.0 { spread / takes } else { 1.0 }
    }
}

/// Price of a unit of each place's capacity (nought for jobs left out), near the best that there is.
pub(super) fn price_capacities(instance: &Instance) -> Vec<f64> {
    let ways = Ways::of(instance);
    let typical = ways.typical_price();
    let mut prices = vec![0.0; instance.places()];
    let mut best = (f64::NEG_INFINITY, prices.clone());
    let mut loads = vec![0.0; instance.places()];
    let mut trend = vec![0.0; instance.machines()];
    let shrink = libm::pow(LAST_STEP / FIRST_STEP, 1.0 / ROUNDS as f64);
    let mut step = FIRST_STEP * typical;
    for _ in 0..ROUNDS {
        loads.fill(0.0);
        let mut value = 0.0;
        for pair in ways.starts.windows(2) {
            let mut least = (f64::INFINITY, 0, 0.0);
            for (place, cost, takes) in &ways.ways[pair[0]..pair[1]] {
                let priced = cost + prices[*place] * takes;
                if priced < least.0 {
                    least = (priced, *place, *takes);
                }
            }
            value += least.0;
            loads[least.1] += least.2;
        }
        for (machine, capacity) in instance.capacities().iter().enumerate() {
            value -= prices[machine] * *capacity as f64;
        }
        if value > best.0 {
            best = (value, prices.clone());
        }
        let over = |(load, capacity): (&f64, &i64)| load / (*capacity as f64).max(1.0) - 1.0;
        let over: Vec<f64> = loads.iter().zip(instance.capacities()).map(over).collect();
        // As long a step however far loads are over: were each cut by itself, the one machine of many alike that takes all
        // jobs would not outweigh those that it leaves empty, and their prices would never rise.
        let length = (over.iter().map(|o| o.abs()).sum::<f64>() / over.len().max(1) as f64).max(1.0);
        for (machine, over) in over.iter().enumerate() {
            // A machine without load and price stays where it is; the trend damps the swinging between machines alike.
            trend[machine] = 0.7 * trend[machine] + 0.3 * over / length;
            prices[machine] = (prices[machine] + step * trend[machine]).max(0.0);
        }
        step *= shrink;
    }
    best.1
}
