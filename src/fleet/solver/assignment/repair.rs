//! A first plan: jobs to places of small regret, then shifts, swaps and ejections with a rising price on overload until
//! everything fits; what still does not fit goes where there is room, or is left out.

use super::Instance;
use super::reoptimise::{Guide, Plan, UNIT};
use crate::fleet::solver::random::Random;

/// How the price of overload rises, in multiples of the capacity price.
const PRICES: [i64; 6] = [2, 4, 8, 16, 64, 256];

/// A plan from scratch; each job's regrets are blurred by up to `blur` of the mean regret of second-best ways. It breaks
/// capacities only where jobs that may not be left out find no room.
pub(super) fn start(guide: &Guide<'_>, random: &mut Random, blur: f64) -> Plan {
    let instance = guide.instance;
    let second = |job: usize| guide.places(job).get(1).map_or(0, |p| guide.regret(job, *p));
    let jobs = instance.jobs();
    let mean = (0..jobs).map(second).sum::<i64>() as f64 / jobs.max(1) as f64;
    let mut order: Vec<(f64, usize)> =
        (0..jobs).map(|job| (-(second(job) as f64) + blur * mean * random.unit(), job)).collect();
    order.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
    let mut plan = Plan { place: vec![0; jobs], loads: vec![0; instance.places()], cost: 0 };
    for (_, job) in order {
        let mut best = (i64::MAX, guide.places(job)[0]);
        for place in guide.places(job) {
            let over = (plan.loads[*place] + instance.takes(job, *place)).saturating_sub(instance.room(*place)).max(0);
            let blurred = guide.regret(job, *place) + (blur * mean * random.unit()) as i64;
            let key = blurred.saturating_add(over.saturating_mul(4 * overload_price(guide, *place)));
            if key < best.0 {
                best = (key, *place);
            }
        }
        plan.place[job] = best.1;
        plan.loads[best.1] += instance.takes(job, best.1);
        plan.cost += instance.cost(job, best.1);
    }
    repair(guide, &mut plan, random);
    give_way(guide, &mut plan);
    take_up(instance, &mut plan);
    plan
}

/// Takes jobs off machines that are still overloaded, the cheapest by room first, each to where it fits at least regret.
fn give_way(guide: &Guide<'_>, plan: &mut Plan) {
    let instance = guide.instance;
    for from in 0..instance.out() {
        if plan.loads[from] <= instance.room(from) {
            continue;
        }
        let regret = |job: usize, place: usize| {
            UNIT * instance.cost(job, place) + guide.price(place) * instance.takes(job, place)
        };
        let there = (0..plan.place.len()).filter(|job| plan.place[*job] == from && instance.takes(*job, from) > 0);
        let by_room = |job: usize| {
            let least = instance.ways(job).filter(|p| *p != from).map(|p| regret(job, p)).min()?;
            Some(((least - regret(job, from)) as f64 / instance.takes(job, from) as f64, job))
        };
        let mut leaving: Vec<(f64, usize)> = there.filter_map(by_room).collect();
        leaving.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
        for (_, job) in leaving {
            if plan.loads[from] <= instance.room(from) {
                break;
            }
            let fits = |to: &usize| {
                let room = instance.room(*to).saturating_sub(plan.loads[*to]);
                *to != from && instance.takes(job, *to) <= room
            };
            if let Some(to) = instance.ways(job).filter(fits).min_by_key(|p| regret(job, *p)) {
                plan.shift(instance, job, to);
            }
        }
    }
}

