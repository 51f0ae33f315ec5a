//! The plain count: what a technician does who trusts the nearest TDC.
//!
//! From the sync to the pulse: the neck trace is smoothed, its slope is averaged over the cycles, and
//! the steepest place of that mean names the cylinder whose TDC stands nearest. It knows nothing of lag,
//! of second leaks or of worn cylinders, and so it errs where a student errs: a long lag makes it accuse
//! the neighbour, and of two leaks it names the steeper. It claims no more than the sync allows: a pair
//! where a coil is shared, nothing where no trace marks a cylinder.
//!
//! It reads samples and card, never a truth; difficulty is checked against it.

use super::clock::Clock;
use super::cycle::{CYCLE_DEG, Cycle};
use super::reading::{LEAST_Z_SCORE, Reading, no_pulse};
use crate::domain::Call;
use crate::domain::{Capture, Measures, Sync};
use crate::math;

/// The mean slope is taken every so many degrees.
const STEP_DEG: f64 = 6.0;
/// Counts from the sync to the pulse.
pub fn count(capture: &Capture) -> Reading {
    let Some(clock) = Clock::of(capture) else {
        return Reading::unsure("No trace shows the crank turn.");
    };
    let cycles =
        neck_channels(capture).filter_map(|channel| Cycle::of(capture, channel, &clock, STEP_DEG));
    let Some(cycle) = cycles.max_by(|a, b| a.z_score().total_cmp(&b.z_score())) else {
        return Reading::unsure("No neck trace runs over cycles enough.");
    };
    let (z_score, angle_deg) = (cycle.z_score(), cycle.top() as f64 * STEP_DEG);
    if z_score < LEAST_Z_SCORE {
        return no_pulse(z_score);
    }
    let plate = &capture.card.engine;
    let named = match clock.sync {
        Sync::None => None,
        Sync::Full => nearest(capture, angle_deg, CYCLE_DEG),
        Sync::Pair => nearest(capture, angle_deg, CYCLE_DEG / 2.0),
    };
    let Some((cylinder, after_deg)) = named else {
        return Reading::unsure("A pulse repeats, but no trace marks a cylinder.");
    };
    let companion = match clock.sync {
        Sync::Pair => plate.companion(cylinder),
        _ => None,
    };
    let beyond = (z_score - LEAST_Z_SCORE) / LEAST_Z_SCORE;
    Reading {
        cylinders: match companion {
            Some(other) => Call::OneOf([cylinder, other].into()),
            None => Call::All([cylinder].into()),
        },
        // By the z-score of the pulse, for the count knows no other doubt.
        confidence: 0.95 - 0.45 * math::exp(-beyond),
        lag_ms: Some(after_deg * cycle.ms_per_deg),
        why: format!(
            "By {}, the trace rises steepest {:.0} degrees {} the TDC of cylinder {cylinder}.",
            clock.source,
            after_deg.abs(),
            if after_deg < 0.0 { "before" } else { "after" },
        ),
    }
}

/// The neck's channels, whether they hold a pressure or feel its change.
pub(super) fn neck_channels(capture: &Capture) -> impl Iterator<Item = usize> + '_ {
    let channels = &capture.card.channels;
    (0..channels.len()).filter(|i| {
        matches!(
            channels[*i].measures,
            Measures::NeckPressure | Measures::NeckPulse
        )
    })
}

/// The cylinder whose TDC stands nearest to a place in the period, and how many degrees before it.
fn nearest(capture: &Capture, angle_deg: f64, period_deg: f64) -> Option<(u32, f64)> {
    let plate = &capture.card.engine;
    let after = |cylinder: u32| {
        let apart = (angle_deg - plate.tdc_deg(cylinder).unwrap_or(0.0)).rem_euclid(period_deg);
        if apart > period_deg / 2.0 {
            apart - period_deg
        } else {
            apart
        }
    };
    plate
        .firing_order
        .iter()
        .map(|c| (*c, after(*c)))
        .min_by(|a, b| a.1.abs().total_cmp(&b.1.abs()))
}
