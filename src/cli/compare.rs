//! `waterjacket compare`: two graded runs of an analyzer.

use super::grade::MAX_LINE_BYTES;
use super::options::share;
use super::{Outcome, print, print_json};
use crate::error::Faults;
use crate::grade::Comparison;
use crate::grade::paired::Rule;
use crate::storage::lines;
use std::path::PathBuf;

/// Compare two graded runs of an analyzer over the same captures
///
/// OLD and NEW are results that `grade --analyzer --csv` wrote, so that no key is needed and a version's
/// results can be kept beside its code. Captures are paired by name. Told are the difference of accuracy
/// with Newcombe's interval for paired shares, the exact McNemar test, and the same for every stratum of lag,
/// pulse height, engine, sync, mode, difficulty and number of leaks, with p-values adjusted by Holm's
/// method. The exit code is 1 on a regression: a loss over all, or in one stratum, that chance would hardly
/// give.
#[derive(clap::Args)]
#[command(
    after_help = "Examples:\n  waterjacket grade --analyzer calls.csv --key corpus/key --csv new.csv\n  \
    waterjacket compare old.csv new.csv\n  \
    waterjacket compare old.csv new.csv --max-drop 1% --json"
)]
pub struct Arguments {
    /// Results of the version before
    #[arg(value_name = "OLD")]
    old: PathBuf,
    /// Results of the version now
    #[arg(value_name = "NEW")]
    new: PathBuf,
    /// A loss counts if chance would give as much with less than this probability
    #[arg(long, value_name = "SHARE", default_value = "0.05", value_parser = share)]
    significance: f64,
    /// A fall of the accuracy over all by more than this counts too, chance or not: `0.01` or `1%`
    #[arg(long, value_name = "SHARE", value_parser = share)]
    max_drop: Option<f64>,
    /// Report as JSON
    #[arg(long)]
    json: bool,
}

pub fn run(arguments: Arguments) -> Result<Outcome, Faults> {
    let rule = Rule {
        significance: arguments.significance,
        most_drop: arguments.max_drop,
    };
    let [old, new] = [&arguments.old, &arguments.new].map(|path| lines(path, MAX_LINE_BYTES));
    let comparison = Comparison::of(old?, new?, rule)?;
    if arguments.json {
        print_json(&comparison)?;
    } else {
        print(&comparison.to_text())?;
    }
    Ok(if comparison.regressions.is_empty() {
        Outcome::Done
    } else {
        Outcome::Failed
    })
}
