//! Figures of the page: drawn for light and dark, and told in words for those who cannot see them.

use crate::error::Faults;
use crate::grade::calibration::Calibration;
use crate::grade::firing_offset::offset_label;
use crate::html::{Writer, escaped};
use crate::plot::{Confusion, Drawing, Offsets, Reliability, Reliable, Theme, svg};
use std::collections::BTreeMap;

/// The reliability diagram.
pub fn reliability(html: &mut Writer, calibration: &Calibration) -> Result<(), Faults> {
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
    both(html, figure, &words, caption)
}

/// A confusion matrix of engines of so many cylinders: called places, a row for each leaking one.
pub fn confusion(html: &mut Writer, cylinders: usize, rows: &[Vec<usize>]) -> Result<(), Faults> {
    let figure = |theme| Confusion {
        title: format!("Engines of {cylinders} cylinders"),
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
    both(html, figure, &words, caption)
}

/// How many places beside the leaking cylinder the calls stand.
pub fn offsets(html: &mut Writer, offsets: &BTreeMap<i64, usize>) -> Result<(), Faults> {
    let figure = |theme| Offsets {
        title: "How far beside the leak".into(),
        counts: offsets.clone(),
        theme,
    };
    let told = offsets
        .iter()
        .map(|(offset, n)| format!("{}: {n}", offset_label(*offset)));
    let words = format!(
        "Bars of calls by place: {}.",
        told.collect::<Vec<_>>().join(", ")
    );
    let caption = "One place after the leaking cylinder is where a call lands when the lag is not allowed \
                   for.";
    both(html, figure, &words, caption)
}

/// A figure in both themes, of which the page's style shows one.
fn both<D: Drawing>(
    html: &mut Writer,
    figure: impl Fn(Theme) -> D,
    words: &str,
    caption: &str,
) -> Result<(), Faults> {
    html.raw("<figure>\n");
    for (theme, class) in [(Theme::Light, "for-light"), (Theme::Dark, "for-dark")] {
        let label = escaped(words);
        let head = format!("<svg class=\"{class}\" role=\"img\" aria-label=\"{label}\" ");
        // Inside of HTML the name space goes without saying.
        let svg = svg(&figure(theme))?.replacen("<svg ", &head, 1);
        html.raw(&svg.replacen(" xmlns=\"http://www.w3.org/2000/svg\"", "", 1));
    }
    html.element("figcaption", &[], caption).raw("</figure>\n");
    Ok(())
}
