//! The question: jobs, machines, ways and capacities.

use std::fmt;

/// A machine that can make a job.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Way {
    /// Number of the machine, from 0.
    pub machine: usize,
    /// Cost of the job there, in whole units of money; may be negative.
    pub cost: i64,
    /// Capacity that the job takes there, in whole units (minutes, say), from 0.
    pub takes: i64,
}

/// Largest capacity and largest use of one: beyond this sums could leave the exact range.
const MOST_CAPACITY: i64 = 1 << 40;
/// Largest sum over all jobs of the dearest way: below it all sums of scaled costs are exact in an `f64`.
const MOST_COST: i64 = 1 << 42;

/// Why a question cannot be asked.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Fault {
    /// A capacity below nought or above 2^40.
    Capacity { machine: usize },
    /// A way on a machine that does not exist.
    Machine { job: usize },
    /// Two ways of one job on one machine.
    Twice { job: usize, machine: usize },
    /// A use below nought or above 2^40.
    Takes { job: usize, machine: usize },
    /// The dearest ways of all jobs add up to more than 2^42.
    Cost { job: usize },
    /// No way fits any machine, and the job may not be left out.
    NoWay { job: usize },
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Capacity { machine } => write!(f, "machine {machine}: capacity is not between 0 and 2^40"),
            Self::Machine { job } => write!(f, "job {job}: a way on a machine that does not exist"),
            Self::Twice { job, machine } => write!(f, "job {job}: two ways on machine {machine}"),
            Self::Takes { job, machine } => write!(f, "job {job} on machine {machine}: use is not between 0 and 2^40"),
            Self::Cost { job } => write!(f, "job {job}: costs add up to more than 2^42; use a larger unit of money"),
            Self::NoWay { job } => write!(f, "job {job}: no machine has room for it and it may not be left out"),
        }
    }
}

impl std::error::Error for Fault {}

/// A way that cannot be taken.
const FORBIDDEN: i64 = -1;

/// Jobs and the machines that can make them. Machines are numbered in the order of their capacities, jobs in the order in
/// which they are added.
#[derive(Clone, Debug)]
pub struct Instance {
    capacities: Vec<i64>,
    /// Cost and use for each job on each place, job by job; `takes` is [`FORBIDDEN`] where there is no way.
    costs: Vec<i64>,
    takes: Vec<i64>,
    dearest: i64,
}

impl Instance {
    /// Machines of these capacities, in whole units from 0 to 2^40, and no job.
    ///
    /// # Errors
    /// [`Fault::Capacity`]
    pub fn new(capacities: Vec<i64>) -> Result<Self, Fault> {
        match capacities.iter().position(|c| !(0..=MOST_CAPACITY).contains(c)) {
            Some(machine) => Err(Fault::Capacity { machine }),
            None => Ok(Self { capacities, costs: Vec::new(), takes: Vec::new(), dearest: 0 }),
        }
    }

    /// Adds a job with its ways (at most one for each machine) and, where it may be left out, the cost of that.
    /// Ways that take more than the whole machine has are dropped.
    ///
    /// # Errors
    /// [`Fault`], and the job is not added.
    pub fn add_job(&mut self, ways: &[Way], left_out: Option<i64>) -> Result<usize, Fault> {
        let (job, places) = (self.jobs(), self.places());
        let (mut costs, mut takes) = (vec![0; places], vec![FORBIDDEN; places]);
        for way in ways {
            let machine = way.machine;
            let capacity = *self.capacities.get(machine).ok_or(Fault::Machine { job })?;
            if takes[machine] != FORBIDDEN {
                return Err(Fault::Twice { job, machine });
            }
            if !(0..=MOST_CAPACITY).contains(&way.takes) {
                return Err(Fault::Takes { job, machine });
            }
            if way.takes <= capacity {
                (costs[machine], takes[machine]) = (way.cost, way.takes);
            }
        }
        if let Some(cost) = left_out {
            (costs[places - 1], takes[places - 1]) = (cost, 0);
        }
        if takes.iter().all(|t| *t == FORBIDDEN) {
            return Err(Fault::NoWay { job });
        }
        let dearest = costs.iter().fold(0, |most, c| most.max(c.saturating_abs()));
        if dearest.saturating_add(self.dearest) > MOST_COST {
            return Err(Fault::Cost { job });
        }
        self.dearest += dearest;
        self.costs.extend(costs);
        self.takes.extend(takes);
        Ok(job)
    }

    /// Number of jobs.
    #[must_use]
    pub fn jobs(&self) -> usize {
        self.takes.len() / self.places()
    }

    /// Number of machines.
    #[must_use]
    pub fn machines(&self) -> usize {
        self.capacities.len()
    }

    /// Capacity of each machine.
    #[must_use]
    pub fn capacities(&self) -> &[i64] {
        &self.capacities
    }

    /// Cost and use of a job on a machine, or nothing where it cannot be made there.
    #[must_use]
    pub fn way(&self, job: usize, machine: usize) -> Option<Way> {
        (machine < self.machines() && self.allowed(job, machine)).then(|| Way {
            machine,
            cost: self.cost(job, machine),
            takes: self.takes(job, machine),
        })
    }

    /// Cost of leaving a job out, where it may be left out.
    #[must_use]
    pub fn left_out(&self, job: usize) -> Option<i64> {
        self.allowed(job, self.out()).then(|| self.cost(job, self.out()))
    }

    /// Places a job can be: the machines, and last, left out.
    pub(super) fn places(&self) -> usize {
        self.capacities.len() + 1
    }

    /// The place of jobs that are left out.
    pub(super) fn out(&self) -> usize {
        self.capacities.len()
    }

    pub(super) fn allowed(&self, job: usize, place: usize) -> bool {
        self.takes[job * self.places() + place] != FORBIDDEN
    }

    pub(super) fn cost(&self, job: usize, place: usize) -> i64 {
        self.costs[job * self.places() + place]
    }

    pub(super) fn takes(&self, job: usize, place: usize) -> i64 {
        self.takes[job * self.places() + place]
    }

    /// Places that a job can be.
    pub(super) fn ways(&self, job: usize) -> impl Iterator<Item = usize> + '_ {
        (0..self.places()).filter(move |place| self.allowed(job, *place))
    }

    /// Room of a place: a machine's capacity, without end for jobs that are left out.
    pub(super) fn room(&self, place: usize) -> i64 {
        self.capacities.get(place).copied().unwrap_or(i64::MAX)
    }

    /// Sum over the jobs of the largest cost, which no plan's cost leaves by more than its sign.
    pub(super) fn dearest(&self) -> i64 {
        self.dearest
    }
}
