//! Results as CSV, for spreadsheets, programs and [`super::paired`]: a row for each graded capture.

use super::class::Student;
use super::strata::BY_CAPTURE;
use crate::error::Fault;
use crate::formats::csv_line::{Splitter, line, number};
use crate::table::{Table, words};
use std::collections::BTreeMap;

/// The columns of an analyzer's results, before those of the strata.
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

/// The header of an analyzer's results, with its line end.
pub fn header() -> String {
    let strata = BY_CAPTURE.iter().map(|by| by.name);
    line(COLUMNS.into_iter().chain(strata))
}

/// The results of students, whose captures are as difficult as said.
pub(super) fn of_class(students: &[Student], difficulty: &BTreeMap<&str, f64>) -> Table {
    let columns = [
        "student",
        "capture",
        "cylinders",
        "confidence",
        "expected",
        "points",
        "verdict",
        "difficulty",
        "sentence",
    ];
    let rows = students.iter().flat_map(|student| {
        student.graded.iter().map(|one| {
            let call = one.call.as_ref();
            [
                word(&student.name),
                one.capture.clone(),
                one.called(),
                number(call.and_then(|call| call.confidence)),
                one.expected.clone(),
                one.verdict.points.to_string(),
                one.verdict.kind.to_string(),
                number(difficulty.get(one.capture.as_str()).copied()),
                one.verdict.sentence.clone(),
            ]
        })
    });
    Table::new("", columns.map(|head| words(head, 0))).with(rows)
}

/// A name that a spreadsheet takes for a word: it reads a formula out of one that begins like one.
fn word(name: &str) -> String {
    let formula = name.starts_with(['=', '+', '-', '@']);
    format!("{}{name}", if formula { "'" } else { "" })
}

/// Reads an analyzer's results, one line after the other.
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
    /// The capture's stratum in each of [`BY_CAPTURE`].
    pub strata: [&'l str; BY_CAPTURE.len()],
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
    /// What is not a line of results that [`super::Graded::line`] wrote: nobody writes them by hand, so that the whole
    /// file is in doubt.
    pub fn read(&mut self, number: usize, line: &[u8]) -> Result<Option<Past<'_>>, Fault> {
        let remedy =
            "give the results that `waterjacket grade --analyzer CALLS --key KEY --csv FILE` wrote";
        let wrong =
            |problem: String| Fault::new(format!("{}: line {number}", self.file), problem, remedy);
        if !self.headed {
            self.headed = true;
            return if line == header().trim_end().as_bytes() {
                Ok(None)
            } else {
                Err(wrong("these are no results of an analyzer".into()))
            };
        }
        let due = COLUMNS.len() + BY_CAPTURE.len();
        if self.splitter.split(line) != Some(due) {
            return Err(wrong(format!("it has not the {due} cells of a row")));
        }
        let text = |i: usize| std::str::from_utf8(self.splitter.cell(i));
        let points = text(5).ok().and_then(|text| text.parse::<f64>().ok());
        let mut strata = [""; BY_CAPTURE.len()];
        for (i, stratum) in strata.iter_mut().enumerate() {
            *stratum = text(COLUMNS.len() + i).map_err(|_| wrong("it is not UTF-8".into()))?;
        }
        match (text(0), points) {
            (Ok(capture), Some(points)) if !capture.is_empty() => Ok(Some(Past {
                capture,
                right: points >= 1.0,
                strata,
            })),
            _ => Err(wrong("it names no capture and its points".into())),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::{Sync, Truth};
    use crate::grade::class::ClassGrading;
    use crate::grade::testing::{call, four, truth};
    use crate::grade::{Graded, Kind};

    fn key() -> Truth {
        truth(four(), Sync::Full, &[3], &[], &["3"])
    }

    fn outcome() -> Graded {
        let mut graded = Graded::of(Some(call("3")), &key(), &BY_CAPTURE, false);
        graded.capture = "a, \"b\"".into();
        graded.strata[2] = "vee 6, odd-firing".into();
        graded
    }

    #[test]
    fn results_of_an_analyzer_are_read_as_they_were_written() {
        let mut reader = Reader::new("a.csv");
        assert_eq!(reader.read(1, header().trim_end().as_bytes()), Ok(None));
        let line = outcome().line();
        let past = reader.read(2, line.trim_end().as_bytes()).unwrap().unwrap();
        assert_eq!((past.capture, past.right), ("a, \"b\"", true));
        assert_eq!(past.strata[2], "vee 6, odd-firing");
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

    #[test]
    fn results_of_a_class_read_back_cell_by_cell() {
        let mut grading = ClassGrading::default();
        let mut sure = call("4");
        sure.confidence = Some(0.8);
        for name in ["=ann, \"b\"", "bo"] {
            grading.add(name, name, &[sure.clone()], vec![], false);
        }
        grading.grade(&key());
        let class = grading.finish(None);
        let text = class.results().csv();
        let mut reader = csv::Reader::from_reader(text.as_bytes());
        let rows: Vec<csv::StringRecord> = reader.records().map(Result::unwrap).collect();
        assert_eq!(rows.len(), 2);
        let verdict = &class.students[0].graded[0].verdict;
        assert_eq!(verdict.kind, Kind::NeighbourAfter);
        let expected = [
            "'=ann, \"b\"",
            "quiz-1",
            "4",
            "0.8",
            "3",
            "0",
            "neighbour after",
            "0",
            &verdict.sentence,
        ];
        assert_eq!(rows[0].iter().collect::<Vec<_>>(), expected);
    }
}
