//! `waterjacket check`: are these scenarios right?

use super::options::files_in;
use super::{Outcome, print, print_json, tell};
use crate::capture::store;
use crate::error::{Fault, Faults};
use crate::scenario::Source;
use serde::Serialize;
use std::path::{Path, PathBuf};

/// Draws by which a scenario with distributions is checked.
const DRAWS: u64 = 32;

/// Check scenarios: every field, every range, and whether the parts fit
///
/// Reports all faults of all files at once. Exit code 1 if there is one.
#[derive(clap::Args)]
#[command(after_help = "Example:\n  waterjacket check scenarios")]
pub struct Arguments {
    /// Scenario files, or folders of them
    #[arg(required = true, value_name = "SCENARIO")]
    scenarios: Vec<PathBuf>,
    /// Report as JSON
    #[arg(long)]
    json: bool,
}

#[derive(Serialize)]
struct Checked {
    file: String,
    faults: Vec<Fault>,
}

pub fn run(arguments: Arguments) -> Result<Outcome, Faults> {
    let files = files_in(&arguments.scenarios, &[".yaml", ".yml"], "scenarios")?;
    let checked: Vec<Checked> = files
        .iter()
        .map(|file| Checked {
            file: file.display().to_string(),
            faults: load(file)
                .and_then(|s| s.check(DRAWS))
                .err()
                .map_or(Vec::new(), |f| f.0),
        })
        .collect();
    let faulty = checked.iter().filter(|c| !c.faults.is_empty()).count();
    if arguments.json {
        print_json(&checked)?;
    } else {
        for c in checked.iter().filter(|c| c.faults.is_empty()) {
            print(&format!("{}: in order\n", c.file))?;
        }
        for fault in checked.iter().flat_map(|c| &c.faults) {
            tell(fault);
        }
    }
    Ok(if faulty == 0 {
        Outcome::Done
    } else {
        Outcome::Failed
    })
}

/// Reads a scenario file.
pub fn load(file: &Path) -> Result<Source, Faults> {
    let text = store::read_at_most(file, Source::MAX_BYTES)?;
    Source::parse(&file.display().to_string(), &text)
}
