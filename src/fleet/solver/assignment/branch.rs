//! Branch and bound to the proof: the open places of one job at a time, the prices of the jobs going on from the parent's.

use super::bound::{Climb, Forced, Relaxation};
use super::{Instance, solve::below};
use crate::fleet::solver::parallel;
use std::num::NonZeroUsize;
use std::sync::Arc;

/// Nodes opened together; their number must not depend on the threads.
const WAVE: usize = 8;
/// Most open nodes kept; beyond it the proof is given up.
const MOST_NODES: usize = 20_000;
/// Rounds of the bound at a node.
const ROUNDS: usize = 40;

/// Which ways are open.
#[derive(Clone, Debug)]
pub(super) struct Open {
    bits: Vec<u64>,
    places: usize,
}

impl Open {
    pub(super) fn all(instance: &Instance) -> Self {
        Self { bits: vec![u64::MAX; (instance.jobs() * instance.places()).div_ceil(64)], places: instance.places() }
    }

    pub(super) fn holds(&self, job: usize, place: usize) -> bool {
        let at = job * self.places + place;
        self.bits[at / 64] >> (at % 64) & 1 == 1
    }

    pub(super) fn close(&mut self, job: usize, place: usize) {
        let at = job * self.places + place;
        self.bits[at / 64] &= !(1 << (at % 64));
    }

    /// Closes all ways whose forced bound is not below `target`.
    pub(super) fn close_beyond(&mut self, forced: &[Forced], target: f64) {
        forced.iter().filter(|f| f.value >= target).for_each(|f| self.close(f.job, f.place));
    }

    fn settle(&mut self, job: usize, place: usize) {
        (0..self.places).filter(|p| *p != place).for_each(|p| self.close(job, p));
    }
}

struct Node {
    /// Scaled bound.
    bound: f64,
    depth: usize,
    open: Open,
    prices: Arc<Vec<f64>>,
}

/// The nodes that are still to be opened.
pub(super) struct Frontier<'a> {
    instance: &'a Instance,
    nodes: Vec<Node>,
    /// Least scaled bound of nodes that were given up.
    given_up: f64,
    widest: f64,
}

impl<'a> Frontier<'a> {
    /// The root: these ways at these prices, which give this scaled bound.
    pub(super) fn new(instance: &'a Instance, open: Open, prices: Vec<f64>, bound: f64, widest: f64) -> Self {
        let root = Node { bound, depth: 0, open, prices: Arc::new(prices) };
        Self { instance, nodes: vec![root], given_up: f64::INFINITY, widest }
    }

    /// Scaled bound over all that is not yet excluded; infinite when nothing is left.
    pub(super) fn bound(&self) -> f64 {
        self.nodes.iter().fold(self.given_up, |least, node| least.min(node.bound))
    }

    /// Whether there is something left to open.
    pub(super) fn is_open(&self) -> bool {
        !self.nodes.is_empty() && self.given_up == f64::INFINITY
    }

    /// Opens the nodes of least bound, given that only plans below `cost` matter. Returns how many were opened.
    pub(super) fn advance(&mut self, cost: i64, threads: NonZeroUsize, cut: &(dyn Fn() -> bool + Sync)) -> usize {
        let target = below(cost);
        self.nodes.retain(|node| node.bound < target);
        self.nodes.sort_by(|a, b| b.bound.total_cmp(&a.bound).then(a.depth.cmp(&b.depth)));
        let wave = self.nodes.split_off(self.nodes.len().saturating_sub(WAVE));
        let opened = parallel::map(&wave, threads, |node| if cut() { None } else { Some(self.children(node, target)) });
        let count = opened.len();
        for (node, children) in wave.into_iter().zip(opened) {
            match children {
                Some(children) => self.nodes.extend(children),
                None => self.nodes.push(node),
            }
        }
        if self.nodes.len() > MOST_NODES {
            self.given_up = self.bound();
            self.nodes.clear();
        }
        count
    }

    fn children(&self, node: &Node, target: f64) -> Vec<Node> {
        let mut open = node.open.clone();
        let mut prices = node.prices.to_vec();
        let mut bound = node.bound;
        loop {
            let Some(relaxation) = Relaxation::new(self.instance, |job, place| open.holds(job, place)) else {
                return Vec::new();
            };
            let climb = Climb {
                rounds: ROUNDS,
                share: 0.5,
                patience: 5,
                target,
                widest: self.widest,
                threads: NonZeroUsize::MIN,
                cut: &|| false,
            };
            bound = relaxation.raise(&mut prices, &climb).max(bound);
            if bound >= target {
                return Vec::new();
            }
            let forced = relaxation.force_each(&prices, NonZeroUsize::MIN);
            let before = relaxation.unsettled();
            open.close_beyond(&forced, target);
            let closed = forced.iter().filter(|f| f.value >= target).count();
            if before > 0 && closed * 4 < forced.len() {
                return self.branch(node, &open, &Arc::new(prices), bound, &forced, target);
            }
            if before == 0 {
                // One plan is left; it is told by a node that cannot be split, which the search looks into.
                return vec![Node { bound, depth: usize::MAX, open, prices: Arc::new(prices) }];
            }
        }
    }

    /// A node for each open place of the job that promises the smallest tree.
    fn branch(
        &self,
        node: &Node,
        open: &Open,
        prices: &Arc<Vec<f64>>,
        bound: f64,
        forced: &[Forced],
        target: f64,
    ) -> Vec<Node> {
        let mut size = vec![0.0; self.instance.jobs()];
        let mut ways = vec![0; self.instance.jobs()];
        let reach = (target - bound).max(1.0) / 4.0;
        for f in forced.iter().filter(|f| f.value < target) {
            size[f.job] += libm::exp2(-(f.value - bound).max(0.0) / reach);
            ways[f.job] += 1;
        }
        let mut seen: Vec<bool> = vec![false; self.instance.jobs()];
        let mut best: Option<usize> = None;
        for f in forced {
            if !std::mem::replace(&mut seen[f.job], true) {
                if ways[f.job] == 0 {
                    return Vec::new();
                }
                if ways[f.job] > 1 && best.is_none_or(|b| size[f.job] < size[b]) {
                    best = Some(f.job);
                }
            }
        }
        let Some(job) = best else {
            return vec![Node { bound, depth: node.depth + 1, open: open.clone(), prices: prices.clone() }];
        };
        let places = forced.iter().filter(|f| f.job == job && f.value < target);
        places
            .map(|f| {
                let mut open = open.clone();
                open.settle(job, f.place);
                Node { bound: bound.max(f.value), depth: node.depth + 1, open, prices: prices.clone() }
            })
            .collect()
    }

    /// Takes out the nodes at which every job has one place, with those places.
    pub(super) fn take_settled(&mut self) -> Vec<Vec<usize>> {
        let (settled, rest) = std::mem::take(&mut self.nodes).into_iter().partition(|n| n.depth == usize::MAX);
        self.nodes = rest;
        let place = |node: &Node, job| self.instance.ways(job).find(|p| node.open.holds(job, *p)).unwrap_or(0);
        let settled: Vec<Node> = settled;
        settled.iter().map(|node| (0..self.instance.jobs()).map(|job| place(node, job)).collect()).collect()
    }
}
