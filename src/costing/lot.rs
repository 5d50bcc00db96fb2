//! What an order is sold for: whole cents by kind that add up to the price, and the bars to buy for it.

use super::{Beside, Rates, amount::Amount, piece};
use crate::model::part::Part;
use crate::model::shop::Shop;
use crate::planning::Plan;
use crate::quantity::{Mass, Money, Time};
use crate::tables::thresholds::Thresholds;

/// What a share of a price is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Share {
    Material,
    Machine,
    Operator,
    Tools,
    Setting,
    SpecialCollet,
    Collets,
    Moving,
    SetupPieces,
    Scrap,
    Inspection,
    Certificates,
    Treatments,
    Markup,
}

impl Share {
    /// The reader's word.
    pub fn word(self) -> &'static str {
        match self {
            Share::Material => "material",
            Share::Machine => "machine",
            Share::Operator => "operator",
            Share::Tools => "tools",
            Share::Setting => "setting",
            Share::SpecialCollet => "special collet",
            Share::Collets => "collets",
            Share::Moving => "moving",
            Share::SetupPieces => "setup pieces",
            Share::Scrap => "scrap",
            Share::Inspection => "inspection",
            Share::Certificates => "certificates",
            Share::Treatments => "treatments after",
            Share::Markup => "markup",
        }
    }
}

/// The bars that an order takes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bars {
    /// Good pieces, scrap and setup pieces.
    pub pieces: u64,
    pub bars: u64,
    pub mass: Mass,
}

/// An order at its price.
#[derive(Clone, Debug, PartialEq)]
pub struct Lot {
    pub quantity: u64,
    pub bars: Bars,
    /// What the price is made of; nought where nothing is charged. They sum to [`Lot::total`].
    pub shares: Vec<(Share, Amount)>,
    /// Pieces that the price is for: 1, 10, 100 or 1,000.
    pub per: u64,
    /// The price of so many pieces.
    pub price: Amount,
    /// `price` for all pieces of the order, rounded once.
    pub total: Amount,
    /// Before markup.
    pub cost: Amount,
    pub beside: Beside,
    /// Setup, and the pieces with scrap.
    pub order_time: Time,
}

/// Why an order cannot be priced.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum LotError {
    #[error("no piece fits between the first trim and the remnant of a bar")]
    NoPieceInABar,
    #[error("the order is worth more than can be reckoned to the cent")]
    TooLarge,
}

/// The bars for an order: good pieces with running scrap, and the setup pieces.
///
/// # Errors
/// [`LotError::NoPieceInABar`].
pub fn bars(plan: &Plan, shop: &Shop, quantity: u64) -> Result<Bars, LotError> {
    let a_bar = u64::from(plan.blank.pieces);
    if a_bar == 0 {
        return Err(LotError::NoPieceInABar);
    }
    // A hair less, so that 98 of 100 good pieces ask for 100 and not for 101 by a rounding of the share.
    let started = (quantity as f64 / shop.good_share() - 1e-9).ceil() as u64;
    let pieces = started.max(quantity) + u64::from(shop.setup_pieces);
    let bars = pieces.div_ceil(a_bar);
    Ok(Bars { pieces, bars, mass: plan.blank.mass * (a_bar * bars) as f64 })
}

/// The pieces that a price is for, so that rounding it to the cent takes no more than half a percent: one from a whole
/// unit of the currency on, a hundred from a tenth of it on, else a thousand.
pub fn price_per(shop: &Shop, piece: Money) -> u64 {
    shop.quotes.price_per.unwrap_or(match piece.to_units() {
        p if p >= 1.0 => 1,
        p if p >= 0.1 => 100,
        _ => 1000,
    })
}

impl Lot {
    /// An order of a plan, priced for so many pieces; `paid` are shares that an order just before it has paid for both.
    ///
    /// # Errors
    /// [`LotError`].
    pub fn of(
        part: &Part,
        plan: &Plan,
        shop: &Shop,
        rates: Rates,
        t: &Thresholds,
        quantity: u64,
        paid: &[Share],
    ) -> Result<Lot, LotError> {
        let bars = bars(plan, shop, quantity)?;
        let c = piece(part, plan, shop, rates, t, quantity);
        let beside = Beside::of(part, shop, quantity);
        let pieces = quantity as f64;
        let running = c.material + c.machine + c.operator + c.tools;
        let setup_pieces = running * f64::from(shop.setup_pieces);
        let priced = |charges: &[super::Charge]| charges.iter().filter_map(|c| c.price).sum();
        let shares = [
            (Share::Material, c.material * pieces),
            (Share::Machine, c.machine * pieces),
            (Share::Operator, c.operator * pieces),
            (Share::Tools, c.tools * pieces),
            (Share::Setting, c.setting * pieces),
            (Share::SpecialCollet, c.collet * pieces),
            (Share::Collets, c.holding * pieces),
            (Share::Moving, c.moving * pieces),
            (Share::SetupPieces, setup_pieces),
            (Share::Scrap, c.scrap * pieces - setup_pieces),
            (Share::Inspection, beside.inspection),
            (Share::Certificates, priced(&beside.certificates)),
            (Share::Treatments, priced(&beside.treatments)),
        ];
        let whole = |m: Money| Amount::of(m, shop.currency).ok_or(LotError::TooLarge);
        let owed = |share, m| if paid.contains(&share) { Ok(Amount::ZERO) } else { whole(m) };
        let mut shares =
            shares.into_iter().map(|(share, m)| Ok((share, owed(share, m)?))).collect::<Result<Vec<_>, LotError>>()?;
        let cost: Amount = shares.iter().map(|s| s.1).sum();
        let units = Money::units(cost.to_units(shop.currency));
        let wanted = shop.markup.price_of(units);
        let per = price_per(shop, wanted / pieces);
        let price = whole(wanted * (per as f64 / pieces))?;
        let total = price.of_pieces(quantity, per).ok_or(LotError::TooLarge)?;
        shares.push((Share::Markup, total - cost));
        Ok(Lot { quantity, bars, shares, per, price, total, cost, beside, order_time: c.order_time })
    }

    /// A share of the whole order.
    pub fn share(&self, share: Share) -> Amount {
        self.shares.iter().filter(|s| s.0 == share).map(|s| s.1).sum()
    }
}
