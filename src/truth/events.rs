//! Leak events: when gas passed, and when and how the sensor felt it.
//!
//! An event belongs to one compression TDC of the leaking cylinder. Its gas is the passage around the
//! strongest flow within the cycle; its lag runs from TDC to the steepest rise of the pressure where
//! the sensor sits.

use super::Witness;
use crate::domain::{LeakEvent, LeakTruth};
use crate::math;
use crate::sensors::Scene;
use crate::simulation::{Passing, STEP_S, Traces};

/// Less gas than this in a cycle is no event, kg.
const LEAST_GAS_KG: f64 = 1e-10;
/// Gas passes while the flow exceeds this share of its peak.
const PASSING_SHARE: f64 = 0.01;
/// The slope is taken over this many steps to either side, so that the line's ringing counts less.
const SLOPE_STEPS: usize = 5;
/// A pulse is looked for over at most this much crank angle after its gas.
const SEARCH_RAD: f64 = 5.0 / 3.0 * math::PI;

/// All events of all leaks in order of time.
pub(crate) fn events(scene: Scene, tdcs: &[Passing], witness: Option<&Witness>) -> Vec<LeakEvent> {
    let mut events: Vec<LeakEvent> = Vec::new();
    for (l, leak) in scene.vehicle.leaks.iter().enumerate() {
        let own: Vec<f64> = tdcs
            .iter()
            .filter(|p| p.place == leak.place)
            .map(|p| p.time_s)
            .collect();
        for (i, tdc_s) in own.iter().enumerate() {
            let before = if i == 0 {
                0.0
            } else {
                (own[i - 1] + tdc_s) / 2.0
            };
            let after = own
                .get(i + 1)
                .map_or(f64::INFINITY, |next| (tdc_s + next) / 2.0);
            events.extend(passage(&scene.traces.leak_kg_s[l], before, after).map(
                |(start, end, kg)| LeakEvent {
                    leak: l,
                    cylinder: leak.spec.cylinder,
                    tdc_s: *tdc_s,
                    gas_start_s: start,
                    gas_end_s: end,
                    mass_mg: kg * 1e6,
                    steepest_s: None,
                    lag_ms: None,
                    lag_deg: None,
                    height: None,
                },
            ));
        }
    }
    events.sort_by(|a, b| a.tdc_s.total_cmp(&b.tdc_s));
    if let Some(witness) = witness {
        let starts: Vec<f64> = events.iter().map(|e| e.gas_start_s).collect();
        for (i, event) in events.iter_mut().enumerate() {
            feel(event, starts.get(i + 1).copied(), scene, witness);
        }
    }
    events
}

/// Start, end and mass of the forward flow around its peak between two times.
fn passage(flow: &[f64], from_s: f64, to_s: f64) -> Option<(f64, f64, f64)> {
    let first = (from_s / STEP_S) as usize;
    let last = ((to_s / STEP_S) as usize).min(flow.len());
    let window = flow.get(first..last)?;
    let peak = window
        .iter()
        .enumerate()
        .max_by(|a, b| a.1.total_cmp(b.1))
        .map(|(i, _)| i)?;
    let least = window[peak] * PASSING_SHARE;
    let start = window[..peak]
        .iter()
        .rposition(|f| *f <= least)
        .map_or(0, |i| i + 1);
    let end = window[peak..]
        .iter()
        .position(|f| *f <= least)
        .map_or(window.len(), |i| peak + i);
    let kg = window[start..end].iter().sum::<f64>() * STEP_S;
    let time = |i: usize| (first + i) as f64 * STEP_S;
    (kg > LEAST_GAS_KG).then(|| (time(start), time(end), kg))
}

/// Finds the pulse of an event at the sensor, before the next event's gas could be felt there.
fn feel(event: &mut LeakEvent, next_start_s: Option<f64>, scene: Scene, witness: &Witness) {
    let pressure = witness.arrived_pa;
    let step = |t: f64| (t / STEP_S).round() as usize;
    let crank = &scene.traces.crank_rad;
    let first = step(event.gas_start_s + scene.acoustic_delay_s).max(SLOPE_STEPS);
    let search_end = crank[step(event.gas_start_s).min(crank.len() - 1)] + SEARCH_RAD;
    let turned = crank.partition_point(|c| *c < search_end);
    let next = next_start_s.map_or(usize::MAX, |t| step(t + scene.acoustic_delay_s));
    let end_of_capture = pressure.len() - SLOPE_STEPS;
    let last = turned.min(next).min(end_of_capture);
    if first + 1 >= last {
        return;
    }
    let slope = |i: usize| pressure[i + SLOPE_STEPS] - pressure[i - SLOPE_STEPS];
    // A slope that is greatest at the edge of the search belongs to the pulse beyond it.
    let peaks = (first + 1..last - 1).filter(|i| {
        let own = slope(*i);
        own > 0.0 && own >= slope(i - 1) && own > slope(i + 1)
    });
    let Some(steepest) = peaks.max_by(|a, b| slope(*a).total_cmp(&slope(*b))) else {
        return;
    };
    let (a, b, c) = (slope(steepest - 1), slope(steepest), slope(steepest + 1));
    let bend = a - 2.0 * b + c;
    let shift = if bend < 0.0 {
        (0.5 * (a - c) / bend).clamp(-0.5, 0.5)
    } else {
        0.0
    };
    let time = (steepest as f64 + shift) * STEP_S;
    event.steepest_s = Some(time);
    event.lag_ms = Some((time - event.tdc_s) * 1e3);
    event.lag_deg = Some(math::degrees(
        Traces::at(crank, time) - Traces::at(crank, event.tdc_s),
    ));
    let (before, after) = (
        &witness.ideal[first..=steepest],
        &witness.ideal[steepest..last],
    );
    let low = |s: &[f64]| s.iter().copied().fold(f64::INFINITY, f64::min);
    let high = |s: &[f64]| s.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    event.height = Some((high(after) - low(before)).max(0.0));
}

/// The totals of one leak.
pub(crate) fn account(scene: Scene, leak: usize, events: &[LeakEvent]) -> LeakTruth {
    let spec = &scene.vehicle.leaks[leak].spec;
    let end = &scene.traces.end.leaks[leak];
    let own: Vec<&LeakEvent> = events.iter().filter(|e| e.leak == leak).collect();
    let mean = |of: fn(&LeakEvent) -> Option<f64>| {
        let values: Vec<f64> = own.iter().filter_map(|e| of(e)).collect();
        (!values.is_empty()).then(|| values.iter().sum::<f64>() / values.len() as f64)
    };
    LeakTruth {
        cylinder: spec.cylinder,
        area_mm2: spec.area_m2 * 1e6,
        opens_at_bar: spec.opens_at_pa * 1e-5,
        plug_out: scene.vehicle.engine.cylinders[scene.vehicle.leaks[leak].place].plug_hole_m2
            > 0.0,
        gas_in_mg: end.in_kg * 1e6,
        gas_back_mg: end.back_kg * 1e6,
        coolant_drawn_ml: end.drawn_m3 * 1e6,
        events: own.len(),
        lag_ms: mean(|e| e.lag_ms),
        lag_deg: mean(|e| e.lag_deg),
        pulse_height: mean(|e| e.height),
        pulse_over_noise: None,
        visible: false,
    }
}
