//! What a careful reader can say from a capture: which pulses can be told, and how well the
//! synchronising traces tie them to a cylinder.

use crate::acquisition::Recorded;
use crate::domain::{
    Call, CylinderSet, EngineData, Evidence, LeakTruth, Measures, Sync, highest_pulse,
};
use crate::scenario::{Mode, Scenario, SensorSpec};
use crate::simulation::Traces;
use crate::vehicle::Vehicle;

/// A pulse is told from noise of a third of its height (chosen by us; it repeats every cycle).
pub(super) const LEAST_OVER_NOISE: f64 = 3.0;
/// A pulse smaller than this share of the largest leak's hides beside it (chosen by us).
const LEAST_SHARE: f64 = 0.15;
/// A channel that clips more than this share of its samples is no sync.
pub(super) const MOST_CLIPPED: f64 = 0.05;

/// Amplitude of the water pump's ripple at the neck, Pa: the column's inertance and resistance
/// in series with both compliances, at the mean speed.
pub(crate) fn pump_ripple_pa(vehicle: &Vehicle, traces: &Traces) -> f64 {
    let idle = match vehicle.mode {
        Mode::Idle => &vehicle.idle,
        Mode::Cranking => return 0.0,
    };
    let c = &vehicle.cooling;
    let speed = traces.speed_rad_s.iter().sum::<f64>() / traces.speed_rad_s.len() as f64;
    let w = idle.pump_ripple_per_turn * speed;
    let gas = |volume: f64| volume / (c.polytropic * vehicle.ambient_pa);
    let neck = c.neck_compliance_m3_pa + gas(c.air_pocket_m3);
    let jacket = c.jacket_compliance_m3_pa + c.liquid_m3 / c.bulk_modulus_pa + gas(c.bubbles_m3);
    let inertance = c.density_kg_m3 * c.path_m / c.path_area_m2;
    let reactance = w * inertance - (1.0 / neck + 1.0 / jacket) / w;
    let impedance = (c.laminar_resistance * c.laminar_resistance + reactance * reactance).sqrt();
    idle.pump_ripple_pa / (w * neck * impedance)
}

/// Decides which leaks' pulses can be told, and notes their height over the noise.
pub(crate) fn judge_visibility(leaks: &mut [LeakTruth], plate: &EngineData, noise_rms: f64) {
    let largest = highest_pulse(leaks.iter());
    let largest = largest.map(|l| (l.pulse_height.unwrap_or(0.0), l.lag_deg));
    let Some((largest, largest_lag)) = largest else {
        return;
    };
    let half_interval = 360.0 / plate.cylinders as f64;
    for leak in leaks {
        let Some(height) = leak.pulse_height else {
            continue;
        };
        let over_noise = height / noise_rms.max(1e-12);
        // All leaks share one path, so that a pulse found at quite another lag is another's.
        let own_pulse = match (leak.lag_deg, largest_lag) {
            (Some(own), Some(other)) => (own - other).abs() < half_interval,
            _ => false,
        };
        leak.pulse_over_noise = Some(over_noise);
        leak.visible =
            own_pulse && over_noise >= LEAST_OVER_NOISE && height >= LEAST_SHARE * largest;
    }
}

/// What the capture supports.
pub(crate) fn evidence(
    s: &Scenario,
    plate: &EngineData,
    leaks: &[LeakTruth],
    has_neck_sensor: bool,
    recorded: &[Recorded],
) -> Evidence {
    let pick = |visible: bool| -> CylinderSet {
        let leaks = leaks.iter().filter(|l| l.visible == visible);
        leaks.map(|l| l.cylinder).collect()
    };
    let (visible, hidden) = (pick(true), pick(false));
    let (sync, sync_reason) = sync(s, plate, recorded);
    let mut reasons = vec![sync_reason];
    for leak in leaks.iter().filter(|l| !l.visible) {
        reasons.push(hidden_reason(leak));
    }
    let companion = |cylinder| {
        plate
            .companion(cylinder)
            .map(|other| CylinderSet::from([cylinder, other]))
    };
    let one = visible.only();
    let supported = match sync {
        _ if visible.is_empty() && !has_neck_sensor => {
            reasons.push("No sensor sits at the neck, so that a leak could not show.".into());
            vec![Call::Unsure, Call::NoLeak]
        }
        _ if visible.is_empty() && hidden.is_empty() => vec![Call::NoLeak],
        // Nothing tells this capture from a healthy car's, so that both readings of it are right.
        _ if visible.is_empty() => vec![Call::Unsure, Call::NoLeak],
        Sync::None => vec![Call::Unsure],
        Sync::Full => vec![Call::All(visible)],
        Sync::Pair => match (one, visible.first().and_then(companion)) {
            (Some(_), Some(pair)) => vec![Call::OneOf(pair)],
            (Some(_), None) => vec![Call::All(visible)],
            // Pulses on both marks of a shared coil: both of its cylinders leak.
            (None, Some(pair)) if pair == visible => vec![Call::All(visible)],
            _ => {
                reasons.push(
                    "Two leaks on a shared coil fit two sets of cylinders, half a cycle apart."
                        .into(),
                );
                vec![Call::Unsure]
            }
        },
    };
    Evidence {
        sync,
        visible,
        hidden,
        supported,
        reasons,
    }
}

