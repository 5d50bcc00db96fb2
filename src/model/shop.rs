//! A shop: its rates, people, standard times, and what is on each machine now.

use super::calibration::Calibration;
use super::figure::Stated;
use super::finance::{Finance, Overtime, Risk};
use super::machine::{ModeKind, Side};
use super::part::BarShape;
use super::tooling::ToolKind;
use crate::quantity::measure::Currency;
use crate::quantity::{Angle, HourRate, Length, MassPrice, Money, Ratio, Time, YearlyHours};
use std::collections::BTreeMap;

/// What a markup is a share of. The bare percentage is refused: the two differ by a quarter at 22 %.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Markup {
    OfCost(Ratio),
    OfPrice(Ratio),
}

impl Markup {
    /// The price of what costs so much; a share of the price counts up to 95 %, beyond which little would be left for the cost.
    pub fn price_of(self, cost: Money) -> Money {
        match self {
            Markup::OfCost(share) => cost * (1.0 + share.to_fraction()),
            Markup::OfPrice(share) => cost / (1.0 - share.to_fraction().min(0.95)),
        }
    }
}

/// An attachment on a machine.
#[derive(Clone, Debug, PartialEq)]
pub struct Mounted {
    /// Its name in the machine spec.
    pub name: String,
    /// The angle that it is set to, where it is set by hand and the angle is said.
    pub angle: Option<Angle>,
}

impl Mounted {
    /// As a shop file writes it: `angle-head at 35 deg`.
    pub fn words(&self) -> String {
        let angle = self.angle.map(|a| format!(" at {a}")).unwrap_or_default();
        format!("{}{angle}", self.name)
    }
}

/// A tool that stands on a machine. What is not said fits any.
#[derive(Clone, Debug, PartialEq)]
pub struct StandingTool {
    pub kind: ToolKind,
    /// Cutting diameter, or the width of a blade.
    pub dia: Option<Length>,
    pub angle: Option<Angle>,
    /// The name of its carrier.
    pub carrier: Option<String>,
    pub side: Option<Side>,
    /// The thread or drive that it is ground for, as a drawing writes it: taps, dies, rolling heads, inserts of a whirling
    /// ring, broaches.
    pub form: Option<String>,
}

impl StandingTool {
    /// In the setter's words: `live drill 1.5 mm at 35 deg`, `finishing tool (sub)`.
    pub fn words(&self) -> String {
        let sub = if self.side == Some(Side::Sub) { " (sub)" } else { "" };
        self.kind.named(self.form.as_deref(), self.dia, self.angle) + sub
    }
}

/// What stands on a machine now. What is not said is not known, and is set up anew.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct State {
    pub mode: Option<ModeKind>,
    /// Bar diameter, or across flats.
    pub bar: Option<Length>,
    /// The diameter that the sub-spindle's collet holds.
    pub sub: Option<Length>,
    /// Attachments mounted, each as often as it is there.
    pub mounted: Vec<Mounted>,
    pub tools: Vec<StandingTool>,
    /// The part that runs, or ran last.
    pub job: Option<String>,
    /// The key of its material: another one asks for a clean machine where chips must not mix.
    pub material: Option<String>,
    /// It has stood still and must warm up.
    pub cold: bool,
}

/// What holds bar or part: a collet of either spindle, or a guide bushing.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Holding {
    Main,
    Sub,
    Bushing,
}

impl Holding {
    /// The setter's words.
    pub fn words(self) -> &'static str {
        match self {
            Holding::Main => "main collet",
            Holding::Sub => "sub-spindle collet",
            Holding::Bushing => "guide bushing",
        }
    }
}

/// A collet or bushing that the shop owns: the size that it is ground for, or the range that it closes over.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct HoldingSize {
    /// Round, hexagonal or square.
    pub shape: BarShape,
    pub low: Length,
    /// At least `low`.
    pub high: Length,
}

impl HoldingSize {
    /// One for round bar of this diameter.
    pub fn round(dia: Length) -> HoldingSize {
        HoldingSize { shape: BarShape::Round, low: dia, high: dia }
    }
    /// Whether it holds a size; `reach` is how far off its own size a plain collet still holds.
    pub fn takes(&self, size: Length, reach: Length) -> bool {
        size >= self.low - reach && size <= self.high + reach
    }
    /// The size within it that comes nearest.
    pub fn nearest(&self, size: Length) -> Length {
        size.max(self.low).min(self.high)
    }
}

