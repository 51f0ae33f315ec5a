//! Figures of the page: drawn for light and dark, and told in words for those who cannot see them.

use super::table::escape;
use crate::error::Faults;
use crate::grade::{Calibration, Places, offset_label};
use crate::plot::{Confusion, Drawing, Offsets, Reliability, Reliable, Theme, svg};
use std::collections::BTreeMap;

/// The reliability diagram.
pub fn reliability(calibration: &Calibration) -> Result<String, Faults> {
    let points: Vec<Reliable> = calibration
        .bins
        .iter()
        .filter_map(|bin| {
            Some(Reliable {
                said: bin.said?,
                right: bin.right as f64 / bin.n as f64,
                interval: bin.right_95?,
                n: bin.n,
            })
        })
        .collect();
    let told: Vec<String> = points
        .iter()
        .map(|p| {
            let (said, right) = (100.0 * p.said, 100.0 * p.right);
            format!("{} calls said {said:.0} % and {right:.0} % were right", p.n)
        })
        .collect();
    let words = format!("Reliability diagram: {}.", told.join("; "));
    let figure = |theme| Reliability {
        title: "What was said, and what came of it".into(),
        points: points.clone(),
        theme,
    };
    let caption = "On the dashed line what is said comes true; below it, calls are surer than right. \
                   Bars are 95 % intervals.";
    both(figure, &words, caption)
}

/// The confusion matrix, where the engines of the key allow one.
pub fn confusion(places: &Places) -> Result<String, Faults> {
    match &places.matrix {
        Some(matrix) => matrix_figure("Called against leaking".into(), &matrix.rows),
        None => Ok(String::new()),
    }
}

/// A confusion matrix: called places, a row for each leaking one.
pub fn matrix_figure(title: String, rows: &[Vec<usize>]) -> Result<String, Faults> {
    let figure = |theme| Confusion {
        title: title.clone(),
        rows: rows.to_vec(),
        theme,
    };
    let right: usize = (0..rows.len()).map(|i| rows[i][i]).sum();
    let n: usize = rows.iter().flatten().sum();
    let words = format!(
        "Confusion matrix by place in the firing order: {right} of {n} calls stand on the diagonal."
    );
    let caption = "Places in the firing order, not cylinder numbers. The neighbour after the last place \
                   is the first one.";
    both(figure, &words, caption)
}

/// How many places beside the leaking cylinder the calls stand.
pub fn offsets(offsets: &BTreeMap<i64, usize>) -> Result<String, Faults> {
    let figure = |theme| Offsets {
        title: "How far beside the leak".into(),
        counts: offsets.clone(),
        theme,
    };
    let words = format!("Bars of calls by place: {}.", told(offsets));
    let caption = "One place after the leaking cylinder is where a call lands when the lag is not allowed \
                   for.";
    both(figure, &words, caption)
}

fn told(offsets: &BTreeMap<i64, usize>) -> String {
    let all: Vec<String> = offsets
        .iter()
        .map(|(offset, n)| format!("{}: {n}", offset_label(*offset)))
        .collect();
    all.join(", ")
}

/// A figure in both themes, of which the page's style shows one.
fn both<D: Drawing>(
    figure: impl Fn(Theme) -> D,
    words: &str,
    caption: &str,
) -> Result<String, Faults> {
    let one = |theme, class: &str| -> Result<String, Faults> {
        let svg = svg(&figure(theme))?;
        let head = format!(
            "<svg class=\"{class}\" role=\"img\" aria-label=\"{}\" ",
            escape(words)
        );
        // Inside of HTML the name space goes without saying.
        Ok(svg
            .replacen("<svg ", &head, 1)
            .replacen(" xmlns=\"http://www.w3.org/2000/svg\"", "", 1))
    };
    Ok(format!(
        "<figure>\n{}{}<figcaption>{}</figcaption>\n</figure>\n",
        one(Theme::Light, "for-light")?,
        one(Theme::Dark, "for-dark")?,
        escape(caption)
    ))
}
