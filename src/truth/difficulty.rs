//! How hard a capture is to read, from what is known to lead a count astray.
//!
//! Each part runs from 0 (no obstacle) to 1 (as bad as it gets). The whole is
//!
//! `total = 1 - product(1 - w_i part_i)`
//!
//! Read `w_i part_i` as the chance that this obstacle alone trips a reader who does not look for it;
//! the obstacles are independent of each other (a long hose knows nothing of a worn ring), so that the
//! product is the chance to get past all of them. Unlike a mean, one obstacle at its worst makes a
//! capture hard whatever else is easy about it; unlike a maximum, two middling ones are worse than one;
//! and the whole stays within 0 and 1. Weights and ramps are chosen by us:
//!
//! | part | 0 | 1 | weight | why this weight |
//! |---|---|---|---|---|
//! | lag | 0.2 firing intervals | 0.8 | 0.9 | past half an interval the nearest TDC is the wrong one |
//! | noise | pulse 30 times the noise | 3 times, the least that counts as seen | 0.5 | a pulse that repeats can still be averaged out of it |
//! | sync | one mark in 720 degrees | none | 0.5 | a pair (0.5) or nothing can be called, which tempts to say more |
//! | second leak | none | two pulse trains | 0.6 | one of them is a true half of the answer |
//! | decoy | none | a hump gone by wear, each third combustion missed, a ripple ten times the noise | 0.3 | the neck does not show wear, only the eye wanders |
//! | clipping | none | a twentieth of the samples | 0.5 | the flank is cut, seldom all of it |
//!
//! A leak that shows nothing is no obstacle by lag; a reader of that capture, as of a healthy car's, has
//! to resist the decoys and the pulses that are almost seen.

use super::Witness;
use super::evidence::{LEAST_OVER_NOISE, MOST_CLIPPED};
use crate::acquisition::Recorded;
use crate::domain::{Difficulty, EngineData, Evidence, LeakTruth, Measures, Sync, highest_pulse};
use crate::math;
use crate::scenario::{FaultsSpec, Mode, Scenario};

/// Lag in firing intervals that is no obstacle, and that is as bad as it gets.
const LAG_INTERVALS: [f64; 2] = [0.2, 0.8];
/// Pulse height over noise that is no obstacle.
const CLEAR_OVER_NOISE: f64 = 30.0;
/// A second leak that passes gas unseen still bends the trace.
const HIDDEN_SECOND: f64 = 0.5;
/// Effective ring area of a sound cylinder and of one whose hump is as good as gone, m2.
const RING_AREA_M2: [f64; 2] = [0.5e-6, 4e-6];
/// Share of missed combustions that is as bad as it gets.
const MISFIRE_SHARE: f64 = 1.0 / 3.0;
/// Ripple over noise that is as bad as it gets.
const RIPPLE_OVER_NOISE: f64 = 10.0;

const WEIGHT_LAG: f64 = 0.9;
const WEIGHT_NOISE: f64 = 0.5;
const WEIGHT_SYNC: f64 = 0.5;
const WEIGHT_SECOND_LEAK: f64 = 0.6;
const WEIGHT_DECOY: f64 = 0.3;
const WEIGHT_CLIPPING: f64 = 0.5;

/// The difficulty of a capture whose evidence is known.
pub(crate) fn difficulty(
    s: &Scenario,
    plate: &EngineData,
    leaks: &[LeakTruth],
    evidence: &Evidence,
    recorded: &[Recorded],
    witness: Option<&Witness>,
) -> Difficulty {
    let strongest = highest_pulse(leaks.iter().filter(|l| l.visible));
    let parts = Difficulty {
        total: 0.0,
        lag: strongest.map_or(0.0, |l| lag(l, plate)),
        noise: noise(strongest, leaks),
        sync: match evidence.sync {
            Sync::Full => 0.0,
            Sync::Pair => 0.5,
            Sync::None => 1.0,
        },
        second_leak: second_leak(leaks),
        decoy: decoy(s, witness),
        clipping: clipping(recorded),
    };
    Difficulty {
        total: total(&parts),
        ..parts
    }
}

