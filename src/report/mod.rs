//! Reports: one HTML page that needs nothing else.
//!
//! [`html`] is a pure function of a class, [`scores_html`] of an analyzer's scores. The page holds its style and its pictures, runs no script
//! and loads nothing (its own policy forbids it), so that it can be sent by mail, opened on a
//! telephone and printed. Every figure is there twice, for light and for dark, and the reader's
//! setting shows one; paper gets the light one.

mod figures;
mod parts;
mod scores;
mod table;
mod words;

use crate::error::Faults;
use crate::grade::{Class, Scores};
use table::escape;

/// The style of the page; its colours are those of the figures.
const STYLE: &str = include_str!("style.css");

/// Forbids whatever would be loaded or run.
const POLICY: &str = "default-src 'none'; style-src 'unsafe-inline'";

/// The report of a class as one self-contained HTML page.
///
/// # Errors
/// A figure that cannot be drawn, which is a defect of the program.
pub fn html(class: &Class) -> Result<String, Faults> {
    let title = match &class.pack {
        Some(pack) => format!("Class report, pack {}", escape(pack)),
        None => "Class report".into(),
    };
    let mut sections = vec![parts::glance(class), parts::students(class)];
    if class.summary.n > 0 {
        sections.push(parts::verdicts(&class.summary));
        sections.push(parts::confidence(&class.calibration)?);
        sections.push(parts::places(class)?);
        sections.push(parts::difficulty(class));
        sections.push(parts::items(class));
    }
    let graded = class.students.iter().enumerate();
    sections.extend(
        graded
            .filter(|(_, student)| !student.is_refused())
            .map(|(i, student)| parts::student(i, student)),
    );
    Ok(page(&title, &parts::head(class), &sections.concat()))
}

/// The report of an analyzer's scores as one self-contained HTML page.
///
/// # Errors
/// A figure that cannot be drawn, which is a defect of the program.
pub fn scores_html(scores: &Scores) -> Result<String, Faults> {
    let mut sections = vec![scores::glance(scores)];
    if scores.summary.n > 0 {
        sections.push(parts::verdicts(&scores.summary));
        sections.push(scores::factors(scores));
        sections.push(parts::confidence(&scores.calibration)?);
        sections.push(scores::places(scores)?);
        sections.push(scores::answers(scores));
    }
    Ok(page(
        "Analyzer report",
        &scores::head(scores),
        &sections.concat(),
    ))
}

fn page(title: &str, head: &str, sections: &str) -> String {
    format!(
        "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n\
         <meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n\
         <meta http-equiv=\"Content-Security-Policy\" content=\"{POLICY}\">\n\
         <meta name=\"color-scheme\" content=\"light dark\">\n\
         <title>{title}</title>\n<style>\n{STYLE}</style>\n</head>\n<body>\n<header>\n\
         <h1>{title}</h1>\n{head}</header>\n<main>\n{sections}</main>\n<footer>\n<p>{}</p>\n</footer>\n\
         </body>\n</html>\n",
        words::FOOT,
    )
}
