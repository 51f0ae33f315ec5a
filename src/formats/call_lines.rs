//! The calls of an analyzer, one a line: CSV or JSON Lines.
//!
//! Fields are those of [`FIELDS`]: `lag_ms` is from compression TDC of the called cylinder to the steepest rise,
//! milliseconds. The last three may be missing or empty, and others are passed over.

use super::calls::{FIELDS, Fields, Header, Places, delimiter, text};
use super::csv_line::{Splitter, line, number};
use crate::domain::{Entry, parse_confidence};
use crate::error::{Fault, Faults, shown};
use serde::{Deserialize, Serialize};
use std::borrow::Cow;

/// How calls are written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Form {
    /// A header, then a row a line; RFC 4180, but without line ends inside of cells.
    Csv,
    /// A JSON object a line.
    JsonLines,
}

impl Form {
    /// The form of a file by its name: JSON Lines if it ends in `.jsonl` or `.ndjson`.
    pub fn of(name: &str) -> Form {
        let lower = name.to_lowercase();
        if lower.ends_with(".jsonl") || lower.ends_with(".ndjson") {
            Form::JsonLines
        } else {
            Form::Csv
        }
    }

    /// What stands before the first call.
    pub fn head(self) -> String {
        match self {
            Form::Csv => line(FIELDS),
            Form::JsonLines => String::new(),
        }
    }

    /// A call with its line end.
    pub fn line(self, call: &Entry) -> String {
        match self {
            Form::Csv => line([
                call.capture.as_str(),
                &call.cylinders.to_string(),
                &number(call.confidence),
                &number(call.lag_ms),
                &call.note.replace(['\n', '\r'], " "),
            ]),
            Form::JsonLines => {
                let written = Written {
                    capture: Cow::Borrowed(&call.capture),
                    cylinders: Named::Text(call.cylinders.to_string()),
                    confidence: call.confidence,
                    lag_ms: call.lag_ms,
                    note: Some(Cow::Borrowed(call.note.as_str())).filter(|n| !n.is_empty()),
                };
                let text = serde_json::to_string(&written);
                text.expect("strings and numbers go to memory") + "\n"
            }
        }
    }
}

/// A call as a line of JSON.
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

/// Reads calls, one line after the other.
pub struct Reader {
    file: String,
    form: Form,
    splitter: Splitter,
    /// Where the fields stand in a line of CSV, once the header is read.
    places: Option<Places>,
}

impl Reader {
    /// A reader of the file that `file` names, in faults and by its ending.
    pub fn new(file: &str) -> Reader {
        Reader {
            file: file.into(),
            form: Form::of(file),
            splitter: Splitter::new(b','),
            places: None,
        }
    }

    /// Reads line number `number`, without its line end; `None` if there is no call in it. What of it cannot be read
    /// goes to `keep`.
    ///
    /// # Errors
    /// A header without which nothing of the file can be read.
    pub fn read(
        &mut self,
        number: usize,
        line: &[u8],
        mut keep: impl FnMut(Fault),
    ) -> Result<Option<Entry>, Faults> {
        if line.trim_ascii().is_empty() {
            return Ok(None);
        }
        if self.form == Form::Csv && self.places.is_none() {
            let place = format!("{}: line {number}", self.file);
            self.places = Some(self.header(&place, line)?);
            return Ok(None);
        }
        let file = &self.file;
        let mut keep = |fault: Fault| {
            let field = match fault.place.as_str() {
                "" => String::new(),
                field => format!(", {field}"),
            };
            let place = format!("{file}: line {number}{field}");
            keep(Fault { place, ..fault });
        };
        let empty = "it is empty";
        let Some(places) = self.places else {
            return Ok(match serde_json::from_slice::<Written>(line) {
                Ok(written) => written.fields().entry(empty, keep).ok(),
                Err(error) => {
                    let problem = error
                        .to_string()
                        .replace(" at line 1 column ", " at column ");
                    let remedy = "write an object such as {\"capture\": \"bay-2\", \"cylinders\": \"3\", \"confidence\": 0.8}";
                    keep(Fault::new("", problem, remedy));
                    None
                }
            });
        };
        if self.splitter.split(line).is_none() {
            keep(Fault::new(
                "",
                "a quotation mark opened in this line is never closed",
                "close it, and keep each call on one line",
            ));
            return Ok(None);
        }
        Ok(self.fields(&places).entry(empty, keep).ok())
    }

    /// Where the fields stand, by the header.
    fn header(&mut self, place: &str, line: &[u8]) -> Result<Places, Faults> {
        let refuse = |problem: &str, remedy: &str| Err(Fault::new(place, problem, remedy).into());
        if line.trim_ascii_start().starts_with(b"{") {
            let problem = "the line is JSON, and the file is read as CSV";
            return refuse(problem, "call the file NAME.jsonl");
        }
        let begin = "begin the file with the line";
        self.splitter = Splitter::new(delimiter(line));
        let Some(count) = self.splitter.split(line) else {
            let remedy = format!("{begin} {}", FIELDS.join(","));
            return refuse("the header cannot be read", &remedy);
        };
        let cells = (0..count).map(|i| self.splitter.cell(i));
        let header = Header::of(cells, &FIELDS, place, begin);
        if header.faults.is_empty() {
            Ok(header.places)
        } else {
            Err(Faults(header.faults))
        }
    }

    /// The fields of the line that was split last.
    fn fields(&self, places: &Places) -> Fields<'_> {
        let cell = |i: usize| {
            let bytes = places[i].map_or(&b""[..], |at| self.splitter.cell(at));
            text(bytes, FIELDS[i], "write the file in UTF-8")
        };
        let lag = |text: &str| {
            text.parse::<f64>().map(Some).map_err(|_| {
                let problem = format!("{} is not a number", shown(text));
                Fault::new(FIELDS[3], problem, "write milliseconds, such as 23.5")
            })
        };
        Fields {
            capture: cell(0),
            cylinders: cell(1).and_then(str::parse),
            confidence: cell(2).and_then(parse_confidence),
            lag_ms: cell(3).and_then(|text| if text.is_empty() { Ok(None) } else { lag(text) }),
            note: cell(4).map(Cow::Borrowed),
        }
    }
}

impl Written<'_> {
    fn fields(&self) -> Fields<'_> {
        let confidence = match self.confidence {
            Some(value) if !(0.0..=1.0).contains(&value) => Err(Fault::new(
                FIELDS[2],
                format!("{value} is out of range"),
                "write a number from 0 to 1",
            )),
            confidence => Ok(confidence),
        };
        Fields {
            capture: Ok(&self.capture),
            cylinders: match &self.cylinders {
                Named::Text(text) => text.parse(),
                Named::One(number) => number.to_string().parse(),
            },
            confidence,
            lag_ms: Ok(self.lag_ms),
            note: Ok(Cow::Borrowed(self.note.as_deref().unwrap_or_default())),
        }
    }
}
