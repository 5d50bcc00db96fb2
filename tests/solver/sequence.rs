//! Orders against brute force and the instances of the published rule.

use crate::instances::made_by_rule;
use crate::options;
use std::sync::atomic::AtomicBool;
use turnwright::fleet::solver::sequence::check::{Wrong, recompute};
use turnwright::fleet::solver::sequence::{Answer, Fault, Instance, Lot, Objective, solve};
use turnwright::fleet::solver::{Options, Random, Stopped, Watch};

const OBJECTIVES: [Objective; 3] = [Objective::Makespan, Objective::Setup, Objective::Tardiness];

/// Lots with forbidden machines, releases and due dates; setups drawn one by one, so that going round by a third lot can be
/// shorter.
fn random_instance(random: &mut Random, lots: usize, machines: usize, objective: Objective) -> Instance {
    let free: Vec<i64> = (0..machines).map(|_| random.below(15) as i64).collect();
    let of = |_| {
        let mut times: Vec<(usize, i64)> = (0..machines).map(|m| (m, random.below(30) as i64)).collect();
        random.shuffle(&mut times);
        times.truncate(1 + random.below(machines));
        Lot {
            times,
            release: if random.below(3) == 0 { random.below(60) as i64 } else { 0 },
            due: (random.below(4) > 0).then(|| random.below(90) as i64),
            weight: random.below(5) as i64,
        }
    };
    let lots: Vec<Lot> = (0..lots).map(of).collect();
    let seed = random.bits();
    let setup = |m: usize, before: Option<usize>, lot: usize| {
        Random::new(seed, (m * 1_000 + before.map_or(999, |b| b)) as u64 * 1_000 + lot as u64).below(25) as i64
    };
    Instance::new(lots, &free, objective, setup).unwrap()
}

/// Least value over all ways to share out and order the lots.
fn brute_force(instance: &Instance) -> i64 {
    fn go(instance: &Instance, order: &mut Vec<Vec<usize>>, machine: usize, left: usize, best: &mut i64) {
        if left == 0 {
            *best = (*best).min(recompute(instance, order).unwrap().value(instance.objective()));
            return;
        }
        if machine + 1 < instance.machines() {
            go(instance, order, machine + 1, left, best);
        }
        for lot in 0..instance.lots().len() {
            let able = instance.lots()[lot].times.iter().any(|(m, _)| *m == machine);
            if able && !order.iter().flatten().any(|l| *l == lot) {
                order[machine].push(lot);
                go(instance, order, machine, left - 1, best);
                order[machine].pop();
            }
        }
    }
    let mut best = i64::MAX;
    go(instance, &mut vec![Vec::new(); instance.machines()], 0, instance.lots().len(), &mut best);
    best
}

fn checked(instance: &Instance, answer: &Answer) {
    let recomputed = recompute(instance, &answer.order).unwrap();
    assert_eq!(recomputed, answer.figures);
    assert_eq!(recomputed.value(instance.objective()), answer.value);
    assert!(answer.bound <= answer.value);
}

#[test]
fn small_instances_equal_brute_force() {
    let mut random = Random::new(2, 0);
    for case in 0..240 {
        let objective = OBJECTIVES[case % 3];
        let (lots, machines) = if case == 0 { (8, 4) } else { (1 + random.below(6), 1 + random.below(4)) };
        let instance = random_instance(&mut random, lots, machines, objective);
        let answer = solve(&instance, &options(1_000, 1, 1)).unwrap();
        checked(&instance, &answer);
        assert_eq!((answer.value, answer.stopped), (brute_force(&instance), Stopped::Proved), "case {case}");
    }
}

/// Instances by the published rule: lots, machines, longest setup, seed, and the value. Up to 12 lots it is the optimum, by
/// dynamic programming; beyond, the best of two runs of the own solver of 1.5 x 10^8 steps, to be beaten.
const REFERENCE: [(usize, usize, usize, u64, i64); 8] = [
    (6, 2, 9, 1, 123),
    (8, 3, 49, 2, 113),
    (10, 4, 99, 3, 120),
    (12, 2, 124, 4, 226),
    (12, 5, 49, 5, 83),
    (50, 10, 9, 6, 73),
    (50, 10, 124, 7, 102),
    (100, 20, 49, 8, 55),
];

