//! A plan with everything that it answers to, each of which a test may change: what is not changed is shared.

use super::common::Example;
use std::rc::Rc;
use turnwright::matching::rules::{Case, Rule};
use turnwright::matching::{Finding, Row};
use turnwright::model::figure::Size;
use turnwright::model::machine::{Carrier, CarrierAngle, Holder, Mode, ModeKind};
use turnwright::model::part::{FeatureId, Kind};
use turnwright::model::{Machine, Part, Place, Shop, Stated};
use turnwright::planning::{self, PartView, Plan, Task};
use turnwright::quantity::Length;
use turnwright::tables::thresholds::{self, Thresholds};

#[derive(Clone)]
pub(crate) struct World {
    pub(crate) part: Rc<Part>,
    pub(crate) machine: Rc<Machine>,
    pub(crate) shop: Rc<Shop>,
    pub(crate) plan: Rc<Plan>,
    pub(crate) mode: ModeKind,
    lot: u64,
}

/// A figure as the machine would state it.
pub(crate) fn stated<T>(value: T) -> Option<Stated<T>> {
    Some(Stated { value, place: Place::default() })
}

impl World {
    /// The plan of a row with the question that it answers.
    pub(crate) fn of(part: &Part, machine: &Machine, shop: &Shop, row: &Row, quantity: u64) -> World {
        World {
            part: Rc::new(part.clone()),
            machine: Rc::new(machine.clone()),
            shop: Rc::new(shop.clone()),
            plan: Rc::new(row.judged.plan.clone()),
            mode: row.mode,
            lot: quantity,
        }
    }

    /// The plan of an example.
    pub(crate) fn of_example(example: &Example) -> World {
        let lot = example.part.orders.first().copied().unwrap_or(1);
        World::of(&example.part, &example.machine, &example.shop, &example.row(), lot)
    }

    /// Asks something of the task that the plan answers.
    pub(crate) fn ask<T>(&self, then: impl FnOnce(&Task) -> T) -> T {
        let (view, thresholds) = (PartView::new(&self.part), Thresholds::with(&self.shop.thresholds));
        let mode = self.machine.mode(self.mode).unwrap();
        let task = Task::new(&view, &self.machine, mode, &self.shop, &thresholds, self.plan.first);
        then(&Task { reach: self.plan.reach, lot: self.lot, ..task })
    }

    /// What a rule says about the plan as it stands.
    pub(crate) fn judge(&self, rule: &dyn Rule) -> Vec<Finding> {
        let mut out = Vec::new();
        self.ask(|task| rule.check(&Case { task, plan: &self.plan, with_terms: false }, &mut out));
        out
    }

    /// Plans again, the same end first with the same attachments at hand; whether that can be reckoned.
    pub(crate) fn plan_again(&mut self) -> bool {
        let plan = self.ask(planning::plan);
        plan.map(|p| self.plan = Rc::new(p)).is_ok()
    }

    /// The capabilities reckoned again, the rest of the plan as it is.
    pub(crate) fn bend_again(&mut self) {
        let plan = &self.plan;
        let found =
            self.ask(|task| planning::deflection::capabilities(task, &plan.blank, &plan.operations, &plan.tools));
        self.plan_mut().capabilities = found.unwrap();
    }

    pub(crate) fn part_mut(&mut self) -> &mut Part {
        Rc::make_mut(&mut self.part)
    }

    pub(crate) fn machine_mut(&mut self) -> &mut Machine {
        Rc::make_mut(&mut self.machine)
    }

    pub(crate) fn plan_mut(&mut self) -> &mut Plan {
        Rc::make_mut(&mut self.plan)
    }

    pub(crate) fn mode_mut(&mut self) -> &mut Mode {
        let kind = self.mode;
        self.machine_mut().modes.iter_mut().find(|m| m.kind == kind).unwrap()
    }

    pub(crate) fn stated_mode(&self) -> &Mode {
        self.machine.mode(self.mode).unwrap()
    }

