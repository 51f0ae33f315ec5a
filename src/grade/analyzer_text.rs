//! An analyzer's scores as text.

use super::analyzer::{Breakdown, Scores};
use super::answers::FORMS;
use super::columns::{lines, numbers, words};
use super::factor::FACTORS;
use super::place::offset_label;
use super::report::{interval, percent, sum};

impl Scores {
    /// The scores as text of at most 100 columns, ending in a line feed.
    pub fn to_text(&self) -> String {
        let mut text = format!("{}\n\n{}", self.calls, sum(&self.summary));
        if self.summary.n == 0 {
            return text;
        }
        for (heading, table) in [
            (
                "Confidence against outcome (calls of unsure left out)",
                self.confidence(),
            ),
            ("Stated lag against the true one", self.lag_text()),
            ("Right, by what the capture is like", self.factors_text()),
            (
                "What captures support, and how they were called",
                self.answers_text(),
            ),
            (
                "Calls of one cylinder where one shows, by place in the firing order",
                self.places_text(),
            ),
        ] {
            if !table.is_empty() {
                text += &format!("\n{heading}\n\n{table}");
            }
        }
        text
    }

    fn confidence(&self) -> String {
        let (Some(log), Some(error)) = (self.log_score, self.calibration_error) else {
            return String::new();
        };
        let mut rows =
            vec![["confidence", "calls", "said", "right", "95 % interval"].map(String::from)];
        for bin in self.calibration.bins.iter().filter(|bin| bin.n > 0) {
            let [from, to] = bin.from_to.map(|edge| 100.0 * edge);
            rows.push([
                format!("{from:.0} to {to:.0} %"),
                bin.n.to_string(),
                bin.said.map_or(String::new(), percent),
                percent(bin.right as f64 / bin.n as f64),
                bin.right_95.map_or(String::new(), interval),
            ]);
        }
        let columns = [words(12), numbers(9), numbers(8), numbers(8), numbers(18)];
        format!(
            "expected calibration error {}\nlogarithmic score {log:.3} (0 is perfect, 0.69 is always saying 50 %)\n\n{}",
            percent(error),
            lines(columns, &rows).concat()
        )
    }

    fn lag_text(&self) -> String {
        self.lag.as_ref().map_or(String::new(), |lag| {
            format!(
                "{}: {:+.1} ms on the mean, root mean square {:.1} ms, half within {:.1} ms, nine in ten within {:.1} ms\n",
                calls(lag.n),
                lag.bias_ms,
                lag.rms_ms,
                lag.median_ms,
                lag.ninetieth_ms
            )
        })
    }

    fn factors_text(&self) -> String {
        let mut rows =
            vec![["", "", "captures", "right", "accuracy", "95 % interval"].map(String::from)];
        for Breakdown { factor, levels } in &self.factors {
            let meaning = FACTORS
                .iter()
                .find(|f| f.name == *factor)
                .map_or("", |f| f.meaning);
            for (i, level) in levels.iter().enumerate() {
                rows.push([
                    if i == 0 {
                        meaning.into()
                    } else {
                        String::new()
                    },
                    level.level.clone(),
                    level.n.to_string(),
                    level.right.to_string(),
                    percent(level.accuracy),
                    level.accuracy_95.map_or(String::new(), interval),
                ]);
            }
        }
        let columns = [
            words(24),
            words(20),
            numbers(9),
            numbers(9),
            numbers(8),
            numbers(18),
        ];
        lines(columns, &rows).concat()
    }

    fn answers_text(&self) -> String {
        let called = FORMS.map(String::from);
        let head: [String; FORMS.len() + 1] = std::array::from_fn(|i| {
            if i == 0 {
                "supports".into()
            } else {
                called[i - 1].clone()
            }
        });
        let mut rows = vec![head];
        for (form, counts) in FORMS.iter().zip(&self.answers.rows) {
            if counts.iter().any(|n| *n > 0) {
                rows.push(std::array::from_fn(|i| match i {
                    0 => form.to_string(),
                    i => counts[i - 1].to_string(),
                }));
            }
        }
        let columns = std::array::from_fn(|i| if i == 0 { words(14) } else { numbers(14) });
        lines(columns, &rows).concat()
    }

    fn places_text(&self) -> String {
        let places = &self.places;
        if places.n == 0 {
            return String::new();
        }
        let mut rows = vec![["called cylinder fires", "calls", "share"].map(String::from)];
        rows.extend(places.offsets.iter().map(|(offset, n)| {
            let share = percent(*n as f64 / places.n as f64);
            [offset_label(*offset), n.to_string(), share]
        }));
        lines([words(22), numbers(9), numbers(8)], &rows).concat()
    }
}

fn calls(n: usize) -> String {
    match n {
        1 => "1 call".into(),
        n => format!("{n} calls"),
    }
}
