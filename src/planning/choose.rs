//! Which way to make each feature: the whole job decides, since tools and places are shared. Of the ways for which every
//! tool finds a place those that need the fewest attachments bought, of those the usual ones, of those the least time an
//! order takes of the machine.

use super::Task;
use super::blank::Blank;
use super::chains;
use super::cycle::{self, Cycle, movements};
use super::methods::{self, Way, Ways};
use super::operation::{Operation, Tool, ToolKind, Work, WorkList};
use super::places::{self, Assignment, SeatBook, setting_kind};
use super::second_choice::{self, SecondChoice};
use super::sequence;
use super::setup::{standard, time_to_mount};
use crate::formulas::FormulaError;
use crate::model::machine::{ModeKind, Side};
use crate::model::part::FeatureId;
use crate::quantity::Time;

/// The lot of an order without end: only the cycle counts.
pub const ENDLESS: u64 = u64::MAX;

/// How many combinations of ways are laid out before the best found is kept. The demo's most complex part needs few.
const MOST_LAID_OUT: usize = 64;

/// How many places of tools that could work at either spindle are tried where the balanced one finds no seats.
const MOST_SIDES: u32 = 256;

/// A job laid out with one way for each feature.
#[derive(Clone, Debug)]
pub struct LaidOut {
    pub work: WorkList,
    pub assignment: Assignment,
    pub cycle: Cycle,
    /// The number of the way in each group.
    pub picks: Vec<usize>,
    /// Attachments to buy.
    pub bought: u32,
    /// Ways that are not the usual ones.
    pub seconds: u32,
    /// The machine's time for a piece with its share of mounting the tools.
    pub value: Time,
}

impl LaidOut {
    /// Whether it is the better one: possible before impossible, fewer tools that no place takes, fewer purchases, usual ways,
    /// less time. An endless order asks for the shortest cycle, in whatever way.
    fn better_than(&self, o: &LaidOut, lot: u64) -> bool {
        let seconds = |j: &LaidOut| if lot == ENDLESS { 0 } else { j.seconds };
        let key = |j: &LaidOut| (!j.assignment.is_complete(), j.assignment.obstacles.len(), j.bought, seconds(j));
        key(self).cmp(&key(o)).then(self.value.total_cmp(&o.value)).then(self.picks.cmp(&o.picks)).is_lt()
    }
}

/// The ways that the whole job decided for.
#[derive(Clone, Debug)]
pub struct Chosen {
    pub best: LaidOut,
    /// The finishing tool has made place: the turning tool finishes as well.
    pub one_turning_tool: bool,
    /// Choices that are not the usual or fastest ones, where places force them.
    pub second_choices: Vec<SecondChoice>,
    /// The tools and places of the usual ways, where those do not all find a place.
    pub usual: Option<(Vec<Tool>, Assignment)>,
}

/// Decides how each feature is made. Where the usual ways do not all find a place, the finishing tool is the first to make
/// one, if that takes less than other ways.
///
/// # Errors
/// [`FormulaError`] where a figure lies outside what a formula is valid for.
pub fn choose(task: &Task, blank: &Blank, ways: &Ways) -> Result<Chosen, FormulaError> {
    let chosen = choose_among(task, blank, ways)?;
    let usual = chosen.usual.as_ref().map_or(&chosen.best.assignment, |(_, usual)| usual);
    let shared = usual.competition.as_ref().and_then(|_| ways.with_one_turning_tool());
    let Some(shared) = shared else { return Ok(chosen) };
    let mut other = choose_among(task, blank, &shared)?;
    let told = second_choice::one_turning_tool(task, &other.best.work);
    // Fine surfaces want an edge of their own: without it the job counts as one that is not made in the usual ways.
    other.best.seconds += u32::from(told.as_ref().is_some_and(|t| t.poorer));
    if !other.best.assignment.is_complete() || !other.best.better_than(&chosen.best, task.lot) {
        return Ok(chosen);
    }
    let usual = chosen.usual.or(Some((chosen.best.work.tools, chosen.best.assignment)));
    let mut second_choices = other.second_choices;
    second_choices.extend(told);
    Ok(Chosen { best: other.best, one_turning_tool: true, second_choices, usual })
}

