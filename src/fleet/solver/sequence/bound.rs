//! Values below which no order can lie. None is tight where setups are long; they say what is certain.

use super::{Instance, Objective};

/// Rounds in which the weights of the machines are moved.
const ROUNDS: usize = 400;
/// Weights are whole numbers of this sum, so that the bound is exact.
const WHOLE: i64 = 1 << 20;

/// A lower bound on the value of any order.
pub(super) fn bound(instance: &Instance) -> i64 {
    match instance.objective {
        Objective::Makespan => makespan(instance),
        Objective::Setup => setup(instance),
        Objective::Tardiness => instance
            .lots()
            .iter()
            .enumerate()
            .filter_map(|(lot, of)| of.due.map(|due| of.weight * (earliest_end(instance, lot) - due).max(0)))
            .sum(),
    }
}

/// Least setup before a lot on a machine, after another lot.
fn least_setup(instance: &Instance, machine: usize, own: usize) -> i64 {
    let m = &instance.machines[machine];
    let after_lots = m.setups_into(own)[..m.lots.len()].iter().enumerate().filter(|(before, _)| *before != own);
    after_lots.map(|(_, s)| i64::from(*s)).min().unwrap_or_else(|| standing_setup(instance, machine, own))
}

/// Setup of a lot on the machine as it stands.
fn standing_setup(instance: &Instance, machine: usize, own: usize) -> i64 {
    let m = &instance.machines[machine];
    i64::from(m.setups_into(own)[m.standing()])
}

fn earliest_end(instance: &Instance, lot: usize) -> i64 {
    let ends = instance.lots()[lot].times.iter().filter_map(|(machine, time)| {
        let own = instance.own(*machine, lot)?;
        let setup = least_setup(instance, *machine, own).min(standing_setup(instance, *machine, own));
        Some((instance.machines[*machine].free_from + setup).max(instance.lots()[lot].release) + time)
    });
    ends.min().unwrap_or(0)
}

/// Each lot takes at least its time and its least setup; shared out at best among the machines, parts of lots allowed. For
/// any weights of the machines that sum to one, the weighted sum of their loads is at most the makespan.
fn makespan(instance: &Instance) -> i64 {
    let machines = instance.machines();
    let mut loads: Vec<Vec<(usize, i64)>> = Vec::new();
    // The first lot on a machine may need less setup than after any other lot: that much is given back.
    let mut spare = vec![0; machines];
    for (lot, of) in instance.lots().iter().enumerate() {
        let mut own_loads = Vec::new();
        for (machine, time) in &of.times {
            let Some(own) = instance.own(*machine, lot) else { continue };
            let least = least_setup(instance, *machine, own);
            spare[*machine] = spare[*machine].max(least - standing_setup(instance, *machine, own));
            own_loads.push((*machine, time + least));
        }
        loads.push(own_loads);
    }
    // A machine without lots may be free only later than all ends; the earliest is before any end.
    let free = instance.machines.iter().map(|m| m.free_from).min().unwrap_or(0);
    let offset: Vec<i64> = spare.iter().map(|spare| free - spare).collect();
    let longest = (0..instance.lots().len()).map(|lot| earliest_end(instance, lot)).max().unwrap_or(0);
    let mut weights = vec![1.0; machines];
    let mut best = longest;
    let mut totals = vec![0.0; machines];
    for round in 0..ROUNDS {
        let sum: f64 = weights.iter().sum();
        let whole: Vec<i64> = weights.iter().map(|w| (w / sum * WHOLE as f64) as i64).collect();
        totals.iter_mut().zip(&offset).for_each(|(t, o)| *t = *o as f64);
        let mut value: i128 = whole.iter().zip(&offset).map(|(w, o)| i128::from(*w) * i128::from(*o)).sum();
        for own in &loads {
            let least = own.iter().map(|(m, load)| (i128::from(whole[*m]) * i128::from(*load), *m, *load)).min();
            if let Some((weighted, m, load)) = least {
                value += weighted;
                totals[m] += load as f64;
            }
        }
        // Weights were rounded down: a machine without load takes the rest, as if it were free all along.
        let parts = i128::from(WHOLE);
        best = best.max(i64::try_from((value + parts - 1).div_euclid(parts)).unwrap_or(best));
        let mean = totals.iter().sum::<f64>() / machines as f64;
        let step = 0.5 / (1.0 + 0.05 * round as f64);
        for (w, total) in weights.iter_mut().zip(&totals) {
            *w *= libm::exp(step * ((total - mean) / mean.max(1.0)).clamp(-2.0, 2.0));
        }
    }
    best
}

/// Every lot needs at least its least setup; the first ones of the machines may need less, at most one for each machine.
fn setup(instance: &Instance) -> i64 {
    let mut savings = Vec::new();
    let mut sum = 0;
    for (lot, of) in instance.lots().iter().enumerate() {
        let places = || of.times.iter().filter_map(|(m, _)| instance.own(*m, lot).map(|own| (*m, own)));
        let least = places().map(|(m, own)| least_setup(instance, m, own)).min().unwrap_or(0);
        let standing = places().map(|(m, own)| standing_setup(instance, m, own)).min().unwrap_or(0);
        sum += least;
        savings.push((least - standing).max(0));
    }
    savings.sort_unstable_by(|a, b| b.cmp(a));
    (sum - savings.iter().take(instance.machines()).sum::<i64>()).max(0)
}
