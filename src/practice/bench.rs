//! The vehicle on the lift: what stands fitted, whether it is warm, what the next order costs, and
//! what nobody at the yard will do.

use super::order::{Cap, Level, Order, Sensor, Sync, Test, listed};
use crate::error::{Fault, Faults};
use crate::scenario::JobSpec;
use std::collections::BTreeSet;

/// A crank test longer than this overheats the starter (common practice: ten to fifteen seconds).
const LONGEST_CRANK_S: f64 = 15.0;
/// A sealed neck has no way out for the pressure of a warming engine; chosen by us, on the safe side.
const LONGEST_SEALED_IDLE_S: f64 = 20.0;

/// What stands fitted, and whether the engine is warm.
#[derive(Clone, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub struct Bench {
    /// The last order done.
    pub last: Option<Order>,
    /// Whether the engine is warm.
    pub warm: bool,
}

/// Why nobody at the yard does what was ordered.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Danger {
    /// What would happen.
    pub reason: String,
    /// What to do instead.
    pub remedy: String,
    /// The option that says so.
    pub option: &'static str,
}

/// One line of the bill.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Item {
    /// What was done.
    pub what: String,
    /// How long it took.
    pub minutes: u32,
}

impl Bench {
    /// What the next order starts from.
    pub fn order(&self) -> Order {
        self.last.clone().unwrap_or_default()
    }

    /// The bench once `order` is done.
    pub fn after(&self, order: &Order) -> Bench {
        let cold = !self.warm || order.let_cool;
        Bench {
            last: Some(order.clone()),
            warm: order.test == Test::Idle || !cold,
        }
    }

    /// Whether the engine is warm when `order` begins.
    pub fn starts_warm(&self, order: &Order) -> bool {
        self.warm && !order.let_cool
    }

    /// Whether `order` opens the cooling system.
    fn opens_system(&self, order: &Order) -> bool {
        let Some(last) = &self.last else {
            return true;
        };
        sensors(order) != sensors(last) || order.cap != last.cap || order.coolant != last.coolant
    }

    /// Whether `order` moves a plug.
    fn moves_plugs(&self, order: &Order) -> bool {
        let before = self.last.as_ref().map_or_else(BTreeSet::new, empty_seats);
        empty_seats(order) != before
    }

    /// Whether the engine must be cold for `order`.
    pub fn needs_cold(&self, order: &Order) -> bool {
        self.opens_system(order) || self.moves_plugs(order)
    }

