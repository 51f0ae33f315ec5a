//! The coolant: a jacket and a neck joined by a column.
//!
//! `dp_j/dt = (gas in - q - drawn) / (C_j + V_liq/K + V_gas/(n p_j))`
//! `dp_n/dt = (q + gas arriving + swelling - relief) / (C_n + V_air/(n p_n))`
//! `dq/dt = (p_j - p_n + pump - R_1 q - R_2 q|q|) / I`, inertance `I = rho L/A`.
//! Gas enters hot and cools with one time constant, drifts to the neck with another, and all gas
//! volumes are squeezed polytropically. What leaves the jacket takes its share by mass of the volume with
//! it, so that no volume is left without gas, nor gas without volume. The cap is an orifice that passes
//! the pocket's air, and coolant once the air is gone; below ambient a relief cap lets air back in.
//! Limits: two lumps, rigid but for the compliances, no boiling, constant temperature.

use super::SOLVER_STEP_S;
use super::leak::LeakFlow;
use super::orifice::Gas;
use crate::scenario::{CapSpec, CapState, CoolingSpec};
use crate::vehicle::{MAX_LEAKS, R_AIR};

/// The relief valve opens fully over this much pressure, Pa (chosen by us).
const RELIEF_SPAN_PA: f64 = 15e3;
/// The cap's other valve lets air back in below ambient: it opens after this much vacuum, and fully after
/// twice as much, Pa (common practice: some hundredths of a bar).
const VACUUM_PA: f64 = 5e3;
/// Most of a pressure difference that the cap takes away in a step (chosen by us; see
/// [`QUICKEST`](super::leak::QUICKEST)).
const QUICKEST: f64 = 0.5;
/// With this much air left under the cap, half of what leaves is coolant (chosen by us).
const FOAM_M3: f64 = 2e-6;
/// Discharge coefficient for coolant leaving the cap (common practice: 0.6).
const LIQUID_DISCHARGE: f64 = 0.6;

/// The state of the coolant, and equally its rate of change.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Coolant {
    /// Absolute pressure in the jacket, Pa.
    pub jacket_pa: f64,
    /// Absolute pressure at the neck, Pa.
    pub neck_pa: f64,
    /// Flow from jacket to neck, m3/s.
    pub flow_m3_s: f64,
    /// All gas in the jacket, m3.
    pub jacket_gas_m3: f64,
    /// What of it is there only because it is still hot, m3.
    pub hot_m3: f64,
    /// The gas trapped in the jacket from the start, which stays: its mass times R T, J.
    pub bubbles_j: f64,
    /// Air and gas under the neck, m3.
    pub pocket_m3: f64,
    /// Combustion gas in that pocket, kg.
    pub pocket_kg: f64,
    /// Combustion gas let out by the cap, kg.
    pub relieved_kg: f64,
    /// Coolant let out by the cap, m3.
    pub spilt_m3: f64,
    /// What the warming coolant has grown by, m3.
    pub swollen_m3: f64,
    /// The account of each leak.
    pub leaks: [LeakAccount; MAX_LEAKS],
}

/// What passed one leak so far, and equally its rate.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct LeakAccount {
    /// Gas of this leak still in the jacket, kg.
    pub mouth_kg: f64,
    /// Gas into the jacket, kg.
    pub in_kg: f64,
    /// Gas pulled back, kg.
    pub back_kg: f64,
    /// Coolant drawn into the cylinder, m3.
    pub drawn_m3: f64,
}

/// What drives the coolant besides the leaks.
#[derive(Clone, Copy, Debug)]
pub struct Drive {
    /// Pressure the pump adds along the column, Pa.
    pub pump_pa: f64,
    /// Pressure rise of the warming coolant, Pa/s.
    pub rise_pa_s: f64,
    /// Ambient pressure, Pa.
    pub ambient_pa: f64,
    /// Coolant temperature, K.
    pub coolant_k: f64,
}

impl Coolant {
    /// At rest at one pressure.
    pub fn at_rest(spec: &CoolingSpec, ambient_pa: f64, start_gauge_pa: f64) -> Coolant {
        let pressure_pa = ambient_pa + start_gauge_pa;
        Coolant {
            jacket_pa: pressure_pa,
            neck_pa: pressure_pa,
            jacket_gas_m3: spec.bubbles_m3,
            bubbles_j: pressure_pa * spec.bubbles_m3,
            pocket_m3: spec.air_pocket_m3,
            ..Coolant::default()
        }
    }

