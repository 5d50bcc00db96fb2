//! Numbers as they are read at run time: a value, the dimension that its unit gave it, and the borders at which they
//! become typed quantities.

use super::*;
use std::fmt;

/// The dimension of a number read from a file: how often each base dimension enters it.
///
/// `rev` and `angle` are kept apart, so that `rpm`, `Hz` and `deg` cannot stand for each other. Hardness scales are
/// dimensions of their own: HRC and HB do not convert.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Dimension {
    pub length: i8,
    pub mass: i8,
    pub time: i8,
    pub rev: i8,
    pub angle: i8,
    pub money: i8,
    /// Working time in a calendar year: `h/year` is not a pure number here.
    pub calendar: i8,
    pub hrc: i8,
    pub hb: i8,
    /// Set for `mm/m`: a slope, not a pure number.
    pub slope: i8,
    /// Set for `%`: a share, not a count.
    pub share: i8,
    /// Set for torque, which would otherwise be energy.
    pub torque: i8,
}

macro_rules! dims {
    ($($(#[$doc:meta])* $name:ident = $text:literal { $($field:ident: $power:expr),* };)*) => {
        impl Dimension {
            $($(#[$doc])* pub const $name: Dimension = Dimension { $($field: $power,)* ..Dimension::NONE };)*
            /// The trade's name of each dimension that the language knows.
            pub const NAMED: &'static [(Dimension, &'static str)] = &[(Dimension::NONE, "a bare number"), $((Dimension::$name, $text)),*];
        }
    };
}

impl Dimension {
    /// A bare number.
    pub const NONE: Dimension = Dimension {
        length: 0,
        mass: 0,
        time: 0,
        rev: 0,
        angle: 0,
        money: 0,
        calendar: 0,
        hrc: 0,
        hb: 0,
        slope: 0,
        share: 0,
        torque: 0,
    };
}

dims! {
    LENGTH = "a length" { length: 1 };
    AREA = "an area" { length: 2 };
    VOLUME = "a volume" { length: 3 };
    ANGLE = "an angle" { angle: 1 };
    TIME = "a time" { time: 1 };
    ROTATIONAL_SPEED = "a rotational speed" { rev: 1, time: -1 };
    VELOCITY = "a speed" { length: 1, time: -1 };
    FEED = "a feed a revolution" { length: 1, rev: -1 };
    POWER = "a power" { mass: 1, length: 2, time: -3 };
    FORCE = "a force" { mass: 1, length: 1, time: -2 };
    TORQUE = "a torque" { mass: 1, length: 2, time: -2, torque: 1 };
    PRESSURE = "a pressure" { mass: 1, length: -1, time: -2 };
    FLOW = "a flow" { length: 3, time: -1 };
    FREQUENCY = "a frequency" { time: -1 };
    ACCELERATION = "an acceleration" { length: 1, time: -2 };
    MASS = "a mass" { mass: 1 };
    HARDNESS_HRC = "a Rockwell C hardness" { hrc: 1 };
    HARDNESS_HB = "a Brinell hardness" { hb: 1 };
    SLOPE = "a straightness a length" { slope: 1 };
    SHARE = "a percentage" { share: 1 };
    MONEY = "an amount of money" { money: 1 };
    HOUR_RATE = "an amount of money a time" { money: 1, time: -1 };
    MASS_PRICE = "an amount of money a mass" { money: 1, mass: -1 };
    YEARLY_HOURS = "working hours a year" { calendar: 1 };
}

impl Dimension {
    /// What turns a number kept in this dimension's unit of the trade into mm, kg, s, rev and deg.
    fn coherent(self) -> f64 {
        match self {
            Dimension::ROTATIONAL_SPEED => 1.0 / 60.0,
            Dimension::VELOCITY => 1000.0 / 60.0,
            Dimension::ACCELERATION => 1000.0,
            Dimension::FORCE => 1e3,
            Dimension::TORQUE => 1e6,
            Dimension::POWER => 1e9,
            Dimension::PRESSURE => 1e2,
            Dimension::FLOW => 1e6 / 60.0,
            Dimension::HOUR_RATE => 1.0 / 3600.0,
            _ => 1.0,
        }
    }
    /// The product of two dimensions.
    #[must_use]
    pub fn times(self, o: Dimension) -> Dimension {
        self.combine(o, 1)
    }
    /// The quotient of two dimensions.
    #[must_use]
    pub fn over(self, o: Dimension) -> Dimension {
        self.combine(o, -1)
    }
    fn combine(self, o: Dimension, sign: i8) -> Dimension {
        let add = |a: i8, b: i8| a.saturating_add(b.saturating_mul(sign));
        Dimension {
            length: add(self.length, o.length),
            mass: add(self.mass, o.mass),
            time: add(self.time, o.time),
            rev: add(self.rev, o.rev),
            angle: add(self.angle, o.angle),
            money: add(self.money, o.money),
            calendar: add(self.calendar, o.calendar),
            hrc: add(self.hrc, o.hrc),
            hb: add(self.hb, o.hb),
            slope: add(self.slope, o.slope),
            share: add(self.share, o.share),
            torque: add(self.torque, o.torque),
        }
    }
}

impl fmt::Display for Dimension {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match Dimension::NAMED.iter().find(|(d, _)| d == self) {
            Some((_, name)) => f.write_str(name),
            None => f.write_str("a product that the language has no name for"),
        }
    }
}

/// A number with its dimension, in the units that the typed quantities keep (mm, s, deg, rpm, m/min, ...), as
/// [`super::units`] converts it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Measure {
    pub value: f64,
    pub dimension: Dimension,
    /// The currency of an amount of money.
    pub currency: Option<Currency>,
}