    /// What is dangerous about `order`.
    pub fn dangers(&self, order: &Order, duration_s: f64) -> Vec<Danger> {
        let mut all = Vec::new();
        let mut no = |holds: bool, reason: &str, remedy: &str, option: &'static str| {
            if holds {
                all.push(Danger {
                    reason: reason.into(),
                    remedy: remedy.into(),
                    option,
                });
            }
        };
        let hot = self.starts_warm(order);
        no(
            hot && self.opens_system(order),
            "the engine is warm and its cooling system under pressure; opened now, the coolant boils and scalds",
            "let it cool first",
            "--let-cool",
        );
        no(
            hot && self.moves_plugs(order),
            "a warm engine burns hands, and plugs seize in a warm head",
            "let it cool first",
            "--let-cool",
        );
        let idle = order.test == Test::Idle;
        no(
            idle && !order.plugs_out.is_empty(),
            "an engine that runs with a plug hole open blows fuel and flame out of it",
            "put the plug back, or crank it",
            "--plugs-out none",
        );
        no(
            idle && order.transducer().is_some(),
            "a cylinder whose plug gave way to a transducer burns nothing, and an engine that runs on the others \
             fills its exhaust with unburnt mixture",
            "take a coil for the sync, or crank it",
            "--sync coil:N",
        );
        no(
            !idle && order.fuel,
            "cranked with the fuel on, the engine may start under your hands or spray fuel from an open plug hole",
            "disable the fuel first",
            "--fuel off",
        );
        no(
            idle && order.cap == Cap::Open,
            "an open neck on a running engine boils over as it warms",
            "close it",
            "--cap sealed",
        );
        no(
            idle && order.cap == Cap::Sealed && duration_s > LONGEST_SEALED_IDLE_S,
            "a sealed neck leaves the pressure of a warming engine no way out",
            "record at most 20 s, or fit the vehicle's own cap",
            "--cap own",
        );
        all
    }

    /// What cannot be done, though it endangers nobody.
    ///
    /// # Errors
    /// Every option that does not fit the vehicle, at its place.
    pub fn check(&self, order: &Order, spec: &JobSpec, duration_s: f64) -> Result<(), Faults> {
        let mut faults = Vec::new();
        let n = spec.places.len() as u32;
        let exists = |c: u32, place: &str| {
            let remedy = format!("this engine has cylinders 1 to {n}");
            let problem = format!("there is no cylinder {c}");
            (c == 0 || c > n).then(|| Fault::new(place, problem, remedy))
        };
        faults.extend(
            order
                .plugs_out
                .iter()
                .filter_map(|c| exists(*c, "--plugs-out")),
        );
        faults.extend(order.cut.iter().filter_map(|c| exists(*c, "--cut")));
        let mut transducers = 0;
        for sync in &order.sync {
            match sync {
                Sync::Coil(c) => match spec.places.iter().find(|p| p.cylinder == *c) {
                    None => faults.extend(exists(*c, "--sync")),
                    Some(place) if place.coil.is_none() => {
                        let problem = format!("no lead reaches the coil of cylinder {c}");
                        faults.push(Fault::new("--sync", problem, reachable_coils(spec)));
                    }
                    Some(_) => {}
                },
                Sync::Cylinder(c) => {
                    transducers += 1;
                    faults.extend(exists(*c, "--sync"));
                    if order.plugs_out.contains(c) {
                        let problem =
                            format!("the hole of plug {c} cannot be open and hold a transducer");
                        let remedy = "leave the cylinder out of --plugs-out; its plug comes out for the transducer";
                        faults.push(Fault::new("--sync", problem, remedy));
                    }
                }
                Sync::Starter if order.test == Test::Idle => {
                    let remedy = "use a coil for the sync, or crank";
                    faults.push(Fault::new(
                        "--sync",
                        "the starter rests while the engine idles",
                        remedy,
                    ));
                }
                _ => {}
            }
        }
        if transducers > 1 {
            faults.push(Fault::new(
                "--sync",
                "the yard has one in-cylinder transducer",
                "name one cylinder",
            ));
        }
        if !order.cut.is_empty() && order.test == Test::Crank {
            let remedy = "leave --cut out, or order --test idle";
            faults.push(Fault::new(
                "--cut",
                "no injector works while the fuel is off",
                remedy,
            ));
        }
        if order.test == Test::Idle && !order.fuel {
            let remedy = "order --fuel on, or --test crank";
            faults.push(Fault::new(
                "--fuel",
                "an engine without fuel does not idle",
                remedy,
            ));
        }
        if order.cut.len() as u32 * 2 > n {
            let remedy = "unplug half of the injectors at most";
            faults.push(Fault::new("--cut", "the engine would stall", remedy));
        }
        let bled = self
            .last
            .as_ref()
            .is_some_and(|l| l.coolant == Level::ToppedUp);
        if bled && order.coolant == Level::AsFound {
            let remedy = "go on with --coolant topped-up";
            faults.push(Fault::new(
                "--coolant",
                "the system is bled; the air of this morning is gone",
                remedy,
            ));
        }
        if order.test == Test::Crank && duration_s > LONGEST_CRANK_S {
            let problem = format!("{duration_s} s on the starter overheat it");
            faults.push(Fault::new(
                "--duration",
                problem,
                "crank at most 15 s at a time",
            ));
        }
        if duration_s > 60.0 {
            faults.push(Fault::new(
                "--duration",
                format!("{duration_s} s"),
                "record at most 60 s",
            ));
        }
        if faults.is_empty() {
            Ok(())
        } else {
            Err(Faults(faults))
        }
    }

    /// The bill of `order`, item by item.
    pub fn bill(&self, order: &Order, spec: &JobSpec) -> Vec<Item> {
        let m = &spec.minutes;
        let mut bill = Vec::new();
        let mut charge = |minutes: u32, what: String| {
            if minutes > 0 {
                bill.push(Item { what, minutes });
            }
        };
        let plug = |c: u32| {
            spec.places
                .iter()
                .find(|p| p.cylinder == c)
                .map_or(0, |p| p.plug)
        };
        let none = Order::default();
        let last = self.last.as_ref().unwrap_or(&none);
        if self.warm && order.let_cool {
            charge(m.cooling, "wait until the engine is hand-warm".into());
        }
        let (before, now) = match &self.last {
            Some(last) => (empty_seats(last), empty_seats(order)),
            None => (BTreeSet::new(), empty_seats(order)),
        };
        for c in now.difference(&before) {
            charge(plug(*c), format!("take plug {c} out"));
        }
        for c in before.difference(&now) {
            charge(plug(*c).div_ceil(2), format!("put plug {c} back"));
        }
        if let Some(c) = order.transducer()
            && last.transducer() != Some(c)
        {
            charge(
                m.transducer,
                format!("screw the transducer into cylinder {c}"),
            );
        }
        let had = last.coils();
        for c in order.coils().iter().filter(|c| !had.contains(c)) {
            let minutes = spec
                .places
                .iter()
                .find(|p| p.cylinder == *c)
                .and_then(|p| p.coil);
            charge(minutes.unwrap_or(0), format!("clip on to coil {c}"));
        }
        for (sync, minutes, what) in [
            (Sync::Starter, m.clamp, "clamp on to the starter cable"),
            (Sync::Battery, m.leads, "leads on the battery"),
        ] {
            if order.sync.contains(&sync) && !last.sync.contains(&sync) {
                charge(minutes, what.into());
            }
        }
        if order.coolant != last.coolant {
            charge(m.top_up, "top up and bleed the system".into());
        }
        match &self.last {
            None => {
                charge(m.adapter, "fit the neck adapter and its sensor".into());
                if order.sensor == Sensor::Both {
                    charge(m.sensor, "fit the second sensor".into());
                }
            }
            Some(last) => {
                if sensors(order) != sensors(last) {
                    charge(m.sensor, "change the sensor at the neck".into());
                }
                if order.range != last.range
                    && order.sensor != Sensor::Pulse
                    && last.sensor != Sensor::Pulse
                {
                    charge(
                        m.range,
                        "change the transducer for one of another range".into(),
                    );
                }
            }
        }
        if order.cap != last.cap {
            charge(m.cap, "change what closes the neck".into());
        }
        let changed: Vec<u32> = order.cut.symmetric_difference(&last.cut).copied().collect();
        for c in changed {
            let what = if order.cut.contains(&c) {
                "unplug"
            } else {
                "plug in"
            };
            charge(m.injector, format!("{what} injector {c}"));
        }
        let fuel_was_on = self.last.as_ref().is_none_or(|l| l.fuel);
        if order.fuel != fuel_was_on {
            let what = if order.fuel {
                "enable the fuel pump again"
            } else {
                "disable the fuel pump"
            };
            charge(m.fuel, what.into());
        }
        match order.test {
            Test::Crank => charge(m.crank, "crank and record".into()),
            Test::Idle => {
                if !self.starts_warm(order) {
                    charge(m.warm_up, "warm the engine up".into());
                }
                charge(m.idle, "record at idle".into());
            }
        }
        bill
    }
}

