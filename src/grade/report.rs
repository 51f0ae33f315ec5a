//! Reports: graded calls as a table a person reads, or as data a program reads.

use super::columns::{lines, numbers, words};
use super::score::{Graded, Summary};
use crate::prose::wrap;
use serde::{Deserialize, Serialize};

/// Columns of text that a line may fill.
const WIDTH: usize = 100;

/// Indent of the sentence below its call.
const INDENT: &str = "    ";

/// Graded calls and their sum; serialised, the `--json` of grading.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Report {
    /// Every graded capture.
    pub graded: Vec<Graded>,
    /// What they add up to.
    pub summary: Summary,
}

impl Report {
    /// A report of graded captures, in the order given.
    pub fn new(graded: Vec<Graded>) -> Self {
        Report {
            summary: Summary::of(&graded),
            graded,
        }
    }

    /// The report as text of at most 100 columns, ending in a line feed.
    pub fn to_text(&self) -> String {
        text(&self.graded, &self.summary)
    }
}

/// The table of some graded captures, and their sum below it.
pub(super) fn text(graded: &[Graded], summary: &Summary) -> String {
    let mut text = table(graded);
    if !text.is_empty() {
        text.push('\n');
    }
    text + &sum(summary)
}

/// One row for each graded capture, its sentence below it; nothing for no captures.
pub fn table(graded: &[Graded]) -> String {
    let header = ["capture", "call", "expected", "points", "verdict"].map(String::from);
    let rows: Vec<[String; 5]> = graded
        .iter()
        .map(|g| {
            let call = g
                .call
                .as_ref()
                .map_or("-".into(), |c| c.cylinders.to_string());
            let points = format!("{:.2}", g.verdict.points);
            [
                g.capture.clone(),
                call,
                g.expected.clone(),
                points,
                g.verdict.kind.to_string(),
            ]
        })
        .collect();
    if rows.is_empty() {
        return String::new();
    }
    // Widest that still leaves room for the verdict; what is longer is cut.
    let columns = [words(32), words(14), words(18), numbers(6), words(22)];
    let rows: Vec<[String; 5]> = [header].into_iter().chain(rows).collect();
    let mut lines = lines(columns, &rows).into_iter();
    let mut text = lines.next().unwrap_or_default();
    for (line, one) in lines.zip(graded) {
        text += &line;
        text += &wrap(&one.verdict.sentence, WIDTH, INDENT, INDENT);
    }
    text
}

/// A share as `34.7 %`.
pub fn percent(share: f64) -> String {
    format!("{:.1} %", 100.0 * share)
}

/// An interval of shares as `34.7 to 73.1 %`.
pub fn interval([low, high]: [f64; 2]) -> String {
    format!("{:.1} to {:.1} %", 100.0 * low, 100.0 * high)
}

/// The summary, a line for each number and each kind of verdict.
pub fn sum(summary: &Summary) -> String {
    let (Some(mean), Some(accuracy), Some([low, high])) =
        (summary.mean, summary.accuracy, summary.accuracy_95)
    else {
        return "no calls graded\n".into();
    };
    let mut lines = vec![
        ("captures".to_string(), summary.n.to_string()),
        (
            "points".into(),
            format!("{:.2}, mean {mean:.2}", summary.points),
        ),
        (
            "right".into(),
            format!(
                "{}, accuracy {} (95 % interval {} to {})",
                summary.right,
                percent(accuracy),
                percent(low),
                percent(high)
            ),
        ),
    ];
    if let Some(brier) = summary.brier {
        let calls = match summary.with_confidence {
            1 => "1 call".to_string(),
            n => format!("{n} calls"),
        };
        let meaning = "0 is perfect, 0.25 is always saying 50 %";
        lines.push((
            "Brier score".into(),
            format!("{brier:.3} over {calls} ({meaning})"),
        ));
    }
    let kinds = summary
        .kinds
        .iter()
        .map(|(kind, n)| (format!("  {kind}"), n.to_string()));
    lines.extend(kinds);
    let width = lines
        .iter()
        .map(|(name, _)| name.chars().count())
        .max()
        .unwrap_or(0);
    lines
        .iter()
        .map(|(name, value)| format!("{name:<width$}  {value}\n"))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::Sync;
    use crate::grade::Entry;
    use crate::grade::testing::{call, four, truth};

    #[test]
    fn a_report_reads_as_a_table() {
        let key = truth(four(), Sync::Full, &[3], &[], &["3"]);
        let sure = Entry {
            confidence: Some(0.9),
            ..call("3")
        };
        let report = Report::new(vec![
            Graded::new(sure, &key),
            Graded::new(call("4"), &key),
            Graded::uncalled(&key),
        ]);
        insta::assert_snapshot!(report.to_text(), @r##"
        capture  call  expected  points  verdict
        quiz-1   3     3           1.00  right
            The pulses of cylinder 3 rise 20 ms (21 crank degrees) after its compression TDC, before
            cylinder 4 reaches its own 180 degrees later, so that stepping back by the lag leads to cylinder
            3.
        quiz-1   4     3           0.00  neighbour after
            The pulses of cylinder 3 rise 20 ms (21 crank degrees) after its compression TDC; cylinder 4
            does not compress until 180 degrees after cylinder 3, and no pulse comes before the compression
            that drives it.
        quiz-1   -     3           0.00  no call
            The capture was not called.

        captures           3
        points             1.00, mean 0.33
        right              1, accuracy 33.3 % (95 % interval 6.1 % to 79.2 %)
        Brier score        0.010 over 1 call (0 is perfect, 0.25 is always saying 50 %)
          right            1
          neighbour after  1
          no call          1
        "##);
    }

    #[test]
    fn nothing_graded_says_so() {
        assert_eq!(Report::new(vec![]).to_text(), "no calls graded\n");
    }

    #[test]
    fn no_line_is_wider_than_the_page() {
        let mut key = truth(
            four(),
            Sync::Full,
            &[1, 2, 3, 4],
            &[],
            &["1+2+3+4", "unsure"],
        );
        key.capture = "ö".repeat(300);
        let mut long = Graded::new(call("1+2+3+4+5+6+7+8+9"), &key);
        long.verdict.sentence = format!("A {} z.", "ß".repeat(250));
        let all = [long, Graded::new(call("unsure"), &key)];
        let text = Report::new(all.to_vec()).to_text();
        let widest = text.lines().map(|line| line.chars().count()).max();
        assert_eq!(widest, Some(WIDTH), "{text}");
        assert!(text.contains("1+2+3+4+5+6+7…"), "{text}");
    }

    #[test]
    fn a_report_survives_json() {
        let key = truth(four(), Sync::Pair, &[3], &[], &["2|3"]);
        let report = Report::new(vec![Graded::new(call("3"), &key), Graded::uncalled(&key)]);
        let json = serde_json::to_string(&report).unwrap();
        assert!(
            json.contains(r#""kinds":{"more_than_shown":1,"no_call":1}"#),
            "{json}"
        );
        assert_eq!(serde_json::from_str::<Report>(&json).unwrap(), report);
    }
}
