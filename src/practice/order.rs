//! A test as a student orders it. What an order does not name stays as the last one left it.

use crate::error::{Fault, Faults, nearest};
use serde::{Deserialize, Serialize};
use std::collections::BTreeSet;
use std::fmt;

/// Longest text of an option that is shown again in a message.
const LONGEST: usize = 40;

/// How the engine is turned.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Test {
    /// By the starter.
    Crank,
    /// By itself.
    Idle,
}

/// What sits at the radiator neck.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Sensor {
    /// A transducer, which holds the pressure.
    Pressure,
    /// A pulse sensor, which feels only its change.
    Pulse,
    /// Both on one adapter.
    Both,
}

/// How full the cooling system is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Level {
    /// As the vehicle came in.
    AsFound,
    /// Topped up and bled.
    ToppedUp,
}

/// What closes the radiator neck.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Cap {
    /// The yard's adapter; nothing leaves.
    Sealed,
    /// The vehicle's own cap, on the adapter.
    Own,
    /// Nothing.
    Open,
}

/// What ties a pulse to a cylinder; written `coil:1`, `cylinder:2`, `starter`, `battery`.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(into = "String", try_from = "String")]
pub enum Sync {
    /// A trigger on this cylinder's coil.
    Coil(u32),
    /// A transducer in place of this cylinder's plug.
    Cylinder(u32),
    /// A clamp on the starter cable.
    Starter,
    /// Leads on the battery.
    Battery,
}

/// One test, whole.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Order {
    /// How the engine is turned.
    pub test: Test,
    /// Cylinders whose plugs are out.
    pub plugs_out: BTreeSet<u32>,
    /// Cylinders whose injectors are unplugged at idle.
    pub cut: BTreeSet<u32>,
    /// What is recorded beside the neck.
    pub sync: BTreeSet<Sync>,
    /// What sits at the neck.
    pub sensor: Sensor,
    /// How full the system is.
    pub coolant: Level,
    /// What closes the neck.
    pub cap: Cap,
    /// Full scale of the transducer, as a scenario writes it.
    pub range: String,
    /// Input range of the pulse sensor, likewise.
    pub pulse_range: String,
    /// Samples a second, likewise.
    pub rate: String,
    /// Length, likewise.
    pub duration: String,
    /// Whether the engine gets fuel.
    pub fuel: bool,
    /// Whether a warm engine is left to cool first.
    pub let_cool: bool,
}

/// What a student names of an order; the rest stays as it is.
#[derive(Clone, Debug, Default, PartialEq)]
#[allow(missing_docs)]
pub struct Change {
    pub test: Option<String>,
    pub plugs_out: Option<String>,
    pub cut: Option<String>,
    pub sync: Option<String>,
    pub sensor: Option<String>,
    pub coolant: Option<String>,
    pub cap: Option<String>,
    pub range: Option<String>,
    pub pulse_range: Option<String>,
    pub rate: Option<String>,
    pub duration: Option<String>,
    pub fuel: Option<String>,
    pub let_cool: bool,
}

impl Default for Order {
    /// What the yard does if nobody says otherwise.
    fn default() -> Self {
        Order {
            test: Test::Crank,
            plugs_out: BTreeSet::new(),
            cut: BTreeSet::new(),
            sync: BTreeSet::new(),
            sensor: Sensor::Pressure,
            coolant: Level::AsFound,
            cap: Cap::Sealed,
            range: "35 kPa".into(),
            pulse_range: "2 V".into(),
            rate: "20 kHz".into(),
            duration: "4 s".into(),
            fuel: false,
            let_cool: false,
        }
    }
}

impl Order {
    /// This order with what `change` names.
    ///
    /// # Errors
    /// Every option that cannot be read, each at its place, such as `--sync`.
    pub fn with(&self, change: &Change) -> Result<Order, Faults> {
        let mut next = self.clone();
        let mut faults = Vec::new();
        word(&mut next.test, &change.test, "--test", TESTS, &mut faults);
        word(
            &mut next.sensor,
            &change.sensor,
            "--sensor",
            SENSORS,
            &mut faults,
        );
        word(
            &mut next.coolant,
            &change.coolant,
            "--coolant",
            LEVELS,
            &mut faults,
        );
        word(&mut next.cap, &change.cap, "--cap", CAPS, &mut faults);
        next.fuel = next.test == Test::Idle;
        word(&mut next.fuel, &change.fuel, "--fuel", FUELS, &mut faults);
        if next.test == Test::Crank {
            next.cut.clear();
        }
        let lists = [
            (&mut next.plugs_out, &change.plugs_out, "--plugs-out"),
            (&mut next.cut, &change.cut, "--cut"),
        ];
        for (list, given, place) in lists {
            match given.as_deref().map(|text| cylinders(text, place)) {
                Some(Ok(read)) => *list = read,
                Some(Err(fault)) => faults.push(fault),
                None => {}
            }
        }
        match change.sync.as_deref().map(syncs) {
            Some(Ok(read)) => next.sync = read,
            Some(Err(fault)) => faults.push(fault),
            None => {}
        }
        let texts = [
            (&mut next.range, &change.range),
            (&mut next.pulse_range, &change.pulse_range),
            (&mut next.rate, &change.rate),
            (&mut next.duration, &change.duration),
        ];
        for (own, given) in texts {
            if let Some(text) = given {
                *own = text.trim().into();
            }
        }
        next.let_cool = change.let_cool;
        if faults.is_empty() {
            Ok(next)
        } else {
            Err(Faults(faults))
        }
    }

