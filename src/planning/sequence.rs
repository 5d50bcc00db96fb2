//! The order of work at each spindle, as a setter knows it, and the reason where an order is forced.

use super::blank::Blank;
use super::methods::run_out;
use super::operation::{Operation, Work, WorkList};
use super::{Task, land, support};
use crate::model::machine::Side;
use crate::model::part::{EdgeKind, FeatureId, Kind, Zone};
use crate::quantity::{Length, Time};
use crate::tables::shop_times;

/// More operations than this are ordered by their stage alone: no drawing of this world has so many.
const MOST_ORDERED: usize = 128;

/// What the order looks at of an operation.
#[derive(Clone, Copy, Debug)]
struct Item {
    work: Work,
    feature: Option<FeatureId>,
    side: Side,
    tool: usize,
    /// Along z from the end that is made first.
    zone: Zone,
    /// Of the stretches that are held one after the other by a guide bushing, or between collet and sub-spindle; else 0.
    slice: usize,
    stage: u8,
    /// The bore or groove in which a cross hole ends.
    into: Option<FeatureId>,
    /// The pitch of an external thread.
    thread: Option<Length>,
    /// A groove that leaves less than half the diameter around it.
    neck: bool,
    /// The wall beneath is thin once its bore has its last cut.
    tube: bool,
    /// An edge of it must be sharp.
    sharp: bool,
    is_bore: bool,
}

/// Puts the operations in order: main spindle first, then the sub-spindle, each as a setter would do it.
pub fn order(task: &Task, blank: &Blank, work: &mut WorkList) {
    deburr(task, work);
    let slices = slices(task, blank, &work.operations);
    let mut items: Vec<Item> = work.operations.iter().map(|op| item(task, &slices, op)).collect();
    let order = if items.len() > MOST_ORDERED {
        let mut order: Vec<usize> = (0..items.len()).collect();
        order.sort_by_key(|i| (items[*i].side, items[*i].slice, items[*i].stage));
        order
    } else {
        by_precedence(task, &items, &mut work.operations)
    };
    items.clear();
    let mut taken: Vec<Option<Operation>> = work.operations.drain(..).map(Some).collect();
    work.operations.extend(order.into_iter().filter_map(|i| taken[i].take()));
}

fn item(task: &Task, slices: &[Length], op: &Operation) -> Item {
    let whole = Zone { start: Length::ZERO, end: task.view.length };
    let own = || op.feature.map_or(whole, |f| task.zone_from_first(task.view.part.stretch(&task.view.feature(f).kind)));
    let zone = op.zone.map_or_else(own, |z| task.zone_from_first(z));
    let at_bushing = op.side == Side::Main && !is_axial(op.work) && !matches!(op.work, Work::Face);
    let slice = match op.work {
        Work::CutOff => slices.len(),
        // Of a supported piece the sub-spindle covers the end.
        Work::Deburr | Work::Ream | Work::Bore if !task.guided() => 0,
        Work::Deburr => broken_into(task, op.feature).map_or(0, |z| slice_of(slices, z)),
        // A bore is finished once the holes that break into it are there.
        Work::Ream | Work::Bore if op.side == Side::Main => {
            broken_into(task, op.feature).map_or(0, |z| slice_of(slices, z))
        }
        _ if at_bushing && op.feature.is_some() => slice_of(slices, zone.end),
        _ => 0,
    };
    let (mut into, mut thread, mut neck) = (None, None, false);
    let thin = |bottom: Length| op.work == Work::Groove && bottom < task.view.largest * 0.5;
    match op.feature.map(|f| &task.view.feature(f).kind) {
        Some(Kind::Hole(h)) if op.work == Work::CrossDrill => into = task.view.part.breaks_into(h),
        Some(Kind::Thread(t)) if !t.internal && makes_threads(op.work) => thread = Some(t.pitch),
        Some(Kind::Groove(g)) => neck = thin(g.dia.nominal),
        Some(Kind::Undercut(u)) => neck = thin(u.dia.nominal),
        _ => {}
    }
    let tube = op.work == Work::FinishTurn && op.feature.is_some_and(|f| is_tube(task, f));
    let sharp = op.feature.is_some_and(|f| is_sharp(task, f));
    let is_bore = op.feature.is_some_and(|f| matches!(task.view.feature(f).kind, Kind::Bore(_)));
    Item {
        work: op.work,
        feature: op.feature,
        side: op.side,
        tool: op.tool,
        zone,
        slice,
        stage: stage(op.work),
        into,
        thread,
        neck,
        tube,
        sharp,
        is_bore,
    }
}