fn hidden_reason(leak: &LeakTruth) -> String {
    let c = leak.cylinder;
    match (leak.events, leak.pulse_over_noise) {
        (0, _) if leak.plug_out => {
            format!(
                "The plug of cylinder {c} is out: no pressure builds up to drive gas through its leak."
            )
        }
        (0, _) => format!(
            "The leak in cylinder {c} passed no gas: it lifts {:.1} bar above the jacket, and the cylinder stayed below.",
            leak.opens_at_bar
        ),
        (_, Some(ratio)) if ratio < LEAST_OVER_NOISE => {
            format!("The pulses of cylinder {c} are {ratio:.1} times the noise, too small to tell.")
        }
        (_, Some(_)) => format!("The pulses of cylinder {c} hide beside a larger leak's."),
        (_, None) => format!("The leak in cylinder {c} passed gas, but no sensor felt it."),
    }
}

/// How well the channels tie a pulse to a cylinder, and why.
fn sync(s: &Scenario, plate: &EngineData, recorded: &[Recorded]) -> (Sync, String) {
    let usable = |r: &Recorded| (r.clipped_samples as f64) < MOST_CLIPPED * r.samples.len() as f64;
    let mut best = (
        Sync::None,
        "No trace marks a cylinder, so that a pulse cannot be tied to one.".to_string(),
    );
    let rank = |s: Sync| match s {
        Sync::Full => 2,
        Sync::Pair => 1,
        Sync::None => 0,
    };
    for (channel, recorded) in s.channels.iter().zip(recorded).filter(|(_, r)| usable(r)) {
        let found = match &channel.sensor {
            SensorSpec::CoilTrigger(coil) if s.test.ignition_enabled => {
                match s.vehicle.engine.shared_coils {
                    false => (
                        Sync::Full,
                        format!(
                            "The coil of cylinder {} fires once in 720 degrees.",
                            coil.cylinder
                        ),
                    ),
                    true => (
                        Sync::Pair,
                        format!(
                            "The coil of cylinder {} is shared and fires once in 360 degrees.",
                            coil.cylinder
                        ),
                    ),
                }
            }
            SensorSpec::CylinderPressure(sensor) => (
                Sync::Full,
                format!(
                    "The transducer in cylinder {} shows its compression once in 720 degrees.",
                    sensor.cylinder
                ),
            ),
            SensorSpec::StarterCurrent(_) | SensorSpec::BatteryVoltage(_)
                if s.test.mode == Mode::Cranking =>
            {
                missing_humps(&s.test.plugs_out, plate)
            }
            SensorSpec::Probe(_) if recorded.card.measures == Measures::Probe => {
                (Sync::Full, "A truth probe shows the crank.".into())
            }
            _ => continue,
        };
        if rank(found.0) > rank(best.0) {
            best = found;
        }
    }
    best
}

/// A hump is missing for each plug that is out; the pattern names cylinders only if no turn of the
/// crank short of a full cycle maps it onto itself.
fn missing_humps(plugs_out: &[u32], plate: &EngineData) -> (Sync, String) {
    let humps: Vec<(f64, bool)> = plate
        .firing_order
        .iter()
        .filter_map(|c| Some((plate.tdc_deg(*c)?, plugs_out.contains(c))))
        .collect();
    let same = |turn: f64| {
        humps.iter().all(|(at, out)| {
            humps.iter().any(|(other, o)| {
                let apart = (at + turn - other).rem_euclid(720.0);
                apart.min(720.0 - apart) < 1e-6 && o == out
            })
        })
    };
    let turns: Vec<f64> = humps
        .iter()
        .map(|h| h.0 - humps[0].0)
        .filter(|t| *t > 0.0 && same(*t))
        .collect();
    let list = plugs_out
        .iter()
        .map(u32::to_string)
        .collect::<Vec<_>>()
        .join(" and ");
    match turns[..] {
        [] if !plugs_out.is_empty() => (
            Sync::Full,
            format!("The missing hump marks cylinder {list}."),
        ),
        [turn] if !plugs_out.is_empty() && (turn - 360.0).abs() < 1e-6 => (
            Sync::Pair,
            format!("The humps missing for cylinders {list} repeat every 360 degrees."),
        ),
        _ => (
            Sync::None,
            "All humps look alike, so that none marks a cylinder.".into(),
        ),
    }
}
