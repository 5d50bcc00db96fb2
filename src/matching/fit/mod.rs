//! What would make a refused row fit: changes are searched and verified by planning again, the least first.
//!
//! A change is a lever with a value: an attachment bought, an end no longer pinned, a bar of another grade, a tolerance or a
//! demand widened, a figure that another machine would state. A lever that lifts some refusal is brought down to the least
//! value that still does; where no single one lifts all, pairs are tried, and beside the best pair a third.

mod lever;

use super::finding::{Figure, Verdict};
use super::ranking::{By, Row, Standing, rank};
use crate::model::machine::{AddedMethod, Machine, ModeKind, Side};
use crate::model::part::{BarShape, Part};
use crate::model::shop::Shop;
use crate::quantity::Money;
use lever::{Lever, size_of};

/// The question with every part of it open to change.
#[derive(Clone, Debug)]
struct Question {
    part: Part,
    machine: Machine,
    mode: ModeKind,
    shop: Shop,
}

/// What a change is made to: cheap ones stand before dear ones.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, serde::Serialize, schemars::JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Where {
    /// The plan or the bar.
    Shop,
    Purchase,
    /// The customer must agree.
    Drawing,
    /// What another machine would state.
    Machine,
}

/// One change.
#[derive(Clone, Debug, PartialEq)]
pub struct Change {
    pub at: Where,
    /// `1 more of `whirling``, `land-1 toleranced to 14 um`.
    pub words: String,
    pub price: Option<Money>,
}

/// Changes that together make a row fit, verified by planning again.
#[derive(Clone, Debug)]
pub struct Fit {
    pub changes: Vec<Change>,
    /// Of all changes, where each states one; changes to plan and drawing count as none.
    pub price: Option<Money>,
    /// The row with the changes made.
    pub row: Row,
    /// What was planned again: part, machine and shop with the changes made.
    pub with: (Part, Machine, Shop),
}

/// How often a least value is halved: to a thousandth of the way.
const HALVINGS: u32 = 10;
/// Levers that lift something are combined in pairs up to so many.
const MOST_PAIRED: usize = 14;

impl Question {
    /// The question with levers at values; the way of holding first, since others change its figures.
    fn changed(&self, levers: &[(&Lever, f64)]) -> Question {
        let mut q = self.clone();
        let (holding, others): (Vec<_>, Vec<_>) = levers.iter().partition(|(l, _)| **l == Lever::Guide);
        for (lever, value) in holding.into_iter().chain(others) {
            lever.apply(&mut q, value);
        }
        q
    }

    /// The row with levers at values, and how many refusals it has.
    fn ask(&self, levers: &[(&Lever, f64)], quantity: u64) -> Option<(Row, usize)> {
        let q = self.changed(levers);
        let machines = std::slice::from_ref(&q.machine);
        let ranking = rank(&q.part, machines, &q.shop, Some(quantity), By::Cost);
        let row = ranking.rows.into_iter().find(|r| r.mode == q.mode)?;
        let refused = row.judged.findings.iter().filter(|f| f.verdict == Verdict::Refused).count();
        let refused = if row.standing == Standing::Refused { refused.max(1) } else { 0 };
        Some((row, refused))
    }

