//! The pages of a job: the captures so far, and after the call the same with the truth drawn in.

use super::folder::Folder;
use crate::debrief::{Units, probes};
use crate::domain::Call;
use crate::domain::{Capture, Truth};
use crate::error::Faults;
use crate::files::atomic;
use crate::grade::Verdict;
use crate::page::{Answer, Debrief, Judged, Page, Shown, html};
use crate::storage::open;
use std::path::PathBuf;

/// The student's page in the folder of a job.
const STUDENT: &str = "page.html";
/// The page of the debrief.
const DEBRIEF: &str = "debrief.html";

/// Writes the page of the captures so far, without the first ones where all are too large for a page;
/// `None` where the last alone is.
///
/// # Errors
/// A folder that cannot be written.
pub fn student(folder: &Folder) -> Result<Option<PathBuf>, Faults> {
    let names = folder.log.orders.iter().map(|entry| &entry.capture);
    let captures: Vec<Capture> = names
        .filter_map(|name| open(&folder.capture(name)).ok())
        .collect();
    for first in 0..captures.len() {
        let page = Page {
            title: folder.job.spec.title.clone(),
            answer: Answer::Job,
            units: Units::Metric,
            captures: captures[first..].iter().map(Shown::whole).collect(),
        };
        let written = write(folder, STUDENT, &page)?;
        if written.is_some() {
            return Ok(written);
        }
    }
    Ok(None)
}

/// Writes the debrief of a job's own captures, or leaves it out where they are too large for a page.
///
/// # Errors
/// A folder that cannot be written.
pub fn debrief(
    folder: &Folder,
    own: &[(Capture, Truth)],
    (called, verdict): (&Call, &Verdict),
    units: Units,
) -> Result<Option<PathBuf>, Faults> {
    let judged = Judged {
        call: called.to_string(),
        cylinders: called.named().into_iter().collect(),
        verdict: verdict.kind.to_string(),
        sentence: verdict.sentence.clone(),
    };
    let mut captures = Vec::new();
    for (opened, truth) in own {
        captures.push(Shown {
            debrief: Some(Debrief {
                truth: truth.clone(),
                probes: probes(truth, &opened.samples)?,
                verdict: Some(judged.clone()),
            }),
            ..Shown::whole(opened)
        });
    }
    let page = Page {
        title: format!("Debrief: {}", folder.job.spec.title),
        answer: Answer::Nothing,
        units,
        captures,
    };
    write(folder, DEBRIEF, &page)
}

fn write(folder: &Folder, name: &str, page: &Page) -> Result<Option<PathBuf>, Faults> {
    let Ok(text) = html(page) else {
        return Ok(None);
    };
    let file = folder.capture(name);
    atomic::write(&file, text)?;
    Ok(Some(file))
}
