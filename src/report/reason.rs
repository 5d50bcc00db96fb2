//! A reason as data: what a rule asks, what is offered, how far that is from its limit, and what would help.

use crate::matching::{Figure, Finding, Verdict};
use crate::model::part::Part;
use schemars::JsonSchema;
use serde::Serialize;

/// A figure with its unit, and as it is printed.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct FigureAnswer {
    #[serde(skip_serializing_if = "Option::is_none")]
    pub value: Option<f64>,
    pub unit: &'static str,
    pub text: String,
}

impl From<&Figure> for FigureAnswer {
    fn from(f: &Figure) -> FigureAnswer {
        FigureAnswer { value: f.value(), unit: f.unit(), text: f.to_string() }
    }
}

/// One reason.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Reason {
    pub rule: &'static str,
    pub verdict: Verdict,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub feature: Option<String>,
    pub asked: FigureAnswer,
    pub offered: FigureAnswer,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub margin: Option<FigureAnswer>,
    /// Where it is refused, or warned of where the rule never refuses, if that is neither what is asked nor what is offered.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub limit: Option<FigureAnswer>,
    pub reason: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub remedy: Option<String>,
}

impl Reason {
    /// How far it is from its limit: `, limit 1.00, margin 0.48`; nothing where it has no margin.
    pub(super) fn margin_words(&self) -> String {
        let limit = self.limit.as_ref().map(|l| format!(", limit {}", l.text)).unwrap_or_default();
        self.margin.as_ref().map(|m| format!("{limit}, margin {}", m.text)).unwrap_or_default()
    }

    pub(super) fn new(part: &Part, f: &Finding) -> Reason {
        Reason {
            rule: f.rule,
            verdict: f.verdict,
            feature: f.feature.map(|i| part.features[i].name.clone()),
            asked: (&f.asked).into(),
            offered: (&f.offered).into(),
            margin: f.margin.as_ref().map(FigureAnswer::from),
            limit: f.limit.as_ref().filter(|l| **l != f.asked && **l != f.offered).map(FigureAnswer::from),
            reason: f.reason.clone().into_owned(),
            remedy: f.remedy.clone(),
        }
    }
}