/// Whether the finished wall of a feature is so thin that it springs away under the tool.
fn is_tube(task: &Task, feature: FeatureId) -> bool {
    let share = task.thresholds.wall_turned_share;
    let of = task.view.contour.iter().filter(|s| s.feature == feature && s.zone.length() > Length::ZERO);
    of.map(|s| (s.mean(), task.view.bore_at((s.zone.start + s.zone.end) / 2.0)))
        .any(|(dia, bore)| bore > Length::ZERO && (dia - bore) / 2.0 < dia * share)
}

/// Whether the drawing asks for a sharp edge there.
fn is_sharp(task: &Task, feature: FeatureId) -> bool {
    task.view.part.features.iter().any(|edge| match &edge.kind {
        Kind::Edges(e) => e.kind == EdgeKind::Sharp && e.of.contains(&feature),
        _ => false,
    })
}

fn makes_threads(work: Work) -> bool {
    matches!(work, Work::SinglePoint | Work::ThreadMill | Work::Whirl | Work::Die | Work::RollThread)
}

/// The ends of the stretches that are finished one after the other: of a supported piece the end, before the sub-spindle covers
/// it, and the rest; those beside a guide bushing. What has left it cannot be drawn
/// back further than its land still holds the bar, so other work on a stretch follows its turning at once, and no stretch
/// is longer than the land (three diameters where none is stated; common practice).
fn slices(task: &Task, blank: &Blank, operations: &[Operation]) -> Vec<Length> {
    if !task.guided() {
        return support::of(task).map_or(Vec::new(), |s| s.ends(task.view.length));
    }
    let land = task.mode.land.map_or(blank.size * 3.0, |l| l.value);
    // A thread ends where its tool has run out.
    let stretch = |f: FeatureId| {
        let kind = &task.view.feature(f).kind;
        let zone = task.zone_from_first(task.view.part.stretch(kind));
        match kind {
            Kind::Thread(t) if !t.internal => Zone { end: run_out::turned_to(task, f, t), ..zone },
            _ => zone,
        }
    };
    let worked: Vec<(Zone, Option<Length>)> = operations
        .iter()
        .filter(|op| {
            let shapes = matches!(op.work, Work::Turn | Work::TurnEccentric | Work::Groove | Work::Chamfer);
            op.side == Side::Main && !is_axial(op.work) && !shapes
        })
        .filter_map(|op| op.feature.map(|f| (stretch(f), thread_end(task, f, op.work))))
        .collect();
    // What is turned one after the other: the stretches of the operations, and what is left as bar or grooved.
    let mut zones: Vec<Zone> = Vec::new();
    for segment in &task.view.contour {
        let turned = operations
            .iter()
            .filter(|op| op.feature == Some(segment.feature) && matches!(op.work, Work::Turn | Work::TurnEccentric));
        let before = zones.len();
        zones.extend(turned.filter_map(|op| op.zone).map(|z| task.zone_from_first(z)));
        if zones.len() == before {
            zones.push(task.zone_from_first(segment.zone));
        }
    }
    zones.sort_by(|a, b| a.start.total_cmp(&b.start));
    let near = Length::um(1.0);
    let mut ends = Vec::new();
    let (mut began, mut reached) = (Length::ZERO, Length::ZERO);
    let grooves: Vec<(Zone, Length)> = operations
        .iter()
        .filter(|op| op.side == Side::Main && op.work == Work::Groove)
        .filter_map(|op| {
            let zone = stretch(op.feature?);
            Some((zone, land::drawn_back_to(task, task.view.dia_at(task.from_first(zone.start))).0))
        })
        .collect();
    for zone in &zones {
        // A groove is cut before what lies behind it is fed out so far that its stretch no longer stands firm in the bushing.
        let frees = |(groove, held): &(Zone, Length)| {
            groove.start >= began - near && groove.end <= reached + near && zone.end - groove.start > *held + near
        };
        if reached > began && grooves.iter().any(frees) {
            ends.push(reached);
            began = reached;
        }
        // What a thread runs out over is drawn back with it.
        let runs_out = |(w, thread): &(Zone, Option<Length>)| {
            thread.is_some_and(|end| zone.start >= end - near && zone.start < w.end - near)
        };
        if zone.end - began > land && reached > began && !worked.iter().any(runs_out) {
            ends.push(reached);
            began = reached;
        }
        reached = reached.max(zone.end);
        if worked.iter().any(|(w, _)| w.end > zone.start - near && w.end <= zone.end + near) {
            ends.push(reached);
            began = reached;
        }
    }
    if reached > began || ends.is_empty() {
        ends.push(reached);
    }
    ends
}