    /// This state after `dt` at `rate`.
    pub fn after(&self, rate: &Coolant, dt: f64) -> Coolant {
        self.moved([rate], [dt])
    }

    /// This state moved by so much time at each rate. Written out field by field: a copy that is changed
    /// afterwards would cost the solver a tenth of its time.
    #[inline(always)]
    pub(super) fn moved<const K: usize>(&self, rates: [&Coolant; K], times: [f64; K]) -> Coolant {
        macro_rules! moved {
            ($($field:tt)+) => {{
                let mut value = self.$($field)+;
                for k in 0..K {
                    value += times[k] * rates[k].$($field)+;
                }
                value
            }};
        }
        let mut leaks = [LeakAccount::default(); MAX_LEAKS];
        for (l, leak) in leaks.iter_mut().enumerate() {
            *leak = LeakAccount {
                mouth_kg: moved!(leaks[l].mouth_kg),
                in_kg: moved!(leaks[l].in_kg),
                back_kg: moved!(leaks[l].back_kg),
                drawn_m3: moved!(leaks[l].drawn_m3),
            };
        }
        Coolant {
            jacket_pa: moved!(jacket_pa),
            neck_pa: moved!(neck_pa),
            flow_m3_s: moved!(flow_m3_s),
            jacket_gas_m3: moved!(jacket_gas_m3),
            hot_m3: moved!(hot_m3),
            bubbles_j: self.bubbles_j,
            pocket_m3: moved!(pocket_m3),
            pocket_kg: moved!(pocket_kg),
            relieved_kg: moved!(relieved_kg),
            spilt_m3: moved!(spilt_m3),
            swollen_m3: moved!(swollen_m3),
            leaks,
        }
    }

    /// Volume that the jacket takes up per pressure, m3/Pa: hoses, coolant and gas.
    #[inline(always)]
    pub fn jacket_give(&self, spec: &CoolingSpec) -> f64 {
        spec.jacket_compliance_m3_pa
            + spec.liquid_m3 / spec.bulk_modulus_pa
            + self.jacket_gas_m3 / (spec.polytropic * self.jacket_pa)
    }

    /// Volume that the neck takes up per pressure, m3/Pa: hoses, tank and air pocket.
    #[inline(always)]
    pub fn neck_give(&self, spec: &CoolingSpec) -> f64 {
        spec.neck_compliance_m3_pa + self.pocket_m3 / (spec.polytropic * self.neck_pa)
    }

