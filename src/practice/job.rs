//! The hidden vehicle on its job: an order becomes a scenario, and the scenario a capture.

use super::bench::Bench;
use super::order::{Cap, Level, Order, Sensor, Sync, Test};
use crate::error::{Fault, Faults};
use crate::random::Stream;
use crate::render::{Rendered, render};
use crate::scenario::{
    BatterySpec, CapState, ChannelSpec, ClampSpec, CoilSpec, CylinderSensorSpec, Dimension,
    Distribution, Drawn, InputSpec, JobDrawn, JobSpec, LeakSpec, MisfireSpec, Mode,
    NeckPressureSpec, NeckPulseSpec, Quantity, Scenario, SensorSpec, Texts, own_quantity,
};
use serde::{Deserialize, Serialize};
use serde_json::Value;
use std::collections::BTreeSet;

/// What a job keeps from the student: the drawn vehicle and where the noise comes from.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Hidden {
    /// The job's name.
    pub job: String,
    /// Seed of the noise and of where the crank comes to rest.
    pub seed: u64,
    /// The vehicle, every draw done, as a scenario's section.
    pub vehicle: Value,
    /// The faults likewise.
    pub faults: Value,
    /// Idle, cap and weather, likewise.
    pub test: Value,
}

/// A job in progress: what the workshop knows, and what is hidden.
#[derive(Clone, Debug)]
pub struct Job {
    /// The job's name.
    pub name: String,
    /// What the workshop knows.
    pub spec: JobSpec,
    /// What the student does not.
    pub hidden: Hidden,
    base: Drawn,
}

impl Job {
    /// The job `name`, its vehicle drawn.
    ///
    /// # Errors
    /// Vehicle and faults that do not fit each other.
    pub fn new(name: &str, drawn: JobDrawn, seed: u64) -> Result<Job, Faults> {
        let part = |key: &str| drawn.base.resolved[key].clone();
        let hidden = Hidden {
            job: name.into(),
            seed,
            vehicle: part("vehicle"),
            faults: part("faults"),
            test: part("test"),
        };
        let job = Job::resume(drawn, hidden)?;
        job.draw(&Order::default(), false, 1)?;
        Ok(job)
    }

    /// A job that was begun earlier: its own hidden vehicle, and the workshop of `drawn`.
    ///
    /// # Errors
    /// A hidden vehicle that no job resolves to.
    pub fn resume(drawn: JobDrawn, hidden: Hidden) -> Result<Job, Faults> {
        let [vehicle, faults, test] =
            [&hidden.vehicle, &hidden.faults, &hidden.test].map(Value::clone);
        Ok(Job {
            name: hidden.job.clone(),
            spec: drawn.spec,
            base: JobDrawn::base(hidden.seed, vehicle, faults, test)?,
            hidden,
        })
    }

    /// The scenario of an order, its draws done; `number` is the capture's.
    ///
    /// # Errors
    /// What of the order no scenario takes, at the option's place.
    pub fn draw(&self, order: &Order, warm: bool, number: u64) -> Result<Drawn, Faults> {
        self.draw_with(order, warm, number, |_| ())
    }

    fn draw_with(
        &self,
        order: &Order,
        warm: bool,
        number: u64,
        change: impl FnOnce(&mut Scenario),
    ) -> Result<Drawn, Faults> {
        let mut unread = Faults::default();
        let mut read = |option, text: &str, dimension| {
            let read = Quantity::parse(text, dimension);
            let at = |fault| Fault {
                place: String::from(option),
                ..fault
            };
            read.map_err(|fault| unread.extend_once(at(fault).into()))
                .ok()
        };
        let given = Given {
            duration: read("--duration", &order.duration, Dimension::Time),
            rate: read("--rate", &order.rate, Dimension::Frequency),
            range: match order.sensor {
                Sensor::Pulse => None,
                _ => read("--range", &order.range, Dimension::Pressure),
            },
            pulse_range: match order.sensor {
                Sensor::Pressure => None,
                _ => read("--pulse-range", &order.pulse_range, Dimension::Voltage),
            },
            rest: self.rest(number),
        };
        let base = Drawn {
            number,
            ..self.base.clone()
        };
        let drawn = base.edit(|s, texts| {
            self.set(s, texts, order, warm, &given);
            change(s);
        });
        match drawn {
            Ok(drawn) => unread.or(drawn),
            Err(Faults(all)) => {
                unread.extend_once(Faults(all.into_iter().map(at_option).collect()));
                Err(unread)
            }
        }
    }

    /// Where the crank comes to rest before capture `number`.
    fn rest(&self, number: u64) -> Quantity {
        let ends = ["-360 deg", "360 deg"].map(|end| own_quantity(end, Dimension::Angle));
        let mut stream = Stream::new(self.hidden.seed, number, "draw test.rest_angle");
        Distribution::Uniform(ends[0], ends[1]).draw(&mut stream, (ends[0], ends[1]))
    }

    /// Renders an order as capture `number`.
    ///
    /// # Errors
    /// As [`Job::draw`].
    pub fn render(&self, order: &Order, warm: bool, number: u64) -> Result<Rendered, Faults> {
        Ok(render(
            &self.draw(order, warm, number)?,
            &capture_name(number),
        ))
    }

    /// Renders an order on the same vehicle with `leak` added to its faults.
    pub(super) fn render_with(
        &self,
        order: &Order,
        warm: bool,
        leak: LeakSpec,
    ) -> Result<Rendered, Faults> {
        let drawn = self.draw_with(order, warm, 0, |s| s.faults.leaks.push(leak))?;
        Ok(render(&drawn, &capture_name(0)))
    }

