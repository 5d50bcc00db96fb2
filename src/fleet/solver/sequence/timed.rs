//! Simulated annealing where the clock counts: due dates, releases. A move changes a stretch of one or two machines; their
//! clocks are run again from the stretch on until they agree with the clocks before.

use super::{Instance, Objective};
use crate::fleet::solver::Random;
use std::ops::Range;

/// Power in the energy of a makespan, as where times add up.
const POWER: f64 = 12.0;
/// First temperature as a share of the mean rise of a move, and last as a share of the first.
const FIRST: f64 = 0.25;
const LAST: f64 = 1e-4;
/// Moves tried for the mean rise.
const SAMPLE: usize = 2_000;
/// Longest run of lots moved in one piece, farthest move within a machine.
const RUN: usize = 5;
const FAR: usize = 40;
const LOGS: usize = 4096;
const LOOK: u64 = 1024;

/// Sums of a machine up to a lot.
#[derive(Clone, Copy, Default, PartialEq, Eq)]
struct Sum {
    end: i64,
    setup: i64,
    tardiness: i64,
}

#[derive(Clone)]
struct Clock {
    lots: Vec<u32>,
    /// Sums before each lot, and last after all.
    sums: Vec<Sum>,
}

/// What does not change while annealing.
pub(super) struct Setting {
    logs: Vec<f64>,
    /// Setups count this little beside tardiness, so that they only decide between equals.
    tie: f64,
    scale: f64,
    first: f64,
}

/// One annealing run.
#[derive(Clone)]
pub(super) struct Chain<'a> {
    instance: &'a Instance,
    clocks: Vec<Clock>,
    at: Vec<usize>,
    pub(super) best: Vec<Vec<u32>>,
    pub(super) best_energy: f64,
    energy: f64,
    random: Random,
}

/// A stretch of a machine and what takes its place.
struct Change {
    machine: usize,
    range: Range<usize>,
    new: Vec<u32>,
}

impl Setting {
    pub(super) fn new(instance: &Instance) -> Self {
        let most = instance
            .machines
            .iter()
            .flat_map(|m| (0..=m.lots.len()).filter_map(|b| m.setups_from(b).iter().max()))
            .max();
        let all = f64::from(most.copied().unwrap_or(0)) * instance.lots().len() as f64;
        Self {
            logs: (0..LOGS).map(|k| -libm::log((k as f64 + 0.5) / LOGS as f64)).collect(),
            tie: 1.0 / (1.0 + all),
            scale: 1.0,
            first: 1.0,
        }
    }

    fn energy(&self, objective: Objective, sum: &Sum) -> f64 {
        match objective {
            Objective::Makespan => {
                let share = sum.end as f64 / self.scale;
                let square = share * share;
                let fourth = square * square;
                fourth * fourth * fourth * (self.scale / POWER)
            }
            Objective::Setup => sum.setup as f64,
            Objective::Tardiness => sum.tardiness as f64 + self.tie * sum.setup as f64,
        }
    }
}

impl<'a> Chain<'a> {
    /// From orders in the numbers of each machine.
    pub(super) fn new(instance: &'a Instance, orders: Vec<Vec<u32>>, random: Random, setting: &mut Setting) -> Self {
        let mut at = vec![0; instance.lots().len()];
        let mut clocks = Vec::new();
        for (m, lots) in orders.iter().enumerate() {
            lots.iter().for_each(|lot| at[instance.machines[m].lots[*lot as usize]] = m);
            clocks.push(Clock {
                lots: Vec::new(),
                sums: vec![Sum { end: instance.machines[m].free_from, ..Sum::default() }],
            });
        }
        let mut chain = Self { instance, clocks, at, best: orders.clone(), best_energy: 0.0, energy: 0.0, random };
        for (machine, new) in orders.into_iter().enumerate() {
            chain.apply(&Change { machine, range: 0..0, new });
        }
        setting.scale = chain.clocks.iter().map(|c| c.sums[c.lots.len()].end).max().unwrap_or(1).max(1) as f64;
        chain.energy = chain.total(setting);
        chain.best_energy = chain.energy;
        chain
    }

