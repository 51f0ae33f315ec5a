//! The sections of the page.

use super::figures;
use super::table::{Row, Table, escape};
use super::words::meaning;
use crate::error::{Fault, Faults};
use crate::grade::report::{interval, percent};
use crate::grade::{Calibration, Class, Student, Summary, offset_label};
use std::collections::BTreeMap;

/// Below the title: who and what, what could not be read, and where to go.
pub fn head(class: &Class) -> String {
    let graded = class.students.iter().filter(|s| !s.is_refused()).count();
    let mut html = format!(
        "<p>{}, {} in the key, {} graded.</p>\n",
        plural(graded, "student"),
        plural(class.captures, "capture"),
        plural(class.summary.n, "call"),
    );
    let faults = class.faults();
    if !faults.is_empty() {
        let told: String = class
            .unread()
            .iter()
            .map(|sentence| format!("<p><strong>{}</strong></p>\n", escape(sentence)))
            .collect();
        let list: String = faults
            .iter()
            .map(|fault| format!("<li>{}</li>\n", escape(&fault.to_string())))
            .collect();
        html += &format!(
            "<section class=\"note\" id=\"unread\" aria-label=\"What could not be read\">\n\
             {told}<ul>\n{list}</ul>\n</section>\n"
        );
    }
    let mut links = vec![("glance", "At a glance"), ("students", "Students")];
    if class.summary.n > 0 {
        links.extend([
            ("verdicts", "Verdicts"),
            ("confidence", "Confidence"),
            ("places", "Places"),
            ("difficulty", "Difficulty"),
            ("captures", "Captures"),
        ]);
    }
    let links: String = links
        .iter()
        .map(|(id, text)| format!("<li><a href=\"#{id}\">{text}</a></li>\n"))
        .collect();
    html + &format!("<nav aria-label=\"Sections\">\n<ul>\n{links}</ul>\n</nav>\n")
}

/// The numbers of the class.
pub fn glance(class: &Class) -> String {
    let summary = &class.summary;
    let (Some(mean), Some(accuracy)) = (summary.mean, summary.accuracy) else {
        return section("glance", "At a glance", "<p>No calls were graded.</p>\n");
    };
    let mut rows = vec![
        [
            "Right".to_string(),
            percent(accuracy),
            format!(
                "{} of {}; 95 % interval {}",
                summary.right,
                summary.n,
                option(summary.accuracy_95, interval)
            ),
        ],
        [
            "Mean points".into(),
            format!("{mean:.2}"),
            "1 is all that the captures show".into(),
        ],
    ];
    if let Some(brier) = summary.brier {
        rows.push([
            "Brier score".into(),
            format!("{brier:.3}"),
            format!(
                "over {}; 0 is perfect, 0.25 is always saying 50 %",
                plural(summary.with_confidence, "call")
            ),
        ]);
    }
    if let (Some(said), Some(too_sure)) = (class.calibration.said, class.calibration.too_sure()) {
        rows.push(["Confidence".into(), percent(said), sureness(too_sure)]);
    }
    glance_table("The class as a whole", rows)
}

/// The section of what counts most: name, value and meaning of each.
pub fn glance_table(caption: &str, rows: impl IntoIterator<Item = [String; 3]>) -> String {
    let table = Table {
        caption: caption.into(),
        head: ["", "Value", "Meaning"],
        numbers: &[1],
        rows: rows.into_iter().map(Row::of).collect(),
    };
    section("glance", "At a glance", &table.html())
}

/// A row for each student.
pub fn students(class: &Class) -> String {
    let rows = class.students.iter().enumerate().map(|(i, s)| {
        let name = escape(&s.name);
        if s.is_refused() {
            let [mean, right, brier, sure] = ["-"; 4].map(String::from);
            return Row {
                cells: [name, mean, right, brier, sure],
                below: "The sheet could not be read.".into(),
            };
        }
        let slip = s
            .slip()
            .map(|(kind, n)| format!("Most often: {kind} ({n})"));
        Row {
            cells: [
                format!("<a href=\"#student-{}\">{name}</a>", i + 1),
                option(s.summary.mean, |mean| format!("{mean:.2}")),
                right_cell(s.summary.right, s.summary.n, s.summary.accuracy_95),
                option(s.summary.brier, |brier| format!("{brier:.3}")),
                option(s.calibration.too_sure(), signed_points),
            ],
            below: slip.unwrap_or_default(),
        }
    });
    let table = Table {
        caption: "Mean points, calls right with their 95 % interval, Brier score, by how many \
                  percentage points the stated confidence is above the share right, and the slip \
                  made most often"
            .into(),
        head: ["Student", "Points", "Right", "Brier", "Too sure by"],
        numbers: &[1, 2, 3, 4],
        rows: rows.collect(),
    };
    section("students", "Students", &table.html())
}

