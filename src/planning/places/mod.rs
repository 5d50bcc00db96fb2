//! Tools against places: which tool stands where. The assignment is exact; where it has no solution, the smallest set of
//! tools that compete for too few places is found and named.

mod seats;

use super::Task;
use super::operation::{Tool, WorkList};
use crate::model::machine::Machine;
use crate::quantity::{Angle, Length, Time};
pub(crate) use seats::largest_holder;
pub use seats::{Obstacle, Seat, seats_for, setting_kind, travel_needed};

/// Places of one kind on one carrier.
#[derive(Clone, Debug, PartialEq)]
pub struct Row {
    /// A number in `Machine::carriers`.
    pub carrier: usize,
    pub live: bool,
    /// Pockets of the magazine that feeds the carrier.
    pub pocket: bool,
    pub places: u32,
    /// From one tool to the next.
    pub change: Time,
}

impl Row {
    /// In words: `4 live places of cross`.
    pub fn words(&self, machine: &Machine) -> String {
        let name = &machine.carriers[self.carrier].name;
        let kind = match (self.pocket, self.live) {
            (true, _) => "pocket",
            (false, true) => "live place",
            (false, false) => "fixed place",
        };
        format!("{} {kind}{} of `{name}`", self.places, if self.places == 1 { "" } else { "s" })
    }
}

/// The rows of places that a machine has.
pub fn rows(machine: &Machine) -> Vec<Row> {
    let mut rows = Vec::new();
    for (carrier, c) in machine.carriers.iter().enumerate() {
        let index = c.index.map_or(Time::s(1.0), |i| i.value);
        if c.fixed_places > 0 {
            rows.push(Row { carrier, live: false, pocket: false, places: c.fixed_places, change: index });
        }
        if c.live_places > 0 {
            match machine.magazine.as_ref().filter(|m| m.feeds == c.name) {
                Some(m) => rows.push(Row {
                    carrier,
                    live: true,
                    pocket: true,
                    places: m.pockets,
                    change: m.change.map_or(Time::s(4.0), |t| t.value),
                }),
                None => rows.push(Row { carrier, live: true, pocket: false, places: c.live_places, change: index }),
            }
        }
    }
    rows
}

/// Where a tool stands.
#[derive(Clone, Debug, PartialEq)]
pub struct Placed {
    /// A number in [`Assignment::rows`].
    pub row: usize,
    /// The first place that it takes, counted from 1.
    pub place: u32,
    pub width: u32,
    pub attachment: Option<usize>,
}

/// Tools that ask for more places than there are.
#[derive(Clone, Debug, PartialEq)]
pub struct Competition {
    /// Numbers of the tools.
    pub tools: Vec<usize>,
    /// Numbers of the rows that they could stand in.
    pub rows: Vec<usize>,
    pub wanted: u32,
    pub there: u32,
}

/// The tools of a plan in their places.
#[derive(Clone, Debug, PartialEq)]
pub struct Assignment {
    pub rows: Vec<Row>,
    /// For each tool its place, where it has one.
    pub placed: Vec<Option<Placed>>,
    /// Tools that no place takes, and why.
    pub obstacles: Vec<(usize, Obstacle)>,
    pub competition: Option<Competition>,
    /// Attachments wanted beyond what is at hand: the number in `Machine::options`, wanted, at hand.
    pub short_of: Option<(usize, u32, u32)>,
}

impl Assignment {
    /// Every tool has a place.
    pub fn is_complete(&self) -> bool {
        self.placed.iter().all(Option::is_some)
    }

    /// Places left in a row.
    pub fn free(&self, row: usize) -> u32 {
        let used: u32 = self.placed.iter().flatten().filter(|p| p.row == row).map(|p| p.width).sum();
        self.rows[row].places.saturating_sub(used)
    }

    /// How many of an attachment the plan uses.
    pub fn attachments_used(&self, attachment: usize) -> u32 {
        self.placed.iter().flatten().filter(|p| p.attachment == Some(attachment)).count() as u32
    }

    /// The carrier that a tool stands on.
    pub fn carrier_of(&self, tool: usize) -> Option<usize> {
        self.placed.get(tool)?.as_ref().map(|p| self.rows[p.row].carrier)
    }

