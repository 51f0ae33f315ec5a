//! All cylinders at once: the balances of [`super::cylinder`], arranged for the processor.
//!
//! A cylinder is a lane of plain arrays. Quotients, roots and powers run in loops over all lanes, which the
//! compiler turns into vector instructions; a shut valve costs nothing; openings between the same two
//! pressures share one flow function (rings, plug hole and exhaust all lead to ambient air); volume,
//! wall and valves come from tables of the crank angle. `plain` is the twin that the tests hold it against.

use super::cylinder::{BAR_TERM, HOHENBERG, QUICKEST};
use super::orifice::Gas;
use super::table::Place;
use super::valves::{Areas, ValveTable};
use super::volume::{Volume, VolumeTable};
use super::{SOLVER_STEP_S, own_angle};
use crate::math::{self, TwoFifths};
use crate::vehicle::{Engine, R_AIR, Vehicle};

/// The cylinders of an engine in up to `N` lanes. Lanes beyond the last cylinder hold gas of no volume's
/// change and no openings, which stays as it is.
pub struct Bank<const N: usize> {
    engine: Engine,
    tdc_places: [f64; N],
    volumes: Vec<VolumeTable>,
    /// Which of the volumes is whose; cylinders of one clearance share theirs.
    volume_of: [usize; N],
    valves: ValveTable,
    ring_and_plug_m2: [f64; N],
    two_fifths: TwoFifths,
    ambient_pa: f64,
    per_ambient_pa: f64,
    /// `R T` of the hottest gas on any far side.
    hottest_around: f64,
    intake: Side,
    ambient: Side,
    exhaust: Side,
    /// The openings of a cylinder are narrowed if their area times the root of `R T` exceeds this times
    /// its volume.
    most_per_m3: f64,
}

/// Gas on the far side of an opening.
#[derive(Clone, Copy)]
struct Side {
    /// Its temperature times R, J/kg.
    r_kelvin: f64,
    /// `p/sqrt(R T)`: flow into the cylinder per area and psi, kg/(s m2).
    flux: f64,
}

/// A cylinder's own gas.
struct Own {
    /// `R T`, J/kg.
    r_kelvin: f64,
    /// `p/sqrt(R T)`, kg/(s m2).
    flux: f64,
}

/// Areas, m2.
struct Openings {
    ring_and_plug: f64,
    exhaust: f64,
    intake: f64,
}

/// What goes into the cylinders besides the openings of each, a lane a cylinder.
#[derive(Clone, Copy)]
pub struct Extra<const N: usize> {
    /// Gas, kg/s.
    pub mass: [f64; N],
    /// Its mass flow times R times its temperature upstream, W.
    pub enthalpy_w: [f64; N],
    /// Heat, W.
    pub heat_w: [f64; N],
}

/// The crank and the gas at one instant.
#[derive(Clone, Copy)]
#[allow(missing_docs)]
pub struct Now<'a, const N: usize> {
    pub crank_rad: f64,
    pub speed_rad_s: f64,
    pub pressure_pa: &'a [f64; N],
    pub mass_kg: &'a [f64; N],
}

impl Side {
    fn new(pressure_pa: f64, kelvin: f64) -> Side {
        Side {
            r_kelvin: R_AIR * kelvin,
            flux: pressure_pa / (R_AIR * kelvin).sqrt(),
        }
    }
}

impl<const N: usize> Bank<N> {
    /// The cylinders of a vehicle that has no more than `N`.
    pub fn new(vehicle: &Vehicle, gas: &Gas) -> Bank<N> {
        let engine = &vehicle.engine;
        let mut bank = Bank {
            tdc_places: [0.0; N],
            volumes: Vec::new(),
            volume_of: [0; N],
            valves: ValveTable::new(&engine.valves),
            ring_and_plug_m2: [0.0; N],
            two_fifths: TwoFifths::new(),
            ambient_pa: vehicle.ambient_pa,
            per_ambient_pa: 1.0 / vehicle.ambient_pa,
            hottest_around: R_AIR * engine.intake_k.max(engine.exhaust_k),
            intake: Side::new(engine.intake_pa, engine.intake_k),
            ambient: Side::new(vehicle.ambient_pa, engine.intake_k),
            exhaust: Side::new(vehicle.ambient_pa, engine.exhaust_k),
            most_per_m3: QUICKEST / (gas.gamma * gas.steepest() * SOLVER_STEP_S),
            engine: engine.clone(),
        };
        let mut clearances: Vec<f64> = Vec::new();
        for (i, c) in engine.cylinders.iter().enumerate() {
            bank.tdc_places[i] = c.tdc_rad * Place::PER_RAD;
            bank.ring_and_plug_m2[i] = c.ring_area_m2 + c.plug_hole_m2;
            let known = clearances.iter().position(|m3| *m3 == c.clearance_m3);
            bank.volume_of[i] = known.unwrap_or_else(|| {
                clearances.push(c.clearance_m3);
                bank.volumes.push(VolumeTable::new(engine, c.clearance_m3));
                clearances.len() - 1
            });
        }
        bank
    }