fn total(parts: &Difficulty) -> f64 {
    let passed: f64 = [
        WEIGHT_LAG * parts.lag,
        WEIGHT_NOISE * parts.noise,
        WEIGHT_SYNC * parts.sync,
        WEIGHT_SECOND_LEAK * parts.second_leak,
        WEIGHT_DECOY * parts.decoy,
        WEIGHT_CLIPPING * parts.clipping,
    ]
    .map(|trips| 1.0 - trips)
    .iter()
    .product();
    1.0 - passed
}

/// Where a value stands between two ends, 0 to 1.
fn ramp(value: f64, [low, high]: [f64; 2]) -> f64 {
    ((value - low) / (high - low)).clamp(0.0, 1.0)
}

/// The mean lag over the firing interval from the leaking cylinder to the next.
fn lag(leak: &LeakTruth, plate: &EngineData) -> f64 {
    let interval = plate
        .firing_place(leak.cylinder)
        .and_then(|place| plate.firing_intervals_deg.get(place));
    match (leak.lag_deg, interval) {
        (Some(lag), Some(interval)) => ramp(lag.abs() / interval, LAG_INTERVALS),
        _ => 0.0,
    }
}

/// On a scale of ratios down to the least that counts as seen, and below it down to nothing again: the
/// hardest pulses are those on the edge.
fn noise(strongest: Option<&LeakTruth>, leaks: &[LeakTruth]) -> f64 {
    let over = |l: &LeakTruth| l.pulse_over_noise.unwrap_or(0.0);
    match strongest {
        Some(leak) => {
            let over = over(leak).clamp(LEAST_OVER_NOISE, CLEAR_OVER_NOISE);
            1.0 - math::ln(over / LEAST_OVER_NOISE) / math::ln(CLEAR_OVER_NOISE / LEAST_OVER_NOISE)
        }
        None => {
            let unseen = leaks.iter().filter(|l| l.events > 0).map(over);
            (unseen.fold(0.0, f64::max) / LEAST_OVER_NOISE).min(1.0)
        }
    }
}

fn second_leak(leaks: &[LeakTruth]) -> f64 {
    match leaks.iter().filter(|l| l.visible).count() {
        2.. => 1.0,
        1 if leaks.iter().any(|l| !l.visible && l.events > 0) => HIDDEN_SECOND,
        _ => 0.0,
    }
}

/// The worst of what draws suspicion to a cylinder that passes no gas, or to no cylinder at all.
fn decoy(s: &Scenario, witness: Option<&Witness>) -> f64 {
    let FaultsSpec {
        leaks,
        worn,
        misfires,
    } = &s.faults;
    let sound = |cylinder: u32| leaks.iter().all(|l| l.cylinder != cylinder);
    let wear = worn
        .iter()
        .filter(|w| sound(w.cylinder))
        .map(|w| ramp(w.ring_area_m2, RING_AREA_M2));
    let missing = misfires
        .iter()
        .filter(|m| s.test.mode == Mode::Idle && sound(m.cylinder))
        .map(|m| (m.share / MISFIRE_SHARE).min(1.0));
    let ripple = witness.map_or(0.0, |w| w.ripple_rms / w.channel_rms.max(1e-12));
    let ripple = ramp(ripple, [1.0, RIPPLE_OVER_NOISE]);
    wear.chain(missing).fold(ripple, f64::max)
}