/// Fills what room is left with jobs that are left out, those that save most by room first: where little room is left its
/// price is too high, and keeps them out.
fn take_up(instance: &Instance, plan: &mut Plan) {
    let out = instance.out();
    let saves = |job: usize, place: usize| instance.cost(job, out) - instance.cost(job, place);
    let by_room = |job: usize| {
        let worth = |p: usize| saves(job, p) as f64 / instance.takes(job, p).max(1) as f64;
        let most = instance.ways(job).filter(|p| *p != out).map(worth).max_by(f64::total_cmp)?;
        (most > 0.0).then_some((most, job))
    };
    let left_out = (0..plan.place.len()).filter(|job| plan.place[*job] == out);
    let mut waiting: Vec<(f64, usize)> = left_out.filter_map(by_room).collect();
    waiting.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
    for (_, job) in waiting {
        let fits = |p: &usize| {
            *p != out && saves(job, *p) > 0 && instance.takes(job, *p) <= instance.room(*p) - plan.loads[*p]
        };
        if let Some(to) = instance.ways(job).filter(fits).max_by_key(|p| saves(job, *p)) {
            plan.shift(instance, job, to);
        }
    }
}

fn overload_price(guide: &Guide<'_>, place: usize) -> i64 {
    guide.price(place).max(UNIT)
}

/// Shifts, swaps and ejections of jobs on overloaded machines until all fits or no price helps.
fn repair(guide: &Guide<'_>, plan: &mut Plan, random: &mut Random) {
    for times in PRICES {
        for _ in 0..8 {
            let over = |place: usize, load: i64| {
                load.saturating_sub(guide.instance.room(place))
                    .max(0)
                    .saturating_mul(times * overload_price(guide, place))
            };
            let mut jobs: Vec<usize> =
                (0..plan.place.len()).filter(|job| over(plan.place[*job], plan.loads[plan.place[*job]]) > 0).collect();
            if jobs.is_empty() {
                return;
            }
            random.shuffle(&mut jobs);
            let mut members = vec![Vec::new(); guide.instance.places()];
            plan.place.iter().enumerate().for_each(|(job, place)| members[*place].push(job));
            let mut moved = false;
            for job in jobs {
                let from = plan.place[job];
                if over(from, plan.loads[from]) > 0 {
                    moved |= relieve(guide, plan, &mut members, job, &over);
                }
            }
            if !moved {
                break;
            }
        }
    }
}

/// The best shift of a job, alone, or with one job ejected to wherever it costs least (back again: a swap). Whether the
/// priced cost fell.
fn relieve(
    guide: &Guide<'_>,
    plan: &mut Plan,
    members: &mut [Vec<usize>],
    job: usize,
    over: &impl Fn(usize, i64) -> i64,
) -> bool {
    let instance = guide.instance;
    let from = plan.place[job];
    let freed = plan.loads[from] - instance.takes(job, from);
    let leave = over(from, freed) - over(from, plan.loads[from]) - guide.regret(job, from);
    let worth = |place: usize, takes: i64| -guide.price(place) * takes;
    let mut best = (0, None);
    for to in guide.places(job) {
        if *to == from {
            continue;
        }
        let takes = instance.takes(job, *to);
        let arrive = leave + guide.regret(job, *to) + worth(*to, takes) - worth(from, instance.takes(job, from));
        let load = plan.loads[*to] + takes;
        let now = over(*to, plan.loads[*to]);
        let alone = arrive + over(*to, load) - now;
        if alone < best.0 {
            best = (alone, Some((*to, None)));
        }
        if *to == instance.out() {
            continue;
        }
        for other in members[*to].iter().copied() {
            let gives = instance.takes(other, *to);
            let without = arrive + over(*to, load - gives) - now - guide.regret(other, *to) - worth(*to, gives);
            for end in guide.places(other) {
                if end == to {
                    continue;
                }
                let gets = instance.takes(other, *end);
                let before = if *end == from { freed } else { plan.loads[*end] };
                let total = without + guide.regret(other, *end) + worth(*end, gets) + over(*end, before + gets)
                    - over(*end, before);
                if total < best.0 {
                    best = (total, Some((*to, Some((other, *end)))));
                }
            }
        }
    }
    let Some((to, ejected)) = best.1 else { return false };
    for (moved, place) in [Some((job, to)), ejected].into_iter().flatten() {
        members[plan.place[moved]].retain(|k| *k != moved);
        members[place].push(moved);
        plan.shift(instance, moved, place);
    }
    true
}
