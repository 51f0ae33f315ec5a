//! The grader: calls of one reader, graded against a key one truth at a time.
//!
//! The calls stand packed in memory, the key does not: each truth is looked at once and its call found. A
//! student's sheet and an analyzer's calls differ in how strictly they are read ([`crate::formats::calls`]), in what
//! is said of them, and in what captures are grouped by; in nothing else.

use super::by_capture::{ByCapture, Found};
use super::explanation::cylinders;
use super::fault_sample::{FaultSample, MOST_TOLD};
use super::graded::Graded;
use super::strata::{BY_CAPTURE, BY_DIFFICULTY, Grouping};
use crate::domain::{Call, Entry, Truth};
use crate::error::{Fault, Faults, shown};
use crate::formats::Lines;
use crate::formats::call_lines::Reader;
use std::io::BufRead;

/// Calls of one reader, and what was found wrong with them.
pub struct Grader {
    file: String,
    manner: &'static Manner,
    calls: ByCapture<Stated>,
    /// Whether captures without a call count.
    all: bool,
    faults: usize,
    told: Vec<(usize, Fault)>,
}

/// How the calls of a student and those of an analyzer differ.
struct Manner {
    by: &'static [Grouping],
    /// Whether it is said why a call is worth what it is.
    explains: bool,
    /// Faults that are told.
    most_told: usize,
    /// Whether faults name a row by its capture, and stand in the order of the sheet.
    by_row: bool,
}

static STUDENT: Manner = Manner {
    by: &BY_DIFFICULTY,
    explains: true,
    most_told: usize::MAX,
    by_row: true,
};
static ANALYZER: Manner = Manner {
    by: &BY_CAPTURE,
    explains: false,
    most_told: MOST_TOLD,
    by_row: false,
};

/// What is graded of a call, in 24 bytes.
#[derive(Clone, Copy, Debug)]
struct Stated {
    /// NaN if not stated.
    confidence: f64,
    /// NaN if not stated.
    lag_ms: f64,
    cylinders: Call,
}

impl Stated {
    fn of(entry: &Entry) -> Self {
        Stated {
            confidence: entry.confidence.unwrap_or(f64::NAN),
            lag_ms: entry.lag_ms.unwrap_or(f64::NAN),
            cylinders: entry.cylinders,
        }
    }

    fn entry(self, capture: &str, note: &str) -> Entry {
        let stated = |value: f64| Some(value).filter(|v| !v.is_nan());
        Entry {
            confidence: stated(self.confidence),
            lag_ms: stated(self.lag_ms),
            note: note.into(),
            ..Entry::new(capture, self.cylinders)
        }
    }
}

impl Grader {
    fn new(file: String, manner: &'static Manner) -> Self {
        Grader {
            file,
            manner,
            calls: ByCapture::new(),
            all: true,
            faults: 0,
            told: Vec::new(),
        }
    }

    /// The calls of a student, of which `file` is named in faults, and what could not be read. With `all`, captures
    /// without a call count, unless there is no call at all.
    pub fn student(file: &str, calls: &[Entry], faults: Vec<Fault>, all: bool) -> Self {
        let mut grader = Grader::new(file.into(), &STUDENT);
        faults
            .into_iter()
            .for_each(|fault| grader.tell(0, || fault));
        for (row, call) in calls.iter().enumerate() {
            grader
                .calls
                .push(&call.capture, &call.note, row, Stated::of(call));
        }
        grader.calls.sort(|_, _, _| {});
        grader.all = all && !calls.is_empty();
        grader
    }

    /// The calls of an analyzer.
    ///
    /// # Errors
    /// If the file cannot be read, its header is not one, or there is no call in it; faults of lines are kept.
    pub fn analyzer(mut lines: Lines<impl BufRead>) -> Result<Self, Faults> {
        let file = lines.file().to_string();
        let mut reader = Reader::new(&file);
        let mut grader = Grader::new(file.clone(), &ANALYZER);
        while let Some(line) = lines.next()? {
            let number = line.number;
            let Some(bytes) = line.bytes else {
                grader.tell(number, || {
                    let remedy = "keep each call on one line, and look for a stray quotation mark";
                    Fault::new(
                        format!("{file}: line {number}"),
                        "the line is too long",
                        remedy,
                    )
                });
                continue;
            };
            let read = reader.read(number, bytes, |fault| grader.tell(number, || fault))?;
            if let Some(call) = read {
                grader
                    .calls
                    .push(&call.capture, "", number, Stated::of(&call));
            }
        }
        let mut calls = std::mem::replace(&mut grader.calls, ByCapture::new());
        calls.sort(|capture, again, first| {
            grader.tell(again, || {
                let problem = format!("{} already stands on line {first}", shown(capture));
                let remedy = "keep one call for each capture; only the first is graded";
                Fault::new(format!("{file}: line {again}, capture"), problem, remedy)
            });
        });
        if calls.is_empty() && grader.faults == 0 {
            let remedy = "write a row for each capture";
            return Err(Fault::new(file, "there is no call in it", remedy).into());
        }
        grader.calls = calls;
        Ok(grader)
    }