    /// Volume of one cylinder at this crank angle.
    pub fn volume(&self, lane: usize, crank_rad: f64) -> Volume {
        let (x, _) = own_angle(crank_rad, self.engine.cylinders[lane].tdc_rad);
        self.volumes[self.volume_of[lane]].at(x)
    }

    #[inline(always)]
    fn place(&self, lane: usize, crank_rad: f64) -> Place {
        Place::new(crank_rad * Place::PER_RAD - self.tdc_places[lane])
    }

    /// Temperature in a lane, K.
    #[inline(always)]
    pub fn kelvin(&self, lane: usize, now: Now<N>) -> f64 {
        let volume = self.volumes[self.volume_of[lane]].at_place(self.place(lane, now.crank_rad));
        now.pressure_pa[lane] * volume.m3 / (now.mass_kg[lane] * R_AIR)
    }

    /// The rates of pressure (Pa/s) and mass (kg/s) in every lane, and the torque of the gas on the crank, N m.
    #[inline(always)]
    pub fn rates(
        &self,
        gas: &Gas,
        now: Now<N>,
        extra: &Extra<N>,
        pressure_rates: &mut [f64; N],
        mass_rates: &mut [f64; N],
    ) -> f64 {
        let engine = &self.engine;
        let piston_speed = 2.0 * engine.crank_radius_m * now.speed_rad_s.abs() / math::PI;
        let speed_root = self.two_fifths.of(piston_speed + 1.4);
        let coefficient = -HOHENBERG * (speed_root * speed_root);
        let mut torque_nm = 0.0;
        for i in 0..engine.cylinders.len().min(N) {
            let place = self.place(i, now.crank_rad);
            let volume = self.volumes[self.volume_of[i]].at_place(place);
            let (p, m, v) = (now.pressure_pa[i], now.mass_kg[i], volume.m3);
            // One quotient for all that is divided by mass or volume.
            let over_both = 1.0 / (m * v);
            let own = Own {
                r_kelvin: p * (v * v) * over_both,
                flux: (p * (m * m) * over_both).sqrt(),
            };
            let areas = self.narrowed(i, self.valves.at(place), v, own.r_kelvin);
            let (mut mass, mut enthalpy_w) = (extra.mass[i], extra.enthalpy_w[i]);
            let mut add = |flow: f64, r_kelvin: f64| {
                mass += flow;
                enthalpy_w += flow * r_kelvin;
            };
            if p > self.ambient_pa {
                let area = areas.ring_and_plug + areas.exhaust;
                add(
                    -area * own.flux * gas.psi(self.ambient_pa / p),
                    own.r_kelvin,
                );
            } else {
                let psi = gas.psi(p * self.per_ambient_pa);
                add(
                    areas.ring_and_plug * self.ambient.flux * psi,
                    self.ambient.r_kelvin,
                );
                add(
                    areas.exhaust * self.exhaust.flux * psi,
                    self.exhaust.r_kelvin,
                );
            }
            if areas.intake > 0.0 {
                let intake_pa = engine.intake_pa;
                if p > intake_pa {
                    add(
                        -areas.intake * own.flux * gas.psi(intake_pa / p),
                        own.r_kelvin,
                    );
                } else {
                    add(
                        areas.intake * self.intake.flux * gas.psi(p / intake_pa),
                        self.intake.r_kelvin,
                    );
                }
            }
            let power = self.two_fifths.of(p * m * (R_AIR * BAR_TERM));
            let warmer_k = own.r_kelvin * (1.0 / R_AIR) - engine.wall_k;
            let heat_w = extra.heat_w[i] + coefficient * volume.wall_term * power * warmer_k;
            let work_w = p * volume.slope * now.speed_rad_s;
            mass_rates[i] = mass;
            pressure_rates[i] = (engine.gamma * (enthalpy_w - work_w)
                + (engine.gamma - 1.0) * heat_w)
                * (m * over_both);
            torque_nm += (p - self.ambient_pa) * volume.slope;
        }
        torque_nm
    }

    /// The openings of a lane, narrowed if together they would level the pressures within the solver's step.
    #[inline(always)]
    fn narrowed(&self, lane: usize, valves: Areas, m3: f64, r_kelvin: f64) -> Openings {
        let open = Openings {
            ring_and_plug: self.ring_and_plug_m2[lane],
            exhaust: valves.exhaust_m2,
            intake: valves.intake_m2,
        };
        let total = open.ring_and_plug + open.exhaust + open.intake;
        let most = self.most_per_m3 * m3;
        let hottest = r_kelvin.max(self.hottest_around);
        if total * total * hottest <= most * most {
            return open;
        }
        let share = most / (total * hottest.sqrt());
        Openings {
            ring_and_plug: open.ring_and_plug * share,
            exhaust: open.exhaust * share,
            intake: open.intake * share,
        }
    }
}
