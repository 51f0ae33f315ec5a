//! Reports: one HTML page that needs nothing else.
//!
//! [`html`] is a pure function of a class, [`scores_html`] of an analyzer's scores; the tables are those of the text
//! ([`crate::grade::tables`]). The page holds its style and its pictures, runs no script
//! and loads nothing (its own policy forbids it), so that it can be sent by mail, opened on a
//! telephone and printed. Every figure is there twice, for light and for dark, and the reader's
//! setting shows one; paper gets the light one.

mod figures;

use crate::error::{Fault, Faults};
use crate::grade::calibration::Calibration;
use crate::grade::class::{Class, Student};
use crate::grade::firing_offset::Offsets;
use crate::grade::tables;
use crate::grade::{Scores, Summary};
use crate::html::Writer;
use crate::table::{Table, plural};

/// The style of the page; its colours are those of the figures.
const STYLE: &str = include_str!("style.css");

/// Forbids whatever would be loaded or run.
const POLICY: &str = "default-src 'none'; style-src 'unsafe-inline'";

/// The small print.
const FOOT: &str = "Synthetic captures of invented vehicles, rendered and graded by waterjacket. \
    Before any of this is done on a car, the vehicle maker's procedure, local codes and licensed \
    practice come first.";

/// A page in the making.
#[derive(Default)]
struct Page {
    /// Ids and titles of the sections that links lead to.
    links: Vec<(&'static str, &'static str)>,
    body: Writer,
}

/// The report of a class as one self-contained HTML page.
///
/// # Errors
/// A figure that cannot be drawn, which is a defect of the program.
pub fn html(class: &Class) -> Result<String, Faults> {
    let mut page = Page::default();
    let graded = class.summary.n > 0;
    page.summary(&class.summary);
    let readable = || class.readable().enumerate();
    let links: Vec<String> = readable().map(|(i, _)| format!("#{}", id(i))).collect();
    page.section("students", "Students");
    page.body.table(&tables::students(class), &links);
    let refused = class.students.iter().filter(|student| student.is_refused());
    for student in refused {
        let text = format!("The sheet of {} could not be read.", student.name);
        page.body.paragraph(&text);
    }
    page.end();
    if graded {
        page.kinds(&class.summary);
        page.confidence(&tables::confidence(&class.calibration), &class.calibration)?;
        let matrices = &class.offsets.by_cylinders;
        page.offsets(&class.offsets, matrices.len() == 1)?;
        let title = "Right, by what makes a capture hard";
        page.strata(
            "difficulty",
            "Difficulty",
            &tables::strata(title, &class.strata),
        );
        page.section("captures", "Captures");
        page.body.table(&tables::items(class.items.iter()), &[]);
        page.end();
    }
    for (i, student) in readable() {
        page.student(&id(i), student);
    }
    let title = match &class.pack {
        Some(pack) => format!("Class report, pack {pack}"),
        None => "Class report".into(),
    };
    let lead = format!(
        "{}, {} in the key, {} graded.",
        plural(class.readable().count(), "student"),
        plural(class.captures, "capture"),
        plural(class.summary.n, "call"),
    );
    Ok(page.document(&title, &lead, &class.unread(), &class.faults()))
}

/// The report of an analyzer's scores as one self-contained HTML page.
///
/// # Errors
/// A figure that cannot be drawn, which is a defect of the program.
pub fn scores_html(scores: &Scores) -> Result<String, Faults> {
    let mut page = Page::default();
    page.summary(&scores.summary);
    if scores.summary.n > 0 {
        page.kinds(&scores.summary);
        let title = "Right, by what the capture is like";
        let strata = tables::strata(title, &scores.strata);
        page.strata("factors", "What captures are like", &strata);
        page.confidence(&tables::scored_confidence(scores), &scores.calibration)?;
        page.strata("lag", "Lag", &tables::lag(scores.lag.as_ref()));
        page.offsets(&scores.offsets, true)?;
        page.strata("answers", "Answers", &tables::answers(&scores.answers));
    }
    let captures = plural(scores.summary.n, "capture");
    let lead = format!("Calls of {}, {captures} in the key.", scores.calls);
    let faults = scores.faults.faults(&scores.calls);
    let unread = plural(scores.faults.count, "fault");
    let unread = format!("{unread}; what could be read is graded.");
    Ok(page.document("Analyzer report", &lead, &[unread], &faults))
}

/// The id of a student's section.
fn id(student: usize) -> String {
    format!("student-{}", student + 1)
}

impl Page {
    /// Opens a section that a link leads to.
    fn section(&mut self, id: &'static str, title: &'static str) {
        self.links.push((id, title));
        self.open(id, title);
    }

    fn open(&mut self, id: &str, title: &str) {
        let head = format!("{id}-title");
        self.body
            .open("section", &[("id", id), ("aria-labelledby", &head)]);
        self.body.raw("\n").element("h2", &[("id", &head)], title);
    }

