//! Dimensioned numbers: what goes over a function's border is a length, a speed, a force, never a bare number.
//!
//! Each quantity keeps its number in the unit of the trade (mm, s, deg, rpm, m/min, N, N.m, bar, kW), so that a size
//! comes back exactly as it was written. Inside an empirical formula the number is taken out with the unit in the
//! reader's name, computed as the source prints it, and put back on the last line.

pub mod measure;
pub mod print;
pub mod units;

use std::cmp::Ordering;
use std::iter::Sum;
use std::ops::{Add, AddAssign, Div, Mul, Neg, Sub, SubAssign};

/// Declares one quantity: its name, the reader and constructor of the unit it is kept in, and those of other units with
/// their exact factors.
macro_rules! quantity {
    ($(#[$doc:meta])* $name:ident in $base:ident, $to_base:ident $(; $unit:ident, $to_unit:ident = $factor:expr)*) => {
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, Default, PartialEq, PartialOrd)]
        pub struct $name(f64);

        impl $name {
            /// Nothing of it.
            pub const ZERO: $name = $name(0.0);
            #[doc = concat!("From a number of `", stringify!($base), "`.")]
            pub const fn $base(value: f64) -> $name { $name(value) }
            #[doc = concat!("The number of `", stringify!($base), "`.")]
            pub const fn $to_base(self) -> f64 { self.0 }
            $(
                #[doc = concat!("From a number of `", stringify!($unit), "`.")]
                pub const fn $unit(value: f64) -> $name { $name(value * $factor) }
                #[doc = concat!("The number of `", stringify!($unit), "`.")]
                pub const fn $to_unit(self) -> f64 { self.0 / $factor }
            )*
            /// The greater of two.
            #[must_use]
            pub fn max(self, other: $name) -> $name { $name(self.0.max(other.0)) }
            /// The lesser of two.
            #[must_use]
            pub fn min(self, other: $name) -> $name { $name(self.0.min(other.0)) }
            /// Without its sign.
            #[must_use]
            pub fn abs(self) -> $name { $name(self.0.abs()) }
            /// Whether it is a number at all: neither NaN nor infinite.
            pub fn is_finite(self) -> bool { self.0.is_finite() }
            /// A total order, for sorting.
            pub fn total_cmp(&self, other: &$name) -> Ordering { self.0.total_cmp(&other.0) }
        }
        impl Add for $name { type Output = $name; fn add(self, o: $name) -> $name { $name(self.0 + o.0) } }
        impl Sub for $name { type Output = $name; fn sub(self, o: $name) -> $name { $name(self.0 - o.0) } }
        impl Neg for $name { type Output = $name; fn neg(self) -> $name { $name(-self.0) } }
        impl AddAssign for $name { fn add_assign(&mut self, o: $name) { self.0 += o.0; } }
        impl SubAssign for $name { fn sub_assign(&mut self, o: $name) { self.0 -= o.0; } }
        impl Mul<f64> for $name { type Output = $name; fn mul(self, k: f64) -> $name { $name(self.0 * k) } }
        impl Mul<$name> for f64 { type Output = $name; fn mul(self, q: $name) -> $name { $name(self * q.0) } }
        impl Div<f64> for $name { type Output = $name; fn div(self, k: f64) -> $name { $name(self.0 / k) } }
        impl Div for $name { type Output = f64; fn div(self, o: $name) -> f64 { self.0 / o.0 } }
        impl Sum for $name { fn sum<I: Iterator<Item = $name>>(it: I) -> $name { it.fold($name::ZERO, Add::add) } }
    };
}

/// Allows one product of quantities and its two divisions. A product that is not listed is a compile error that names
/// both quantities.
macro_rules! product {
    ($a:ident * $b:ident = $c:ident, $factor:expr) => {
        impl Mul<$b> for $a {
            type Output = $c;
            fn mul(self, o: $b) -> $c {
                $c(self.0 * o.0 * $factor)
            }
        }
        impl Mul<$a> for $b {
            type Output = $c;
            fn mul(self, o: $a) -> $c {
                $c(self.0 * o.0 * $factor)
            }
        }
        impl Div<$a> for $c {
            type Output = $b;
            fn div(self, o: $a) -> $b {
                $b(self.0 / o.0 / $factor)
            }
        }
        impl Div<$b> for $c {
            type Output = $a;
            fn div(self, o: $b) -> $a {
                $a(self.0 / o.0 / $factor)
            }
        }
    };
}

quantity!(
    /// A length, kept in mm.
    Length in mm, to_mm; um, to_um = 0.001; m, to_m = 1000.0; inch, to_inch = 25.4
);
quantity!(
    /// An angle, kept in degrees.
    Angle in deg, to_deg
);
quantity!(
    /// A span of time, kept in seconds.
    Time in s, to_s; minutes, to_minutes = 60.0; hours, to_hours = 3600.0; weeks, to_weeks = 604_800.0
);
quantity!(
    /// A rotational speed, kept in revolutions a minute.
    RotationalSpeed in rpm, to_rpm
);
quantity!(
    /// A cutting or traverse speed, kept in m/min.
    Velocity in m_per_min, to_m_per_min; mm_per_min, to_mm_per_min = 0.001
);
quantity!(
    /// A feed a revolution, kept in mm/rev.
    Feed in mm_per_rev, to_mm_per_rev
);
quantity!(
    /// A power, kept in kW.
    Power in kw, to_kw; w, to_w = 0.001
);
quantity!(
    /// A force, kept in N.
    Force in n, to_n; kn, to_kn = 1000.0
);
quantity!(
    /// A torque, kept in N.m.
    Torque in nm, to_nm
);
quantity!(
    /// A pressure or stress, kept in bar (1 MPa = 1 N/mm2 = 10 bar).
    Pressure in bar, to_bar; mpa, to_mpa = 10.0
);
quantity!(
    /// A volume flow, kept in l/min.
    Flow in l_per_min, to_l_per_min
);
quantity!(
    /// A frequency, kept in Hz.
    Frequency in hz, to_hz
);
quantity!(
    /// An area, kept in mm2.
    Area in mm2, to_mm2
);
quantity!(
    /// A mass, kept in kg.
    Mass in kg, to_kg
);
quantity!(
    /// An acceleration, kept in m/s2.
    Acceleration in m_per_s2, to_m_per_s2
);
quantity!(
    /// A straightness a length, kept in mm/m.
    Straightness in mm_per_m, to_mm_per_m
);
quantity!(
    /// A part of a whole, kept as a fraction: 22 % is 0.22.
    Ratio in fraction, to_fraction; percent, to_percent = 0.01
);
quantity!(
    /// An amount of the shop's currency.
    Money in units, to_units
);
quantity!(
    /// An amount of the shop's currency an hour.
    HourRate in per_hour, to_per_hour
);
quantity!(
    /// An amount of the shop's currency a kilogram.
    MassPrice in per_kg, to_per_kg
);
quantity!(
    /// Working hours a year.
    YearlyHours in h_per_year, to_h_per_year
);

product!(Time * HourRate = Money, 1.0 / 3600.0);
product!(Mass * MassPrice = Money, 1.0);
