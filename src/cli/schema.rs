//! `waterjacket schema`: the JSON Schema of a scenario, and of the other files that people write.

use super::{Outcome, print_json};
use crate::corpus::PlanFile;
use crate::error::Faults;
use crate::quiz::QuizFile;
use crate::scenario::{JobFile, Scenario};

/// Print the JSON Schema of a scenario or another file, for editors that complete and check YAML
#[derive(clap::Args)]
#[command(
    after_help = "Example:\n  waterjacket schema > scenario.schema.json\n  \
    waterjacket schema quiz > quiz.schema.json\n\n\
    Then begin a scenario with `# yaml-language-server: $schema=scenario.schema.json`."
)]
pub struct Arguments {
    /// Kind of file
    #[arg(value_enum, value_name = "KIND", default_value = "scenario")]
    kind: Kind,
}

#[derive(Clone, Copy, clap::ValueEnum)]
enum Kind {
    /// One capture to be rendered
    Scenario,
    /// What a pack for a class shall hold
    Quiz,
    /// What a corpus is drawn from
    Plan,
    /// A hidden vehicle to practise on
    Job,
}

pub fn run(arguments: Arguments) -> Result<Outcome, Faults> {
    print_json(&match arguments.kind {
        Kind::Scenario => Scenario::schema(),
        Kind::Quiz => QuizFile::schema(),
        Kind::Plan => PlanFile::schema(),
        Kind::Job => JobFile::schema(),
    })?;
    Ok(Outcome::Done)
}
