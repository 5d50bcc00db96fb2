//! From job to job on one machine: the change between two, the matrix of a family, and which jobs need no change of tools
//! because the places hold the tools of all.

use super::ranking::{By, Row, Standing, rank};
use crate::model::machine::{Machine, ModeKind};
use crate::model::part::Part;
use crate::model::shop::{Mounted, Shop, ShopMachine, StandingTool, State};
use crate::planning::operation::{Tool, WorkList};
use crate::planning::setup::{self, Job, Left, Setup};
use crate::planning::{PartView, Task, places};
use crate::quantity::Time;
use crate::tables::thresholds::Thresholds;

/// Up to so many jobs every set of them is tried for tools that find their places together; beyond, sets grow from the
/// largest pair on.
const MOST_SETS: usize = 10;

/// A shop whose one machine of a kind stands as said.
fn standing(shop: &Shop, machine: &Machine, state: State) -> Shop {
    let mut shop = shop.clone();
    shop.machines.entry(machine.name.clone()).or_insert_with(ShopMachine::unknown).now = vec![state];
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
    let task = Task::new(&view, machine, mode, shop, &thresholds, row.judged.plan.first);
    Some(then(&Task { lot: part.orders.first().copied().unwrap_or(1), ..task }))
}

/// A change to a job.
#[derive(Clone, Debug)]
pub struct Change {
    /// The job as it is planned on the machine that stands so.
    pub row: Row,
    pub setup: Setup,
    /// Heads and tools of the job that stand there already, in words.
    pub staying: Vec<String>,
    /// What stands on the machine afterwards, and what became of what stood there before.
    pub left: Left,
}

impl Change {
    /// Whether the job can be done there, with what the shop owns or could buy.
    pub fn is_possible(&self) -> bool {
        self.row.standing != Standing::Refused
    }
}

/// The change from a state to a job; nothing where the machine has no such mode or cannot be reckoned with.
pub fn to_job(part: &Part, machine: &Machine, mode: Option<ModeKind>, shop: &Shop, from: &State) -> Option<Change> {
    let shop = standing(shop, machine, from.clone());
    let row = best(part, machine, mode, &shop)?;
    let job = Job::of(&row.judged.plan);
    let (setup, left) = with_task(part, machine, &row, &shop, |task| {
        (setup::change(task, &job, from), setup::left_behind(task, &job, from))
    })?;
    let staying = staying(part, machine, &row, &setup);
    Some(Change { row, setup, staying, left })
}

fn staying(part: &Part, machine: &Machine, row: &Row, setup: &Setup) -> Vec<String> {
    let plan = &row.judged.plan;
    let head = |i: &usize| {
        let option = &machine.options[plan.assignment.placed[*i].as_ref()?.attachment?];
        let angle = option.by_hand.then(|| plan.tools[*i].angle);
        Some(Mounted { name: option.name.clone(), angle }.words())
    };
    let heads = setup.heads_staying.iter().filter_map(head);
    heads.chain(setup.staying.iter().map(|i| setup::tool_words(part, &plan.tools[*i]))).collect()
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

/// The changes of a family of jobs on a machine. Jobs are counted as in `parts`.
#[derive(Clone, Debug)]
pub struct Matrix {
    /// Numbers of the parts that are possible on the machine, in the order given.
    pub parts: Vec<usize>,
    /// Numbers of the parts that are refused there, or that it cannot be reckoned with.
    pub refused: Vec<usize>,
    /// The plan of each job, set up from nothing known.
    pub rows: Vec<Row>,
    /// Minutes that depend on the job before, from job to job; nought on the diagonal.
    pub change: Vec<Vec<Time>>,
    /// What each job asks whatever ran before, as a repeat order: proving out, first article, setup pieces.
    pub own: Vec<Time>,
    pub together: Vec<Together>,
    pub detours: Vec<Detour>,
}

/// The jobs of a matrix on their machine.
struct Family<'a> {
    /// As repeat orders: a way round by another job makes first pieces and proves out anyway.
    jobs: Vec<Part>,
    machine: &'a Machine,
    mode: Option<ModeKind>,
    shop: &'a Shop,
    /// Each job on a machine of which nothing is known.
    alone: Vec<Change>,
}

impl Family<'_> {
    fn to(&self, job: usize, from: &State) -> Option<Change> {
        to_job(&self.jobs[job], self.machine, self.mode, self.shop, from)
    }
}

