//! Where a tool could stand: every row of places that has its direction, its drive and a holder that takes it.

use super::super::Task;
use super::super::operation::{Shank, Tool, ToolKind};
use super::super::setup::{is_same, time_to_mount};
use super::{Row, on_step, round_capacity, rows};
use crate::model::machine::{Attachment, Axis, Carrier, CarrierAngle, Holder, Orient, Side};
use crate::quantity::{Angle, Length};

/// A place that would take a tool.
#[derive(Clone, Debug, PartialEq)]
pub struct Seat {
    pub row: usize,
    pub width: u32,
    /// The attachment that carries the tool there.
    pub attachment: Option<usize>,
    /// For choosing: mounting minutes and ten times the change in seconds.
    pub cost: f64,
}

/// Why no place takes a tool. The nearest miss is kept.
#[derive(Clone, Debug, PartialEq)]
pub enum Obstacle {
    /// No carrier works at this spindle with such a tool.
    NoCarrier { side: Side, live: bool },
    /// No live place reaches the angle.
    Angle { needed: Angle, nearest: Option<(Angle, Angle)> },
    /// Reached, but not accurately enough or not on its step.
    AngleAccuracy { tolerance: Angle, offered: Angle, step: bool },
    /// The holder is too small.
    Holder { needed: Length, offered: Length },
    /// No travel off the axis.
    OffAxis { needed: Length, offered: Length },
    /// No simultaneous axes.
    Contouring,
    /// No attachment of the kind at hand.
    NoAttachment { attachment: usize },
}

impl Obstacle {
    /// Nearer misses are more useful to the reader.
    fn nearness(&self) -> u8 {
        match self {
            Obstacle::NoCarrier { .. } => 0,
            Obstacle::Angle { .. } => 1,
            Obstacle::NoAttachment { .. } => 2,
            Obstacle::Contouring => 3,
            Obstacle::OffAxis { .. } => 4,
            Obstacle::AngleAccuracy { .. } => 5,
            Obstacle::Holder { .. } => 6,
        }
    }

    /// What the holder takes, where it is too small.
    fn holder(&self) -> Option<Length> {
        match self {
            Obstacle::Holder { offered, .. } => Some(*offered),
            _ => None,
        }
    }

    /// How far the angle lies outside the range that misses it; infinite where no angle is stated or asked.
    fn angle_short(&self) -> f64 {
        match self {
            Obstacle::Angle { needed, nearest: Some((low, high)) } => {
                (*low - *needed).to_deg().max((*needed - *high).to_deg())
            }
            _ => f64::INFINITY,
        }
    }
}

/// The largest round shank that stands in a holder from which a tool reaches its work; nothing where no holder limits it or
/// none reaches.
pub(crate) fn largest_holder(task: &Task, tool: &Tool) -> Option<Length> {
    let stout = Tool { shank: Shank::Round(Length::mm(1e6)), ..tool.clone() };
    match seats_for(task, &rows(task.machine), &stout) {
        Err(Obstacle::Holder { offered, .. }) => Some(offered),
        _ => None,
    }
}

/// Every seat of a tool, or the nearest miss.
///
/// # Errors
/// The [`Obstacle`] that comes nearest to being none.
pub fn seats_for(task: &Task, rows: &[Row], tool: &Tool) -> Result<Vec<Seat>, Obstacle> {
    let mut seats = Vec::new();
    let mut miss = Obstacle::NoCarrier { side: tool.side, live: tool.live };
    let mut missed = |obstacle: Obstacle| {
        let (nearer, as_near) = (obstacle.nearness() > miss.nearness(), obstacle.nearness() == miss.nearness());
        let less = obstacle.angle_short() < miss.angle_short() || obstacle.holder() > miss.holder();
        if nearer || (as_near && less) {
            miss = obstacle;
        }
    };
    if let Some(attachment) = tool.attachment {
        match on_attachment(task, rows, tool, attachment) {
            Ok(seat) => seats.push(seat),
            Err(obstacle) => missed(obstacle),
        }
        return if seats.is_empty() { Err(miss) } else { Ok(seats) };
    }
    for (i, row) in rows.iter().enumerate() {
        let carrier = &task.machine.carriers[row.carrier];
        if !carrier.serves(tool.side) {
            continue;
        }
        let fit = if tool.live { live_seat(task, tool, row, carrier) } else { fixed_seat(tool, row, carrier) };
        // A fixed tool in a driven place locks its drive: only where nothing else is free.
        let locked = if row.live && !tool.live { 100.0 } else { 0.0 };
        let cost = 10.0 * row.change.to_s() + locked - if stands(task, tool, carrier) { STANDING_WORTH } else { 0.0 };
        match fit {
            Ok(()) => seats.push(Seat { row: i, width: 1, attachment: None, cost }),
            Err(Some(obstacle)) => missed(obstacle),
            Err(None) => {}
        }
    }
    if tool.live {
        for (i, head) in
            task.machine.options.iter().enumerate().filter(|(_, o)| o.angle.is_some() && o.method.is_none())
        {
            match head_seat(task, rows, tool, i, head) {
                Ok(seat) => seats.push(seat),
                Err(Some(obstacle)) => missed(obstacle),
                Err(None) => {}
            }
        }
    }
    if seats.is_empty() { Err(miss) } else { Ok(seats) }
}

