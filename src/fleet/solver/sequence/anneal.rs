//! Simulated annealing where times and setups add up (S. Kirkpatrick, C. D. Gelatt and M. P. Vecchi, Optimization by
//! simulated annealing, Science 220, 1983): a lot or a short run of lots goes to its best place on the same or another
//! machine, two lots change machines, two machines exchange their tails.

use super::state::{Piece, State};
use super::{Instance, Objective};
use crate::fleet::solver::Random;
use std::ops::Range;

/// Power in the energy of a makespan: high enough for the longest machine to count most, low enough for others to count.
const POWER: f64 = 12.0;
/// First and last temperature in mean setups, and the least first one in mean times.
const FIRST: f64 = 0.3;
const LAST: f64 = 0.012;
const FIRST_IN_TIMES: f64 = 0.12;
/// Machines to which a lot may go: those where it takes least.
const NEAR: usize = 6;
/// Longest run of lots moved in one piece, longest tail exchanged.
const RUN: usize = 4;
const TAIL: usize = 8;
/// Entries of the table of logarithms.
const LOGS: usize = 4096;
/// Proposals between two looks at the clock.
const LOOK: u64 = 4096;

/// What does not change while annealing.
pub(super) struct Setting {
    near: Vec<Vec<usize>>,
    logs: Vec<f64>,
    first: f64,
    last: f64,
    objective: Objective,
}

impl Setting {
    pub(super) fn new(instance: &Instance) -> Self {
        let (mut setups, mut times, mut pairs, mut ways) = (0.0, 0.0, 0.0, 0.0);
        let mean_setup = |machine: usize, own: usize| {
            let into = instance.machines[machine].setups_into(own);
            into.iter().map(|s| f64::from(*s)).sum::<f64>() / into.len() as f64
        };
        let mut near = Vec::new();
        for (lot, of) in instance.lots().iter().enumerate() {
            let mut machines: Vec<(f64, usize)> = Vec::new();
            for (machine, time) in &of.times {
                let setup = instance.own(*machine, lot).map_or(0.0, |own| mean_setup(*machine, own));
                let time = *time as f64;
                setups += setup;
                pairs += 1.0;
                times += time;
                ways += 1.0;
                let key = if instance.objective == Objective::Setup { setup } else { setup + time };
                machines.push((key, *machine));
            }
            machines.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
            near.push(machines.into_iter().take(NEAR).map(|(_, m)| m).collect());
        }
        let (setup, time) = (setups / f64::max(pairs, 1.0), times / f64::max(ways, 1.0));
        let by_time = if instance.objective == Objective::Setup { 0.0 } else { FIRST_IN_TIMES * time };
        Self {
            near,
            logs: (0..LOGS).map(|k| -libm::log((k as f64 + 0.5) / LOGS as f64)).collect(),
            first: (FIRST * setup).max(by_time).max(1e-3),
            last: (LAST * setup.max(0.1 * time)).max(1e-4),
            objective: instance.objective,
        }
    }
}

/// One annealing run.
#[derive(Clone)]
pub(super) struct Chain<'a> {
    pub(super) state: State<'a>,
    pub(super) best: State<'a>,
    random: Random,
    /// Makespan that the energy is measured in.
    scale: f64,
    /// Best place of each lot on each machine, with the version of the order for which it holds.
    places: Vec<(u32, u32, i32)>,
}

/// A move that has been weighed: what becomes of up to two machines.
struct Change {
    machine: usize,
    setup: i64,
    busy: i64,
}

impl<'a> Chain<'a> {
    pub(super) fn new(state: State<'a>, random: Random) -> Self {
        let places = vec![(u32::MAX, 0, 0); state.instance.lots().len() * state.orders.len()];
        let mut chain = Self { best: state.clone(), state, random, scale: 1.0, places };
        chain.scale = value(&chain.state).1.max(1) as f64;
        chain
    }

    /// Goes on from another chain's best.
    pub(super) fn move_to(&mut self, state: &State<'a>) {
        self.state.clone_from(state);
        self.places.fill((u32::MAX, 0, 0));
        self.keep();
    }

    fn energy(&self, setting: &Setting, machine: usize, setup: i64, busy: i64) -> f64 {
        if setting.objective == Objective::Setup {
            return setup as f64;
        }
        let end = self.state.machine(machine).free_from + busy;
        let share = end as f64 / self.scale;
        let square = share * share;
        let fourth = square * square;
        fourth * fourth * fourth * (self.scale / POWER)
    }

    fn rise(&self, setting: &Setting, change: &Change) -> f64 {
        let order = &self.state.orders[change.machine];
        self.energy(setting, change.machine, order.setup + change.setup, order.busy + change.busy)
            - self.energy(setting, change.machine, order.setup, order.busy)
    }

