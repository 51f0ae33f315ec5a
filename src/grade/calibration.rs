//! Calibration: whether those who say "80 %" are right in four calls of five.
//!
//! The calls are those of the Brier score ([`super::statistics`]): with a confidence, but for `unsure`.
//! They are put into five bins of stated confidence, ten for an analyzer's many calls; each holds its lower bound, the last
//! its upper one too. What is compared in a bin is the mean of what
//! was said with the share that was right; the share has Wilson's interval, since a bin of one
//! student holds few calls.

use super::statistics::wilson_95;
use serde::Serialize;

/// How stated confidence and outcome agree.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Calibration {
    /// Number of calls with a confidence.
    pub n: usize,
    /// Mean stated confidence, 0 to 1; `None` without such calls.
    pub said: Option<f64>,
    /// Share of these calls that scored in full; `None` likewise.
    pub right: Option<f64>,
    /// Bins of equal width, ascending, empty ones too; five for students.
    pub bins: Vec<Bin>,
}

/// Calls of like confidence.
#[derive(Clone, Debug, PartialEq, Serialize)]
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

/// Calls by stated confidence, counted one at a time.
#[derive(Clone, Debug)]
pub struct Bins {
    bins: Vec<Counted>,
}

#[derive(Clone, Copy, Debug, Default)]
struct Counted {
    n: usize,
    right: usize,
    /// Sum of what was said.
    said: f64,
}

impl Bins {
    /// Nothing counted yet, in so many bins of equal width.
    pub fn new(bins: usize) -> Self {
        Bins {
            bins: vec![Counted::default(); bins],
        }
    }

    /// Counts a call that stated `said`, 0 to 1.
    pub fn add(&mut self, said: f64, right: bool) {
        let last = self.bins.len() - 1;
        let bin = (said * self.bins.len() as f64).floor() as usize;
        let bin = &mut self.bins[bin.min(last)];
        bin.n += 1;
        bin.right += usize::from(right);
        bin.said += said;
    }

    /// Number of calls that were counted.
    pub fn n(&self) -> usize {
        self.bins.iter().map(|bin| bin.n).sum()
    }

    /// The calibration of what was counted.
    pub fn calibration(&self) -> Calibration {
        let n = self.n();
        let said: f64 = self.bins.iter().map(|bin| bin.said).sum();
        let right: usize = self.bins.iter().map(|bin| bin.right).sum();
        let mean = |sum: f64, n: usize| (n > 0).then(|| sum / n as f64);
        let width = self.bins.len() as f64;
        let bins = self.bins.iter().enumerate().map(|(i, bin)| Bin {
            from_to: [i, i + 1].map(|edge| edge as f64 / width),
            n: bin.n,
            right: bin.right,
            said: mean(bin.said, bin.n),
            right_95: wilson_95(bin.right, bin.n),
        });
        Calibration {
            n,
            said: mean(said, n),
            right: mean(right as f64, n),
            bins: bins.collect(),
        }
    }
}

impl Calibration {
    /// Mean confidence less the share that was right, -1 to 1: above 0, too sure.
    pub fn too_sure(&self) -> Option<f64> {
        Some(self.said? - self.right?)
    }

    /// The expected calibration error, 0 (perfect) to 1: how far the share that was right is from the mean of
    /// what was said, bin by bin, weighted by the calls in each; `None` without calls. (M. P. Naeini, G. F.
    /// Cooper, M. Hauskrecht, "Obtaining well calibrated probabilities using Bayesian binning", AAAI 2015,
    /// cited from memory.) It depends on the bins, so compare only what has the same.
    pub fn expected_error(&self) -> Option<f64> {
        let off = |bin: &Bin| {
            bin.said
                .map_or(0.0, |said| (said * bin.n as f64 - bin.right as f64).abs())
        };
        (self.n > 0).then(|| self.bins.iter().map(off).sum::<f64>() / self.n as f64)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn calls_of_like_confidence_are_compared_with_what_came_of_them() {
        let mut stated = Bins::new(5);
        for (said, right) in [(0.9, true), (1.0, false), (0.8, true), (0.2, false)] {
            stated.add(said, right);
        }
        let calibration = stated.calibration();
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
        let calibration = Bins::new(5).calibration();
        assert_eq!((calibration.said, calibration.too_sure()), (None, None));
    }
}
