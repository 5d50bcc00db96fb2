//! Where the lots are, kept up to date move by move: orders, setups before each lot, sums.

use super::Instance;
use super::instance::Machine;
use std::ops::Range;

/// Orders of all machines, in the numbers that each machine gives its lots.
#[derive(Clone)]
pub(super) struct State<'a> {
    pub(super) instance: &'a Instance,
    pub(super) orders: Vec<Order>,
    /// Machine and position of each lot.
    pub(super) at: Vec<(usize, usize)>,
}

/// The lots of one machine in order.
#[derive(Clone, Default)]
pub(super) struct Order {
    pub(super) lots: Vec<u32>,
    /// Setup before each lot.
    links: Vec<i32>,
    /// Sum of the setups, and of setups and times.
    pub(super) setup: i64,
    pub(super) busy: i64,
    /// Rises with every change.
    pub(super) version: u32,
}

/// A run of lots that is put in one piece: its first and last lot.
#[derive(Clone, Copy)]
pub(super) struct Piece {
    pub(super) first: usize,
    pub(super) last: usize,
}

impl Piece {
    pub(super) fn of(own: usize) -> Self {
        Self { first: own, last: own }
    }
}

impl<'a> State<'a> {
    /// No lot anywhere.
    fn empty(instance: &'a Instance) -> Self {
        let orders = vec![Order::default(); instance.machines()];
        Self { instance, orders, at: vec![(usize::MAX, 0); instance.lots().len()] }
    }

    /// Lots put one after the other, in this order, where `cost` of machine, setup and time added is least.
    pub(super) fn grown(instance: &'a Instance, lots: &[usize], cost: impl Fn(&Self, usize, i64, i64) -> f64) -> Self {
        let mut state = Self::empty(instance);
        for lot in lots {
            let mut best: Option<(f64, usize, usize)> = None;
            for (machine, time) in &instance.lots()[*lot].times {
                let Some(own) = instance.own(*machine, *lot) else { continue };
                let Some((position, setup)) = state.best_place(*machine, Piece::of(own), 0..0, None) else { continue };
                let cost = cost(&state, *machine, setup, setup + time);
                if best.is_none_or(|b| cost < b.0) {
                    best = Some((cost, *machine, position));
                }
            }
            if let Some((_, machine, position)) = best {
                let own = instance.own(machine, *lot).unwrap_or(0);
                state.splice(machine, position..position, &[own as u32]);
            }
        }
        state
    }

    pub(super) fn machine(&self, machine: usize) -> &'a Machine {
        &self.instance.machines[machine]
    }

    /// Setup from the lot before `position` to `to`.
    fn link(&self, machine: usize, position: usize, to: usize) -> i64 {
        let m = self.machine(machine);
        let before = position.checked_sub(1).map_or(m.standing(), |p| self.orders[machine].lots[p] as usize);
        i64::from(m.setups_from(before)[to])
    }

    /// What the setups change by when the lots of a range are taken out.
    pub(super) fn without(&self, machine: usize, range: &Range<usize>) -> i64 {
        let order = &self.orders[machine];
        let gone: i64 = order.links[range.start..range.end].iter().map(|s| i64::from(*s)).sum();
        match order.lots.get(range.end) {
            Some(next) => self.link(machine, range.start, *next as usize) - i64::from(order.links[range.end]) - gone,
            None => -gone,
        }
    }

    /// The best position for a piece on a machine from which the lots of `skip` are taken, not at `but`; and what the
    /// setups outside the piece change by. Positions are those after `skip` is taken.
    pub(super) fn best_place(
        &self,
        machine: usize,
        piece: Piece,
        skip: Range<usize>,
        but: Option<usize>,
    ) -> Option<(usize, i64)> {
        let m = self.machine(machine);
        let order = &self.orders[machine];
        let (into, from) = (m.setups_into(piece.first), m.setups_from(piece.last));
        let mut best = (usize::MAX, i32::MAX);
        let mut before = m.standing();
        let mut consider = |position: usize, delta: i32| {
            if delta < best.1 && Some(position) != but {
                best = (position, delta);
            }
        };
        for (k, (lot, link)) in order.lots[..skip.start].iter().zip(&order.links).enumerate() {
            let lot = *lot as usize;
            consider(k, into[before] + from[lot] - link);
            before = lot;
        }
        let mut after = skip.end;
        if let (Some(next), false) = (order.lots.get(skip.end), skip.is_empty()) {
            let next = *next as usize;
            consider(skip.start, into[before] + from[next] - m.setups_from(before)[next]);
            before = next;
            after += 1;
        }
        for k in after..order.lots.len() {
            let lot = order.lots[k] as usize;
            consider(k - skip.len(), into[before] + from[lot] - order.links[k]);
            before = lot;
        }
        consider(order.lots.len() - skip.len(), into[before]);
        (best.0 != usize::MAX).then_some((best.0, i64::from(best.1)))
    }

    /// Puts these lots in place of those of a range.
    pub(super) fn splice(&mut self, machine: usize, range: Range<usize>, new: &[u32]) {
        let m = self.machine(machine);
        let start = range.start;
        let order = &mut self.orders[machine];
        let count = |order: &Order, range: Range<usize>| {
            let setup: i64 = order.links[range.clone()].iter().map(|s| i64::from(*s)).sum();
            let times: i64 = order.lots[range].iter().map(|lot| i64::from(m.times[*lot as usize])).sum();
            (setup, times)
        };
        let linked = (range.end + 1).min(order.lots.len());
        let tail = linked - range.end;
        let (setup, _) = count(order, start..linked);
        let (_, times) = count(order, range.clone());
        order.setup -= setup;
        order.busy -= setup + times;
        order.lots.splice(range.clone(), new.iter().copied());
        order.links.splice(range, new.iter().map(|_| 0));
        let end = start + new.len() + tail;
        let mut before = start.checked_sub(1).map_or(m.standing(), |p| order.lots[p] as usize);
        for k in start..end {
            let lot = order.lots[k] as usize;
            order.links[k] = m.setups_from(before)[lot];
            before = lot;
        }
        let (setup, _) = count(order, start..end);
        let (_, times) = count(order, start..start + new.len());
        order.setup += setup;
        order.busy += setup + times;
        order.version = order.version.wrapping_add(1);
        for (k, lot) in self.orders[machine].lots.iter().enumerate().skip(start) {
            self.at[m.lots[*lot as usize]] = (machine, k);
        }
    }

    /// The orders in the numbers of the question.
    pub(super) fn orders(&self) -> Vec<Vec<usize>> {
        let named =
            |(m, order): (usize, &Order)| order.lots.iter().map(|l| self.machine(m).lots[*l as usize]).collect();
        self.orders.iter().enumerate().map(named).collect()
    }
}
