//! What every rule file uses.

pub(super) use super::super::finding::{Figure, Finding, Verdict};
pub(super) use super::super::term::Term;
pub(super) use super::{Case, Doc, Rule};
use crate::model::figure::Place;
use crate::model::part::Demand;
pub(super) use crate::model::part::{FeatureId, Kind};

/// A feature's name in the sentence of a finding.
pub(super) fn name<'a>(case: &Case<'a>, feature: FeatureId) -> &'a str {
    &case.task.view.part.features[feature].name
}

/// Where a feature stands in the part's spec.
pub(super) fn place(case: &Case, feature: FeatureId) -> Place {
    case.task.view.part.features[feature].place
}

/// How a plan comes to its bar, as the origin of a term.
pub(super) const STOCK: &str = "the stock of the spec, or the smallest stocked bar that cleans up";

/// How a plan comes to a tool, as the origin of a term.
pub(super) const TOOL: &str = "the tool chosen for the feature";

/// How a plan comes to a force, a torque or a power, as the origin of a term.
pub(super) const KIENZLE: &str = "after Kienzle, cautious end or worn edge";

/// The finding for a figure that the machine spec does not state.
pub(super) fn not_stated(rule: &'static str, asked: Figure, what: &str) -> Finding {
    let mut finding = Finding::new(rule, Verdict::NotStated, asked, Figure::Words("not stated".into()));
    finding.reason = format!("the machine does not state {what}").into();
    finding.remedy = Some(format!("ask the maker, or state {what} in the machine spec"));
    finding
}

/// The finding for a demand on a surface that is ground after the machine: nothing here decides it.
pub(super) fn left_to_grinding(case: &Case, rule: &'static str, demand: &Demand) -> Option<Finding> {
    let part = case.task.view.part;
    let ground = [Some(demand.feature), demand.datum].into_iter().flatten().find(|f| part.is_ground(*f))?;
    let to = demand.datum.map(|d| format!(" to `{}`", name(case, d))).unwrap_or_default();
    let finding = Finding::new(rule, Verdict::Fits, Figure::Length(demand.value), Figure::Words("ground".into()));
    Some(finding.about(demand.feature).at([demand.place]).because(format!(
        "`{}`{to}: {} {}; `{}` is ground afterwards: it is the grinding that makes it",
        name(case, demand.feature),
        demand.kind.word(),
        demand.value,
        name(case, ground)
    )))
}