/// Where a thread itself ends, from the end that is made first; nothing for other work.
fn thread_end(task: &Task, feature: FeatureId, work: Work) -> Option<Length> {
    makes_threads(work).then(|| task.zone_from_first(task.view.part.stretch(&task.view.feature(feature).kind)).end)
}

fn slice_of(slices: &[Length], z: Length) -> usize {
    slices.iter().position(|end| z <= *end + Length::um(1.0)).unwrap_or(slices.len().saturating_sub(1))
}

/// The last cross hole that ends in a bore, from the end that is made first.
fn broken_into(task: &Task, bore: Option<FeatureId>) -> Option<Length> {
    let zone = task.view.part.stretch(&task.view.feature(bore?).kind);
    let holes = task.view.part.features.iter().filter_map(|f| match &f.kind {
        Kind::Hole(h) if h.at >= zone.start && h.at <= zone.end => {
            task.view.part.breaks_into(h).map(|_| task.from_first(h.at))
        }
        _ => None,
    });
    holes.max_by(Length::total_cmp)
}

/// The order of work at one spindle where nothing forces another: face first, holes while the bar is solid around them,
/// cross work before the finish pass over it, threads late, cut-off last.
fn stage(work: Work) -> u8 {
    match work {
        Work::Face | Work::BackFace => 0,
        Work::Centre => 1,
        Work::Drill | Work::DeepDrill | Work::PeckDrill | Work::SingleLipDrill | Work::OscillatingDrill => 2,
        Work::Bore | Work::Ream | Work::Countersink | Work::InternalGroove | Work::FaceGroove => 3,
        Work::Tap | Work::Broach | Work::FormBroach | Work::MillSocket => 4,
        Work::RoughTurn | Work::Turn | Work::TurnEccentric => 5,
        Work::EndDrill | Work::SpotFace | Work::CrossDrill => 6,
        Work::FinishTurn | Work::Groove | Work::Chamfer => 7,
        Work::MillFlats
        | Work::StraddleMill
        | Work::PolygonTurn
        | Work::MillSlot
        | Work::MillKeyway
        | Work::RoughContour
        | Work::MillContour => 8,
        Work::Knurl
        | Work::SinglePoint
        | Work::ThreadMill
        | Work::Whirl
        | Work::Die
        | Work::RollThread
        | Work::Engrave
        | Work::Deburr => 9,
        Work::CutOff => 10,
    }
}

/// Along the axis, into the end face.
fn is_axial(work: Work) -> bool {
    (1..=4).contains(&stage(work)) || matches!(work, Work::EndDrill)
}

/// At the end face or into it, where a sub-spindle that holds the end is in the way.
pub(super) fn is_at_end(work: Work) -> bool {
    is_axial(work) || matches!(work, Work::Face | Work::Deburr | Work::CutOff)
}

/// Across the axis with a live tool.
fn is_cross(work: Work) -> bool {
    matches!(stage(work), 6 | 8) && work != Work::EndDrill
}

