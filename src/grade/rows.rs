//! The calls of an analyzer, one a line: CSV or JSON Lines.
//!
//! A student's sheet ([`super::sheet`]) is small, comes out of a spreadsheet and is forgiven much. An analyzer's
//! calls may be millions and come out of a program, so that they are read line by line in the memory of
//! one line, and a line holds one call. Fields are `capture`, `cylinders`, `confidence`, `lag_ms` (from
//! compression TDC of the called cylinder to the steepest rise, milliseconds) and `note`; the last three
//! may be missing or empty, and others are passed over.

use super::entry::{Entry, parse_confidence};
use super::sheet::delimiter;
use super::split::Splitter;
use crate::domain::Call;
use crate::error::shown;
use crate::error::{Fault, nearest};
use serde::{Deserialize, Serialize};
use std::borrow::Cow;

/// The fields of a row, in the order of the columns that [`Row::line`] writes.
pub const FIELDS: [&str; 5] = ["capture", "cylinders", "confidence", "lag_ms", "note"];

/// Fields without which there is no call.
const REQUIRED: usize = 2;

/// No pulse lags so far behind its compression, ms; the bound catches seconds written for milliseconds too.
const MOST_LAG_MS: f64 = 10_000.0;

/// How rows are written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Format {
    /// A header, then a row a line; RFC 4180, but without line ends inside of cells.
    Csv,
    /// A JSON object a line.
    JsonLines,
}

impl Format {
    /// The format of a file by its name: JSON Lines if it ends in `.jsonl` or `.ndjson`.
    pub fn of(name: &str) -> Format {
        let lower = name.to_lowercase();
        match lower.ends_with(".jsonl") || lower.ends_with(".ndjson") {
            true => Format::JsonLines,
            false => Format::Csv,
        }
    }

    /// What stands before the first row.
    pub fn head(self) -> String {
        match self {
            Format::Csv => FIELDS.join(",") + "\n",
            Format::JsonLines => String::new(),
        }
    }
}

/// An analyzer's call of one capture.
#[derive(Clone, Debug, PartialEq)]
pub struct Row {
    /// The call.
    pub call: Entry,
    /// From compression TDC of the called cylinder to the steepest rise, ms; `None` if not stated.
    pub lag_ms: Option<f64>,
}

impl Row {
    /// The row with its line end.
    pub fn line(&self, format: Format) -> String {
        let call = &self.call;
        match format {
            Format::Csv => {
                let number = |value: Option<f64>| value.map_or(String::new(), |v| v.to_string());
                let cells = [
                    call.capture.clone(),
                    call.cylinders.to_string(),
                    number(call.confidence),
                    number(self.lag_ms),
                    call.note.replace(['\n', '\r'], " "),
                ];
                cells.map(quoted).join(",") + "\n"
            }
            Format::JsonLines => {
                let written = Written {
                    capture: Cow::Borrowed(&call.capture),
                    cylinders: Named::Text(call.cylinders.to_string()),
                    confidence: call.confidence,
                    lag_ms: self.lag_ms,
                    note: Some(Cow::Borrowed(call.note.as_str())).filter(|n| !n.is_empty()),
                };
                let text = serde_json::to_string(&written);
                text.expect("strings and numbers go to memory") + "\n"
            }
        }
    }
}

/// A cell in quotation marks where it needs them (RFC 4180, section 2).
pub(super) fn quoted(cell: String) -> String {
    match cell.contains([',', '"', '\n', '\r']) {
        true => format!("\"{}\"", cell.replace('"', "\"\"")),
        false => cell,
    }
}

/// A row of JSON Lines as it is written.
#[derive(Serialize, Deserialize)]
#[serde(expecting = "an object with the fields of a call")]
struct Written<'t> {
    #[serde(borrow)]
    capture: Cow<'t, str>,
    cylinders: Named,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    confidence: Option<f64>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    lag_ms: Option<f64>,
    #[serde(borrow, default, skip_serializing_if = "Option::is_none")]
    note: Option<Cow<'t, str>>,
}