/// An ISO 4217 currency code, three capital letters.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Currency(pub [u8; 3]);

impl Currency {
    /// The code as text.
    pub fn code(&self) -> &str {
        std::str::from_utf8(&self.0).unwrap_or("???")
    }

    /// Decimals of its smallest unit after ISO 4217 (from memory): two, but for the currencies listed there with none or
    /// three.
    pub fn decimals(self) -> u32 {
        match &self.0 {
            b"BIF" | b"CLP" | b"DJF" | b"GNF" | b"ISK" | b"JPY" | b"KMF" | b"KRW" | b"PYG" | b"RWF" | b"UGX"
            | b"VND" | b"VUV" | b"XAF" | b"XOF" | b"XPF" => 0,
            b"BHD" | b"IQD" | b"JOD" | b"KWD" | b"LYD" | b"OMR" | b"TND" => 3,
            _ => 2,
        }
    }
}

/// Why two measures cannot be combined.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum CombineError {
    #[error("{0} and {1} cannot be added")]
    Unlike(Dimension, Dimension),
    #[error("amounts in two currencies cannot be combined")]
    Currencies,
    #[error("the result is not a finite number")]
    NotFinite,
}

impl Measure {
    /// A bare number.
    pub fn bare(value: f64) -> Measure {
        Measure { value, dimension: Dimension::NONE, currency: None }
    }

    /// The sum, where both have the same dimension and currency.
    ///
    /// # Errors
    /// [`CombineError`] where they do not, or where the sum is not finite.
    pub fn plus(self, o: Measure) -> Result<Measure, CombineError> {
        if self.dimension != o.dimension {
            return Err(CombineError::Unlike(self.dimension, o.dimension));
        }
        if self.currency != o.currency {
            return Err(CombineError::Currencies);
        }
        Measure { value: self.value + o.value, ..self }.finite()
    }

    /// The same with the other sign.
    #[must_use]
    pub fn negated(self) -> Measure {
        Measure { value: -self.value, ..self }
    }

    /// The product.
    ///
    /// # Errors
    /// [`CombineError`] where two currencies meet or the product is not finite.
    pub fn times(self, o: Measure) -> Result<Measure, CombineError> {
        self.combined(o, self.dimension.times(o.dimension), |a, b| a * b)
    }

    /// The quotient.
    ///
    /// # Errors
    /// [`CombineError`] where two currencies meet or the quotient is not finite (a division by zero).
    pub fn over(self, o: Measure) -> Result<Measure, CombineError> {
        self.combined(o, self.dimension.over(o.dimension), |a, b| a / b)
    }

    fn combined(self, o: Measure, dimension: Dimension, f: impl Fn(f64, f64) -> f64) -> Result<Measure, CombineError> {
        let currency = match (self.currency, o.currency) {
            (Some(a), Some(b)) if a != b => return Err(CombineError::Currencies),
            _ if dimension.money == 0 => None,
            (a, b) => a.or(b),
        };
        let value = f(self.value * self.dimension.coherent(), o.value * o.dimension.coherent()) / dimension.coherent();
        Measure { value, dimension, currency }.finite()
    }

    fn finite(self) -> Result<Measure, CombineError> {
        if self.value.is_finite() { Ok(self) } else { Err(CombineError::NotFinite) }
    }
}

/// A quantity that can be made from a [`Measure`] of the right dimension.
pub trait Quantity: Sized + Copy {
    /// The dimension that a measure must have.
    const DIMENSION: Dimension;
    /// Takes the number over, where it is finite and of this dimension.
    ///
    /// # Errors
    /// The dimension found, where it is another one.
    fn from_measure(measure: Measure) -> Result<Self, Dimension>;
}

macro_rules! quantities {
    ($($name:ident = $dimension:ident,)*) => {$(
        impl Quantity for $name {
            const DIMENSION: Dimension = Dimension::$dimension;
            fn from_measure(m: Measure) -> Result<Self, Dimension> {
                if m.dimension == Self::DIMENSION && m.value.is_finite() { Ok($name(m.value)) } else { Err(m.dimension) }
            }
        }
    )*};
}

quantities! {
    Length = LENGTH,
    Area = AREA,
    Angle = ANGLE,
    Time = TIME,
    RotationalSpeed = ROTATIONAL_SPEED,
    Velocity = VELOCITY,
    Feed = FEED,
    Power = POWER,
    Force = FORCE,
    Torque = TORQUE,
    Pressure = PRESSURE,
    Flow = FLOW,
    Frequency = FREQUENCY,
    Acceleration = ACCELERATION,
    Mass = MASS,
    Straightness = SLOPE,
    Ratio = SHARE,
    Money = MONEY,
    HourRate = HOUR_RATE,
    MassPrice = MASS_PRICE,
    YearlyHours = YEARLY_HOURS,
}
