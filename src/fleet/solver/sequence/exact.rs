//! The best order of few lots: for each machine over all sets of lots (M. Held and R. M. Karp, A dynamic programming
//! approach to sequencing problems, Journal of the SIAM 10, 1962), then the sets shared out among the machines.

use super::instance::Machine;
use super::{Instance, Objective};

/// Most lots of a question that is taken exactly: 3^12 ways to share them out between two machines.
pub(super) const MOST_LOTS: usize = 12;
/// Most partial orders of a machine that are kept; timed questions can need many.
const MOST_LABELS: usize = 3_000_000;

/// A partial order that no other of the same lots and the same last lot beats in both figures.
#[derive(Clone, Copy)]
struct Label {
    end: i64,
    cost: i64,
    last: u8,
    /// The label before, in the set without `last`.
    before: u32,
}

/// Cost of each set of the lots of one machine, and how to get there.
struct Table {
    labels: Vec<Vec<Label>>,
    best: Vec<Option<(i64, u32)>>,
}

impl Table {
    fn of(instance: &Instance, machine: &Machine) -> Option<Self> {
        let k = machine.lots.len();
        let mut labels: Vec<Vec<Label>> = vec![Vec::new(); 1 << k];
        let start = Label { end: machine.free_from, cost: 0, last: u8::MAX, before: 0 };
        labels[0].push(start);
        let mut count = 0;
        for set in 0..1_usize << k {
            let own = std::mem::take(&mut labels[set]);
            count += own.len();
            if count > MOST_LABELS {
                return None;
            }
            for (n, label) in own.iter().enumerate() {
                let before = if label.last == u8::MAX { machine.standing() } else { usize::from(label.last) };
                let setups = machine.setups_from(before);
                for lot in (0..k).filter(|lot| set >> lot & 1 == 0) {
                    let number = &instance.lots()[machine.lots[lot]];
                    let setup = i64::from(setups[lot]);
                    let end = (label.end + setup).max(number.release) + i64::from(machine.times[lot]);
                    let cost = match instance.objective {
                        Objective::Makespan => end,
                        Objective::Setup => label.cost + setup,
                        Objective::Tardiness => {
                            label.cost + number.due.map_or(0, |due| number.weight * (end - due).max(0))
                        }
                    };
                    let new = Label { end, cost, last: lot as u8, before: n as u32 };
                    add(&mut labels[set | 1 << lot], new, instance.objective);
                }
            }
            labels[set] = own;
        }
        let best = labels.iter().map(|of_set| (0..of_set.len()).map(|n| (of_set[n].cost, n as u32)).min()).collect();
        Some(Self { labels, best })
    }

    /// The order behind a label of a set, in the machine's numbers.
    fn order(&self, mut set: usize, mut label: u32) -> Vec<usize> {
        let mut order = Vec::new();
        while set != 0 {
            let of = &self.labels[set][label as usize];
            order.push(usize::from(of.last));
            set &= !(1 << of.last);
            label = of.before;
        }
        order.reverse();
        order
    }
}

/// Adds a label unless one of the same last lot is as good in both figures, and drops those it beats. Where only setups
/// count, the end does not.
fn add(labels: &mut Vec<Label>, new: Label, objective: Objective) {
    let beats = |a: &Label, b: &Label| {
        a.last == b.last && a.cost <= b.cost && (objective == Objective::Setup || a.end <= b.end)
    };
    if !labels.iter().any(|old| beats(old, &new)) {
        labels.retain(|old| !beats(&new, old));
        labels.push(new);
    }
}

/// The best order for each machine, where the question is small enough.
pub(super) fn solve(instance: &Instance) -> Option<Vec<Vec<usize>>> {
    let n = instance.lots().len();
    if n > MOST_LOTS {
        return None;
    }
    let tables: Vec<Table> = instance.machines.iter().map(|m| Table::of(instance, m)).collect::<Option<_>>()?;
    // Best value for each set shared out among the machines so far, and the part of the last machine.
    let mut shared: Vec<Vec<(i64, usize)>> = Vec::new();
    let mut before: Vec<i64> = vec![i64::MAX; 1 << n];
    before[0] = 0;
    for (machine, table) in instance.machines.iter().zip(&tables) {
        let mut cost = vec![i64::MAX; 1 << n];
        for (own, best) in table.best.iter().enumerate() {
            if let Some((value, _)) = best {
                cost[widen(machine, own)] = if own == 0 { 0 } else { *value };
            }
        }
        let mut now = vec![(i64::MAX, 0); 1 << n];
        for (set, best) in now.iter_mut().enumerate() {
            let mut part = set;
            loop {
                let (a, b) = (cost[part], before[set & !part]);
                if a != i64::MAX && b != i64::MAX {
                    let value = if instance.objective == Objective::Makespan { a.max(b) } else { a + b };
                    *best = (*best).min((value, part));
                }
                if part == 0 {
                    break;
                }
                part = (part - 1) & set;
            }
        }
        before = now.iter().map(|(value, _)| *value).collect();
        shared.push(now);
    }
    let mut set = (1 << n) - 1;
    let mut order = vec![Vec::new(); tables.len()];
    for (m, table) in tables.iter().enumerate().rev() {
        let part = shared[m][set].1;
        let machine = &instance.machines[m];
        let own = (0..machine.lots.len()).filter(|l| part >> machine.lots[*l] & 1 == 1).fold(0, |s, l| s | 1 << l);
        let label = table.best[own].map_or(0, |(_, label)| label);
        order[m] = table.order(own, label).into_iter().map(|l| machine.lots[l]).collect();
        set &= !part;
    }
    Some(order)
}

/// A set of a machine's lots in the numbers of the question.
fn widen(machine: &Machine, own: usize) -> usize {
    machine.lots.iter().enumerate().filter(|(l, _)| own >> l & 1 == 1).fold(0, |set, (_, lot)| set | 1 << lot)
}