    /// The cylinder whose plug hole holds a transducer.
    pub fn transducer(&self) -> Option<u32> {
        self.sync.iter().find_map(|s| match s {
            Sync::Cylinder(c) => Some(*c),
            _ => None,
        })
    }

    /// The cylinders whose coils carry a lead.
    pub fn coils(&self) -> Vec<u32> {
        let coil = |s: &Sync| match s {
            Sync::Coil(c) => Some(*c),
            _ => None,
        };
        self.sync.iter().filter_map(coil).collect()
    }
}

impl From<&Order> for Change {
    /// All that an order says, named.
    fn from(order: &Order) -> Change {
        let cylinders = |set: &BTreeSet<u32>| match set.is_empty() {
            true => Some("none".into()),
            false => Some(set.iter().map(u32::to_string).collect::<Vec<_>>().join(",")),
        };
        let syncs: Vec<String> = order.sync.iter().map(|s| String::from(*s)).collect();
        Change {
            test: Some(name(order.test, TESTS).into()),
            plugs_out: cylinders(&order.plugs_out),
            cut: cylinders(&order.cut),
            sync: Some(if syncs.is_empty() {
                "none".into()
            } else {
                syncs.join(",")
            }),
            sensor: Some(name(order.sensor, SENSORS).into()),
            coolant: Some(name(order.coolant, LEVELS).into()),
            cap: Some(name(order.cap, CAPS).into()),
            range: Some(order.range.clone()),
            pulse_range: Some(order.pulse_range.clone()),
            rate: Some(order.rate.clone()),
            duration: Some(order.duration.clone()),
            fuel: Some(name(order.fuel, FUELS).into()),
            let_cool: order.let_cool,
        }
    }
}

impl fmt::Display for Order {
    /// The options by which a student orders it.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", name(self.test, TESTS))?;
        if !self.plugs_out.is_empty() {
            write!(f, ", plug {} out", listed(&self.plugs_out))?;
        }
        if !self.cut.is_empty() {
            write!(f, ", injector {} unplugged", listed(&self.cut))?;
        }
        let syncs: Vec<String> = self.sync.iter().map(Sync::words).collect();
        match syncs.is_empty() {
            true => write!(f, ", no sync")?,
            false => write!(f, ", sync {}", syncs.join(" and "))?,
        }
        match self.sensor {
            Sensor::Pressure => write!(f, ", transducer to {}", self.range)?,
            Sensor::Pulse => write!(f, ", pulse sensor")?,
            Sensor::Both => write!(f, ", transducer to {} and pulse sensor", self.range)?,
        }
        match self.coolant {
            Level::AsFound => write!(f, ", coolant as found")?,
            Level::ToppedUp => write!(f, ", coolant topped up")?,
        }
        match self.cap {
            Cap::Sealed => write!(f, ", neck sealed"),
            Cap::Own => write!(f, ", own cap"),
            Cap::Open => write!(f, ", neck open"),
        }
    }
}

impl Sync {
    fn words(&self) -> String {
        match self {
            Sync::Coil(c) => format!("coil {c}"),
            Sync::Cylinder(c) => format!("transducer in cylinder {c}"),
            Sync::Starter => "starter current".into(),
            Sync::Battery => "battery voltage".into(),
        }
    }
}

impl From<Sync> for String {
    fn from(sync: Sync) -> String {
        match sync {
            Sync::Coil(c) => format!("coil:{c}"),
            Sync::Cylinder(c) => format!("cylinder:{c}"),
            Sync::Starter => "starter".into(),
            Sync::Battery => "battery".into(),
        }
    }
}

impl TryFrom<String> for Sync {
    type Error = Fault;

    fn try_from(text: String) -> Result<Self, Fault> {
        let text = text.trim().to_lowercase();
        let wrong = || {
            let remedy = match nearest(&text, ["starter", "battery", "none"]) {
                Some(near) => format!("did you mean `{near}`?"),
                None => {
                    "write coil:1, cylinder:1, starter, battery or none, with commas between".into()
                }
            };
            Fault::new("--sync", format!("{} is no sync", shown(&text)), remedy)
        };
        match text.as_str() {
            "starter" => return Ok(Sync::Starter),
            "battery" => return Ok(Sync::Battery),
            _ => {}
        }
        let (kind, number) = text.split_once([':', ' ']).ok_or_else(wrong)?;
        let cylinder = number.trim().parse().map_err(|_| wrong())?;
        match kind {
            "coil" => Ok(Sync::Coil(cylinder)),
            "cylinder" => Ok(Sync::Cylinder(cylinder)),
            _ => Err(wrong()),
        }
    }
}

