//! From job to job on one machine: the change between two, the matrix of a family, and which jobs need no change of tools
//! because the places hold the tools of all.

use super::ranking::{By, Row, rank};
use crate::model::machine::{Machine, ModeKind};
use crate::model::part::Part;
use crate::model::shop::{Shop, ShopMachine, State};
use crate::planning::operation::WorkList;
use crate::planning::setup::{self, Job, Setup};
use crate::planning::{PartView, Plan, Reach, Task, places};
use crate::quantity::Time;
use crate::tables::thresholds::Thresholds;
use std::collections::BTreeMap;

/// Up to so many jobs every set of them is tried for tools that find their places together; beyond, sets grow from the
/// largest pair on.
const MOST_SETS: usize = 10;

/// A shop whose one machine of a kind stands as said.
fn standing(shop: &Shop, machine: &Machine, state: State) -> Shop {
    let mut shop = shop.clone();
    let unknown = || ShopMachine { hourly: None, available: None, owned: BTreeMap::new(), now: Vec::new() };
    shop.machines.entry(machine.name.clone()).or_insert_with(unknown).now = vec![state];
    shop
}

/// The best row of a part on a machine that stands so.
fn best(part: &Part, machine: &Machine, mode: Option<ModeKind>, shop: &Shop) -> Option<Row> {
    let machines = std::slice::from_ref(machine);
    let mut ranking = rank(part, machines, shop, None, By::Cost);
    ranking.rows.retain(|r| mode.is_none_or(|m| m == r.mode));
    (!ranking.rows.is_empty()).then(|| ranking.rows.remove(0))
}

fn with_task<T>(part: &Part, machine: &Machine, row: &Row, shop: &Shop, then: impl FnOnce(&Task) -> T) -> Option<T> {
    let mode = machine.mode(row.mode)?;
    let (view, thresholds) = (PartView::new(part), Thresholds::with(&shop.thresholds));
    let plan = &row.judged.plan;
    let lot = part.orders.first().copied().unwrap_or(1);
    let first = plan.first;
    Some(then(&Task {
        view: &view,
        machine,
        mode,
        shop,
        thresholds: &thresholds,
        first,
        reach: Reach::Owned,
        lot,
        speed_share: 1.0,
    }))
}

/// A change to a job.
#[derive(Clone, Debug)]
pub struct Change {
    /// The job as it is planned on the machine that stands so.
    pub row: Row,
    pub setup: Setup,
    /// What stands on the machine afterwards.
    pub after: State,
}

/// The change from a state to a job; nothing where the machine has no such mode or cannot be reckoned with.
pub fn to_job(part: &Part, machine: &Machine, mode: Option<ModeKind>, shop: &Shop, from: &State) -> Option<Change> {
    let shop = standing(shop, machine, from.clone());
    let row = best(part, machine, mode, &shop)?;
    let plan: &Plan = &row.judged.plan;
    let job = Job::of(plan);
    let (setup, after) = with_task(part, machine, &row, &shop, |task| {
        (setup::change(task, &job, from), setup::left_behind(task, &job, from))
    })?;
    Some(Change { setup, after, row: row.clone() })
}

/// A change that is shorter by way of another job.
#[derive(Clone, Debug, PartialEq)]
pub struct Detour {
    pub from: usize,
    pub by_way_of: usize,
    pub to: usize,
    pub direct: Time,
    pub detour: Time,
    /// What explains it.
    pub reason: String,
}

/// Jobs whose tools all find a place together.
#[derive(Clone, Debug, PartialEq)]
pub struct Together {
    pub jobs: Vec<usize>,
    /// Tools of all of them, each counted once.
    pub tools: usize,
    /// The longest change among them once all tools stand.
    pub longest_change: Time,
}

/// The changes of a family of jobs on a machine.
#[derive(Clone, Debug)]
pub struct Matrix {
    pub rows: Vec<Row>,
    /// Minutes that depend on the job before, from job to job; nought on the diagonal.
    pub change: Vec<Vec<Time>>,
    /// What each job asks whatever ran before: proving out, first article, setup pieces.
    pub own: Vec<Time>,
    pub together: Vec<Together>,
    pub detours: Vec<Detour>,
}