/// A place where the tool stands already is worth any difference of change time.
const STANDING_WORTH: f64 = 1000.0;

/// Whether the tool stands on a carrier, where the shop has one machine of this kind and says what stands there.
fn stands(task: &Task, tool: &Tool, carrier: &Carrier) -> bool {
    let [state] = task.shop_machine().map_or(&[][..], |m| m.now.as_slice()) else { return false };
    state.tools.iter().any(|s| is_same(task, s, tool) && s.carrier.as_ref() == Some(&carrier.name))
}

fn on_attachment(task: &Task, rows: &[Row], tool: &Tool, attachment: usize) -> Result<Seat, Obstacle> {
    let head = &task.machine.options[attachment];
    let none = Obstacle::NoCarrier { side: tool.side, live: tool.live };
    if task.available(head) == 0 {
        return Err(Obstacle::NoAttachment { attachment });
    }
    let Some(occupies) = &head.occupies else {
        // It takes no place of its own: the tool stands as it would without it.
        let bare = Tool { attachment: None, ..tool.clone() };
        let seat = seats_for(task, rows, &bare)?.into_iter().next().ok_or(none)?;
        return Ok(Seat { attachment: Some(attachment), ..seat });
    };
    let row = rows.iter().position(|r| {
        let carrier = &task.machine.carriers[r.carrier];
        carrier.name == occupies.carrier && carrier.serves(tool.side) && (r.live == occupies.live || r.pocket)
    });
    let row = row.ok_or(none)?;
    let width = if occupies.pocket { 1 } else { occupies.places.max(1) };
    Ok(Seat {
        row,
        width,
        attachment: Some(attachment),
        cost: time_to_mount(task, head).to_minutes() + 10.0 * rows[row].change.to_s(),
    })
}

/// The angle against a stated range: in it, on its step, accurate enough.
fn angle_fits(angle: &CarrierAngle, tool: &Tool) -> Result<(), Obstacle> {
    let slack = Angle::deg(1e-6);
    if tool.angle < angle.low - slack || tool.angle > angle.high + slack {
        return Err(Obstacle::Angle { needed: tool.angle, nearest: Some((angle.low, angle.high)) });
    }
    let Some(tolerance) = tool.angle_tolerance else { return Ok(()) };
    // A step is not an accuracy: both are asked, where they are stated.
    if let Some(step) = angle.step
        && !on_step(tool.angle, angle.low, step, tolerance)
    {
        return Err(Obstacle::AngleAccuracy { tolerance, offered: step, step: true });
    }
    match angle.accuracy {
        Some(offered) if offered > tolerance => Err(Obstacle::AngleAccuracy { tolerance, offered, step: false }),
        _ => Ok(()),
    }
}

fn holder_fits(holder: Option<Holder>, tool: &Tool) -> Result<(), Obstacle> {
    let (Some(holder), Shank::Round(needed)) = (holder, tool.shank) else { return Ok(()) };
    let offered = round_capacity(holder);
    if needed > offered { Err(Obstacle::Holder { needed, offered }) } else { Ok(()) }
}

