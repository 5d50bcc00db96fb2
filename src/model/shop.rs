//! A shop: its rates, people, standard times, and what is on each machine now.

use super::figure::Stated;
use super::machine::{ModeKind, Side};
use super::tooling::ToolKind;
use crate::quantity::measure::Currency;
use crate::quantity::{Angle, HourRate, Length, Ratio, Time, YearlyHours};
use std::collections::BTreeMap;

/// What a markup is a share of. The bare percentage is refused: the two differ by a quarter at 22 %.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Markup {
    OfCost(Ratio),
    OfPrice(Ratio),
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

/// A machine of the shop.
#[derive(Clone, Debug, PartialEq)]
pub struct ShopMachine {
    pub hourly: Option<Stated<HourRate>>,
    pub available: Option<YearlyHours>,
    /// Attachments owned and how many of each.
    pub owned: BTreeMap<String, u32>,
    /// One entry for each machine of this kind; at least one.
    pub now: Vec<State>,
}

/// Who works there.
#[derive(Clone, Debug, PartialEq)]
pub struct People {
    pub setters: u32,
    pub hours: Option<YearlyHours>,
    pub setter: HourRate,
    pub operator: HourRate,
    pub machines_per_operator: f64,
}

/// What money costs.
#[derive(Clone, Debug, PartialEq)]
pub struct Finance {
    pub discount: Ratio,
    pub life_years: f64,
    pub resale: Ratio,
    pub tax: Ratio,
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
}