fn choose_among(task: &Task, blank: &Blank, ways: &Ways) -> Result<Chosen, FormulaError> {
    let mut search = Search::new(task, blank, ways);
    let mut all: Vec<Vec<&Tool>> = Vec::with_capacity(ways.groups.len());
    for group in &ways.groups {
        all.push(group.ways.iter().flat_map(|w| w.steps.tools.iter()).collect());
    }
    for (i, group) in ways.groups.iter().enumerate() {
        let others = all.iter().enumerate().filter(|(j, _)| *j != i).flat_map(|(_, tools)| tools.iter().copied());
        let shared: Vec<&Tool> = ways.base.tools.iter().chain(others).collect();
        let floors = group.ways.iter().map(|w| search.rates.floor(task, &w.steps, &shared)).collect();
        search.floors.push(floors);
    }
    let base = search.rates.floor(task, &ways.base, &[]);
    // A tool of the rest that no place takes is in every combination: none is better than the first ways that have a place.
    let mut seatless = |t: &Tool| !t.either_side && search.book.is_seatless(task, t);
    if ways.base.tools.iter().any(&mut seatless) {
        let mut seated = |way: &Way| !way.steps.tools.iter().any(&mut seatless);
        let picks = ways.groups.iter().map(|g| g.ways.iter().position(&mut seated).unwrap_or(0)).collect();
        search.best = Some(search.lay_out(picks)?);
    } else {
        search.go(0, base, 0)?;
    }
    let usual = search.usual.take();
    let mut best = match search.best.take() {
        Some(best) => best,
        None => search.lay_out(vec![0; ways.groups.len()])?,
    };
    if best.assignment.is_complete() {
        search.seat_for_the_cycle(&mut best)?;
    }
    let usual = usual.filter(|_| best.assignment.is_complete());
    let second_choices = if usual.is_some() { second_choice::told(task, ways, &best.picks) } else { Vec::new() };
    Ok(Chosen { best, one_turning_tool: false, second_choices, usual })
}

/// The least that some work takes at each spindle, and beside the programmed cycle, in seconds.
#[derive(Clone, Copy, Debug, Default)]
struct Floor {
    main: f64,
    sub: f64,
    /// At whichever spindle it is put.
    either: f64,
    /// Both spindles are busy with it.
    tie: f64,
    /// The mounting of tools spread over the lot.
    beside: f64,
}

impl Floor {
    fn and(self, o: Floor) -> Floor {
        Floor {
            main: self.main + o.main,
            sub: self.sub + o.sub,
            either: self.either + o.either,
            tie: self.tie + o.tie,
            beside: self.beside + o.beside,
        }
    }
}

/// What the floor of a machine's work is reckoned with.
struct FloorRates {
    has_sub: bool,
    in_sequence: bool,
    /// The least change of tools at each spindle that nothing hides.
    change: [f64; 2],
    lot: f64,
    /// What every second of work takes in the end: with contingency and what the shop's own records correct.
    allowance: f64,
}

impl FloorRates {
    fn of(task: &Task, rows: &[places::Row]) -> FloorRates {
        let least = |side: Side| {
            let serving = |r: &&places::Row| task.machine.carriers[r.carrier].serves(side);
            let mut groups: Vec<u32> =
                rows.iter().filter(serving).map(|r| task.machine.carriers[r.carrier].group).collect();
            groups.sort_unstable();
            groups.dedup();
            // A carrier of another group changes its tool while this one cuts.
            if groups.len() != 1 {
                return 0.0;
            }
            rows.iter().filter(serving).map(|r| r.change.to_s()).fold(f64::INFINITY, f64::min)
        };
        FloorRates {
            has_sub: task.machine.sub.is_some(),
            in_sequence: task.mode.kind == ModeKind::Supported,
            change: [least(Side::Main), least(Side::Sub)],
            lot: task.lot.max(1) as f64,
            allowance: (1.0 + task.thresholds.contingency_percent / 100.0) * task.cycle_correction().of_whole(),
        }
    }

