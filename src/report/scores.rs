//! The sections of an analyzer's report that a class has not.

use super::figures;
use super::parts::{glance_table, offsets_table, option, plural, right_cell, section};
use super::table::{Row, Table, escape};
use crate::error::Faults;
use crate::grade::Scores;
use crate::grade::answers::FORMS;
use crate::grade::factor::FACTORS;
use crate::grade::report::{interval, percent};

/// Below the title: what was graded, what could not be, and where to go.
pub fn head(scores: &Scores) -> String {
    let mut html = format!(
        "<p>Calls of {}, {} in the key.</p>\n",
        escape(&scores.calls),
        plural(scores.summary.n, "capture"),
    );
    let faults = scores.faults.faults(&scores.calls);
    if !faults.is_empty() {
        let list: String = faults
            .iter()
            .map(|fault| format!("<li>{}</li>\n", escape(&fault.to_string())))
            .collect();
        html += &format!(
            "<section class=\"note\" id=\"unread\" aria-label=\"What could not be read\">\n\
             <p><strong>{}; what could be read is graded.</strong></p>\n\
             <ul>\n{list}</ul>\n</section>\n",
            plural(scores.faults.count, "fault")
        );
    }
    let links: String = [
        ("glance", "At a glance"),
        ("verdicts", "Verdicts"),
        ("factors", "What captures are like"),
        ("confidence", "Confidence"),
        ("places", "Places"),
        ("answers", "Answers"),
    ]
    .iter()
    .filter(|(id, _)| scores.summary.n > 0 || *id == "glance")
    .map(|(id, text)| format!("<li><a href=\"#{id}\">{text}</a></li>\n"))
    .collect();
    html + &format!("<nav aria-label=\"Sections\">\n<ul>\n{links}</ul>\n</nav>\n")
}

/// The numbers over all captures.
pub fn glance(scores: &Scores) -> String {
    let summary = &scores.summary;
    let (Some(mean), Some(accuracy)) = (summary.mean, summary.accuracy) else {
        return section("glance", "At a glance", "<p>No captures were graded.</p>\n");
    };
    let within = option(summary.accuracy_95, interval);
    let mut rows = vec![
        [
            "Right".to_string(),
            percent(accuracy),
            format!("{} of {}; 95 % interval {within}", summary.right, summary.n),
        ],
        [
            "Mean points".into(),
            format!("{mean:.3}"),
            "1 is all that the captures show".into(),
        ],
    ];
    if let (Some(brier), Some(log), Some(error)) =
        (summary.brier, scores.log_score, scores.calibration_error)
    {
        let calls = plural(summary.with_confidence, "call");
        rows.extend([
            [
                "Brier score".into(),
                format!("{brier:.3}"),
                format!("over {calls}; 0 is perfect, 0.25 is always saying 50 %"),
            ],
            [
                "Logarithmic score".into(),
                format!("{log:.3}"),
                "0 is perfect, 0.69 is always saying 50 %".into(),
            ],
            [
                "Calibration error".into(),
                percent(error),
                "expected over ten bins of confidence; 0 is perfect".into(),
            ],
        ]);
    }
    if let Some(lag) = &scores.lag {
        rows.push([
            "Lag error".into(),
            format!("{:.1} ms", lag.median_ms),
            format!(
                "half of {} within it; nine in ten within {:.1} ms; {:+.1} ms on the mean",
                plural(lag.n, "call"),
                lag.ninetieth_ms,
                lag.bias_ms
            ),
        ]);
    }
    glance_table(
        "All captures of the key; one that was not called counts as wrong",
        rows,
    )
}

/// Scores by what captures are like.
pub fn factors(scores: &Scores) -> String {
    let tables = scores.factors.iter().map(|breakdown| {
        let known = FACTORS.iter().find(|f| f.name == breakdown.factor);
        let rows = breakdown.levels.iter().map(|level| Row {
            cells: [
                escape(&level.level),
                right_cell(level.right, level.n, level.accuracy_95),
                percent(level.accuracy),
                format!("{:.2}", level.mean),
            ],
            below: String::new(),
        });
        Table {
            caption: format!("By {}", known.map_or("", |f| f.meaning)),
            head: ["Level", "Right", "Accuracy", "Points"],
            numbers: &[1, 2, 3],
            rows: rows.collect(),
        }
        .html()
    });
    section(
        "factors",
        "What captures are like",
        &tables.collect::<String>(),
    )
}

/// Calls by place in the firing order.
pub fn places(scores: &Scores) -> Result<String, Faults> {
    let places = &scores.places;
    let title = "Places in the firing order";
    if places.n == 0 {
        let nothing = "<p>No call names one cylinder where the capture shows one.</p>\n";
        return Ok(section("places", title, nothing));
    }
    let mut body = figures::offsets(&places.offsets)? + &offsets_table(places.n, &places.offsets);
    for (cylinders, rows) in &places.by_cylinders {
        body += &figures::matrix_figure(format!("Engines of {cylinders} cylinders"), rows)?;
    }
    Ok(section(
        "places",
        title,
        &format!("<div class=\"beside\">\n{body}</div>\n"),
    ))
}

/// What captures support against what was called.
pub fn answers(scores: &Scores) -> String {
    let counted = FORMS.iter().zip(&scores.answers.rows);
    let rows = counted
        .filter(|(_, counts)| counts.iter().any(|n| *n > 0))
        .map(|(form, counts)| {
            Row::of(std::array::from_fn(|i| match i {
                0 => form.to_string(),
                i => counts[i - 1].to_string(),
            }))
        });
    let table = Table {
        caption: "What captures support, down, and how they were called, across".into(),
        head: std::array::from_fn::<_, { FORMS.len() + 1 }, _>(|i| match i {
            0 => "Supports",
            i => FORMS[i - 1],
        }),
        numbers: &[1, 2, 3, 4, 5, 6],
        rows: rows.collect(),
    };
    section(
        "answers",
        "What captures support, and how they were called",
        &table.html(),
    )
}
