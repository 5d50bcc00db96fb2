//! What an extra machine or more room is said to save at most, against brute force with and without it.

use crate::assignment::{brute_force, random_instance};
use crate::options;
use turnwright::fleet::solver::Random;
use turnwright::fleet::solver::assignment::worth::{Candidate, Screen};
use turnwright::fleet::solver::assignment::{Instance, Way, solve};

/// The instance with one machine more, or with other capacities.
fn with(instance: &Instance, capacities: Vec<i64>, extra: &[(usize, i64, i64)]) -> Instance {
    let new = capacities.len() - 1;
    let mut changed = Instance::new(capacities).unwrap();
    for job in 0..instance.jobs() {
        let mut ways: Vec<Way> = (0..instance.machines()).filter_map(|m| instance.way(job, m)).collect();
        let extra = extra.iter().filter(|(of, ..)| *of == job);
        ways.extend(extra.map(|(_, cost, takes)| Way { machine: new, cost: *cost, takes: *takes }));
        changed.add_job(&ways, instance.left_out(job)).unwrap();
    }
    changed
}

#[test]
fn ceilings_hold_and_are_not_idle() {
    let mut random = Random::new(11, 0);
    let (mut cases, mut tight, mut useless) = (0, 0, 0);
    for case in 0..200 {
        let (jobs, machines) = (3 + random.below(4), 1 + random.below(3));
        let Some(instance) = random_instance(&mut random, jobs, machines) else { continue };
        let Ok(answer) = solve(&instance, &options(10_000, case, 1)) else { continue };
        let screen = Screen::new(&instance, &answer);
        let extra: Vec<(usize, i64, i64)> =
            (0..jobs).map(|job| (job, random.below(60) as i64 - 20, random.below(25) as i64)).collect();
        let mut capacities = instance.capacities().to_vec();
        capacities.push(30);
        let saved = answer.cost - brute_force(&with(&instance, capacities, &extra)).unwrap();
        let at_most = screen.extra_machine(&Candidate { capacity: 30, ways: extra });
        assert!(at_most >= saved, "case {case}: saves {saved}, said to save no more than {at_most}");
        cases += 1;
        tight += usize::from(at_most <= saved + saved / 4 + 2);
        let machine = random.below(machines);
        let mut capacities = instance.capacities().to_vec();
        capacities[machine] += 6;
        let saved = answer.cost - brute_force(&with(&instance, capacities, &[])).unwrap();
        let worth = screen.more_room(machine, 6);
        assert!(worth.at_most >= saved, "case {case}: room saves {saved}, said {}", worth.at_most);
        useless += usize::from(screen.more_room(machine, 0).at_most == 0);
    }
    // A ceiling that is always far above would screen nothing.
    assert!(cases > 80 && tight * 2 > cases && useless * 2 > cases, "{tight} tight, {useless} useless of {cases}");
}