    /// The floor of some work; `shared` are the tools that other work may bring as well.
    fn floor(&self, task: &Task, work: &WorkList, shared: &[&Tool]) -> Floor {
        let mut floor = Floor::default();
        let m = movements();
        for (i, tool) in work.tools.iter().enumerate() {
            let alone = !shared.iter().any(|s| s.same_as(tool));
            let mut ops = work.operations.iter().filter(|op| op.tool == i).peekable();
            if ops.peek().is_none() {
                continue;
            }
            let mut time: f64 = ops.clone().map(|op| (op.cutting + op.moving).to_s()).sum();
            let drawn = |op: &&Operation| matches!(op.work, Work::Turn | Work::FinishTurn | Work::Chamfer);
            let approaches = ops.clone().filter(|op| !drawn(op)).count();
            time += m.approach.to_s() * approaches as f64;
            if alone {
                time += if tool.live { m.live_start_stop.to_s() } else { 0.0 };
                let change = self.change[tool.side as usize];
                time += if change.is_finite() && !tool.either_side { change } else { 0.0 };
                floor.beside += mount(task, tool, None, true).to_s() / self.lot;
            }
            let tie = ops.any(|op| op.work == Work::CutOff);
            match (tie && self.has_sub, tool.either_side && self.has_sub, tool.side) {
                (true, _, _) => floor.tie += time,
                (_, true, _) => floor.either += time,
                (_, _, Side::Main) => floor.main += time,
                (_, _, Side::Sub) => floor.sub += time,
            }
        }
        floor
    }

    /// No job takes less than these floors together; `undecided` is what groups not decided yet take at either spindle.
    fn value(&self, floor: Floor, undecided: f64) -> f64 {
        let sum = floor.main + floor.sub + floor.either + undecided;
        let chains = if self.in_sequence { sum } else { floor.main.max(floor.sub).max(sum / 2.0) };
        (chains + floor.tie) * self.allowance + floor.beside
    }
}

struct Search<'a, 't> {
    task: &'a Task<'t>,
    blank: &'a Blank,
    ways: &'a Ways,
    book: SeatBook,
    rates: FloorRates,
    floors: Vec<Vec<Floor>>,
    picks: Vec<usize>,
    best: Option<LaidOut>,
    /// The tools and places of the usual way for each feature, where those do not all find a place.
    usual: Option<(Vec<Tool>, Assignment)>,
    laid_out: usize,
}

impl<'a, 't> Search<'a, 't> {
    fn new(task: &'a Task<'t>, blank: &'a Blank, ways: &'a Ways) -> Search<'a, 't> {
        let book = SeatBook::new(task);
        Search {
            task,
            blank,
            ways,
            rates: FloorRates::of(task, book.rows()),
            book,
            floors: Vec::with_capacity(ways.groups.len()),
            picks: vec![0; ways.groups.len()],
            best: None,
            usual: None,
            laid_out: 0,
        }
    }

    /// Tries the ways of the group at this depth, the usual and quick ones first; what cannot beat the best is left out.
    fn go(&mut self, at: usize, so_far: Floor, seconds: u32) -> Result<(), FormulaError> {
        if self.laid_out >= MOST_LAID_OUT {
            return Ok(());
        }
        if let Some(best) = self.best.as_ref().filter(|b| b.assignment.is_complete()) {
            let least = self.least_to_come(at, so_far);
            let usual_first = self.task.lot != ENDLESS;
            let poorer = usual_first && best.seconds < seconds;
            let alike = !usual_first || best.seconds <= seconds;
            if best.bought == 0 && (poorer || (alike && best.value.to_s() <= least)) {
                return Ok(());
            }
        }
        if at == self.ways.groups.len() {
            self.laid_out += 1;
            let found = self.lay_out(self.picks.clone())?;
            if self.laid_out == 1 && !found.assignment.is_complete() {
                self.usual = Some((found.work.tools.clone(), found.assignment.clone()));
            }
            if self.best.as_ref().is_none_or(|best| found.better_than(best, self.task.lot)) {
                self.best = Some(found);
            }
            return Ok(());
        }
        for pick in 0..self.ways.groups[at].ways.len() {
            self.picks[at] = pick;
            let second = u32::from(self.ways.groups[at].ways[pick].second.is_some());
            self.go(at + 1, so_far.and(self.floors[at][pick]), seconds + second)?;
        }
        self.picks[at] = 0;
        Ok(())
    }

