//! A leak from a cylinder to the coolant jacket.
//!
//! Forward it is a gas orifice of area `A clamp((p - p_j - p_open)/p_span, 0, 1)`; backward, of area
//! `A kappa`, it draws what lies at its mouth: the gas it passed before, then coolant,
//! `Q = 0.6 A sqrt(2 dp / rho)`.
//! Limits: no film, no vapour; gas and coolant blend over a volume of 0.05 mL. A leak so large that
//! its gas would level the pressures within the solver's step is held to [`QUICKEST`], which a leak of
//! usual size never meets.

use super::SOLVER_STEP_S;
use super::orifice::Gas;
use crate::scenario::LeakSpec;
use crate::vehicle::R_AIR;

/// Discharge coefficient of a sharp edge in a liquid over that in a gas (common practice: 0.6).
const LIQUID_DISCHARGE: f64 = 0.6;
/// Most of the pressure difference that all leaks together take away in a step (chosen by us).
pub const QUICKEST: f64 = 0.5;
/// With this volume of gas at the mouth, half of what is drawn back is gas (chosen by us).
const MOUTH_M3: f64 = 0.05e-6;

/// What passes a leak at one instant; all are magnitudes.
#[derive(Clone, Copy, Debug, Default)]
pub struct LeakFlow {
    /// Gas into the jacket, kg/s.
    pub forward_kg_s: f64,
    /// Its temperature, K.
    pub forward_k: f64,
    /// Gas back into the cylinder, kg/s.
    pub back_kg_s: f64,
    /// Coolant into the cylinder, m3/s.
    pub drawn_m3_s: f64,
}

/// The jacket as the leak sees it.
#[derive(Clone, Copy, Debug)]
pub struct Mouth {
    /// Jacket pressure, Pa.
    pub jacket_pa: f64,
    /// Coolant temperature, K.
    pub coolant_k: f64,
    /// Coolant density, kg/m3.
    pub density_kg_m3: f64,
    /// Gas near the mouth, kg.
    pub gas_kg: f64,
}

impl LeakFlow {
    /// This flow with its gas held to what takes [`QUICKEST`] of the pressure difference that drives it
    /// away in a step. `give_m3_s_pa` is this leak's share of the jacket's give, over the step.
    #[inline(always)]
    pub fn held(
        mut self,
        opens_at_pa: f64,
        pressure_pa: f64,
        mouth: Mouth,
        give_m3_s_pa: f64,
    ) -> LeakFlow {
        let difference = pressure_pa - mouth.jacket_pa;
        let most = QUICKEST * give_m3_s_pa * mouth.jacket_pa / R_AIR;
        if self.forward_kg_s > 0.0 {
            let driving = difference - opens_at_pa;
            self.forward_kg_s = self.forward_kg_s.min(most * driving / self.forward_k);
        } else if difference < 0.0 {
            // Nor is more drawn in a step than lies there.
            let all_kg_s = mouth.gas_kg.max(0.0) / SOLVER_STEP_S;
            let levelling = most * -difference / mouth.coolant_k;
            self.back_kg_s = self.back_kg_s.min(levelling).min(all_kg_s);
        }
        self
    }
}

/// Flow of a leak whose cylinder holds gas at `pressure_pa` and `temperature_k`.
#[inline(always)]
pub fn flow(
    spec: &LeakSpec,
    gas: &Gas,
    pressure_pa: f64,
    temperature_k: f64,
    mouth: Mouth,
) -> LeakFlow {
    let difference = pressure_pa - mouth.jacket_pa;
    if difference > 0.0 {
        let opened = ((difference - spec.opens_at_pa) / spec.span_pa).clamp(0.0, 1.0);
        let area = spec.area_m2 * opened;
        if area == 0.0 {
            return LeakFlow::default();
        }
        let forward_kg_s = gas.mass_flow(area, pressure_pa, temperature_k, mouth.jacket_pa);
        return LeakFlow {
            forward_kg_s,
            forward_k: temperature_k,
            ..LeakFlow::default()
        };
    }
    let area = spec.area_m2 * spec.pull_back;
    if area == 0.0 || difference == 0.0 {
        return LeakFlow::default();
    }
    let gas_m3 = mouth.gas_kg * R_AIR * mouth.coolant_k / mouth.jacket_pa;
    let gas_share = gas_m3 / (gas_m3 + MOUTH_M3);
    LeakFlow {
        back_kg_s: gas_share * gas.mass_flow(area, mouth.jacket_pa, mouth.coolant_k, pressure_pa),
        drawn_m3_s: (1.0 - gas_share)
            * LIQUID_DISCHARGE
            * area
            * (-2.0 * difference / mouth.density_kg_m3).sqrt(),
        ..LeakFlow::default()
    }
}