/// The matrix of a family, or the number of the first part that the machine cannot be reckoned with.
///
/// # Errors
/// The number of the part for which there is no plan.
pub fn matrix(parts: &[Part], machine: &Machine, mode: Option<ModeKind>, shop: &Shop) -> Result<Matrix, usize> {
    let empty = State::default();
    let alone: Vec<Change> = parts
        .iter()
        .enumerate()
        .map(|(i, part)| to_job(part, machine, mode, shop, &empty).ok_or(i))
        .collect::<Result<_, _>>()?;
    let n = parts.len();
    let mut change = vec![vec![Time::ZERO; n]; n];
    let mut own = vec![Time::ZERO; n];
    let mut left: Vec<Vec<State>> = vec![Vec::new(); n];
    for i in 0..n {
        for j in 0..n {
            let to = to_job(&parts[j], machine, mode, shop, &alone[i].after).ok_or(j)?;
            change[i][j] = to.setup.change();
            own[j] = own[j].max(to.setup.own());
            left[i].push(to.after);
        }
    }
    if n == 1 {
        own[0] = alone[0].setup.own();
    }
    let mut detours = Vec::new();
    for i in 0..n {
        for k in 0..n {
            for via in (0..n).filter(|via| *via != i && *via != k && i != k) {
                let on = to_job(&parts[k], machine, mode, shop, &left[i][via]).ok_or(k)?;
                let detour = change[i][via] + on.setup.change();
                if detour < change[i][k] - Time::s(1.0) {
                    let reason = explain(&change_lines(&parts[k], machine, mode, shop, &alone[i].after), &on.setup);
                    detours.push(Detour { from: i, by_way_of: via, to: k, direct: change[i][k], detour, reason });
                }
            }
        }
    }
    let together = together(parts, machine, mode, shop, &alone);
    Ok(Matrix { rows: alone.into_iter().map(|c| c.row).collect(), change, own, together, detours })
}

fn change_lines(part: &Part, machine: &Machine, mode: Option<ModeKind>, shop: &Shop, from: &State) -> Setup {
    to_job(part, machine, mode, shop, from).map(|c| c.setup).unwrap_or_default()
}

/// The lines of the direct change that the detour spares.
fn explain(direct: &Setup, last_leg: &Setup) -> String {
    let spared: Vec<&str> = direct
        .lines
        .iter()
        .filter(|l| last_leg.lines.iter().all(|o| o.kind != l.kind || o.time < l.time))
        .map(|l| l.what.as_ref())
        .collect();
    if spared.is_empty() {
        return format!("{} tools stay mounted on the way", last_leg.staying);
    }
    format!("the way spares: {}", spared.join(", "))
}

/// The largest sets of jobs, no job in two, whose tools all find a place at once.
fn together(parts: &[Part], machine: &Machine, mode: Option<ModeKind>, shop: &Shop, alone: &[Change]) -> Vec<Together> {
    let n = parts.len();
    let fits = |set: &[usize]| joint(parts, machine, shop, alone, set);
    let mut sets: Vec<Vec<usize>> = Vec::new();
    if n <= MOST_SETS {
        for mask in 1u32..1 << n {
            if mask.count_ones() > 1 {
                sets.push((0..n).filter(|i| mask & (1 << i) != 0).collect());
            }
        }
        sets.sort_by(|a, b| b.len().cmp(&a.len()).then_with(|| a.cmp(b)));
    } else {
        for i in 0..n {
            let mut set = vec![i];
            for j in (0..n).filter(|j| *j != i) {
                set.push(j);
                if fits(&set).is_none() {
                    set.pop();
                }
            }
            set.sort_unstable();
            sets.push(set);
        }
        sets.sort_by(|a, b| b.len().cmp(&a.len()).then_with(|| a.cmp(b)));
    }
    let mut taken = vec![false; n];
    let mut found = Vec::new();
    for set in sets.iter().filter(|s| s.len() > 1) {
        if set.iter().any(|i| taken[*i]) {
            continue;
        }
        let Some((tools, state)) = fits(set) else { continue };
        set.iter().for_each(|i| taken[*i] = true);
        let mut longest = Time::ZERO;
        for from in set {
            let held = State {
                bar: alone[*from].after.bar,
                sub: alone[*from].after.sub,
                mode: alone[*from].after.mode,
                job: alone[*from].after.job.clone(),
                ..state.clone()
            };
            for to in set.iter().filter(|to| *to != from) {
                let changed = change_lines(&parts[*to], machine, mode, shop, &held);
                longest = longest.max(changed.change());
            }
        }
        found.push(Together { jobs: set.clone(), tools, longest_change: longest });
    }
    found
}

/// The tools of several jobs in their places at once, and the state with all of them mounted; nothing where they compete.
fn joint(parts: &[Part], machine: &Machine, shop: &Shop, alone: &[Change], set: &[usize]) -> Option<(usize, State)> {
    let mut work = WorkList::default();
    for i in set {
        let plan = &alone[*i].row.judged.plan;
        let refused = alone[*i].row.standing == super::ranking::Standing::Refused;
        if refused || !plan.assignment.is_complete() {
            return None;
        }
        for tool in &plan.tools {
            work.tool(tool.clone());
        }
    }
    let first = *set.first()?;
    let row = &alone[first].row;
    let (assignment, state) = with_task(&parts[first], machine, row, shop, |task| {
        let assignment = places::assign(task, &work);
        let job = Job { tools: &work.tools, assignment: &assignment, ..Job::of(&row.judged.plan) };
        let state = setup::left_behind(task, &job, &State::default());
        (assignment, state)
    })?;
    assignment.is_complete().then_some((work.tools.len(), state))
}
