//! Parts, machines and shops as plain validated types. Nothing here is half-read: what stands in the model has the right
//! dimension and lies in its valid range, and every value that can be blamed keeps its place in the source.

pub mod after;
pub mod ask;
pub mod calibration;
mod crossing;
mod demand;
pub mod figure;
pub mod finance;
pub mod finish;
pub mod machine;
pub mod mix;
mod order;
pub mod part;
mod process;
pub mod profile;
pub mod record;
pub mod shop;
mod thread_limits;
pub mod tooling;

pub use figure::{Limits, Place, Remark, Size, Stated, ToleranceSource};
pub use machine::Machine;
pub use part::Part;
pub use shop::Shop;
