//! The best load of one machine at given prices of the jobs: a knapsack.
//!
//! Profits are whole numbers held in floats, so that every sum is exact and the same on every machine.

use std::ops::Add;

/// Largest whole number up to which an `f32` holds all of them.
pub(super) const EXACT_F32: f64 = 16_777_216.0;
/// Most columns of a table; larger capacities are laid on a grid.
pub(super) const MOST_CELLS: usize = 4096;

/// Something to load.
#[derive(Clone, Copy, Debug)]
pub(super) struct Item {
    pub(super) takes: i64,
    /// Profit, a whole number.
    pub(super) profit: f64,
}

/// Working memory, kept from call to call.
#[derive(Default)]
pub(super) struct Tables {
    narrow: Vec<f32>,
    wide: Vec<f64>,
    order: Vec<usize>,
    core: Vec<Item>,
    core_ids: Vec<usize>,
}

pub(super) trait Cell: Copy + PartialOrd + Add<Output = Self> + Default {
    fn of(profit: f64) -> Self;
    fn profit(self) -> f64;
}

impl Cell for f32 {
    fn of(profit: f64) -> Self {
        profit as Self
    }
    fn profit(self) -> f64 {
        f64::from(self)
    }
}

impl Cell for f64 {
    fn of(profit: f64) -> Self {
        profit
    }
    fn profit(self) -> f64 {
        self
    }
}

/// One row of the table from the row before: with room `w`, the item is taken where that is better.
pub(super) fn next_row<T: Cell>(before: &[T], row: &mut [T], takes: usize, profit: T) {
    let takes = takes.min(row.len());
    row[..takes].copy_from_slice(&before[..takes]);
    for ((cell, without), with) in row[takes..].iter_mut().zip(&before[takes..]).zip(before) {
        let with = *with + profit;
        *cell = if with > *without { with } else { *without };
    }
}

/// Fills the table for `items` and reads back which are taken. Returns the best profit.
fn fill<T: Cell>(table: &mut Vec<T>, items: &[Item], grid: i64, cells: usize, mut take: impl FnMut(usize)) -> f64 {
    let width = cells + 1;
    table.clear();
    table.resize(width * (items.len() + 1), T::default());
    for (t, item) in items.iter().enumerate() {
        let (before, row) = table[t * width..(t + 2) * width].split_at_mut(width);
        next_row(before, row, (item.takes / grid) as usize, T::of(item.profit));
    }
    let mut w = cells;
    for (t, item) in items.iter().enumerate().rev() {
        if table[(t + 1) * width + w] != table[t * width + w] {
            take(t);
            w -= (item.takes / grid) as usize;
        }
    }
    table[items.len() * width + cells].profit()
}

