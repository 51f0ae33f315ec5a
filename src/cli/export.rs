//! `waterjacket export`: a capture as CSV.

use super::options::outputs;
use super::{Outcome, print};
use crate::error::{Fault, Faults};
use crate::formats::Table;
use crate::storage::open;
use std::path::PathBuf;

/// Export a capture as CSV: time and one column a channel, in its unit
///
/// Every N-th sample is taken as it is, without a filter, so that faster signals fold over.
#[derive(clap::Args)]
#[command(
    after_help = "Examples:\n  waterjacket export out/lessons/01-plain-staircase --every 50 > plain.csv\n  \
    waterjacket export out/lessons/01-plain-staircase --from 1 --to 1.2 --out part.csv"
)]
pub struct Arguments {
    /// The capture: its name or one of its files
    #[arg(value_name = "CAPTURE")]
    capture: PathBuf,
    /// File to write; standard output without it
    #[arg(long, value_name = "FILE")]
    out: Option<PathBuf>,
    /// Begin here, seconds
    #[arg(long, value_name = "SECONDS", allow_negative_numbers = true)]
    from: Option<f64>,
    /// End here, seconds
    #[arg(long, value_name = "SECONDS", allow_negative_numbers = true)]
    to: Option<f64>,
    /// Take every N-th sample
    #[arg(long, value_name = "N", default_value_t = 1)]
    every: usize,
}

pub fn run(arguments: Arguments) -> Result<Outcome, Faults> {
    let capture = open(&arguments.capture)?;
    let table = Table::of(&capture, arguments.from, arguments.to, arguments.every)?;
    match &arguments.out {
        Some(path) => {
            let outputs = outputs([arguments.capture.clone()]);
            outputs.file(path)?.write_with(|out| table.write(out))?;
            print(&format!("{}\n", path.display()))?;
        }
        None => {
            let written = table.write(std::io::stdout().lock());
            if let Err(e) = written
                && e.kind() != std::io::ErrorKind::BrokenPipe
            {
                return Err(Fault::new("standard output", e, "check where it goes").into());
            }
        }
    }
    Ok(Outcome::Done)
}
