//! The shape of a pulse that repeats, and the lag that it tells.
//!
//! Between the leak and the neck a column of coolant swings between two compliances, a second-order
//! system. Given a push it rises over a quarter of its period, and the slope of that rise is half a sine:
//! it is steepest a quarter period after the push, and a third of a period wide at half its height. So
//! what makes a pulse late also makes it wide: length, soft hoses and air do both. How strongly friction
//! damps the column shows in how far the slope swings back. What the shape cannot tell are the pure
//! delays, of sound in the passages and in the sensor's tube; they are a few milliseconds.
//!
//! So the lag is taken as a constant, plus a share of the width before the steepest place, plus a share of the
//! width after it, plus a share of the swing back. The shares absorb what the plain picture leaves out:
//! how long the gas passes, its cooling, the smoothing, the sensor's own decay. They were fitted by us by least
//! squares (robust, Cauchy weights) on captures that this program rendered: 17 scenarios of 7
//! engines, cranking and idling, 70 captures of each, with path, hoses, air, leak and sensor drawn from wide
//! ranges; the spread is the residual's. Captures of another make would need their own.

use super::cycle::Cycle;
use crate::domain::Measures;

/// Share of the slope's height at which its width is taken.
const SHARE: f64 = 0.5;
/// Deeper swings back tell no more.
const DEEPEST: f64 = -1.5;

/// How a kind of sensor shows the lag: constant, ms; shares of the widths before and after; ms for a swing back
/// as high as the slope; spread, ms.
type Law = [f64; 5];

const PRESSURE_CRANKING: Law = [-29.4, 1.17, 0.46, -35.0, 6.9];
const PULSE_CRANKING: Law = [-6.9, 0.51, 0.75, -5.3, 9.0];
const PRESSURE_IDLE: Law = [-11.5, 1.60, 0.43, -17.5, 2.4];
const PULSE_IDLE: Law = [-12.1, 1.23, 0.75, -15.1, 2.3];

/// A lag that a shape makes likely, and its spread.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Expected {
    pub lag_ms: f64,
    pub spread_ms: f64,
}

/// A pulse in the mean slope over the cycle.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Shape {
    /// Where the slope is steepest, crank degrees from compression TDC of the first cylinder of the firing
    /// order.
    pub angle_deg: f64,
    /// From where the slope passes half of its height up to the steepest place, ms.
    before_ms: f64,
    /// From the steepest place to where it falls below half, ms.
    after_ms: f64,
    /// How far the slope undershoots, as a share of its height: 0 or less.
    undershoot: f64,
}

impl Shape {
    /// The shape of the steepest pulse of the cycle; `None` if nothing rises.
    pub fn of(cycle: &Cycle) -> Option<Shape> {
        let (means, top, median) = (&cycle.means, cycle.top(), cycle.median());
        let height = means[top] - median;
        if height <= 0.0 {
            return None;
        }
        let n = means.len();
        let share = |steps: usize, back: bool| {
            let at = if back { top + n - steps } else { top + steps };
            (means[at % n] - median) / height
        };
        // Between two steps the slope is taken to run straight.
        let width = |back: bool| {
            let beyond = (1..n).find(|steps| share(*steps, back) <= SHARE);
            let beyond = beyond.unwrap_or(n);
            let [outer, inner] = [beyond, beyond - 1].map(|steps| share(steps, back));
            let part = (inner - SHARE) / (inner - outer).max(f64::MIN_POSITIVE);
            (beyond as f64 - 1.0 + part.clamp(0.0, 1.0)) * cycle.step_deg * cycle.ms_per_deg
        };
        let lowest = means.iter().copied().fold(f64::INFINITY, f64::min);
        Some(Shape {
            angle_deg: top as f64 * cycle.step_deg,
            before_ms: width(true),
            after_ms: width(false),
            undershoot: (lowest - median) / height,
        })
    }

    /// The lag that the shape makes likely, by the kind of sensor that felt it.
    pub fn expected(&self, measures: Measures, cranking: bool) -> Expected {
        let [constant, before, after, back, spread_ms] = match (measures, cranking) {
            (Measures::NeckPulse, true) => PULSE_CRANKING,
            (Measures::NeckPulse, false) => PULSE_IDLE,
            (_, true) => PRESSURE_CRANKING,
            (_, false) => PRESSURE_IDLE,
        };
        Expected {
            lag_ms: constant
                + before * self.before_ms
                + after * self.after_ms
                + back * self.undershoot.max(DEEPEST),
            spread_ms,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::math;

    /// A slope of half a sine, so wide from foot to foot, its top at 60 degrees.
    fn cycle(width_deg: f64) -> Cycle {
        let step_deg = 3.0;
        let slope = |deg: f64| {
            let from_top = deg - 60.0;
            if from_top.abs() < width_deg / 2.0 {
                math::cos(from_top / width_deg * math::PI)
            } else {
                0.0
            }
        };
        Cycle {
            means: (0..240).map(|i| slope(f64::from(i) * step_deg)).collect(),
            step_deg,
            error: 0.01,
            ms_per_deg: 0.9,
        }
    }

    #[test]
    fn half_a_sine_is_two_thirds_as_wide_at_half_its_height() {
        let shape = Shape::of(&cycle(90.0)).unwrap();
        assert_eq!(shape.angle_deg, 60.0);
        // 30 degrees to either side, 0.9 ms each; straight lines between steps of 3 degrees: 0.1 ms.
        for width in [shape.before_ms, shape.after_ms] {
            assert!((width - 27.0).abs() < 0.1, "{shape:?}");
        }
        assert_eq!(shape.undershoot, 0.0);
    }

    #[test]
    fn a_wider_pulse_is_a_later_one() {
        for (measures, cranking) in [
            (Measures::NeckPressure, true),
            (Measures::NeckPulse, true),
            (Measures::NeckPressure, false),
            (Measures::NeckPulse, false),
        ] {
            let [narrow, wide] = [60.0, 120.0].map(|width| {
                let shape = Shape::of(&cycle(width)).unwrap();
                shape.expected(measures, cranking).lag_ms
            });
            assert!(wide > narrow + 10.0, "{measures:?}: {narrow} {wide}");
        }
    }

    #[test]
    fn what_does_not_rise_has_no_shape() {
        let mut flat = cycle(60.0);
        flat.means = vec![1.0; 240];
        assert_eq!(Shape::of(&flat), None);
    }
}
