//! `waterjacket schema`: the JSON Schema of a scenario.

use super::{Outcome, print_json};
use crate::error::Faults;
use crate::scenario::json_schema;

/// Print the JSON Schema of a scenario, for editors that complete and check YAML
#[derive(clap::Args)]
#[command(
    after_help = "Example:\n  waterjacket schema > scenario.schema.json\n\n\
    Then begin a scenario with `# yaml-language-server: $schema=scenario.schema.json`."
)]
pub struct Arguments {}

pub fn run(_: Arguments) -> Result<Outcome, Faults> {
    print_json(&json_schema())?;
    Ok(Outcome::Done)
}
