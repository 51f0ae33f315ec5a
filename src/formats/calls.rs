//! Calls in files: a student's sheet ([`super::call_sheet`]) and an analyzer's lines ([`super::call_lines`]).
//!
//! A sheet is small, comes out of a spreadsheet and is forgiven much. An analyzer's calls may be millions and come out
//! of a program, so that they are read line by line. What both share is here: the fields, how a header names them, and
//! what becomes of a call of which some fields cannot be read.

use crate::domain::{Call, Entry};
use crate::error::{Fault, nearest, shown};
use std::borrow::Cow;

/// The fields of a call.
pub const FIELDS: [&str; 5] = ["capture", "cylinders", "confidence", "lag_ms", "note"];

/// Fields without which there is no call.
const REQUIRED: usize = 2;

/// No pulse lags so far behind its compression, ms; the bound catches seconds written for milliseconds too.
const MOST_LAG_MS: f64 = 10_000.0;

/// Where each of [`FIELDS`] stands in a row.
pub(super) type Places = [Option<usize>; FIELDS.len()];

/// A header: where the fields stand, and what is wrong with it.
pub(super) struct Header {
    pub places: Places,
    /// Whether rows can be read all the same.
    pub readable: bool,
    pub faults: Vec<Fault>,
}

impl Header {
    /// Looks for `fields` in the cells of a header; `place` is where it stands, `begin` what it should be.
    pub fn of<'c>(
        cells: impl Iterator<Item = &'c [u8]>,
        fields: &[&str],
        place: &str,
        begin: &str,
    ) -> Header {
        let names: Vec<String> = cells
            .map(|cell| String::from_utf8_lossy(cell).trim().to_lowercase())
            .collect();
        let spare = || {
            let unknown = names.iter().map(String::as_str);
            unknown.filter(|name| !fields.contains(name))
        };
        let mut header = Header {
            places: [None; FIELDS.len()],
            readable: true,
            faults: Vec::new(),
        };
        for (i, field) in FIELDS.into_iter().enumerate() {
            if !fields.contains(&field) {
                continue;
            }
            let mut found = (0..names.len()).filter(|at| names[*at] == field);
            header.places[i] = found.next();
            let (missing, near) = (header.places[i].is_none(), nearest(field, spare()));
            let (problem, remedy) = if found.next().is_some() {
                let problem = format!("there are two columns called {field}");
                (problem, "keep the one that counts".into())
            } else if missing && (i < REQUIRED || near.is_some()) {
                let remedy = match near {
                    Some(name) => format!("rename the column {} to {field}", shown(name)),
                    None => format!("{begin} {}", fields.join(",")),
                };
                (format!("the column {field} is missing"), remedy)
            } else {
                continue;
            };
            header.readable &= missing && i >= REQUIRED;
            header.faults.push(Fault::new(place, problem, remedy));
        }
        header
    }
}

/// What was read of each field of a call.
pub(super) struct Fields<'t> {
    pub capture: Result<&'t str, Fault>,
    pub cylinders: Result<Call, Fault>,
    pub confidence: Result<Option<f64>, Fault>,
    pub lag_ms: Result<Option<f64>, Fault>,
    pub note: Result<Cow<'t, str>, Fault>,
}

impl Fields<'_> {
    /// The call, its faults going to `keep`; without a capture or cylinders that can be read there is none, but perhaps the
    /// capture's name. A call stands without any other field that cannot be read. `empty` is said of a capture
    /// without a name.
    pub fn entry(self, empty: &str, mut keep: impl FnMut(Fault)) -> Result<Entry, Option<String>> {
        let named = self.capture.and_then(|name| match name {
            "" => {
                let remedy = "write the name of the capture that is called";
                Err(Fault::new(FIELDS[0], empty, remedy))
            }
            name => Ok(name.to_string()),
        });
        let within = |lag: &f64| lag.abs() <= MOST_LAG_MS;
        let lag_ms = self.lag_ms.and_then(|lag| match lag {
            Some(value) if !within(&value) => Err(Fault::new(
                FIELDS[3],
                format!("{value} is out of range"),
                format!("write milliseconds from TDC to the steepest rise, within {MOST_LAG_MS}"),
            )),
            lag => Ok(lag),
        });
        let capture = named.map_err(&mut keep).ok();
        let cylinders = self.cylinders.map_err(&mut keep);
        let confidence = self.confidence.map_err(&mut keep).unwrap_or_default();
        let lag_ms = lag_ms.map_err(&mut keep).unwrap_or_default();
        let note = self.note.map_err(&mut keep).unwrap_or_default();
        match (capture, cylinders) {
            (Some(capture), Ok(cylinders)) => Ok(Entry {
                capture,
                cylinders,
                confidence,
                lag_ms,
                note: note.into_owned(),
            }),
            (capture, _) => Err(capture),
        }
    }
}

/// The text of a cell without the space around it; `remedy` is for one that is not UTF-8.
pub(super) fn text<'c>(
    cell: &'c [u8],
    field: &'static str,
    remedy: &str,
) -> Result<&'c str, Fault> {
    std::str::from_utf8(cell).map(str::trim).map_err(|_| {
        let lossy = shown(&String::from_utf8_lossy(cell));
        Fault::new(field, format!("{lossy} is not UTF-8"), remedy)
    })
}

/// The separator that stands most often in the first line with any; a comma if in doubt.
pub(super) fn delimiter(text: &[u8]) -> u8 {
    let known = b"\t;,";
    text.split(|b| *b == b'\n')
        .find(|line| line.iter().any(|b| known.contains(b)))
        .and_then(|line| {
            let times = |d: &u8| line.iter().filter(|b| *b == d).count();
            known.iter().copied().max_by_key(times)
        })
        .unwrap_or(b',')
}
