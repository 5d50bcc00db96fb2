//! How far a cycle and a setup may lie off: from the ranges that the tables give for speeds and times, part by part.
//!
//! Each part (turning speed, drilling and milling speed, one kind of movement or of setting up) is off as a whole; different
//! parts are off independently, so they add by root of squares. What the machine or the shop states itself has no range.
//!
//! Where the shop's own records tell how far its orders scatter, the parts keep their proportions and together follow the
//! records, the table's range counting like a few of them.

use super::cycle::{self, Doing, Slot};
use super::operation::{ToolKind, Work};
use super::setup::Setup;
use super::{Plan, Task};
use crate::formulas::robust::pooled_spread;
use crate::model::calibration::Factor;
use crate::model::machine::Side;
use crate::quantity::Time;
use crate::tables::materials::Band;
use crate::tables::shop_times;

/// A band holds eight orders of ten: the upper tenth of the normal distribution (common practice for estimates, no source).
const TENTH: f64 = 1.2816;
/// The table's range counts like so many records (common practice, no source).
const TABLE_COUNTS: f64 = 4.0;
/// What has no range in the tables, or a smaller one, is not known better than to this spread (common practice, no source).
const LEAST_SPREAD: f64 = 0.10;
/// Causes that stop the machine beside its programmed cycle.
const STOPPAGES: [&str; 3] = ["bar-change", "solid-tool-change", "contingency"];

/// One cause, and how much shorter or longer it makes a time.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Cause {
    /// A key of the table of shop times, or `turning speed`, `drilling speed`, `contingency`.
    pub name: &'static str,
    pub shorter: Time,
    pub longer: Time,
}

/// The causes behind a time.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Causes(pub Vec<Cause>);

impl Causes {
    fn add(&mut self, name: &'static str, shorter: Time, longer: Time) {
        match self.0.iter_mut().find(|c| c.name == name) {
            Some(c) => {
                c.shorter += shorter;
                c.longer += longer;
            }
            None => self.0.push(Cause { name, shorter, longer }),
        }
    }

    /// A time that scales with the band of a table key.
    fn scaled(&mut self, key: &'static str, time: Time) {
        if let Some(Band { low, typical, high }) = shop_times::band(key).filter(|b| b.typical > Time::ZERO) {
            self.add(key, time * (1.0 - low / typical), time * (high / typical - 1.0));
        }
    }

    fn scale(&mut self, factor: f64) {
        for cause in &mut self.0 {
            cause.shorter = cause.shorter * factor;
            cause.longer = cause.longer * factor;
        }
    }

    /// Brings some causes of a time, together, to what records say of it. `rest` is the name of what the tables give no
    /// range for.
    fn follow(&mut self, which: impl Fn(&str) -> bool, rest: &'static str, whole: Time, records: &Factor) {
        let (some, others): (Vec<Cause>, Vec<Cause>) = self.0.iter().copied().partition(|c| which(c.name));
        let mut some = Causes(some);
        let (shorter, longer) = some.together();
        let down = |spread: f64| whole * (1.0 - libm::exp(-TENTH * spread));
        let up = |spread: f64| whole * (libm::exp(TENTH * spread) - 1.0);
        let (n, seen) = (f64::from(records.records), records.spread.to_fraction());
        let pooled = |table: Time, side: &dyn Fn(f64) -> Time| {
            let expected = table.max(side(LEAST_SPREAD));
            pooled_spread(expected.to_s(), TABLE_COUNTS, side(seen).to_s(), n, 0.0).map_or(expected, Time::s)
        };
        let (want_shorter, want_longer) = (pooled(shorter, &down), pooled(longer, &up));
        let share = |table: Time, want: Time| if table > Time::ZERO { want / table } else { 0.0 };
        for cause in &mut some.0 {
            cause.shorter = cause.shorter * share(shorter, want_shorter);
            cause.longer = cause.longer * share(longer, want_longer);
        }
        let left = |table: Time, want: Time| if table > Time::ZERO { Time::ZERO } else { want };
        if shorter <= Time::ZERO || longer <= Time::ZERO {
            some.add(rest, left(shorter, want_shorter), left(longer, want_longer));
        }
        self.0 = others;
        self.0.extend(some.0);
    }

    /// Together, by root of squares: how much shorter and how much longer.
    pub fn together(&self) -> (Time, Time) {
        let root = |f: fn(&Cause) -> Time| {
            let squares: f64 = self.0.iter().map(|c| f(c).to_s() * f(c).to_s()).sum();
            Time::s(libm::sqrt(squares))
        };
        (root(|c| c.shorter), root(|c| c.longer))
    }
}

