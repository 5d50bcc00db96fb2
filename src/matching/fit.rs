//! What would make a refused row fit: changes are searched and verified by planning again, the least first.
//!
//! A change is a lever with a value: an attachment bought, an end no longer pinned, a bar of another grade, a tolerance or a
//! demand widened, a figure that another machine would state. A lever that lifts some refusal is brought down to the least
//! value that still does; where no single one lifts all, pairs are tried.

use super::finding::Verdict;
use super::ranking::{By, Row, Standing, rank};
use super::worth::with_owned;
use crate::model::figure::{Limits, Stated};
use crate::model::machine::{Machine, ModeKind, Orient, Swallow};
use crate::model::part::{FeatureId, Kind, Part, StockWish};
use crate::model::shop::Shop;
use crate::model::{Place, machine::Range};
use crate::quantity::{Angle, Force, Length, Money, Pressure, RotationalSpeed, Torque};

/// Something that could be otherwise.
#[derive(Clone, Debug, PartialEq)]
enum Lever {
    /// More of an attachment, by its number in the machine.
    Own(usize),
    /// Which end is made first is left to the plan.
    FreeEnd,
    /// A bar of the poorest grade that the mode takes.
    Grade,
    /// The tolerance of a feature, in mm.
    Tolerance(FeatureId),
    /// A demand of form or position, by its number, in mm.
    Demand(usize),
    Places {
        carrier: usize,
        live: bool,
    },
    Coolant,
    StickOut,
    BarRange,
    Clamp,
    SubClamp,
    Swallow,
    YTravel(usize),
    LiveSpeed(usize),
    LiveTorque(usize),
    Angles(usize),
    Contouring(usize),
    Holder(usize),
    Orientation,
}

/// The question with every part of it open to change.
#[derive(Clone, Debug)]
struct Question {
    part: Part,
    machine: Machine,
    mode: ModeKind,
    shop: Shop,
}

/// What a change is made to: cheap ones stand before dear ones.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, serde::Serialize)]
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

impl Lever {
    /// Far enough that a larger value changes nothing, and where it stands now.
    fn range(&self, q: &Question) -> (f64, f64) {
        let m = &q.machine;
        let tolerance = |f: FeatureId| size_of(&q.part.features[f].kind).and_then(|s| s.tolerance());
        match self {
            Lever::Own(_) | Lever::Places { .. } => (0.0, 6.0),
            Lever::FreeEnd | Lever::Grade | Lever::Swallow | Lever::Contouring(_) | Lever::Orientation => (0.0, 1.0),
            Lever::Angles(_) => (0.0, 1.0),
            Lever::Tolerance(f) => {
                let now = tolerance(*f).map_or(0.01, |t| t.to_mm());
                (now, (now * 400.0).min(4.0).max(now))
            }
            Lever::Demand(i) => {
                let now = q.part.demands[*i].value.to_mm();
                (now, (now * 400.0).min(4.0).max(now))
            }
            Lever::Coolant => {
                let now = m.coolant.as_ref().and_then(|c| c.pressure).map_or(0.0, |p| p.value.to_bar());
                (now, now.max(200.0))
            }
            Lever::StickOut => {
                let now = m.mode(q.mode).and_then(|x| x.stick_out).map_or(0.0, |s| s.value.to_mm());
                (now, now.max(q.part.length.nominal.to_mm() * 2.0 + 50.0))
            }
            Lever::BarRange => {
                let now = m.mode(q.mode).and_then(|x| x.bar).and_then(|r| r.high).map_or(0.0, |d| d.to_mm());
                (now, now.max(q.part.largest_dia().to_mm() * 2.0 + 20.0))
            }
            Lever::Clamp => (m.mode(q.mode).and_then(|x| x.clamp).map_or(0.0, |c| c.value.to_n()), 100_000.0),
            Lever::SubClamp => (m.sub.as_ref().and_then(|s| s.clamp).map_or(0.0, |c| c.value.to_n()), 100_000.0),
            Lever::YTravel(i) => (m.carriers[*i].y_travel.map_or(0.0, |y| y.value.to_mm()), 200.0),
            Lever::LiveSpeed(i) => {
                let now = m.carriers[*i].speed.and_then(|r| r.high).map_or(0.0, |n| n.to_rpm());
                (now, now.max(120_000.0))
            }
            Lever::LiveTorque(i) => (m.carriers[*i].torque.map_or(0.0, |t| t.value.to_nm()), 500.0),
            Lever::Holder(_) => (0.0, 80.0),
        }
    }

