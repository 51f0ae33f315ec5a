//! What grading tells, in tables, and those as text.

use super::analyzer::Scores;
use super::answers::{Answers, FORMS};
use super::calibration::Calibration;
use super::class::{Class, Item, Student};
use super::firing_offset::{Offsets, offset_label};
use super::graded::Graded;
use super::paired::{Comparison, Paired};
use super::strata::Strata;
use super::tally::{LagError, Shares, Summary};
use crate::table::{Column, Table, interval, numbers, option, percent, plural, words};

/// Captures listed in text among those most got wrong.
const MOST_ITEMS: usize = 10;

/// Columns of what strata are of and of the strata.
const fn of_strata(meaning: usize, stratum: usize) -> [Column; 2] {
    let grouped = Column {
        grouped: true,
        ..words("", meaning)
    };
    [grouped, words("", stratum)]
}

/// Graded captures, with a sentence below each, or below those alone that did not score in full.
pub fn calls(title: &str, graded: &[Graded], all_sentences: bool) -> Table {
    // Widest that still leaves room for the verdict.
    let columns = [
        words("capture", 32),
        words("call", 14),
        numbers("sure", 0),
        words("expected", 18),
        numbers("points", 6),
        words("verdict", 22),
    ];
    let mut table = Table::new(title, columns);
    for one in graded {
        let call = one.call.as_ref();
        let row = table.row([
            one.capture.clone(),
            option(call, |call| call.cylinders.to_string()),
            option(call.and_then(|call| call.confidence), |p| {
                format!("{:.0} %", 100.0 * p)
            }),
            one.expected.clone(),
            format!("{:.2}", one.verdict.points),
            one.verdict.kind.to_string(),
        ]);
        if all_sentences || !one.is_right() {
            row.below.clone_from(&one.verdict.sentence);
        }
    }
    table
}

/// The numbers of a summary.
pub fn summary(title: &str, summary: &Summary) -> Table {
    let mut table = Table::new(title, [words("", usize::MAX), words("", usize::MAX)]);
    let (Some(mean), Some(accuracy), Some([low, high])) =
        (summary.mean, summary.accuracy, summary.accuracy_95)
    else {
        table.notes.push("no calls graded".into());
        return table;
    };
    let [accuracy, low, high] = [accuracy, low, high].map(percent);
    let right = summary.right;
    let mut row = |name: &str, value: String| {
        table.row([name.to_string(), value]);
    };
    row("captures", summary.n.to_string());
    row("points", format!("{:.2}, mean {mean:.2}", summary.points));
    row(
        "right",
        format!("{right}, accuracy {accuracy} (95 % interval {low} to {high})"),
    );
    if let Some(brier) = summary.brier {
        let calls = plural(summary.with_confidence, "call");
        let meaning = "0 is perfect, 0.25 is always saying 50 %";
        row(
            "Brier score",
            format!("{brier:.3} over {calls} ({meaning})"),
        );
    }
    table
}

/// How often each kind of verdict was given, and what would have helped.
pub fn kinds(summary: &Summary) -> Table {
    let columns = [
        words("verdict", 22),
        numbers("calls", 9),
        numbers("share", 8),
        words("meaning", 0),
    ];
    Table::new("Verdicts of all calls, and what would have helped", columns).with(
        summary.kinds.iter().map(|(kind, n)| {
            let share = percent(*n as f64 / summary.n as f64);
            [
                kind.to_string(),
                n.to_string(),
                share,
                kind.meaning().into(),
            ]
        }),
    )
}

/// Stated confidence against outcome, bin by bin.
pub fn confidence(calibration: &Calibration) -> Table {
    let columns = [
        words("confidence", 12),
        numbers("calls", 9),
        numbers("said", 8),
        numbers("right", 8),
        numbers("95 % interval", 18),
    ];
    let bins = calibration.bins.iter().filter(|bin| bin.n > 0);
    let title = "Confidence against outcome (calls of unsure left out)";
    Table::new(title, columns).with(bins.map(|bin| {
        let [from, to] = bin.from_to.map(|edge| 100.0 * edge);
        [
            format!("{from:.0} to {to:.0} %"),
            bin.n.to_string(),
            option(bin.said, percent),
            percent(bin.right as f64 / bin.n as f64),
            option(bin.right_95, interval),
        ]
    }))
}