    /// Everything that could be otherwise and has to do with what is refused.
    fn levers(&self, row: &Row) -> Vec<Lever> {
        let m = &self.machine;
        let mut levers: Vec<Lever> = (0..m.options.len()).map(Lever::Own).collect();
        let pinned = self.part.first_end.is_some() || self.part.features.iter().any(|f| f.made_from.is_some());
        if pinned {
            levers.push(Lever::FreeEnd);
        }
        // Hexagonal and square bar is drawn, and sold no finer.
        if row.judged.plan.blank.shape == BarShape::Round {
            levers.push(Lever::Grade);
        }
        let refused = row.judged.findings.iter().filter(|f| f.verdict == Verdict::Refused);
        for feature in refused.filter_map(|f| f.feature) {
            let toleranced = size_of(&self.part.features[feature].kind).is_some_and(|s| s.tolerance().is_some());
            if self.part.features[feature].kind.finish().is_some() && !levers.contains(&Lever::Finish(feature)) {
                levers.push(Lever::Finish(feature));
            }
            let lever = Lever::Tolerance(feature);
            if toleranced && !levers.contains(&lever) {
                levers.push(lever);
            }
            for (i, _) in self.part.demands.iter().enumerate().filter(|(_, d)| d.feature == feature) {
                let lever = Lever::Demand(i);
                if !levers.contains(&lever) {
                    levers.push(lever);
                }
            }
        }
        // What a thin part lacks: a collet for what is gripped, bar as thin as it.
        for f in row.judged.findings.iter().filter(|f| f.verdict == Verdict::Refused) {
            if let (Figure::Length(asked), Figure::Length(offered)) = (&f.asked, &f.offered)
                && asked < offered
            {
                match f.rule {
                    "hand-over" => levers.push(Lever::SubCollet(*asked)),
                    "bar-range" => levers.push(Lever::ThinBar(*asked)),
                    _ => {}
                }
            }
        }
        if self.mode != ModeKind::Guided {
            levers.push(Lever::Guide);
        }
        let general = [
            Lever::Stroke,
            Lever::Spread,
            Lever::Runout,
            Lever::Roundness,
            Lever::SpindleTorque,
            Lever::Coolant,
            Lever::StickOut,
            Lever::BarRange,
            Lever::Clamp,
            Lever::SubClamp,
            Lever::Swallow,
            Lever::Orientation,
        ];
        levers.extend(general);
        for (i, c) in m.carriers.iter().enumerate() {
            if c.fixed_places > 0 {
                levers.push(Lever::Places { carrier: i, live: false });
            }
            levers.push(Lever::Holder(i));
            if c.live_places > 0 {
                let fed = m.magazine.as_ref().is_some_and(|mag| mag.feeds == c.name);
                if !fed {
                    levers.push(Lever::Places { carrier: i, live: true });
                }
                let offered = m.options.iter().any(|o| o.method == Some(AddedMethod::Whirling));
                if !offered && c.live_places > 1 && c.serves(Side::Main) {
                    levers.push(Lever::Whirling(i));
                }
                let live = [
                    Lever::YTravel(i),
                    Lever::LiveSpeed(i),
                    Lever::LiveTorque(i),
                    Lever::Angles(i),
                    Lever::Contouring(i),
                ];
                levers.extend(live);
            }
        }
        levers
    }

    /// How many refusals are left with levers as far as they go.
    fn left(&self, levers: &[&Lever], quantity: u64) -> Option<usize> {
        let far: Vec<(&Lever, f64)> = levers.iter().map(|l| (*l, l.range(self).1)).collect();
        self.ask(&far, quantity).map(|(_, left)| left)
    }

    /// Levers that together lift every refusal, one after the other brought down to the least value that still does.
    fn brought_down(&self, levers: &[&Lever], quantity: u64) -> Option<Fit> {
        let mut held: Vec<(&Lever, f64)> = levers.iter().map(|l| (*l, l.range(self).1)).collect();
        for i in 0..held.len() {
            let (lever, _) = held.remove(i);
            let value = self.least(lever, &held, quantity);
            held.insert(i, (lever, value));
        }
        told(self, &held, quantity)
    }

    /// The least value of one lever, beside others held, that leaves no refusal.
    fn least(&self, lever: &Lever, held: &[(&Lever, f64)], quantity: u64) -> f64 {
        let holds = |value: f64| {
            let mut levers = held.to_vec();
            levers.push((lever, value));
            self.ask(&levers, quantity).is_some_and(|(_, refused)| refused == 0)
        };
        let (now, far) = lever.range(self);
        if lever.is_whole() {
            let steps = far as u32;
            return (1..=steps).map(f64::from).find(|v| holds(*v)).unwrap_or(far);
        }
        let (mut low, mut high) = (now, far);
        for _ in 0..HALVINGS {
            // By ratio where the range spans powers of ten.
            let middle = if low > 0.0 && high / low > 8.0 { libm::sqrt(low * high) } else { (low + high) / 2.0 };
            if holds(middle) {
                high = middle;
            } else {
                low = middle;
            }
        }
        // A smaller figure is the better one where a lever falls.
        let rounded = if far < now { round_down(high) } else { round_up(high) };
        let is_within = (now.min(far)..=now.max(far)).contains(&rounded);
        if is_within && holds(rounded) { rounded } else { high }
    }
}

/// Up to two figures that a drawing or a catalogue would print.
fn round_up(value: f64) -> f64 {
    let step = step(value);
    if step > 0.0 { libm::ceil(value / step - 1e-9) * step } else { value }
}

