//! What each capability of a candidate is worth: one figure of its spec lower and higher, step by step, every job ranked and
//! the mix planned again at each step. Worth comes in steps, at the figure that the next job needs.

use super::base::{Best, Variant};
use super::choices::Floor;
use super::sets::{Fault, Judge, Judged, Without};
use crate::costing::Amount;
use crate::model::machine::Machine;
use crate::planning::setup::Setup;
use crate::quantity::{Angle, Length, Money};
use rayon::prelude::*;
use std::collections::BTreeMap;

/// A figure of a machine's spec.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, serde::Serialize, schemars::JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Capability {
    /// The largest bar, mm, with bore, feeder and sub-spindle to suit.
    Bar,
    /// Live places of the carrier that has most of them.
    LivePlaces,
    /// The farthest that the tilting carrier leans, degrees.
    Tilt,
    Pockets,
}

/// Bar of the trade, mm.
const BARS: [f64; 14] = [7.0, 10.0, 12.0, 16.0, 20.0, 25.0, 28.0, 32.0, 36.0, 38.0, 42.0, 45.0, 52.0, 65.0];
/// Steps of the angle, degrees.
const TILTS: [f64; 9] = [0.0, 15.0, 30.0, 45.0, 60.0, 75.0, 90.0, 100.0, 110.0];
const POCKETS: [u32; 8] = [6, 9, 12, 16, 20, 24, 30, 40];
/// Live places more than the spec has.
const MORE_LIVE: u32 = 3;

impl Capability {
    pub const ALL: [Capability; 4] = [Capability::Bar, Capability::LivePlaces, Capability::Tilt, Capability::Pockets];

    /// The owner's words for a figure of it.
    pub fn words(self, figure: f64) -> String {
        match self {
            Capability::Bar => format!("bar to {figure} mm"),
            Capability::LivePlaces if figure == 1.0 => "1 live place".to_owned(),
            Capability::LivePlaces => format!("{figure} live places"),
            Capability::Tilt => format!("tilt to {figure} deg"),
            Capability::Pockets => format!("{figure} pockets"),
        }
    }

    /// What its figures are, with their unit.
    pub fn figures_are(self) -> &'static str {
        match self {
            Capability::Bar => "largest bar in mm",
            Capability::LivePlaces => "live places",
            Capability::Tilt => "farthest tilt in degrees",
            Capability::Pockets => "pockets of the magazine",
        }
    }

    /// The owner's words for what is asked of it.
    pub fn question(self) -> &'static str {
        match self {
            Capability::Bar => "What the bar size is worth",
            Capability::LivePlaces => "What the live places are worth",
            Capability::Tilt => "What the tilt is worth",
            Capability::Pockets => "What the pockets are worth",
        }
    }

    /// The figure of a machine; nothing where it has none.
    pub fn of(self, machine: &Machine) -> Option<f64> {
        match self {
            Capability::Bar => {
                let bars = machine.modes.iter().filter_map(|m| m.bar.as_ref()?.high).map(Length::to_mm);
                bars.reduce(f64::max)
            }
            Capability::LivePlaces => machine.carriers.iter().map(|c| f64::from(c.live_places)).reduce(f64::max),
            Capability::Tilt => {
                tilting(machine).map(|c| machine.carriers[c].angle.as_ref().map_or(0.0, |a| a.high.to_deg()))
            }
            Capability::Pockets => machine.magazine.as_ref().map(|m| f64::from(m.pockets)),
        }
    }

    /// The figures that are tried, ascending, its own among them.
    fn figures(self, machine: &Machine) -> Vec<f64> {
        let Some(own) = self.of(machine) else { return Vec::new() };
        let mut figures: Vec<f64> = match self {
            // From a size to half as large again: beyond that it is another machine.
            Capability::Bar => BARS.into_iter().filter(|b| *b >= own * 0.3 && *b <= own * 1.5).collect(),
            Capability::LivePlaces => (0..=own as u32 + MORE_LIVE).map(f64::from).collect(),
            Capability::Tilt => TILTS.to_vec(),
            Capability::Pockets => POCKETS.map(f64::from).to_vec(),
        };
        figures.push(own);
        figures.sort_by(f64::total_cmp);
        figures.dedup();
        figures
    }

    /// The machine with another figure.
    fn changed(self, machine: &Machine, figure: f64) -> Machine {
        let mut m = machine.clone();
        match self {
            Capability::Bar => with_bar(&mut m, Length::mm(figure)),
            Capability::LivePlaces => {
                let most = m.carriers.iter().map(|c| c.live_places).max();
                if let Some(c) = m.carriers.iter_mut().find(|c| Some(c.live_places) == most) {
                    c.live_places = figure as u32;
                }
            }
            Capability::Tilt => {
                if let Some(angle) = tilting(&m).and_then(|c| m.carriers[c].angle.as_mut()) {
                    angle.high = Angle::deg(figure).max(angle.low);
                }
            }
            Capability::Pockets => m.magazine.iter_mut().for_each(|g| g.pockets = figure as u32),
        }
        m
    }
}