    /// No laid-out job with these picks can take less.
    fn least_to_come(&self, at: usize, so_far: Floor) -> f64 {
        let least = |f: fn(&Floor) -> f64, floors: &[Floor]| floors.iter().map(f).fold(f64::INFINITY, f64::min);
        let mut floor = so_far;
        let mut either = 0.0;
        for floors in &self.floors[at..] {
            let (main, sub) = (least(|f| f.main, floors), least(|f| f.sub, floors));
            floor.main += main;
            floor.sub += sub;
            floor.beside += least(|f| f.beside, floors);
            either += least(|f| f.main + f.sub + f.either, floors) - main - sub;
        }
        self.rates.value(floor, either)
    }

    fn lay_out(&mut self, picks: Vec<usize>) -> Result<LaidOut, FormulaError> {
        let mut work = self.ways.base.clone();
        let mut seconds = 0;
        for (group, pick) in self.ways.groups.iter().zip(&picks) {
            work.add(&group.ways[*pick].steps);
            seconds += u32::from(group.ways[*pick].second.is_some());
        }
        let task = self.task;
        let assignment = seat_at_best_sides(task, &mut self.book, &mut work);
        settle(task, &mut work, &assignment);
        sequence::order(task, self.blank, &mut work);
        let cycle = cycle::lay_out(task, self.blank, &work, &assignment)?;
        let bought = to_buy(task, &assignment);
        let mounting = mounting(task, &work, &assignment);
        let value = cycle.total + mounting / task.lot.max(1) as f64;
        Ok(LaidOut { work, assignment, cycle, picks, bought, seconds, value })
    }

    /// Other seats may hide more of the changes of tools: a row of places whose tools could as well stand on a carrier of
    /// another group is tried with one place less than it uses (two, where only the cycle counts), as long as that helps.
    fn seat_for_the_cycle(&mut self, best: &mut LaidOut) -> Result<(), FormulaError> {
        let whole = self.book.rows().to_vec();
        let most = if self.task.lot == ENDLESS { 2 } else { 1 };
        loop {
            let mut better: Option<LaidOut> = None;
            for row in self.movable_rows(best) {
                let used = best.assignment.rows[row].places.saturating_sub(best.assignment.free(row));
                for less in 1..=used.min(most) {
                    self.book.limit(row, used - less);
                    let tried = self.lay_out(best.picks.clone())?;
                    self.book.limit(row, best.assignment.rows[row].places);
                    let helps = tried.assignment.is_complete() && tried.value < best.value - Time::s(1e-9);
                    if helps && tried.bought <= best.bought && better.as_ref().is_none_or(|b| tried.value < b.value) {
                        better = Some(tried);
                    }
                }
            }
            let Some(found) = better else { break };
            *best = found;
            for (row, places) in best.assignment.rows.iter().enumerate() {
                self.book.limit(row, places.places);
            }
        }
        // The reader is told the places that there are.
        best.assignment.rows = whole;
        Ok(())
    }

    /// Rows in use of which a tool could stand on a carrier of another group.
    fn movable_rows(&mut self, best: &LaidOut) -> Vec<usize> {
        let group = |row: &places::Row| self.task.machine.carriers[row.carrier].group;
        let mut rows = Vec::new();
        for (tool, placed) in best.work.tools.iter().zip(&best.assignment.placed) {
            let Some(placed) = placed.as_ref().filter(|p| !rows.contains(&p.row)) else { continue };
            let here = group(&best.assignment.rows[placed.row]);
            if self.book.rows_of(self.task, tool).any(|r| group(&best.assignment.rows[r]) != here) {
                rows.push(placed.row);
            }
        }
        rows
    }
}

