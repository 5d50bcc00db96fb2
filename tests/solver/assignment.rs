//! Assignments against brute force and published optima.

use crate::instances;
use crate::options;
use std::sync::atomic::AtomicBool;
use std::time::Duration;
use turnwright::fleet::solver::assignment::check::{Wrong, recompute};
use turnwright::fleet::solver::assignment::{Answer, Fault, Instance, Unsolved, Way, solve};
use turnwright::fleet::solver::{Options, Random, Stopped, Watch};

/// Jobs on machines, some pairs forbidden, some jobs that may be left out, capacities from loose to too tight.
pub(crate) fn random_instance(random: &mut Random, jobs: usize, machines: usize) -> Option<Instance> {
    let tightness = 0.5 + random.unit();
    let capacities = (0..machines).map(|_| (tightness * 12.0 * jobs as f64 / machines as f64) as i64).collect();
    let mut instance = Instance::new(capacities).unwrap();
    for _ in 0..jobs {
        let able: Vec<usize> = (0..machines).filter(|_| random.below(4) > 0).collect();
        let ways: Vec<Way> = able
            .into_iter()
            .map(|machine| Way { machine, cost: random.below(60) as i64 - 20, takes: random.below(25) as i64 })
            .collect();
        let left_out = (random.below(3) == 0).then(|| random.below(90) as i64);
        instance.add_job(&ways, left_out).ok()?;
    }
    Some(instance)
}

/// Least cost over all ways to place all jobs.
pub(crate) fn brute_force(instance: &Instance) -> Option<i64> {
    fn place(instance: &Instance, job: usize, left: &mut [i64]) -> Option<i64> {
        if job == instance.jobs() {
            return Some(0);
        }
        let mut best = instance.left_out(job).and_then(|cost| Some(cost + place(instance, job + 1, left)?));
        for machine in 0..instance.machines() {
            let Some(way) = instance.way(job, machine).filter(|way| way.takes <= left[machine]) else { continue };
            left[machine] -= way.takes;
            let cost = place(instance, job + 1, left).map(|rest| rest + way.cost);
            left[machine] += way.takes;
            best = [best, cost].into_iter().flatten().min();
        }
        best
    }
    place(instance, 0, &mut instance.capacities().to_vec())
}

fn checked(instance: &Instance, answer: &Answer) {
    let recomputed = recompute(instance, &answer.plan).unwrap();
    assert_eq!((recomputed.cost, &recomputed.loads), (answer.cost, &answer.loads));
    assert!(answer.bound <= answer.cost);
}

#[test]
fn small_instances_equal_brute_force() {
    let mut random = Random::new(7, 0);
    let (mut solved, mut infeasible) = (0, 0);
    for case in 0..400 {
        let (jobs, machines) = (1 + random.below(if case % 20 == 0 { 8 } else { 6 }), 1 + random.below(4));
        let Some(instance) = random_instance(&mut random, jobs, machines) else { continue };
        match (brute_force(&instance), solve(&instance, &options(20_000, case, 2))) {
            (Some(best), Ok(answer)) => {
                checked(&instance, &answer);
                assert_eq!((answer.cost, answer.bound, answer.stopped), (best, best, Stopped::Proved), "case {case}");
                solved += 1;
            }
            (None, Err(Unsolved::Infeasible)) => infeasible += 1,
            (best, answer) => panic!("case {case}: {best:?} by brute force, {answer:?}"),
        }
    }
    assert!(solved > 150 && infeasible > 10, "{solved} solved, {infeasible} infeasible");
}

/// Optima of all instances beside the tests; the folder says where they are from.
fn published() -> Vec<(String, Instance, i64)> {
    let table = std::fs::read_to_string("tests/solver/gap/best_known.csv").unwrap();
    let read = |line: &str| {
        let (name, optimum) = (line.split(',').next().unwrap(), line.rsplit(',').next().unwrap());
        let text = std::fs::read_to_string(format!("tests/solver/gap/{name}")).unwrap();
        (name.to_owned(), instances::assignment(&text).unwrap(), optimum.trim().parse().unwrap())
    };
    table.lines().skip(1).map(read).collect()
}

#[test]
fn published_optima_are_found_and_proved() {
    let published = published();
    assert_eq!(published.len(), 67);
    for (name, instance, optimum) in published {
        let answer = solve(&instance, &options(100_000, 1, 2)).unwrap();
        checked(&instance, &answer);
        assert_eq!((answer.cost, answer.bound, answer.stopped), (optimum, optimum, Stopped::Proved), "{name}");
    }
}