/// The first carrier that leans.
fn tilting(machine: &Machine) -> Option<usize> {
    machine.carriers.iter().position(|c| c.angle.as_ref().is_some_and(|a| a.high > a.low))
}

/// Another largest bar: modes, bore, channels and the sub-spindle's collet grow and shrink together.
fn with_bar(machine: &mut Machine, bar: Length) {
    let own = machine.modes.iter().filter_map(|m| m.bar.as_ref()?.high).fold(Length::ZERO, Length::max);
    let more = bar - own;
    for mode in &mut machine.modes {
        if let Some(high) = mode.bar.as_mut().and_then(|b| b.high.as_mut()) {
            *high += more;
        }
    }
    if let Some(bore) = &mut machine.main.bore {
        bore.value += more;
    }
    if let Some(high) = machine.sub.as_mut().and_then(|s| s.grip.as_mut()).and_then(|g| g.high.as_mut()) {
        *high += more;
    }
    // A smaller machine keeps its channels, so that none of its bar is guided worse.
    if let Some(feeder) = &mut machine.feeder
        && let Some(largest) = feeder.channels.iter().copied().reduce(Length::max)
        && more > Length::ZERO
    {
        feeder.channels.push(largest + more);
    }
}

/// One step of a staircase.
#[derive(Clone, Debug, PartialEq)]
pub struct Step {
    pub figure: f64,
    /// The candidate's own.
    pub own: bool,
    /// More left over a year than without buying.
    pub gain: Money,
    /// Jobs that the figure below this one does not let it make.
    pub newly_able: Vec<usize>,
    /// The job that gains most by this step, with how much a year; nothing where nothing jumps.
    pub by: Option<(usize, Money)>,
    /// Why less is left over than at the figure below, where it is.
    pub less: Option<Less>,
}

/// A job that a larger figure costs something: a wider bore asks for a liner where the bar is thin.
#[derive(Clone, Debug, PartialEq)]
pub struct Less {
    pub job: usize,
    /// A year.
    pub money: Money,
    /// What a lot of it takes more at the setting: the line of the setup that grows most, in words, with its minutes. Nothing
    /// where setting takes no longer.
    pub line: Option<(String, f64)>,
}

/// The staircase of one capability.
#[derive(Clone, Debug, PartialEq)]
pub struct Staircase {
    pub capability: Capability,
    pub steps: Vec<Step>,
}

