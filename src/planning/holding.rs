//! Collets and guide bushings: what the job asks for, and what of it the shop does not own.

use super::Task;
use super::blank::Blank;
use super::hand_over::HandOver;
use crate::model::machine::ModeKind;
use crate::model::part::BarShape;
use crate::model::shop::{Holding, HoldingSize, ShopMachine};
use crate::quantity::{Length, Money};

/// A collet or a guide bushing that must be bought.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Missing {
    pub holding: Holding,
    pub shape: BarShape,
    /// The diameter that it must hold, or across flats.
    pub size: Length,
    /// The owned size of this shape that comes nearest, from below or above; nothing where there is none.
    pub nearest: Option<Length>,
    /// In the shop's currency.
    pub price: Money,
}

impl Missing {
    /// In a setter's words: `main collet for 13 mm`, `guide bushing for hex 24 mm`.
    pub fn words(&self) -> String {
        let shape = match self.shape {
            BarShape::Hex => "hex ",
            BarShape::Square => "square ",
            _ => "",
        };
        format!("{} for {shape}{}", self.holding.words(), self.size)
    }

    /// The key of its delivery in the table of shop times.
    pub fn delivery(&self) -> &'static str {
        match self.holding {
            Holding::Main | Holding::Sub => "collet-delivery",
            Holding::Bushing => "bushing-delivery",
        }
    }
}

/// What the job asks for and the shop's list does not hold. Where the shop lists nothing of a kind, nothing of it is assumed
/// missing; what stands on one of its machines is there whether listed or not.
pub fn missing(task: &Task, blank: &Blank, hand_over: Option<&HandOver>) -> Vec<Missing> {
    let Some(shop) = task.shop_machine() else { return Vec::new() };
    let mut asked = vec![(Holding::Main, blank.shape, blank.size)];
    if task.guided() {
        asked.push((Holding::Bushing, blank.shape, blank.size));
    }
    // A special collet is an order of its own.
    if let Some(grip) = hand_over.filter(|h| !h.is_special()) {
        asked.push((Holding::Sub, grip.bore.shape(), grip.bore.size()));
    }
    let reach = Length::mm(task.thresholds.collet_reach_mm);
    let lacking = |(holding, shape, size): (Holding, BarShape, Length)| {
        let owned = shop.holdings.get(&holding)?;
        let at_hand = owned.iter().any(|o| o.shape == round(shape) && o.takes(size, reach));
        if at_hand || stands(shop, holding, size, reach) {
            return None;
        }
        let nearest = owned.iter().filter(|o| o.shape == round(shape)).map(|o| o.nearest(size));
        let nearest = nearest.min_by(|a, b| (*a - size).abs().total_cmp(&(*b - size).abs()));
        let price = Money::units(match holding {
            Holding::Main | Holding::Sub => task.thresholds.collet_price,
            Holding::Bushing => task.thresholds.bushing_price,
        });
        Some(Missing { holding, shape, size, nearest, price })
    };
    asked.into_iter().filter_map(lacking).collect()
}

/// Tube is held like round bar.
fn round(shape: BarShape) -> BarShape {
    if shape == BarShape::Tube { BarShape::Round } else { shape }
}

/// Whether a machine of the shop holds this size now.
fn stands(shop: &ShopMachine, holding: Holding, size: Length, reach: Length) -> bool {
    shop.now.iter().any(|state| {
        let held = match holding {
            Holding::Main => state.bar,
            Holding::Sub => state.sub,
            Holding::Bushing => state.bar.filter(|_| state.mode == Some(ModeKind::Guided)),
        };
        held.is_some_and(|held| HoldingSize::round(held).takes(size, reach))
    })
}
