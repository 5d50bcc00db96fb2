//! The shape of each answer's JSON, as a JSON Schema (draft 2020-12).

use schemars::generate::SchemaSettings;
use schemars::{JsonSchema, Schema};

/// The schema of an answer, as it is written: what may be left out is not demanded.
pub fn schema<Answer: JsonSchema>() -> Schema {
    SchemaSettings::draft2020_12().for_serialize().into_generator().into_root_schema_for::<Answer>()
}
