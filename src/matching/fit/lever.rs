//! The levers: what could be otherwise, how far, and what each change is called.

use super::{Change, Question, Where};
use crate::matching::worth::with_owned;
use crate::model::Place;
use crate::model::figure::{Limits, Size, Stated};
use crate::model::machine::{
    AddedMethod, Attachment, Axis, Bushing, Headstock, Holder, Machine, Mode, ModeKind, Occupies, Orient, Range,
    Swallow,
};
use crate::model::part::{FeatureId, Kind, StockWish};
use crate::quantity::{Angle, Force, Length, Money, Pressure, RotationalSpeed, Torque};

/// Something that could be otherwise.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Lever {
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
    /// The finish of a feature, Ra in mm.
    Finish(FeatureId),
    /// A guide bushing: the mode of that kind where the machine has one, another machine where it has none.
    Guide,
    /// A whirling head on a carrier, where the machine offers none.
    Whirling(usize),
    /// A collet at the sub-spindle for this diameter.
    SubCollet(Length),
    /// Bar as thin as this, with the bushing or collet and the channel for it.
    ThinBar(Length),
    Stroke,
    Spread,
    Runout,
    Roundness,
    SpindleTorque,
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

impl Lever {
    /// Far enough that a larger value changes nothing, and where it stands now.
    pub(super) fn range(&self, q: &Question) -> (f64, f64) {
        let m = &q.machine;
        let tolerance = |f: FeatureId| size_of(&q.part.features[f].kind).and_then(|s| s.tolerance());
        match self {
            Lever::Own(_) | Lever::Places { .. } => (0.0, 6.0),
            Lever::Tolerance(f) => {
                let now = tolerance(*f).map_or(0.01, |t| t.to_mm());
                (now, (now * 400.0).min(4.0).max(now))
            }
            Lever::Demand(i) => {
                let now = q.part.demands[*i].value.to_mm();
                (now, (now * 400.0).min(4.0).max(now))
            }
            Lever::Finish(f) => {
                let now = q.part.features[*f].kind.finish().map_or(0.0, |f| f.ra.to_mm());
                (now, now.max(0.0063))
            }
            // The best of their kind.
            Lever::Spread => (mode_figure(q, |m| m.spread).unwrap_or(0.0), 0.002),
            Lever::Runout => (mode_figure(q, |m| m.runout).unwrap_or(0.0), 0.001),
            Lever::Roundness => (mode_figure(q, |m| m.roundness).unwrap_or(0.0), 0.0003),
            Lever::Stroke => {
                let now = mode_figure(q, |m| m.stroke).unwrap_or(0.0);
                (now, now.max(q.part.length.nominal.to_mm() * 2.0 + 50.0))
            }
            Lever::SpindleTorque => (m.main.torque.map_or(0.0, |t| t.value.to_nm()), 2000.0),
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
            _ => (0.0, 1.0),
        }
    }