    /// The change from another tool to this one.
    pub fn change_to(&self, tool: usize) -> Time {
        self.placed.get(tool).and_then(Option::as_ref).map_or(Time::s(1.0), |p| self.rows[p.row].change)
    }
}

/// How many nodes the exact search may visit before it keeps the best assignment found. The demo stays below a hundred.
const MOST_NODES: u32 = 20_000;

/// The seats of tools, found once for tools that ask the same of their place.
#[derive(Clone, Debug)]
pub struct SeatBook {
    rows: Vec<Row>,
    known: Vec<(Tool, Result<Vec<Seat>, Obstacle>)>,
}

impl SeatBook {
    /// An empty book for the machine of a task.
    pub fn new(task: &Task) -> SeatBook {
        SeatBook { rows: rows(task.machine), known: Vec::with_capacity(16) }
    }

    /// The rows of places of the machine.
    pub(crate) fn rows(&self) -> &[Row] {
        &self.rows
    }

    /// Lets a row of places have only so many.
    pub(crate) fn limit(&mut self, row: usize, places: u32) {
        self.rows[row].places = places;
    }

    /// The rows in which a tool has a seat.
    pub(crate) fn rows_of(&mut self, task: &Task, tool: &Tool) -> impl Iterator<Item = usize> + '_ {
        let at = self.entry(task, tool);
        self.known[at].1.iter().flatten().map(|seat| seat.row)
    }

    /// Whether no place takes a tool.
    pub(crate) fn is_seatless(&mut self, task: &Task, tool: &Tool) -> bool {
        let at = self.entry(task, tool);
        self.known[at].1.is_err()
    }

    /// The number of the entry of a tool, its seats cheapest first.
    fn entry(&mut self, task: &Task, tool: &Tool) -> usize {
        self.known.iter().position(|(known, _)| known.seats_like(tool)).unwrap_or_else(|| {
            let mut found = seats_for(task, &self.rows, tool);
            if let Ok(seats) = &mut found {
                seats.sort_by(|a, b| a.cost.total_cmp(&b.cost).then(a.row.cmp(&b.row)));
            }
            self.known.push((tool.clone(), found));
            self.known.len() - 1
        })
    }
}

/// Assigns tools to places at least cost (mounting time and change time).
pub fn assign(task: &Task, work: &WorkList) -> Assignment {
    assign_from(task, &mut SeatBook::new(task), work)
}

/// As [`assign`], with the seats of a book that is kept from one call to the next.
pub fn assign_from(task: &Task, book: &mut SeatBook, work: &WorkList) -> Assignment {
    let entries: Vec<usize> = work.tools.iter().map(|tool| book.entry(task, tool)).collect();
    let mut all: Vec<&[Seat]> = Vec::with_capacity(entries.len());
    let mut obstacles = Vec::new();
    for (i, entry) in entries.iter().enumerate() {
        match &book.known[*entry].1 {
            Ok(seats) => all.push(seats),
            Err(obstacle) => {
                obstacles.push((i, obstacle.clone()));
                all.push(&[]);
            }
        }
    }
    let rows = book.rows.clone();
    let mut order: Vec<usize> = (0..all.len()).filter(|i| !all[*i].is_empty()).collect();
    // Tools with fewest seats first, wide ones before narrow ones.
    order.sort_by_key(|i| (all[*i].len(), std::cmp::Reverse(all[*i].iter().map(|s| s.width).max()), *i));
    let mut search = Search {
        seats: &all,
        order: &order,
        left: rows.iter().map(|r| r.places).collect(),
        heads: task.machine.options.iter().map(|o| task.available(o)).collect(),
        chosen: vec![None; all.len()],
        cost: 0.0,
        best: None,
        nodes: 0,
        least: order.iter().map(|i| all[*i].iter().map(|s| s.cost).fold(f64::INFINITY, f64::min)).collect(),
    };
    search.go(0);
    let found = search.best.take();
    let mut placed: Vec<Option<Placed>> = vec![None; all.len()];
    let (mut competition, mut short_of) = (None, None);
    match found {
        Some((_, chosen)) => {
            let mut next: Vec<u32> = vec![1; rows.len()];
            for (tool, seat) in chosen.iter().enumerate() {
                if let Some(seat) = seat.and_then(|s| all[tool].get(s)) {
                    placed[tool] = Some(Placed {
                        row: seat.row,
                        place: next[seat.row],
                        width: seat.width,
                        attachment: seat.attachment,
                    });
                    next[seat.row] += seat.width;
                }
            }
        }
        None => {
            competition = smallest_competition(&rows, &all);
            if competition.is_none() {
                short_of = scarce_attachment(task, &all);
            }
        }
    }
    Assignment { rows, placed, obstacles, competition, short_of }
}

