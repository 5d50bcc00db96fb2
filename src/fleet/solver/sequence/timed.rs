//! Simulated annealing where the clock counts: due dates, releases. A move changes a stretch of one or two machines; their
//! clocks are run again from the stretch on until they agree with the clocks before, or until the move is certain to be
//! refused. Where lateness counts, the end of the search goes to the setups, with lateness as a wall; once no lot is late, all that
//! is left of it.

use super::{Instance, Objective};
use crate::fleet::solver::Random;
use std::ops::Range;

/// Power in the energy of a makespan, as where times add up.
const POWER: f64 = 12.0;
/// First temperature as a share of the mean rise of a move, and last as a share of the first.
const FIRST: f64 = 0.05;
const LAST: f64 = 1e-3;
/// The same once only setups count.
const FIRST_OF_SETUPS: f64 = 0.2;
const LAST_OF_SETUPS: f64 = 0.02;
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
    /// Of the lots that are due: what a unit of time costs at most that all of them end later.
    weight: i64,
}

#[derive(Clone)]
struct Clock {
    lots: Vec<u32>,
    /// Sums before each lot, and last after all.
    sums: Vec<Sum>,
    /// How much later each lot and those behind it may end without being late, and last no end; below nothing where one is.
    slack: Vec<i64>,
}

impl Clock {
    fn last(&self) -> &Sum {
        &self.sums[self.lots.len()]
    }
}

/// What a machine's clock reads of each of its lots.
struct Read {
    release: i64,
    due: i64,
    /// Nought where it is not due.
    weight: i64,
    time: i64,
}

/// What does not change while annealing.
pub(super) struct Setting {
    logs: Vec<f64>,
    /// What a unit of lateness and of setup weighs: setups so little that they only decide between equals.
    late: f64,
    tie: f64,
    /// Only setups count, and no lot may become later for them.
    of_setups: bool,
    scale: f64,
    first: f64,
    last: f64,
    /// Of each machine.
    reads: Vec<Vec<Read>>,
}

/// One annealing run.
#[derive(Clone)]
pub(super) struct Chain<'a> {
    instance: &'a Instance,
    clocks: Vec<Clock>,
    /// Machine and position of each lot.
    at: Vec<(usize, usize)>,
    pub(super) best: Vec<Vec<u32>>,
    pub(super) best_energy: f64,
    /// Lateness of the best.
    best_late: i64,
    energy: f64,
    random: Random,
    /// The stretches of a move.
    new: [Vec<u32>; 2],
}

/// A stretch of a machine that something else takes the place of.
struct Change {
    machine: usize,
    range: Range<usize>,
}

impl Setting {
    pub(super) fn new(instance: &Instance) -> Self {
        let most = instance
            .machines
            .iter()
            .flat_map(|m| (0..=m.lots.len()).filter_map(|b| m.setups_from(b).iter().max()))
            .max();
        let all = f64::from(most.copied().unwrap_or(0)) * instance.lots().len() as f64;
        let read = |(lot, time): (&usize, &i32)| {
            let of = &instance.lots()[*lot];
            let weight = if of.due.is_some() { of.weight } else { 0 };
            Read { release: of.release, due: of.due.unwrap_or(0), weight, time: i64::from(*time) }
        };
        Self {
            logs: (0..LOGS).map(|k| -libm::log((k as f64 + 0.5) / LOGS as f64)).collect(),
            late: 1.0,
            tie: 1.0 / (1.0 + all),
            of_setups: false,
            scale: 1.0,
            first: 1.0,
            last: LAST,
            reads: instance.machines.iter().map(|m| m.lots.iter().zip(&m.times).map(read).collect()).collect(),
        }
    }

    /// The same for setups alone among orders that are as little late.
    pub(super) fn of_setups(self) -> Self {
        Self { late: self.late / self.tie, tie: 1.0, of_setups: true, last: LAST_OF_SETUPS, ..self }
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
            Objective::Tardiness => self.late * sum.tardiness as f64 + self.tie * sum.setup as f64,
        }
    }
}

impl<'a> Chain<'a> {
    /// From orders in the numbers of each machine.
    pub(super) fn new(instance: &'a Instance, orders: &[Vec<u32>], random: Random, setting: &mut Setting) -> Self {
        let free = |m: &super::instance::Machine| Clock {
            lots: Vec::new(),
            sums: vec![Sum { end: m.free_from, ..Sum::default() }],
            slack: vec![i64::MAX],
        };
        let mut chain = Self {
            instance,
            clocks: instance.machines.iter().map(free).collect(),
            at: vec![(0, 0); instance.lots().len()],
            best: orders.to_vec(),
            best_energy: 0.0,
            best_late: 0,
            energy: 0.0,
            random,
            new: [Vec::new(), Vec::new()],
        };
        for (machine, new) in orders.iter().enumerate() {
            chain.apply(setting, &Change { machine, range: 0..0 }, new);
        }
        setting.scale = chain.clocks.iter().map(|c| c.last().end).max().unwrap_or(1).max(1) as f64;
        chain.energy = chain.total(setting);
        (chain.best_energy, chain.best_late) = (chain.energy, chain.late());
        chain
    }

