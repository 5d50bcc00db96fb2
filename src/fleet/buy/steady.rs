//! Plans of one shop in outlooks that lie beside each other. Each is searched; then every plan is tried in every other outlook,
//! so that none stays behind for want of luck. Where one figure can only help, such as hours, a plan of the harder case is one of
//! the easier case too: what is left over then never falls from the harder to the easier case.

use super::base::{Best, Places, Variant, best};
use super::choices::Floor;
use super::outlook::Outlook;
use super::sets::{Fault, Judge};
use super::tornado::{FACTORS, Moved};
use crate::costing::Amount;
use rayon::prelude::*;
use std::collections::BTreeMap;

/// The factor that changes nothing.
const PLAIN: usize = FACTORS.len() / 2;
/// Times that plans of easier cases are tried as planned.
const ROUNDS: usize = 3;

/// What is left over in each outlook.
#[derive(Clone, Debug)]
pub struct Steady {
    /// As planned: no worse than what it came from.
    pub plain: Best,
    /// At each of [`FACTORS`].
    pub moved: BTreeMap<Moved, [Amount; FACTORS.len()]>,
    /// Every plan that was found.
    pub known: Vec<Places>,
}

/// One shop with the ways to run it.
struct Desk<'a> {
    judge: &'a Judge<'a>,
    floor: &'a Floor,
    ways: &'a [Variant],
    known: Vec<Places>,
}

impl Desk<'_> {
    fn outlook(&self, moved: Moved, at: usize) -> Outlook {
        moved.outlook(&self.judge.outlook, FACTORS[at])
    }

    /// The better of a plan and of what comes of others.
    fn better(&self, outlook: &Outlook, now: Best, known: &[Places]) -> Best {
        self.judge.asked.better(now, self.floor, outlook, self.ways, known)
    }

    /// The plan as it is planned, tried again until nothing more comes of it.
    fn plain(&self, mut now: Best, known: &[Places]) -> Best {
        let mut known = known.to_vec();
        loop {
            known.push(now.places());
            let next = self.better(&self.judge.outlook, now.clone(), &known);
            if !next.is_better_than(&now) {
                return now;
            }
            (now, known) = (next, Vec::new());
        }
    }

    /// From the harder end of a figure to the easier: what fits the harder case fits the next. `before` comes first.
    fn chain(&self, moved: Moved, at: &[usize], before: &Best, found: &mut BTreeMap<(Moved, usize), Best>) {
        let mut last = before.clone();
        for at in at {
            let Some(now) = found.remove(&(moved, *at)) else { continue };
            last = self.better(&self.outlook(moved, *at), now, &[last.places()]);
            found.insert((moved, *at), last.clone());
        }
    }
}

/// Searches every outlook of the tornado for one shop. `plain` is its plan, and `known` are plans from elsewhere.
///
/// # Errors
/// [`Fault`].
pub fn steady(judge: &Judge, floor: &Floor, plain: &Best, ways: &[Variant], known: &[Places]) -> Result<Steady, Fault> {
    let mut desk = Desk { judge, floor, ways, known: known.to_vec() };
    desk.known.push(plain.places());
    let asked: Vec<(Moved, usize)> = Moved::PLANNED
        .into_iter()
        .flat_map(|m| (0..FACTORS.len()).filter(|at| *at != PLAIN).map(move |at| (m, at)))
        .collect();
    let search = |(moved, at): &(Moved, usize)| -> Result<Vec<Best>, Fault> {
        let outlook = desk.outlook(*moved, *at);
        ways.iter().map(|way| Ok(judge.asked.planned(floor, &outlook, *way)?)).collect()
    };
    let searched = asked.par_iter().map(search).collect::<Result<Vec<_>, Fault>>()?;
    desk.known.extend(searched.iter().flatten().map(Best::places));
    desk.known.sort_unstable();
    desk.known.dedup();
    let all = desk.known.clone();
    let mut found: BTreeMap<(Moved, usize), Best> = BTreeMap::new();
    let tried: Vec<_> = asked.into_iter().zip(searched).collect();
    let tried: Vec<_> = tried
        .into_par_iter()
        .filter_map(|((moved, at), plans)| {
            let outlook = desk.outlook(moved, at);
            Some(((moved, at), desk.better(&outlook, best(plans)?, &all)))
        })
        .collect();
    found.extend(tried);
    let mut now = desk.plain(plain.clone(), &all);
    for moved in Moved::PLANNED {
        let (hard, _) = moved.hard_to_easy();
        // Nothing comes before the hardest but itself.
        if let Some(first) = hard.first().and_then(|at| found.get(&(moved, *at))).cloned() {
            desk.chain(moved, hard, &first, &mut found);
        }
    }
    let places = |found: &BTreeMap<(Moved, usize), Best>| found.values().map(Best::places).collect::<Vec<_>>();
    for _ in 0..ROUNDS {
        let next = desk.plain(now.clone(), &places(&found));
        for moved in Moved::PLANNED {
            desk.chain(moved, moved.hard_to_easy().1, &next, &mut found);
        }
        let more = next.is_better_than(&now);
        now = next;
        if !more {
            break;
        }
    }
    let left = |moved: Moved, at: usize| found.get(&(moved, at)).map_or(now.left_over, |b| b.left_over);
    let moved = Moved::PLANNED.into_iter().map(|m| (m, std::array::from_fn(|at| left(m, at)))).collect();
    let mut known = places(&found);
    known.push(now.places());
    known.sort_unstable();
    known.dedup();
    Ok(Steady { plain: Best { most: plain.most, ..now }, moved, known })
}
