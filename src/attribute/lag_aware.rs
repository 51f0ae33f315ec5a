//! The count that allows for the lag: what a careful reader does.
//!
//! Sync and steepest rise are found as the plain count finds them ([`super::counting`]), but the nearest TDC
//! is not trusted. Each cylinder in question would mean a lag of its own, from its TDC to the steepest rise, and
//! the shape of the pulse makes some lags likelier than others ([`super::shape`]). How likely is Student's
//! distribution about the expected lag, whose tails forgive a shape that misleads; two sensors at the neck
//! weigh together, less than twice, since they feel the same pulse. The likeliest cylinder is called. Its
//! share of all, times the chance that so clear a pulse is one that shows, is the confidence; both were
//! fitted on rendered captures, by the shape's ([`super::shape`]).
//!
//! Limits: it looks for one leak, and names the steeper of two; and at idle, where the lag may span more than
//! a cycle, it takes lags within one.

use super::clock::Clock;
use super::counting::neck_channels;
use super::cycle::{CYCLE_DEG, Cycle};
use super::reading::{LEAST_Z_SCORE, Reading, no_pulse};
use super::shape::{Expected, Shape};
use crate::domain::Call;
use crate::domain::{Capture, Mode, Sync};
use crate::math;

/// The mean slope is taken every so many degrees.
const STEP_DEG: f64 = 3.0;
/// Degrees of freedom of the lag's distribution: heavy tails, chosen by us.
const FREEDOM: f64 = 3.0;
/// The fitted spread is that of good captures; others are worse by this factor (chosen by us).
const WIDER: f64 = 1.2;
/// A pulse of this z-score has its spread doubled by noise, in squares (chosen by us).
const NOISY: f64 = 8.0;
/// What each of several sensors counts (chosen by us).
const WEIGHT: f64 = 0.7;
/// Nothing is less likely than this, so that one sensor cannot veto.
const LEAST_LIKELY: f64 = 1e-4;
/// Share of captures in which all this is beside the point (chosen by us).
const ASTRAY: f64 = 0.01;
/// The z-score of a pulse, and the chance that it is one: the logit is the first number and the second
/// for each standard error. Combustion is irregular, so that at idle what shows may not repeat, and what
/// repeats may be too small to count as showing.
const PULSE_LOGIT_CRANKING: [f64; 2] = [-9.0, 1.5];
const PULSE_LOGIT_IDLE: [f64; 2] = [0.1, 0.055];
/// A steepest rise may stand so far before its TDC, ms: the gas begins to pass early, and the sync is off a
/// little.
const EARLIEST_MS: f64 = -12.0;

/// A pulse that one channel shows.
struct Pulse {
    angle_deg: f64,
    ms_per_deg: f64,
    expected: Expected,
    z_score: f64,
}

impl Pulse {
    /// The lag that a cylinder with this TDC would have, in a clock that repeats every `period_deg`, ms.
    fn lag_ms(&self, tdc_deg: f64, period_deg: f64) -> f64 {
        let lag = (self.angle_deg - tdc_deg).rem_euclid(period_deg) * self.ms_per_deg;
        let period = period_deg * self.ms_per_deg;
        if lag > period + EARLIEST_MS {
            lag - period
        } else {
            lag
        }
    }

    /// How likely such a lag is, by the pulse's shape; logarithm of a density, up to a constant.
    fn likelihood(&self, lag_ms: f64) -> f64 {
        let noise = NOISY / self.z_score;
        let spread = self.expected.spread_ms * WIDER * (1.0 + noise * noise).sqrt();
        let off = (lag_ms - self.expected.lag_ms) / spread;
        let density = math::pow(1.0 + off * off / FREEDOM, -(FREEDOM + 1.0) / 2.0);
        WEIGHT * math::ln(density + LEAST_LIKELY)
    }
}