/// The same of an analyzer's many calls.
pub fn scored_confidence(scores: &Scores) -> Table {
    let mut table = confidence(&scores.calibration);
    if let (Some(loss), Some(error)) = (scores.log_loss, scores.calibration_error) {
        table.notes = vec![
            format!("expected calibration error {}", percent(error)),
            format!("log loss {loss:.3} (0 is perfect, 0.69 is always saying 50 %)"),
        ];
    }
    table
}

/// Stated lags against true ones.
pub fn lag(lag: Option<&LagError>) -> Table {
    let mut table = Table::new("Stated lag against the true one", []);
    table.notes.extend(lag.map(|lag| {
        format!(
            "{}: {:+.1} ms on the mean, root mean square {:.1} ms, half within {:.1} ms, nine in ten within {:.1} ms",
            plural(lag.n, "call"),
            lag.bias_ms,
            lag.rms_ms,
            lag.median_ms,
            lag.ninetieth_ms
        )
    }));
    table
}

/// Scores by what captures have in common.
pub fn strata(title: &str, all: &[Strata<Shares>]) -> Table {
    let [meaning, stratum] = of_strata(25, 20);
    let columns = [
        meaning,
        stratum,
        numbers("captures", 9),
        numbers("right", 9),
        numbers("accuracy", 8),
        numbers("95 % interval", 18),
        numbers("points", 0),
    ];
    let rows = all.iter().flat_map(|by| {
        by.strata.iter().map(|stratum| {
            let shares = &stratum.of;
            [
                by.meaning.to_string(),
                stratum.name.clone(),
                shares.n.to_string(),
                shares.right.to_string(),
                option(shares.accuracy, percent),
                option(shares.accuracy_95, interval),
                option(shares.mean, |mean| format!("{mean:.2}")),
            ]
        })
    });
    Table::new(title, columns).with(rows)
}

/// What captures support, down, and how they were called, across.
pub fn answers(answers: &Answers) -> Table {
    let across = FORMS.map(|form| numbers(form, 14));
    let columns = [&[words("supports", 14)][..], &across].concat();
    let rows = FORMS.iter().zip(&answers.rows);
    let rows = rows.filter(|(_, counts)| counts.iter().any(|n| *n > 0));
    Table::new("What captures support, and how they were called", columns).with(rows.map(
        |(form, counts)| -> Vec<String> {
            let counts = counts.iter().map(usize::to_string);
            [form.to_string()].into_iter().chain(counts).collect()
        },
    ))
}

/// Calls by place in the firing order.
pub fn offsets(offsets: &Offsets) -> Table {
    let columns = [
        words("called cylinder fires", 22),
        numbers("calls", 9),
        numbers("share", 8),
    ];
    let title = "Calls of one cylinder where one shows, by place in the firing order";
    Table::new(title, columns).with(offsets.offsets.iter().map(|(offset, n)| {
        let share = percent(*n as f64 / offsets.n as f64);
        [offset_label(*offset), n.to_string(), share]
    }))
}

/// The students whose sheets could be read, and below each the slip made most often.
pub fn students(class: &Class) -> Table {
    let columns = [
        words("student", 36),
        numbers("calls", 5),
        numbers("mean", 4),
        numbers("right", 8),
        numbers("95 % interval", 18),
        numbers("Brier", 5),
        numbers("said", 8),
    ];
    let mut table = Table::new("Students, and the slip that each made most often", columns);
    for student in class.readable() {
        let summary = &student.summary;
        let row = table.row([
            student.name.clone(),
            summary.n.to_string(),
            option(summary.mean, |mean| format!("{mean:.2}")),
            option(summary.accuracy, percent),
            option(summary.accuracy_95, interval),
            option(summary.brier, |brier| format!("{brier:.3}")),
            option(student.calibration.said, percent),
        ]);
        if let Some((kind, n)) = student.slip() {
            row.below = format!("most often {kind} ({n})");
        }
    }
    table
}