    /// Grades the call of a capture, with its row; the last of all rows where there is no call but captures without one
    /// count. `None` if nothing is to be graded.
    pub fn grade(&mut self, truth: &Truth) -> Option<(usize, Graded)> {
        let unsound = unsound(truth);
        let Manner { by, explains, .. } = *self.manner;
        let missing = || Some((usize::MAX, Graded::of(None, truth, by, explains)));
        match self.calls.take(&truth.capture) {
            // The key is at fault, not the call; of a class it is said once.
            _ if !unsound.is_empty() && !self.manner.by_row => {
                unsound.into_iter().for_each(|fault| self.tell(0, || fault));
                None
            }
            Some(Ok(Found { value, note, line })) if unsound.is_empty() => {
                let lacks = |c: &u32| truth.engine.firing_place(*c).is_none();
                let lacking: Vec<u32> = value.cylinders.named().iter().filter(lacks).collect();
                if lacking.is_empty() {
                    let call = value.entry(&truth.capture, note);
                    return Some((line, Graded::of(Some(call), truth, by, explains)));
                }
                let whose = if self.manner.by_row {
                    String::new()
                } else {
                    format!(" of {}", truth.capture)
                };
                let place = self.place(&truth.capture, line, "cylinders");
                self.tell(line, || {
                    let mut has = truth.engine.firing_order.clone();
                    has.sort_unstable();
                    let problem = format!("the engine{whose} has no {}", cylinders(lacking));
                    Fault::new(place, problem, format!("call among its {}", cylinders(has)))
                });
                missing().filter(|_| self.manner.by_row && self.all)
            }
            Some(Err(())) if !self.manner.by_row => {
                self.tell(0, || {
                    let remedy = "keep one truth for each capture; only the first is graded";
                    let place = format!("key: {}", truth.capture);
                    Fault::new(place, "there are two truths of this name", remedy)
                });
                None
            }
            _ => missing().filter(|_| self.all),
        }
    }

    /// What was found wrong, also with calls of captures that the key lacks; `near` finds a name that may be meant.
    pub fn finish(mut self, near: impl Fn(&str) -> Option<String>) -> FaultSample {
        let calls = std::mem::replace(&mut self.calls, ByCapture::new());
        for (line, capture) in calls.left() {
            let place = self.place(capture, line, "capture");
            self.tell(line, || {
                let remedy = match near(capture) {
                    Some(name) => format!("write {name} if that is meant"),
                    None => "write the name as the capture's card gives it".into(),
                };
                let problem = format!("there is no capture {} in the key", shown(capture));
                Fault::new(place, problem, remedy)
            });
        }
        if self.manner.by_row {
            self.told.sort_by_key(|(row, _)| *row);
        }
        FaultSample {
            count: self.faults,
            first: self.told.into_iter().map(|(_, fault)| fault).collect(),
        }
    }

    /// The file of the calls.
    pub fn file(&self) -> &str {
        &self.file
    }

    fn place(&self, capture: &str, line: usize, field: &str) -> String {
        let file = &self.file;
        if self.manner.by_row {
            format!("{file}: row of {}, column {field}", shown(capture))
        } else {
            format!("{file}: line {line}, {field}")
        }
    }

    /// Keeps a fault, which is only made if it is told.
    fn tell(&mut self, line: usize, fault: impl FnOnce() -> Fault) {
        if self.told.len() < self.manner.most_told {
            self.told.push((line, fault()));
        }
        self.faults += 1;
    }
}

/// Why nothing can be graded against a truth.
pub(super) fn unsound(truth: &Truth) -> Vec<Fault> {
    let place = |field: &str| format!("{}.truth.json: {field}", truth.capture);
    let engine = &truth.engine;
    let mut faults = Vec::new();
    let (fire, intervals) = (engine.firing_order.len(), engine.firing_intervals_deg.len());
    if fire != intervals {
        faults.push(Fault::new(
            place("engine.firing_intervals_deg"),
            format!("{fire} cylinders fire at {intervals} intervals"),
            "give one interval for each cylinder of the firing order",
        ));
    }
    if truth.evidence.supported.is_empty() {
        faults.push(Fault::new(
            place("evidence.supported"),
            "no call is supported",
            "name at least one; a capture that settles nothing supports unsure",
        ));
    }
    faults
}