/// The matrix of a family.
pub fn matrix(parts: &[Part], machine: &Machine, mode: Option<ModeKind>, shop: &Shop) -> Matrix {
    let mut family = Family { jobs: Vec::new(), machine, mode, shop, alone: Vec::new() };
    let (mut taken, mut refused) = (Vec::new(), Vec::new());
    for (i, part) in parts.iter().enumerate() {
        let job = Part { repeat: true, ..part.clone() };
        match to_job(&job, machine, mode, shop, &State::default()).filter(Change::is_possible) {
            Some(alone) => {
                taken.push(i);
                family.jobs.push(job);
                family.alone.push(alone);
            }
            None => refused.push(i),
        }
    }
    let n = family.jobs.len();
    let mut change = vec![vec![Time::ZERO; n]; n];
    let mut own: Vec<Time> = family.alone.iter().map(|c| c.setup.own()).collect();
    let mut left: Vec<Vec<State>> = vec![Vec::new(); n];
    for i in 0..n {
        for j in 0..n {
            // The job is possible, and what stands on the machine takes nothing from that.
            let Some(to) = family.to(j, &family.alone[i].left.state) else { continue };
            change[i][j] = to.setup.change();
            own[j] = own[j].max(to.setup.own());
            left[i].push(to.left.state);
        }
    }
    let detours = detours(&family, &change, &left);
    let together = together(&family);
    let rows = family.alone.into_iter().map(|c| c.row).collect();
    Matrix { parts: taken, refused, rows, change, own, together, detours }
}

/// Every change that is shorter by way of a third job, by more than a second.
fn detours(family: &Family, change: &[Vec<Time>], left: &[Vec<State>]) -> Vec<Detour> {
    let mut found = Vec::new();
    let n = change.len();
    for (i, k) in (0..n).flat_map(|i| (0..n).map(move |k| (i, k))).filter(|(i, k)| i != k) {
        let shorter = change[i][k] - Time::s(1.0);
        for via in (0..n).filter(|via| *via != i && *via != k && change[i][*via] < shorter) {
            let Some(on) = left[i].get(via).and_then(|state| family.to(k, state)) else { continue };
            // What stands in the way may as well be cleared with the job between.
            let cleared = || family.to(k, &family.alone[via].left.state);
            let on = if change[via][k] < on.setup.change() { cleared().unwrap_or(on) } else { on };
            let detour = change[i][via] + on.setup.change();
            if detour < shorter {
                let direct = family.to(k, &family.alone[i].left.state);
                let reason = direct.map(|direct| explain(&direct, &on)).unwrap_or_default();
                found.push(Detour { from: i, by_way_of: via, to: k, direct: change[i][k], detour, reason });
            }
        }
    }
    found
}

/// Why a way round is shorter: what stands after it that the direct change would have to mount; else the lines that it
/// spares.
pub fn explain(direct: &Change, last_leg: &Change) -> String {
    let mut before = direct.staying.clone();
    let mut known = |tool: &&str| before.iter().position(|b| b == tool).map(|at| before.swap_remove(at)).is_some();
    let more: Vec<&str> = last_leg.staying.iter().map(String::as_str).filter(|tool| !known(tool)).collect();
    if !more.is_empty() {
        let stand = if more.len() == 1 { "stands" } else { "stand" };
        return format!("{} then {stand} already", more.join(", "));
    }
    let longer = |l: &&setup::Line| last_leg.setup.lines.iter().all(|o| o.kind != l.kind || o.time < l.time);
    let spared: Vec<&str> = direct.setup.lines.iter().filter(longer).map(|l| l.what.as_ref()).collect();
    format!("the way spares: {}", spared.join(", "))
}

/// The largest sets of jobs, no job in two, whose tools all find a place at once.
fn together(family: &Family) -> Vec<Together> {
    let n = family.jobs.len();
    let fit = |i: usize| (0..n).map(|j| i < j && joint(family, &[i, j]).is_some()).collect();
    let pairs: Vec<Vec<bool>> = (0..n).map(fit).collect();
    let mut left: Vec<usize> = (0..n).collect();
    let mut found = Vec::new();
    while let Some((set, (tools, state))) = largest(family, &pairs, &left) {
        left.retain(|i| !set.contains(i));
        let mut longest = Time::ZERO;
        for from in &set {
            let own = &family.alone[*from].left.state;
            let held = State { mounted: state.mounted.clone(), tools: state.tools.clone(), ..own.clone() };
            for to in set.iter().filter(|to| *to != from).filter_map(|to| family.to(*to, &held)) {
                longest = longest.max(to.setup.change());
            }
        }
        found.push(Together { jobs: set, tools, longest_change: longest });
    }
    found
}

