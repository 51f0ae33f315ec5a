//! A neck trace over the cycle: its slope, averaged over all cycles of the capture.
//!
//! A leak speaks once in 720 degrees, so that the mean over cycles keeps its pulse and drowns what does not
//! repeat. The mean is taken at equal crank angles; where a time is needed, the mean speed turns degrees into
//! milliseconds.

use super::clock::Clock;
use super::tidy::{running_mean, tidy};
use crate::domain::Capture;

/// A cycle of a four-stroke engine, crank degrees.
pub(super) const CYCLE_DEG: f64 = 720.0;
/// A trace is smoothed twice over this time, s.
const SMOOTH_S: f64 = 0.006;
/// Cycles without which nothing can be said to repeat.
const LEAST_CYCLES: usize = 3;

/// The mean slope of one channel over the cycle.
pub(super) struct Cycle {
    /// Mean slope at each step, in units of the channel a sample; of a channel that is turned upside down,
    /// turned back.
    pub means: Vec<f64>,
    /// From one mean to the next, crank degrees; the first stands at compression TDC of the first cylinder
    /// of the firing order.
    pub step_deg: f64,
    /// Standard error of a mean.
    pub error: f64,
    /// How long a degree takes, ms.
    pub ms_per_deg: f64,
}

impl Cycle {
    /// The mean of a channel, a value each `step_deg`; `None` if it runs over too few cycles.
    pub fn of(capture: &Capture, channel: usize, clock: &Clock, step_deg: f64) -> Option<Cycle> {
        let (values, rate) = tidy(capture, channel);
        let sign = if capture.card.channels[channel].inverted {
            -1.0
        } else {
            1.0
        };
        let width = ((SMOOTH_S * rate) as usize).max(1);
        let smooth = running_mean(&running_mean(&values, width), width);
        if smooth.len() < 8 {
            return None;
        }
        let slope = |time_s: f64| {
            let at = time_s * rate;
            let i = (at as usize).clamp(1, smooth.len() - 3);
            let between = |i: usize| smooth[i + 1] - smooth[i - 1];
            let share = (at - i as f64).clamp(0.0, 1.0);
            sign * (between(i) * (1.0 - share) + between(i + 1) * share)
        };
        // A leak speaks once in a cycle even where the sync cannot tell the halves of the cycle apart.
        let [from, to] = clock.span_deg();
        let first = (from / CYCLE_DEG).ceil() as usize;
        let last = (to / CYCLE_DEG).floor() as usize;
        if last < first + LEAST_CYCLES {
            return None;
        }
        let steps = (CYCLE_DEG / step_deg) as usize;
        let cycles: Vec<Vec<f64>> = (first..last)
            .map(|cycle| {
                (0..steps)
                    .map(|i| slope(clock.time_s(cycle as f64 * CYCLE_DEG + i as f64 * step_deg)))
                    .collect()
            })
            .collect();
        let n = cycles.len() as f64;
        let means: Vec<f64> = (0..steps)
            .map(|i| cycles.iter().map(|c| c[i]).sum::<f64>() / n)
            .collect();
        let scatter: f64 = cycles
            .iter()
            .flat_map(|c| c.iter().zip(&means).map(|(v, m)| (v - m) * (v - m)))
            .sum();
        let [began, ended] = [first, last].map(|cycle| clock.time_s(cycle as f64 * CYCLE_DEG));
        Some(Cycle {
            error: (scatter / ((n - 1.0) * steps as f64) / n).sqrt(),
            ms_per_deg: 1e3 * (ended - began) / (n * CYCLE_DEG),
            means,
            step_deg,
        })
    }

    /// The step at which the mean slope is steepest.
    pub fn top(&self) -> usize {
        (0..self.means.len())
            .max_by(|a, b| self.means[*a].total_cmp(&self.means[*b]))
            .unwrap_or(0)
    }

    /// The median of the mean slopes.
    pub fn median(&self) -> f64 {
        let mut sorted = self.means.clone();
        sorted.sort_by(f64::total_cmp);
        sorted[sorted.len() / 2]
    }

    /// The z-score of the steepest mean slope: above the median, in standard errors of a mean.
    pub fn z_score(&self) -> f64 {
        (self.means[self.top()] - self.median()) / self.error.max(f64::MIN_POSITIVE)
    }
}