/// How often each kind of verdict was given.
pub fn verdicts(summary: &Summary) -> String {
    let n = summary.n as f64;
    let rows = summary.kinds.iter().map(|(kind, count)| {
        Row::of([
            kind.to_string(),
            count.to_string(),
            percent(*count as f64 / n),
            meaning(*kind).into(),
        ])
    });
    let table = Table {
        caption: "Verdicts of all calls, and what would have helped".into(),
        head: ["Verdict", "Calls", "Share", "Meaning"],
        numbers: &[1, 2],
        rows: rows.collect(),
    };
    section("verdicts", "Verdicts", &table.html())
}

/// Confidence against outcome.
pub fn confidence(calibration: &Calibration) -> Result<String, Faults> {
    if calibration.n == 0 {
        let nothing = "<p>No call states a confidence.</p>\n";
        return Ok(section("confidence", "Confidence", nothing));
    }
    let rows = calibration.bins.iter().filter(|b| b.n > 0).map(|bin| {
        let [from, to] = bin.from_to.map(|edge| 100.0 * edge);
        Row {
            cells: [
                format!("{from:.0} to {to:.0} %"),
                bin.n.to_string(),
                option(bin.said, percent),
                right_cell(bin.right, bin.n, bin.right_95),
            ],
            below: String::new(),
        }
    });
    let table = Table {
        caption: "Calls by stated confidence (without those that say unsure)".into(),
        head: ["Confidence", "Calls", "Said", "Right"],
        numbers: &[1, 2, 3],
        rows: rows.collect(),
    };
    let figure = figures::reliability(calibration)?;
    let body = format!("<div class=\"beside\">\n{figure}{}</div>\n", table.html());
    Ok(section("confidence", "Confidence against outcome", &body))
}

/// Calls by place in the firing order.
pub fn places(class: &Class) -> Result<String, Faults> {
    let places = &class.places;
    let title = "Places in the firing order";
    if places.n == 0 {
        let nothing = "<p>No call names one cylinder where the capture shows one.</p>\n";
        return Ok(section("places", title, nothing));
    }
    let table = offsets_table(places.n, &places.offsets);
    let body = format!(
        "<div class=\"beside\">\n{}{}{}</div>\n",
        figures::confusion(places)?,
        figures::offsets(&places.offsets)?,
        table
    );
    Ok(section("places", title, &body))
}

/// A row for each place beside the leaking cylinder.
pub fn offsets_table(n: usize, offsets: &BTreeMap<i64, usize>) -> String {
    let rows = offsets.iter().map(|(offset, count)| {
        Row::of([
            offset_label(*offset),
            count.to_string(),
            percent(*count as f64 / n as f64),
        ])
    });
    let table = Table {
        caption: "Calls of one cylinder, where the capture shows one".into(),
        head: ["Called cylinder fires", "Calls", "Share"],
        numbers: &[1, 2],
        rows: rows.collect(),
    };
    table.html()
}

/// Scores by what makes a capture hard.
pub fn difficulty(class: &Class) -> String {
    let title = "Difficulty";
    if class.factors.is_empty() {
        let nothing = "<p>The key does not tell how hard its captures are.</p>\n";
        return section("difficulty", title, nothing);
    }
    let rows = class.factors.iter().map(|factor| {
        let [low, middle, high] = factor.levels.each_ref().map(|level| match level.n {
            0 => "-".to_string(),
            n => format!(
                "{} of {n} ({:.0} %)",
                level.right,
                100.0 * level.right as f64 / n as f64
            ),
        });
        Row::of([factor.name.clone(), low, middle, high])
    });
    let table = Table {
        caption: "Calls right, by what makes a capture hard".into(),
        head: ["What makes it hard", "Low", "Middle", "High"],
        numbers: &[1, 2, 3],
        rows: rows.collect(),
    };
    section("difficulty", title, &table.html())
}

