//! Outcomes: an analyzer's results as CSV, a row for each capture, for spreadsheets, programs and
//! [`super::paired`].

use super::factor::FACTORS;
use super::rows::{Row, quoted};
use super::split::Splitter;
use super::verdict::Kind;
use crate::error::Fault;
use std::borrow::Cow;

/// The columns before those of the factors.
pub const COLUMNS: [&str; 8] = [
    "capture",
    "cylinders",
    "confidence",
    "lag_ms",
    "expected",
    "points",
    "verdict",
    "true_lag_ms",
];

/// One capture, and what came of its call.
#[derive(Clone, Debug, PartialEq)]
pub struct Outcome {
    /// The capture's name.
    pub capture: String,
    /// The call; `None` if the capture was not called.
    pub row: Option<Row>,
    /// The calls that score in full.
    pub expected: String,
    /// What the call was worth, 0 to 1.
    pub points: f64,
    /// What kind of call it was.
    pub kind: Kind,
    /// The lag by the truth, ms.
    pub true_lag_ms: Option<f64>,
    /// The capture's level of each factor.
    pub levels: [Cow<'static, str>; FACTORS.len()],
}

/// The header of the results, with its line end.
pub fn header() -> String {
    let factors = FACTORS.iter().map(|factor| factor.name);
    let names: Vec<&str> = COLUMNS.into_iter().chain(factors).collect();
    names.join(",") + "\n"
}

impl Outcome {
    /// Whether the call scored in full.
    pub fn is_right(&self) -> bool {
        self.points >= 1.0
    }

    /// The row of the results, with its line end.
    pub fn line(&self) -> String {
        let number = |value: Option<f64>| value.map_or(String::new(), |v| v.to_string());
        let row = self.row.as_ref();
        let cells = [
            self.capture.clone(),
            row.map_or(String::new(), |row| row.call.cylinders.to_string()),
            number(row.and_then(|row| row.call.confidence)),
            number(row.and_then(|row| row.lag_ms)),
            self.expected.clone(),
            self.points.to_string(),
            self.kind.to_string(),
            self.true_lag_ms
                .map_or(String::new(), |ms| format!("{ms:.2}")),
        ];
        let levels = self.levels.iter().map(|level| level.to_string());
        let cells: Vec<String> = cells.into_iter().chain(levels).map(quoted).collect();
        cells.join(",") + "\n"
    }
}

/// Reads results, one line after the other.
pub struct Reader {
    file: String,
    headed: bool,
    splitter: Splitter,
}

/// What a line of results came to.
#[derive(Debug, PartialEq)]
pub struct Past<'l> {
    /// The capture's name.
    pub capture: &'l str,
    /// Whether its call scored in full.
    pub right: bool,
    /// The capture's level of each factor.
    pub levels: [&'l str; FACTORS.len()],
}

impl Reader {
    /// A reader of the file that `file` names in faults.
    pub fn new(file: &str) -> Self {
        Reader {
            file: file.into(),
            headed: false,
            splitter: Splitter::new(b','),
        }
    }

    /// Reads line number `number`; `None` for the header.
    ///
    /// # Errors
    /// What is not a line of results that [`Outcome::line`] wrote: nobody writes them by hand, so that the whole
    /// file is in doubt.
    pub fn read(&mut self, number: usize, line: &[u8]) -> Result<Option<Past<'_>>, Fault> {
        let remedy =
            "give the results that `waterjacket grade --analyzer CALLS --key KEY --csv FILE` wrote";
        let wrong =
            |problem: String| Fault::new(format!("{}: line {number}", self.file), problem, remedy);
        if !self.headed {
            self.headed = true;
            return match line == header().trim_end().as_bytes() {
                true => Ok(None),
                false => Err(wrong("these are no results of an analyzer".into())),
            };
        }
        let count = self.splitter.split(line);
        let due = COLUMNS.len() + FACTORS.len();
        if count != Some(due) {
            return Err(wrong(format!("it has not the {due} cells of a row")));
        }
        let text = |i: usize| std::str::from_utf8(self.splitter.cell(i));
        let points = text(5).ok().and_then(|text| text.parse::<f64>().ok());
        let mut levels = [""; FACTORS.len()];
        for (i, level) in levels.iter_mut().enumerate() {
            *level = text(COLUMNS.len() + i).map_err(|_| wrong("it is not UTF-8".into()))?;
        }
        match (text(0), points) {
            (Ok(capture), Some(points)) if !capture.is_empty() => Ok(Some(Past {
                capture,
                right: points >= 1.0,
                levels,
            })),
            _ => Err(wrong("it names no capture and its points".into())),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn outcome() -> Outcome {
        Outcome {
            capture: "a, \"b\"".into(),
            row: None,
            expected: "unsure or none".into(),
            points: 1.0,
            kind: Kind::NoCall,
            true_lag_ms: Some(23.5),
            levels: [
                "under 0.25",
                "10 to 30",
                "vee 6, odd-firing",
                "a pair",
                "idle",
                "low",
                "one",
            ]
            .map(Cow::Borrowed),
        }
    }

    #[test]
    fn results_are_read_as_they_were_written() {
        let mut reader = Reader::new("a.csv");
        assert_eq!(reader.read(1, header().trim_end().as_bytes()), Ok(None));
        let line = outcome().line();
        let past = reader.read(2, line.trim_end().as_bytes()).unwrap().unwrap();
        assert_eq!((past.capture, past.right), ("a, \"b\"", true));
        assert_eq!(past.levels[2], "vee 6, odd-firing");
    }

    #[test]
    fn other_tables_are_refused() {
        let read = |line: &str| Reader::new("a.csv").read(1, line.as_bytes()).unwrap_err();
        assert!(
            read("capture,cylinders")
                .to_string()
                .contains("grade --analyzer")
        );
        let mut reader = Reader::new("a.csv");
        reader.read(1, header().trim_end().as_bytes()).unwrap();
        for line in ["a,3", &outcome().line().replace(",1,", ",one,")] {
            let fault = reader.read(7, line.trim_end().as_bytes()).unwrap_err();
            assert_eq!(fault.place, "a.csv: line 7");
        }
    }
}