/// The staircases of a machine that is bought, each for its own capability with all else as the spec says. Of the ways to run
/// the shop only `ways` are tried.
///
/// # Errors
/// [`Fault`].
pub fn staircases(
    judge: &Judge,
    without: &Without,
    judged: &Judged,
    machine: usize,
    ways: &[Variant],
) -> Result<Vec<Staircase>, Fault> {
    let spec = &judge.choices.machines()[machine];
    let left_over = without.best.left_over;
    let asked: Vec<(Capability, f64)> =
        Capability::ALL.into_iter().flat_map(|c| c.figures(spec).into_iter().map(move |f| (c, f))).collect();
    let known = [judged.best.places()];
    let mut steps = asked
        .par_iter()
        .map(|(capability, figure)| {
            let own = Some(*figure) == capability.of(spec);
            let changed = if own { spec.clone() } else { capability.changed(spec, *figure) };
            let floor = judge.choices.with_changed(&judged.floor, machine, &changed);
            let best = judge.asked.best_from(ways, &floor, &judge.outlook, &known)?;
            Ok(Stand { figure: *figure, own, machine: changed, floor, best })
        })
        .collect::<Result<Vec<_>, Fault>>()?;
    // What the figure below can make, this one can.
    for i in 1..steps.len() {
        if asked[i].0 == asked[i - 1].0 && !steps[i].own {
            let last = [steps[i - 1].best.places()];
            let placed = judge.asked.placed(&steps[i].floor, &judge.outlook, ways, &last);
            if let Some(better) = placed.filter(|p| p.is_better_than(&steps[i].best)) {
                steps[i].best = better;
            }
        }
    }
    let mut stairs: Vec<Staircase> = Vec::new();
    let mut last: Option<(Capability, &Stand)> = None;
    for ((capability, _), now) in asked.iter().zip(&steps) {
        let before = last.filter(|(c, _)| c == capability).map(|(_, stand)| stand);
        let step = Step {
            figure: now.figure,
            own: now.own,
            gain: judge.gain_of(&judged.set, now.best.left_over, left_over),
            newly_able: newly_able(machine, before.map(|b| &b.floor), &now.floor),
            by: jump(judge, before.map(|b| &b.best), &now.best),
            less: before.and_then(|before| less(judge, before, now)),
        };
        match stairs.last_mut().filter(|s| s.capability == *capability) {
            Some(stair) => stair.steps.push(step),
            None => stairs.push(Staircase { capability: *capability, steps: vec![step] }),
        }
        last = Some((*capability, now));
    }
    Ok(stairs)
}

/// The machine with one figure, and the best that can be done with it.
struct Stand {
    figure: f64,
    own: bool,
    machine: Machine,
    floor: Floor,
    best: Best,
}

fn newly_able(machine: usize, before: Option<&Floor>, now: &Floor) -> Vec<usize> {
    let Some(before) = before else { return Vec::new() };
    let able = |floor: &Floor, job: usize| floor.routed[job].routes.iter().any(|r| r.machine == machine);
    (0..now.routed.len()).filter(|job| able(now, *job) && !able(before, *job)).collect()
}

/// The job that gains most from one plan to the next.
fn jump(judge: &Judge, before: Option<&Best>, now: &Best) -> Option<(usize, Money)> {
    let before = before.filter(|b| b.left_over != now.left_over)?;
    let (job, gained) =
        gained(before, now).into_iter().reduce(|best, next| if next.1 > best.1 { next } else { best })?;
    (gained > Amount::ZERO).then(|| (job, judge.gain(gained, Amount::ZERO)))
}

/// What each job leaves over more from one plan to the next.
fn gained(before: &Best, now: &Best) -> Vec<(usize, Amount)> {
    let each = |best: &Best| -> BTreeMap<usize, Amount> {
        best.seen.iter().zip(&best.plan.jobs).map(|(s, p)| (s.job, p.revenue - p.cash())).collect()
    };
    let (old, new) = (each(before), each(now));
    new.iter().map(|(job, is)| (*job, *is - old.get(job).copied().unwrap_or(Amount::ZERO))).collect()
}

/// Why a larger figure leaves less over: the job that loses most, and the line of its setup that grows most.
fn less(judge: &Judge, before: &Stand, now: &Stand) -> Option<Less> {
    if now.best.left_over >= before.best.left_over {
        return None;
    }
    let gained = gained(&before.best, &now.best);
    let (job, lost) = gained.into_iter().reduce(|worst, next| if next.1 < worst.1 { next } else { worst })?;
    let setup = |stand: &Stand| judge.choices.setup(job, &stand.machine, &stand.floor.shop);
    let line = setup(before).zip(setup(now)).and_then(|(before, now)| grown(&before, &now));
    Some(Less { job, money: judge.gain(Amount::ZERO, lost), line })
}

/// The line of a setup that takes most more than before, with its minutes.
fn grown(before: &Setup, now: &Setup) -> Option<(String, f64)> {
    let known = |kind: &str| before.lines.iter().filter(|l| l.kind == kind).map(|l| l.time.to_minutes()).sum::<f64>();
    let more = now.lines.iter().map(|l| (l, l.time.to_minutes() - known(l.kind)));
    let (line, more) = more.reduce(|most, next| if next.1 > most.1 { next } else { most })?;
    (more > 1e-9).then(|| (format!("{}: {}", line.what, line.reason), more))
}