/// The largest set of two and more of some jobs whose tools all find a place at once, with their number and the state that
/// holds them: of up to [`MOST_SETS`] jobs every set is tried, of more those that grow from each job on.
fn largest(family: &Family, pairs: &[Vec<bool>], of: &[usize]) -> Option<(Vec<usize>, (usize, State))> {
    let pairs_fit = |set: &[usize]| set.iter().enumerate().all(|(at, i)| set[at + 1..].iter().all(|j| pairs[*i][*j]));
    let fits = |set: Vec<usize>| {
        let found = if pairs_fit(&set) { joint(family, &set) } else { None };
        found.map(|f| (set, f))
    };
    if of.len() <= MOST_SETS {
        let masks = 1u32..1 << of.len();
        let pick = |mask: u32| of.iter().enumerate().filter(|(at, _)| mask & (1 << at) != 0).map(|(_, i)| *i).collect();
        let mut sets: Vec<Vec<usize>> = masks.filter(|mask| mask.count_ones() > 1).map(pick).collect();
        sets.sort_by(|a, b| b.len().cmp(&a.len()).then_with(|| a.cmp(b)));
        return sets.into_iter().find_map(fits);
    }
    let mut best: Option<(Vec<usize>, (usize, State))> = None;
    for first in of {
        let mut grown = None;
        let mut set = vec![*first];
        for next in of.iter().filter(|i| *i != first) {
            let mut wider = set.clone();
            wider.push(*next);
            wider.sort_unstable();
            if let Some(found) = fits(wider) {
                set.clone_from(&found.0);
                grown = Some(found);
            }
        }
        let larger = |g: &(Vec<usize>, (usize, State))| best.as_ref().is_none_or(|(b, _)| g.0.len() > b.len());
        if let Some(grown) = grown.filter(larger) {
            best = Some(grown);
        }
    }
    best
}

/// The tools of several jobs, each once, and each with the thread that it is made for.
struct Merged {
    work: WorkList,
    forms: Vec<Option<String>>,
}

impl Merged {
    /// Adds the tools of a job, which stand as `there`.
    fn add(&mut self, tools: &[Tool], there: &[StandingTool]) {
        // Two heads of a job with the same inserts are two: each serves one head of another job.
        let mut used = vec![false; self.work.tools.len()];
        for (tool, stands) in tools.iter().zip(there) {
            let at = match &stands.form {
                None => self.work.tool(tool.clone()),
                Some(_) => {
                    let known = self.work.tools.iter().zip(&self.forms).enumerate();
                    let same = |(i, (t, form)): (usize, (&Tool, &Option<String>))| {
                        let alike = *form == stands.form && t.kind == tool.kind && t.side == tool.side;
                        (alike && t.dia == tool.dia && t.attachment == tool.attachment && !used[i]).then_some(i)
                    };
                    known.filter_map(same).next().unwrap_or_else(|| {
                        self.work.tools.push(tool.clone());
                        self.work.tools.len() - 1
                    })
                }
            };
            if at >= self.forms.len() {
                self.forms.push(stands.form.clone());
            }
            if let Some(used) = used.get_mut(at) {
                *used = true;
            }
        }
    }
}

/// The tools of several jobs in their places at once, and the state with all of them mounted; nothing where they compete.
fn joint(family: &Family, set: &[usize]) -> Option<(usize, State)> {
    let mut merged = Merged { work: WorkList::default(), forms: Vec::new() };
    for i in set {
        let Change { row, left, .. } = &family.alone[*i];
        if !row.judged.plan.assignment.is_complete() {
            return None;
        }
        merged.add(&row.judged.plan.tools, &left.state.tools);
    }
    let mut found = None;
    for i in set {
        // Jobs in other modes, or with the other end first, must find the same places.
        let row = &family.alone[*i].row;
        let placed = with_task(&family.jobs[*i], family.machine, row, family.shop, |task| {
            let assignment = places::assign(task, &merged.work);
            let job = Job { tools: &merged.work.tools, assignment: &assignment, ..Job::of(&row.judged.plan) };
            let state = setup::left_behind(task, &job, &State::default()).state;
            assignment.is_complete().then_some(state)
        })??;
        found.get_or_insert(placed);
    }
    let mut state = found?;
    for (tool, form) in state.tools.iter_mut().zip(merged.forms) {
        tool.form = form;
    }
    Some((merged.work.tools.len(), state))
}