#[test]
fn threads_do_not_change_the_answer() {
    let (_, instance, _) = published().into_iter().find(|(name, ..)| name.ends_with("d05100")).unwrap();
    let on = |threads| {
        let answer = solve(&instance, &options(400, 5, threads)).unwrap();
        (answer.plan, answer.cost, answer.bound, answer.steps, answer.stopped)
    };
    let one = on(1);
    assert_eq!(one, on(2));
    assert_eq!(one, on(5));
}

#[test]
fn a_cut_search_says_so_and_gives_a_plan() {
    let (_, instance, optimum) = published().into_iter().find(|(name, ..)| name.ends_with("d05100")).unwrap();
    let flag = AtomicBool::new(true);
    let watch = Watch { interrupted: Some(&flag), ..Watch::default() };
    let answer = solve(&instance, &Options { watch, ..options(100_000, 1, 1) }).unwrap();
    assert_eq!(answer.stopped, Stopped::Interrupted);
    checked(&instance, &answer);
    assert!(answer.bound <= optimum && optimum <= answer.cost);
    let clock = || Duration::from_secs(9);
    let watch = Watch { elapsed: Some(&clock), limit: Some(Duration::from_secs(5)), ..Watch::default() };
    let answer = solve(&instance, &Options { watch, ..options(100_000, 1, 1) }).unwrap();
    assert_eq!(answer.stopped, Stopped::Time(Duration::from_secs(9)));
}

#[test]
fn a_wide_gap_stops_early() {
    let (_, instance, _) = published().into_iter().find(|(name, ..)| name.ends_with("d05100")).unwrap();
    let answer = solve(&instance, &Options { gap: 0.05, ..options(100_000, 1, 1) }).unwrap();
    assert_eq!(answer.stopped, Stopped::Gap);
    assert!((answer.cost - answer.bound) as f64 <= 0.05 * answer.cost as f64);
}

#[test]
fn large_capacities_keep_the_bound_below() {
    // Minutes of a year, beyond any table: uses are laid on a grid, and the bound must stay one.
    let mut random = Random::new(3, 0);
    for case in 0..20 {
        let machines = 2 + random.below(2);
        let mut instance = Instance::new(vec![200_000; machines]).unwrap();
        for _ in 0..7 {
            let mut way = |machine| Way {
                machine,
                cost: 100 + random.below(900) as i64,
                takes: 20_000 + random.below(90_000) as i64,
            };
            let ways: Vec<Way> = (0..machines).map(&mut way).collect();
            instance.add_job(&ways, Some(2_000)).unwrap();
        }
        let best = brute_force(&instance).unwrap();
        let answer = solve(&instance, &options(4_000, case, 2)).unwrap();
        checked(&instance, &answer);
        assert!(answer.bound <= best, "case {case}: bound {} above {best}", answer.bound);
        assert_eq!(answer.cost, best, "case {case}");
    }
}

#[test]
fn questions_that_cannot_be_asked_are_refused() {
    assert_eq!(Instance::new(vec![5, -1]).unwrap_err(), Fault::Capacity { machine: 1 });
    let mut instance = Instance::new(vec![5]).unwrap();
    let way = Way { machine: 0, cost: 1, takes: 6 };
    assert_eq!(instance.add_job(&[way], None), Err(Fault::NoWay { job: 0 }));
    assert_eq!(instance.add_job(&[Way { machine: 1, ..way }], None), Err(Fault::Machine { job: 0 }));
    assert_eq!(instance.add_job(&[Way { takes: -2, ..way }], None), Err(Fault::Takes { job: 0, machine: 0 }));
    let small = Way { takes: 1, ..way };
    assert_eq!(instance.add_job(&[small, small], None), Err(Fault::Twice { job: 0, machine: 0 }));
    assert_eq!(instance.add_job(&[Way { cost: i64::MIN, ..small }], None), Err(Fault::Cost { job: 0 }));
    assert_eq!(instance.add_job(&[small], None), Ok(0));
}

#[test]
fn nothing_to_do_costs_nothing() {
    let answer = solve(&Instance::new(vec![3]).unwrap(), &options(10, 1, 1)).unwrap();
    assert_eq!((answer.cost, answer.bound, answer.loads), (0, 0, vec![0]));
    let mut without_machines = Instance::new(Vec::new()).unwrap();
    without_machines.add_job(&[], Some(4)).unwrap();
    let answer = solve(&without_machines, &options(10, 1, 1)).unwrap();
    assert_eq!((answer.cost, answer.bound, answer.plan), (4, 4, vec![None]));
}