    fn keep(&mut self) {
        if value(&self.state) < value(&self.best) {
            self.best.clone_from(&self.state);
            self.scale = value(&self.best).1.max(1) as f64;
        }
    }

    /// Proposes `count` moves, those from `from` to `to` (shares of the whole run) of the cooling. Returns how many were
    /// proposed before a cut.
    pub(super) fn cool(
        &mut self,
        setting: &Setting,
        count: u64,
        (from, to): (f64, f64),
        cut: &(dyn Fn() -> bool + Sync),
    ) -> u64 {
        let ratio = setting.last / setting.first;
        let mut temperature = setting.first;
        for n in 0..count {
            if n % LOOK == 0 {
                if cut() {
                    return n;
                }
                let done = from + (to - from) * (n as f64 / count as f64);
                temperature = setting.first * libm::pow(ratio, done);
            }
            let bits = self.random.bits();
            let allowed = temperature * setting.logs[(bits >> 20) as usize % LOGS];
            let lot = self.draw(bits);
            match bits >> 56 {
                0..=119 => self.shift(setting, lot, allowed),
                120..=189 => self.swap(setting, lot, allowed),
                190..=251 => self.rerun(setting, lot, allowed),
                _ => self.exchange_tails(setting, lot, allowed),
            }
        }
        count
    }

    /// Any lot, or one of the longest machine.
    fn draw(&mut self, bits: u64) -> usize {
        if bits & 0xff < 100 {
            let end = |m: usize| self.state.machine(m).free_from + self.state.orders[m].busy;
            let longest = (0..self.state.orders.len()).max_by_key(|m| end(*m)).unwrap_or(0);
            let lots = &self.state.orders[longest].lots;
            if !lots.is_empty() {
                return self.state.machine(longest).lots[lots[self.random.below(lots.len())] as usize];
            }
        }
        self.random.below(self.state.at.len())
    }

    /// The best place of a lot on a machine where it is not.
    fn place(&mut self, machine: usize, lot: usize, own: usize) -> (usize, i64) {
        let cell = machine * self.state.at.len() + lot;
        let version = self.state.orders[machine].version;
        let (known, position, setup) = self.places[cell];
        if known == version {
            return (position as usize, i64::from(setup));
        }
        let (position, setup) = self.state.best_place(machine, Piece::of(own), 0..0, None).unwrap_or((0, 0));
        self.places[cell] = (version, position as u32, setup as i32);
        (position, setup)
    }

    fn shift(&mut self, setting: &Setting, lot: usize, allowed: f64) {
        let near = &setting.near[lot];
        let to = near[self.random.below(near.len())];
        let (from, position) = self.state.at[lot];
        if to == from {
            return;
        }
        let (Some(own), Some(own_before)) = (self.state.instance.own(to, lot), self.state.instance.own(from, lot))
        else {
            return;
        };
        let (place, setup) = self.place(to, lot, own);
        let freed = self.state.without(from, &(position..position + 1));
        let time = |machine: usize, own: usize| i64::from(self.state.machine(machine).times[own]);
        let leave = Change { machine: from, setup: freed, busy: freed - time(from, own_before) };
        let arrive = Change { machine: to, setup, busy: setup + time(to, own) };
        if self.rise(setting, &leave) + self.rise(setting, &arrive) <= allowed {
            self.state.splice(from, position..position + 1, &[]);
            self.state.splice(to, place..place, &[own as u32]);
            self.keep();
        }
    }

    fn swap(&mut self, setting: &Setting, lot: usize, allowed: f64) {
        let near = &setting.near[lot];
        let to = near[self.random.below(near.len())];
        let (from, position) = self.state.at[lot];
        let others = self.state.orders[to].lots.len();
        if to == from || others == 0 {
            return;
        }
        let other_position = self.random.below(others);
        let other_own = self.state.orders[to].lots[other_position] as usize;
        let other = self.state.machine(to).lots[other_own];
        let instance = self.state.instance;
        let (Some(own), Some(own_before), Some(other_after)) =
            (instance.own(to, lot), instance.own(from, lot), instance.own(from, other))
        else {
            return;
        };
        let (gone, other_gone) = (position..position + 1, other_position..other_position + 1);
        let time = |machine: usize, own: usize| i64::from(self.state.machine(machine).times[own]);
        // Times alone may already say no.
        let Some((here, here_setup)) = self.state.best_place(from, Piece::of(other_after), gone.clone(), None) else {
            return;
        };
        let setup = self.state.without(from, &gone) + here_setup;
        let at_from = Change { machine: from, setup, busy: setup + time(from, other_after) - time(from, own_before) };
        let rise = self.rise(setting, &at_from);
        let Some((there, there_setup)) = self.state.best_place(to, Piece::of(own), other_gone.clone(), None) else {
            return;
        };
        let setup = self.state.without(to, &other_gone) + there_setup;
        let at_to = Change { machine: to, setup, busy: setup + time(to, own) - time(to, other_own) };
        if rise + self.rise(setting, &at_to) <= allowed {
            self.state.splice(from, gone, &[]);
            self.state.splice(to, other_gone, &[]);
            self.state.splice(from, here..here, &[other_after as u32]);
            self.state.splice(to, there..there, &[own as u32]);
            self.keep();
        }
    }

