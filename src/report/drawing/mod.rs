//! A dimensioned drawing of a part, made from its spec: above the axis the section, hatched where it is cut; below the
//! axis the outside. Labels stand above the view, lengths beneath it, demands and the title block below them. One view
//! needs no sign of projection. All coordinates are mm of paper on a sheet that prints to scale on A4 and Letter.

mod block;
mod callouts;
mod labels;
mod lengths;
mod milled;
mod profile;
mod scale;
mod shape;
mod view;
mod words;

pub use words::Source;

use crate::model::part::Part;
use crate::report::svg::Canvas;
use block::Block;
use callouts::Callouts;
use lengths::Lengths;
use scale::Room;
use shape::Shape;
use view::View;
use words::Writer;

/// Width of the sheet, mm: what A4 leaves between margins of 10 mm; Letter leaves a little more.
pub const SHEET: f64 = 190.0;

/// Between the frame of the sheet and what stands in it.
const INSET: f64 = 5.0;

/// The drawing as an SVG element. `prefix` begins the names within it, so that several drawings can share a page.
pub fn drawing(part: &Part, source: Source, prefix: &str) -> String {
    let writer = Writer { source, inches: part.inches };
    let shape = Shape::of(part);
    let room = Room { width: 150.0, height: 62.0, tall: 84.0 };
    let axis = scale::choose(&lengths::marks(part), 2.0 * shape.largest(), room);
    let words = if axis.is_broken() { format!("{}, shortened", axis.words) } else { axis.words.clone() };
    let axis = {
        let by = (SHEET - axis.width()) / 2.0;
        axis.shifted(by)
    };
    let radius = shape.largest() * axis.scale;
    let mut view = View { part, shape, axis, y: 0.0, prefix: prefix.to_owned() };
    let margins = (INSET + 1.0, SHEET - INSET - 1.0);
    let labels = labels::labels(&view, writer, &block::datums(part));
    let callouts = Callouts::lay_out(&view, labels, margins);
    let lengths = Lengths::lay_out(&view, writer, margins);
    let block = Block::lay_out(part, writer, &words, SHEET - 2.0 * INSET);
    // Down the sheet: labels, view, lengths, block.
    let fan = INSET + 1.0 + callouts.height();
    view.y = fan + 2.5 + radius;
    let low = view.y + radius;
    let bottom = low + lengths.height() + 6.0 + block.height();
    let mut c = Canvas::default();
    view.draw(&mut c);
    callouts.draw(&mut c, &view, fan);
    lengths.draw(&mut c, &view, low);
    block.draw(&mut c, INSET, bottom);
    let title = format!("Drawing of {}: {}", part.name, part.title);
    let description = described(part, &words);
    c.finish("drawing", (SHEET, bottom + INSET), prefix, (&title, &description))
}

/// The drawing in a sentence, for readers that do not see it.
fn described(part: &Part, scale: &str) -> String {
    let names: Vec<&str> = part.features.iter().map(|f| f.name.as_str()).collect();
    format!(
        "Half section at {scale}: above the axis the section, below it the outside. From front to back and inside: {}.",
        names.join(", ")
    )
}
