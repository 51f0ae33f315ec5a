//! What the solver advances.

use super::Coolant;
use crate::vehicle::MAX_LEAKS;

/// All that changes, with the cylinders in `N` lanes, and equally its rate of change.
#[derive(Clone, Copy, Debug)]
pub(super) struct State<const N: usize> {
    pub crank_rad: f64,
    pub speed_rad_s: f64,
    pub governor_nm: f64,
    pub pressure_pa: [f64; N],
    pub mass_kg: [f64; N],
    pub coolant: Coolant,
}

/// What of the state the traces keep.
#[derive(Clone, Copy, Debug)]
pub(super) struct Sights<const N: usize> {
    pub crank_rad: f64,
    pub speed_rad_s: f64,
    pub pressure_pa: [f64; N],
    pub jacket_pa: f64,
    pub neck_pa: f64,
    pub flow_m3_s: f64,
}

impl<const N: usize> Sights<N> {
    /// These moved by so much time at each rate.
    #[inline(always)]
    pub fn moved<const K: usize>(mut self, rates: [&State<N>; K], times: [f64; K]) -> Sights<N> {
        for (rate, time) in rates.into_iter().zip(times) {
            self.crank_rad += time * rate.crank_rad;
            self.speed_rad_s += time * rate.speed_rad_s;
            for i in 0..N {
                self.pressure_pa[i] += time * rate.pressure_pa[i];
            }
            self.jacket_pa += time * rate.coolant.jacket_pa;
            self.neck_pa += time * rate.coolant.neck_pa;
            self.flow_m3_s += time * rate.coolant.flow_m3_s;
        }
        self
    }
}

/// What an evaluation yields besides the rates.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Signals {
    pub current_a: f64,
    pub battery_v: f64,
    pub leak_kg_s: [f64; MAX_LEAKS],
}

impl<const N: usize> State<N> {
    /// What the traces keep of it.
    #[inline(always)]
    pub fn sights(&self) -> Sights<N> {
        Sights {
            crank_rad: self.crank_rad,
            speed_rad_s: self.speed_rad_s,
            pressure_pa: self.pressure_pa,
            jacket_pa: self.coolant.jacket_pa,
            neck_pa: self.coolant.neck_pa,
            flow_m3_s: self.coolant.flow_m3_s,
        }
    }

    /// This state moved by so much time at each rate, field by field as [`Coolant::moved`].
    #[inline(always)]
    pub fn moved<const K: usize>(&self, rates: [&State<N>; K], times: [f64; K]) -> State<N> {
        let sum = |start: f64, of: fn(&State<N>) -> f64| {
            (0..K).fold(start, |sum, k| sum + times[k] * of(rates[k]))
        };
        let lanes = |start: &[f64; N], of: fn(&State<N>) -> &[f64; N]| {
            std::array::from_fn(|i| {
                (0..K).fold(start[i], |sum, k| sum + times[k] * of(rates[k])[i])
            })
        };
        State {
            crank_rad: sum(self.crank_rad, |s| s.crank_rad),
            speed_rad_s: sum(self.speed_rad_s, |s| s.speed_rad_s),
            governor_nm: sum(self.governor_nm, |s| s.governor_nm),
            pressure_pa: lanes(&self.pressure_pa, |s| &s.pressure_pa),
            mass_kg: lanes(&self.mass_kg, |s| &s.mass_kg),
            coolant: self.coolant.moved(rates.map(|rate| &rate.coolant), times),
        }
    }
}