#[test]
fn instances_of_the_published_rule_come_near_the_reference() {
    for (lots, machines, longest, seed, reference) in REFERENCE {
        let instance = made_by_rule(lots, machines, longest, seed);
        let answer = solve(&instance, &options(400_000, 1, 2)).unwrap();
        checked(&instance, &answer);
        if lots <= 12 {
            assert_eq!(answer.value, reference, "{lots} lots, {machines} machines");
        } else {
            let most = reference + reference * 15 / 100;
            assert!(answer.value <= most, "{lots} lots, {machines} machines: {} > {most}", answer.value);
            assert!(answer.bound <= reference);
        }
    }
}

#[test]
fn threads_do_not_change_the_answer() {
    let mut random = Random::new(4, 0);
    for objective in OBJECTIVES {
        let instance = random_instance(&mut random, 30, 4, objective);
        let on = |threads| {
            let answer = solve(&instance, &options(60_000, 9, threads)).unwrap();
            (answer.order, answer.value, answer.bound, answer.steps, answer.stopped)
        };
        let one = on(1);
        assert_eq!(one, on(2));
        assert_eq!(one, on(4));
    }
}

#[test]
fn bounds_lie_below_and_checks_agree_on_larger_instances() {
    let mut random = Random::new(6, 0);
    for case in 0..30 {
        let (lots, machines) = (13 + random.below(20), 1 + random.below(5));
        let instance = random_instance(&mut random, lots, machines, OBJECTIVES[case % 3]);
        checked(&instance, &solve(&instance, &options(20_000, 1, 2)).unwrap());
    }
}

#[test]
fn an_interrupted_search_says_so_and_gives_an_order() {
    let flag = AtomicBool::new(true);
    let watch = Watch { interrupted: Some(&flag), ..Watch::default() };
    for objective in OBJECTIVES {
        let instance = random_instance(&mut Random::new(5, 0), 40, 3, objective);
        let answer = solve(&instance, &Options { watch, ..options(1_000_000, 1, 2) }).unwrap();
        checked(&instance, &answer);
        assert_eq!(answer.stopped, Stopped::Interrupted);
    }
}

#[test]
fn questions_that_cannot_be_asked_are_refused() {
    let lot = |times: &[(usize, i64)]| Lot { times: times.to_vec(), ..Lot::default() };
    let ask = |lots: Vec<Lot>, setup: i64| {
        Instance::new(lots, &[0, 0], Objective::Makespan, |_, _, _| setup).map(|_| ()).unwrap_err()
    };
    assert_eq!(ask(vec![lot(&[])], 0), Fault::NoMachine { lot: 0 });
    assert_eq!(ask(vec![lot(&[(2, 1)])], 0), Fault::Machine { lot: 0 });
    assert_eq!(ask(vec![lot(&[(0, 1), (0, 2)])], 0), Fault::Machine { lot: 0 });
    assert_eq!(ask(vec![lot(&[(0, -1)])], 0), Fault::Time { lot: 0 });
    assert_eq!(ask(vec![lot(&[(0, 1)])], -3), Fault::Setup { machine: 0, lot: 0 });
    let late = Instance::new(Vec::new(), &[-1], Objective::Setup, |_, _, _| 0);
    assert_eq!(late.map(|_| ()).unwrap_err(), Fault::Free { machine: 0 });
}

#[test]
fn the_check_refuses_what_breaks_a_rule() {
    let lots = vec![
        Lot { times: vec![(0, 5)], ..Lot::default() },
        Lot { times: vec![(0, 4), (1, 2)], release: 20, due: Some(21), weight: 3 },
    ];
    let setup = |_: usize, before: Option<usize>, _: usize| before.map_or(1, |_| 7);
    let instance = Instance::new(lots, &[0, 0], Objective::Tardiness, setup).unwrap();
    assert_eq!(recompute(&instance, &[vec![0, 1]]), Err(Wrong::Machines));
    assert_eq!(recompute(&instance, &[vec![0], vec![]]), Err(Wrong::Lot { lot: 1 }));
    assert_eq!(recompute(&instance, &[vec![0, 1], vec![1]]), Err(Wrong::Lot { lot: 1 }));
    assert_eq!(recompute(&instance, &[vec![1], vec![0]]), Err(Wrong::Forbidden { lot: 0 }));
    // Setup 1, run to 6; setup to 13, wait for the release at 20, run to 24: three late by three.
    let figures = recompute(&instance, &[vec![0, 1], vec![]]).unwrap();
    assert_eq!((figures.makespan, figures.setup, figures.tardiness), (24, 8, 9));
}
