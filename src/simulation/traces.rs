//! What a run leaves behind: noiseless traces, a value a step.

use super::{Coolant, STEP_S, Signals, State, own_angle};
use crate::math::TAU;
use crate::vehicle::{CYCLE_RAD, Vehicle};

/// Noiseless traces in SI units; value `i` stands at `i * STEP_S` from the start of the capture.
#[derive(Clone, Debug)]
pub struct Traces {
    /// Crank angle, growing without wrapping; 0 at compression TDC of the first cylinder.
    pub crank_rad: Vec<f64>,
    /// Crank speed.
    pub speed_rad_s: Vec<f64>,
    /// Starter current.
    pub current_a: Vec<f64>,
    /// Battery terminals.
    pub battery_v: Vec<f64>,
    /// Absolute pressure in the jacket.
    pub jacket_pa: Vec<f64>,
    /// Absolute pressure at the neck.
    pub neck_pa: Vec<f64>,
    /// Flow from jacket to neck.
    pub flow_m3_s: Vec<f64>,
    /// Absolute pressure of each cylinder, by place in the firing order.
    pub cylinder_pa: Vec<Vec<f64>>,
    /// Mass flow of each leak into the jacket; negative while it is pulled back.
    pub leak_kg_s: Vec<Vec<f64>>,
    /// The coolant and the accounts at the end.
    pub end: Coolant,
}

/// Compression TDCs of one cylinder.
#[derive(Clone, Debug, PartialEq)]
pub struct Passing {
    /// Place in the firing order.
    pub place: usize,
    /// Time, s.
    pub time_s: f64,
}

impl Traces {
    pub(super) fn with_capacity(vehicle: &Vehicle, steps: usize) -> Traces {
        let one = || Vec::with_capacity(steps);
        Traces {
            crank_rad: one(),
            speed_rad_s: one(),
            current_a: one(),
            battery_v: one(),
            jacket_pa: one(),
            neck_pa: one(),
            flow_m3_s: one(),
            cylinder_pa: vehicle.engine.cylinders.iter().map(|_| one()).collect(),
            leak_kg_s: vehicle.leaks.iter().map(|_| one()).collect(),
            end: Coolant::default(),
        }
    }

    pub(super) fn push(&mut self, state: &State, signals: &Signals) {
        self.crank_rad.push(state.crank_rad);
        self.speed_rad_s.push(state.speed_rad_s);
        self.current_a.push(signals.current_a);
        self.battery_v.push(signals.battery_v);
        self.jacket_pa.push(state.coolant.jacket_pa);
        self.neck_pa.push(state.coolant.neck_pa);
        self.flow_m3_s.push(state.coolant.flow_m3_s);
        for (trace, value) in self.cylinder_pa.iter_mut().zip(&state.pressure_pa) {
            trace.push(*value);
        }
        for (trace, value) in self.leak_kg_s.iter_mut().zip(&signals.leak_kg_s) {
            trace.push(*value);
        }
    }

    /// When the crank passes `angle_rad` within its period, first to last: every `period_rad` once.
    /// A crank that rocks back and forth over the angle passes it each time it goes forward.
    pub fn passings(&self, angle_rad: f64, period_rad: f64) -> Vec<f64> {
        let turns = |crank: f64| ((crank - angle_rad) / period_rad).floor();
        self.crank_rad
            .windows(2)
            .enumerate()
            .filter(|(_, w)| turns(w[1]) > turns(w[0]))
            .map(|(i, w)| {
                let target = turns(w[1]) * period_rad + angle_rad;
                (i as f64 + (target - w[0]) / (w[1] - w[0])) * STEP_S
            })
            .collect()
    }

    /// Every cylinder's compression TDCs in order of time.
    pub fn tdcs(&self, vehicle: &Vehicle) -> Vec<Passing> {
        let mut all: Vec<Passing> = Vec::new();
        for (place, c) in vehicle.engine.cylinders.iter().enumerate() {
            let times = self.passings(c.tdc_rad, CYCLE_RAD);
            all.extend(times.into_iter().map(|time_s| Passing { place, time_s }));
        }
        all.sort_by(|a, b| a.time_s.total_cmp(&b.time_s));
        all
    }

    /// Crank angle of the cycle at step `i`, in [0, 720) degrees.
    pub fn cycle_deg(&self, i: usize) -> f64 {
        let (x, _) = own_angle(self.crank_rad[i], CYCLE_RAD / 2.0);
        (x + TAU).to_degrees()
    }

    /// Value of a trace at time `t`, linear between steps, held beyond the ends.
    pub fn at(trace: &[f64], t: f64) -> f64 {
        let place = (t / STEP_S).clamp(0.0, (trace.len() - 1) as f64);
        let i = (place as usize).min(trace.len().saturating_sub(2));
        trace[i] + (trace[i + 1] - trace[i]) * (place - i as f64)
    }
}
