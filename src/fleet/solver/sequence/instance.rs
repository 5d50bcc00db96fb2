//! The question: lots, machines, times and setups.

use std::fmt;

/// Something to be made in one go.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Lot {
    /// Machines that can make it, each with its processing time without setup, from 0.
    pub times: Vec<(usize, i64)>,
    /// Time before which it cannot start; its setup may be done before.
    pub release: i64,
    /// Time at which it is due; nothing where it is not.
    pub due: Option<i64>,
    /// What a unit of lateness costs, from 0.
    pub weight: i64,
}

/// What is to be least.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Objective {
    /// The end of the last lot.
    Makespan,
    /// The sum of all setups.
    Setup,
    /// The sum of weight times lateness over the lots that are due.
    Tardiness,
}

/// Largest time: sums over all lots and machines stay exact.
const MOST_TIME: i64 = 1 << 30;

/// Why a question cannot be asked.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Fault {
    /// A processing time, release, due date or weight below 0 or above 2^30.
    Time { lot: usize },
    /// A time on a machine that does not exist, or two times on one.
    Machine { lot: usize },
    /// A lot that no machine can make.
    NoMachine { lot: usize },
    /// A setup below 0 or above 2^30.
    Setup { machine: usize, lot: usize },
    /// A machine that is free before 0 or after 2^30.
    Free { machine: usize },
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Time { lot } => write!(f, "lot {lot}: a time or weight is not between 0 and 2^30"),
            Self::Machine { lot } => write!(f, "lot {lot}: a machine that does not exist, or one told twice"),
            Self::NoMachine { lot } => write!(f, "lot {lot}: no machine can make it"),
            Self::Setup { machine, lot } => {
                write!(f, "machine {machine}: a setup before lot {lot} is not between 0 and 2^30")
            }
            Self::Free { machine } => write!(f, "machine {machine}: the time it is free is not between 0 and 2^30"),
        }
    }
}

impl std::error::Error for Fault {}

/// One machine and the lots it can make, which it counts by itself.
#[derive(Clone, Debug)]
pub(super) struct Machine {
    pub(super) free_from: i64,
    /// Number of each of its lots in the question.
    pub(super) lots: Vec<usize>,
    pub(super) times: Vec<i32>,
    /// Setup from each of its lots (rows) to each (columns); the last row is the machine as it stands.
    from: Vec<i32>,
    /// The same, turned: into each lot (rows) from each of its lots and last from the machine as it stands.
    into: Vec<i32>,
}

impl Machine {
    /// The machine as it stands, in place of a lot before.
    pub(super) fn standing(&self) -> usize {
        self.lots.len()
    }

    /// Setups from this lot, or from [`Self::standing`], to each lot.
    pub(super) fn setups_from(&self, before: usize) -> &[i32] {
        &self.from[before * self.lots.len()..(before + 1) * self.lots.len()]
    }

    /// Setups into this lot from each lot and last from the machine as it stands.
    pub(super) fn setups_into(&self, lot: usize) -> &[i32] {
        &self.into[lot * (self.lots.len() + 1)..(lot + 1) * (self.lots.len() + 1)]
    }
}

/// Lots, machines and the setups between them.
#[derive(Clone, Debug)]
pub struct Instance {
    lots: Vec<Lot>,
    pub(super) machines: Vec<Machine>,
    /// Number that each machine gives a lot, machine by machine; `u32::MAX` where it cannot make it.
    own: Vec<u32>,
    pub(super) objective: Objective,
}

