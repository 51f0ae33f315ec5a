//! The shape of a pulse that repeats: how wide its slope is, and what follows it.

use super::cycle::Cycle;

/// Shares of the slope's height at which its width is taken.
const SHARES: [f64; 3] = [0.75, 0.5, 0.25];

/// A pulse in the mean slope over the cycle.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Shape {
    /// Where the slope is steepest, crank degrees from compression TDC of the first cylinder of the firing
    /// order.
    pub angle_deg: f64,
    /// From where the slope passes each of [`SHARES`] of its height up to the steepest place, ms.
    pub before_ms: [f64; SHARES.len()],
    /// From the steepest place to where it falls below each of them, ms.
    pub after_ms: [f64; SHARES.len()],
    /// How far the slope undershoots, as a share of its height: 0 or less.
    pub undershoot: f64,
}

impl Shape {
    /// The shape of the steepest pulse of the cycle; `None` if nothing rises.
    pub fn of(cycle: &Cycle) -> Option<Shape> {
        let (means, top, usual) = (&cycle.means, cycle.top(), cycle.usual());
        let height = means[top] - usual;
        if height <= 0.0 {
            return None;
        }
        let n = means.len();
        let share = |steps: usize, back: bool| {
            let at = if back { top + n - steps } else { top + steps };
            (means[at % n] - usual) / height
        };
        // Between two steps the slope is taken to run straight.
        let width = |least: f64, back: bool| {
            let beyond = (1..n).find(|steps| share(*steps, back) <= least).unwrap_or(n);
            let [outer, inner] = [beyond, beyond - 1].map(|steps| share(steps, back));
            let part = (inner - least) / (inner - outer).max(f64::MIN_POSITIVE);
            (beyond as f64 - 1.0 + part.clamp(0.0, 1.0)) * cycle.step_deg * cycle.ms_per_deg
        };
        let lowest = means.iter().copied().fold(f64::INFINITY, f64::min);
        Some(Shape {
            angle_deg: top as f64 * cycle.step_deg,
            before_ms: SHARES.map(|least| width(least, true)),
            after_ms: SHARES.map(|least| width(least, false)),
            undershoot: (lowest - usual) / height,
        })
    }
}