/// Captures and what a class made of them.
pub fn items<'i>(items: impl Iterator<Item = &'i Item>) -> Table {
    let columns = [
        words("capture", 36),
        words("expected", 18),
        numbers("right", 12),
        numbers("points", 0),
        words("slip most often", 28),
    ];
    Table::new("Captures, the one most got wrong first", columns).with(items.map(|item| {
        [
            item.capture.clone(),
            item.expected.clone(),
            format!("{} of {}", item.right, item.n),
            format!("{:.2}", item.mean),
            option(item.slip, |(kind, n)| format!("{kind} ({n})")),
        ]
    }))
}

/// Tables below one another, but for those with nothing to tell.
fn text(tables: impl IntoIterator<Item = Table>) -> String {
    let told = tables.into_iter().filter(|table| !table.is_empty());
    told.map(|table| table.text())
        .collect::<Vec<_>>()
        .join("\n")
}

/// A summary with its kinds of verdicts, to stand in text.
fn sum(all: &Summary) -> Table {
    let kinds = all.kinds.iter();
    summary("", all).with(kinds.map(|(kind, n)| [format!("  {kind}"), n.to_string()]))
}

impl Student {
    /// The student's calls and what they add up to, as text.
    pub fn to_text(&self) -> String {
        text([calls("", &self.graded, true), sum(&self.summary)])
    }
}

impl Class {
    /// The class as text of at most 100 columns, ending in a line feed. A single sheet is told
    /// without the class.
    pub fn to_text(&self) -> String {
        let mut parts: Vec<String> = self.readable().map(Student::to_text).collect();
        if self.students.len() > 1 {
            for (part, student) in parts.iter_mut().zip(self.readable()) {
                *part = format!("{} ({})\n\n{part}", student.name, student.sheet);
            }
            parts.push(self.class_text());
        } else if parts.is_empty() {
            parts.push(sum(&self.summary).text());
        }
        let unread = self.unread();
        if !unread.is_empty() {
            parts.push(unread.join("\n") + "\n");
        }
        parts.join("\n")
    }

    fn class_text(&self) -> String {
        let pack = self
            .pack
            .as_ref()
            .map_or(String::new(), |pack| format!(", pack {pack}"));
        let (n, captures) = (self.readable().count(), self.captures);
        let students = Table {
            title: format!("The class: {n} students, {captures} captures{pack}"),
            ..students(self)
        };
        let wrong = self.items.iter().filter(|item| item.right < item.n);
        text([
            students,
            sum(&self.summary),
            confidence(&self.calibration),
            offsets(&self.offsets),
            strata("Right, by what makes a capture hard", &self.strata),
            items(wrong.take(MOST_ITEMS)),
        ])
    }
}

impl Scores {
    /// The scores as text of at most 100 columns, ending in a line feed.
    pub fn to_text(&self) -> String {
        let sum = Table {
            title: self.calls.clone(),
            ..sum(&self.summary)
        };
        text([
            sum,
            scored_confidence(self),
            lag(self.lag.as_ref()),
            strata("Right, by what the capture is like", &self.strata),
            answers(&self.answers),
            offsets(&self.offsets),
        ])
    }
}

impl Comparison {
    /// The comparison as text of at most 100 columns, ending in a line feed.
    pub fn to_text(&self) -> String {
        let all = &self.all;
        let accuracies = all.accuracies().unwrap_or_default();
        let mut text = format!(
            "old  {}  accuracy {}\nnew  {}  accuracy {}\n\n{} captures in both: {} right in both, {} newly right, \
             {} newly wrong, {} wrong in both\ndifference {} points (95 % interval {}), exact McNemar p {}\n",
            self.old,
            percent(accuracies[0]),
            self.new,
            percent(accuracies[1]),
            all.n,
            all.both_right,
            all.only_new_right,
            all.only_old_right,
            all.both_wrong,
            points(all.difference),
            between(all),
            match probability(all.p_value) {
                p if p.starts_with('<') => p,
                p => format!("= {p}"),
            },
        );
        for (n, file) in [(self.only_in_old, &self.old), (self.only_in_new, &self.new)] {
            if n > 0 {
                text += &format!("{n} captures stand in {file} alone and are left out\n");
            }
        }
        text += &format!("\n{}", self.strata_table().text());
        if !self.newly_wrong.is_empty() {
            let more = all.only_old_right - self.newly_wrong.len();
            let names = self.newly_wrong.join("\n  ");
            text += &format!("\nNewly wrong\n\n  {names}\n");
            if more > 0 {
                text += &format!("  and {more} more\n");
            }
        }
        if self.regressions.is_empty() {
            text + "\nNo regression.\n"
        } else {
            text + &format!("\nRegressions\n\n  {}\n", self.regressions.join("\n  "))
        }
    }

