//! From a drawn scenario to a capture: every stage in order.

use crate::acquisition::{self, Recorded};
use crate::domain::{CARD_FORMAT, Capture, Card, EngineData, SetUp, Truth};
use crate::math;
use crate::random::Stream;
use crate::scenario::{Drawn, Mode, Scenario, SensorSpec};
use crate::sensors::{Ignition, Scene};
use crate::simulation::{self, CycleHeats, Traces};
use crate::truth;
use crate::vehicle::{self, Vehicle};

/// A capture, and what is true of it.
#[derive(Clone, Debug)]
pub struct Rendered {
    /// What is public.
    pub capture: Capture,
    /// What is true; its `wav_sha256` is filled in when the WAV is written.
    pub truth: Truth,
}

/// Renders one capture called `name`.
pub fn render(drawn: &Drawn, name: &str) -> Rendered {
    Renderer::default().render(drawn, name)
}

/// Renders capture after capture in the same room, for whoever makes many. What it made before leaves no
/// mark on what it makes next.
#[derive(Debug, Default)]
pub struct Renderer {
    traces: Traces,
}

impl Renderer {
    /// Renders one capture called `name`.
    pub fn render(&mut self, drawn: &Drawn, name: &str) -> Rendered {
        let vehicle = Vehicle::resolve(&drawn.scenario);
        let heats = cycle_heats(drawn);
        simulation::run_into(&mut self.traces, &vehicle, &drawn.scenario.test, &heats);
        record(drawn, name, &vehicle, &self.traces)
    }
}

/// What the sensors, the converter and the truth make of what happened.
fn record(drawn: &Drawn, name: &str, vehicle: &Vehicle, traces: &Traces) -> Rendered {
    let s = &drawn.scenario;
    let scene = Scene {
        vehicle,
        traces,
        acoustic_delay_s: vehicle.acoustic_delay_s(s.test.start_gauge_pa),
        ignition: Ignition {
            enabled: s.test.ignition_enabled,
            shared_coils: s.vehicle.engine.shared_coils,
            spark_rad: s.vehicle.engine.spark_rad,
        },
    };
    let frames = acquisition::frames(&s.acquisition, s.test.duration_s);
    let mut recorded: Vec<Recorded> = s
        .channels
        .iter()
        .enumerate()
        .map(|(i, channel)| {
            let streams = |purpose: &str| stream(drawn, &format!("channel {i} {purpose}"));
            acquisition::record(channel, &s.acquisition, scene, frames, streams)
        })
        .collect();
    name_apart(&mut recorded);
    let plate = plate(s);
    let truth = truth::measure(name, drawn, scene, &plate, &recorded);
    let (samples, channels) = recorded.into_iter().map(|r| (r.samples, r.card)).unzip();
    let card = Card {
        format: CARD_FORMAT.into(),
        capture: name.into(),
        brief: s.brief.clone(),
        sample_rate_hz: s.acquisition.sample_rate_hz,
        frames,
        engine: plate,
        set_up: set_up(s),
        channels,
        cautions: cautions(s),
    };
    Rendered {
        capture: Capture { card, samples },
        truth,
    }
}

fn stream(drawn: &Drawn, purpose: &str) -> Stream {
    Stream::new(drawn.seed, drawn.number, purpose)
}

