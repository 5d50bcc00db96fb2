//! What a purchase changes: which jobs become possible, what is brought home, which hours move, which jobs pay for it.

use super::base::Best;
use super::choices::{Floor, Item};
use crate::costing::Amount;
use crate::fleet::mix::plan::JobPlan;
use crate::fleet::mix::{Fate, MixPlan};
use std::collections::BTreeMap;

/// What changes from the best without buying to the best with a purchase.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Change {
    /// Jobs that nothing could make before, and that are made now.
    pub newly_possible: Vec<usize>,
    /// Pieces that were bought, and what they cost, that are made here now.
    pub brought_home: Vec<(usize, u64, Amount)>,
    /// Hours on what is bought, and the share of its hours that they are, 0 to 1; nothing for an attachment.
    pub used: Option<(f64, f64)>,
    /// Of them hours of jobs that other machines made before.
    pub moved: f64,
    /// Hours that machines have less to do, by machine: worth something only where the plan fills them again.
    pub freed: BTreeMap<usize, f64>,
    /// Hours of every machine before, and now; none of its own where it is not there.
    pub loads: BTreeMap<usize, [Load; 2]>,
    /// Hours at the setting of the jobs that are made both ways: before, and now.
    pub setting: (f64, f64),
    /// More left over by job, over the horizon, most first; jobs without a change are left out.
    pub by_job: Vec<(usize, Amount)>,
    /// The share of what comes in that one machine alone can make: before, and now.
    pub on_one: (f64, f64),
}

/// What takes the hours of the machines of a kind.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Load {
    pub has: f64,
    pub promised: f64,
    pub cutting: f64,
    pub setting: f64,
}

const HOUR: f64 = crate::fleet::mix::plan::HOUR as f64;

/// Compares two plans.
pub fn change(set: &[Item], before: (&Floor, &Best), now: (&Floor, &Best)) -> Change {
    let (old, new) = (by_number(before.1), by_number(now.1));
    let bought: Vec<usize> = set.iter().filter(|i| i.is_machine()).map(|i| i.machine()).collect();
    let on_bought = |best: &Best, plan: Option<&&JobPlan>| -> f64 {
        seconds(&best.plan, plan, |machine| bought.contains(&machine))
    };
    let mut change = Change::default();
    for job in 0..before.0.routed.len() {
        let (was, is) = (old.get(&job), new.get(&job));
        let made_now = is.is_some_and(|p| !p.made.is_empty());
        if before.0.routed[job].routes.is_empty() && made_now {
            change.newly_possible.push(job);
        }
        let (bought_before, bought_now) = (bought_out(was), bought_out(is));
        if bought_before.0 > bought_now.0 {
            let saved = bought_before.1 - bought_now.1;
            change.brought_home.push((job, bought_before.0 - bought_now.0, saved));
        }
        let others = |best: &Best, plan| seconds(&best.plan, plan, |machine| !bought.contains(&machine));
        let left = (others(before.1, was) - others(now.1, is)).max(0.0);
        let came = (on_bought(now.1, is) - on_bought(before.1, was)).max(0.0);
        change.moved += came.min(left) / HOUR;
        if let (Some(was), Some(is)) = (was, is)
            && !was.made.is_empty()
            && made_now
        {
            change.setting.0 += was.takes().setting as f64 / HOUR;
            change.setting.1 += is.takes().setting as f64 / HOUR;
        }
        let left_over = |p: Option<&&JobPlan>| p.map_or(Amount::ZERO, |p| p.revenue - p.cash());
        let more = left_over(is) - left_over(was);
        if more != Amount::ZERO {
            change.by_job.push((job, more));
        }
    }
    change.by_job.sort_by_key(|(job, more)| (std::cmp::Reverse(*more), *job));
    if let Some(machine) = bought.first() {
        let there = || now.1.plan.hours.units.iter().enumerate().filter(|(_, u)| u.machine == *machine);
        let has: i64 = there().map(|(_, u)| u.available).sum();
        let takes: i64 = there().map(|(i, u)| taken(&now.1.plan, i) + u.promised).sum();
        change.used = Some((takes as f64 / HOUR, takes as f64 / (has as f64).max(1.0)));
    }
    for (side, best) in [before.1, now.1].into_iter().enumerate() {
        for (machine, load) in loads(&best.plan) {
            change.loads.entry(machine).or_default()[side] = load;
        }
    }
    let less = |l: &[Load; 2]| l[0].cutting + l[0].setting - l[1].cutting - l[1].setting;
    // A machine that goes is not freed.
    let stays = change.loads.iter().filter(|(m, l)| l[1].has > 0.0 && !bought.contains(m));
    change.freed = stays.map(|(m, l)| (*m, less(l))).filter(|(_, h)| *h >= 0.5).collect();
    change.on_one = (on_one(before.0, before.1), on_one(now.0, now.1));
    change
}

fn loads(plan: &MixPlan) -> BTreeMap<usize, Load> {
    let mut loads: BTreeMap<usize, Load> = BTreeMap::new();
    for unit in &plan.hours.units {
        let load = loads.entry(unit.machine).or_default();
        load.has += unit.available as f64 / HOUR;
        load.promised += unit.promised as f64 / HOUR;
    }
    for made in plan.jobs.iter().flat_map(|j| &j.made) {
        let load = loads.entry(plan.hours.units[made.unit].machine).or_default();
        load.setting += made.takes.setting as f64 / HOUR;
        load.cutting += (made.takes.seconds - made.takes.setting) as f64 / HOUR;
    }
    loads
}

/// The plan of each job by its number.
fn by_number(best: &Best) -> BTreeMap<usize, &JobPlan> {
    best.seen.iter().map(|s| s.job).zip(&best.plan.jobs).collect()
}

fn seconds(plan: &MixPlan, job: Option<&&JobPlan>, on: impl Fn(usize) -> bool) -> f64 {
    let made = job.into_iter().flat_map(|p| &p.made).filter(|m| on(plan.hours.units[m.unit].machine));
    made.map(|m| m.takes.seconds as f64).sum()
}

fn taken(plan: &MixPlan, unit: usize) -> i64 {
    plan.jobs.iter().flat_map(|j| &j.made).filter(|m| m.unit == unit).map(|m| m.takes.seconds).sum()
}

fn bought_out(plan: Option<&&JobPlan>) -> (u64, Amount) {
    let out = plan.and_then(|p| p.out.as_ref()).filter(|o| o.fate == Fate::BoughtOut);
    out.map_or((0, Amount::ZERO), |o| (o.pieces, o.cost))
}

/// The share of what comes in that one machine alone can make.
pub fn on_one(floor: &Floor, best: &Best) -> f64 {
    let all: i64 = best.plan.jobs.iter().map(|j| j.revenue.to_minor()).sum();
    let alone = best.seen.iter().zip(&best.plan.jobs).filter(|(s, j)| !j.made.is_empty() && floor.able(s.job) == 1);
    let alone: i64 = alone.map(|(_, j)| j.revenue.to_minor()).sum();
    if all > 0 { alone as f64 / all as f64 } else { 0.0 }
}