    /// Whether it goes in whole steps.
    pub(super) fn is_whole(&self) -> bool {
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
                | Lever::Guide
                | Lever::Whirling(_)
                | Lever::SubCollet(_)
                | Lever::ThinBar(_)
        )
    }

    /// Sets a question to a value of the lever.
    pub(super) fn apply(&self, q: &mut Question, value: f64) {
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
            Lever::Finish(f) => {
                if let Some(finish) = q.part.features[*f].kind.finish_mut() {
                    finish.ra = Length::mm(value);
                }
            }
            Lever::Guide => guide(q),
            Lever::Whirling(carrier) => {
                let head = whirling_head(&q.machine, *carrier);
                q.shop = with_owned(&q.shop, &q.machine, &head.name, 1);
                q.machine.options.push(head);
            }
            Lever::SubCollet(dia) => {
                if let Some(sub) = &mut q.machine.sub {
                    sub.grip = Some(down_to(sub.grip, *dia));
                }
            }
            Lever::ThinBar(dia) => {
                if let Some(m) = mode {
                    m.bar = Some(down_to(m.bar, *dia));
                }
                if let Some(feeder) = &mut q.machine.feeder {
                    feeder.channels.push(*dia + Length::mm(1.0));
                    feeder.channels.sort_by(Length::total_cmp);
                }
                if let Some(sub) = &mut q.machine.sub {
                    // What the sub-spindle grips is the part, thinner than its bar.
                    sub.grip = Some(down_to(sub.grip, *dia / 2.0));
                }
            }
            Lever::Stroke => {
                if let Some(m) = mode {
                    m.stroke = stated(Length::mm(value), place);
                }
            }
            Lever::Spread => {
                if let Some(m) = mode {
                    m.spread = stated(Length::mm(value), place);
                }
            }
            Lever::Runout => {
                if let Some(m) = mode {
                    m.runout = stated(Length::mm(value), place);
                }
            }
            Lever::Roundness => {
                if let Some(m) = mode {
                    m.roundness = stated(Length::mm(value), place);
                }
            }
            Lever::SpindleTorque => q.machine.main.torque = stated(Torque::nm(value), place),
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
                    // A range of bars comes with channels that fit them: every other millimetre.
                    let mut channel = Length::mm(value + 1.0);
                    let there = feeder.channels.last().copied().unwrap_or(Length::ZERO);
                    while channel > there {
                        feeder.channels.push(channel);
                        channel -= Length::mm(2.0);
                    }
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
                if !c.has(Axis::Y) {
                    c.axes.push(Axis::Y);
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
                let wide = Holder::Sleeve(Length::mm(value));
                for holder in [&mut c.fixed_holder, &mut c.live_holder].into_iter().flatten() {
                    if !matches!(holder.value, Holder::Shank(..)) {
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

    pub(super) fn change(&self, q: &Question, value: f64) -> Change {
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
            Lever::Finish(f) => {
                (Where::Drawing, format!("`{}` with Ra {}", q.part.features[*f].name, Length::mm(value)))
            }
            Lever::Guide if q.machine.mode(ModeKind::Guided).is_some() => {
                (Where::Shop, "worked in the guide bushing that the machine has".to_owned())
            }
            Lever::Guide => (Where::Machine, "a guide bushing".to_owned()),
            Lever::Whirling(c) => (Where::Machine, format!("a whirling head on `{}`", carrier(*c))),
            Lever::SubCollet(dia) => (Where::Machine, format!("a sub-spindle that grips {dia}")),
            Lever::ThinBar(dia) => (Where::Machine, format!("bar from {dia}, with its channel and sub-spindle collet")),
            Lever::Stroke => (Where::Machine, format!("a stroke of {}", Length::mm(value))),
            Lever::Spread => (Where::Machine, format!("diameters within {} (six sigma)", Length::mm(value))),
            Lever::Runout => (Where::Machine, format!("a runout of {} in one clamping", Length::mm(value))),
            Lever::Roundness => (Where::Machine, format!("a roundness of {}", Length::mm(value))),
            Lever::SpindleTorque => (Where::Machine, format!("a main spindle with {}", Torque::nm(value))),
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

pub(super) fn size_of(kind: &Kind) -> Option<&Size> {
    match kind {
        Kind::Turn(t) => Some(&t.dia),
        Kind::Sphere(s) => Some(&s.dia),
        Kind::Bore(b) => Some(&b.dia),
        _ => None,
    }
}

fn size_of_mut(kind: &mut Kind) -> Option<&mut Size> {
    match kind {
        Kind::Turn(t) => Some(&mut t.dia),
        Kind::Sphere(s) => Some(&mut s.dia),
        Kind::Bore(b) => Some(&mut b.dia),
        _ => None,
    }
}

/// A length that the mode states, in mm.
fn mode_figure(q: &Question, figure: impl Fn(&Mode) -> Option<Stated<Length>>) -> Option<f64> {
    q.machine.mode(q.mode).and_then(figure).map(|s| s.value.to_mm())
}

/// A range that begins at a diameter, or where it began before.
fn down_to(range: Option<Range<Length>>, dia: Length) -> Range<Length> {
    let (low, high, place) = range.map_or((None, None, Place::default()), |r| (r.low, r.high, r.place));
    Range { low: low.map(|l| l.min(dia)), high, place }
}

/// Turns the question to the machine's guided mode; where it has none, to a machine like it with a rotary bushing.
fn guide(q: &mut Question) {
    if q.machine.mode(ModeKind::Guided).is_none() {
        let place = Place::default();
        q.machine.headstock = Headstock::Sliding;
        let guided = q.machine.mode(q.mode).cloned().map(|mode| Mode {
            kind: ModeKind::Guided,
            bushing: Some(Stated { value: Bushing::Rotary, place }),
            stroke: Some(Stated { value: q.part.length.nominal + Length::mm(50.0), place }),
            stock: Some(Stated { value: 8, place }),
            stick_out: None,
            ..mode
        });
        q.machine.modes.extend(guided);
    }
    q.mode = ModeKind::Guided;
}

/// A whirling head as another machine would have it: any lead, width and bore.
fn whirling_head(machine: &Machine, carrier: usize) -> Attachment {
    let place = Place::default();
    let tilt = Angle::deg(45.0);
    Attachment {
        name: "whirling-head".to_owned(),
        method: Some(AddedMethod::Whirling),
        occupies: Some(Occupies {
            carrier: machine.carriers[carrier].name.clone(),
            places: 2,
            live: true,
            neighbouring: true,
            pocket: false,
            place,
        }),
        mount: None,
        price: None,
        angle: None,
        by_hand: false,
        holder: None,
        speed: None,
        lead_angle: Some(Range { low: Some(-tilt), high: Some(tilt), place }),
        insert_width: None,
        ring_bore: None,
        ring_speed: None,
        cutters: None,
        frequency: None,
        stroke: None,
        feed_override: None,
        place,
    }
}
