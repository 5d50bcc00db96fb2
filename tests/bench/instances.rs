//! Reads public research instances as they are, and makes sequencing instances by the published rule.
//!
//! Assignment: the format of the OR-Library (agents and jobs, costs, uses, capacities). Sequencing: unrelated machines of
//! Vallada and Ruiz 2011 (times in pairs, `SSD`, a matrix for each machine), and one machine with weighted tardiness of
//! Cicirello 2003 (labelled sections).

use turnwright::fleet::solver::Random;
use turnwright::fleet::solver::assignment::{Instance as Assignment, Way};
use turnwright::fleet::solver::sequence::{Instance as Sequence, Lot, Objective};

/// An instance of either kind.
#[allow(dead_code, reason = "the tests read assignments alone")]
pub(crate) enum Read {
    Assignment(Assignment),
    Sequence(Sequence),
}

/// The instance in a file, where it is one.
#[allow(dead_code, reason = "the tests read assignments alone")]
pub(crate) fn read(text: &str) -> Option<Read> {
    if text.contains("Begin Generator Parameters") {
        return weighted_tardiness(text).map(Read::Sequence);
    }
    if text.lines().any(|line| line.trim() == "SSD") {
        return unrelated_machines(text).map(Read::Sequence);
    }
    assignment(text).map(Read::Assignment)
}

fn numbers(text: &str) -> Option<Vec<i64>> {
    text.split_whitespace().map(|word| word.parse().ok()).collect()
}

/// Generalised assignment: every job on one machine, at least cost.
pub(crate) fn assignment(text: &str) -> Option<Assignment> {
    let numbers = numbers(text)?;
    let (machines, jobs) = (usize::try_from(*numbers.first()?).ok()?, usize::try_from(*numbers.get(1)?).ok()?);
    let matrix = machines.checked_mul(jobs)?;
    let (costs, rest) = numbers[2..].split_at_checked(matrix)?;
    let (takes, capacities) = rest.split_at_checked(matrix)?;
    if capacities.len() != machines {
        return None;
    }
    let mut instance = Assignment::new(capacities.to_vec()).ok()?;
    for job in 0..jobs {
        let way =
            |machine: usize| Way { machine, cost: costs[machine * jobs + job], takes: takes[machine * jobs + job] };
        let ways: Vec<Way> = (0..machines).map(way).collect();
        instance.add_job(&ways, None).ok()?;
    }
    Some(instance)
}

/// Unrelated machines with setups, least makespan; the first lot on a machine has no setup.
fn unrelated_machines(text: &str) -> Option<Sequence> {
    let (times, setups) = text.split_once("SSD")?;
    let mut lines = times.lines();
    let size = numbers(lines.next()?)?;
    let (jobs, machines) = (usize::try_from(*size.first()?).ok()?, usize::try_from(*size.get(1)?).ok()?);
    lines.next()?;
    let mut lots = Vec::with_capacity(jobs);
    for line in lines.take(jobs) {
        let pairs = numbers(line)?;
        let times =
            pairs.chunks_exact(2).map(|p| usize::try_from(p[0]).ok().map(|m| (m, p[1]))).collect::<Option<_>>()?;
        lots.push(Lot { times, ..Lot::default() });
    }
    let setups: Vec<i64> = setups.split_whitespace().filter_map(|word| word.parse().ok()).collect();
    if setups.len() != machines * jobs * jobs {
        return None;
    }
    let setup = |m: usize, before: Option<usize>, lot: usize| before.map_or(0, |b| setups[(m * jobs + b) * jobs + lot]);
    Sequence::new(lots, &vec![0; machines], Objective::Makespan, setup).ok()
}

/// One machine with setups, least weighted tardiness.
fn weighted_tardiness(text: &str) -> Option<Sequence> {
    let section = |name: &str| -> Option<Vec<i64>> {
        let (_, rest) = text.split_once(&format!("{name}:"))?;
        let lines = rest.lines().skip(1).take_while(|l| !l.trim_end().ends_with(':') && !l.starts_with("End"));
        numbers(&lines.collect::<Vec<_>>().join(" "))
    };
    let (times, weights, dues) = (section("Process Times")?, section("Weights")?, section("Duedates")?);
    let jobs = times.len();
    let mut setups = vec![0; (jobs + 1) * jobs];
    for triple in section("Setup Times")?.chunks_exact(3) {
        // A setup from job -1 is that of the first job.
        let before = usize::try_from(triple[0]).unwrap_or(jobs);
        setups[before * jobs + usize::try_from(triple[1]).ok()?] = triple[2];
    }
    let lots = (0..jobs)
        .map(|j| Lot { times: vec![(0, times[j])], release: 0, due: Some(dues[j]), weight: weights[j] })
        .collect();
    let setup = |_: usize, before: Option<usize>, lot: usize| setups[before.unwrap_or(jobs) * jobs + lot];
    Sequence::new(lots, &[0], Objective::Tardiness, setup).ok()
}

/// An instance by the rule of Vallada and Ruiz (European Journal of Operational Research 211, 2011): times even from 1 to
/// 100, setups even from 1 to `longest` for every machine and ordered pair, drawn one by one. The files hold times to 100.
#[allow(dead_code, reason = "the bench reads files")]
pub(crate) fn made_by_rule(jobs: usize, machines: usize, longest: usize, seed: u64) -> Sequence {
    let mut random = Random::new(seed, 0);
    let mut even = |most: usize| 1 + random.below(most) as i64;
    let lots =
        (0..jobs).map(|_| Lot { times: (0..machines).map(|m| (m, even(100))).collect(), ..Lot::default() }).collect();
    let setups: Vec<i64> = (0..machines * jobs * jobs).map(|_| even(longest)).collect();
    let setup = |m: usize, before: Option<usize>, lot: usize| before.map_or(0, |b| setups[(m * jobs + b) * jobs + lot]);
    Sequence::new(lots, &vec![0; machines], Objective::Makespan, setup).expect("the rule gives valid figures")
}
