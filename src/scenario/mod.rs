//! Scenarios: one vehicle, its faults, the test set-up and the channels, read from YAML.
//!
//! [`Source::draw`] gives typed SI values and the resolved tree, in which every draw is done and
//! every default written out. The resolved tree is a scenario again and renders the same capture;
//! the truth keeps it. [`Drawn::edit`] changes the typed values, and the tree follows. This module knows
//! units, ranges and words, but no physics.

mod channel;
mod checks;
mod cooling;
mod distribution;
mod engine;
mod faults;
mod field;
pub(crate) mod forms;
mod job;
mod kind;
mod reading;
mod recording;
mod schema;
pub(crate) mod section;
#[cfg(feature = "cli")]
mod seeded;
mod slips;
mod sweep;
mod test_setup;
mod units;
mod yaml;

pub use channel::*;
pub use cooling::{AcousticsSpec, CoolingSpec};
pub use distribution::Distribution;
pub use engine::{CombustionSpec, EngineSpec, Layout, ManifoldSpec, StarterSpec, ValvesSpec};
pub use faults::{FaultsSpec, LeakSpec, MAX_LEAKS, MisfireSpec, WornSpec};
pub use field::{Field, Hidden, Kind, Preset};
#[cfg(feature = "cli")]
pub(crate) use forms::own_quantity;
pub use job::{JobDrawn, JobFile, JobSource, JobSpec, MinutesSpec, PlaceSpec};
pub use kind::FileKind;
pub(crate) use reading::Reading;
pub use reading::Texts;
pub use recording::Recording;
pub(crate) use schema::json_schema;
#[cfg(feature = "cli")]
pub(crate) use seeded::read_seeded;
pub use sweep::Sweep;
pub use test_setup::{CapSpec, CapState, IdleSpec, Mode, TestSpec};
pub use units::{Dimension, Quantity};

use crate::error::{Fault, Faults};
use section::{section, visit_document};
use serde_json::Value;
use units::Dimension::*;
use yaml::Document;

section! {
    /// One capture to be rendered, in SI units.
    pub struct Scenario {
        /// what the lesson is called; only the truth shows it
        title: String = text("title", "Untitled");
        /// what it teaches
        teaches: String = text("teaches", "");
        /// the complaint and what was done, for the public card
        brief: String = text("brief", "");
        /// seed of all randomness
        seed: u64 = integer("seed", 1, [0, u64::MAX]);
        /// the vehicle
        vehicle: VehicleSpec = section("vehicle", VehicleSpec::visit);
        /// what is wrong with the vehicle
        faults: FaultsSpec = section("faults", FaultsSpec::visit);
        /// how the test is done
        test: TestSpec = section("test", TestSpec::visit);
        /// what is recorded, a channel each
        channels: Vec<ChannelSpec> = list("channels", ChannelSpec::visit);
        /// how it is recorded
        acquisition: AcquisitionSpec = section("acquisition", AcquisitionSpec::visit);
    }
}

section! {
    /// The vehicle as specified.
    pub struct VehicleSpec {
        /// the invented vehicle's name
        name: String = text("name", "an unnamed vehicle");
        /// the engine
        engine: EngineSpec = section("engine", EngineSpec::visit);
        /// starter and battery
        starter: StarterSpec = section("starter", StarterSpec::visit);
        /// the cooling system
        cooling: CoolingSpec = section("cooling", CoolingSpec::visit);
    }
}

section! {
    /// The converter that all channels share.
    pub struct AcquisitionSpec {
        /// samples per second of every channel
        sample_rate_hz: f64 = quantity("sample_rate", Frequency, "50 kHz", ["200 Hz", "1 MHz"]);
        /// resolution of the converter
        bits: u32 = integer("bits", 12, [8, 16]);
        /// frequency of the mains, for hum
        mains_hz: f64 = quantity("mains", Frequency, field::common("50 Hz"), ["40 Hz", "70 Hz"]);
    }
}

/// A scenario file, before anything is drawn.
#[derive(Clone, Debug)]
pub struct Source {
    file: String,
    document: Document,
    recording: Option<Recording>,
}

/// A scenario with every draw done.
#[derive(Clone, Debug)]
pub struct Drawn {
    /// The typed values.
    pub scenario: Scenario,
    /// The same as a tree that reads back as this very scenario.
    pub resolved: Value,
    /// Seed of the run.
    pub seed: u64,
    /// Number of the capture in the run.
    pub number: u64,
}

impl Source {
    /// A scenario file has at most this many bytes.
    pub const MAX_BYTES: u64 = yaml::MAX_BYTES as u64;