    /// A lot, or a short run from it, to another place on its machine: the best one or any.
    fn rerun(&mut self, setting: &Setting, lot: usize, allowed: f64) {
        let (machine, position) = self.state.at[lot];
        let lots = &self.state.orders[machine].lots;
        let length = 1 + self.random.below(RUN.min(lots.len() - position));
        let range = position..position + length;
        let piece = Piece { first: lots[position] as usize, last: lots[range.end - 1] as usize };
        let Some((place, setup)) = self.state.best_place(machine, piece, range.clone(), Some(position)) else { return };
        let inner: i64 = (position + 1..range.end).map(|k| self.inner(machine, k)).sum();
        let setup = self.state.without(machine, &range) + inner + setup;
        if self.rise(setting, &Change { machine, setup, busy: setup }) <= allowed {
            let run = self.state.orders[machine].lots[range.clone()].to_vec();
            self.state.splice(machine, range, &[]);
            self.state.splice(machine, place..place, &run);
            self.keep();
        }
    }

    /// Setup before a lot within its order.
    fn inner(&self, machine: usize, position: usize) -> i64 {
        let lots = &self.state.orders[machine].lots;
        i64::from(self.state.machine(machine).setups_from(lots[position - 1] as usize)[lots[position] as usize])
    }

    /// The lots from here on change machines with the last lots of another.
    fn exchange_tails(&mut self, setting: &Setting, lot: usize, allowed: f64) {
        let near = &setting.near[lot];
        let to = near[self.random.below(near.len())];
        let (from, position) = self.state.at[lot];
        let (here, there) = (self.state.orders[from].lots.len(), self.state.orders[to].lots.len());
        if to == from || here - position > TAIL {
            return;
        }
        let other = there - self.random.below(TAIL.min(there) + 1);
        let (Some(mine), Some(theirs)) =
            (self.renumbered(from, position..here, to), self.renumbered(to, other..there, from))
        else {
            return;
        };
        let before = [self.sums(from), self.sums(to)];
        self.state.splice(from, position..here, &theirs.1);
        self.state.splice(to, other..there, &mine.1);
        let after = [self.sums(from), self.sums(to)];
        let rise: f64 = [from, to]
            .iter()
            .zip(before.iter().zip(&after))
            .map(|(m, (b, a))| self.energy(setting, *m, a.0, a.1) - self.energy(setting, *m, b.0, b.1))
            .sum();
        if rise <= allowed {
            self.keep();
        } else {
            let (here, there) = (self.state.orders[from].lots.len(), self.state.orders[to].lots.len());
            self.state.splice(from, position..here, &mine.0);
            self.state.splice(to, other..there, &theirs.0);
        }
    }

    fn sums(&self, machine: usize) -> (i64, i64) {
        (self.state.orders[machine].setup, self.state.orders[machine].busy)
    }

    /// The lots of a range in the numbers of their machine and of another, where it can make all of them.
    fn renumbered(&self, machine: usize, range: Range<usize>, other: usize) -> Option<(Vec<u32>, Vec<u32>)> {
        let lots = &self.state.orders[machine].lots[range];
        let own = |lot: &u32| self.state.instance.own(other, self.state.machine(machine).lots[*lot as usize]);
        let renumbered: Option<Vec<u32>> = lots.iter().map(|lot| own(lot).map(|own| own as u32)).collect();
        Some((lots.to_vec(), renumbered?))
    }
}

/// What is to be least, and after it: makespan and setup, or setup and makespan.
pub(super) fn value(state: &State<'_>) -> (i64, i64) {
    let machines = state.orders.iter().enumerate().filter(|(_, order)| !order.lots.is_empty());
    let makespan = machines.map(|(m, order)| state.machine(m).free_from + order.busy).max().unwrap_or(0);
    let setup = state.orders.iter().map(|order| order.setup).sum();
    if state.instance.objective == Objective::Setup { (setup, makespan) } else { (makespan, makespan) }
}
