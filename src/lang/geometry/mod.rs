//! stub
use super::Diagnostic;
use crate::model::Part;
/// Stub.
pub fn check(_part: &Part, _out: &mut Vec<Diagnostic>) {}