    fn end(&mut self) {
        self.body.raw("</section>\n");
    }

    fn summary(&mut self, summary: &Summary) {
        self.section("glance", "At a glance");
        self.body
            .table(&tables::summary("All that was graded", summary), &[]);
        self.end();
    }

    fn kinds(&mut self, summary: &Summary) {
        self.section("verdicts", "Verdicts");
        self.body.table(&tables::kinds(summary), &[]);
        self.end();
    }

    fn confidence(&mut self, table: &Table, calibration: &Calibration) -> Result<(), Faults> {
        self.section("confidence", "Confidence");
        if table.rows.is_empty() {
            self.body.paragraph("No call states a confidence.");
        } else {
            self.body.raw("<div class=\"beside\">\n");
            figures::reliability(&mut self.body, calibration)?;
            self.body
                .raw("<div>\n")
                .table(table, &[])
                .raw("</div>\n</div>\n");
        }
        self.end();
        Ok(())
    }

    /// Calls by place in the firing order, with matrices if those tell.
    fn offsets(&mut self, offsets: &Offsets, matrices: bool) -> Result<(), Faults> {
        self.section("places", "Places in the firing order");
        if offsets.n == 0 {
            self.body
                .paragraph("No call names one cylinder where the capture shows one.");
        } else {
            self.body.raw("<div class=\"beside\">\n");
            for (cylinders, rows) in offsets.by_cylinders.iter().filter(|_| matrices) {
                figures::confusion(&mut self.body, *cylinders, rows)?;
            }
            figures::offsets(&mut self.body, &offsets.offsets)?;
            self.body
                .table(&tables::offsets(offsets), &[])
                .raw("</div>\n");
        }
        self.end();
        Ok(())
    }

    /// A section of one table, unless that has nothing to tell.
    fn strata(&mut self, id: &'static str, title: &'static str, table: &Table) {
        if !table.is_empty() {
            self.section(id, title);
            self.body.table(table, &[]);
            self.end();
        }
    }

    /// One student's calls; a sentence stands below each that did not score in full.
    fn student(&mut self, id: &str, student: &Student) {
        self.open(id, &student.name);
        if let Some(too_sure) = student.calibration.too_sure() {
            self.body.paragraph(&sureness(too_sure));
        }
        let all = format!("What the calls of {} add up to", student.name);
        self.body
            .table(&tables::summary(&all, &student.summary), &[]);
        if !student.faults.is_empty() {
            let cells = plural(student.faults.len(), "cell");
            let text = format!("{cells} of this sheet could not be read; see the top of the page.");
            self.body.element("p", &[("class", "note")], &text);
        }
        let title = format!("Calls of {}", student.name);
        self.body
            .table(&tables::calls(&title, &student.graded, false), &[]);
        self.end();
    }

    /// The page, with what could not be read above its sections.
    fn document(mut self, title: &str, lead: &str, unread: &[String], faults: &[Fault]) -> String {
        let mut html = Writer::default();
        html.raw("<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n");
        for (name, content) in [
            ("viewport", "width=device-width, initial-scale=1"),
            ("color-scheme", "light dark"),
        ] {
            html.open("meta", &[("name", name), ("content", content)])
                .raw("\n");
        }
        let policy = [
            ("http-equiv", "Content-Security-Policy"),
            ("content", POLICY),
        ];
        html.open("meta", &policy)
            .raw("\n")
            .element("title", &[], title);
        html.raw(&format!(
            "<style>\n{STYLE}</style>\n</head>\n<body>\n<header>\n"
        ));
        html.element("h1", &[], title).paragraph(lead);
        if !faults.is_empty() {
            let label = "What could not be read";
            html.open(
                "section",
                &[("class", "note"), ("id", "unread"), ("aria-label", label)],
            );
            for sentence in unread {
                html.raw("<p>")
                    .element("strong", &[], sentence)
                    .raw("</p>\n");
            }
            html.list(faults.iter().map(Fault::to_string))
                .raw("</section>\n");
        }
        html.raw("<nav aria-label=\"Sections\">\n<ul>\n");
        for (id, title) in &self.links {
            html.raw("<li>")
                .element("a", &[("href", &format!("#{id}"))], title)
                .raw("</li>\n");
        }
        html.raw("</ul>\n</nav>\n</header>\n<main>\n")
            .raw(&self.body.take());
        html.raw("</main>\n<footer>\n")
            .paragraph(FOOT)
            .raw("</footer>\n</body>\n</html>\n");
        html.take()
    }
}

/// How stated confidence and outcome of a student differ.
fn sureness(too_sure: f64) -> String {
    let points = 100.0 * too_sure;
    match points {
        0.5.. => format!("Surer than right by {points:.0} points."),
        ..=-0.5 => format!("More often right than said by {:.0} points.", -points),
        _ => "As sure as right.".into(),
    }
}
