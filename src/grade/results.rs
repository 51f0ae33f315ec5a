//! Results as CSV, a row for each graded capture of each student, for a spreadsheet or a program.

use super::class::Class;
use super::rows::quoted;

/// The columns of the results.
const COLUMNS: [&str; 9] = [
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

impl Class {
    /// The results as CSV: a header, then a row for each graded capture in the order of the sheets.
    ///
    /// A capture that was not called has empty `cylinders`; confidence, points and difficulty run
    /// from 0 to 1.
    pub fn to_csv(&self) -> String {
        let mut text = COLUMNS.join(",") + "\n";
        for student in &self.students {
            for one in &student.graded {
                let call = one.call.as_ref();
                let item = self.items.iter().find(|item| item.capture == one.capture);
                let cells = [
                    word(&student.name),
                    one.capture.clone(),
                    call.map_or(String::new(), |c| c.cylinders.to_string()),
                    call.and_then(|c| c.confidence)
                        .map_or(String::new(), |p| p.to_string()),
                    one.expected.clone(),
                    one.verdict.points.to_string(),
                    one.verdict.kind.to_string(),
                    item.map_or(String::new(), |item| item.difficulty.to_string()),
                    one.verdict.sentence.clone(),
                ];
                text += &cells.map(quoted).join(",");
                text.push('\n');
            }
        }
        text
    }
}

/// A name that a spreadsheet takes for a word: it reads a formula out of one that begins like one.
fn word(name: &str) -> String {
    match name.starts_with(['=', '+', '-', '@']) {
        true => format!("'{name}"),
        false => name.into(),
    }
}

#[cfg(test)]
mod tests {
    use crate::domain::Sync;
    use crate::grade::testing::{four, truth};
    use crate::grade::{Class, Student};

    #[test]
    fn results_read_back_cell_by_cell() {
        let key = [truth(four(), Sync::Full, &[3], &[], &["3"])];
        let sheet = b"capture,cylinders,confidence\nquiz-1,4,80%\n";
        let students = ["=ann, \"b\"", "bo"]
            .map(|name| Student::grade(name, name, sheet, &key, None, false))
            .to_vec();
        let class = Class::new(students, &key, None);
        let text = class.to_csv();
        let mut reader = csv::Reader::from_reader(text.as_bytes());
        let rows: Vec<csv::StringRecord> = reader.records().map(Result::unwrap).collect();
        assert_eq!(rows.len(), 2);
        let sentence = &class.students[0].graded[0].verdict.sentence;
        let expected = [
            "'=ann, \"b\"",
            "quiz-1",
            "4",
            "0.8",
            "3",
            "0",
            "neighbour after",
            "0",
            sentence,
        ];
        assert_eq!(rows[0].iter().collect::<Vec<_>>(), expected);
    }
}