    /// Whether it goes in whole steps.
    fn is_whole(&self) -> bool {
        matches!(
            self,
            Lever::Own(_)
                | Lever::Places { .. }
                | Lever::FreeEnd
                | Lever::Grade
                | Lever::Swallow
                | Lever::Contouring(_)
                | Lever::Orientation
                | Lever::Angles(_)
        )
    }

    /// Sets a question to a value of the lever.
    fn apply(&self, q: &mut Question, value: f64) {
        let place = Place { file: 0, start: 0, end: 0 };
        fn stated<T>(value: T, place: Place) -> Option<Stated<T>> {
            Some(Stated { value, place })
        }
        let mode = q.machine.modes.iter_mut().find(|m| m.kind == q.mode);
        match self {
            Lever::Own(i) => {
                let name = q.machine.options[*i].name.clone();
                let owned = q.shop.machines.get(&q.machine.name).and_then(|m| m.owned.get(&name)).copied();
                q.shop = with_owned(&q.shop, &q.machine, &name, owned.unwrap_or(0).saturating_add(value as u32));
            }
            Lever::FreeEnd => {
                q.part.first_end = None;
                q.part.features.iter_mut().for_each(|f| f.made_from = None);
            }
            Lever::Grade => {
                let grade = mode.and_then(|m| m.stock).map(|s| s.value);
                match &mut q.part.stock {
                    Some(wish) => wish.grade = grade,
                    none => *none = grade.map(|_| open_wish(grade, place)),
                }
            }
            Lever::Tolerance(f) => {
                if let Some(size) = size_of_mut(&mut q.part.features[*f].kind)
                    && let Limits::Both { upper, lower, .. } = &mut size.limits
                {
                    let (middle, half) = ((*upper + *lower) / 2.0, Length::mm(value / 2.0));
                    (*upper, *lower) = (middle + half, middle - half);
                }
            }
            Lever::Demand(i) => q.part.demands[*i].value = Length::mm(value),
            Lever::Places { carrier, live } => {
                let c = &mut q.machine.carriers[*carrier];
                if *live { c.live_places += value as u32 } else { c.fixed_places += value as u32 }
            }
            Lever::Coolant => {
                if let Some(c) = &mut q.machine.coolant {
                    c.pressure = stated(Pressure::bar(value), place);
                }
            }
            Lever::StickOut => {
                if let Some(m) = mode {
                    m.stick_out = stated(Length::mm(value), place);
                }
            }
            Lever::BarRange => {
                let high = Some(Length::mm(value));
                if let Some(m) = mode {
                    m.bar = Some(Range { low: m.bar.and_then(|b| b.low), high, place });
                }
                let bore = q.machine.main.bore.map_or(Length::ZERO, |b| b.value);
                q.machine.main.bore = stated(bore.max(Length::mm(value + 1.0)), place);
                if let Some(feeder) = &mut q.machine.feeder {
                    // A range of bars comes with channels that fit them.
                    feeder.channels.push(Length::mm(value + 1.0));
                    feeder.channels.sort_by(Length::total_cmp);
                }
                if let Some(sub) = &mut q.machine.sub {
                    sub.grip = Some(Range { low: sub.grip.and_then(|g| g.low), high, place });
                }
            }
            Lever::Clamp => {
                if let Some(m) = mode {
                    m.clamp = stated(Force::n(value), place);
                }
            }
            Lever::SubClamp => {
                if let Some(sub) = &mut q.machine.sub {
                    sub.clamp = stated(Force::n(value), place);
                }
            }
            Lever::Swallow => {
                if let Some(sub) = &mut q.machine.sub {
                    sub.swallow = stated(Swallow::Through, place);
                    sub.eject = Some(Range { low: None, high: Some(Length::mm(5000.0)), place });
                }
            }
            Lever::YTravel(i) => {
                let c = &mut q.machine.carriers[*i];
                if !c.has(crate::model::machine::Axis::Y) {
                    c.axes.push(crate::model::machine::Axis::Y);
                }
                c.y_travel = stated(Length::mm(value), place);
            }
            Lever::LiveSpeed(i) => {
                let c = &mut q.machine.carriers[*i];
                c.speed = Some(Range { low: None, high: Some(RotationalSpeed::rpm(value)), place });
            }
            Lever::LiveTorque(i) => q.machine.carriers[*i].torque = stated(Torque::nm(value), place),
            Lever::Angles(i) => {
                if let Some(a) = &mut q.machine.carriers[*i].angle {
                    (a.low, a.high, a.step) = (a.low.min(Angle::deg(0.0)), a.high.max(Angle::deg(180.0)), None);
                    a.accuracy = Some(Angle::deg(0.001));
                }
            }
            Lever::Contouring(i) => q.machine.carriers[*i].contouring = true,
            Lever::Holder(i) => {
                let c = &mut q.machine.carriers[*i];
                let wide = crate::model::machine::Holder::Sleeve(Length::mm(value));
                for holder in [&mut c.fixed_holder, &mut c.live_holder].into_iter().flatten() {
                    if !matches!(holder.value, crate::model::machine::Holder::Shank(..)) {
                        let now = crate::planning::places::round_capacity(holder.value);
                        holder.value = if now < Length::mm(value) { wide } else { holder.value };
                    }
                }
            }
            Lever::Orientation => {
                q.machine.main.orient = stated(Orient::Continuous, place);
                q.machine.main.orient_accuracy = stated(Angle::deg(0.001), place);
                if let Some(sub) = &mut q.machine.sub {
                    sub.spindle.orient = stated(Orient::Continuous, place);
                    sub.spindle.orient_accuracy = stated(Angle::deg(0.001), place);
                }
            }
        }
    }