/// As [`round_up`], downwards.
fn round_down(value: f64) -> f64 {
    let step = step(value);
    if step > 0.0 { libm::floor(value / step + 1e-9) * step } else { value }
}

/// The step of the second figure of a number; nought where it has none.
fn step(value: f64) -> f64 {
    if value <= 0.0 || !value.is_finite() {
        return 0.0;
    }
    let mut step = 1.0;
    while value / step >= 100.0 {
        step *= 10.0;
    }
    while value / step < 10.0 {
        step /= 10.0;
    }
    step
}

/// What would make a refused row fit: single changes, pairs where no single one does, threes where no pair does, cheapest
/// first. Nothing where the row is not refused, or where three changes are not enough.
pub fn fits(part: &Part, machine: &Machine, shop: &Shop, row: &Row, quantity: u64) -> Vec<Fit> {
    if row.standing != Standing::Refused {
        return Vec::new();
    }
    let q = Question { part: part.clone(), machine: machine.clone(), mode: row.mode, shop: shop.clone() };
    let Some((now, refused)) = q.ask(&[], quantity) else { return Vec::new() };
    let levers = q.levers(&now);
    let mut found = Vec::new();
    let mut helping: Vec<(&Lever, usize)> = Vec::new();
    for lever in &levers {
        match q.left(&[lever], quantity) {
            Some(0) => found.extend(q.brought_down(&[lever], quantity)),
            Some(left) if left < refused => helping.push((lever, left)),
            _ => {}
        }
    }
    if found.is_empty() {
        helping.sort_by_key(|(_, left)| *left);
        helping.truncate(MOST_PAIRED);
        // The pair that leaves the fewest refusals, where none leaves none.
        let mut nearest: Option<(usize, [&Lever; 2])> = None;
        for (i, (a, _)) in helping.iter().enumerate() {
            for (b, _) in &helping[i + 1..] {
                match q.left(&[a, b], quantity) {
                    Some(0) => found.extend(q.brought_down(&[a, b], quantity)),
                    Some(left) if nearest.is_none_or(|(least, _)| left < least) => nearest = Some((left, [a, b])),
                    _ => {}
                }
            }
        }
        if let (true, Some((_, [a, b]))) = (found.is_empty(), nearest) {
            for c in levers.iter().filter(|c| *c != a && *c != b) {
                if q.left(&[a, b, c], quantity) == Some(0) {
                    found.extend(q.brought_down(&[a, b, c], quantity));
                }
            }
        }
    }
    let unknown = |f: &Fit| f.changes.iter().map(|c| c.at).max();
    found.sort_by(|a, b| {
        let price = |f: &Fit| f.price.map_or(f64::INFINITY, |p| p.to_units());
        unknown(a)
            .cmp(&unknown(b))
            .then(price(a).total_cmp(&price(b)))
            .then_with(|| a.row.cost.cost.to_units().total_cmp(&b.row.cost.cost.to_units()))
    });
    found
}

/// Changes as they are told, verified once more with the values that are printed.
fn told(q: &Question, levers: &[(&Lever, f64)], quantity: u64) -> Option<Fit> {
    let (row, refused) = q.ask(levers, quantity)?;
    if refused > 0 {
        return None;
    }
    let changes: Vec<Change> = levers.iter().map(|(lever, value)| lever.change(q, *value)).collect();
    let mut price = changes.iter().try_fold(Money::ZERO, |sum, c| c.price.map(|p| sum + p));
    // What the row still has to buy is part of the price.
    for p in &row.purchases {
        price = price.zip(p.price).map(|(a, b)| a + b);
    }
    let changed = q.changed(levers);
    Some(Fit { changes, price, row, with: (changed.part, changed.machine, changed.shop) })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn values_are_rounded_up_to_what_is_printed() {
        assert!((round_up(0.0123) - 0.013).abs() < 1e-12);
        assert!((round_up(68.2) - 69.0).abs() < 1e-9);
        assert!((round_up(1234.0) - 1300.0).abs() < 1e-9);
        assert_eq!(round_up(0.0), 0.0);
        assert!((round_down(0.0057) - 0.0057).abs() < 1e-12);
        assert!((round_down(0.00578) - 0.0057).abs() < 1e-12);
    }
}