impl Instance {
    /// These lots on machines that are free from these times. `setup` tells the setup on a machine from a lot, or from the
    /// machine as it stands, to a lot; it is asked only for lots that the machine can make.
    ///
    /// # Errors
    /// [`Fault`]
    pub fn new(
        lots: Vec<Lot>,
        free_from: &[i64],
        objective: Objective,
        setup: impl Fn(usize, Option<usize>, usize) -> i64,
    ) -> Result<Self, Fault> {
        let valid = |t: &i64| (0..=MOST_TIME).contains(t);
        let mut own = vec![u32::MAX; lots.len() * free_from.len()];
        for (n, lot) in lots.iter().enumerate() {
            let figures = [lot.release, lot.due.unwrap_or(0), lot.weight];
            if !figures.iter().chain(lot.times.iter().map(|(_, t)| t)).all(valid) {
                return Err(Fault::Time { lot: n });
            }
            if lot.times.is_empty() {
                return Err(Fault::NoMachine { lot: n });
            }
            for (machine, _) in &lot.times {
                match own.get_mut(machine * lots.len() + n) {
                    Some(own) if *own == u32::MAX => *own = 0,
                    _ => return Err(Fault::Machine { lot: n }),
                }
            }
        }
        let mut machines = Vec::with_capacity(free_from.len());
        for (m, free_from) in free_from.iter().enumerate() {
            if !valid(free_from) {
                return Err(Fault::Free { machine: m });
            }
            let able: Vec<usize> = (0..lots.len()).filter(|lot| own[m * lots.len() + lot] == 0).collect();
            let time = |lot: &usize| lots[*lot].times.iter().find(|(on, _)| *on == m).map_or(0, |(_, t)| *t as i32);
            let mut from = Vec::with_capacity((able.len() + 1) * able.len());
            for before in able.iter().map(|lot| Some(*lot)).chain([None]) {
                for lot in &able {
                    let time = if before == Some(*lot) { 0 } else { setup(m, before, *lot) };
                    if !valid(&time) {
                        return Err(Fault::Setup { machine: m, lot: *lot });
                    }
                    from.push(time as i32);
                }
            }
            let k = able.len();
            let into = (0..k).flat_map(|lot| (0..=k).map(move |before| before * k + lot)).map(|at| from[at]).collect();
            for (local, lot) in able.iter().enumerate() {
                own[m * lots.len() + lot] = local as u32;
            }
            let times = able.iter().map(time).collect();
            machines.push(Machine { free_from: *free_from, lots: able, times, from, into });
        }
        Ok(Self { lots, machines, own, objective })
    }

    /// The lots, in the order in which they are numbered.
    #[must_use]
    pub fn lots(&self) -> &[Lot] {
        &self.lots
    }

    /// Number of machines.
    #[must_use]
    pub fn machines(&self) -> usize {
        self.machines.len()
    }

    /// Time at which a machine is free.
    #[must_use]
    pub fn free_from(&self, machine: usize) -> i64 {
        self.machines[machine].free_from
    }

    /// What is to be least.
    #[must_use]
    pub fn objective(&self) -> Objective {
        self.objective
    }

    /// Setup on a machine from a lot, or from the machine as it stands, to a lot; nothing where it cannot make one of them.
    #[must_use]
    pub fn setup(&self, machine: usize, before: Option<usize>, lot: usize) -> Option<i64> {
        let m = self.machines.get(machine)?;
        let before = match before {
            Some(before) => self.own(machine, before)?,
            None => m.standing(),
        };
        Some(i64::from(m.setups_from(before)[self.own(machine, lot)?]))
    }

    /// Number that the machine gives a lot.
    pub(super) fn own(&self, machine: usize, lot: usize) -> Option<usize> {
        let own = *self.own.get(machine * self.lots.len() + lot)?;
        (own != u32::MAX).then_some(own as usize)
    }

    /// Whether the objective adds up from times and setups alone: no due dates, no late release that counts.
    pub(super) fn adds_up(&self) -> bool {
        let earliest = self.machines.iter().map(|m| m.free_from).min().unwrap_or(0);
        match self.objective {
            Objective::Makespan => self.lots.iter().all(|lot| lot.release <= earliest),
            Objective::Setup => true,
            Objective::Tardiness => false,
        }
    }
}
