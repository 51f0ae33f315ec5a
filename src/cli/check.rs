//! `waterjacket check`: are these files right?

use super::options::files_in;
use super::{Outcome, print, print_json, tell};

use crate::corpus::Plan;
use crate::error::{Fault, Faults};
use crate::quiz::Quiz;
use crate::scenario::{FileKind, JobSource, Source};
use serde::Serialize;
use std::path::{Path, PathBuf};

/// Draws by which a scenario with distributions is checked.
const DRAWS: u64 = 32;

/// Check scenarios: every field, every range, and whether the parts fit
///
/// Quiz files, corpus plans and practice jobs are checked too, with the scenarios that they name. Reports
/// all faults of all files at once. Exit code 1 if there is one.
#[derive(clap::Args)]
#[command(after_help = "Example:\n  waterjacket check scenarios")]
pub struct Arguments {
    /// Files, or folders of them
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
            faults: check(file).err().map_or(Vec::new(), |f| f.0),
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

/// All faults of one file, read as what it is.
fn check(file: &Path) -> Result<(), Faults> {
    let (source, text) = read(file)?;
    match source.kind() {
        FileKind::Scenario => source.check(DRAWS),
        FileKind::Quiz => Quiz::open(file).map(|_| ()),
        FileKind::Plan => Plan::open(file).map(|_| ()),
        FileKind::Job => {
            let job = JobSource::parse(&file.display().to_string(), &text)?;
            (0..DRAWS).try_for_each(|seed| job.draw(Some(seed)).map(|_| ()))
        }
    }
}

fn read(file: &Path) -> Result<(Source, Vec<u8>), Faults> {
    let text = crate::files::read_at_most(file, Source::MAX_BYTES)?;
    Ok((Source::parse(&file.display().to_string(), &text)?, text))
}

/// Reads a scenario file.
pub fn load(file: &Path) -> Result<Source, Faults> {
    let (source, _) = read(file)?;
    let (what, command) = match source.kind() {
        FileKind::Scenario => return Ok(source),
        FileKind::Quiz => ("a quiz file", "waterjacket quiz"),
        FileKind::Plan => ("the plan of a corpus", "waterjacket corpus"),
        FileKind::Job => ("a job to practise on", "waterjacket practice"),
    };
    let problem = format!("it is {what}, no scenario");
    let remedy = format!("name a scenario, or see `{command} --help`");
    Err(Fault::new(file.display(), problem, remedy).into())
}
