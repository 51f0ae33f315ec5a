//! `waterjacket grade`: calls against the truth.

mod analyzer;

use super::options::{files_in, share};
use super::{Outcome, print, print_json, tell};
use crate::domain::Truth;

use crate::domain::Call;
use crate::error::{Fault, Faults};
use crate::grade::{
    Class, Entry, Graded, Report, Student, entry::parse_confidence, matching, rows::Format,
};
use crate::report;
use crate::storage::{Key, pack};
use std::path::{Path, PathBuf};

/// A larger call sheet is a mistake.
const MAX_SHEET_BYTES: u64 = 16 << 20;

/// Grade call sheets, or one call, against the truth
///
/// A sheet is CSV with the columns capture, cylinders, confidence and note. Cylinders are `3`, `2+5`
/// (both leak), `2|5` (one of them), `none` or `unsure`. Several sheets are a class, in which each
/// student is called as the sheet's file. Cells that cannot be read are reported, the rest is graded all
/// the same, and the exit code is 2. If the key is that of a pack, a sheet whose column `pack` names
/// another one is refused.
///
/// An analyzer's calls are CSV or JSON Lines (NAME.jsonl) of any length, with the fields capture,
/// cylinders, confidence, lag_ms and note, of which the last three may be missing. Captures that it did not
/// call count as wrong. `compare` holds the results of two versions against each other.
#[derive(clap::Args)]
#[command(
    after_help = "Examples:\n  waterjacket grade scenarios/sample-calls.csv --key out/lessons\n  \
    waterjacket grade sheets/*.csv --key quiz/key --report class.html --csv results.csv\n  \
    waterjacket grade --analyzer calls.csv --key corpus/key --csv results.csv --fail-under 90%\n  \
    waterjacket grade --capture 01-plain-staircase --call 3 --key out/lessons"
)]
pub struct Arguments {
    /// Call sheets, or folders of them; or the calls of one analyzer
    #[arg(value_name = "SHEET", required_unless_present = "capture")]
    sheets: Vec<PathBuf>,
    /// Folder that holds the truths: NAME.truth.json of each capture, or NAME.key.jsonl of many
    #[arg(long, value_name = "FOLDER")]
    key: PathBuf,
    /// The calls are an analyzer's, not a student's; said by NAME.jsonl too
    #[arg(long, requires = "sheets", conflicts_with_all = ["uncalled", "capture"])]
    analyzer: bool,
    /// Exit with 1 if less than this share of the calls is right: `0.9` or `90%`
    #[arg(long, value_name = "SHARE", value_parser = share)]
    fail_under: Option<f64>,
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
    /// Write the report, one HTML page with its pictures, to this file
    #[arg(long, value_name = "FILE", requires = "sheets")]
    report: Option<PathBuf>,
    /// Write the results to this CSV file, a row for each call
    #[arg(long, value_name = "FILE", requires = "sheets")]
    csv: Option<PathBuf>,
    /// Report as JSON
    #[arg(long)]
    json: bool,
}

pub fn run(arguments: Arguments) -> Result<Outcome, Faults> {
    check_outputs(&arguments)?;
    let lines = |sheet: &PathBuf| Format::of(&sheet.to_string_lossy()) == Format::JsonLines;
    if arguments.analyzer || arguments.sheets.iter().any(lines) {
        return analyzer::run(&arguments);
    }
    let key = key(&arguments.key)?;
    match (&arguments.capture, &arguments.call) {
        (Some(capture), Some(call)) => one_call(&arguments, capture, call, &key),
        _ => class(&arguments, &key),
    }
}

/// Refuses to write a result over a call sheet, or over the other result.
fn check_outputs(arguments: &Arguments) -> Result<(), Faults> {
    let mut taken: Vec<&PathBuf> = arguments.sheets.iter().collect();
    let outputs = [("--report", &arguments.report), ("--csv", &arguments.csv)];
    for (flag, path) in outputs {
        let Some(path) = path else { continue };
        let same = |other: &&PathBuf| match (path.canonicalize(), other.canonicalize()) {
            (Ok(this), Ok(other)) => this == other,
            _ => path == *other,
        };
        if taken.iter().any(same) {
            let problem = format!("{} is given twice", path.display());
            let remedy = "choose a path that is no call sheet and no other result";
            return Err(Fault::new(flag, problem, remedy).into());
        }
        taken.push(path);
    }
    Ok(())
}