    /// Sets the first temperature by moves at random.
    pub(super) fn warm(&mut self, setting: &mut Setting) {
        let (mut sum, mut count) = (0.0, 0.0);
        for _ in 0..SAMPLE {
            let rise = self.propose().map_or(0.0, |changes| self.rise(setting, &changes, f64::INFINITY));
            if rise > 0.0 && !(setting.of_setups && rise >= setting.late / 2.0) {
                sum += rise;
                count += 1.0;
            }
        }
        let share = if setting.of_setups { FIRST_OF_SETUPS } else { FIRST };
        setting.first = share * sum / f64::max(count, 1.0);
    }

    pub(super) fn move_to(&mut self, other: &Self, setting: &Setting) {
        for (machine, lots) in other.best.iter().enumerate() {
            let all = 0..self.clocks[machine].lots.len();
            self.apply(setting, &Change { machine, range: all }, lots);
        }
        self.energy = self.total(setting);
        self.keep();
    }

    fn total(&self, setting: &Setting) -> f64 {
        let objective = self.instance.objective;
        self.clocks.iter().map(|c| setting.energy(objective, c.last())).sum()
    }

    fn late(&self) -> i64 {
        self.clocks.iter().map(|c| c.last().tardiness).sum()
    }

    fn keep(&mut self) {
        if self.energy < self.best_energy - 1e-9 * self.best_energy.abs() {
            (self.best_energy, self.best_late) = (self.energy, self.late());
            for (best, clock) in self.best.iter_mut().zip(&self.clocks) {
                best.clone_from(&clock.lots);
            }
        }
    }