/// Captures, the one most got wrong first.
pub fn items(class: &Class) -> String {
    let rows = class.items.iter().map(|item| {
        Row::of([
            item.capture.clone(),
            item.expected.clone(),
            format!("{} of {}", item.right, item.n),
            format!("{:.2}", item.mean),
            option(item.slip, |(kind, n)| format!("{kind} ({n})")),
        ])
    });
    let table = Table {
        caption: "Captures, the one most got wrong first".into(),
        head: ["Capture", "Expected", "Right", "Points", "Slip"],
        numbers: &[2, 3],
        rows: rows.collect(),
    };
    section("captures", "Captures", &table.html())
}

/// One student's calls; a sentence stands below each that did not score in full.
pub fn student(number: usize, student: &Student) -> String {
    let rows = student.graded.iter().map(|one| {
        let call = one.call.as_ref();
        Row {
            below: match one.is_right() {
                true => String::new(),
                false => one.verdict.sentence.clone(),
            },
            ..Row::of([
                one.capture.clone(),
                call.map_or("-".into(), |c| c.cylinders.to_string()),
                option(call.and_then(|c| c.confidence), |p| {
                    format!("{:.0} %", 100.0 * p)
                }),
                one.expected.clone(),
                format!("{:.2}", one.verdict.points),
                one.verdict.kind.to_string(),
            ])
        }
    });
    let table = Table {
        caption: format!("Calls of {}", student.name),
        head: ["Capture", "Call", "Sure", "Expected", "Points", "Verdict"],
        numbers: &[2, 4],
        rows: rows.collect(),
    };
    let summary = &student.summary;
    let mut told = format!(
        "{} right, mean points {}",
        right(summary.right, summary.n, summary.accuracy_95),
        option(summary.mean, |mean| format!("{mean:.2}"))
    );
    if let Some(brier) = summary.brier {
        told += &format!(", Brier score {brier:.3}");
    }
    if let Some(too_sure) = student.calibration.too_sure() {
        told += &format!("; {}", sureness(too_sure));
    }
    let kinds: Vec<String> = summary
        .kinds
        .iter()
        .map(|(kind, n)| format!("{kind} {n}"))
        .collect();
    let body = format!(
        "<p>{}.</p>\n<p>Verdicts: {}.</p>\n{}{}",
        escape(&told),
        kinds.join(", "),
        unread(&student.faults),
        table.html()
    );
    let id = format!("student-{}", number + 1);
    section(&id, &escape(&student.name), &body)
}

/// What of one sheet could not be read.
fn unread(faults: &[Fault]) -> String {
    match faults.len() {
        0 => String::new(),
        n => format!(
            "<p class=\"note\">{} of this sheet could not be read; see the top of the page.</p>\n",
            plural(n, "cell")
        ),
    }
}

pub fn section(id: &str, title: &str, body: &str) -> String {
    format!(
        "<section id=\"{id}\" aria-labelledby=\"{id}-title\">\n\
         <h2 id=\"{id}-title\">{title}</h2>\n{body}</section>\n"
    )
}

/// `12 of 22 (34.7 to 73.1 %)`.
fn right(right: usize, n: usize, interval_95: Option<[f64; 2]>) -> String {
    format!("{right} of {n} ({})", option(interval_95, interval))
}

/// The same as a cell in whole per cent, the interval below the count where the page is narrow.
pub fn right_cell(right: usize, n: usize, interval_95: Option<[f64; 2]>) -> String {
    let whole = |[low, high]: [f64; 2]| format!("{:.0} to {:.0} %", 100.0 * low, 100.0 * high);
    let interval = option(interval_95, whole);
    format!("{right} of {n} <span class=\"interval\">({interval})</span>")
}

fn signed_points(share: f64) -> String {
    let text = format!("{:+.0}", 100.0 * share);
    text.replace('-', "\u{2212}")
}

fn sureness(too_sure: f64) -> String {
    let points = 100.0 * too_sure;
    match points {
        0.5.. => format!("surer than right by {points:.0} points"),
        ..=-0.5 => format!("more often right than said by {:.0} points", -points),
        _ => "as sure as right".into(),
    }
}

pub fn option<T>(value: Option<T>, text: impl Fn(T) -> String) -> String {
    value.map_or("-".into(), text)
}

pub fn plural(n: usize, noun: &str) -> String {
    match n {
        1 => format!("1 {noun}"),
        n => format!("{n} {noun}s"),
    }
}