/// Cylinders, of which one alone may be written as a number.
#[derive(Serialize, Deserialize)]
#[serde(
    untagged,
    expecting = "`cylinders` is neither a text nor the number of one cylinder"
)]
enum Named {
    Text(String),
    One(u32),
}

/// Reads rows, one line after the other.
pub struct Reader {
    file: String,
    format: Format,
    columns: Option<Columns>,
}

/// Where each of [`FIELDS`] stands in a line of CSV.
struct Columns {
    splitter: Splitter,
    places: [Option<usize>; FIELDS.len()],
}

/// What a line came to.
pub enum Read {
    /// A call, and what of the line could not be read.
    Row(Row, Vec<Fault>),
    /// Nothing to grade: a header, a blank line.
    Nothing,
    /// No call can be read from it.
    Faulty(Vec<Fault>),
    /// Nothing can be read from the whole file.
    Refused(Vec<Fault>),
}

impl Reader {
    /// A reader of the file that `file` names in faults.
    pub fn new(file: &str, format: Format) -> Reader {
        Reader {
            file: file.into(),
            format,
            columns: None,
        }
    }

    /// Reads line number `number`, without its line end.
    pub fn read(&mut self, number: usize, line: &[u8]) -> Read {
        if line.trim_ascii().is_empty() {
            return Read::Nothing;
        }
        let place = format!("{}: line {number}", self.file);
        let row = match (self.format, &mut self.columns) {
            (Format::JsonLines, _) => json(line),
            (Format::Csv, Some(columns)) => match columns.splitter.split(line) {
                Some(_) => columns.row(),
                None => Err(vec![Fault::new(
                    "",
                    "a quotation mark opened in this line is never closed",
                    "close it, and keep each call on one line",
                )]),
            },
            (Format::Csv, None) => {
                return match Columns::of(&place, line) {
                    Ok(columns) => {
                        self.columns = Some(columns);
                        Read::Nothing
                    }
                    Err(faults) => Read::Refused(faults),
                };
            }
        };
        let at = |fault: Fault| Fault {
            place: match fault.place.as_str() {
                "" => place.clone(),
                field => format!("{place}, {field}"),
            },
            ..fault
        };
        match row {
            Ok((row, faults)) => Read::Row(row, faults.into_iter().map(at).collect()),
            Err(faults) => Read::Faulty(faults.into_iter().map(at).collect()),
        }
    }
}

impl Columns {
    /// The columns by the header, the line `line`.
    fn of(place: &str, line: &[u8]) -> Result<Columns, Vec<Fault>> {
        let refuse = |problem: String, remedy: String| vec![Fault::new(place, problem, remedy)];
        let header = || format!("begin the file with the line {}", FIELDS.join(","));
        if line.trim_ascii_start().starts_with(b"{") {
            let problem = "the line is JSON, and the file is read as CSV".to_string();
            return Err(refuse(problem, "call the file NAME.jsonl".into()));
        }
        let mut splitter = Splitter::new(delimiter(line));
        let Some(count) = splitter.split(line) else {
            return Err(refuse("the header cannot be read".into(), header()));
        };
        let names: Vec<String> = (0..count)
            .map(|i| String::from_utf8_lossy(splitter.cell(i)).to_lowercase())
            .map(|name| name.trim().to_string())
            .collect();
        let mut faults = Vec::new();
        let mut places = [None; FIELDS.len()];
        for (i, field) in FIELDS.into_iter().enumerate() {
            let mut found = (0..names.len()).filter(|at| names[*at] == field);
            places[i] = found.next();
            if found.next().is_some() {
                let problem = format!("there are two columns called {field}");
                faults.extend(refuse(problem, "keep the one that counts".into()));
            } else if places[i].is_none() {
                let spare = names.iter().filter(|n| !FIELDS.contains(&n.as_str()));
                match nearest(field, spare.map(String::as_str)) {
                    Some(name) => faults.extend(refuse(
                        format!("the column {field} is missing"),
                        format!("rename the column {} to {field}", shown(name)),
                    )),
                    None if i < REQUIRED => {
                        let problem = format!("the column {field} is missing");
                        faults.extend(refuse(problem, header()));
                    }
                    None => {}
                }
            }
        }
        match faults.is_empty() {
            true => Ok(Columns { splitter, places }),
            false => Err(faults),
        }
    }

