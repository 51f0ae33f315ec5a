//! What a run leaves behind: noiseless traces, a value a step.

use super::state::{Sights, Signals};
use super::{Coolant, STEP_S, own_angle};
use crate::math::{self, TAU};
use crate::vehicle::{CYCLE_RAD, Vehicle};

/// Noiseless traces in SI units; value `i` stands at `i * STEP_S` from the start of the capture.
#[derive(Clone, Debug, Default)]
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
    /// Empties all traces and makes them those of this vehicle, with room for so many values each. What
    /// room there was is used again.
    pub(super) fn restart(&mut self, vehicle: &Vehicle, values: usize) {
        self.cylinder_pa
            .resize_with(vehicle.engine.cylinders.len(), Vec::new);
        self.leak_kg_s.resize_with(vehicle.leaks.len(), Vec::new);
        let single = [
            &mut self.crank_rad,
            &mut self.speed_rad_s,
            &mut self.current_a,
            &mut self.battery_v,
            &mut self.jacket_pa,
            &mut self.neck_pa,
            &mut self.flow_m3_s,
        ];
        let several = self.cylinder_pa.iter_mut().chain(&mut self.leak_kg_s);
        for trace in single.into_iter().chain(several) {
            trace.clear();
            trace.reserve(values);
        }
    }

    #[inline(always)]
    pub(super) fn push<const N: usize>(&mut self, state: &Sights<N>, signals: &Signals) {
        self.crank_rad.push(state.crank_rad);
        self.speed_rad_s.push(state.speed_rad_s);
        self.current_a.push(signals.current_a);
        self.battery_v.push(signals.battery_v);
        self.jacket_pa.push(state.jacket_pa);
        self.neck_pa.push(state.neck_pa);
        self.flow_m3_s.push(state.flow_m3_s);
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
        let target = |turn: f64| turn * period_rad + angle_rad;
        let mut turn = match self.crank_rad.first() {
            Some(start) => ((start - angle_rad) / period_rad).floor(),
            None => return Vec::new(),
        };
        let (mut here, mut next) = (target(turn), target(turn + 1.0));
        let mut passings = Vec::new();
        for (i, w) in self.crank_rad.windows(2).enumerate() {
            if (here..next).contains(&w[1]) {
                continue;
            }
            let forward = w[1] >= next;
            turn = ((w[1] - angle_rad) / period_rad).floor();
            (here, next) = (target(turn), target(turn + 1.0));
            if forward {
                passings.push((i as f64 + (here - w[0]) / (w[1] - w[0])) * STEP_S);
            }
        }
        passings
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

    /// Fills `block` with a trace at the times of the samples from number `first` on, a sample every
    /// `1/rate_hz`: linear between steps, the last value held.
    pub fn sample(trace: &[f64], rate_hz: f64, first: u64, block: &mut [f64]) {
        let steps_a_sample = 1.0 / (rate_hz * STEP_S);
        let start = first as f64 * steps_a_sample;
        for (i, value) in (0_u32..).zip(block) {
            let (step, share) = math::whole_and_share(start + f64::from(i) * steps_a_sample);
            *value = match trace.get(step..step + 2) {
                Some(ends) => ends[0] + (ends[1] - ends[0]) * share,
                None => trace[trace.len() - 1],
            };
        }
    }

    /// The trace as it arrives so much later, a value a step; the first value until then.
    pub fn delayed(trace: &[f64], delay_s: f64) -> Vec<f64> {
        let steps = delay_s / STEP_S;
        let whole = steps.ceil();
        let share = whole - steps;
        let ahead = (whole as usize).min(trace.len());
        let mut delayed = vec![trace[0]; ahead];
        let pairs = trace.windows(2).take(trace.len() - ahead);
        delayed.extend(pairs.map(|w| w[0] + (w[1] - w[0]) * share));
        // Without a delay the last value has no next.
        delayed.resize(trace.len(), trace[trace.len() - 1]);
        delayed
    }

    /// Value of a trace at time `t`, linear between steps, held beyond the ends.
    pub fn at(trace: &[f64], t: f64) -> f64 {
        let place = (t / STEP_S).clamp(0.0, (trace.len() - 1) as f64);
        let i = (place as usize).min(trace.len().saturating_sub(2));
        trace[i] + (trace[i + 1] - trace[i]) * (place - i as f64)
    }
}