/// The travel in Y that a tool off the plane of the axis needs on a carrier where it works across; along the axis the
/// spindle's rotary axis turns the place under the tool, and X brings it out.
pub fn travel_needed(task: &Task, tool: &Tool, carrier: &Carrier) -> Option<Length> {
    let needed = tool.off_axis?;
    let along = tool.angle < Angle::deg(1.0) || tool.angle > Angle::deg(179.0);
    let spindle = match tool.side {
        Side::Main => Some(&task.machine.main),
        Side::Sub => task.machine.sub.as_ref().map(|s| &s.spindle),
    };
    let rotary = spindle.and_then(|s| s.orient).is_some_and(|o| o.value == Orient::Continuous);
    (!(along && rotary && carrier.has(Axis::X))).then_some(needed)
}

fn off_axis_fits(task: &Task, tool: &Tool, carrier: &Carrier) -> Result<(), Obstacle> {
    let Some(needed) = travel_needed(task, tool, carrier) else { return Ok(()) };
    if !carrier.has(Axis::Y) {
        return Err(Obstacle::OffAxis { needed, offered: Length::ZERO });
    }
    match carrier.y_travel {
        Some(travel) if travel.value < needed => Err(Obstacle::OffAxis { needed, offered: travel.value }),
        _ => Ok(()),
    }
}

fn live_seat(task: &Task, tool: &Tool, row: &Row, carrier: &Carrier) -> Result<(), Option<Obstacle>> {
    if !row.live {
        return Err(None);
    }
    if let Some(angle) = &carrier.angle {
        angle_fits(angle, tool).map_err(Some)?;
    }
    if tool.contouring && !carrier.contouring {
        return Err(Some(Obstacle::Contouring));
    }
    off_axis_fits(task, tool, carrier).map_err(Some)?;
    holder_fits(carrier.live_holder.map(|h| h.value), tool).map_err(Some)?;
    if row.pocket
        && let Some(limit) = task.machine.magazine.as_ref().and_then(|m| m.tool_dia)
        && tool.dia > limit.value
    {
        return Err(Some(Obstacle::Holder { needed: tool.dia, offered: limit.value }));
    }
    Ok(())
}

fn head_seat(task: &Task, rows: &[Row], tool: &Tool, i: usize, head: &Attachment) -> Result<Seat, Option<Obstacle>> {
    let Some(angle) = &head.angle else { return Err(None) };
    if task.available(head) == 0 {
        let reaches = angle_fits(angle, tool).is_ok();
        return Err(reaches.then_some(Obstacle::NoAttachment { attachment: i }));
    }
    angle_fits(angle, tool).map_err(Some)?;
    if tool.contouring {
        return Err(Some(Obstacle::Contouring));
    }
    holder_fits(head.holder.map(|h| h.value), tool).map_err(Some)?;
    let seat = on_attachment(task, rows, &Tool { attachment: Some(i), ..tool.clone() }, i).map_err(|_| None)?;
    let carrier = &task.machine.carriers[rows[seat.row].carrier];
    off_axis_fits(task, tool, carrier).map_err(Some)?;
    Ok(seat)
}

fn fixed_seat(tool: &Tool, row: &Row, carrier: &Carrier) -> Result<(), Option<Obstacle>> {
    let holder = if row.live { carrier.live_holder } else { carrier.fixed_holder }.map(|h| h.value);
    match tool.shank {
        Shank::Square => {
            // At the main spindle a square shank wants a square pocket; at the sub a small facing tool stands in a sleeve.
            let square = matches!(holder, Some(Holder::Shank(..)) | None);
            if row.live || !(square || tool.side == Side::Sub) { Err(None) } else { Ok(()) }
        }
        Shank::Round(_) => {
            let along = carrier.angle.as_ref().is_none_or(|a| a.low <= tool.angle && tool.angle <= a.high);
            let turret = matches!(holder, Some(Holder::Shank(..)));
            if !along
                || (turret && carrier.angle.as_ref().is_some_and(|a| a.low == a.high && a.low == Angle::deg(90.0)))
            {
                return Err(None);
            }
            holder_fits(holder, tool).map_err(Some)
        }
    }
}

/// The setting time of a tool's kind: the key of the table of shop times.
pub fn setting_kind(tool: &Tool) -> &'static str {
    match tool.kind {
        ToolKind::TurningTool
        | ToolKind::FinishingTool
        | ToolKind::BackTurningTool
        | ToolKind::GroovingTool
        | ToolKind::CutOffTool
        | ToolKind::ThreadingTool
        | ToolKind::KnurlingTool => "turning-tool",
        _ if tool.live => "live-tool",
        _ => "drill-or-boring-tool",
    }
}
