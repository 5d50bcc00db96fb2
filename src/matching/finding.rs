//! What a rule says about a plan: what was asked, what is offered, by how much, and what would turn it round.
//!
//! One margin for all rules: the distance to refusal, or to the limit of the warning where the rule never refuses, in the
//! unit of the figures; positive inside, negative outside. What is refused has a margin of nought or less, what fits one of
//! nought or more; a warning short of refusal may still have one to lose.

use super::rules::Case;
use super::term::Term;
use crate::model::figure::Place;
use crate::model::part::FeatureId;
use crate::quantity::{
    Angle, Force, Frequency, Length, Mass, Power, Pressure, RotationalSpeed, Time, Torque, Velocity,
};
use std::borrow::Cow;
use std::fmt;

/// How a rule judges, best first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize, schemars::JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Verdict {
    Fits,
    Warns,
    /// The machine spec does not state what the rule must compare with.
    NotStated,
    Refused,
}

impl Verdict {
    /// The reader's word.
    pub fn word(self) -> &'static str {
        match self {
            Verdict::Fits => "fits",
            Verdict::Warns => "warns",
            Verdict::NotStated => "not stated",
            Verdict::Refused => "refused",
        }
    }
}

/// A number that a rule compares, or words where there is none.
#[derive(Clone, Debug, PartialEq)]
pub enum Figure {
    Length(Length),
    Angle(Angle),
    Time(Time),
    Speed(RotationalSpeed),
    SurfaceSpeed(Velocity),
    Force(Force),
    Torque(Torque),
    Power(Power),
    Pressure(Pressure),
    Frequency(Frequency),
    Mass(Mass),
    Count(u32),
    /// A pure number with two decimals: a capability, a ratio.
    Number(f64),
    /// An IT grade.
    Grade(u8),
    Words(Cow<'static, str>),
}

impl Figure {
    /// The number in the unit that the quantity is kept in, where there is one.
    pub fn value(&self) -> Option<f64> {
        Some(match self {
            Figure::Length(q) => q.to_mm(),
            Figure::Angle(q) => q.to_deg(),
            Figure::Time(q) => q.to_s(),
            Figure::Speed(q) => q.to_rpm(),
            Figure::SurfaceSpeed(q) => q.to_m_per_min(),
            Figure::Force(q) => q.to_n(),
            Figure::Torque(q) => q.to_nm(),
            Figure::Power(q) => q.to_kw(),
            Figure::Pressure(q) => q.to_bar(),
            Figure::Frequency(q) => q.to_hz(),
            Figure::Mass(q) => q.to_kg(),
            Figure::Count(n) => f64::from(*n),
            Figure::Number(n) => *n,
            Figure::Grade(g) => f64::from(*g),
            Figure::Words(_) => return None,
        })
    }

    /// The unit of [`Figure::value`].
    pub fn unit(&self) -> &'static str {
        match self {
            Figure::Length(_) => "mm",
            Figure::Angle(_) => "deg",
            Figure::Time(_) => "s",
            Figure::Speed(_) => "rpm",
            Figure::SurfaceSpeed(_) => "m/min",
            Figure::Force(_) => "N",
            Figure::Torque(_) => "N.m",
            Figure::Power(_) => "kW",
            Figure::Pressure(_) => "bar",
            Figure::Frequency(_) => "Hz",
            Figure::Mass(_) => "kg",
            Figure::Count(_) | Figure::Number(_) | Figure::Words(_) => "",
            Figure::Grade(_) => "IT",
        }
    }