/// Puts the tools that could work at either spindle where the longer chain becomes shortest, then every tool to its place.
/// Where that finds no places, other sides are tried in order of the longer chain.
fn seat_at_best_sides(task: &Task, book: &mut SeatBook, work: &mut WorkList) -> Assignment {
    let either: Vec<usize> = (0..work.tools.len()).filter(|t| work.tools[*t].either_side).collect();
    if either.is_empty() || task.machine.sub.is_none() {
        return places::assign_from(task, book, work);
    }
    let (mut main, mut sub) = (0.0, 0.0);
    let mut items = vec![(0.0, 0.0); either.len()];
    let around = (movements().approach + movements().live_start_stop + movements().orient).to_s();
    for op in &work.operations {
        let time = (op.cutting + op.moving).to_s() + around;
        match (either.iter().position(|t| *t == op.tool), op.side) {
            (Some(i), _) => items[i] = (items[i].0 + time, items[i].1 + time),
            (None, Side::Main) => main += time,
            (None, Side::Sub) => sub += time,
        }
    }
    let put = |work: &mut WorkList, at_sub: &[bool]| {
        for (tool, at_sub) in either.iter().zip(at_sub.iter().chain(std::iter::repeat(&false))) {
            let side = if *at_sub { Side::Sub } else { Side::Main };
            work.tools[*tool].side = side;
            for op in work.operations.iter_mut().filter(|op| op.tool == *tool) {
                op.side = side;
            }
        }
    };
    // A sub-spindle that supports the piece shares nothing: all stays at the main spindle.
    let supported = task.mode.kind == ModeKind::Supported;
    let balanced = if supported { vec![false; either.len()] } else { chains::balance(main, sub, &items) };
    put(work, &balanced);
    let first = places::assign_from(task, book, work);
    if first.is_complete() {
        return first;
    }
    let count = either.len().min(8);
    let mut masks: Vec<(f64, u32)> = (0..(1u32 << count).min(MOST_SIDES))
        .map(|mask| {
            let moved = |i: usize| i < count && mask & (1 << i) != 0;
            let at_main: f64 = items.iter().enumerate().filter(|(i, _)| !moved(*i)).map(|(_, t)| t.0).sum();
            let at_sub: f64 = items.iter().enumerate().filter(|(i, _)| moved(*i)).map(|(_, t)| t.1).sum();
            ((main + at_main).max(sub + at_sub), mask)
        })
        .collect();
    masks.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
    for (_, mask) in masks {
        let sides: Vec<bool> = (0..either.len()).map(|i| i < count && mask & (1 << i) != 0).collect();
        put(work, &sides);
        let tried = places::assign_from(task, book, work);
        if tried.is_complete() {
            return tried;
        }
    }
    // Nothing works: the reader is told about the main spindle.
    put(work, &vec![false; either.len()]);
    places::assign_from(task, book, work)
}

/// What is known once every tool has its place: live tools turn no faster than their drive.
fn settle(task: &Task, work: &mut WorkList, assignment: &Assignment) {
    for op in &mut work.operations {
        let tool = &work.tools[op.tool];
        if !tool.live || matches!(tool.kind, ToolKind::WhirlingHead | ToolKind::PolygonHead) {
            continue;
        }
        let Some(placed) = assignment.placed.get(op.tool).and_then(Option::as_ref) else { continue };
        let carrier = &task.machine.carriers[assignment.rows[placed.row].carrier];
        let own = placed.attachment.and_then(|a| task.machine.options[a].speed).or(carrier.speed);
        if let Some(cap) = own.and_then(|r| r.high).filter(|cap| op.speed > *cap) {
            slow_down(op, cap);
        }
    }
}

/// The feed a revolution stays, so the time grows as the speed falls.
fn slow_down(op: &mut Operation, cap: crate::quantity::RotationalSpeed) {
    op.cutting = op.cutting * (op.speed / cap);
    op.power = op.power * (cap / op.speed);
    op.speed = cap;
}

/// How many attachments beyond those owned an assignment uses.
fn to_buy(task: &Task, assignment: &Assignment) -> u32 {
    let options = task.machine.options.iter().enumerate();
    options.map(|(i, option)| assignment.attachments_used(i).saturating_sub(task.owned(option))).sum()
}

