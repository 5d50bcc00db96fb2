//! Quotes: for each part and order quantity the routes that make it, priced to the cent, best first; families made one
//! after the other with one setup and the changes between them.

use super::fit::{self, Fit};
use super::ranking::{By, Ranking, Row, Standing, rank};
use super::setups;
use crate::costing::{self, Amount, Lead, Lot, LotError, Share};
use crate::model::machine::{Machine, ModeKind};
use crate::model::part::Part;
use crate::model::shop::{Shop, State};
use crate::quantity::Length;
use crate::tables::thresholds::Thresholds;

/// What a quote is asked over.
#[derive(Clone, Copy, Debug)]
pub struct Scope<'a> {
    pub machines: &'a [Machine],
    pub shop: &'a Shop,
    /// Only in this mode, where one is asked for.
    pub mode: Option<ModeKind>,
}

/// A machine in a mode that makes an order, at its price.
#[derive(Clone, Debug)]
pub struct Route {
    pub row: Row,
    pub lot: Lot,
    /// Nothing where the shop file does not say how many hours a year the machine runs.
    pub lead: Option<Lead>,
}

/// An order quantity with its routes, best first: what the shop owns before what is not stated before what it would have
/// to buy, then the lowest price.
#[derive(Clone, Debug)]
pub struct Break {
    pub quantity: u64,
    pub routes: Vec<Route>,
}

/// The best route changes between two order quantities.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Turn {
    /// From so many pieces on.
    pub quantity: u64,
    /// Machine and mode.
    pub from: (usize, ModeKind),
    pub to: (usize, ModeKind),
}

/// Why a part is not quoted.
#[derive(Clone, Debug)]
pub struct Refusal {
    /// All rows, each with what refuses it.
    pub ranking: Ranking,
    /// What would make one of them fit, planned again, with its number: the cheapest.
    pub nearest: Option<(usize, Fit)>,
    /// A route fits, but its order cannot be priced.
    pub unpriced: Option<LotError>,
}

/// The offer for one part.
#[derive(Clone, Debug)]
pub struct Offer {
    /// The quantity asked for: one of the breaks.
    pub asked: u64,
    pub outcome: Result<Priced, Box<Refusal>>,
}

/// A part at its prices.
#[derive(Clone, Debug)]
pub struct Priced {
    /// By ascending quantity, each with at least one route.
    pub breaks: Vec<Break>,
    pub turns: Vec<Turn>,
    /// The members of its family that are made just before it, so that only the change is set up.
    pub after: Vec<String>,
}

impl Priced {
    /// The break at a quantity.
    pub fn at(&self, quantity: u64) -> Option<&Break> {
        self.breaks.iter().find(|b| b.quantity == quantity)
    }
}

/// A part at its own order quantities and those asked for, of which the first is the one that an order would be of; without
/// any, the first of its own.
pub fn offer(part: &Part, scope: Scope, asked: &[u64]) -> Offer {
    let (asked, quantities) = quantities(part, asked);
    let mut breaks = Vec::new();
    for &quantity in &quantities {
        let ranking = ranked(part, scope, quantity);
        match routes(part, scope, &ranking) {
            Ok(routes) if !routes.is_empty() => breaks.push(Break { quantity, routes }),
            Ok(_) => return refused(part, scope, asked, ranking, None),
            Err(e) => return refused(part, scope, asked, ranking, Some(e)),
        }
    }
    let turns = turns(part, scope, &breaks);
    Offer { asked, outcome: Ok(Priced { breaks, turns, after: Vec::new() }) }
}

/// The quantity asked for, and all that are priced, ascending.
fn quantities(part: &Part, asked: &[u64]) -> (u64, Vec<u64>) {
    let mut all: Vec<u64> = asked.iter().chain(&part.orders).copied().collect();
    let first = all.first().copied().unwrap_or(1);
    all.sort_unstable();
    all.dedup();
    (first, all)
}