/// Counts from the sync to the pulse, and steps back by the lag that its shape tells.
pub fn allow_for_lag(capture: &Capture) -> Reading {
    let Some(clock) = Clock::of(capture) else {
        return Reading::unsure("No trace shows the crank turn.");
    };
    let cranking = capture.card.set_up.mode == Mode::Cranking;
    let cycles: Vec<(usize, Cycle)> = neck_channels(capture)
        .filter_map(|channel| Some((channel, Cycle::of(capture, channel, &clock, STEP_DEG)?)))
        .collect();
    let most = cycles.iter().map(|(_, cycle)| cycle.z_score());
    let Some(most) = most.max_by(f64::total_cmp) else {
        return Reading::unsure("No neck trace runs over cycles enough.");
    };
    let showing = chance_of_pulse(most, cranking);
    if most < LEAST_Z_SCORE {
        return Reading {
            confidence: (1.0 - showing) * (1.0 - ASTRAY),
            ..no_pulse(most)
        };
    }
    let pulses: Vec<Pulse> = cycles
        .iter()
        .filter(|(_, cycle)| cycle.z_score() >= LEAST_Z_SCORE)
        .filter_map(|(channel, cycle)| {
            let shape = Shape::of(cycle)?;
            Some(Pulse {
                angle_deg: shape.angle_deg,
                ms_per_deg: cycle.ms_per_deg,
                expected: shape.expected(capture.card.channels[*channel].measures, cranking),
                z_score: cycle.z_score(),
            })
        })
        .collect();
    let period_deg = match clock.sync {
        Sync::Full => CYCLE_DEG,
        Sync::Pair => CYCLE_DEG / 2.0,
        Sync::None => return Reading::unsure("A pulse repeats, but no trace marks a cylinder."),
    };
    let plate = &capture.card.engine;
    let suspects: Vec<(u32, f64)> = plate
        .firing_order
        .iter()
        .filter_map(|cylinder| Some((*cylinder, plate.tdc_deg(*cylinder)?)))
        .filter(|(_, tdc_deg)| *tdc_deg < period_deg)
        .collect();
    let likely: Vec<f64> = suspects
        .iter()
        .map(|(_, tdc)| {
            pulses
                .iter()
                .map(|p| p.likelihood(p.lag_ms(*tdc, period_deg)))
                .sum()
        })
        .collect();
    let shares = shares(&likely);
    let best = (0..suspects.len()).max_by(|a, b| shares[*a].total_cmp(&shares[*b]));
    let clearest = pulses.iter().max_by(|a, b| a.z_score.total_cmp(&b.z_score));
    let (Some(best), Some(pulse)) = (best, clearest) else {
        return Reading::unsure("Nothing at the neck rises.");
    };
    let (cylinder, tdc_deg) = suspects[best];
    let lag_ms = pulse.lag_ms(tdc_deg, period_deg);
    let companion = match clock.sync {
        Sync::Pair => plate.companion(cylinder),
        _ => None,
    };
    Reading {
        cylinders: match companion {
            Some(other) => Call::OneOf([cylinder, other].into()),
            None => Call::All([cylinder].into()),
        },
        confidence: shares[best] * showing,
        lag_ms: Some(lag_ms),
        why: format!(
            "By {}, the trace rises steepest {:.0} ms {} the TDC of cylinder {cylinder}, and its shape \
             tells {:.0} ms of lag.",
            clock.source,
            lag_ms.abs(),
            ["after", "before"][usize::from(lag_ms < 0.0)],
            pulse.expected.lag_ms
        ),
    }
}

/// The chance that a pulse of this z-score shows a leak.
fn chance_of_pulse(z_score: f64, cranking: bool) -> f64 {
    let [constant, each] = if cranking {
        PULSE_LOGIT_CRANKING
    } else {
        PULSE_LOGIT_IDLE
    };
    1.0 / (1.0 + math::exp(-(constant + each * z_score)))
}

/// Shares of likelihoods given by their logarithms, with a little for being astray.
fn shares(likely: &[f64]) -> Vec<f64> {
    let most = likely.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let weights: Vec<f64> = likely.iter().map(|l| math::exp(l - most)).collect();
    let sum: f64 = weights.iter().sum();
    let even = 1.0 / likely.len() as f64;
    weights
        .iter()
        .map(|w| (1.0 - ASTRAY) * w / sum + ASTRAY * even)
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn pulse(angle_deg: f64, lag_ms: f64) -> Pulse {
        Pulse {
            angle_deg,
            ms_per_deg: 1.0,
            expected: Expected {
                lag_ms,
                spread_ms: 7.0,
            },
            z_score: 40.0,
        }
    }

    #[test]
    fn a_lag_is_counted_forward_and_a_little_back() {
        let early = pulse(715.0, 20.0);
        assert_eq!(early.lag_ms(0.0, 720.0), -5.0);
        assert_eq!(early.lag_ms(600.0, 720.0), 115.0);
        assert_eq!(early.lag_ms(0.0, 360.0), -5.0);
        assert_eq!(pulse(700.0, 20.0).lag_ms(0.0, 720.0), 700.0);
    }

    #[test]
    fn the_shape_decides_between_neighbours() {
        // 70 ms after one TDC, 20 ms before the next.
        let late = pulse(70.0, 62.0);
        assert!(
            late.likelihood(late.lag_ms(0.0, 720.0))
                > late.likelihood(late.lag_ms(90.0, 720.0)) + 2.0
        );
        let soon = pulse(100.0, 14.0);
        assert!(
            soon.likelihood(soon.lag_ms(90.0, 720.0))
                > soon.likelihood(soon.lag_ms(0.0, 720.0)) + 2.0
        );
    }

    #[test]
    fn shares_add_up_and_never_reach_certainty() {
        let all = shares(&[-900.0, 0.0, -1.0]);
        assert!((all.iter().sum::<f64>() - 1.0).abs() < 1e-12);
        assert!(all[0] > 0.003 && all[1] < 0.74);
        assert!(shares(&[0.0, -900.0])[0] < 0.996);
    }
}