#[test]
fn the_check_refuses_what_breaks_a_rule() {
    let mut instance = Instance::new(vec![5, 5]).unwrap();
    instance.add_job(&[Way { machine: 0, cost: 1, takes: 3 }], Some(9)).unwrap();
    instance.add_job(&[Way { machine: 0, cost: 2, takes: 3 }, Way { machine: 1, cost: 7, takes: 1 }], None).unwrap();
    assert_eq!(recompute(&instance, &[Some(0)]), Err(Wrong::Length));
    assert_eq!(recompute(&instance, &[Some(1), Some(1)]), Err(Wrong::Forbidden { job: 0 }));
    assert_eq!(recompute(&instance, &[Some(0), None]), Err(Wrong::Forbidden { job: 1 }));
    assert_eq!(recompute(&instance, &[Some(0), Some(0)]), Err(Wrong::Overload { machine: 0 }));
    assert_eq!(recompute(&instance, &[None, Some(0)]).unwrap().cost, 11);
}

/// Jobs that may be left out never end without a plan, however little of the search the clock leaves. Three jobs that half
/// fill two machines cost the linear relaxation nothing, so that no price drives one of them out.
#[test]
fn where_all_may_be_left_out_there_is_a_plan_when_the_clock_is_over() {
    let over = || Duration::from_secs(9);
    let watch = Watch { elapsed: Some(&over), limit: Some(Duration::ZERO), ..Watch::default() };
    let mut tight = Instance::new(vec![15, 15]).unwrap();
    for _ in 0..3 {
        let on = |machine| Way { machine, cost: 0, takes: 10 };
        tight.add_job(&[on(0), on(1)], Some(10_000_000)).unwrap();
    }
    let answer = solve(&tight, &Options { watch, ..options(1_000, 1, 2) }).unwrap();
    checked(&tight, &answer);
    assert_eq!(answer.cost, 10_000_000);
    let mut random = Random::new(11, 0);
    for case in 0..40 {
        let (jobs, machines) = (30 + random.below(300), 2 + random.below(12));
        // From hours for all to hours for hardly any.
        let room = 25 * jobs / machines * (1 + random.below(10)) / 10;
        let mut instance = Instance::new((0..machines).map(|_| random.below(2 * room) as i64).collect()).unwrap();
        for _ in 0..jobs {
            let way = |machine, random: &mut Random| Way {
                machine,
                cost: random.below(1_000) as i64,
                takes: 1 + random.below(49) as i64,
            };
            let ways: Vec<Way> = (0..machines).map(|machine| way(machine, &mut random)).collect();
            instance.add_job(&ways, Some(1_000_000 + random.below(1_000_000) as i64)).unwrap();
        }
        let answer = solve(&instance, &Options { watch, ..options(1_000, case, 2) });
        checked(&instance, &answer.unwrap_or_else(|e| panic!("case {case}: {e}")));
    }
}

/// Machines alike have one price for their hours, and the bound is nearly that of one machine as large as all, which loads
/// what is worth most for its hours.
#[test]
fn many_machines_alike_are_priced_together() {
    let mut random = Random::new(3, 0);
    let mut jobs: Vec<(i64, i64)> =
        (0..600).map(|_| (50 + random.below(150) as i64, 1_000 + 10 * random.below(1_000) as i64)).collect();
    let room = jobs.iter().map(|j| j.0).sum::<i64>() * 6 / 10 / 40;
    let mut instance = Instance::new(vec![room; 40]).unwrap();
    for (takes, saved) in &jobs {
        let ways: Vec<Way> = (0..40).map(|machine| Way { machine, cost: 1_000, takes: *takes }).collect();
        instance.add_job(&ways, Some(1_000 + saved)).unwrap();
    }
    jobs.sort_by(|a, b| (b.1 * a.0).cmp(&(a.1 * b.0)));
    let (mut least, mut left) = (0.0, (40 * room) as f64);
    for (takes, saved) in jobs {
        let share = (left / takes as f64).min(1.0);
        left -= share * takes as f64;
        least += 1_000.0 + (1.0 - share) * saved as f64;
    }
    let answer = solve(&instance, &options(1, 1, 2)).unwrap();
    checked(&instance, &answer);
    assert!(answer.bound as f64 > 0.97 * least, "{} {least}", answer.bound);
}
