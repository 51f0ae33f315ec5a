//! `waterjacket attribute`: captures into calls.

use super::options::{captures_below, outputs};
use super::{Outcome, interrupt, print};
use crate::attribute::{Method, Reading};
use crate::domain::Entry;
use crate::error::{Fault, Faults};
use crate::formats::call_lines::Form;
use crate::storage::open;
use indicatif::{ProgressBar, ProgressStyle};
use rayon::prelude::*;
use std::io::Write;
use std::path::{Path, PathBuf};

/// Captures that are read at once, so that memory does not grow with their number.
const AT_ONCE: usize = 32;

/// Name the cylinder of captures by a reference method
///
/// Reads samples and cards, never a truth, and writes calls that `grade` reads: a row for each capture with
/// `capture`, `cylinders`, `confidence`, `lag_ms` and how it was found. The two methods are the floor that
/// any analyzer must beat. `count` does what a technician does who trusts the nearest TDC; `lag` first reads
/// off the shape of the pulse how late it comes. Captures that cannot be read are told, the rest is read
/// all the same, and the exit code is 2.
#[derive(clap::Args)]
#[command(
    after_help = "Examples:\n  waterjacket attribute out/lessons --out out/calls.csv\n  \
    waterjacket attribute out/corpus --method count --out out/count.jsonl\n  \
    waterjacket grade --analyzer out/calls.csv --key out/lessons"
)]
pub struct Arguments {
    /// Captures, or folders of them, with the folders in those
    #[arg(required = true, value_name = "CAPTURE")]
    captures: Vec<PathBuf>,
    /// How to read them
    #[arg(long, value_enum, default_value_t)]
    method: MethodOption,
    /// Write the calls to this file, JSON Lines if it ends in .jsonl and CSV if not; without it they are printed
    #[arg(long, value_name = "FILE")]
    out: Option<PathBuf>,
    /// Print JSON Lines
    #[arg(long, conflicts_with = "out")]
    json: bool,
}

/// How captures are read.
#[derive(Clone, Copy, Default, clap::ValueEnum)]
enum MethodOption {
    /// From the sync to the steepest rise, and the nearest TDC
    Count,
    /// The same, less the lag that the pulse's shape tells
    #[default]
    Lag,
}

pub fn run(arguments: Arguments) -> Result<Outcome, Faults> {
    interrupt::listen()?;
    let captures = captures_below(&arguments.captures)?;
    let method = match arguments.method {
        MethodOption::Count => Method::Count,
        MethodOption::Lag => Method::Lag,
    };
    let mut faults = Vec::new();
    match &arguments.out {
        None => {
            let form = if arguments.json {
                Form::JsonLines
            } else {
                Form::Csv
            };
            print(&form.head())?;
            read_all(&captures, method, &mut faults, |call| {
                print(&form.line(call))
            })?;
        }
        Some(path) => {
            let form = Form::of(&path.to_string_lossy());
            outputs(arguments.captures.clone())
                .file(path)?
                .write_with(|out| {
                    out.write_all(form.head().as_bytes())?;
                    read_all(&captures, method, &mut faults, |call| {
                        out.write_all(form.line(call).as_bytes())
                            .map_err(|e| Fault::io(path, "write it", &e).into())
                    })
                    .map_err(std::io::Error::other)
                })?;
        }
    }
    if faults.is_empty() {
        Ok(Outcome::Done)
    } else {
        Err(Faults(faults))
    }
}

/// Reads captures in their order and gives a row for each; those that cannot be opened go to `faults`.
fn read_all(
    captures: &[PathBuf],
    method: Method,
    faults: &mut Vec<Fault>,
    mut give: impl FnMut(&Entry) -> Result<(), Faults>,
) -> Result<(), Faults> {
    let bar = ProgressBar::new(captures.len() as u64).with_style(
        ProgressStyle::with_template("{bar:30} {pos}/{len} captures, {eta} left")
            .unwrap_or_else(|_| ProgressStyle::default_bar()),
    );
    for some in captures.chunks(AT_ONCE) {
        interrupt::check("no calls were written")?;
        let read: Vec<Result<Entry, Faults>> =
            some.par_iter().map(|path| one(path, method)).collect();
        for row in read {
            match row {
                Ok(row) => give(&row)?,
                Err(Faults(new)) => faults.extend(new),
            }
        }
        bar.inc(some.len() as u64);
    }
    bar.finish_and_clear();
    Ok(())
}

fn one(path: &Path, method: Method) -> Result<Entry, Faults> {
    let capture = open(path)?;
    let Reading {
        cylinders,
        confidence,
        lag_ms,
        why,
    } = method.read(&capture);
    let rounded = |value: f64, per: f64| (value * per).round() / per;
    Ok(Entry {
        confidence: Some(rounded(confidence, 1e3)),
        lag_ms: lag_ms.map(|ms| rounded(ms, 10.0)),
        note: why,
        ..Entry::new(capture.name(), cylinders)
    })
}