    fn change(&self, q: &Question, value: f64) -> Change {
        let carrier = |i: usize| q.machine.carriers[i].name.as_str();
        let (at, words) = match self {
            Lever::Own(i) => (Where::Purchase, format!("{value:.0} more of `{}`", q.machine.options[*i].name)),
            Lever::FreeEnd => (Where::Shop, "the end made first left open".to_owned()),
            Lever::Grade => (Where::Shop, "bar of the grade that the mode takes".to_owned()),
            Lever::Tolerance(f) => {
                (Where::Drawing, format!("`{}` toleranced to {}", q.part.features[*f].name, Length::mm(value)))
            }
            Lever::Demand(i) => {
                let d = &q.part.demands[*i];
                let of = &q.part.features[d.feature].name;
                (Where::Drawing, format!("{} of `{of}` to {}", d.kind.word(), Length::mm(value)))
            }
            Lever::Places { carrier: c, live } => {
                let kind = if *live { "live" } else { "fixed" };
                let s = if value > 1.0 { "s" } else { "" };
                (Where::Machine, format!("{value:.0} more {kind} place{s} on `{}`", carrier(*c)))
            }
            Lever::Coolant => (Where::Machine, format!("coolant at {}", Pressure::bar(value.ceil()))),
            Lever::StickOut => (Where::Machine, format!("a stick-out of {}", Length::mm(value))),
            Lever::BarRange => (Where::Machine, format!("bar up to {}", Length::mm(value))),
            Lever::Clamp => (Where::Machine, format!("a clamping force of {}", Force::n(value))),
            Lever::SubClamp => (Where::Machine, format!("a clamping force of {} at the sub-spindle", Force::n(value))),
            Lever::Swallow => (Where::Machine, "a sub-spindle that takes the part in and lets it out".to_owned()),
            Lever::YTravel(c) => (Where::Machine, format!("{} of Y travel on `{}`", Length::mm(value), carrier(*c))),
            Lever::LiveSpeed(c) => {
                (Where::Machine, format!("{} on `{}`", RotationalSpeed::rpm(value.ceil()), carrier(*c)))
            }
            Lever::LiveTorque(c) => (Where::Machine, format!("{} on `{}`", Torque::nm(value), carrier(*c))),
            Lever::Angles(c) => (Where::Machine, format!("`{}` at any angle", carrier(*c))),
            Lever::Contouring(c) => (Where::Machine, format!("simultaneous axes on `{}`", carrier(*c))),
            Lever::Holder(c) => (Where::Machine, format!("holders up to {} on `{}`", Length::mm(value), carrier(*c))),
            Lever::Orientation => (Where::Machine, "spindles that stop at any angle".to_owned()),
        };
        let price = match (self, at) {
            (Lever::Own(i), _) => q.machine.options[*i].price.map(|p| p.value * value),
            (_, Where::Shop | Where::Drawing) => Some(Money::ZERO),
            _ => None,
        };
        Change { at, words, price }
    }
}

