//! Flow of a gas through an orifice: the isentropic nozzle.
//!
//! `m' = A p_u / sqrt(R T_u) psi(p_d / p_u)`; choked for `r <= (2/(g+1))^(g/(g-1))` with
//! `psi = sqrt(g (2/(g+1))^((g+1)/(g-1)))` (ISO 9300's ideal critical flow, cited from memory), else
//! `psi = sqrt(2g/(g-1) (r^(2/g) - r^((g+1)/g)))`. `A` is the effective area, Cd times the hole's.
//! Limits: steady, one-dimensional. Above `r` = 0.99 the square root is replaced by a straight line to
//! zero, which keeps the flow's slope, and so the solver's step, finite where pressures meet. Below, a
//! table joined by cubics stands for the powers; [`Gas::subsonic`] is its plain twin.

use crate::math;
use crate::vehicle::R_AIR;

/// Above this pressure ratio the flow is linear in the difference.
const LINEAR_ABOVE: f64 = 0.99;
/// Places of the table between the critical ratio and there.
const PLACES: usize = 1024;

/// A gas with the constants of its nozzle flow.
#[derive(Clone, Debug)]
pub struct Gas {
    /// Ratio of specific heats.
    pub gamma: f64,
    critical_ratio: f64,
    choked: f64,
    linear_slope: f64,
    cells_per_ratio: f64,
    /// psi from the critical ratio to [`LINEAR_ABOVE`].
    cells: Vec<[f64; 4]>,
}

impl Gas {
    /// The gas with this ratio of specific heats.
    pub fn new(gamma: f64) -> Gas {
        let head = 2.0 / (gamma + 1.0);
        let mut gas = Gas {
            gamma,
            critical_ratio: math::pow(head, gamma / (gamma - 1.0)),
            choked: (gamma * math::pow(head, (gamma + 1.0) / (gamma - 1.0))).sqrt(),
            linear_slope: 0.0,
            cells_per_ratio: 0.0,
            cells: Vec::new(),
        };
        gas.linear_slope = gas.subsonic(LINEAR_ABOVE)[0] / (1.0 - LINEAR_ABOVE);
        let width = (LINEAR_ABOVE - gas.critical_ratio) / PLACES as f64;
        gas.cells_per_ratio = 1.0 / width;
        let node = |i: usize| gas.subsonic(gas.critical_ratio + i as f64 * width);
        gas.cells = (0..PLACES)
            .map(|i| math::cubic(width, [node(i), node(i + 1)]))
            .collect();
        gas
    }

    /// The flow function psi of the pressure ratio downstream over upstream.
    #[inline(always)]
    pub fn psi(&self, ratio: f64) -> f64 {
        if ratio <= self.critical_ratio {
            self.choked
        } else if ratio > LINEAR_ABOVE {
            self.linear_slope * (1.0 - ratio)
        } else {
            let place = (ratio - self.critical_ratio) * self.cells_per_ratio;
            // A whole number of 32 bits, which the processor makes in one instruction.
            let cell = (place as i32 as usize).min(PLACES - 1);
            math::cubic_at(&self.cells[cell], place - cell as f64)
        }
    }

    /// How steeply psi falls where the pressures meet: the steepest it ever does.
    pub fn steepest(&self) -> f64 {
        self.linear_slope
    }

    /// psi and its slope over the pressure ratio, straight from the equation of the unchoked nozzle.
    pub fn subsonic(&self, ratio: f64) -> [f64; 2] {
        let gamma = self.gamma;
        // r^(2/g) = w^2 and r^((g+1)/g) = r w with w = r^(1/g).
        let w = math::pow(ratio, 1.0 / gamma);
        let head = 2.0 * gamma / (gamma - 1.0);
        let psi = (head * (w * w - ratio * w)).sqrt();
        let w_slope = w / (gamma * ratio);
        [
            psi,
            head * (2.0 * w * w_slope - w - ratio * w_slope) / (2.0 * psi),
        ]
    }

    /// Mass flow from `upstream_pa` and `upstream_k` to the lower `downstream_pa`, kg/s.
    #[inline(always)]
    pub fn mass_flow(
        &self,
        area_m2: f64,
        upstream_pa: f64,
        upstream_k: f64,
        downstream_pa: f64,
    ) -> f64 {
        area_m2 * upstream_pa / (R_AIR * upstream_k).sqrt() * self.psi(downstream_pa / upstream_pa)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The critical pressure ratio 0.528 28 and flow function 0.684 73 of gamma 1.4: the values of
    /// any compressible-flow table (cited from memory).
    #[test]
    fn critical_values_of_air() {
        let air = Gas::new(1.4);
        assert!(
            (air.critical_ratio - 0.528_281_8).abs() < 1e-7,
            "{}",
            air.critical_ratio
        );
        assert!((air.choked - 0.684_731).abs() < 1e-6, "{}", air.choked);
    }

    #[test]
    fn the_table_is_the_nozzle() {
        let gas = Gas::new(1.38);
        for i in 0..5000 {
            let ratio =
                gas.critical_ratio + (LINEAR_ABOVE - gas.critical_ratio) * i as f64 / 5000.0;
            assert!(
                (gas.psi(ratio) - gas.subsonic(ratio)[0]).abs() < 1e-8,
                "{ratio}"
            );
        }
    }

    #[test]
    fn psi_is_continuous_and_falls_to_zero() {
        let air = Gas::new(1.38);
        for edge in [air.critical_ratio, LINEAR_ABOVE] {
            assert!((air.psi(edge - 1e-9) - air.psi(edge + 1e-9)).abs() < 1e-6);
        }
        assert_eq!(air.psi(1.0), 0.0);
        assert!(air.psi(0.9) > air.psi(0.95));
    }
}
