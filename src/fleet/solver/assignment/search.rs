//! Search from plan to plan: jobs of some machines, drawn at random, are re-optimised together; while hot, a little loss is
//! allowed. Plans of an elite are relinked: where two differ, the best mixture of both is taken (path relinking, F. Glover,
//! M. Laguna and R. Marti, Control and Cybernetics 29, 2000, with the path replaced by a tree).

use super::reoptimise::{Guide, Plan, Tree};
use crate::fleet::solver::random::Random;

/// Most nodes of the tree of a re-optimisation.
const NODES: u32 = 2_000;
/// Trees of fewer nodes ask for more jobs next time; those that reach [`NODES`] for fewer.
const FEW_NODES: u32 = 1_000;
/// Fewest and most jobs re-optimised together.
const JOBS: (f64, f64) = (8.0, 160.0);

/// One searcher: its plan, the best it met, its random numbers and how many jobs it takes at once.
#[derive(Clone)]
pub(super) struct Searcher {
    pub(super) plan: Plan,
    pub(super) best: Plan,
    random: Random,
    jobs: f64,
}

/// One stretch of search.
#[derive(Clone, Copy)]
pub(super) struct Stretch<'a> {
    pub(super) steps: u64,
    /// Loss allowed at first, falling to nothing, as a share of what a machine lies above the bound on average.
    pub(super) heat: f64,
    /// Cost that no plan can be below.
    pub(super) bound: i64,
    pub(super) cut: &'a (dyn Fn() -> bool + Sync),
}

impl Searcher {
    pub(super) fn new(plan: Plan, seed: u64, stream: u64) -> Self {
        Self { best: plan.clone(), plan, random: Random::new(seed, stream), jobs: 2.0 * JOBS.0 }
    }

    /// Searches for a stretch.
    pub(super) fn walk(&mut self, guide: &Guide<'_>, stretch: &Stretch<'_>) {
        let instance = guide.instance;
        let mut tree = Tree::default();
        let mut chosen = vec![false; instance.places()];
        let mut free = Vec::new();
        let typical = (self.plan.cost - stretch.bound) as f64 / instance.machines().max(1) as f64;
        for step in 0..stretch.steps {
            if self.best.cost <= stretch.bound || (stretch.cut)() {
                break;
            }
            let heat = stretch.heat * (1.0 - step as f64 / stretch.steps as f64);
            let loss = (-heat * typical * libm::log(1.0 - self.random.unit())) as i64;
            self.choose(guide, &mut chosen, &mut free);
            tree.improve(guide, &mut self.plan, &free, |_, p| chosen[p], loss, NODES);
            let used = tree.used(NODES);
            if used < FEW_NODES {
                self.jobs = (self.jobs * 1.05).min(JOBS.1);
            } else if used >= NODES {
                self.jobs = (self.jobs * 0.8).max(JOBS.0);
            }
            if self.plan.cost < self.best.cost {
                self.best.clone_from(&self.plan);
            }
        }
    }

    /// Takes the best mixture of the own best plan and another, where it is better than both. The searcher stays on its
    /// own way otherwise: were it to move to the better of the two, all would soon be at one place.
    pub(super) fn relink(&mut self, guide: &Guide<'_>, other: &Plan) {
        let mut mixture = self.best.clone();
        let differ: Vec<usize> =
            (0..other.place.len()).filter(|job| mixture.place[*job] != other.place[*job]).collect();
        Tree::default().improve(guide, &mut mixture, &differ, |job, p| other.place[job] == p, 0, 10 * NODES);
        if mixture.cost < self.best.cost.min(other.cost) {
            self.best.clone_from(&mixture);
            self.plan = mixture;
        }
    }

    /// Draws places, any or by way of jobs that could as well be elsewhere, until they hold enough jobs; and the jobs.
    fn choose(&mut self, guide: &Guide<'_>, chosen: &mut [bool], free: &mut Vec<usize>) {
        let random = &mut self.random;
        let place = &self.plan.place;
        let wanted = (self.jobs * (0.7 + 0.6 * random.unit())) as usize;
        let out = guide.instance.out();
        let movable = |job: &usize| guide.places(*job).len() > 1;
        chosen.fill(false);
        free.clear();
        // Leaving out is always at hand for those that may be.
        chosen[out] = true;
        let related = random.below(2) == 0;
        let first = random.below(out.max(1));
        let mut next = first;
        let mut count = 0;
        for _ in 0..20 * out {
            if !chosen[next] {
                chosen[next] = true;
                count += 1;
                free.extend((0..place.len()).filter(|job| place[*job] == next).filter(movable));
                if count > 1 && free.len() >= wanted {
                    break;
                }
            }
            next = match free.get(random.below(free.len())) {
                Some(job) if related => {
                    let places = guide.places(*job);
                    places[random.below(places.len().min(4))]
                }
                _ => random.below(out),
            };
        }
        free.extend((0..place.len()).filter(|job| place[*job] == out).filter(movable));
        // Rather those whose second way is nearly as good.
        if free.len() > wanted {
            let second = |job: usize| guide.places(job).get(1).map_or(0, |p| guide.regret(job, *p));
            let mut keyed: Vec<(f64, usize)> =
                free.iter().map(|job| ((second(*job) as f64 + 1.0) * random.unit(), *job)).collect();
            keyed.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
            free.clear();
            free.extend(keyed.iter().take(wanted).map(|(_, job)| *job));
        }
    }
}