    /// A threshold, from the shop file or the table.
    pub(crate) fn threshold(&self, name: &str) -> f64 {
        let table =
            thresholds::all().iter().find(|t| t.name == name).unwrap_or_else(|| panic!("no threshold `{name}`"));
        self.shop.thresholds.get(name).copied().unwrap_or(table.value)
    }

    /// Sets thresholds in the shop file.
    pub(crate) fn set(&mut self, names: &[&str], to: impl Fn(f64) -> f64) {
        for name in names {
            let value = to(self.threshold(name));
            Rc::make_mut(&mut self.shop).thresholds.insert((*name).to_owned(), value);
        }
    }

    /// The diameter of a feature.
    pub(crate) fn size(&mut self, feature: FeatureId) -> Option<&mut Size> {
        super::common::size_of(&mut self.part_mut().features[feature].kind)
    }

    /// The demand of a finding: the one about its feature that asks for so much.
    pub(crate) fn demand(&mut self, finding: &Finding) -> &mut Length {
        let (feature, asked) = (finding.feature.unwrap(), finding.asked.value().unwrap());
        let demands = &mut self.part_mut().demands;
        let found = demands.iter_mut().find(|d| d.feature == feature && (d.value.to_mm() - asked).abs() < 1e-12);
        &mut found.unwrap().value
    }

    pub(crate) fn carriers(&mut self) -> &mut [Carrier] {
        &mut self.machine_mut().carriers
    }

    /// The angles that carriers and heads state.
    pub(crate) fn angles(&mut self) -> impl Iterator<Item = &mut CarrierAngle> {
        let m = self.machine_mut();
        let heads = m.options.iter_mut().filter_map(|o| o.angle.as_mut());
        m.carriers.iter_mut().filter_map(|c| c.angle.as_mut()).chain(heads)
    }

    /// The largest round tool that any place takes: larger ones cut down to it, or smaller ones brought up to it.
    pub(crate) fn hold_up_to(&mut self, dia: Length, smaller: bool) {
        let change = |holder: &mut Option<Stated<Holder>>| {
            let Some(h) = holder else { return };
            let now = match h.value {
                Holder::Shank(w, _) => w,
                Holder::Sleeve(d) | Holder::Collet(d) => d,
            };
            if (now > dia) == smaller {
                h.value = match h.value {
                    Holder::Shank(..) => Holder::Shank(dia, dia),
                    Holder::Sleeve(_) => Holder::Sleeve(dia),
                    Holder::Collet(_) => Holder::Collet(dia),
                };
            }
        };
        let m = self.machine_mut();
        m.carriers.iter_mut().for_each(|c| {
            change(&mut c.fixed_holder);
            change(&mut c.live_holder);
        });
        m.options.iter_mut().for_each(|o| change(&mut o.holder));
        if let Some(limit) = m.magazine.as_mut().and_then(|g| g.tool_dia.as_mut()) {
            limit.value = if (limit.value > dia) == smaller { dia } else { limit.value };
        }
    }

    /// How the plan makes a feature: the works in their order and the sizes of their tools, told apart from another way.
    pub(crate) fn way(&self, feature: Option<FeatureId>) -> Vec<String> {
        let of = self.plan.operations.iter().filter(|o| feature.is_none() || o.feature == feature);
        of.map(|o| format!("{:?} {:?} {}", o.work, o.side, self.plan.tools[o.tool].dia)).collect()
    }

    /// The bore beneath an internal thread, or the turn beneath an external one.
    pub(crate) fn beneath(&self, thread: FeatureId) -> Option<FeatureId> {
        let Kind::Thread(thread) = &self.part.features[thread].kind else { return None };
        self.part.features.iter().position(|f| match &f.kind {
            Kind::Bore(b) => thread.internal && b.zone.overlap(&thread.zone) > Length::um(1.0),
            Kind::Turn(t) => {
                !thread.internal
                    && !t.thread_blank
                    && t.zone.overlap(&thread.zone) > Length::um(1.0)
                    && t.dia.is_toleranced()
            }
            _ => false,
        })
    }
}