    /// A figure of the same kind: a number in the unit of [`Figure::value`]. What is counted and then reckoned with is a
    /// pure number, and so is what stands in words.
    #[must_use]
    pub fn like(&self, value: f64) -> Figure {
        match self {
            Figure::Length(_) => Figure::Length(Length::mm(value)),
            Figure::Angle(_) => Figure::Angle(Angle::deg(value)),
            Figure::Time(_) => Figure::Time(Time::s(value)),
            Figure::Speed(_) => Figure::Speed(RotationalSpeed::rpm(value)),
            Figure::SurfaceSpeed(_) => Figure::SurfaceSpeed(Velocity::m_per_min(value)),
            Figure::Force(_) => Figure::Force(Force::n(value)),
            Figure::Torque(_) => Figure::Torque(Torque::nm(value)),
            Figure::Power(_) => Figure::Power(Power::kw(value)),
            Figure::Pressure(_) => Figure::Pressure(Pressure::bar(value)),
            Figure::Frequency(_) => Figure::Frequency(Frequency::hz(value)),
            Figure::Mass(_) => Figure::Mass(Mass::kg(value)),
            Figure::Count(_) | Figure::Number(_) | Figure::Grade(_) | Figure::Words(_) => Figure::Number(value),
        }
    }

    /// This figure less another of its kind.
    #[must_use]
    pub fn minus(&self, o: &Figure) -> Option<Figure> {
        Some(match (self, o) {
            (Figure::Length(a), Figure::Length(b)) => Figure::Length(*a - *b),
            (Figure::Angle(a), Figure::Angle(b)) => Figure::Angle(*a - *b),
            (Figure::Time(a), Figure::Time(b)) => Figure::Time(*a - *b),
            (Figure::Speed(a), Figure::Speed(b)) => Figure::Speed(*a - *b),
            (Figure::SurfaceSpeed(a), Figure::SurfaceSpeed(b)) => Figure::SurfaceSpeed(*a - *b),
            (Figure::Force(a), Figure::Force(b)) => Figure::Force(*a - *b),
            (Figure::Torque(a), Figure::Torque(b)) => Figure::Torque(*a - *b),
            (Figure::Power(a), Figure::Power(b)) => Figure::Power(*a - *b),
            (Figure::Pressure(a), Figure::Pressure(b)) => Figure::Pressure(*a - *b),
            (Figure::Frequency(a), Figure::Frequency(b)) => Figure::Frequency(*a - *b),
            (Figure::Mass(a), Figure::Mass(b)) => Figure::Mass(*a - *b),
            (Figure::Count(a), Figure::Count(b)) => Figure::Number(f64::from(*a) - f64::from(*b)),
            (Figure::Number(a), Figure::Number(b)) => Figure::Number(a - b),
            (Figure::Grade(a), Figure::Grade(b)) => Figure::Number(f64::from(*a) - f64::from(*b)),
            _ => return None,
        })
    }
}

macro_rules! figures {
    ($($kind:ident($from:ty)),* $(,)?) => {
        $(impl From<$from> for Figure {
            fn from(q: $from) -> Figure {
                Figure::$kind(q)
            }
        })*
    };
}

figures! {
    Length(Length), Angle(Angle), Time(Time), Speed(RotationalSpeed), SurfaceSpeed(Velocity), Force(Force), Torque(Torque),
    Power(Power), Pressure(Pressure), Frequency(Frequency), Mass(Mass), Count(u32), Number(f64),
}

/// What is not stated is said in words.
impl<T: Into<Figure>> From<Option<T>> for Figure {
    fn from(q: Option<T>) -> Figure {
        q.map_or(Figure::Words(Cow::Borrowed("not stated")), Into::into)
    }
}

impl fmt::Display for Figure {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Figure::Length(q) => q.fmt(f),
            Figure::Angle(q) => q.fmt(f),
            Figure::Time(q) => q.fmt(f),
            Figure::Speed(q) => q.fmt(f),
            Figure::SurfaceSpeed(q) => q.fmt(f),
            Figure::Force(q) => q.fmt(f),
            Figure::Torque(q) => q.fmt(f),
            Figure::Power(q) => q.fmt(f),
            Figure::Pressure(q) => q.fmt(f),
            Figure::Frequency(q) => q.fmt(f),
            Figure::Mass(q) => q.fmt(f),
            Figure::Count(n) => n.fmt(f),
            Figure::Number(n) => f.write_str(&crate::quantity::print::number(*n, 2)),
            Figure::Grade(g) => write!(f, "IT {g}"),
            Figure::Words(w) => f.write_str(w),
        }
    }
}

