//! The truth of a capture, measured on what the simulation did and what the sensors could see of it.

mod difficulty;
mod events;
mod evidence;

use crate::acquisition::{Recorded, ideal};
use crate::domain::{ChannelTruth, GasAccount, TRUTH_FORMAT, Tdc};
use crate::domain::{EngineData, LeakTruth, Truth};
use crate::scenario::{ChannelSpec, Drawn, SensorSpec};
use crate::sensors::Scene;

/// Neck sensor by which a capture is judged.
pub(crate) struct Witness<'a> {
    /// Pressure where the sensor sits, a value a step of the traces, Pa.
    pub arrived_pa: &'a [f64],
    /// What the channel would show without noise, at the same times, in its unit; turned so that a
    /// rise of pressure is a rise here, however the sensor is wired.
    pub ideal: Vec<f64>,
    /// Its noise with the water pump's ripple, root mean square, in the same unit.
    pub noise_rms: f64,
    /// The ripple alone, root mean square.
    pub ripple_rms: f64,
    /// The noise alone, root mean square.
    pub channel_rms: f64,
}

/// Measures the truth of one capture; `recorded` holds its channels in the scenario's order.
pub fn measure(
    name: &str,
    drawn: &Drawn,
    scene: Scene,
    plate: &EngineData,
    recorded: &[Recorded],
) -> Truth {
    let s = &drawn.scenario;
    let witness = witness(&s.channels, scene, recorded);
    let passings = scene.traces.tdcs(scene.vehicle);
    let number = |place: usize| scene.vehicle.engine.cylinders[place].number;
    let tdcs = passings.iter().map(|p| Tdc {
        cylinder: number(p.place),
        time_s: p.time_s,
    });
    let events = events::events(scene, &passings, witness.as_ref());
    let mut leaks: Vec<LeakTruth> = (0..scene.vehicle.leaks.len())
        .map(|l| events::account(scene, l, &events))
        .collect();
    if let Some(witness) = &witness {
        evidence::judge_visibility(&mut leaks, plate, witness.noise_rms);
    }
    let evidence = evidence::evidence(s, plate, &leaks, witness.is_some(), recorded);
    let difficulty =
        difficulty::difficulty(s, plate, &leaks, &evidence, recorded, witness.as_ref());
    let end = &scene.traces.end;
    let mg = |sum: f64| sum * 1e6;
    let over =
        |part: fn(&crate::simulation::LeakAccount) -> f64| mg(end.leaks.iter().map(part).sum());
    Truth {
        format: TRUTH_FORMAT.into(),
        capture: name.into(),
        title: s.title.clone(),
        teaches: s.teaches.clone(),
        version: env!("CARGO_PKG_VERSION").into(),
        seed: drawn.seed,
        number: drawn.number,
        wav_sha256: String::new(),
        engine: plate.clone(),
        mode: s.test.mode,
        weak_cylinders: s.faults.worn.iter().map(|w| w.cylinder).collect(),
        evidence,
        difficulty,
        leaks,
        events,
        tdcs: tdcs.collect(),
        channels: recorded
            .iter()
            .map(|r| ChannelTruth {
                name: r.card.name.clone(),
                clipped_samples: r.clipped_samples,
                noise_rms: r.noise_rms,
            })
            .collect(),
        gas: GasAccount {
            passed_mg: over(|l| l.in_kg),
            in_jacket_mg: over(|l| l.mouth_kg),
            in_neck_mg: mg(end.pocket_kg),
            relieved_mg: mg(end.relieved_kg),
            pulled_back_mg: over(|l| l.back_kg),
        },
        scenario: drawn.resolved.clone(),
    }
}

/// The first neck sensor, whichever it is.
fn witness<'a>(
    channels: &[ChannelSpec],
    scene: Scene,
    recorded: &'a [Recorded],
) -> Option<Witness<'a>> {
    let place = channels
        .iter()
        .position(|c| c.sensor.neck_line().is_some())?;
    let arrived_pa = &recorded[place].arrived_pa;
    let ripple = evidence::pump_ripple_pa(scene.vehicle, scene.traces) * 1e-3;
    let (unit_per_kpa, negative) = match &channels[place].sensor {
        SensorSpec::NeckPulse(neck) => (neck.pulse.gain_v_pa * 1e3, neck.pulse.negative),
        _ => (1.0, false),
    };
    let sign = if negative != channels[place].input.inverted {
        -1.0
    } else {
        1.0
    };
    let ripple_rms = ripple * unit_per_kpa / std::f64::consts::SQRT_2;
    let channel_rms = recorded[place].noise_rms;
    Some(Witness {
        arrived_pa,
        ideal: ideal(&channels[place], scene, arrived_pa)
            .into_iter()
            .map(|v| sign * v)
            .collect(),
        noise_rms: (channel_rms * channel_rms + ripple_rms * ripple_rms).sqrt(),
        ripple_rms,
        channel_rms,
    })
}