const TESTS: &[(&str, Test)] = &[("crank", Test::Crank), ("idle", Test::Idle)];
const SENSORS: &[(&str, Sensor)] = &[
    ("pressure", Sensor::Pressure),
    ("pulse", Sensor::Pulse),
    ("both", Sensor::Both),
];
const LEVELS: &[(&str, Level)] = &[("as-found", Level::AsFound), ("topped-up", Level::ToppedUp)];
const CAPS: &[(&str, Cap)] = &[
    ("sealed", Cap::Sealed),
    ("own", Cap::Own),
    ("open", Cap::Open),
];
const FUELS: &[(&str, bool)] = &[("off", false), ("on", true)];

fn name<T: PartialEq>(value: T, words: &'static [(&str, T)]) -> &'static str {
    words.iter().find(|w| w.1 == value).map_or("", |w| w.0)
}

fn word<T: Copy>(
    own: &mut T,
    given: &Option<String>,
    place: &str,
    words: &[(&str, T)],
    faults: &mut Vec<Fault>,
) {
    let Some(text) = given else { return };
    let lower = text.trim().to_lowercase().replace([' ', '_'], "-");
    match words.iter().find(|w| w.0 == lower) {
        Some(found) => *own = found.1,
        None => {
            let names = words.iter().map(|w| w.0);
            let remedy = match nearest(&lower, names.clone()) {
                Some(near) => format!("did you mean `{near}`?"),
                None => format!("use one of: {}", names.collect::<Vec<_>>().join(", ")),
            };
            faults.push(Fault::new(
                place,
                format!("unknown word {}", shown(text)),
                remedy,
            ));
        }
    }
}

fn cylinders(text: &str, place: &str) -> Result<BTreeSet<u32>, Fault> {
    let text = text.trim();
    if text.is_empty() || text.eq_ignore_ascii_case("none") {
        return Ok(BTreeSet::new());
    }
    let parts = text.split([',', '+', ' ']).map(str::trim);
    parts
        .filter(|p| !p.is_empty())
        .map(|part| {
            part.parse().map_err(|_| {
                let remedy = "write cylinder numbers with commas between, such as 1,3, or none";
                Fault::new(place, format!("{} is no cylinder", shown(part)), remedy)
            })
        })
        .collect()
}

fn syncs(text: &str) -> Result<BTreeSet<Sync>, Fault> {
    let text = text.trim();
    if text.is_empty() || text.eq_ignore_ascii_case("none") {
        return Ok(BTreeSet::new());
    }
    text.split([',', '+'])
        .map(|part| Sync::try_from(part.to_string()))
        .collect()
}

/// A text for a message, in quotation marks and cut to a readable length.
pub(super) fn shown(text: &str) -> String {
    match text.char_indices().nth(LONGEST) {
        Some((end, _)) => format!("{:?}...", &text[..end]),
        None => format!("{text:?}"),
    }
}

/// `1`, `1 and 3`.
pub(super) fn listed(set: &BTreeSet<u32>) -> String {
    let all: Vec<String> = set.iter().map(u32::to_string).collect();
    all.join(" and ")
}

#[cfg(test)]
mod tests {
    use super::*;

    fn some(text: &str) -> Option<String> {
        Some(text.into())
    }

    #[test]
    fn what_is_not_named_stays() {
        let first = Change {
            sync: some("coil:1, starter"),
            plugs_out: some("3,1"),
            ..Change::default()
        };
        let first = Order::default().with(&first).unwrap();
        assert_eq!(first.coils(), [1]);
        let next = first
            .with(&Change {
                range: some("10 kPa"),
                ..Change::default()
            })
            .unwrap();
        assert_eq!(next.plugs_out, BTreeSet::from([1, 3]));
        assert_eq!(next.sync, first.sync);
        assert_eq!(
            next.to_string(),
            "crank, plug 1 and 3 out, sync coil 1 and starter current, transducer to 10 kPa, coolant as found, neck sealed"
        );
    }

    #[test]
    fn fuel_follows_the_test_unless_it_is_named() {
        let order = |test: &str, fuel: Option<&str>| {
            let change = Change {
                test: some(test),
                fuel: fuel.map(String::from),
                ..Change::default()
            };
            Order::default().with(&change).unwrap().fuel
        };
        assert!(!order("crank", None));
        assert!(order("idle", None));
        assert!(order("crank", Some("on")));
    }

    #[test]
    fn all_faults_are_told_at_once() {
        let change = Change {
            test: some("crnk"),
            sync: some("coil:x"),
            plugs_out: some("1,two"),
            cap: some("lid"),
            ..Change::default()
        };
        let faults = Order::default().with(&change).unwrap_err().to_string();
        for part in [
            "--test: unknown word \"crnk\"; did you mean `crank`?",
            "--sync: \"coil:x\" is no sync; write coil:1",
            "--plugs-out: \"two\" is no cylinder",
            "--cap: unknown word \"lid\"; use one of: sealed, own, open",
        ] {
            assert!(faults.contains(part), "{faults}");
        }
    }
}
