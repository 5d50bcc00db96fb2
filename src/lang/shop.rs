//! stub
use super::Diagnostic;
use crate::model::Shop;
/// Stub.
pub fn read_shop(_file: u32, _text: &str) -> (Option<Shop>, Vec<Diagnostic>) {
    (None, Vec::new())
}
