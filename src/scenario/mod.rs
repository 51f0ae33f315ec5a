//! Scenarios: one vehicle, its faults, the test set-up and the channels, read from YAML.
//!
//! [`Source::draw`] gives typed SI values and the resolved tree, in which every draw is done and
//! every default written out. The resolved tree is a scenario again and renders the same capture;
//! the truth keeps it. This module knows units, ranges and words, but no physics.

mod channel;
mod checks;
mod cooling;
mod distribution;
mod engine;
mod faults;
mod job;
mod kind;
mod path;
mod reading;
mod recording;
mod scalar;
mod schema;
pub(crate) mod section;
mod sweep;
mod test_setup;
pub(crate) mod units;
pub(crate) mod yaml;

pub use channel::*;
pub use cooling::{AcousticsSpec, CoolingSpec};
pub use engine::{CombustionSpec, EngineSpec, Layout, ManifoldSpec, StarterSpec, ValvesSpec};
pub use faults::{FaultsSpec, LeakSpec, MAX_LEAKS, MisfireSpec, WornSpec};
pub use job::{JobDrawn, JobSource, JobSpec, MinutesSpec, PlaceSpec};
pub use kind::FileKind;
pub use recording::Recording;
pub use schema::json_schema;
pub use sweep::Sweep;
pub use test_setup::{CapSpec, CapState, IdleSpec, Mode, TestSpec};

use crate::error::{Fault, Faults};
use section::{Reading, Section, read_document};
use serde_json::Value;
use units::Dimension::*;

/// One capture to be rendered, in SI units.
#[derive(Clone, Debug, PartialEq)]
pub struct Scenario {
    /// What the lesson is called; part of the truth, for it may give the answer away.
    pub title: String,
    /// What it teaches.
    pub teaches: String,
    /// The complaint and what was done; stands on the public card.
    pub brief: String,
    /// Seed of all randomness, unless the run brings its own.
    pub seed: u64,
    /// The invented vehicle's name.
    pub vehicle: String,
    /// Its engine.
    pub engine: EngineSpec,
    /// Its starter and battery.
    pub starter: StarterSpec,
    /// Its cooling system.
    pub cooling: CoolingSpec,
    /// What is wrong with it.
    pub faults: FaultsSpec,
    /// How the test is done.
    pub test: TestSpec,
    /// What is recorded.
    pub channels: Vec<ChannelSpec>,
    /// How it is recorded.
    pub acquisition: AcquisitionSpec,
}

/// The converter that all channels share.
#[derive(Clone, Debug, PartialEq)]
pub struct AcquisitionSpec {
    /// Samples per second.
    pub sample_rate_hz: f64,
    /// Resolution.
    pub bits: u32,
    /// Frequency of the mains, for hum.
    pub mains_hz: f64,
}

/// A scenario file: its tree, before anything is drawn.
#[derive(Clone, Debug)]
pub struct Source {
    file: String,
    tree: Value,
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
        Ok(Source {
            file: file.into(),
            tree: yaml::parse(file, text)?,
        })
    }

    /// A resolved tree, as a truth keeps it.
    pub fn from_tree(file: &str, tree: Value) -> Source {
        Source {
            file: file.into(),
            tree,
        }
    }

    /// What kind of file it is; all but scenarios have readers of their own.
    pub fn kind(&self) -> FileKind {
        FileKind::of(&self.tree)
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
        any(&self.tree)
    }

    /// Draws capture `number`; `seed` overrides the file's own.
    ///
    /// # Errors
    /// All faults of the file, each with the path of its field.
    pub fn draw(&self, seed: Option<u64>, number: u64) -> Result<Drawn, Faults> {
        let seed = seed
            .or_else(|| self.tree.get("seed").and_then(Value::as_u64))
            .unwrap_or(1);
        let reading = Reading::new(&self.file, seed, number);
        if !matches!(self.tree, Value::Object(_)) {
            return Err(Fault::new(
                &self.file,
                "the file holds no scenario",
                "start from one in scenarios/",
            )
            .into());
        }
        let (scenario, resolved, _) = read_document(&reading, self.tree.clone(), Scenario::read);
        checks::check(&scenario, &reading);
        match reading.into_faults() {
            faults if faults.is_empty() => Ok(Drawn {
                scenario,
                resolved,
                seed,
                number,
            }),
            faults => Err(Faults(faults)),
        }
    }

    /// Checks the file: every range, and `draws` draws of what it leaves to chance.
    ///
    /// # Errors
    /// All faults found, each once.
    pub fn check(&self, draws: u64) -> Result<(), Faults> {
        let draws = if self.has_distributions() { draws } else { 1 };
        let mut all: Vec<Fault> = Vec::new();
        for number in 0..draws {
            if let Err(Faults(faults)) = self.draw(None, number) {
                all.extend(
                    faults
                        .into_iter()
                        .filter(|f| !all.contains(f))
                        .collect::<Vec<_>>(),
                );
            }
        }
        if all.is_empty() {
            Ok(())
        } else {
            Err(Faults(all))
        }
    }
}

impl Scenario {
    fn read(s: &mut Section) -> Scenario {
        let title = s.text(
            "title",
            "Untitled",
            "what the lesson is called; only the truth shows it",
        );
        let teaches = s.text("teaches", "", "what it teaches");
        let brief = s.text(
            "brief",
            "",
            "the complaint and what was done, for the public card",
        );
        let seed = s.integer("seed", Some(1), [0, u64::MAX], "seed of all randomness");
        let (vehicle, engine, starter, cooling) = read_vehicle(s);
        let faults = s.section("faults", "what is wrong with the vehicle", FaultsSpec::read);
        let test = s.section("test", "how the test is done", TestSpec::read);
        let channels = s.list(
            "channels",
            "what is recorded, a channel each",
            ChannelSpec::read,
        );
        let acquisition = s.section("acquisition", "how it is recorded", |s| AcquisitionSpec {
            sample_rate_hz: s.quantity(
                "sample_rate",
                Frequency,
                "50 kHz",
                ["200 Hz", "1 MHz"],
                "samples per second of every channel",
            ),
            bits: s.integer("bits", Some(12), [8, 16], "resolution of the converter") as u32,
            mains_hz: s.quantity(
                "mains",
                Frequency,
                "50 Hz",
                ["40 Hz", "70 Hz"],
                "frequency of the mains, for hum",
            ),
        });
        let channels = channels.into_iter().flatten().collect();
        Scenario {
            title,
            teaches,
            brief,
            seed,
            vehicle,
            engine,
            starter,
            cooling,
            faults,
            test,
            channels,
            acquisition,
        }
    }
}

/// The vehicle's section: its name, engine, starter and cooling system.
fn read_vehicle(s: &mut Section) -> (String, EngineSpec, StarterSpec, CoolingSpec) {
    s.section("vehicle", "the vehicle", |s| {
        (
            s.text("name", "an unnamed vehicle", "the invented vehicle's name"),
            s.section("engine", "the engine", EngineSpec::read),
            s.section("starter", "starter and battery", StarterSpec::read),
            s.section("cooling", "the cooling system", CoolingSpec::read),
        )
    })
}
