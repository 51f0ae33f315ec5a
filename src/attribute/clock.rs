//! The crank's angle through a capture, as the synchronising traces tell it.
//!
//! A coil's triggers or an in-cylinder transducer's peaks mark one cylinder; between two marks the crank
//! is taken to turn evenly. The humps of starter current or battery voltage mark every compression, and
//! the one missing where a plug is out tells which is which. Angles are crank degrees from a compression
//! TDC of the first cylinder of the firing order; a trigger and a hump are taken to stand at TDC itself,
//! as whoever counts by eye takes them.

use super::tidy::{spread, tidy};
use crate::domain::{Capture, Card, EngineData, Measures, Mode, Sync};

/// Fewer marks than these are no clock.
const LEAST_MARKS: usize = 3;
/// Cranking has settled this long after the starter's inrush, s.
const SETTLED_S: f64 = 0.4;
/// A hump stands out by this share of the trace's spread.
const HUMP_SHARE: f64 = 0.3;
/// Share of humps that may contradict the pattern of the plugs that are out.
const MOST_CONTRADICTIONS: f64 = 0.15;
/// Marks of one cylinder follow each other within this factor of their median distance.
const STEADY: f64 = 1.6;

/// Crank angle over time.
pub(super) struct Clock {
    /// How much the angle says: all of it, or all but half-turns of the cycle, or nothing.
    pub sync: Sync,
    /// What it was read from.
    pub source: String,
    /// Times, s, and angles, degrees; both ascending.
    anchors: Vec<(f64, f64)>,
}

impl Clock {
    /// The best clock that the capture's traces give; `None` if none of them shows the crank turn.
    pub fn of(capture: &Capture) -> Option<Clock> {
        let rank = |sync: Sync| match sync {
            Sync::Full => 2,
            Sync::Pair => 1,
            Sync::None => 0,
        };
        let mut best: Option<Clock> = None;
        for channel in 0..capture.card.channels.len() {
            if let Some(clock) = read(capture, channel)
                && best
                    .as_ref()
                    .is_none_or(|b| rank(clock.sync) > rank(b.sync))
            {
                best = Some(clock);
            }
        }
        best
    }

    /// First and last angle that are known.
    pub fn span_deg(&self) -> [f64; 2] {
        [self.anchors[0].1, self.anchors[self.anchors.len() - 1].1]
    }

    /// When the crank stood at `angle`, within the span.
    pub fn time_s(&self, angle: f64) -> f64 {
        let after = self.anchors.partition_point(|a| a.1 <= angle);
        let after = after.clamp(1, self.anchors.len() - 1);
        let ((t0, a0), (t1, a1)) = (self.anchors[after - 1], self.anchors[after]);
        t0 + (t1 - t0) * (angle - a0) / (a1 - a0)
    }
}

fn read(capture: &Capture, channel: usize) -> Option<Clock> {
    let card = &capture.card;
    let own = &card.channels[channel];
    let plate = &card.engine;
    let cranking = card.set_up.mode == Mode::Cranking;
    match own.measures {
        Measures::CoilTrigger if card.set_up.ignition_enabled => {
            let cylinder = own.cylinder?;
            let step = if plate.shared_coils { 360.0 } else { 720.0 };
            marked(
                edges(capture, channel),
                plate.tdc_deg(cylinder)?,
                step,
                format!("the trigger of coil {cylinder}"),
            )
        }
        Measures::CylinderPressure => {
            let cylinder = own.cylinder?;
            marked(
                peaks(capture, channel),
                plate.tdc_deg(cylinder)?,
                720.0,
                format!("the compression peaks of cylinder {cylinder}"),
            )
        }
        Measures::StarterCurrent | Measures::BatteryVoltage if cranking => humps(capture, channel),
        _ => None,
    }
}

