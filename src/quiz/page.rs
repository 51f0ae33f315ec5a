//! The two pages of a pack: the class looks, measures and calls in one, the key debriefs in the other.

use super::draw::Item;
use super::pack::Pack;
use crate::debrief::{Units, probes};
use crate::domain::Capture;
use crate::error::Faults;
use crate::files::atomic;
use crate::page::{Answer, Debrief, Page, Shown, check_size, html};
use std::path::Path;

/// Whether the captures fit into one page.
pub fn fits(items: &[Item]) -> bool {
    let cards = items.iter().map(|item| &item.rendered.capture.card);
    check_size(cards.map(|c| (c.capture.as_str(), c.frames, c.channels.len()))).is_ok()
}

/// Writes the class's page, which knows what cards and WAVs know.
pub fn student(pack: &Pack, opened: &[&Capture], units: Units, file: &Path) -> Result<(), Faults> {
    let page = Page {
        title: pack.title.clone(),
        answer: Answer::Sheet {
            pack: Some(pack.id.clone()),
        },
        units,
        captures: opened.iter().map(|c| Shown::whole(c)).collect(),
    };
    atomic::write(file, html(&page)?)
}

/// Writes the key's page, with truths and probes; `tick` may stop the work. Probes may be too much for
/// a page that holds the captures; they are left out then.
pub fn key(
    pack: &Pack,
    items: &[Item],
    opened: &[&Capture],
    units: Units,
    file: &Path,
    tick: &mut dyn FnMut() -> Result<(), Faults>,
) -> Result<(), Faults> {
    let mut captures = Vec::new();
    for (item, capture) in items.iter().zip(opened) {
        tick()?;
        let truth = &item.rendered.truth;
        captures.push(Shown {
            debrief: Some(Debrief {
                truth: truth.clone(),
                probes: probes(truth, &capture.samples)?,
                verdict: None,
            }),
            ..Shown::whole(capture)
        });
    }
    let mut page = Page {
        title: format!("Debrief: {}", pack.title),
        answer: Answer::Nothing,
        units,
        captures,
    };
    let text = html(&page).or_else(|_| {
        let debriefs = page.captures.iter_mut().filter_map(|c| c.debrief.as_mut());
        debriefs.for_each(|debrief| debrief.probes.clear());
        html(&page)
    })?;
    atomic::write(file, text)
}
