//! What setting up each job of a machine takes after each other one: the job as it runs there, in its mode and with its end
//! first, planned on the machine as the job before leaves it. Tools go where they stand already.

use super::routes::Routed;
use crate::model::machine::{Machine, ModeKind};
use crate::model::part::{End, Part};
use crate::model::shop::{Shop, ShopMachine, State};
use crate::planning::setup::{self, Job};
use crate::planning::{PartView, Plan, Task, plan};
use crate::tables::thresholds::Thresholds;
use rayon::prelude::*;

/// A job as it runs on a machine once it ran before.
pub struct Running {
    part: Part,
    mode: ModeKind,
    end: End,
    /// Seconds where it is set up anew.
    anew: i64,
}

impl Running {
    /// A job by one of its routes.
    pub fn of(part: &Part, routed: &Routed, route: usize) -> Running {
        let route = &routed.routes[route];
        Running {
            part: Part { repeat: true, orders: vec![routed.lots.size(0)], ..part.clone() },
            mode: route.mode,
            end: route.end,
            anew: route.later[0].setting,
        }
    }
}

/// Seconds at the setting on one machine.
pub struct Changes {
    /// From each job to each job.
    pub between: Vec<Vec<i64>>,
    /// To each job from what stands there now.
    pub first: Vec<i64>,
}

/// The changes between some jobs on a machine that now stands so.
pub fn changes(jobs: &[Running], machine: &Machine, shop: &Shop, now: &State) -> Changes {
    let thresholds = Thresholds::with(&shop.thresholds);
    let shop =
        Shop { machines: shop.machines.clone().into_iter().filter(|m| m.0 == machine.name).collect(), ..shop.clone() };
    let bench = Bench { machine, shop: &shop, thresholds: &thresholds };
    let jobs: Vec<(&Running, PartView)> = jobs.iter().map(|j| (j, PartView::new(&j.part))).collect();
    // Lots of one part in other sizes mostly leave the same behind.
    let mut states: Vec<State> = Vec::new();
    let left: Vec<State> = jobs.par_iter().map(|job| bench.left(job)).collect();
    let left: Vec<usize> = left
        .into_iter()
        .map(|state| match states.iter().position(|known| *known == state) {
            Some(known) => known,
            None => {
                states.push(state);
                states.len() - 1
            }
        })
        .collect();
    states.push(now.clone());
    let mut rows: Vec<Vec<i64>> = states.par_iter().map(|state| bench.all_from(&jobs, state)).collect();
    let first = rows.pop().unwrap_or_default();
    Changes { between: left.iter().map(|state| rows[*state].clone()).collect(), first }
}

struct Bench<'a> {
    machine: &'a Machine,
    /// With this machine alone.
    shop: &'a Shop,
    thresholds: &'a Thresholds,
}

impl Bench<'_> {
    /// The shop whose one machine of the kind stands so.
    fn standing(&self, state: &State) -> Shop {
        let mut shop = self.shop.clone();
        let own = shop.machines.entry(self.machine.name.clone()).or_insert_with(ShopMachine::unknown);
        own.now = vec![state.clone()];
        shop
    }

    /// A job as it is planned in such a shop, with what then is asked of it.
    fn planned<T>(
        &self,
        (job, view): &(&Running, PartView),
        shop: &Shop,
        then: impl FnOnce(&Task, Plan) -> T,
    ) -> Option<T> {
        let mode = self.machine.mode(job.mode)?;
        let task = Task::new(view, self.machine, mode, shop, self.thresholds, job.end);
        let task = Task { lot: job.part.orders[0], ..task };
        Some(then(&task, plan(&task).ok()?))
    }

    /// What a job leaves on a machine of which nothing is known.
    fn left(&self, job: &(&Running, PartView)) -> State {
        let unknown = State::default();
        let shop = self.standing(&unknown);
        let left = |task: &Task, plan: Plan| setup::left_behind(task, &Job::of(&plan), &unknown).state;
        self.planned(job, &shop, left).unwrap_or_default()
    }

    fn all_from(&self, jobs: &[(&Running, PartView)], state: &State) -> Vec<i64> {
        let shop = self.standing(state);
        // A change that cannot be reckoned is taken as setting up anew.
        let to = |job: &(&Running, PartView)| {
            self.planned(job, &shop, |_, plan| plan.setup.total.to_s().ceil() as i64).unwrap_or(job.0.anew)
        };
        jobs.iter().map(to).collect()
    }
}
