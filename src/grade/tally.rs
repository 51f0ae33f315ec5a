//! A tally: graded captures summed up, one after the other.
//!
//! Accuracy is the share of calls that score in full, with Wilson's interval. The Brier score and the log loss
//! hold the stated confidence against what came of the call, 1 if it scored in full and 0 if not ([`statistics`]).
//! `unsure` claims nothing of the engine to be confident of, and readers differ on what a confidence
//! beside it means, so it is left out.
//!
//! [`statistics`]: super::statistics

use super::answers::Answers;
use super::calibration::{Bins, Calibration};
use super::firing_offset::Offsets;
use super::graded::Graded;
use super::kind::Kind;
use super::statistics::{log_loss, squared_error, wilson_95};
use super::strata::{Counting, Grouping, Strata};
use serde::Serialize;
use std::collections::BTreeMap;

/// Graded captures, summed up.
pub struct Tally {
    counts: Counts,
    /// How often each kind of verdict was given.
    pub kinds: BTreeMap<Kind, usize>,
    stated: Bins,
    squared_errors: f64,
    log_losses: f64,
    lag_errors_ms: Vec<f64>,
    strata: Counting<Counts>,
    /// What captures support against what was called.
    pub answers: Answers,
    /// Where calls of one cylinder stand in the firing order.
    pub offsets: Offsets,
}

/// Captures and what was right of them.
#[derive(Clone, Copy, Debug, Default)]
pub struct Counts {
    n: usize,
    right: usize,
    points: f64,
}

/// What counts come to.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct Shares {
    /// Number of captures.
    pub n: usize,
    /// Number of calls that scored in full.
    pub right: usize,
    /// Their share; `None` without captures.
    pub accuracy: Option<f64>,
    /// Wilson's 95 % interval of the share; `None` likewise.
    pub accuracy_95: Option<[f64; 2]>,
    /// Mean points, 0 to 1; `None` likewise.
    pub mean: Option<f64>,
}

impl Counts {
    /// Counts a capture.
    pub fn add(&mut self, points: f64) {
        self.n += 1;
        self.right += usize::from(points >= 1.0);
        self.points += points;
    }

    /// What they come to.
    pub fn shares(self) -> Shares {
        let Counts { n, right, points } = self;
        let over_n = |sum: f64| (n > 0).then(|| sum / n as f64);
        Shares {
            n,
            right,
            accuracy: over_n(right as f64),
            accuracy_95: wilson_95(right, n),
            mean: over_n(points),
        }
    }
}

/// Many verdicts, summed up.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Summary {
    /// Number of captures graded.
    pub n: usize,
    /// Sum of points.
    pub points: f64,
    /// Mean points, 0 to 1; `None` if nothing was graded.
    pub mean: Option<f64>,
    /// Number of calls that scored in full.
    pub right: usize,
    /// Share of calls that scored in full; `None` if nothing was graded.
    pub accuracy: Option<f64>,
    /// Wilson's 95 % interval of the accuracy, low and high.
    pub accuracy_95: Option<[f64; 2]>,
    /// Number of calls in the Brier score: those with a confidence, but for `unsure`.
    pub with_confidence: usize,
    /// Brier score in its binary form, 0 (perfect) to 1; `None` without such calls.
    pub brier: Option<f64>,
    /// How often each kind of verdict was given; kinds not given are left out.
    pub kinds: BTreeMap<Kind, usize>,
}

/// Stated lags less true ones.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct LagError {
    /// Number of calls with a lag, of captures with a pulse.
    pub n: usize,
    /// Mean error, ms: above 0, stated too long.
    pub bias_ms: f64,
    /// Root of the mean square error, ms.
    pub rms_ms: f64,
    /// Median of the error without its sign, ms.
    pub median_ms: f64,
    /// Nine in ten are off by no more, ms.
    pub ninetieth_ms: f64,
}

impl Tally {
    /// Nothing yet; confidences will be in so many bins, and captures in the strata of some groupings.
    pub fn new(bins: usize, by: &'static [Grouping]) -> Self {
        Tally {
            counts: Counts::default(),
            kinds: BTreeMap::new(),
            stated: Bins::new(bins),
            squared_errors: 0.0,
            log_losses: 0.0,
            lag_errors_ms: Vec::new(),
            strata: Counting::new(by),
            answers: Answers::default(),
            offsets: Offsets::default(),
        }
    }