    /// Sets the first temperature by moves at random.
    pub(super) fn warm(&mut self, setting: &mut Setting) {
        let (mut sum, mut count) = (0.0, 0.0);
        for _ in 0..SAMPLE {
            let rise = self.propose().map_or(0.0, |changes| self.rise(setting, &changes, f64::INFINITY));
            if rise > 0.0 {
                sum += rise;
                count += 1.0;
            }
        }
        setting.first = FIRST * sum / f64::max(count, 1.0);
    }

    pub(super) fn move_to(&mut self, other: &Self, setting: &Setting) {
        for (machine, lots) in other.best.iter().enumerate() {
            let all = 0..self.clocks[machine].lots.len();
            lots.iter().for_each(|lot| self.at[self.instance.machines[machine].lots[*lot as usize]] = machine);
            self.apply(&Change { machine, range: all, new: lots.clone() });
        }
        self.energy = self.total(setting);
        self.keep();
    }

    fn total(&self, setting: &Setting) -> f64 {
        let objective = self.instance.objective;
        self.clocks.iter().map(|c| setting.energy(objective, &c.sums[c.lots.len()])).sum()
    }

    fn keep(&mut self) {
        if self.energy < self.best_energy - 1e-9 * self.best_energy.abs() {
            self.best_energy = self.energy;
            for (best, clock) in self.best.iter_mut().zip(&self.clocks) {
                best.clone_from(&clock.lots);
            }
        }
    }

    /// See [`super::anneal::Chain::cool`].
    pub(super) fn cool(
        &mut self,
        setting: &Setting,
        count: u64,
        (from, to): (f64, f64),
        cut: &(dyn Fn() -> bool + Sync),
    ) -> u64 {
        let mut temperature = setting.first;
        for n in 0..count {
            if n % LOOK == 0 {
                if cut() {
                    return n;
                }
                // Summed moves drift by rounding; the clocks do not.
                self.energy = self.total(setting);
                temperature = setting.first * libm::pow(LAST, from + (to - from) * (n as f64 / count as f64));
            }
            let allowed = temperature * setting.logs[self.random.below(LOGS)];
            let Some(changes) = self.propose() else { continue };
            let rise = self.rise(setting, &changes, allowed);
            if rise <= allowed {
                for change in changes.iter().flatten() {
                    let m = &self.instance.machines[change.machine];
                    change.new.iter().for_each(|lot| self.at[m.lots[*lot as usize]] = change.machine);
                    self.apply(change);
                }
                self.energy += rise;
                self.keep();
            }
        }
        count
    }

    fn next(&self, machine: usize, before: Option<u32>, sum: Sum, lot: u32) -> Sum {
        let m = &self.instance.machines[machine];
        let of = &self.instance.lots()[m.lots[lot as usize]];
        let setup = i64::from(m.setups_from(before.map_or(m.standing(), |b| b as usize))[lot as usize]);
        let end = (sum.end + setup).max(of.release) + i64::from(m.times[lot as usize]);
        let late = of.due.map_or(0, |due| of.weight * (end - due).max(0));
        Sum { end, setup: sum.setup + setup, tardiness: sum.tardiness + late }
    }

    /// Sums of a machine after a change; given up where they are certain to be above `most`.
    fn sum_after(&self, setting: &Setting, change: &Change, most: f64) -> Option<Sum> {
        let clock = &self.clocks[change.machine];
        let mut sum = clock.sums[change.range.start];
        let mut before = change.range.start.checked_sub(1).map(|k| clock.lots[k]);
        for lot in &change.new {
            sum = self.next(change.machine, before, sum, *lot);
            before = Some(*lot);
        }
        for k in change.range.end..clock.lots.len() {
            if setting.energy(self.instance.objective, &sum) > most {
                return None;
            }
            let old = &clock.sums[k];
            let same_before = k.checked_sub(1).map(|p| clock.lots[p]) == before;
            if sum.end == old.end && same_before {
                let last = &clock.sums[clock.lots.len()];
                sum.setup += last.setup - old.setup;
                sum.tardiness += last.tardiness - old.tardiness;
                sum.end = last.end;
                return Some(sum);
            }
            sum = self.next(change.machine, before, sum, clock.lots[k]);
            before = Some(clock.lots[k]);
        }
        Some(sum)
    }