/// What a rule says about one thing.
#[derive(Clone, Debug, PartialEq)]
pub struct Finding {
    /// The rule's name.
    pub rule: &'static str,
    pub verdict: Verdict,
    pub feature: Option<FeatureId>,
    pub asked: Figure,
    pub offered: Figure,
    /// How far it is from being refused, or from the warning where the rule never refuses; negative outside.
    pub margin: Option<Figure>,
    /// Where it is refused, or warned of where the rule never refuses, if that is neither of the two figures.
    pub limit: Option<Figure>,
    /// One sentence with the numbers of both sides.
    pub reason: Cow<'static, str>,
    /// The formula that it was reckoned by, one of its rule's, and its terms: where the case asks for them.
    pub formula: Option<&'static str>,
    pub terms: Vec<Term>,
    /// The least change that would turn a refusal or a warning round.
    pub remedy: Option<String>,
    /// Where the numbers stand in the sources.
    pub places: Vec<Place>,
}

impl Finding {
    /// A finding about two figures of which the one offered must not be less than the one asked: that is its margin.
    pub fn new(rule: &'static str, verdict: Verdict, asked: Figure, offered: Figure) -> Finding {
        let margin = offered.minus(&asked);
        Finding {
            rule,
            verdict,
            feature: None,
            asked,
            offered,
            margin,
            limit: None,
            reason: Cow::Borrowed(""),
            formula: None,
            terms: Vec::new(),
            remedy: None,
            places: Vec::new(),
        }
    }

    /// About a feature.
    #[must_use]
    pub fn about(mut self, feature: FeatureId) -> Finding {
        self.feature = Some(feature);
        self
    }

    /// With its sentence.
    #[must_use]
    pub fn because(mut self, reason: impl Into<Cow<'static, str>>) -> Finding {
        self.reason = reason.into();
        self
    }

    /// With the formula that it was reckoned by and its terms, which are put together only where the case asks for them.
    #[must_use]
    pub fn by(mut self, case: &Case, formula: &'static str, terms: impl FnOnce() -> Vec<Term>) -> Finding {
        if case.with_terms {
            self.formula = Some(formula);
            self.terms = terms();
        }
        self
    }

    /// With the least change that would help.
    #[must_use]
    pub fn unless(mut self, remedy: impl Into<String>) -> Finding {
        self.remedy = Some(remedy.into());
        self
    }

    /// With the margin turned round: what is asked is the upper limit of what is offered.
    #[must_use]
    pub fn at_most(mut self) -> Finding {
        self.margin = self.asked.minus(&self.offered);
        self
    }

    /// Refused where what is offered is below this.
    #[must_use]
    pub fn down_to(mut self, limit: Figure) -> Finding {
        self.margin = self.offered.minus(&limit);
        self.limit = Some(limit);
        self
    }

    /// Refused where what is asked is above this.
    #[must_use]
    pub fn up_to(mut self, limit: Figure) -> Finding {
        self.margin = limit.minus(&self.asked);
        self.limit = Some(limit);
        self
    }

    /// With the limit that a margin of its own runs to.
    #[must_use]
    pub fn limit(mut self, limit: Figure) -> Finding {
        self.limit = Some(limit);
        self
    }

    /// With a margin of its own, where the limit of refusal is neither of the two figures.
    #[must_use]
    pub fn margin(mut self, margin: Figure) -> Finding {
        self.margin = Some(margin);
        self
    }

    /// Without a margin: what is there or is not has no distance.
    #[must_use]
    pub fn without_margin(mut self) -> Finding {
        self.margin = None;
        self
    }

    /// With places in the sources.
    #[must_use]
    pub fn at(mut self, places: impl IntoIterator<Item = Place>) -> Finding {
        self.places.extend(places);
        self
    }
}