/// A clock from the marks of one cylinder at `tdc_deg`, `step` degrees apart.
fn marked(times: Vec<f64>, tdc_deg: f64, step: f64, source: String) -> Option<Clock> {
    if times.len() < LEAST_MARKS {
        return None;
    }
    let mut gaps: Vec<f64> = times.windows(2).map(|w| w[1] - w[0]).collect();
    gaps.sort_by(f64::total_cmp);
    let middle = gaps[gaps.len() / 2];
    // The starter's first turns are slow; later ones keep their pace, or it is no mark.
    let steady = gaps
        .iter()
        .filter(|g| **g < middle * STEADY && **g > middle / STEADY)
        .count();
    if steady * 4 < gaps.len() * 3 {
        return None;
    }
    Some(Clock {
        sync: if step == 720.0 {
            Sync::Full
        } else {
            Sync::Pair
        },
        source,
        anchors: times
            .into_iter()
            .enumerate()
            .map(|(i, t)| (t, tdc_deg + step * i as f64))
            .collect(),
    })
}

/// Times at which a trigger rises through the middle of its range.
fn edges(capture: &Capture, channel: usize) -> Vec<f64> {
    let sign = sign(&capture.card, channel);
    let values: Vec<f64> = capture.scaled(channel).map(|v| sign * v).collect();
    let (low, high) = ends(&values);
    let (on, off) = (low + 0.6 * (high - low), low + 0.4 * (high - low));
    let mut times = Vec::new();
    let mut armed = true;
    for (frame, value) in values.iter().enumerate() {
        if armed && *value > on {
            times.push(capture.time_s(frame));
            armed = false;
        } else if *value < off {
            armed = true;
        }
    }
    times
}

/// Times of the highest points of a cylinder's compressions.
fn peaks(capture: &Capture, channel: usize) -> Vec<f64> {
    let (values, rate) = tidy(capture, channel);
    let (low, high) = ends(&values);
    let (on, off) = (low + 0.5 * (high - low), low + 0.3 * (high - low));
    let mut times = Vec::new();
    let mut top: Option<usize> = None;
    for (i, value) in values.iter().enumerate() {
        if *value > on && top.is_none_or(|t| values[t] < *value) {
            top = Some(i);
        } else if *value < off
            && let Some(t) = top.take()
        {
            times.push(t as f64 / rate);
        }
    }
    times
}

/// The humps of a cranking load, and which cylinder's is missing.
fn humps(capture: &Capture, channel: usize) -> Option<Clock> {
    let plate = &capture.card.engine;
    let interval = plate.firing_intervals_deg[0];
    if plate
        .firing_intervals_deg
        .iter()
        .any(|i| (i - interval).abs() > 1e-6)
    {
        return None;
    }
    let voltage = capture.card.channels[channel].measures == Measures::BatteryVoltage;
    let load = sign(&capture.card, channel) * if voltage { -1.0 } else { 1.0 };
    let (values, rate) = tidy(capture, channel);
    let values: Vec<f64> = values.into_iter().map(|v| load * v).collect();
    let inrush = (0..values.len()).max_by(|a, b| values[*a].total_cmp(&values[*b]))?;
    let from = inrush + (SETTLED_S * rate) as usize;
    let settled = values.get(from..)?;
    let tops: Vec<f64> = turning_points(settled, HUMP_SHARE * spread(settled))
        .into_iter()
        .map(|i| (from + i) as f64 / rate)
        .collect();
    let slots = slots(&tops)?;
    let plugs_out = &capture.card.set_up.plugs_out;
    let (sync, shift) = match places(&slots, plate, plugs_out) {
        Some((sync, shift)) => (sync, shift),
        None => (Sync::None, 0),
    };
    Some(Clock {
        sync,
        source: format!(
            "the humps of {}",
            capture.card.channels[channel].name.to_lowercase()
        ),
        anchors: slots
            .iter()
            .enumerate()
            .map(|(i, slot)| (slot.0, interval * (i + shift) as f64))
            .collect(),
    })
}

/// Highest points between falls of at least `least`.
fn turning_points(values: &[f64], least: f64) -> Vec<usize> {
    let mut tops = Vec::new();
    let (mut top, mut bottom) = (0, 0);
    let mut rising = false;
    for (i, value) in values.iter().enumerate() {
        if rising {
            if *value > values[top] {
                top = i;
            } else if *value < values[top] - least {
                tops.push(top);
                (rising, bottom) = (false, i);
            }
        } else if *value < values[bottom] {
            bottom = i;
        } else if *value > values[bottom] + least {
            (rising, top) = (true, i);
        }
    }
    tops
}