/// Greatest profit of items that fit into `room`, or with capacities beyond [`MOST_CELLS`] a ceiling on it, and in `taken`
/// the items that give it.
///
/// Items that the bound of the linear relaxation already decides are left out of the table (R. S. Dembo and P. L. Hammer,
/// A reduction algorithm for knapsack problems, Methods of Operations Research 36, 1980); the rest is Bellman's recursion.
/// On a coarse grid uses are rounded down, so that nothing that fits is lost and the value stays a ceiling.
pub(super) fn best_load(items: &[Item], room: i64, tables: &mut Tables, taken: &mut Vec<bool>) -> f64 {
    taken.clear();
    taken.resize(items.len(), false);
    let Tables { narrow, wide, order, core, core_ids } = tables;
    order.clear();
    let (mut weight, mut profit) = (0, 0.0);
    for (i, item) in items.iter().enumerate() {
        if item.profit > 0.0 && item.takes <= room {
            order.push(i);
            weight += item.takes;
            profit += item.profit;
        }
    }
    if weight <= room {
        order.iter().for_each(|i| taken[*i] = true);
        return profit;
    }
    let by_worth = |a: &usize, b: &usize| {
        let (a, b) = (&items[*a], &items[*b]);
        (b.profit * a.takes as f64).total_cmp(&(a.profit * b.takes as f64))
    };
    order.sort_by(by_worth);
    // As much as fits in order of worth; the first that does not fit is the break item.
    let (mut left, mut loaded, mut split) = (room, 0.0, 0);
    while items[order[split]].takes <= left {
        left -= items[order[split]].takes;
        loaded += items[order[split]].profit;
        split += 1;
    }
    let brink = &items[order[split]];
    let rate = brink.profit / brink.takes as f64;
    let ceiling = (loaded + left as f64 * rate).floor();
    let (mut floor, mut rest) = (loaded, left);
    for i in &order[split..] {
        if items[*i].takes <= rest {
            rest -= items[*i].takes;
            floor += items[*i].profit;
        }
    }
    core.clear();
    core_ids.clear();
    let mut sure = 0.0;
    let mut space = room;
    for (rank, i) in order.iter().enumerate() {
        let item = &items[*i];
        let turned = if rank < split {
            loaded - item.profit + (left + item.takes) as f64 * rate
        } else {
            loaded + item.profit + (left - item.takes) as f64 * rate
        };
        if turned >= floor - 0.5 {
            core.push(*item);
            core_ids.push(*i);
        } else if rank < split {
            taken[*i] = true;
            sure += item.profit;
            space -= item.takes;
        }
    }
    let most: f64 = core.iter().map(|item| item.profit).sum();
    let grid = 1 + space / MOST_CELLS as i64;
    let cells = (space / grid) as usize;
    let value = if most < EXACT_F32 {
        fill(narrow, core, grid, cells, |t| taken[core_ids[t]] = true)
    } else {
        fill(wide, core, grid, cells, |t| taken[core_ids[t]] = true)
    };
    (sure + value).min(ceiling)
}

/// What the best load loses when an item must be taken, and when it must not.
#[derive(Clone, Copy, Debug)]
pub(super) struct Loss {
    pub(super) taken: f64,
    pub(super) left: f64,
}

/// [`Loss`] of every item, from tables filled from both ends, and the greatest profit.
pub(super) fn losses(items: &[Item], room: i64) -> (f64, Vec<Loss>) {
    let grid = 1 + room / MOST_CELLS as i64;
    let width = (room / grid) as usize + 1;
    let cells = |item: &Item| (item.takes / grid) as usize;
    // Items of no profit are never loaded of free will, so they need no row.
    let gainful: Vec<usize> = (0..items.len()).filter(|i| items[*i].profit > 0.0).collect();
    let fill_all = |order: &mut dyn Iterator<Item = usize>| {
        let mut table = vec![0.0; width * (gainful.len() + 1)];
        for (t, i) in order.enumerate() {
            let (before, row) = table[t * width..(t + 2) * width].split_at_mut(width);
            next_row(before, row, cells(&items[i]), items[i].profit);
        }
        table
    };
    let forward = fill_all(&mut gainful.iter().copied());
    let backward = fill_all(&mut gainful.iter().rev().copied());
    let last = &forward[gainful.len() * width..];
    let best = last[width - 1];
    let mut losses: Vec<Loss> = items
        .iter()
        .map(|item| match (width - 1).checked_sub(cells(item)) {
            Some(w) => Loss { taken: best - item.profit - last[w], left: 0.0 },
            None => Loss { taken: f64::INFINITY, left: 0.0 },
        })
        .collect();
    for (t, i) in gainful.iter().enumerate() {
        let before = &forward[t * width..(t + 1) * width];
        let after = &backward[(gainful.len() - 1 - t) * width..(gainful.len() - t) * width];
        let with_room =
            |w: usize| before[..=w].iter().zip(after[..=w].iter().rev()).fold(0.0_f64, |most, (a, b)| most.max(a + b));
        losses[*i].left = best - with_room(width - 1);
        if let Some(w) = (width - 1).checked_sub(cells(&items[*i])) {
            losses[*i].taken = best - items[*i].profit - with_room(w);
        }
    }
    (best, losses)
}