/// The worst channel of those that are read.
fn clipping(recorded: &[Recorded]) -> f64 {
    recorded
        .iter()
        .filter(|r| r.card.measures != Measures::Probe && !r.samples.is_empty())
        .map(|r| (r.clipped_samples as f64 / r.samples.len() as f64 / MOST_CLIPPED).min(1.0))
        .fold(0.0, f64::max)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::render::render;
    use crate::scenario::{LeakSpec, Scenario, Source, WornSpec};

    const PLAIN: &str = "
vehicle:
  engine: {cylinders: 6, firing_order: [1, 5, 3, 6, 2, 4]}
  cooling: {air_pocket: 150 mL}
faults: {leaks: [{cylinder: 3, area: 0.05 mm2, opens_at: 3 bar}]}
test: {duration: 3 s}
channels: [{sensor: neck_pressure, span: [0 kPa, 50 kPa]}, {sensor: coil_trigger, cylinder: 1}]
acquisition: {sample_rate: 5 kHz}
";

    fn of(change: impl FnOnce(&mut Scenario)) -> Difficulty {
        let drawn = Source::parse("plain", PLAIN.as_bytes()).and_then(|s| s.draw(None, 0));
        let changed = drawn.and_then(|drawn| drawn.edit(|s, _| change(s)));
        render(&changed.unwrap(), "x").truth.difficulty
    }

    fn wear(cylinder: u32) -> Vec<WornSpec> {
        let ring_area_m2 = 4e-6;
        vec![WornSpec {
            cylinder,
            ring_area_m2,
        }]
    }

    #[test]
    fn each_part_answers_to_its_cause_and_to_no_other() {
        let plain = of(|_| ());
        assert!(plain.total < 0.1, "{plain:?}");
        let moved = |change: fn(&mut Scenario), part: fn(&Difficulty) -> f64| {
            let hard = of(change);
            assert!(part(&hard) > part(&plain) + 0.2, "{hard:?}");
            assert!(hard.total > plain.total + 0.05, "{hard:?}");
            hard
        };
        let far = |s: &mut Scenario| {
            s.vehicle.cooling.path_m = 3.0;
            s.vehicle.cooling.neck_compliance_m3_pa = 1e-9;
        };
        let lag = moved(far, |d| d.lag);
        assert_eq!((lag.sync, lag.decoy), (0.0, 0.0), "{lag:?}");
        moved(|s| s.faults.leaks[0].area_m2 = 0.003e-6, |d| d.noise);
        let pair = moved(|s| s.vehicle.engine.shared_coils = true, |d| d.sync);
        assert_eq!(pair.sync, 0.5);
        let none = moved(|s| s.test.ignition_enabled = false, |d| d.sync);
        assert_eq!((none.sync, none.lag), (1.0, plain.lag));
        let again = |s: &mut Scenario| {
            let first = s.faults.leaks[0].clone();
            s.faults.leaks.push(LeakSpec {
                cylinder: 6,
                ..first
            });
        };
        assert_eq!(moved(again, |d| d.second_leak).second_leak, 1.0);
        let worn = moved(|s| s.faults.worn = wear(2), |d| d.decoy);
        assert_eq!(worn.decoy, 1.0);
        moved(|s| s.channels[0].input.range_v = 0.7, |d| d.clipping);
    }

    #[test]
    fn wear_of_the_leaking_cylinder_is_no_decoy() {
        assert_eq!(of(|s| s.faults.worn = wear(3)).decoy, 0.0);
    }

    #[test]
    fn the_whole_is_no_less_than_its_worst_part_and_never_more_than_one() {
        let all = Difficulty {
            total: 0.0,
            lag: 1.0,
            noise: 1.0,
            sync: 1.0,
            second_leak: 1.0,
            decoy: 1.0,
            clipping: 1.0,
        };
        let only_lag = Difficulty {
            lag: 1.0,
            ..Difficulty::default()
        };
        assert_eq!(total(&Difficulty::default()), 0.0);
        assert!((total(&only_lag) - WEIGHT_LAG).abs() < 1e-12);
        assert!(total(&all) > total(&only_lag) && total(&all) <= 1.0);
    }
}