    /// The row that was split last.
    fn row(&self) -> Result<(Row, Vec<Fault>), Vec<Fault>> {
        let mut texts = [""; FIELDS.len()];
        let mut faults = Vec::new();
        for (i, field) in FIELDS.into_iter().enumerate() {
            let bytes = self.places[i].map_or(&b""[..], |at| self.splitter.cell(at));
            match std::str::from_utf8(bytes) {
                Ok(text) => texts[i] = text.trim(),
                Err(_) => {
                    let problem =
                        format!("{} is not UTF-8", shown(&String::from_utf8_lossy(bytes)));
                    faults.push(Fault::new(field, problem, "write the file in UTF-8"));
                }
            }
        }
        let [capture, cylinders, confidence, lag, note] = texts;
        let confidence = parse_confidence(confidence);
        let lag_ms = match lag {
            "" => Ok(None),
            text => text.parse::<f64>().map(Some).map_err(|_| {
                let problem = format!("{} is not a number", shown(text));
                Fault::new(FIELDS[3], problem, "write milliseconds, such as 23.5")
            }),
        };
        row(capture, cylinders.parse(), confidence, lag_ms, note, faults)
    }
}

fn json(line: &[u8]) -> Result<(Row, Vec<Fault>), Vec<Fault>> {
    let remedy = "write an object such as {\"capture\": \"bay-2\", \"cylinders\": \"3\", \"confidence\": 0.8}";
    let written: Written = serde_json::from_slice(line).map_err(|error| {
        let words = error.to_string();
        let problem = words.replace(" at line 1 column ", " at column ");
        vec![Fault::new("", problem, remedy)]
    })?;
    let cylinders = match written.cylinders {
        Named::Text(text) => text.parse(),
        Named::One(number) => number.to_string().parse(),
    };
    let confidence = match written.confidence {
        Some(value) if !(0.0..=1.0).contains(&value) => Err(Fault::new(
            FIELDS[2],
            format!("{value} is out of range"),
            "write a number from 0 to 1",
        )),
        confidence => Ok(confidence),
    };
    let note = written.note.unwrap_or_default();
    let lag = Ok(written.lag_ms);
    row(&written.capture, cylinders, confidence, lag, &note, vec![])
}

/// A row of what was read of each field. A row whose capture or cylinders cannot be read is none; of another
/// field the fault is told, and the call stands without it.
fn row(
    capture: &str,
    cylinders: Result<Call, Fault>,
    confidence: Result<Option<f64>, Fault>,
    lag_ms: Result<Option<f64>, Fault>,
    note: &str,
    mut faults: Vec<Fault>,
) -> Result<(Row, Vec<Fault>), Vec<Fault>> {
    if capture.is_empty() {
        let remedy = "write the name of the capture that is called";
        faults.push(Fault::new(FIELDS[0], "it is empty", remedy));
    }
    let cylinders = cylinders.map_err(|fault| faults.push(fault));
    let confidence = confidence.unwrap_or_else(|fault| {
        faults.push(fault);
        None
    });
    let lag_ms = lag_ms.and_then(|lag| match lag {
        Some(value) if value.is_nan() || value.abs() > MOST_LAG_MS => Err(Fault::new(
            FIELDS[3],
            format!("{value} is out of range"),
            format!("write milliseconds from TDC to the steepest rise, within {MOST_LAG_MS}"),
        )),
        lag => Ok(lag),
    });
    let lag_ms = lag_ms.unwrap_or_else(|fault| {
        faults.push(fault);
        None
    });
    match cylinders {
        Ok(cylinders) if !capture.is_empty() => Ok((
            Row {
                call: Entry {
                    capture: capture.into(),
                    cylinders,
                    confidence,
                    note: note.into(),
                },
                lag_ms,
            },
            faults,
        )),
        _ => Err(faults),
    }
}