/// A machine of the shop.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct ShopMachine {
    pub hourly: Option<Stated<HourRate>>,
    pub available: Option<YearlyHours>,
    /// What an hour of running costs out of pocket: energy, coolant, wear. Part of the hour rate, not beside it; nothing where
    /// it is not said.
    pub running: Option<HourRate>,
    /// Hours of work already promised on it.
    pub load: Option<Time>,
    /// What one would bring if it were sold now.
    pub sells: Option<Money>,
    /// Attachments owned and how many of each.
    pub owned: BTreeMap<String, u32>,
    /// Collets and bushings owned, by kind. Of a kind that is not listed nothing is assumed missing.
    pub holdings: BTreeMap<Holding, Vec<HoldingSize>>,
    /// One entry for each machine of this kind; at least one.
    pub now: Vec<State>,
}

impl ShopMachine {
    /// A machine that the shop file says nothing of.
    pub fn unknown() -> ShopMachine {
        let now = vec![State::default()];
        ShopMachine { now, ..ShopMachine::default() }
    }
}

/// Who works there.
#[derive(Clone, Debug, PartialEq)]
pub struct People {
    pub setters: u32,
    pub hours: Option<YearlyHours>,
    pub setter: HourRate,
    pub operator: HourRate,
    pub machines_per_operator: f64,
    /// How many of the setters can set a machine, by the name of its spec; all of them where it is not listed.
    pub skills: BTreeMap<String, u32>,
}

/// What a quote says and charges beside the machine. What is not stated is not charged, and the quote says so.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Quotes {
    /// How long a quote holds, in whole days.
    pub valid_days: Option<u32>,
    /// Delivery of bar, by the calendar.
    pub bar_delivery: Option<Time>,
    /// Pieces that a price is for: 1, 10, 100 or 1,000. By the size of the price where it is not stated.
    pub price_per: Option<u64>,
    pub inspection: Option<Inspection>,
    /// Price of a certificate an order, by the words that it begins with.
    pub certificates: Vec<(String, Money)>,
    /// By the step's word in a part spec.
    pub treatments: BTreeMap<String, Treatment>,
    pub seller: Option<Party>,
}

/// Measuring beside the machine, by the operator.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Inspection {
    /// Time a dimension of a measured piece.
    pub per_dimension: Time,
    /// The share of pieces that is measured, 0 to 1.
    pub sample: Ratio,
}

/// A step after the machine, done outside.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Treatment {
    /// A piece.
    pub piece: Option<Money>,
    /// A kilogram of finished parts.
    pub mass: Option<MassPrice>,
    /// An order, whatever its size.
    pub order: Option<Money>,
    /// The least that an order is charged.
    pub least: Option<Money>,
    /// Time away, by the calendar.
    pub takes: Option<Time>,
}

/// A party to a quote.
#[derive(Clone, Debug, PartialEq)]
pub struct Party {
    pub name: String,
    pub street: Option<String>,
    pub city: Option<String>,
    pub postcode: Option<String>,
    /// Two capital letters after ISO 3166-1.
    pub country: Option<String>,
    /// Its number for value added tax or the like.
    pub tax_number: Option<String>,
    pub email: Option<String>,
}

/// A shop.
#[derive(Clone, Debug, PartialEq)]
pub struct Shop {
    pub name: String,
    pub currency: Currency,
    /// By the name of the machine spec.
    pub machines: BTreeMap<String, ShopMachine>,
    pub people: People,
    pub markup: Markup,
    pub scrap: Ratio,
    pub setup_pieces: u32,
    /// The shop's own standard times by kind, over the built-in ones.
    pub setup_times: BTreeMap<String, Time>,
    /// The shop's own thresholds over those of the table, by name.
    pub thresholds: BTreeMap<String, f64>,
    pub finance: Option<Finance>,
    pub overtime: Option<Overtime>,
    pub risk: Option<Risk>,
    /// Machines that it may buy, with what it would have for them, by the name of the spec.
    pub candidates: BTreeMap<String, ShopMachine>,
    pub quotes: Quotes,
    /// What the shop's own records say of the estimates.
    pub calibration: Calibration,
}

impl Shop {
    /// The share of the pieces that come out good, above 0 and up to 1.
    pub fn good_share(&self) -> f64 {
        1.0 - self.scrap.to_fraction()
    }
}