/// Whether one operation must come before another; with the words for it where a setter might wonder.
fn forced(guided: bool, a: &Item, b: &Item) -> Option<Option<&'static str>> {
    if a.side != b.side || a.work == Work::CutOff {
        return None;
    }
    let touch = |slack: Length| a.zone.overlap(&b.zone) >= -slack;
    let near = Length::um(1.0);
    if b.work == Work::CutOff {
        return Some(None);
    }
    if matches!(a.work, Work::Face | Work::BackFace) != matches!(b.work, Work::Face | Work::BackFace) {
        return matches!(a.work, Work::Face | Work::BackFace).then_some(None);
    }
    if a.slice != b.slice {
        return (a.slice < b.slice).then_some(None);
    }
    if is_axial(a.work) && is_axial(b.work) && a.stage < b.stage {
        return Some(None);
    }
    if a.stage == 2 && b.stage == 2 && a.is_bore && b.is_bore {
        return drilled_before(a, b);
    }
    if a.work == Work::SpotFace && b.work == Work::CrossDrill && a.feature == b.feature {
        return Some(Some("the drill has entered the slope at half its feed"));
    }
    if a.work == Work::RoughContour && b.work == Work::MillContour && a.feature == b.feature {
        return Some(None);
    }
    if a.into.is_some() && matches!(b.work, Work::Ream | Work::Bore) && touch(near) {
        return Some(Some("takes off the burr of the cross hole in the bore"));
    }
    if let Some(into) = b.into
        && Some(into) == a.feature
        && a.stage == 2
    {
        return Some(None);
    }
    if a.work == Work::RoughTurn && b.work == Work::FinishTurn {
        return Some(Some("all roughing is done: it would bend a finished piece"));
    }
    if a.work == Work::RoughTurn && is_cross(b.work) && touch(near) {
        return Some(None);
    }
    // A hole in the bottom of a groove is as deep as it is drawn only once the groove is there.
    if a.work == Work::Groove && is_cross(b.work) && a.zone.overlap(&b.zone) >= Length::ZERO {
        return Some(Some("it stands in the bottom of the groove"));
    }
    // Holes before the finish pass, which takes off their burr; flats after it, which would be cut in shocks over them.
    if matches!(a.work, Work::CrossDrill | Work::SpotFace) && b.work == Work::FinishTurn && touch(near) {
        return Some(Some("takes off the burr of the cross hole"));
    }
    // What is finished last has the sharp edge.
    let last_pass = |finish: &Item, groove: &Item| {
        finish.work == Work::FinishTurn
            && groove.work == Work::Groove
            && !groove.neck
            && (finish.sharp || groove.sharp)
            && touch(near)
    };
    if last_pass(b, a) {
        return Some(Some("takes the burr of the groove off an edge that must be sharp"));
    }
    if last_pass(a, b) {
        return None;
    }
    if a.tube && b.work == Work::Bore && touch(near) {
        return Some(Some("the outside is finished while the wall beneath is thick"));
    }
    if a.work == Work::RoughTurn && b.work == Work::Groove && touch(near) {
        return Some(None);
    }
    if a.work == Work::RoughTurn && matches!(b.work, Work::Ream | Work::Bore) {
        return Some(Some("roughing would squeeze and warm a finished bore"));
    }
    if a.work == Work::InternalGroove && matches!(b.work, Work::Ream | Work::Bore) && touch(near) {
        return Some(Some("takes off the burr of the groove in the bore"));
    }
    let turned = matches!(a.work, Work::Turn | Work::TurnEccentric | Work::FinishTurn);
    let on_surface = matches!(b.work, Work::Groove | Work::Chamfer | Work::Knurl | Work::Engrave)
        || b.thread.is_some()
        || (a.work != Work::FinishTurn && is_cross(b.work))
        || (a.work == Work::FinishTurn && stage(b.work) == 8);
    if turned && on_surface && touch(near) {
        return Some(None);
    }
    if a.work == Work::Groove && b.work == Work::Chamfer && touch(near) {
        return Some(Some("its edge is there once the groove is"));
    }
    if let Some(pitch) = b.thread {
        if a.work == Work::Groove && touch(pitch) {
            return Some(Some("the thread tool runs out into the groove"));
        }
        if a.work == Work::Chamfer && touch(near) {
            return Some(Some("the thread begins in the chamfer"));
        }
    }
    if a.work == Work::CrossDrill && b.work == Work::Deburr && a.into == b.feature {
        return Some(Some("takes the burr of the cross hole out of the bore"));
    }
    // A thread's own relief is there before the thread, however thin, and a groove before the edge that it leaves.
    let relief = a.thread.is_some_and(touch) || (a.work == Work::Chamfer && touch(near));
    if b.neck
        && !guided
        && !relief
        && a.work != Work::Groove
        && a.zone.start < b.zone.start - near
        && a.zone.end <= b.zone.end + near
    {
        return Some(Some("the neck would bend under what is cut beyond it"));
    }
    None
}

/// Of two drills on one axis at one spindle: the pilot before the deep-hole drill, the pilot bore before the wider one that
/// opens it, a wider bore before the one that begins at its bottom.
fn drilled_before(a: &Item, b: &Item) -> Option<Option<&'static str>> {
    let near = Length::um(1.0);
    if a.feature == b.feature {
        return (a.work == Work::Drill && b.work != Work::Drill).then_some(None);
    }
    let opens = a.zone.start <= b.zone.start + near && a.zone.end >= b.zone.end - near;
    if opens && a.zone.length() > b.zone.length() + near {
        return Some(Some("its hole is the pilot of the wider one"));
    }
    let begins = match a.side {
        Side::Main => b.zone.start >= a.zone.end - near,
        Side::Sub => b.zone.end <= a.zone.start + near,
    };
    begins.then_some(Some("it begins at the bottom of the wider bore"))
}

