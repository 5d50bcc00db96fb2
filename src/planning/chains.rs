//! Two chains of work that share what cannot do two things at once: when each piece of work starts so that both are done
//! as early as can be, and which work goes to which chain.

/// A piece of work in a chain: how long it takes, and the group of carriers that it holds meanwhile.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Link {
    /// Seconds, from 0.
    pub seconds: f64,
    /// Work of one group never goes on in both chains at once; nothing holds nobody up.
    pub group: Option<u32>,
}

/// When each link of two chains starts, in seconds.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Starts {
    pub first: Vec<f64>,
    pub second: Vec<f64>,
    /// When both chains are done.
    pub end: f64,
}

/// A corner of the plane of progress: links done of each chain, and when it is reached at the earliest.
#[derive(Clone, Copy, Debug)]
struct Corner {
    at: (f64, f64),
    seconds: f64,
    from: Option<usize>,
}

/// The earliest common end of two chains in their given orders, exact.
///
/// Progress of the two chains are the axes of a plane; where both would hold one group, a rectangle is forbidden. Both work
/// on at once along the diagonal; at a forbidden rectangle one of them waits. The shortest way from corner to corner to the
/// far end is the earliest end (Akers' geometric method for two jobs, from memory; `tests/chains.rs` holds it against a
/// search over all orders).
pub fn interleave(first: &[Link], second: &[Link]) -> Starts {
    let (xs, ys) = (progress(first), progress(second));
    let (end_x, end_y) = (last(&xs), last(&ys));
    let shares = |i: usize, j: usize| first[i].group.is_some() && first[i].group == second[j].group;
    let no_conflict = !first.iter().any(|a| a.group.is_some() && second.iter().any(|b| a.group == b.group));
    if no_conflict {
        return Starts {
            first: xs[..first.len()].to_vec(),
            second: ys[..second.len()].to_vec(),
            end: end_x.max(end_y),
        };
    }
    let mut corners = vec![Corner { at: (0.0, 0.0), seconds: 0.0, from: None }];
    let mut best: Option<(f64, usize)> = None;
    let mut next = 0;
    // Corners are left in the order of x + y, so each is settled before it is left; there are few of them.
    while next < corners.len() {
        let here = next;
        next += 1;
        let (x, y) = corners[here].at;
        let seconds = corners[here].seconds;
        match obstacle(&xs, &ys, &shares, x, y) {
            None => {
                let end = seconds + (end_x - x).max(end_y - y);
                if best.is_none_or(|(b, _)| end < b - TINY) {
                    best = Some((end, here));
                }
            }
            Some((i, j)) => {
                // The second chain does its work first, or the first its own.
                for (to_x, to_y) in [(xs[i].max(x), ys[j + 1]), (xs[i + 1], ys[j].max(y))] {
                    let arrive = seconds + (to_x - x).max(to_y - y);
                    reach(&mut corners, (to_x, to_y), arrive, here);
                }
            }
        }
    }
    let Some((end, mut corner)) = best else { return Starts::default() };
    let mut way = vec![((end_x, end_y), end)];
    loop {
        way.push((corners[corner].at, corners[corner].seconds));
        match corners[corner].from {
            Some(before) => corner = before,
            None => break,
        }
    }
    way.reverse();
    Starts {
        first: (0..first.len()).map(|i| start(&way, |p| p.0, xs[i])).collect(),
        second: (0..second.len()).map(|j| start(&way, |p| p.1, ys[j])).collect(),
        end,
    }
}

/// Below this two times are one, in seconds.
const TINY: f64 = 1e-9;

fn progress(chain: &[Link]) -> Vec<f64> {
    let mut at = 0.0;
    let mut marks = vec![0.0];
    marks.extend(chain.iter().map(|link| {
        at += link.seconds.max(0.0);
        at
    }));
    marks
}

fn last(marks: &[f64]) -> f64 {
    marks.last().copied().unwrap_or(0.0)
}

/// Adds a corner, or the better way to one that is known; corners that are not left yet stay in the order of x + y.
fn reach(corners: &mut Vec<Corner>, at: (f64, f64), seconds: f64, from: usize) {
    let same = |c: &Corner| (c.at.0 - at.0).abs() < TINY && (c.at.1 - at.1).abs() < TINY;
    if let Some(there) = corners.iter_mut().find(|c| same(c)) {
        if seconds < there.seconds - TINY {
            there.seconds = seconds;
            there.from = Some(from);
        }
        return;
    }
    let sum = at.0 + at.1;
    let place = corners.iter().position(|c| c.at.0 + c.at.1 > sum + TINY).unwrap_or(corners.len());
    // Nothing before the corner being left can be later than it, so the numbers of settled corners stay.
    let place = place.max(from + 1);
    for c in corners.iter_mut() {
        if c.from.is_some_and(|f| f >= place) {
            c.from = c.from.map(|f| f + 1);
        }
    }
    corners.insert(place, Corner { at, seconds, from: Some(from) });
}

