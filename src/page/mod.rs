//! The capture page: one HTML file in which captures are looked at, zoomed, measured and called.
//!
//! [`html`] is a pure function of the captures. The page holds its script, its style and its samples,
//! and loads nothing: its own policy forbids it, but for the script and the style whose digests it
//! names. So it works from a USB stick and without a network.
//!
//! What a student's page knows is what WAV and card know. A debrief page has a [`Debrief`] for each
//! capture besides. The browser's side lies in `web/`: plain ES modules, a noun each, which
//! `assemble` joins into one script; `samples` packs what they unpack.

mod assemble;
mod data;
mod samples;

use crate::debrief::Units;
use crate::domain::{Capture, ChannelCard, Truth};
use crate::error::{Fault, Faults};

pub use samples::{MOST_SAMPLES, unpack};

/// All that one page shows.
#[derive(Clone, Debug)]
pub struct Page<'a> {
    /// Stands above everything.
    pub title: String,
    /// What becomes of a call.
    pub answer: Answer,
    /// Units in which words are told and pressures first shown.
    pub units: Units,
    /// The captures, in their order; at least one.
    pub captures: Vec<Shown<'a>>,
}

/// What becomes of a call made in the page.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Answer {
    /// A call sheet is saved, which names the pack if there is one.
    Sheet {
        /// Id of the pack.
        pack: Option<String>,
    },
    /// The call is one for the whole vehicle, made on the command line.
    Job,
    /// Nothing is asked: the page is a debrief.
    Nothing,
}

/// One capture of a page.
#[derive(Clone, Debug)]
pub struct Shown<'a> {
    /// Card and samples.
    pub capture: &'a Capture,
    /// The part that is shown, first frame and the one after the last.
    pub frames: [usize; 2],
    /// The truth, on the instructor's side only.
    pub debrief: Option<Debrief>,
}

impl<'a> Shown<'a> {
    /// A whole capture, as a student sees it.
    pub fn whole(capture: &'a Capture) -> Self {
        Shown {
            capture,
            frames: [0, capture.frames()],
            debrief: None,
        }
    }
}

/// What only the instructor's side knows of a capture.
#[derive(Clone, Debug)]
pub struct Debrief {
    /// The truth.
    pub truth: Truth,
    /// Truth probes, each as long as the capture.
    pub probes: Vec<(ChannelCard, Vec<i16>)>,
    /// What a call was worth, if there was one.
    pub verdict: Option<Judged>,
}

/// A call and what it was worth.
#[derive(Clone, Debug, PartialEq)]
pub struct Judged {
    /// The call as it was written.
    pub call: String,
    /// Cylinders that the call names.
    pub cylinders: Vec<u32>,
    /// Points, and what kind of error it was.
    pub verdict: String,
    /// The physics of it.
    pub sentence: String,
}

/// The page as one self-contained HTML document.
///
/// # Errors
/// No captures, or more samples than [`MOST_SAMPLES`].
pub fn html(page: &Page) -> Result<String, Faults> {
    if page.captures.is_empty() {
        let remedy = "give it at least one";
        return Err(Fault::new("page", "it holds no captures", remedy).into());
    }
    check_size(page.captures.iter().map(|shown| {
        let channels = shown.capture.card.channels.len()
            + shown.debrief.as_ref().map_or(0, |d| d.probes.len());
        let frames = shown.frames[1] - shown.frames[0];
        (shown.capture.name(), frames as u64, channels)
    }))?;
    Ok(assemble::document(page))
}

/// Refuses more samples than one page can hold: name, frames and channels of each capture are asked.
///
/// # Errors
/// More than [`MOST_SAMPLES`] in all; the fault says how many, of which the largest capture has most.
pub fn check_size<'a>(
    captures: impl IntoIterator<Item = (&'a str, u64, usize)>,
) -> Result<(), Faults> {
    let mut total = 0u64;
    let mut largest = ("", 0u64);
    let mut count = 0;
    for (name, frames, channels) in captures {
        let samples = frames.saturating_mul(channels as u64);
        total = total.saturating_add(samples);
        count += 1;
        if samples > largest.1 {
            largest = (name, samples);
        }
    }
    if total <= MOST_SAMPLES {
        return Ok(());
    }
    let captures = match count {
        1 => "1 capture".to_string(),
        n => format!("{n} captures"),
    };
    let million = |samples: u64| samples as f64 / 1e6;
    Err(Fault::new(
        "page",
        format!(
            "{captures} with {:.1} million samples in all, the largest ({}) with {:.1} million; \
             a page holds {:.1} million, or it grows too slow for a telephone",
            million(total),
            largest.0,
            million(largest.1),
            million(MOST_SAMPLES)
        ),
        "give it fewer captures, a part of them (--from, --to), or render them at a lower sample rate",
    )
    .into())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_limit_counts_all_captures_together() {
        let half = MOST_SAMPLES / 8;
        assert_eq!(check_size([("a", half, 4), ("b", half, 4)]), Ok(()));
        let faults = check_size([("a", half, 4), ("b", half + 1, 4)]).unwrap_err();
        let text = faults.to_string();
        assert!(
            text.contains("2 captures") && text.contains("(b)"),
            "{text}"
        );
        assert!(check_size([("a", u64::MAX, 9)]).is_err());
    }
}