/// Cautions of the work that this order adds to those of the capture.
pub fn cautions(order: &Order, warm: bool) -> Vec<String> {
    let mut list = Vec::new();
    let mut say = |holds: bool, text: String| {
        if holds {
            list.push(text);
        }
    };
    let out = &order.plugs_out;
    say(
        !out.is_empty() && !order.coils().is_empty(),
        format!(
            "Ground the lead of plug {}: an open spark beside an open hole lights what comes out of it.",
            listed(out)
        ),
    );
    say(
        order.transducer().is_some(),
        "Unscrew an in-cylinder transducer only when the engine stands still.".into(),
    );
    say(
        !order.cut.is_empty(),
        "Unplug the injector, not the coil, and not for long: unburnt fuel overheats the catalytic converter.".into(),
    );
    say(
        warm || order.test == Test::Idle,
        "The system is hot and under pressure from now on: nothing at the neck comes off until it is hand-warm.".into(),
    );
    list
}

/// Holes without a plug: open, or with a transducer in them.
fn empty_seats(order: &Order) -> BTreeSet<u32> {
    order
        .plugs_out
        .iter()
        .copied()
        .chain(order.transducer())
        .collect()
}

/// Which sensors sit on the adapter: transducer, pulse sensor.
fn sensors(order: &Order) -> [bool; 2] {
    [
        order.sensor != Sensor::Pulse,
        order.sensor != Sensor::Pressure,
    ]
}

fn reachable_coils(spec: &JobSpec) -> String {
    let coils: Vec<String> = spec
        .places
        .iter()
        .filter(|p| p.coil.is_some())
        .map(|p| format!("coil:{}", p.cylinder))
        .collect();
    match coils.is_empty() {
        true => "no coil of this engine is in reach; use another sync".into(),
        false => format!("in reach: {}", coils.join(", ")),
    }
}
