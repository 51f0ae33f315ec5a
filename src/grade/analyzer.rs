//! An analyzer's scores: its calls graded against a key of any length.
//!
//! A capture of the key without a call is a call not made, at no points, so that an
//! analyzer gains nothing by passing over what is hard.

use super::answers::Answers;
use super::calibration::Calibration;
use super::fault_sample::FaultSample;
use super::firing_offset::Offsets;
use super::graded::Graded;
use super::grader::Grader;
use super::strata::{BY_CAPTURE, Strata};
use super::tally::{LagError, Shares, Summary, Tally};
use crate::domain::Truth;
use crate::error::Faults;
use crate::formats::Lines;
use serde::Serialize;
use std::io::BufRead;

/// What the format line of scores says.
pub const SCORES_FORMAT: &str = "waterjacket scores 1";

/// Bins of stated confidence.
const BINS: usize = 10;

/// What an analyzer's calls add up to; serialised, the `--json` of grading.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Scores {
    /// Name and version of this format, [`SCORES_FORMAT`].
    pub format: &'static str,
    /// The file of the calls.
    pub calls: String,
    /// What all captures of the key add up to.
    pub summary: Summary,
    /// Stated confidence against outcome, in ten bins.
    pub calibration: Calibration,
    /// Mean log loss of stated confidences, 0 (perfect) to 6.9; `None` without any.
    #[serde(rename = "log_score")]
    pub log_loss: Option<f64>,
    /// Expected calibration error over the ten bins, 0 (perfect) to 1; `None` likewise.
    pub calibration_error: Option<f64>,
    /// How far stated lags are off; `None` if no call that states one is of a capture with a pulse.
    pub lag: Option<LagError>,
    /// Scores by what captures are like.
    #[serde(rename = "factors")]
    pub strata: Vec<Strata<Shares>>,
    /// What captures support against what was called.
    pub answers: Answers,
    /// Where calls of one cylinder stand in the firing order, where one is supported.
    #[serde(rename = "places")]
    pub offsets: Offsets,
    /// What could not be read or graded.
    pub faults: FaultSample,
}

/// A grading in progress.
pub struct Grading {
    grader: Grader,
    tally: Tally,
}

impl Grading {
    /// Reads the calls, CSV or JSON Lines by the file's name.
    ///
    /// # Errors
    /// If the file cannot be read, its header is not one, or there is no call in it; faults of lines are kept
    /// for the scores.
    pub fn begin(lines: Lines<impl BufRead>) -> Result<Grading, Faults> {
        Ok(Grading {
            grader: Grader::analyzer(lines)?,
            tally: Tally::new(BINS, &BY_CAPTURE),
        })
    }

    /// Grades the call of a capture, or counts that there is none; `None` if nothing can be graded.
    pub fn grade(&mut self, truth: &Truth) -> Option<Graded> {
        let (_, graded) = self.grader.grade(truth)?;
        self.tally.add(&graded);
        Some(graded)
    }

    /// What it all adds up to.
    pub fn finish(self) -> Scores {
        let Grading { grader, tally } = self;
        let calibration = tally.calibration();
        Scores {
            format: SCORES_FORMAT,
            calls: grader.file().into(),
            summary: tally.summary(),
            log_loss: tally.log_loss(),
            calibration_error: calibration.expected_error(),
            calibration,
            lag: tally.lag_error(),
            strata: tally.strata(),
            answers: tally.answers,
            offsets: tally.offsets,
            faults: grader.finish(|capture| capture.strip_suffix(".wav").map(String::from)),
        }
    }
}

#[cfg(test)]
mod tests;