/// The time to mount all tools of a job.
fn mounting(task: &Task, work: &WorkList, assignment: &Assignment) -> Time {
    let each = |(i, tool): (usize, &Tool)| {
        let placed = assignment.placed.get(i).and_then(Option::as_ref);
        let pocket = placed.is_some_and(|p| assignment.rows[p.row].pocket);
        mount(task, tool, placed.and_then(|p| p.attachment), pocket || placed.is_none())
    };
    work.tools.iter().enumerate().map(each).sum()
}

/// The time to mount a tool; in a magazine's pocket, or where its place is not known yet, the least.
fn mount(task: &Task, tool: &Tool, attachment: Option<usize>, pocket: bool) -> Time {
    if let Some(head) = attachment {
        return time_to_mount(task, &task.machine.options[head]);
    }
    let kind = if pocket { "quick-change-tool" } else { setting_kind(tool) };
    standard(task, kind)
}

/// A way that was not taken, and what it would have meant.
#[derive(Clone, Debug, PartialEq)]
pub struct Alternative {
    pub feature: FeatureId,
    /// The way, in the setter's word.
    pub way: &'static str,
    /// Cutting and movements of its operations.
    pub time: Time,
    pub taken: bool,
    /// Why it was not taken.
    pub reason: String,
}

/// For each feature with several ways all of them, the taken one first, with what another would have meant for the job.
///
/// # Errors
/// [`FormulaError`] where a figure lies outside what a formula is valid for.
pub fn alternatives(task: &Task, blank: &Blank) -> Result<Vec<Alternative>, FormulaError> {
    let task = &task.with_bar(blank);
    let ways = methods::gather(task, blank)?;
    let Chosen { best: chosen, one_turning_tool, .. } = choose(task, blank, &ways)?;
    let shared = if one_turning_tool { ways.with_one_turning_tool() } else { None };
    let ways = shared.unwrap_or(ways);
    let mut search = Search::new(task, blank, &ways);
    let mut told = Vec::new();
    for (g, group) in ways.groups.iter().enumerate() {
        let mut of_group = Vec::new();
        for (i, way) in group.ways.iter().enumerate() {
            let taken = chosen.picks.get(g) == Some(&i);
            let reason = if taken { String::new() } else { lost(&mut search, &chosen, (g, i))? };
            let time = way.steps.time();
            of_group.push(Alternative { feature: group.feature, way: way.words, time, taken, reason });
        }
        for (work, gap) in &group.ruled_out {
            let reason = format!("not possible: {}", gap.words());
            let (feature, way) = (group.feature, work.word());
            of_group.push(Alternative { feature, way, time: Time::ZERO, taken: false, reason });
        }
        of_group.sort_by_key(|a| !a.taken);
        told.extend(of_group);
    }
    Ok(told)
}

/// Why a way was not taken: no places with it, a purchase, not the usual one, or so much longer.
fn lost(search: &mut Search, chosen: &LaidOut, (group, way): (usize, usize)) -> Result<String, FormulaError> {
    if !chosen.assignment.is_complete() {
        return Ok("not weighed: a tool of the job finds no place anyway".to_owned());
    }
    let mut picks = chosen.picks.clone();
    picks[group] = way;
    let other = search.lay_out(picks)?;
    let mut words = Vec::new();
    if let Some(second) = search.ways.groups[group].ways[way].second {
        words.push(second.to_owned());
    }
    if !other.assignment.is_complete() {
        words.push("not every tool finds a place with it".to_owned());
    } else {
        if other.bought > chosen.bought {
            words.push("it needs a purchase".to_owned());
        }
        let tell = |name: &str, more: Time, words: &mut Vec<String>, least: f64| {
            if more.to_s().abs() >= least {
                let way = if more > Time::ZERO { "longer" } else { "shorter" };
                words.push(format!("{name} {} {way}", more.abs()));
            }
        };
        tell("cycle", other.cycle.total - chosen.cycle.total, &mut words, 0.05);
        let mounts = |j: &LaidOut| mounting(search.task, &j.work, &j.assignment);
        tell("setup", mounts(&other) - mounts(chosen), &mut words, 30.0);
    }
    if words.is_empty() {
        words.push("no better".to_owned());
    }
    Ok(words.join("; "))
}
