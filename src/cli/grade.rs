//! `waterjacket grade`: calls against the truth.

use super::{Outcome, print, print_json};
use crate::capture::{Files, Truth, store, truths};
use crate::error::{Fault, Faults};
use crate::grade::{
    Call, Cylinders, Graded, Report, call::parse_confidence, matching, score, sheet,
};
use std::path::{Path, PathBuf};

/// A larger call sheet is a mistake.
const MAX_SHEET_BYTES: u64 = 16 << 20;

/// Grade call sheets, or one call, against the truth
///
/// A sheet is CSV with the columns capture, cylinders, confidence and note. Cylinders are `3`, `2+5`
/// (both leak), `2|5` (one of them), `none` or `unsure`. Rows that cannot be graded are reported, the
/// rest is graded all the same, and the exit code is 2.
#[derive(clap::Args)]
#[command(
    after_help = "Examples:\n  waterjacket grade scenarios/sample-calls.csv --key out/lessons\n  \
    waterjacket grade --capture 01-plain-staircase --call 3 --key out/lessons"
)]
pub struct Arguments {
    /// Call sheets
    #[arg(value_name = "SHEET", required_unless_present = "capture")]
    sheets: Vec<PathBuf>,
    /// Folder that holds the truths
    #[arg(long, value_name = "FOLDER")]
    key: PathBuf,
    /// Grade one call of this capture
    #[arg(
        long,
        value_name = "NAME",
        requires = "call",
        conflicts_with = "sheets"
    )]
    capture: Option<String>,
    /// The call: `3`, `2+5`, `2|5`, `none` or `unsure`
    #[arg(long, value_name = "CYLINDERS", requires = "capture")]
    call: Option<String>,
    /// How sure the call is: `0.8` or `80%`
    #[arg(long, value_name = "SHARE", requires = "capture")]
    confidence: Option<String>,
    /// List captures of the key without a call, at no points
    #[arg(long)]
    uncalled: bool,
    /// Report as JSON
    #[arg(long)]
    json: bool,
}

pub fn run(arguments: Arguments) -> Result<Outcome, Faults> {
    let key = key(&arguments.key)?;
    let mut faults = Vec::new();
    let mut reports = Vec::new();
    if let (Some(capture), Some(call)) = (&arguments.capture, &arguments.call) {
        let call = single(capture, call, arguments.confidence.as_deref())?;
        reports.push((
            None,
            graded("the call", vec![call], &key, false, &mut faults),
        ));
    }
    for path in &arguments.sheets {
        let file = path.display().to_string();
        let bytes = store::read_at_most(path, MAX_SHEET_BYTES)?;
        let (calls, unread) = sheet::read(&file, &bytes);
        faults.extend(unread);
        let report = graded(&file, calls, &key, arguments.uncalled, &mut faults);
        reports.push((Some(file), report));
    }
    if arguments.json {
        match &reports[..] {
            [(_, one)] => print_json(one)?,
            many => print_json(&many.iter().map(|(_, report)| report).collect::<Vec<_>>())?,
        }
    } else {
        let several = reports.len() > 1;
        for (file, report) in reports.iter().filter(|(_, r)| !r.graded.is_empty()) {
            if let (Some(file), true) = (file, several) {
                print(&format!("{file}\n\n"))?;
            }
            print(&report.to_text())?;
        }
    }
    if faults.is_empty() {
        Ok(Outcome::Done)
    } else {
        Err(Faults(faults))
    }
}

fn graded(
    file: &str,
    calls: Vec<Call>,
    key: &[Truth],
    uncalled: bool,
    faults: &mut Vec<Fault>,
) -> Report {
    let (matched, unmatched) = matching::match_truths(file, calls, key);
    faults.extend(unmatched);
    let mut graded: Vec<Graded> = matched
        .into_iter()
        .map(|(call, truth)| Graded::new(call, truth))
        .collect();
    if uncalled {
        let rest = score::uncalled(&graded, key);
        graded.extend(rest);
    }
    Report::new(graded)
}

fn key(folder: &Path) -> Result<Vec<Truth>, Faults> {
    let names = truths(folder)?;
    if names.is_empty() {
        let remedy = "name the folder that `waterjacket render` filled";
        return Err(Fault::new(folder.display(), "the folder holds no truths", remedy).into());
    }
    let mut key = Vec::new();
    let mut faults = Vec::new();
    for name in names {
        match Truth::read(&Files::of(folder, &name).truth) {
            Ok(truth) => key.push(truth),
            Err(Faults(new)) => faults.extend(new),
        }
    }
    if faults.is_empty() {
        Ok(key)
    } else {
        Err(Faults(faults))
    }
}

fn single(capture: &str, call: &str, confidence: Option<&str>) -> Result<Call, Faults> {
    let at = |place: &'static str| {
        move |fault: Fault| Fault {
            place: place.into(),
            ..fault
        }
    };
    let cylinders: Cylinders = call.parse().map_err(at("--call"))?;
    let confidence = parse_confidence(confidence.unwrap_or("")).map_err(at("--confidence"))?;
    Ok(Call {
        capture: capture.into(),
        cylinders,
        confidence,
        note: String::new(),
    })
}