    fn strata_table(&self) -> Table {
        let [meaning, stratum] = of_strata(21, 17);
        let share = |head| Column {
            unit: "%",
            ..numbers(head, 5)
        };
        let columns = [
            meaning,
            stratum,
            numbers("captures", 8),
            share("old"),
            share("new"),
            numbers("points", 6),
            numbers("95 % interval", 15),
            words("p", 9),
        ];
        let rows = self.strata.iter().flat_map(|by| {
            by.strata.iter().map(|stratum| {
                let compared = &stratum.of;
                let paired = &compared.paired;
                let mark = if compared.regression { " !" } else { "" };
                let bare = |share: f64| format!("{:.1}", 100.0 * share);
                let [old, new] = paired.accuracies().unwrap_or_default().map(bare);
                [
                    by.meaning.to_string(),
                    stratum.name.clone(),
                    paired.n.to_string(),
                    old,
                    new,
                    points(paired.difference),
                    between(paired),
                    format!("{}{mark}", probability(compared.p_adjusted)),
                ]
            })
        });
        let asked = self.asked();
        let title =
            format!("By what the captures are like (p adjusted by Holm for {asked} questions)");
        Table::new(title, columns).with(rows)
    }
}

fn points(share: Option<f64>) -> String {
    share.map_or(String::new(), |share| format!("{:+.1}", 100.0 * share))
}

fn between(paired: &Paired) -> String {
    paired.difference_95.map_or(String::new(), |[low, high]| {
        format!("{:+.1} to {:+.1}", 100.0 * low, 100.0 * high)
    })
}

fn probability(p: f64) -> String {
    if p < 0.001 {
        "< 0.001".into()
    } else {
        format!("{p:.3}")
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::{Entry, Sync, Truth};
    use crate::grade::class::{ClassGrading, graded};
    use crate::grade::testing::{call, four, truth};

    fn student(key: &Truth, calls: &[Entry]) -> Student {
        let mut grading = ClassGrading::default();
        grading.add("ann", "ann.csv", calls, vec![], true);
        grading.grade(key);
        let uncalled = Truth {
            capture: "quiz-2".into(),
            ..key.clone()
        };
        grading.grade(&uncalled);
        grading.finish(None).students.remove(0)
    }

    #[test]
    fn calls_read_as_a_table() {
        let key = truth(four(), Sync::Full, &[3], &[], &["3"]);
        let sure = Entry {
            confidence: Some(0.9),
            ..call("4")
        };
        insta::assert_snapshot!(student(&key, &[sure]).to_text(), @"");
    }

    #[test]
    fn nothing_graded_says_so() {
        let class = ClassGrading::default().finish(None);
        assert_eq!(class.to_text(), "no calls graded\n");
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
        let named = |cylinders| Entry {
            capture: key.capture.clone(),
            ..call(cylinders)
        };
        let (mut all, _) = graded("a", &[named("1+2+3+4")], [&key]);
        all[0].verdict.sentence = format!("A {} z.", "ß".repeat(250));
        all[0].verdict.kind = super::super::Kind::UnsureThoughShown;
        all[0].call = Some(named("1+2+3+4+5+6+7+8+9"));
        let text = calls("", &all, true).text();
        let widest = text.lines().map(|line| line.chars().count()).max();
        assert_eq!(widest, Some(100), "{text}");
        assert!(text.contains("1+2+3+4+5+6+7…"), "{text}");
    }
}
