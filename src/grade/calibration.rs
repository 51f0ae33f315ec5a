//! Calibration: whether those who say "80 %" are right in four calls of five.
//!
//! The calls are those of the Brier score ([`super::statistics`]): with a confidence, but for `unsure`.
//! They are put into five bins of stated confidence. What is compared in a bin is the mean of what
//! was said with the share that was right; the share has Wilson's interval, since a bin of one
//! student holds few calls.

use super::score::Graded;
use super::statistics::wilson_95;
use serde::{Deserialize, Serialize};

/// Number of bins; each holds its lower bound, the last its upper one too.
const BINS: usize = 5;

/// How stated confidence and outcome agree.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Calibration {
    /// Number of calls with a confidence.
    pub n: usize,
    /// Mean stated confidence, 0 to 1; `None` without such calls.
    pub said: Option<f64>,
    /// Share of these calls that scored in full; `None` likewise.
    pub right: Option<f64>,
    /// Five bins of confidence, ascending, empty ones too.
    pub bins: Vec<Bin>,
}

/// Calls of like confidence.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Bin {
    /// Lower and upper bound of the confidence, 0 to 1.
    pub from_to: [f64; 2],
    /// Number of calls.
    pub n: usize,
    /// Number of calls that scored in full.
    pub right: usize,
    /// Mean stated confidence; `None` for an empty bin.
    pub said: Option<f64>,
    /// Wilson's 95 % interval of the share that was right; `None` for an empty bin.
    pub right_95: Option<[f64; 2]>,
}

impl Calibration {
    /// The calibration of graded calls.
    pub fn of<'g>(graded: impl IntoIterator<Item = &'g Graded>) -> Self {
        let mut stated: [Vec<(f64, bool)>; BINS] = Default::default();
        for (said, right) in graded.into_iter().filter_map(Graded::stated) {
            let bin = (said * BINS as f64).floor() as usize;
            stated[bin.min(BINS - 1)].push((said, right));
        }
        let all: Vec<(f64, bool)> = stated.iter().flatten().copied().collect();
        let bins = stated.iter().enumerate().map(|(i, calls)| {
            let right = calls.iter().filter(|(_, right)| *right).count();
            Bin {
                from_to: [i, i + 1].map(|edge| edge as f64 / BINS as f64),
                n: calls.len(),
                right,
                said: mean(calls.iter().map(|(said, _)| *said)),
                right_95: wilson_95(right, calls.len()),
            }
        });
        Calibration {
            n: all.len(),
            said: mean(all.iter().map(|(said, _)| *said)),
            right: mean(all.iter().map(|(_, right)| f64::from(u8::from(*right)))),
            bins: bins.collect(),
        }
    }

    /// Mean confidence less the share that was right, -1 to 1: above 0, too sure.
    pub fn too_sure(&self) -> Option<f64> {
        Some(self.said? - self.right?)
    }
}

fn mean(values: impl ExactSizeIterator<Item = f64>) -> Option<f64> {
    let n = values.len();
    (n > 0).then(|| values.sum::<f64>() / n as f64)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::capture::Sync;
    use crate::grade::testing::{call, four, truth};
    use crate::grade::{Call, Graded};

    #[test]
    fn calls_of_like_confidence_are_compared_with_what_came_of_them() {
        let key = truth(four(), Sync::Full, &[3], &[], &["3"]);
        let graded: Vec<Graded> = [
            ("3", Some(0.9)),
            ("4", Some(1.0)),
            ("3", Some(0.8)),
            ("4", Some(0.2)),
            ("unsure", Some(0.9)),
            ("3", None),
        ]
        .into_iter()
        .map(|(cylinders, confidence)| {
            let call = call(cylinders);
            Graded::new(Call { confidence, ..call }, &key)
        })
        .collect();
        let calibration = Calibration::of(&graded);
        assert_eq!((calibration.n, calibration.right), (4, Some(0.5)));
        assert!((calibration.said.unwrap() - 0.725).abs() < 1e-15);
        assert!((calibration.too_sure().unwrap() - 0.225).abs() < 1e-15);
        let counts: Vec<_> = calibration.bins.iter().map(|b| (b.n, b.right)).collect();
        assert_eq!(counts, [(0, 0), (1, 0), (0, 0), (0, 0), (3, 2)]);
        assert!((calibration.bins[4].said.unwrap() - 0.9).abs() < 1e-15);
        assert_eq!(calibration.bins[4].right_95, wilson_95(2, 3));
        assert_eq!(calibration.bins[0].right_95, None);
    }

    #[test]
    fn nothing_said_is_no_number() {
        let calibration = Calibration::of(&[]);
        assert_eq!((calibration.said, calibration.too_sure()), (None, None));
    }
}
