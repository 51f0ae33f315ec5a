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
use crate::capture::{Measures, Opened, Sync};
use crate::grade::Cylinders;
use crate::math;

/// Rate to which traces are averaged before they are read, Hz.
const RATE_HZ: f64 = 2000.0;
/// A trace is smoothed twice over this time, s.
const SMOOTH_S: f64 = 0.006;
/// A cycle of a four-stroke engine, crank degrees.
const CYCLE_DEG: f64 = 720.0;
/// The mean slope is taken every so many degrees.
const STEP_DEG: f64 = 6.0;
/// Cycles without which nothing can be said to repeat.
const LEAST_CYCLES: usize = 3;
/// A mean slope this many standard errors above the usual one is a pulse that repeats.
const LEAST_STANDING_OUT: f64 = 6.0;

/// What the count came to.
#[derive(Clone, Debug, PartialEq)]
pub struct Reading {
    /// The call.
    pub cylinders: Cylinders,
    /// How sure the reader is of it, 0 to 1: by how far the pulse stands out, for it knows no other
    /// doubt.
    pub confidence: f64,
    /// How it was found, in one sentence.
    pub why: String,
}

/// Counts from the sync to the pulse.
pub fn count(capture: &Opened) -> Reading {
    let unsure = |why: &str| Reading {
        cylinders: Cylinders::Unsure,
        confidence: 0.5,
        why: why.into(),
    };
    let Some(clock) = Clock::of(capture) else {
        return unsure("No trace shows the crank turn.");
    };
    let pulses = (0..capture.card.channels.len())
        .filter(|i| {
            matches!(
                capture.card.channels[*i].measures,
                Measures::NeckPressure | Measures::NeckPulse
            )
        })
        .filter_map(|channel| steepest(capture, channel, &clock));
    let Some(pulse) = pulses.max_by(|a, b| a.standing_out.total_cmp(&b.standing_out)) else {
        return unsure("No neck trace runs over cycles enough.");
    };
    if pulse.standing_out < LEAST_STANDING_OUT {
        return Reading {
            cylinders: Cylinders::NoLeak,
            confidence: 0.95 - 0.45 * (pulse.standing_out / LEAST_STANDING_OUT).max(0.0),
            why: "No pulse that repeats stands out of the noise.".into(),
        };
    }
    let plate = &capture.card.engine;
    let named = match clock.sync {
        Sync::None => None,
        Sync::Full => nearest(capture, pulse.angle_deg, CYCLE_DEG),
        Sync::Pair => nearest(capture, pulse.angle_deg, CYCLE_DEG / 2.0),
    };
    let Some((cylinder, after_deg)) = named else {
        return unsure("A pulse repeats, but no trace marks a cylinder.");
    };
    let companion = match clock.sync {
        Sync::Pair => plate.companion(cylinder),
        _ => None,
    };
    let beyond = (pulse.standing_out - LEAST_STANDING_OUT) / LEAST_STANDING_OUT;
    Reading {
        cylinders: match companion {
            Some(other) => Cylinders::OneOf([cylinder, other].into()),
            None => Cylinders::All([cylinder].into()),
        },
        confidence: 0.95 - 0.45 * math::exp(-beyond),
        why: format!(
            "By {}, the trace rises steepest {:.0} degrees {} the TDC of cylinder {cylinder}.",
            clock.source,
            after_deg.abs(),
            if after_deg < 0.0 { "before" } else { "after" },
        ),
    }
}

/// Where in the cycle a neck trace rises steepest.
struct Pulse {
    /// From compression TDC of the first cylinder of the firing order, 0 to 720.
    angle_deg: f64,
    /// The steepest mean slope above the usual one, over the standard error of a mean slope.
    standing_out: f64,
}

fn steepest(capture: &Opened, channel: usize, clock: &Clock) -> Option<Pulse> {
    let (values, rate) = tidy(capture, channel);
    let sign = if capture.card.channels[channel].inverted {
        -1.0
    } else {
        1.0
    };
    let width = ((SMOOTH_S * rate) as usize).max(1);
    let smooth = running_mean(&running_mean(&values, width), width);
    let slope = |time_s: f64| {
        let at = time_s * rate;
        let i = (at as usize).clamp(1, smooth.len() - 3);
        let between = |i: usize| smooth[i + 1] - smooth[i - 1];
        let share = (at - i as f64).clamp(0.0, 1.0);
        sign * (between(i) * (1.0 - share) + between(i + 1) * share)
    };
    if smooth.len() < 8 {
        return None;
    }
    // A leak speaks once in a cycle even where the sync cannot tell the halves of the cycle apart.
    let [from, to] = clock.span_deg();
    let first = (from / CYCLE_DEG).ceil() as usize;
    let last = (to / CYCLE_DEG).floor() as usize;
    if last < first + LEAST_CYCLES {
        return None;
    }
    let steps = (CYCLE_DEG / STEP_DEG) as usize;
    let cycles: Vec<Vec<f64>> = (first..last)
        .map(|cycle| {
            (0..steps)
                .map(|i| slope(clock.time_s(cycle as f64 * CYCLE_DEG + i as f64 * STEP_DEG)))
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
    let error = (scatter / ((n - 1.0) * steps as f64) / n).sqrt();
    let top = (0..steps).max_by(|a, b| means[*a].total_cmp(&means[*b]))?;
    let mut sorted = means.clone();
    sorted.sort_by(f64::total_cmp);
    Some(Pulse {
        angle_deg: top as f64 * STEP_DEG,
        standing_out: (means[top] - sorted[steps / 2]) / error.max(f64::MIN_POSITIVE),
    })
}

/// The cylinder whose TDC stands nearest to a place in the period, and how many degrees before it.
fn nearest(capture: &Opened, angle_deg: f64, period_deg: f64) -> Option<(u32, f64)> {
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

/// A trace averaged down to about [`RATE_HZ`], and the rate that came of it.
pub(super) fn tidy(capture: &Opened, channel: usize) -> (Vec<f64>, f64) {
    let rate = capture.card.sample_rate_hz;
    let block = ((rate / RATE_HZ).round() as usize).max(1);
    let values: Vec<f64> = capture.scaled(channel).collect();
    let means = values
        .chunks_exact(block)
        .map(|c| c.iter().sum::<f64>() / block as f64)
        .collect();
    (means, rate / block as f64)
}

/// From the tenth to the ninetieth hundredth of the values.
pub(super) fn spread(values: &[f64]) -> f64 {
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    match sorted.len() {
        0 => 0.0,
        n => sorted[n * 9 / 10] - sorted[n / 10],
    }
}

/// The mean of `width` values around each, of fewer at the ends.
fn running_mean(values: &[f64], width: usize) -> Vec<f64> {
    let half = width / 2;
    (0..values.len())
        .map(|i| {
            let around = &values[i.saturating_sub(half)..(i + half + 1).min(values.len())];
            around.iter().sum::<f64>() / around.len() as f64
        })
        .collect()
}