struct Search<'a> {
    seats: &'a [&'a [Seat]],
    order: &'a [usize],
    left: Vec<u32>,
    heads: Vec<u32>,
    chosen: Vec<Option<usize>>,
    cost: f64,
    best: Option<(f64, Vec<Option<usize>>)>,
    nodes: u32,
    /// The cheapest seat of each tool in `order`: what is still to come costs at least this.
    least: Vec<f64>,
}

impl Search<'_> {
    fn go(&mut self, at: usize) {
        self.nodes += 1;
        let to_come: f64 = self.least[at..].iter().sum();
        if self.nodes > MOST_NODES || self.best.as_ref().is_some_and(|(c, _)| self.cost + to_come >= *c - 1e-9) {
            return;
        }
        let Some(&tool) = self.order.get(at) else {
            self.best = Some((self.cost, self.chosen.clone()));
            return;
        };
        for i in 0..self.seats[tool].len() {
            let seat = &self.seats[tool][i];
            let head_left = seat.attachment.is_none_or(|a| self.heads[a] > 0);
            if self.left[seat.row] < seat.width || !head_left {
                continue;
            }
            self.left[seat.row] -= seat.width;
            if let Some(a) = seat.attachment {
                self.heads[a] -= 1;
            }
            self.chosen[tool] = Some(i);
            self.cost += seat.cost;
            self.go(at + 1);
            self.cost -= seat.cost;
            self.chosen[tool] = None;
            self.left[seat.row] += seat.width;
            if let Some(a) = seat.attachment {
                self.heads[a] += 1;
            }
        }
    }
}

/// The smallest set of rows whose places are fewer than the tools that can stand nowhere else ask for (Hall's condition).
fn smallest_competition(rows: &[Row], all: &[&[Seat]]) -> Option<Competition> {
    let n = rows.len().min(16);
    let mut smallest: Option<Competition> = None;
    for set in 1u32..(1 << n) {
        let within = |seat: &Seat| seat.row < n && set & (1 << seat.row) != 0;
        let tools: Vec<usize> = (0..all.len()).filter(|t| !all[*t].is_empty() && all[*t].iter().all(within)).collect();
        let wanted: u32 = tools.iter().map(|t| all[*t].iter().map(|s| s.width).min().unwrap_or(0)).sum();
        let rows_in: Vec<usize> = (0..n).filter(|r| set & (1 << r) != 0).collect();
        let there: u32 = rows_in.iter().map(|r| rows[*r].places).sum();
        if wanted > there && smallest.as_ref().is_none_or(|s| tools.len() < s.tools.len()) {
            smallest = Some(Competition { tools, rows: rows_in, wanted, there });
        }
    }
    smallest
}

/// The attachment of which more are wanted than are at hand, where places alone would do.
fn scarce_attachment(task: &Task, all: &[&[Seat]]) -> Option<(usize, u32, u32)> {
    task.machine.options.iter().enumerate().find_map(|(i, option)| {
        let only_by_it = |seats: &&&[Seat]| !seats.is_empty() && seats.iter().all(|s| s.attachment == Some(i));
        let wanted = all.iter().filter(only_by_it).count() as u32;
        let there = task.available(option);
        (wanted > there).then_some((i, wanted, there))
    })
}

/// A whole number of steps from the low end, within an allowed deviation.
pub(crate) fn on_step(angle: Angle, low: Angle, step: Angle, tolerance: Angle) -> bool {
    if step <= Angle::ZERO {
        return true;
    }
    let steps = (angle - low) / step;
    let off = (steps - steps.round()).abs() * step.to_deg();
    off <= tolerance.to_deg() + 1e-9
}

/// The diameter that a holder takes, where it takes round tools.
pub(crate) fn round_capacity(holder: crate::model::machine::Holder) -> Length {
    match holder {
        crate::model::machine::Holder::Shank(w, _) => w,
        crate::model::machine::Holder::Sleeve(d) | crate::model::machine::Holder::Collet(d) => d,
    }
}
