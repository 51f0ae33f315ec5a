//! A class as text: a report for each student, then the class.

use super::class::Class;
use super::columns::{Column, lines, numbers, words};
use super::place::offset_label;
use super::report::{self, interval, percent};

/// Captures listed among those most got wrong.
const ITEMS: usize = 10;

impl Class {
    /// The class as text of at most 100 columns, ending in a line feed. A single sheet is told
    /// without the class.
    pub fn to_text(&self) -> String {
        let mut parts = Vec::new();
        let several = self.students.len() > 1;
        for student in self.students.iter().filter(|s| !s.is_refused()) {
            let heading = match several {
                true => format!("{} ({})\n\n", student.name, student.sheet),
                false => String::new(),
            };
            parts.push(heading + &report::text(&student.graded, &student.summary));
        }
        if several {
            parts.push(self.class_text());
        } else if parts.is_empty() {
            parts.push(report::sum(&self.summary));
        }
        let unread: String = self.unread().iter().map(|s| format!("{s}\n")).collect();
        if !unread.is_empty() {
            parts.push(unread);
        }
        parts.join("\n")
    }

    fn class_text(&self) -> String {
        let pack = match &self.pack {
            Some(pack) => format!(", pack {pack}"),
            None => String::new(),
        };
        let n = self.students.iter().filter(|s| !s.is_refused()).count();
        let mut text = format!(
            "The class: {n} students, {} captures{pack}\n\n{}\n{}",
            self.captures,
            self.students_text(),
            report::sum(&self.summary),
        );
        for (heading, table) in [
            ("Confidence against outcome", self.calibration_text()),
            (
                "Calls of one cylinder where one shows, by place in the firing order",
                self.places_text(),
            ),
            (
                "Right, by what makes a capture hard",
                self.difficulty_text(),
            ),
            ("Most got wrong", self.items_text()),
        ] {
            if !table.is_empty() {
                text += &format!("\n{heading}\n\n{table}");
            }
        }
        text
    }

    fn students_text(&self) -> String {
        let head = [
            "student",
            "calls",
            "mean",
            "right",
            "Brier",
            "said",
            "slip most often",
        ];
        let rows = self.students.iter().filter(|s| !s.is_refused()).map(|s| {
            [
                s.name.clone(),
                s.summary.n.to_string(),
                option(s.summary.mean, |mean| format!("{mean:.2}")),
                share(s.summary.right, s.summary.n, s.summary.accuracy_95),
                option(s.summary.brier, |brier| format!("{brier:.3}")),
                option(s.calibration.said, percent),
                option(s.slip(), |(kind, n)| format!("{kind} ({n})")),
            ]
        });
        let columns = [
            words(22),
            numbers(5),
            numbers(4),
            numbers(27),
            numbers(5),
            numbers(7),
            words(26),
        ];
        table(columns, head, rows)
    }

    fn calibration_text(&self) -> String {
        let bins = self.calibration.bins.iter().filter(|bin| bin.n > 0);
        let rows = bins.map(|bin| {
            let [from, to] = bin.from_to.map(|edge| 100.0 * edge);
            [
                format!("{from:.0} to {to:.0} %"),
                bin.n.to_string(),
                option(bin.said, percent),
                share(bin.right, bin.n, bin.right_95),
            ]
        });
        if self.calibration.n == 0 {
            return String::new();
        }
        let columns = [words(14), numbers(5), numbers(7), numbers(27)];
        table(columns, ["confidence", "calls", "said", "right"], rows)
    }

    fn places_text(&self) -> String {
        if self.places.n == 0 {
            return String::new();
        }
        let rows = self.places.offsets.iter().map(|(offset, n)| {
            let note = match offset {
                1 => "as when the lag is not allowed for",
                _ => "",
            };
            [offset_label(*offset), n.to_string(), note.into()]
        });
        let columns = [words(16), numbers(5), words(40)];
        table(columns, ["called", "calls", ""], rows)
    }

    fn difficulty_text(&self) -> String {
        let rows = self.factors.iter().map(|factor| {
            let [low, middle, high] = factor.levels.each_ref().map(|level| match level.n {
                0 => "-".to_string(),
                n => format!("{} of {n}", level.right),
            });
            [factor.name.clone(), low, middle, high]
        });
        if self.factors.is_empty() {
            return String::new();
        }
        let columns = [words(28), numbers(12), numbers(12), numbers(12)];
        table(columns, ["", "low", "middle", "high"], rows)
    }

    fn items_text(&self) -> String {
        let wrong = self.items.iter().filter(|item| item.right < item.n);
        let rows: Vec<_> = wrong
            .take(ITEMS)
            .map(|item| {
                [
                    item.capture.clone(),
                    item.expected.clone(),
                    format!("{} of {}", item.right, item.n),
                    option(item.slip, |(kind, n)| format!("{kind} ({n})")),
                ]
            })
            .collect();
        if rows.is_empty() {
            return String::new();
        }
        let columns = [words(36), words(18), numbers(12), words(28)];
        let head = ["capture", "expected", "right", "slip most often"];
        table(columns, head, rows.into_iter())
    }
}

/// `12 of 22, 34.7 to 73.1 %`: how many were right, and Wilson's interval.
fn share(right: usize, n: usize, interval_95: Option<[f64; 2]>) -> String {
    let interval = option(interval_95, interval);
    format!("{right} of {n}, {interval}")
}

fn option<T>(value: Option<T>, text: impl Fn(T) -> String) -> String {
    value.map_or("-".into(), text)
}

fn table<const N: usize>(
    columns: [Column; N],
    head: [&str; N],
    rows: impl Iterator<Item = [String; N]>,
) -> String {
    let all: Vec<[String; N]> = [head.map(String::from)].into_iter().chain(rows).collect();
    lines(columns, &all).concat()
}
