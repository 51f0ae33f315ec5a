//! The hidden vehicle on its job: an order becomes a scenario, and the scenario a capture.

use super::bench::Bench;
use super::order::{Cap, Level, Order, Sensor, Sync, Test};
use crate::error::{Fault, Faults};
use crate::render::{Rendered, render};
use crate::scenario::{Drawn, JobDrawn, JobSpec, Source};
use serde::{Deserialize, Serialize};
use serde_json::{Value, json};
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
    air_topped_up: String,
    coolant_warm: String,
    pressure_warm: String,
}

impl Job {
    /// The job `name`, its vehicle drawn.
    ///
    /// # Errors
    /// Vehicle and faults that do not fit each other.
    pub fn new(name: &str, drawn: JobDrawn, seed: u64) -> Result<Job, Faults> {
        let hidden = Hidden {
            job: name.into(),
            seed,
            vehicle: drawn.vehicle.clone(),
            faults: drawn.faults.clone(),
            test: drawn.test.clone(),
        };
        let job = Job::resume(drawn, hidden);
        job.draw(&Order::default(), false, 1)?;
        Ok(job)
    }

    /// A job that was begun earlier: its own hidden vehicle, and the workshop of `drawn`.
    pub fn resume(drawn: JobDrawn, hidden: Hidden) -> Job {
        Job {
            name: hidden.job.clone(),
            spec: drawn.spec,
            hidden,
            air_topped_up: drawn.air_topped_up,
            coolant_warm: drawn.coolant_warm,
            pressure_warm: drawn.pressure_warm,
        }
    }

    /// The scenario of an order, its draws done; `number` is the capture's.
    ///
    /// # Errors
    /// What of the order no scenario takes, at the option's place.
    pub fn draw(&self, order: &Order, warm: bool, number: u64) -> Result<Drawn, Faults> {
        let tree = self.tree(order, warm, &self.hidden.faults);
        Source::from_tree("order", tree)
            .draw(Some(self.hidden.seed), number)
            .map_err(|Faults(all)| Faults(all.into_iter().map(at_option).collect()))
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
        leak: Value,
    ) -> Result<Rendered, Faults> {
        let mut faults = self.hidden.faults.clone();
        match faults.get_mut("leaks").and_then(Value::as_array_mut) {
            Some(leaks) => leaks.push(leak),
            None => faults["leaks"] = json!([leak]),
        }
        let drawn = Source::from_tree("order", self.tree(order, warm, &faults))
            .draw(Some(self.hidden.seed), 0)?;
        Ok(render(&drawn, &capture_name(0)))
    }

    /// The cylinders that leak.
    pub fn leaking(&self) -> BTreeSet<u32> {
        self.cylinders_of("leaks")
    }

    /// The cylinders that are worn.
    pub fn worn(&self) -> BTreeSet<u32> {
        self.cylinders_of("worn")
    }

    fn cylinders_of(&self, list: &str) -> BTreeSet<u32> {
        let items = self.hidden.faults.get(list).and_then(Value::as_array);
        let cylinder = |item: &Value| Some(item.get("cylinder")?.as_u64()? as u32);
        items.into_iter().flatten().filter_map(cylinder).collect()
    }

    fn tree(&self, order: &Order, warm: bool, faults: &Value) -> Value {
        let hot = warm || order.test == Test::Idle;
        let mut vehicle = self.hidden.vehicle.clone();
        if order.coolant == Level::ToppedUp {
            vehicle["cooling"]["air_pocket"] = json!(self.air_topped_up);
        }
        let mut faults = faults.clone();
        if !order.cut.is_empty() {
            let mut misfires: Vec<Value> = order
                .cut
                .iter()
                .map(|c| json!({"cylinder": c, "share": "100 %"}))
                .collect();
            let own = faults.get("misfires").and_then(Value::as_array);
            misfires.extend(
                own.into_iter()
                    .flatten()
                    .filter(|m| !is_cut(m, order))
                    .cloned(),
            );
            faults["misfires"] = Value::Array(misfires);
        }
        let mut test = self.hidden.test.clone();
        test["mode"] = json!(if order.test == Test::Idle {
            "idle"
        } else {
            "cranking"
        });
        test["duration"] = json!(order.duration);
        test["plugs_out"] = json!(order.plugs_out);
        let spark = order.test == Test::Idle || !order.coils().is_empty();
        test["ignition"] = json!(if spark { "enabled" } else { "disabled" });
        test["cap"]["state"] = json!(match order.cap {
            Cap::Sealed => "sealed",
            Cap::Own => "relief",
            Cap::Open => "open",
        });
        if hot {
            test["coolant_temperature"] = json!(self.coolant_warm);
            test["start_pressure"] = json!(self.pressure_warm);
        }
        test["rest_angle"] = json!({"uniform": ["-360 deg", "360 deg"]});
        json!({
            "title": self.spec.title,
            "teaches": self.spec.teaches,
            "brief": format!("{} {}", self.spec.complaint, self.spec.findings),
            "vehicle": vehicle,
            "faults": faults,
            "test": test,
            "channels": channels(order),
            "acquisition": {"sample_rate": order.rate},
        })
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

fn is_cut(misfire: &Value, order: &Order) -> bool {
    let cylinder = misfire.get("cylinder").and_then(Value::as_u64);
    cylinder.is_some_and(|c| order.cut.contains(&(c as u32)))
}

fn channels(order: &Order) -> Vec<Value> {
    let mut list = Vec::new();
    if order.sensor != Sensor::Pulse {
        list.push(json!({"sensor": "neck_pressure", "span": ["0 kPa", order.range]}));
    }
    if order.sensor != Sensor::Pressure {
        list.push(json!({"sensor": "neck_pulse", "range": order.pulse_range}));
    }
    for sync in &order.sync {
        list.push(match sync {
            Sync::Coil(c) => json!({"sensor": "coil_trigger", "cylinder": c}),
            Sync::Cylinder(c) => json!({"sensor": "cylinder_pressure", "cylinder": c}),
            Sync::Starter => json!({"sensor": "starter_current"}),
            // The wide band of a battery at rest is of no use; its ripple is (common practice).
            Sync::Battery => json!({
                "sensor": "battery_voltage", "coupling": "ac", "ac_corner": "0.5 Hz",
                "inverted": true, "range": "5 V",
            }),
        });
    }
    list
}

/// Names the option that a fault of the scenario came from.
fn at_option(fault: Fault) -> Fault {
    let path = fault.place.strip_prefix("order: ").unwrap_or(&fault.place);
    let option = match path {
        "test.duration" | "test.key_on" => "--duration",
        "acquisition.sample_rate" => "--rate",
        p if p.starts_with("channels") && p.ends_with("span") => "--range",
        p if p.starts_with("channels") && p.ends_with("range") => "--pulse-range",
        "channels" => "--sync",
        p if p.starts_with("channels") && p.ends_with("cylinder") => "--sync",
        p if p.starts_with("test.plugs_out") => "--plugs-out",
        p if p.starts_with("faults.misfires") => "--cut",
        "test.start_pressure" | "test.cap.state" => "--cap",
        other => other,
    };
    Fault {
        place: option.into(),
        ..fault
    }
}