fn one_call(
    arguments: &Arguments,
    capture: &str,
    call: &str,
    key: &[Truth],
) -> Result<Outcome, Faults> {
    let call = single(capture, call, arguments.confidence.as_deref())?;
    let (matched, faults) = matching::match_truths("the call", vec![call], key);
    let graded: Vec<Graded> = matched
        .into_iter()
        .map(|(call, truth)| Graded::new(call, truth))
        .collect();
    let report = Report::new(graded);
    match arguments.json {
        true => print_json(&report)?,
        false if report.graded.is_empty() => {}
        false => print(&report.to_text())?,
    }
    finish(faults, report.summary.accuracy, arguments.fail_under)
}

fn class(arguments: &Arguments, key: &[Truth]) -> Result<Outcome, Faults> {
    let pack = pack::head(&arguments.key)?.map(|head| head.pack);
    let sheets = sheets(&arguments.sheets)?;
    let all = arguments.uncalled;
    let students = sheets
        .iter()
        .map(|(name, path)| {
            let file = path.display().to_string();
            match crate::files::read_at_most(path, MAX_SHEET_BYTES) {
                Ok(bytes) => Student::grade(name, &file, &bytes, key, pack.as_deref(), all),
                Err(Faults(faults)) => Student::unread(name, &file, faults),
            }
        })
        .collect();
    let class = Class::new(students, key, pack);
    if let Some(path) = &arguments.report {
        crate::files::write_all(path, report::html(&class)?.as_bytes())?;
    }
    if let Some(path) = &arguments.csv {
        crate::files::write_all(path, class.to_csv().as_bytes())?;
    }
    match arguments.json {
        true => print_json(&class)?,
        false if class.summary.n == 0 => {}
        false => print(&class.to_text())?,
    }
    finish(class.faults(), class.summary.accuracy, arguments.fail_under)
}

/// The sheets with their students' names: the file's, or the whole path where two files share one.
fn sheets(paths: &[PathBuf]) -> Result<Vec<(String, PathBuf)>, Faults> {
    let mut files = Vec::new();
    for path in paths {
        match path.is_dir() {
            true => files.extend(files_in(
                std::slice::from_ref(path),
                &[".csv"],
                "call sheets",
            )?),
            false => files.push(path.clone()),
        }
    }
    let stem = |path: &PathBuf| {
        let name = path.file_stem().unwrap_or(path.as_os_str());
        name.to_string_lossy().into_owned()
    };
    let mut named: Vec<(String, PathBuf)> = Vec::new();
    for file in &files {
        if named.iter().any(|(_, known)| known == file) {
            let problem = "the call sheet is given twice";
            return Err(Fault::new(file.display(), problem, "name it once").into());
        }
        let shared = files
            .iter()
            .filter(|other| stem(other) == stem(file))
            .count()
            > 1;
        let name = match shared {
            true => file.display().to_string(),
            false => stem(file),
        };
        named.push((name, file.clone()));
    }
    Ok(named)
}

fn finish(
    faults: Vec<Fault>,
    accuracy: Option<f64>,
    fail_under: Option<f64>,
) -> Result<Outcome, Faults> {
    match faults.is_empty() {
        true => Ok(pass(accuracy, fail_under)),
        false => Err(Faults(faults)),
    }
}

/// Whether enough calls are right; nothing graded is not enough. Tells if not.
fn pass(accuracy: Option<f64>, fail_under: Option<f64>) -> Outcome {
    let share = accuracy.unwrap_or(0.0);
    match fail_under {
        Some(least) if accuracy.is_none() || share < least => {
            let [share, least] = [share, least].map(|share| share * 100.0);
            tell(&Fault::new(
                "--fail-under",
                format!("{share:.2} % of the calls are right, and {least:.2} % should be"),
                "see which were not",
            ));
            Outcome::Failed
        }
        _ => Outcome::Done,
    }
}

fn key(folder: &Path) -> Result<Vec<Truth>, Faults> {
    let mut key = Vec::new();
    let mut faults = Vec::new();
    for truth in Key::open(folder)? {
        match truth {
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

fn single(capture: &str, call: &str, confidence: Option<&str>) -> Result<Entry, Faults> {
    let at = |place: &'static str| {
        move |fault: Fault| Fault {
            place: place.into(),
            ..fault
        }
    };
    let cylinders: Call = call.parse().map_err(at("--call"))?;
    let confidence = parse_confidence(confidence.unwrap_or("")).map_err(at("--confidence"))?;
    Ok(Entry {
        capture: capture.into(),
        cylinders,
        confidence,
        note: String::new(),
    })
}