    /// Whether no lot of the best is late, so that only setups are left.
    pub(super) fn is_done(&self, setting: &Setting) -> bool {
        self.best_late == 0 && !setting.of_setups && self.instance.objective == Objective::Tardiness
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
                if cut() || self.is_done(setting) {
                    return n;
                }
                // Summed moves drift by rounding; the clocks do not.
                self.energy = self.total(setting);
                temperature = setting.first * libm::pow(setting.last, from + (to - from) * (n as f64 / count as f64));
            }
            let allowed = temperature * setting.logs[self.random.below(LOGS)];
            let Some(changes) = self.propose() else { continue };
            let rise = self.rise(setting, &changes, allowed);
            if rise <= allowed {
                let new = std::mem::take(&mut self.new);
                for (change, new) in changes.iter().zip(&new) {
                    change.iter().for_each(|change| self.apply(setting, change, new));
                }
                self.new = new;
                self.energy += rise;
                self.keep();
            }
        }
        count
    }

    fn next(&self, setting: &Setting, machine: usize, before: Option<u32>, sum: Sum, lot: u32) -> Sum {
        let m = &self.instance.machines[machine];
        let of = &setting.reads[machine][lot as usize];
        let setup = i64::from(m.setups_from(before.map_or(m.standing(), |b| b as usize))[lot as usize]);
        let end = (sum.end + setup).max(of.release) + of.time;
        let late = of.weight * (end - of.due).max(0);
        Sum { end, setup: sum.setup + setup, tardiness: sum.tardiness + late, weight: sum.weight + of.weight }
    }

    /// Sums of a machine after a change, as far as the objective asks for them; given up where they are certain to be above
    /// `most`.
    fn sum_after(&self, setting: &Setting, change: &Change, new: &[u32], most: f64) -> Option<Sum> {
        let clock = &self.clocks[change.machine];
        let objective = self.instance.objective;
        let mut sum = clock.sums[change.range.start];
        let mut before = change.range.start.checked_sub(1).map(|k| clock.lots[k]);
        for lot in new {
            sum = self.next(setting, change.machine, before, sum, *lot);
            if setting.energy(objective, &sum) > most {
                return None;
            }
            before = Some(*lot);
        }
        let last = clock.last();
        for k in change.range.end..clock.lots.len() {
            let old = &clock.sums[k];
            if k.checked_sub(1).map(|p| clock.lots[p]) == before {
                // From here on only the clock differs: a lot ends earlier by no more than the clock goes before the old one.
                let ahead = (old.end - sum.end).max(0);
                let to_come = last.tardiness - old.tardiness - ahead * (last.weight - old.weight);
                let least = Sum {
                    end: last.end - ahead,
                    setup: sum.setup + last.setup - old.setup,
                    tardiness: sum.tardiness + to_come.max(0),
                    weight: last.weight,
                };
                let later = (sum.end - old.end).max(0);
                let none_late = last.tardiness == old.tardiness && later <= clock.slack[k];
                if sum.end == old.end || (none_late && objective != Objective::Makespan) {
                    return Some(least);
                }
                if setting.energy(objective, &least) > most {
                    return None;
                }
            }
            sum = self.next(setting, change.machine, before, sum, clock.lots[k]);
            before = Some(clock.lots[k]);
        }
        Some(sum)
    }

    /// Rise of the energy by the move that was proposed, or something above `allowed`.
    fn rise(&self, setting: &Setting, changes: &[Option<Change>; 2], allowed: f64) -> f64 {
        let objective = self.instance.objective;
        let mut rise = 0.0;
        // A machine that gives a lot away comes first: what it gains may be spent.
        for (change, new) in changes.iter().zip(&self.new) {
            let Some(change) = change else { continue };
            let now = setting.energy(objective, self.clocks[change.machine].last());
            match self.sum_after(setting, change, new, now + allowed - rise + 1e-6) {
                Some(sum) => rise += setting.energy(objective, &sum) - now,
                None => return f64::INFINITY,
            }
        }
        rise
    }

    fn apply(&mut self, setting: &Setting, change: &Change, new: &[u32]) {
        let (machine, start) = (change.machine, change.range.start);
        let clock = &mut self.clocks[machine];
        let kept = new.len() == change.range.len();
        clock.lots.splice(change.range.clone(), new.iter().copied());
        if !kept {
            clock.sums.resize(clock.lots.len() + 1, Sum::default());
        }
        for k in start..self.clocks[machine].lots.len() {
            let clock = &self.clocks[machine];
            let lot = clock.lots[k];
            let sum = self.next(setting, machine, k.checked_sub(1).map(|p| clock.lots[p]), clock.sums[k], lot);
            self.at[self.instance.machines[machine].lots[lot as usize]] = (machine, k);
            let known = &mut self.clocks[machine].sums[k + 1];
            // Behind the stretch all stays as it was once the clocks agree.
            if kept && k >= change.range.end && *known == sum {
                break;
            }
            *known = sum;
        }
        let clock = &mut self.clocks[machine];
        clock.slack.resize(clock.lots.len() + 1, i64::MAX);
        clock.slack[clock.lots.len()] = i64::MAX;
        for (k, lot) in clock.lots.iter().enumerate().rev() {
            let of = &setting.reads[machine][*lot as usize];
            let own = if of.weight > 0 { of.due - clock.sums[k + 1].end } else { i64::MAX };
            clock.slack[k] = own.min(clock.slack[k + 1]);
        }
    }

    /// A move at random: within a machine a run goes elsewhere or two lots change places; or a lot goes to another machine.
    fn propose(&mut self) -> Option<[Option<Change>; 2]> {
        let random = &mut self.random;
        let [first, second] = &mut self.new;
        first.clear();
        let lot = random.below(self.at.len());
        let (machine, at) = self.at[lot];
        let lots = &self.clocks[machine].lots;
        let times = &self.instance.lots()[lot].times;
        if times.len() > 1 && random.below(2) == 0 {
            let (to, _) = times[random.below(times.len())];
            if to == machine {
                return None;
            }
            second.clear();
            let place = random.below(self.clocks[to].lots.len() + 1);
            let leave = Change { machine, range: at..at + 1 };
            second.push(self.instance.own(to, lot)? as u32);
            // Half of the time a lot comes back for it.
            let mut taken = place..place;
            if place < self.clocks[to].lots.len() && random.below(2) == 0 {
                let back = self.instance.machines[to].lots[self.clocks[to].lots[place] as usize];
                first.push(self.instance.own(machine, back)? as u32);
                taken.end += 1;
            }
            return Some([Some(leave), Some(Change { machine: to, range: taken })]);
        }
        let n = lots.len();
        if n < 2 {
            return None;
        }
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
        first.extend_from_slice(&lots[low..=high]);
        let last = high - low;
        match random.below(3) {
            0 => first.swap(0, last),
            // A run of lots at the one end goes to the other end of the stretch.
            _ => {
                let run = 1 + random.below(RUN.min(last));
                if at < other { first.rotate_left(run) } else { first.rotate_right(run) }
            }
        }
        Some([Some(Change { machine, range: low..high + 1 }), None])
    }
}