/// The rows that are asked about at a quantity, ranked by cost.
pub fn ranked(part: &Part, scope: Scope, quantity: u64) -> Ranking {
    let mut ranking = rank(part, scope.machines, scope.shop, Some(quantity), By::Cost);
    ranking.rows.retain(|r| scope.mode.is_none_or(|m| m == r.mode));
    ranking
}

fn routes(part: &Part, scope: Scope, ranking: &Ranking) -> Result<Vec<Route>, LotError> {
    let possible = ranking.rows.iter().filter(|r| r.standing != Standing::Refused);
    let mut routes =
        possible.map(|row| route(part, scope, row.clone(), ranking.quantity, &[])).collect::<Result<Vec<_>, _>>()?;
    sort(&mut routes);
    Ok(routes)
}

/// As a ranking sorts, with the price of the order for the cost of a piece: what is charged beside the machine is the same
/// on all.
fn sort(routes: &mut [Route]) {
    routes.sort_by_key(|r| (r.row.standing, r.lot.total));
}

fn route(part: &Part, scope: Scope, row: Row, quantity: u64, paid: &[Share]) -> Result<Route, LotError> {
    let (shop, machine) = (scope.shop, &scope.machines[row.machine]);
    let (thresholds, rates) =
        (Thresholds::with(&shop.thresholds), costing::rate(shop, shop.machines.get(&machine.name)));
    let plan = &row.judged.plan;
    let lot = Lot::of(part, plan, shop, rates, &thresholds, quantity, paid)?;
    let lead = costing::lead(plan, &lot, shop, &machine.name);
    Ok(Route { row, lot, lead })
}

fn refused(part: &Part, scope: Scope, asked: u64, ranking: Ranking, unpriced: Option<LotError>) -> Offer {
    let fits = ranking.rows.iter().enumerate().filter_map(|(i, row)| {
        let machine = &scope.machines[row.machine];
        fit::fits(part, machine, scope.shop, row, ranking.quantity).into_iter().next().map(|f| (i, f))
    });
    // A price that no spec states comes after every known one.
    let price = |f: &Fit| f.price.map_or(f64::INFINITY, |p| p.to_units());
    let nearest =
        fits.min_by(|a, b| a.1.changes.len().cmp(&b.1.changes.len()).then(price(&a.1).total_cmp(&price(&b.1))));
    Offer { asked, outcome: Err(Box::new(Refusal { ranking, nearest, unpriced })) }
}

/// Where the best route changes between two quantities of a quote: found by halving, each quantity ranked again, since the
/// plan itself may change with the order.
fn turns(part: &Part, scope: Scope, breaks: &[Break]) -> Vec<Turn> {
    let way = |b: &[Route]| b.first().map(|r| (r.row.machine, r.row.mode));
    let best = |quantity| routes(part, scope, &ranked(part, scope, quantity)).ok().and_then(|r| way(&r));
    let mut turns = Vec::new();
    for pair in breaks.windows(2) {
        let (Some(from), Some(to)) = (way(&pair[0].routes), way(&pair[1].routes)) else { continue };
        if from == to {
            continue;
        }
        let (mut below, mut above) = (pair[0].quantity, pair[1].quantity);
        while above - below > 1 {
            let middle = below + (above - below) / 2;
            if best(middle) == Some(to) {
                above = middle;
            } else {
                below = middle;
            }
        }
        turns.push(Turn { quantity: above, from, to });
    }
    turns
}

/// The members of one family made one after the other on one machine: the first is set up, then only what changes.
struct Chain {
    routes: Vec<Route>,
    standing: Standing,
    total: Amount,
}

