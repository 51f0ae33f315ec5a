//! `waterjacket grade`: calls against the truth.

mod analyzer;

pub use analyzer::MAX_LINE_BYTES;

use super::options::{files_in, outputs, share};
use super::{Outcome, print, print_json, tell};
use crate::domain::{Call, Entry, parse_confidence};
use crate::error::{Fault, Faults};
use crate::formats::call_lines::Form;
use crate::formats::call_sheet;
use crate::grade::class::ClassGrading;
use crate::report;
use crate::storage::{Key, pack};
use serde_json::json;
use std::path::PathBuf;

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
    let lines = |sheet: &PathBuf| Form::of(&sheet.to_string_lossy()) == Form::JsonLines;
    if arguments.analyzer || arguments.sheets.iter().any(lines) {
        return analyzer::run(&arguments);
    }
    match (&arguments.capture, &arguments.call) {
        (Some(capture), Some(call)) => one_call(&arguments, capture, call),
        _ => class(&arguments),
    }
}

fn one_call(arguments: &Arguments, capture: &str, call: &str) -> Result<Outcome, Faults> {
    let key = Key::open(&arguments.key)?;
    let call = single(capture, call, arguments.confidence.as_deref())?;
    let mut grading = ClassGrading::default();
    grading.add("", "the call", &[call], Vec::new(), false);
    grade(&mut grading, key)?;
    let class = grading.finish(None);
    for student in &class.students {
        if arguments.json {
            let (graded, summary) = (&student.graded, &student.summary);
            print_json(&json!({"graded": graded, "summary": summary}))?;
        } else if !student.is_refused() {
            print(&student.to_text())?;
        }
    }
    finish(class.faults(), class.summary.accuracy, arguments.fail_under)
}

fn class(arguments: &Arguments) -> Result<Outcome, Faults> {
    let key = Key::open(&arguments.key)?;
    let pack = pack::head(&arguments.key)?.map(|head| head.pack);
    let sheets = sheets(&arguments.sheets)?;
    let read = sheets.iter().map(|(_, path)| path).chain([&arguments.key]);
    let outputs = outputs(read.cloned());
    let html = outputs.optional(&arguments.report)?;
    let csv = outputs.optional(&arguments.csv)?;
    let mut grading = ClassGrading::default();
    for (name, path) in sheets {
        let file = path.display().to_string();
        let (calls, faults) = match crate::files::read_at_most(&path, MAX_SHEET_BYTES) {
            Ok(bytes) => call_sheet::read(&file, &bytes, pack.as_deref()),
            Err(Faults(faults)) => (Vec::new(), faults),
        };
        grading.add(&name, &file, &calls, faults, arguments.uncalled);
    }
    grade(&mut grading, key)?;
    let class = grading.finish(pack);
    if let Some(html) = html {
        html.write(report::html(&class)?)?;
    }
    if let Some(csv) = csv {
        csv.write(class.results().csv())?;
    }
    if arguments.json {
        print_json(&class)?;
    } else if class.summary.n > 0 {
        print(&class.to_text())?;
    }
    finish(class.faults(), class.summary.accuracy, arguments.fail_under)
}

/// Grades calls against all truths of a key, or tells all that is wrong with those.
fn grade(grading: &mut ClassGrading, key: Key) -> Result<(), Faults> {
    let mut faults = Vec::new();
    for truth in key {
        match truth {
            Ok(truth) => grading.grade(&truth),
            Err(Faults(new)) => faults.extend(new),
        }
    }
    none_or(faults, ())
}

/// A value, unless there are faults.
fn none_or<T>(faults: Vec<Fault>, value: T) -> Result<T, Faults> {
    if faults.is_empty() {
        Ok(value)
    } else {
        Err(Faults(faults))
    }
}

/// The sheets with their students' names: the file's, or the whole path where two files share one.
fn sheets(paths: &[PathBuf]) -> Result<Vec<(String, PathBuf)>, Faults> {
    let mut files = Vec::new();
    for path in paths {
        if path.is_dir() {
            let folder = std::slice::from_ref(path);
            files.extend(files_in(folder, &[".csv"], "call sheets")?);
        } else {
            files.push(path.clone());
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
        let alike = files.iter().filter(|other| stem(other) == stem(file));
        let name = match alike.count() {
            1 => stem(file),
            _ => file.display().to_string(),
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
    none_or(faults, ())?;
    Ok(pass(accuracy, fail_under))
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
        confidence,
        ..Entry::new(capture, cylinders)
    })
}