    /// Adds a capture.
    pub fn add(&mut self, graded: &Graded) {
        let points = graded.verdict.points;
        self.counts.add(points);
        *self.kinds.entry(graded.verdict.kind).or_insert(0) += 1;
        self.strata.add(&graded.strata, |counts| counts.add(points));
        let call = graded.call.as_ref();
        if let Some(supported) = graded.supported {
            self.answers.add(call.map(|call| call.cylinders), supported);
        }
        if let Some((stated, right)) = graded.stated() {
            self.stated.add(stated, right);
            self.squared_errors += squared_error(stated, right);
            self.log_losses += log_loss(stated, right);
        }
        if let (Some(said), Some(due)) = (call.and_then(|call| call.lag_ms), graded.true_lag_ms) {
            self.lag_errors_ms.push(said - due);
        }
        if let Some(firing) = graded.firing {
            self.offsets.add(firing);
        }
    }

    /// All verdicts, summed up.
    pub fn summary(&self) -> Summary {
        let Shares {
            n,
            right,
            accuracy,
            accuracy_95,
            mean,
        } = self.counts.shares();
        Summary {
            n,
            points: self.counts.points,
            mean,
            right,
            accuracy,
            accuracy_95,
            with_confidence: self.stated.n(),
            brier: self.over_stated(self.squared_errors),
            kinds: self.kinds.clone(),
        }
    }

    /// Stated confidence against outcome.
    pub fn calibration(&self) -> Calibration {
        self.stated.calibration()
    }

    /// Mean log loss of stated confidences; `None` without any.
    pub fn log_loss(&self) -> Option<f64> {
        self.over_stated(self.log_losses)
    }

    fn over_stated(&self, sum: f64) -> Option<f64> {
        let n = self.stated.n();
        (n > 0).then(|| sum / n as f64)
    }

    /// How far stated lags are off; `None` without any.
    pub fn lag_error(&self) -> Option<LagError> {
        let errors = &self.lag_errors_ms;
        let n = errors.len();
        let mean = |sum: f64| sum / n as f64;
        let mut sizes: Vec<f64> = errors.iter().map(|e| e.abs()).collect();
        sizes.sort_by(f64::total_cmp);
        Some(LagError {
            n,
            bias_ms: mean(errors.iter().sum()),
            rms_ms: mean(errors.iter().map(|e| e * e).sum()).sqrt(),
            median_ms: *sizes.get(n / 2)?,
            ninetieth_ms: *sizes.get((n * 9 / 10).min(n.saturating_sub(1)))?,
        })
    }

    /// The scores of each stratum.
    pub fn strata(&self) -> Vec<Strata<Shares>> {
        self.strata.clone().finish(Counts::shares)
    }
}

/// Of verdicts that did not score in full, the one most often given, and how often.
pub fn slip(kinds: &BTreeMap<Kind, usize>) -> Option<(Kind, usize)> {
    let slips = kinds.iter().filter(|(kind, _)| !kind.is_right());
    // Of several that are equally frequent, the first of the kinds.
    slips
        .rev()
        .max_by_key(|(_, n)| **n)
        .map(|(kind, n)| (*kind, *n))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::{Entry, Sync};
    use crate::grade::testing::{call, four, truth};

    #[test]
    fn a_summary_adds_up() {
        let key = truth(four(), Sync::Full, &[3], &[], &["3"]);
        let sure = |cylinders: &str, p| Entry {
            confidence: Some(p),
            ..call(cylinders)
        };
        let mut tally = Tally::new(5, &[]);
        for call in [
            Some(sure("3", 0.9)),
            Some(sure("4", 0.5)),
            Some(sure("unsure", 0.1)),
            Some(call("3|4")),
            Some(call("3")),
            None,
        ] {
            tally.add(&Graded::of(call, &key, &[], true));
        }
        let summary = tally.summary();
        assert_eq!((summary.n, summary.right, summary.points), (6, 2, 2.75));
        assert_eq!(summary.mean, Some(2.75 / 6.0));
        assert_eq!(summary.accuracy, Some(2.0 / 6.0));
        assert_eq!(summary.accuracy_95, wilson_95(2, 6));
        // (0.1^2 + 0.5^2) / 2, by hand: unsure is left out.
        assert_eq!(summary.with_confidence, 2);
        assert!((summary.brier.unwrap() - 0.13).abs() < 1e-15);
        let kinds = [
            (Kind::Right, 2),
            (Kind::LessThanShown, 1),
            (Kind::UnsureThoughShown, 1),
            (Kind::NeighbourAfter, 1),
            (Kind::NoCall, 1),
        ];
        assert_eq!(summary.kinds, BTreeMap::from(kinds));
        // By the order of the kinds.
        assert_eq!(slip(&summary.kinds), Some((Kind::LessThanShown, 1)));
    }

    #[test]
    fn nothing_graded_is_no_number() {
        let tally = Tally::new(5, &[]);
        let summary = tally.summary();
        assert_eq!(
            (summary.mean, summary.accuracy, summary.accuracy_95),
            (None, None, None)
        );
        assert_eq!(
            (summary.brier, tally.log_loss(), tally.lag_error()),
            (None, None, None)
        );
    }
}