/// Each cycle's heat over its mean: `1 + cov N(0, 1)` from 0 to 2, and 0 when it misfires; nothing for a
/// cranking engine.
pub fn cycle_heats(drawn: &Drawn) -> CycleHeats {
    let s = &drawn.scenario;
    if s.test.mode == Mode::Cranking {
        return Vec::new();
    }
    // An idling engine that races to twice its speed still finds a heat of its own for every cycle.
    let cycles = (s.test.duration_s + 4.0) * s.test.idle.speed_rad_s / vehicle::CYCLE_RAD * 2.0;
    let share = |c: u32| {
        s.faults
            .misfires
            .iter()
            .find(|m| m.cylinder == c)
            .map_or(0.0, |m| m.share)
    };
    s.vehicle
        .engine
        .firing_order
        .iter()
        .map(|c| {
            let mut variation = stream(drawn, &format!("combustion {c}"));
            let mut misfire = stream(drawn, &format!("misfire {c}"));
            (0..cycles.ceil() as usize)
                .map(|_| {
                    let heat = (1.0 + s.vehicle.engine.combustion.variation * variation.normal())
                        .clamp(0.0, 2.0);
                    if misfire.uniform() < share(*c) {
                        0.0
                    } else {
                        heat
                    }
                })
                .collect()
        })
        .collect()
}

/// Two channels of one kind get a number behind their name.
fn name_apart(recorded: &mut [Recorded]) {
    for i in 1..recorded.len() {
        let (before, rest) = recorded.split_at_mut(i);
        let own = &mut rest[0].card.name;
        let same = before
            .iter()
            .filter(|r| r.card.name == *own || r.card.name.starts_with(&format!("{own} (")))
            .count();
        if same > 0 {
            *own = format!("{own} ({})", same + 1);
        }
    }
}

fn plate(s: &Scenario) -> EngineData {
    let e = &s.vehicle.engine;
    let swept_l = math::PI / 4.0 * e.bore_m * e.bore_m * e.stroke_m * e.cylinders as f64 * 1e3;
    EngineData {
        vehicle: s.vehicle.name.clone(),
        layout: e.layout,
        cylinders: e.cylinders,
        firing_order: e.firing_order.clone(),
        firing_intervals_deg: vehicle::firing_intervals_rad(e)
            .into_iter()
            .map(tidy_degrees)
            .collect(),
        displacement_l: (swept_l * 100.0).round() / 100.0,
        compression_ratio: (e.compression_ratio * 100.0).round() / 100.0,
        shared_coils: e.shared_coils,
    }
}

/// Degrees without the rounding of the way through radians.
fn tidy_degrees(rad: f64) -> f64 {
    (math::degrees(rad) * 1e9).round() / 1e9
}

fn set_up(s: &Scenario) -> SetUp {
    SetUp {
        mode: s.test.mode,
        plugs_out: s.test.plugs_out.clone(),
        in_cylinder_transducer: s.channels.iter().find_map(|c| match &c.sensor {
            SensorSpec::CylinderPressure(sensor) => Some(sensor.cylinder),
            _ => None,
        }),
        ignition_enabled: s.test.ignition_enabled,
        cap: vehicle::cap_words(&s.test.cap),
        coolant_c: (s.test.coolant_k - 273.15).round(),
    }
}

/// The cautions of the work that this set-up calls for.
fn cautions(s: &Scenario) -> Vec<String> {
    let mut list = vec![
        "Never open a hot cooling system: its coolant boils as the pressure falls, and scalds. Let it cool first, then release the pressure slowly.",
        "Follow the vehicle maker's procedure, local codes and licensed practice; they come before anything said here.",
        "Keep hands, hair, leads and clothing away from belts, fans and pulleys.",
        "Coolant is poisonous: keep it out of eyes and drains, and away from children and animals.",
    ];
    match s.test.mode {
        Mode::Cranking => {
            list.push("Disable the fuel before cranking; no flame or spark near open plug holes.");
            list.push("Secure the vehicle: brake on, out of gear. A battery under load vents gas; wear eye protection.");
        }
        Mode::Idle => {
            list.push("Run an engine only with exhaust extraction, brake on, out of gear.");
            list.push("Fit sensors while the system is cold and without pressure, and never exceed its rated pressure.");
        }
    }
    if s.test.ignition_enabled {
        list.push(
            "Ignition voltage can kill: ground spare leads, and touch no coil while it may fire.",
        );
    }
    list.into_iter().map(String::from).collect()
}