/// What the cycle of a plan may be off by: the spindle that decides, the hand-over, and the shares beside it.
pub fn of_cycle(task: &Task, plan: &Plan) -> Causes {
    let mut causes = Causes::default();
    let c = &plan.cycle;
    let decides = if c.main >= c.sub { Side::Main } else { Side::Sub };
    let tie = c.programmed - c.tie - Time::s(1e-9);
    let all = c.in_sequence;
    for slot in c.slots.iter().filter(|s| s.side == decides || all || (s.start >= tie && s.cutting > Time::ZERO)) {
        of_slot(task, plan, slot, &mut causes);
    }
    causes.scaled("bar-change", c.bar_change);
    causes.scaled("solid-tool-change", c.wear);
    // What nobody has foreseen: none of it, or twice as much.
    causes.add("contingency", c.contingency, c.contingency);
    let records = task.cycle_correction();
    causes.scale(records.of_whole());
    if let Some(told) = records.told_by() {
        causes.follow(|name| !STOPPAGES.contains(&name), "cycles recorded", c.total, told);
    }
    if let Some(told) = records.stoppages {
        causes.follow(|name| STOPPAGES.contains(&name), "stoppages recorded", c.total, told);
    }
    causes
}

fn of_slot(task: &Task, plan: &Plan, slot: &Slot, causes: &mut Causes) {
    let m = &task.view.part.material;
    let Doing::Operation(i) = slot.doing else {
        let key = match slot.doing {
            Doing::FeedOut => "feed-out",
            Doing::PickOff | Doing::Support if cycle::is_small(task) => "pick-off-small",
            Doing::PickOff | Doing::Support => "pick-off",
            Doing::Unload => "part-unload-chute",
            Doing::AirBlow => "air-blow",
            Doing::Hold | Doing::Operation(_) => return,
        };
        causes.scaled(key, slot.moving);
        return;
    };
    let op = &plan.operations[i];
    let tool = &plan.tools[op.tool];
    let stated = task.machine.carriers.get(slot.carrier.unwrap_or(usize::MAX)).is_some_and(|c| c.index.is_some());
    if !stated {
        causes.scaled("turret-change", slot.before.change);
    }
    causes.scaled("approach", slot.before.approach + slot.moving);
    causes.scaled("orient", slot.before.spindle);
    causes.scaled("live-start-stop", slot.before.live);
    let turning = matches!(
        op.work,
        Work::Face
            | Work::BackFace
            | Work::Turn
            | Work::RoughTurn
            | Work::FinishTurn
            | Work::Groove
            | Work::CutOff
            | Work::Chamfer
            | Work::Bore
            | Work::TurnEccentric
    ) && !tool.live;
    let (name, speed) = match turning {
        true => ("turning speed", m.turning_speed),
        false => ("drilling speed", m.drilling_speed),
    };
    // A spindle or drive at its cap turns no faster, whatever the material takes.
    let cap = if tool.live { tool.speed_wanted } else { task.speed_cap(slot.side) };
    let capped = cap.is_some_and(|cap| if tool.live { op.speed < cap * 0.999 } else { op.speed > cap * 0.999 });
    let fixed =
        matches!(tool.kind, ToolKind::Tap | ToolKind::ThreadingTool | ToolKind::WhirlingHead | ToolKind::Broach);
    if fixed {
        return;
    }
    let shorter = if capped { 0.0 } else { 1.0 - speed.typical / speed.high };
    causes.add(name, slot.cutting * shorter, slot.cutting * (speed.typical / speed.low - 1.0));
}

/// What a setup may be off by. The shop's own standard times, and what the machine states, have no range.
pub fn of_setup(task: &Task, setup: &Setup) -> Causes {
    let mut causes = Causes::default();
    for line in &setup.lines {
        let own = task.shop.setup_times.contains_key(line.kind);
        let key = match line.kind {
            "prove-out-new" | "prove-out-repeat" => "prove-out-spindle",
            kind => kind,
        };
        if !own && !line.stated {
            causes.scaled(key, line.time);
        }
    }
    if let Some(told) = task.shop.calibration.setup.get(&task.machine.name).filter(|_| setup.total > Time::ZERO) {
        causes.follow(|_| true, "setups recorded", setup.total, told);
    }
    causes
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn causes_of_one_name_add_and_others_do_not() {
        let mut causes = Causes::default();
        causes.add("turning speed", Time::s(2.0), Time::s(1.0));
        causes.add("turning speed", Time::s(1.0), Time::s(3.0));
        causes.add("drilling speed", Time::s(4.0), Time::s(3.0));
        let (shorter, longer) = causes.together();
        assert!((shorter.to_s() - 5.0).abs() < 1e-12 && (longer.to_s() - 5.0).abs() < 1e-12);
        causes.scaled("no such key", Time::s(9.0));
        assert_eq!(causes.0.len(), 2);
    }
}