/// The first forbidden rectangle that the diagonal from a point runs into.
fn obstacle(xs: &[f64], ys: &[f64], shares: &impl Fn(usize, usize) -> bool, x: f64, y: f64) -> Option<(usize, usize)> {
    let link = |marks: &[f64], at: f64| marks.windows(2).position(|w| at < w[1] - TINY && w[1] - w[0] > TINY);
    let (mut i, mut j) = (link(xs, x)?, link(ys, y)?);
    let (mut at_x, mut at_y) = (x, y);
    loop {
        if shares(i, j) {
            return Some((i, j));
        }
        let step = (xs[i + 1] - at_x).min(ys[j + 1] - at_y);
        at_x += step;
        at_y += step;
        if xs[i + 1] - at_x < TINY {
            i = link(xs, at_x + TINY)?;
        }
        if ys[j + 1] - at_y < TINY {
            j = link(ys, at_y + TINY)?;
        }
    }
}

/// When a link starts: the last moment at which the chain stands at its mark.
fn start(way: &[((f64, f64), f64)], axis: impl Fn((f64, f64)) -> f64, mark: f64) -> f64 {
    let mut begins = 0.0;
    for leg in way.windows(2) {
        let ((from, leaves), (to, _)) = (leg[0], leg[1]);
        let (a, b) = (axis(from), axis(to));
        if a <= mark + TINY && mark < b - TINY {
            // Both chains work from the corner on, and the one that is done sooner waits at the next.
            return leaves + (mark - a).max(0.0);
        }
        if (b - mark).abs() <= TINY {
            begins = leg[1].1;
        }
    }
    begins
}

/// Work that either chain could do: which of it goes to the second so that the longer chain is shortest; exact for any
/// number up to [`MOST_EITHER`].
///
/// Gives one flag for each item: `true` for the second chain. Among equals the first chain keeps more.
///
/// Every split of half the items is listed and sorted; for each split of the other half the best partner is found beside
/// the balance point (meeting in the middle), so 24 items take two lists of 4,096.
pub fn balance(first: f64, second: f64, items: &[(f64, f64)]) -> Vec<bool> {
    let items = &items[..items.len().min(MOST_EITHER)];
    let half = items.len() / 2;
    let splits = |items: &[(f64, f64)]| -> Vec<(f64, f64, u32)> {
        (0u32..1 << items.len())
            .map(|mask| {
                let (mut a, mut b) = (0.0, 0.0);
                for (i, item) in items.iter().enumerate() {
                    if mask & (1 << i) == 0 { a += item.0 } else { b += item.1 }
                }
                (a, b, mask)
            })
            .collect()
    };
    let (low, mut high) = (splits(&items[..half]), splits(&items[half..]));
    // In order of what the first chain has more of than the second.
    high.sort_by(|p, q| (p.0 - p.1).total_cmp(&(q.0 - q.1)).then(p.2.cmp(&q.2)));
    // With equal times on both sides the sum is fixed and the neighbours of the balance point decide; with unequal times the
    // least first chain among the lower and the least second chain among the upper ones count.
    let mut least_second = vec![(f64::INFINITY, 0usize); high.len()];
    let mut least_first = vec![(f64::INFINITY, 0usize); high.len()];
    let mut running = (f64::INFINITY, 0);
    for (i, split) in high.iter().enumerate() {
        if split.1 < running.0 {
            running = (split.1, i);
        }
        least_second[i] = running;
    }
    running = (f64::INFINITY, 0);
    for (i, split) in high.iter().enumerate().rev() {
        if split.0 <= running.0 {
            running = (split.0, i);
        }
        least_first[i] = running;
    }
    let mut best: Option<(f64, u32, u32)> = None;
    for split in &low {
        let lead = (first + split.0) - (second + split.1);
        // Where the first chain leads, its own length counts; below, the second's.
        let border = high.partition_point(|p| lead + (p.0 - p.1) < 0.0);
        let mut candidates = [None; 2];
        if let Some((_, i)) = least_first.get(border) {
            candidates[0] = Some(*i);
        }
        if border > 0 {
            candidates[1] = Some(least_second[border - 1].1);
        }
        for i in candidates.into_iter().flatten() {
            let longer = (first + split.0 + high[i].0).max(second + split.1 + high[i].1);
            let mask = split.2 | (high[i].2 << half);
            let moved = mask.count_ones();
            let better = best
                .is_none_or(|(b, n, m)| longer < b - TINY || ((longer - b).abs() <= TINY && (moved, mask) < (n, m)));
            if better {
                best = Some((longer, moved, mask));
            }
        }
    }
    let mask = best.map_or(0, |(_, _, mask)| mask);
    (0..items.len()).map(|i| mask & (1 << i) != 0).collect()
}

/// The most items that [`balance`] weighs against each other; any beyond stay with the first chain.
pub const MOST_EITHER: usize = 24;