/// Every compression's time, and whether its hump is missing.
fn slots(tops: &[f64]) -> Option<Vec<(f64, bool)>> {
    if tops.len() < 2 * LEAST_MARKS {
        return None;
    }
    let mut gaps: Vec<f64> = tops.windows(2).map(|w| w[1] - w[0]).collect();
    gaps.sort_by(f64::total_cmp);
    // With one of three plugs out, half of the gaps are double ones.
    let common = gaps[gaps.len() * 3 / 10];
    let mut slots = vec![(tops[0], false)];
    for pair in tops.windows(2) {
        let steps = ((pair[1] - pair[0]) / common).round().max(1.0) as usize;
        for step in 1..=steps {
            let time = pair[0] + (pair[1] - pair[0]) * step as f64 / steps as f64;
            slots.push((time, step < steps));
        }
    }
    Some(slots)
}

/// The place in the firing order of the first slot, by where humps are missing; [`Sync::Pair`] where
/// half a cycle fits both ways.
fn places(slots: &[(f64, bool)], plate: &EngineData, plugs_out: &[u32]) -> Option<(Sync, usize)> {
    let n = plate.firing_order.len();
    let contradictions = |shift: usize| {
        let wrong = slots
            .iter()
            .enumerate()
            .filter(|(i, slot)| plugs_out.contains(&plate.firing_order[(i + shift) % n]) != slot.1);
        wrong.count()
    };
    if plugs_out.is_empty() {
        return None;
    }
    let most = (MOST_CONTRADICTIONS * slots.len() as f64) as usize;
    let fitting: Vec<usize> = (0..n).filter(|s| contradictions(*s) <= most).collect();
    match fitting[..] {
        [one] => Some((Sync::Full, one)),
        [one, other] if 2 * (other - one) == n => Some((Sync::Pair, one)),
        _ => None,
    }
}

fn sign(card: &Card, channel: usize) -> f64 {
    if card.channels[channel].inverted {
        -1.0
    } else {
        1.0
    }
}

fn ends(values: &[f64]) -> (f64, f64) {
    values
        .iter()
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), v| {
            (low.min(*v), high.max(*v))
        })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::Layout;

    #[test]
    fn a_hump_needs_a_fall_on_either_side() {
        let values = [0.0, 3.0, 2.8, 3.1, 0.0, 1.0, 0.5, 4.0, 0.0, 2.0];
        assert_eq!(turning_points(&values, 2.0), [3, 7]);
        assert_eq!(turning_points(&values, 0.4), [3, 5, 7]);
    }

    #[test]
    fn a_double_gap_is_a_missing_hump() {
        let tops = [0.0, 0.1, 0.2, 0.39, 0.5, 0.6];
        let slots = slots(&tops).unwrap();
        let missing: Vec<bool> = slots.iter().map(|s| s.1).collect();
        assert_eq!(missing, [false, false, false, true, false, false, false]);
        assert!((slots[3].0 - 0.295).abs() < 1e-9);
    }

    fn plate(order: &[u32]) -> EngineData {
        EngineData {
            vehicle: String::new(),
            layout: Layout::Inline,
            cylinders: order.len(),
            firing_order: order.to_vec(),
            firing_intervals_deg: vec![720.0 / order.len() as f64; order.len()],
            displacement_l: 2.0,
            compression_ratio: 10.0,
            shared_coils: false,
        }
    }

    #[test]
    fn the_pattern_of_missing_humps_names_cylinders_as_far_as_it_can() {
        let plate = plate(&[1, 3, 4, 2]);
        let pattern = |missing: [bool; 4]| -> Vec<(f64, bool)> {
            (0..12).map(|i| (i as f64, missing[i % 4])).collect()
        };
        let one = pattern([false, false, true, false]);
        assert_eq!(places(&one, &plate, &[3]), Some((Sync::Full, 3)));
        let pair = pattern([true, false, true, false]);
        assert_eq!(places(&pair, &plate, &[1, 4]), Some((Sync::Pair, 0)));
        assert_eq!(places(&one, &plate, &[]), None);
        assert_eq!(places(&pattern([false; 4]), &plate, &[3]), None);
    }
}