    /// The rate of change of this state.
    #[inline(always)]
    pub fn rate(
        &self,
        spec: &CoolingSpec,
        cap: &CapSpec,
        air: &Gas,
        flows: &[LeakFlow],
        drive: Drive,
    ) -> Coolant {
        let mouths_kg: f64 = self.leaks[..flows.len()].iter().map(|l| l.mouth_kg).sum();
        let cold_volume = R_AIR * drive.coolant_k;
        let jacket_kg = self.bubbles_j / cold_volume + mouths_kg;
        // Each quotient once, for the processor's sake.
        let (per_jacket_pa, per_neck_pa) = (1.0 / self.jacket_pa, 1.0 / self.neck_pa);
        let per_polytropic = 1.0 / spec.polytropic;
        let per_jacket_kg = 1.0 / jacket_kg;
        let per_drift_s = 1.0 / spec.drift_s;
        let mut gas_in_m3_s = -self.hot_m3 / spec.gas_cooling_s;
        let mut hot_m3_s = gas_in_m3_s;
        let mut drawn_m3_s = 0.0;
        let mut drifting_kg_s = 0.0;
        let mut leaks = [LeakAccount::default(); MAX_LEAKS];
        for (i, flow) in flows.iter().enumerate() {
            let drift = self.leaks[i].mouth_kg * per_drift_s;
            let arriving = flow.forward_kg_s * R_AIR * per_jacket_pa;
            let leaving = (flow.back_kg_s + drift) * per_jacket_kg;
            hot_m3_s += arriving * (flow.forward_k - drive.coolant_k) - leaving * self.hot_m3;
            gas_in_m3_s += arriving * flow.forward_k - leaving * self.jacket_gas_m3;
            drawn_m3_s += flow.drawn_m3_s;
            drifting_kg_s += drift;
            leaks[i] = LeakAccount {
                mouth_kg: flow.forward_kg_s - flow.back_kg_s - drift,
                in_kg: flow.forward_kg_s,
                back_kg: flow.back_kg_s,
                drawn_m3: flow.drawn_m3_s,
            };
        }
        let jacket_pa_s = (gas_in_m3_s - self.flow_m3_s - drawn_m3_s) / self.jacket_give(spec);
        let squeeze = jacket_pa_s * per_polytropic * per_jacket_pa;

        let pocket_give = self.pocket_m3 * per_polytropic * per_neck_pa;
        let neck_give = spec.neck_compliance_m3_pa + pocket_give;
        let vent = self.vent(spec, cap, air, drive);
        let arriving_m3_s = drifting_kg_s * cold_volume * per_neck_pa;
        let vented_m3_s = vent.gas_kg_s * cold_volume * per_neck_pa;
        let swelling_m3_s = drive.rise_pa_s * neck_give;
        let neck_pa_s =
            (self.flow_m3_s + arriving_m3_s + swelling_m3_s - vented_m3_s - vent.coolant_m3_s)
                / neck_give;

        let q = self.flow_m3_s;
        let (laminar, quadratic) = (spec.laminar_resistance, spec.quadratic_resistance * q.abs());
        let resistance_pa = (laminar + quadratic) * q;
        // A column so tight that it settles within the solver's step settles in a step instead.
        let inertance = (spec.density_kg_m3 * spec.path_m / spec.path_area_m2)
            .max((laminar + 2.0 * quadratic) * SOLVER_STEP_S);
        let driving_pa = self.jacket_pa - self.neck_pa + drive.pump_pa - resistance_pa;
        Coolant {
            jacket_pa: jacket_pa_s,
            neck_pa: neck_pa_s,
            flow_m3_s: driving_pa / inertance,
            jacket_gas_m3: gas_in_m3_s - self.jacket_gas_m3 * squeeze,
            hot_m3: hot_m3_s - self.hot_m3 * squeeze,
            bubbles_j: 0.0,
            pocket_m3: arriving_m3_s - vented_m3_s - pocket_give * neck_pa_s,
            pocket_kg: drifting_kg_s - vent.combustion_kg_s,
            relieved_kg: vent.combustion_kg_s,
            spilt_m3: vent.coolant_m3_s,
            swollen_m3: swelling_m3_s,
            leaks,
        }
    }

    #[inline(always)]
    fn vent(&self, spec: &CoolingSpec, cap: &CapSpec, air: &Gas, drive: Drive) -> Vent {
        let over_pa = self.neck_pa - drive.ambient_pa;
        let area = match cap.state {
            CapState::Sealed => 0.0,
            CapState::Relief => {
                let lifted = (over_pa - cap.relief_gauge_pa) / RELIEF_SPAN_PA;
                let drawn = (-over_pa - VACUUM_PA) / VACUUM_PA;
                cap.area_m2 * lifted.max(drawn).clamp(0.0, 1.0)
            }
            CapState::Open => cap.area_m2,
        };
        if area == 0.0 || over_pa == 0.0 {
            return Vent::default();
        }
        let most_m3_s = QUICKEST / SOLVER_STEP_S * over_pa.abs() * self.neck_give(spec);
        let most_kg_s = most_m3_s * self.neck_pa / (R_AIR * drive.coolant_k);
        if over_pa < 0.0 {
            let gas_kg_s = air.mass_flow(area, drive.ambient_pa, drive.coolant_k, self.neck_pa);
            return Vent {
                gas_kg_s: -gas_kg_s.min(most_kg_s),
                ..Vent::default()
            };
        }
        let air_share = self.pocket_m3 / (self.pocket_m3 + FOAM_M3);
        let gas_kg_s = air_share
            * air
                .mass_flow(area, self.neck_pa, drive.coolant_k, drive.ambient_pa)
                .min(most_kg_s);
        let pocket_total_kg = self.neck_pa * self.pocket_m3 / (R_AIR * drive.coolant_k);
        Vent {
            gas_kg_s,
            combustion_kg_s: gas_kg_s * (self.pocket_kg / pocket_total_kg).min(1.0),
            coolant_m3_s: (1.0 - air_share)
                * LIQUID_DISCHARGE
                * area
                * (2.0 * over_pa / spec.density_kg_m3).sqrt(),
        }
    }
}

/// What leaves at the cap; negative gas is air drawn in.
#[derive(Clone, Copy, Debug, Default)]
struct Vent {
    gas_kg_s: f64,
    combustion_kg_s: f64,
    coolant_m3_s: f64,
}