/// The offers for the members of a family, which share a machine and a mode at each order quantity. A member that the
/// others' machine refuses, or orders that differ, are offered by themselves.
pub fn family(parts: &[&Part], scope: Scope, asked: &[u64]) -> Vec<Offer> {
    let alone = || parts.iter().map(|p| offer(p, scope, asked)).collect();
    let Some(first) = parts.first() else { return Vec::new() };
    if parts.len() == 1 || parts.iter().any(|p| p.orders != first.orders) {
        return alone();
    }
    let (asked, quantities) = quantities(first, asked);
    let mut breaks: Vec<Vec<Break>> = vec![Vec::new(); parts.len()];
    for &quantity in &quantities {
        let chains = chains(parts, scope, quantity);
        if chains.is_empty() {
            return alone();
        }
        let mut of_member: Vec<Vec<Route>> = vec![Vec::new(); parts.len()];
        for chain in chains {
            of_member.iter_mut().zip(chain.routes).for_each(|(routes, route)| routes.push(route));
        }
        for (breaks, routes) in breaks.iter_mut().zip(of_member) {
            breaks.push(Break { quantity, routes });
        }
    }
    let made_before = |i: usize| parts[..i].iter().map(|p| p.name.clone()).collect();
    let offer = |(i, breaks)| Offer { asked, outcome: Ok(Priced { breaks, turns: Vec::new(), after: made_before(i) }) };
    breaks.into_iter().enumerate().map(offer).collect()
}

/// Every machine and mode that makes all members, the cheapest chain first.
fn chains(parts: &[&Part], scope: Scope, quantity: u64) -> Vec<Chain> {
    let modes = scope.machines.iter().enumerate().flat_map(|(i, m)| m.modes.iter().map(move |mode| (i, mode.kind)));
    let wanted = modes.filter(|(_, kind)| scope.mode.is_none_or(|m| m == *kind));
    let mut chains: Vec<Chain> = wanted.filter_map(|(i, kind)| chain(parts, scope, i, kind, quantity)).collect();
    chains.sort_by_key(|c| (c.standing, c.total));
    chains
}

fn chain(parts: &[&Part], scope: Scope, machine: usize, mode: ModeKind, quantity: u64) -> Option<Chain> {
    let on = &scope.machines[machine];
    let mut now: Vec<State> = scope.shop.machines.get(&on.name).map_or_else(Vec::new, |m| m.now.clone());
    if now.is_empty() {
        now.push(State::default());
    }
    let mut routes: Vec<Route> = Vec::new();
    for (i, part) in parts.iter().enumerate() {
        // The family's program has run by the time of its second member.
        let job = Part { orders: vec![quantity], repeat: part.repeat || i > 0, ..(*part).clone() };
        let changes = now.iter().filter_map(|state| setups::to_job(&job, on, Some(mode), scope.shop, state));
        let change = changes.min_by(|a, b| a.setup.total.total_cmp(&b.setup.total)).filter(|c| c.is_possible())?;
        now = vec![change.left.state];
        let row = Row { machine, ..change.row };
        let paid = paid_before(&routes, &row);
        routes.push(route(part, scope, row, quantity, &paid).ok()?);
    }
    let standing = routes.iter().map(|r| r.row.standing).max()?;
    let total = routes.iter().map(|r| r.lot.total).sum();
    Some(Chain { routes, standing, total })
}

/// What earlier members of a family have bought for this one as well: the special collet where it grips the same diameter, and
/// collets and bushing where the bar is the same too.
fn paid_before(earlier: &[Route], row: &Row) -> Vec<Share> {
    let grip = |r: &Row| r.judged.plan.hand_over.as_ref().map(|h| h.dia);
    let near = |a: Length, b: Length| (a - b).abs() < Length::um(1.0);
    let same_grip = |r: &Row| match (grip(r), grip(row)) {
        (Some(a), Some(b)) => near(a, b),
        (a, b) => a == b,
    };
    let same_bar = |r: &Row| near(r.judged.plan.blank.size, row.judged.plan.blank.size);
    let mut paid = Vec::new();
    if earlier.iter().any(|r| same_grip(&r.row)) {
        paid.push(Share::SpecialCollet);
    }
    if earlier.iter().any(|r| same_grip(&r.row) && same_bar(&r.row)) {
        paid.push(Share::Collets);
    }
    paid
}