    /// Parses YAML (JSON is YAML too); `file` names it in messages.
    pub fn parse(file: &str, text: &[u8]) -> Result<Source, Faults> {
        Ok(Source::of(file, yaml::parse(file, text)?))
    }

    /// A resolved tree, as a truth keeps it.
    pub fn from_tree(file: &str, tree: Value) -> Source {
        Source::of(file, tree.into())
    }

    fn of(file: &str, document: Document) -> Source {
        Source {
            file: file.into(),
            document,
            recording: None,
        }
    }

    /// The scenario, whose every draw is recorded like all others of a set.
    pub fn recorded(self, recording: Recording) -> Source {
        Source {
            recording: Some(recording),
            ..self
        }
    }

    /// What kind of file it is; all but scenarios have readers of their own.
    pub fn kind(&self) -> FileKind {
        FileKind::of(&self.document.tree)
    }

    /// Whether the file leaves something to chance, so that two captures of it differ in more than
    /// their noise.
    pub fn has_distributions(&self) -> bool {
        fn any(value: &Value) -> bool {
            match value {
                Value::Object(map) => {
                    map.keys()
                        .any(|k| distribution::NAMES.contains(&k.as_str()))
                        || map.values().any(any)
                }
                Value::Array(items) => items.iter().any(any),
                _ => false,
            }
        }
        any(&self.document.tree)
    }

    /// Draws capture `number`; `seed` overrides the file's own.
    ///
    /// # Errors
    /// All faults of the file, each with its line, column and path.
    pub fn draw(&self, seed: Option<u64>, number: u64) -> Result<Drawn, Faults> {
        self.read(seed, number, checks::check)
    }

    /// Draws what may not be whole, or not fit together, before an edit.
    ///
    /// # Errors
    /// All faults of single fields.
    pub fn begin(&self, seed: Option<u64>, number: u64) -> Result<Drawn, Faults> {
        self.read(seed, number, |_, _| ())
    }

    fn read(
        &self,
        seed: Option<u64>,
        number: u64,
        check: impl FnOnce(&Scenario, &Reading),
    ) -> Result<Drawn, Faults> {
        let tree = &self.document.tree;
        if !tree.is_object() {
            return Err(Fault::new(
                &self.file,
                "the file holds no scenario",
                "start from one in scenarios/",
            )
            .into());
        }
        let seed = seed
            .or_else(|| tree.get("seed").and_then(Value::as_u64))
            .unwrap_or(1);
        let mut reading = Reading::new(&self.file, seed, number);
        let (mut scenario, mut resolved, _) =
            visit_document(&reading, tree.clone(), None, Scenario::visit);
        if let Some(recording) = &self.recording {
            recording.set(&mut scenario, &mut reading.texts);
            resolved = visit_document(&reading, resolved, Some(&scenario), Scenario::visit).1;
        }
        check(&scenario, &reading);
        let drawn = Drawn {
            scenario,
            resolved,
            seed,
            number,
        };
        reading.end(drawn, &self.document)
    }

    /// Checks the file: every range, and `draws` draws of what it leaves to chance.
    ///
    /// # Errors
    /// All faults found, each once.
    pub fn check(&self, draws: u64) -> Result<(), Faults> {
        let draws = if self.has_distributions() { draws } else { 1 };
        let mut all = Faults::default();
        for number in 0..draws {
            if let Err(faults) = self.draw(None, number) {
                all.extend_once(faults);
            }
        }
        all.or(())
    }
}

impl Scenario {
    /// The JSON Schema of a scenario.
    pub fn schema() -> Value {
        let about = "One vehicle, its faults, the test set-up and the channels of a capture.";
        json_schema("waterjacket scenario", about, Scenario::visit)
    }

    /// The fields of a scenario, in order.
    pub fn fields() -> Vec<Field> {
        section::fields(Scenario::visit)
    }
}

impl Drawn {
    /// The same capture with other values, every draw kept. `change` alters the typed values; what it puts with
    /// [`Texts::put`] is written as it came, all else that changed in SI units. Defaults that follow from
    /// other fields stay as they were.
    ///
    /// # Errors
    /// Values that a field does not take, or that do not fit each other.
    pub fn edit(&self, change: impl FnOnce(&mut Scenario, &mut Texts)) -> Result<Drawn, Faults> {
        let mut scenario = self.scenario.clone();
        let mut reading = Reading::new("", self.seed, self.number);
        change(&mut scenario, &mut reading.texts);
        let old = self.resolved.clone();
        let (_, resolved, _) = visit_document(&reading, old, Some(&scenario), Scenario::visit);
        Source::from_tree("the changed scenario", resolved).draw(Some(self.seed), self.number)
    }
}