/// Takes what is ready in the order of slice, stage, the tool at work, place; writes the reasons into the operations.
fn by_precedence(task: &Task, items: &[Item], operations: &mut [Operation]) -> Vec<usize> {
    let n = items.len();
    let guided = task.guided();
    let mut before = vec![0u128; n];
    for (j, b) in items.iter().enumerate() {
        for (i, a) in items.iter().enumerate() {
            if i == j {
                continue;
            }
            if let Some(words) = forced(guided, a, b) {
                before[j] |= 1 << i;
                if words.is_some() && operations[j].order_reason.is_none() {
                    operations[j].order_reason = words;
                }
            }
        }
    }
    // What stands fixed of the order, so that the smallest number comes first.
    let key = |i: &Item| (i.side as u64) << 40 | (i.slice as u64) << 16 | u64::from(i.stage) << 1;
    let keys: Vec<u64> = items.iter().map(key).collect();
    let mut left: Vec<usize> = (0..n).collect();
    left.sort_by(|a, b| {
        let zones = || items[*a].zone.start.total_cmp(&items[*b].zone.start);
        keys[*a].cmp(&keys[*b]).then_with(zones).then(a.cmp(b))
    });
    let mut done = 0u128;
    let mut order = Vec::with_capacity(n);
    let mut last: Option<&Item> = None;
    while !left.is_empty() {
        let mut best: Option<(u64, usize)> = None;
        for (at, i) in left.iter().enumerate() {
            if best.is_some_and(|(k, _)| keys[*i] > k) {
                break;
            }
            let key = keys[*i] | u64::from(last.is_some_and(|l| l.tool != items[*i].tool));
            if before[*i] & !done == 0 && best.is_none_or(|(k, _)| key < k) {
                best = Some((key, at));
            }
        }
        // A circle cannot arise from the rules above; should one ever, the first that is left breaks it.
        let next = left.remove(best.map_or(0, |(_, at)| at));
        if items[next].slice > last.map_or(0, |l| l.slice) && items[next].work != Work::CutOff {
            operations[next].order_reason.get_or_insert(if guided {
                "what lies before it has left the bushing and is held no more"
            } else {
                "the sub-spindle holds the end from here on, which is finished before out of the collet alone"
            });
        }
        done |= 1 << next;
        last = Some(&items[next]);
        order.push(next);
    }
    order
}

/// A cross hole that breaks into a bore leaves a burr there. Where no later tool of the bore takes it off and the drawing
/// asks for clean edges, the bore's drill is run through once more.
fn deburr(task: &Task, work: &mut WorkList) {
    let part = task.view.part;
    let wanted = |f: FeatureId| {
        part.features.iter().any(|edge| match &edge.kind {
            Kind::Edges(e) => (e.of.is_empty() || e.of.contains(&f)) && e.kind != EdgeKind::Radius,
            _ => false,
        })
    };
    let mut bores: Vec<(FeatureId, Side)> = Vec::new();
    for op in work.operations.iter().filter(|op| op.work == Work::CrossDrill) {
        let Some(hole) = op.feature else { continue };
        let Kind::Hole(h) = &part.features[hole].kind else { continue };
        let Some(bore) = part.breaks_into(h).filter(|f| matches!(part.features[*f].kind, Kind::Bore(_))) else {
            continue;
        };
        if (wanted(hole) || wanted(bore)) && !bores.contains(&(bore, op.side)) {
            bores.push((bore, op.side));
        }
    }
    let support = support::of(task);
    for (bore, side) in bores {
        let of_bore = || work.operations.iter().filter(|op| op.feature == Some(bore));
        // A bore that the other spindle makes later, or that is finished after the hole, is clean.
        let later = of_bore().any(|op| op.side > side);
        let finished = of_bore().any(|op| matches!(op.work, Work::Ream | Work::Bore));
        let drill = of_bore().rfind(|op| op.side == side && stage(op.work) == 2).cloned();
        // The sub-spindle that supports the piece stands before the bore by then.
        let covered = support.is_some_and(|s| {
            side == Side::Main && broken_into(task, Some(bore)).is_some_and(|z| !s.is_worked_before(z))
        });
        let Some(drill) = drill.filter(|_| !later && !finished && !covered) else { continue };
        let time = shop_times::band("deburr-intersection").map_or(Time::s(4.0), |b| b.typical);
        let again = Operation {
            tool: drill.tool,
            moving: time,
            ..Operation::new(Work::Deburr, Some(bore), side, drill.speed, drill.feed)
        };
        work.operations.push(again);
    }
}

/// Every pair of operations, by their place in the list, of which the first must come before the second.
pub fn precedence(task: &Task, blank: &Blank, operations: &[Operation]) -> Vec<(usize, usize)> {
    let slices = slices(task, blank, operations);
    let items: Vec<Item> = operations.iter().map(|op| item(task, &slices, op)).collect();
    let pairs = (0..items.len()).flat_map(|i| (0..items.len()).map(move |j| (i, j)));
    pairs.filter(|(i, j)| i != j && forced(task.guided(), &items[*i], &items[*j]).is_some()).collect()
}