fn open_wish(grade: Option<u8>, place: Place) -> StockWish {
    let shape = crate::model::part::BarShape::Round;
    StockWish { shape, size: None, bore: None, grade, finish: None, straightness: None, coil: false, place }
}

fn size_of(kind: &Kind) -> Option<&crate::model::figure::Size> {
    match kind {
        Kind::Turn(t) => Some(&t.dia),
        Kind::Sphere(s) => Some(&s.dia),
        Kind::Bore(b) => Some(&b.dia),
        _ => None,
    }
}

fn size_of_mut(kind: &mut Kind) -> Option<&mut crate::model::figure::Size> {
    match kind {
        Kind::Turn(t) => Some(&mut t.dia),
        Kind::Sphere(s) => Some(&mut s.dia),
        Kind::Bore(b) => Some(&mut b.dia),
        _ => None,
    }
}

impl Question {
    /// The row with levers at values, and how many refusals it has.
    fn ask(&self, levers: &[(&Lever, f64)], quantity: u64) -> Option<(Row, usize)> {
        let mut q = self.clone();
        for (lever, value) in levers {
            lever.apply(&mut q, *value);
        }
        let machines = std::slice::from_ref(&q.machine);
        let ranking = rank(&q.part, machines, &q.shop, Some(quantity), By::Cost);
        let row = ranking.rows.into_iter().find(|r| r.mode == self.mode)?;
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
        levers.push(Lever::Grade);
        let refused = row.judged.findings.iter().filter(|f| f.verdict == Verdict::Refused);
        for feature in refused.filter_map(|f| f.feature) {
            let toleranced = size_of(&self.part.features[feature].kind).is_some_and(|s| s.tolerance().is_some());
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
        let general = [
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

    /// The least value of one lever, beside others held, that leaves no more refusals than allowed.
    fn least(&self, lever: &Lever, held: &[(&Lever, f64)], allowed: usize, quantity: u64) -> f64 {
        let holds = |value: f64| {
            let mut levers = held.to_vec();
            levers.push((lever, value));
            self.ask(&levers, quantity).is_some_and(|(_, refused)| refused <= allowed)
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
        let rounded = round_up(high);
        if rounded <= far && holds(rounded) { rounded } else { high }
    }
}

/// Up to three figures that a drawing or a catalogue would print.
fn round_up(value: f64) -> f64 {
    if value <= 0.0 || !value.is_finite() {
        return value;
    }
    let mut step = 1.0;
    while value / step >= 100.0 {
        step *= 10.0;
    }
    while value / step < 10.0 {
        step /= 10.0;
    }
    (value / step - 1e-9).ceil() * step
}

/// What would make a refused row fit: single changes, or pairs where no single one does, cheapest first. Nothing where the
/// row is not refused, or where two changes are not enough.
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
        let far = lever.range(&q).1;
        let Some((_, left)) = q.ask(&[(lever, far)], quantity) else { continue };
        if left == 0 {
            let value = q.least(lever, &[], 0, quantity);
            found.extend(told(&q, &[(lever, value)], quantity));
        } else if left < refused {
            helping.push((lever, left));
        }
    }
    if found.is_empty() {
        helping.sort_by_key(|(_, left)| *left);
        helping.truncate(MOST_PAIRED);
        for (i, (a, _)) in helping.iter().enumerate() {
            for (b, _) in &helping[i + 1..] {
                let far = [(*a, a.range(&q).1), (*b, b.range(&q).1)];
                if q.ask(&far, quantity).is_none_or(|(_, left)| left > 0) {
                    continue;
                }
                let first = q.least(a, &[far[1]], 0, quantity);
                let second = q.least(b, &[(*a, first)], 0, quantity);
                found.extend(told(&q, &[(*a, first), (*b, second)], quantity));
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
    let mut changed = q.clone();
    for (lever, value) in levers {
        lever.apply(&mut changed, *value);
    }
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
    }
}