    /// The cylinders that leak.
    pub fn leaking(&self) -> BTreeSet<u32> {
        let leaks = &self.base.scenario.faults.leaks;
        leaks.iter().map(|leak| leak.cylinder).collect()
    }

    /// The cylinders that are worn.
    pub fn worn(&self) -> BTreeSet<u32> {
        let worn = &self.base.scenario.faults.worn;
        worn.iter().map(|worn| worn.cylinder).collect()
    }

    /// Sets the hidden vehicle up as ordered.
    fn set(&self, s: &mut Scenario, texts: &mut Texts, order: &Order, warm: bool, given: &Given) {
        let spec = &self.spec;
        s.title = spec.title.clone();
        s.teaches = spec.teaches.clone();
        s.brief = format!("{} {}", spec.complaint, spec.findings);
        if order.coolant == Level::ToppedUp {
            texts.put(&mut s.vehicle.cooling.air_pocket_m3, spec.air_topped_up);
        }
        s.faults
            .misfires
            .retain(|m| !order.cut.contains(&m.cylinder));
        let cut = order.cut.iter().map(|c| MisfireSpec {
            cylinder: *c,
            share: 1.0,
        });
        s.faults.misfires.splice(..0, cut);
        for misfire in &mut s.faults.misfires[..order.cut.len()] {
            texts.put(&mut misfire.share, own_quantity("100 %", Dimension::Ratio));
        }
        let test = &mut s.test;
        let idle = order.test == Test::Idle;
        test.mode = if idle { Mode::Idle } else { Mode::Cranking };
        test.plugs_out = order.plugs_out.iter().copied().collect();
        test.ignition_enabled = idle || !order.coils().is_empty();
        test.cap.state = match order.cap {
            Cap::Sealed => CapState::Sealed,
            Cap::Own => CapState::Relief,
            Cap::Open => CapState::Open,
        };
        if warm || idle {
            texts.put(&mut test.coolant_k, spec.coolant_warm);
            texts.put(&mut test.start_gauge_pa, spec.pressure_warm);
        }
        texts.put(&mut test.rest_rad, given.rest);
        given.put(texts, given.duration, &mut test.duration_s);
        given.put(texts, given.rate, &mut s.acquisition.sample_rate_hz);
        s.channels = channels(order);
        for channel in &mut s.channels {
            match &mut channel.sensor {
                SensorSpec::NeckPressure(neck) => {
                    given.put(texts, given.range, &mut neck.transducer.span_pa[1]);
                }
                SensorSpec::NeckPulse(_) => {
                    given.put(texts, given.pulse_range, &mut channel.input.range_v);
                }
                _ => {}
            }
        }
    }
}

/// The quantities of an order, where they can be read.
struct Given {
    duration: Option<Quantity>,
    rate: Option<Quantity>,
    range: Option<Quantity>,
    pulse_range: Option<Quantity>,
    rest: Quantity,
}

impl Given {
    fn put(&self, texts: &mut Texts, quantity: Option<Quantity>, field: &mut f64) {
        if let Some(quantity) = quantity {
            texts.put(field, quantity);
        }
    }
}

/// The name of capture `number`.
pub fn capture_name(number: u64) -> String {
    format!("capture-{number:02}")
}

/// Whether the engine is warm when each order begins.
pub fn warmth(orders: &[Order]) -> Vec<bool> {
    let mut bench = Bench::default();
    let warm = orders.iter().map(|order| {
        let warm = bench.starts_warm(order);
        bench = bench.after(order);
        warm
    });
    warm.collect()
}

fn channels(order: &Order) -> Vec<ChannelSpec> {
    let mut list = Vec::new();
    if order.sensor != Sensor::Pulse {
        list.push(ChannelSpec::of(SensorSpec::NeckPressure(
            NeckPressureSpec::defaults(),
        )));
    }
    if order.sensor != Sensor::Pressure {
        list.push(ChannelSpec::of(SensorSpec::NeckPulse(
            NeckPulseSpec::defaults(),
        )));
    }
    list.extend(order.sync.iter().map(|sync| match sync {
        Sync::Coil(c) => ChannelSpec::of(SensorSpec::CoilTrigger(CoilSpec {
            cylinder: *c,
            ..CoilSpec::defaults()
        })),
        Sync::Cylinder(c) => ChannelSpec::of(SensorSpec::CylinderPressure(CylinderSensorSpec {
            cylinder: *c,
            ..CylinderSensorSpec::defaults()
        })),
        Sync::Starter => ChannelSpec::of(SensorSpec::StarterCurrent(ClampSpec::defaults())),
        // The wide band of a battery at rest is of no use; its ripple is (common practice).
        Sync::Battery => ChannelSpec {
            input: InputSpec {
                ac_coupled: true,
                corner_hz: 0.5,
                range_v: 5.0,
                inverted: true,
            },
            ..ChannelSpec::of(SensorSpec::BatteryVoltage(BatterySpec::defaults()))
        },
    }));
    list
}

/// Names the option that a fault of the scenario came from.
fn at_option(fault: Fault) -> Fault {
    let option = match fault.path() {
        "test.duration" | "test.key_on" => "--duration",
        "acquisition.sample_rate" => "--rate",
        p if p.starts_with("channels") && p.ends_with("span") => "--range",
        p if p.starts_with("channels") && p.ends_with("range") => "--pulse-range",
        "channels" => "--sync",
        p if p.starts_with("channels") && p.ends_with("cylinder") => "--sync",
        p if p.starts_with("test.plugs_out") => "--plugs-out",
        p if p.starts_with("faults.misfires") => "--cut",
        "test.start_pressure" | "test.cap.state" => "--cap",
        "" => &fault.place,
        other => other,
    };
    Fault {
        place: option.into(),
        at: None,
        ..fault
    }
}
