//! `waterjacket grade --analyzer`: many calls of one program, against a key of any length.

use super::Arguments;
use crate::cli::options::outputs;
use crate::cli::{Outcome, interrupt, print, print_json};
use crate::error::{Fault, Faults};
use crate::grade::results::header;
use crate::grade::{Graded, Grading};
use crate::report;
use crate::storage::{Key, lines};
use indicatif::{ProgressBar, ProgressStyle};
use std::io::{self, Write};

/// A longer line is passed over unread, and told.
pub const MAX_LINE_BYTES: usize = 1 << 16;

/// Truths between two looks at whether to stop.
const AT_ONCE: u64 = 1000;

pub fn run(arguments: &Arguments) -> Result<Outcome, Faults> {
    let [calls] = &arguments.sheets[..] else {
        let problem = format!("there are {} files of calls", arguments.sheets.len());
        return Err(Fault::new("--analyzer", problem, "grade one analyzer at a time").into());
    };
    let outputs = outputs([calls, &arguments.key].map(Clone::clone));
    let html = outputs.optional(&arguments.report)?;
    let csv = outputs.optional(&arguments.csv)?;
    interrupt::listen()?;
    let key = Key::open(&arguments.key)?;
    let mut grading = Grading::begin(lines(calls, MAX_LINE_BYTES)?)?;
    match csv {
        None => grade(&mut grading, key, |_| Ok(()))?,
        Some(csv) => csv.write_with(|out| {
            out.write_all(header().as_bytes())?;
            grade(&mut grading, key, |row| {
                out.write_all(row.line().as_bytes())
            })
            .map_err(io::Error::other)
        })?,
    }
    let scores = grading.finish();
    if let Some(html) = html {
        html.write(report::scores_html(&scores)?)?;
    }
    if arguments.json {
        print_json(&scores)?;
    } else {
        print(&scores.to_text())?;
    }
    let faults = scores.faults.faults(&calls.display().to_string());
    super::finish(faults, scores.summary.accuracy, arguments.fail_under)
}

/// Grades truth by truth, and gives each outcome to `give`.
fn grade(
    grading: &mut Grading,
    key: Key,
    mut give: impl FnMut(&Graded) -> io::Result<()>,
) -> Result<(), Faults> {
    let bar = ProgressBar::new_spinner().with_style(
        ProgressStyle::with_template("{spinner} {human_pos} captures, {per_sec}")
            .unwrap_or_else(|_| ProgressStyle::default_spinner()),
    );
    for (truth, number) in key.zip(1u64..) {
        if let Some(outcome) = grading.grade(&truth?) {
            give(&outcome).map_err(|e| Fault::new("--csv", e, "check where the results go"))?;
        }
        if number.is_multiple_of(AT_ONCE) {
            bar.inc(AT_ONCE);
            interrupt::check("nothing was graded")?;
        }
    }
    bar.finish_and_clear();
    Ok(())
}