    /// Rise of the energy by a move, or something above `allowed`.
    fn rise(&self, setting: &Setting, changes: &[Option<Change>; 2], allowed: f64) -> f64 {
        let objective = self.instance.objective;
        let mut rise = 0.0;
        // A machine that gives a lot away comes first: what it gains may be spent.
        for change in changes.iter().flatten() {
            let clock = &self.clocks[change.machine];
            let now = setting.energy(objective, &clock.sums[clock.lots.len()]);
            match self.sum_after(setting, change, now + allowed - rise + 1e-6) {
                Some(sum) => rise += setting.energy(objective, &sum) - now,
                None => return f64::INFINITY,
            }
        }
        rise
    }

    fn apply(&mut self, change: &Change) {
        let machine = change.machine;
        let clock = &mut self.clocks[machine];
        let start = change.range.start;
        clock.lots.splice(change.range.clone(), change.new.iter().copied());
        clock.sums.truncate(start + 1);
        for k in start..self.clocks[machine].lots.len() {
            let clock = &self.clocks[machine];
            let sum = self.next(machine, k.checked_sub(1).map(|p| clock.lots[p]), clock.sums[k], clock.lots[k]);
            self.clocks[machine].sums.push(sum);
        }
    }

    /// A move at random: within a machine a run goes elsewhere or two lots change places; or a lot goes to another machine.
    fn propose(&mut self) -> Option<[Option<Change>; 2]> {
        let random = &mut self.random;
        let lot = random.below(self.at.len());
        let machine = self.at[lot];
        let m = &self.instance.machines[machine];
        let own = self.instance.own(machine, lot)? as u32;
        let lots = &self.clocks[machine].lots;
        let at = lots.iter().position(|l| *l == own)?;
        let times = &self.instance.lots()[lot].times;
        if times.len() > 1 && random.below(2) == 0 {
            let (to, _) = times[random.below(times.len())];
            if to == machine {
                return None;
            }
            let place = random.below(self.clocks[to].lots.len() + 1);
            let leave = Change { machine, range: at..at + 1, new: Vec::new() };
            let new = self.instance.own(to, lot)? as u32;
            // Half of the time a lot comes back for it.
            if place < self.clocks[to].lots.len() && random.below(2) == 0 {
                let back = self.instance.machines[to].lots[self.clocks[to].lots[place] as usize];
                let back = self.instance.own(machine, back)? as u32;
                let swap = Change { machine, range: at..at + 1, new: vec![back] };
                return Some([Some(swap), Some(Change { machine: to, range: place..place + 1, new: vec![new] })]);
            }
            return Some([Some(leave), Some(Change { machine: to, range: place..place, new: vec![new] })]);
        }
        let n = lots.len();
        if n < 2 {
            return None;
        }
        debug_assert!(m.lots.len() >= n, "a machine has only lots that it can make");
        let other = if n <= FAR {
            random.below(n)
        } else {
            let low = at.saturating_sub(FAR);
            low + random.below((at + FAR + 1).min(n) - low)
        };
        if other == at {
            return None;
        }
        let (low, high) = (at.min(other), at.max(other));
        let mut new = lots[low..=high].to_vec();
        let last = new.len() - 1;
        match random.below(3) {
            0 => new.swap(0, last),
            // A run of lots at the one end goes to the other end of the stretch.
            _ => {
                let run = 1 + random.below(RUN.min(last));
                if at < other { new.rotate_left(run) } else { new.rotate_right(run) }
            }
        }
        Some([Some(Change { machine, range: low..high + 1, new }), None])
    }
}
