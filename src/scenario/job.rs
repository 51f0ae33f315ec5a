//! A practice job as a file writes it: a vehicle and its faults as in a scenario, the circumstances
//! of every test, and what the workshop knows, reaches and charges.

use super::section::{Reading, Section, read_document};
use super::units::Dimension::*;
use super::{FaultsSpec, TestSpec, read_vehicle, yaml};
use crate::error::Faults;
use serde_json::Value;

/// A job file: its tree, before anything is drawn.
#[derive(Clone, Debug)]
pub struct JobSource {
    file: String,
    tree: Value,
}

/// What the workshop knows, reaches and charges; times in whole minutes.
#[derive(Clone, Debug, PartialEq)]
pub struct JobSpec {
    /// What the list of jobs calls it; it gives nothing away.
    pub title: String,
    /// 1 (plain) to 5 (nasty).
    pub level: u64,
    /// The complaint, in the customer's words.
    pub complaint: String,
    /// What the yard found before any test.
    pub findings: String,
    /// What it teaches; only the debrief shows it.
    pub teaches: String,
    /// Seed of the vehicle, unless the start of the job brings its own.
    pub seed: u64,
    /// How well each cylinder is reached.
    pub places: Vec<PlaceSpec>,
    /// What the work costs.
    pub minutes: MinutesSpec,
}

/// How well one cylinder is reached.
#[derive(Clone, Debug, PartialEq)]
pub struct PlaceSpec {
    /// Its number.
    pub cylinder: u32,
    /// Taking its plug out, minutes; putting it back takes half of that.
    pub plug: u32,
    /// Clipping on to its coil, minutes; `None` where no lead reaches it.
    pub coil: Option<u32>,
    /// What is in the way.
    pub note: String,
}

/// What the work costs, minutes.
#[derive(Clone, Debug, PartialEq)]
#[allow(missing_docs)]
pub struct MinutesSpec {
    pub adapter: u32,
    pub sensor: u32,
    pub range: u32,
    pub cap: u32,
    pub clamp: u32,
    pub leads: u32,
    pub transducer: u32,
    pub injector: u32,
    pub fuel: u32,
    pub top_up: u32,
    pub cooling: u32,
    pub crank: u32,
    pub warm_up: u32,
    pub idle: u32,
}

/// A job whose vehicle is drawn.
#[derive(Clone, Debug)]
pub struct JobDrawn {
    /// What the workshop knows.
    pub spec: JobSpec,
    /// Cylinders of the engine.
    pub cylinders: usize,
    /// The vehicle, every draw done, as a scenario's section.
    pub vehicle: Value,
    /// The faults likewise.
    pub faults: Value,
    /// Idle, cap and weather, as a scenario's test section.
    pub test: Value,
    /// Air under the neck once the system is topped up and bled, as a scenario writes it.
    pub air_topped_up: String,
    /// Coolant while the engine is warm, likewise.
    pub coolant_warm: String,
    /// Pressure that the warm, closed system keeps, likewise.
    pub pressure_warm: String,
}

impl JobSource {
    /// Parses a job file; `file` names it in messages.
    pub fn parse(file: &str, text: &[u8]) -> Result<JobSource, Faults> {
        Ok(JobSource {
            file: file.into(),
            tree: yaml::parse(file, text)?,
        })
    }

    /// Draws the vehicle; `seed` overrides the file's own.
    ///
    /// # Errors
    /// All faults of the file, each with the path of its field. Whether vehicle and faults fit each
    /// other shows when the first test is drawn.
    pub fn draw(&self, seed: Option<u64>) -> Result<JobDrawn, Faults> {
        let own = self.tree.pointer("/job/seed").and_then(Value::as_u64);
        let seed = seed.or(own).unwrap_or(1);
        let reading = Reading::new(&self.file, seed, 0);
        let ((cylinders, spec), mut tree, _) = read_document(&reading, self.tree.clone(), |s| {
            let (_, engine, _, _) = read_vehicle(s);
            s.section("faults", "what is wrong with the vehicle", FaultsSpec::read);
            s.section("test", "idle, cap and weather", TestSpec::read);
            (
                engine.cylinders,
                s.section("job", "what the workshop knows", JobSpec::read),
            )
        });
        if reading.sound("vehicle.engine.cylinders") && reading.sound("job") {
            spec.check(cylinders, &reading);
        }
        let faults = reading.into_faults();
        if !faults.is_empty() {
            return Err(Faults(faults));
        }
        let text = |tree: &Value, key: &str| {
            let value = tree.pointer(&format!("/job/{key}")).and_then(Value::as_str);
            value.unwrap_or_default().to_string()
        };
        Ok(JobDrawn {
            air_topped_up: text(&tree, "air_topped_up"),
            coolant_warm: text(&tree, "coolant_warm"),
            pressure_warm: text(&tree, "pressure_warm"),
            spec,
            cylinders,
            vehicle: tree["vehicle"].take(),
            faults: tree["faults"].take(),
            test: tree["test"].take(),
        })
    }
}

fn minutes(s: &mut Section, key: &str, default: &str, doc: &str) -> u32 {
    let seconds = s.quantity(key, Time, default, ["0 min", "300 min"], doc);
    (seconds / 60.0).round() as u32
}

impl JobSpec {
    fn read(s: &mut Section) -> Self {
        s.quantity(
            "air_topped_up",
            Volume,
            "80 mL",
            ["10 mL", "5 L"],
            "air left under the neck once the system is topped up and bled",
        );
        s.quantity(
            "coolant_warm",
            Temperature,
            "84 C",
            ["50 C", "110 C"],
            "coolant while the engine is warm",
        );
        s.quantity(
            "pressure_warm",
            Pressure,
            "0.2 bar",
            ["0 bar", "1 bar"],
            "pressure that the warm, closed system keeps",
        );
        JobSpec {
            title: s.text(
                "title",
                "Untitled",
                "what the list calls it; it gives nothing away",
            ),
            level: s.integer("level", None, [1, 5], "1 (plain) to 5 (nasty)"),
            complaint: s.text("complaint", "", "the complaint, in the customer's words"),
            findings: s.text("findings", "", "what the yard found before any test"),
            teaches: s.text("teaches", "", "what it teaches; only the debrief shows it"),
            seed: s.integer("seed", Some(1), [0, u64::MAX], "seed of the vehicle"),
            places: s.list(
                "places",
                "how well each cylinder is reached",
                PlaceSpec::read,
            ),
            minutes: s.section("minutes", "what the work costs", MinutesSpec::read),
        }
    }

    fn check(&self, cylinders: usize, reading: &Reading) {
        let fault = |path: String, problem: String, remedy: &str| {
            reading.fault(&path, (problem, remedy.into()));
        };
        for (i, place) in self.places.iter().enumerate() {
            let path = format!("job.places[{i}].cylinder");
            if place.cylinder as usize > cylinders {
                let problem = format!("there is no cylinder {}", place.cylinder);
                fault(path, problem, "name the cylinders of this engine");
            } else if self.places[..i]
                .iter()
                .any(|p| p.cylinder == place.cylinder)
            {
                let problem = format!("cylinder {} stands here twice", place.cylinder);
                fault(path, problem, "name it once");
            }
        }
        if self.places.len() < cylinders {
            let problem = format!("{} places for {cylinders} cylinders", self.places.len());
            fault(
                "job.places".into(),
                problem,
                "say how each cylinder is reached",
            );
        }
    }
}

impl PlaceSpec {
    fn read(s: &mut Section) -> Self {
        PlaceSpec {
            cylinder: s.integer("cylinder", None, [1, 12], "the cylinder's number") as u32,
            plug: minutes(s, "plug", "", "taking its plug out"),
            coil: s.given("coil").then(|| {
                minutes(
                    s,
                    "coil",
                    "",
                    "clipping on to its coil; leave out where no lead reaches it",
                )
            }),
            note: s.text("note", "", "what is in the way"),
        }
    }
}

impl MinutesSpec {
    fn read(s: &mut Section) -> Self {
        let mut m = |key, default, doc| minutes(s, key, default, doc);
        MinutesSpec {
            adapter: m(
                "adapter",
                "8 min",
                "fitting the neck adapter with its first sensor",
            ),
            sensor: m("sensor", "3 min", "fitting or changing a neck sensor"),
            range: m(
                "range",
                "2 min",
                "changing to a transducer of another range, behind the adapter's valve",
            ),
            cap: m("cap", "4 min", "changing what closes the neck"),
            clamp: m("clamp", "3 min", "clamping on to the starter cable"),
            leads: m("leads", "2 min", "leads on the battery"),
            transducer: m(
                "transducer",
                "5 min",
                "screwing a transducer into an open plug hole",
            ),
            injector: m(
                "injector",
                "4 min",
                "unplugging an injector, or plugging it in again",
            ),
            fuel: m(
                "fuel",
                "2 min",
                "disabling the fuel pump, or enabling it again",
            ),
            top_up: m("top_up", "20 min", "topping up and bleeding the system"),
            cooling: m(
                "cooling",
                "45 min",
                "waiting until a warm engine is hand-warm",
            ),
            crank: m("crank", "2 min", "a crank test"),
            warm_up: m("warm_up", "10 min", "warming the engine up"),
            idle: m("idle", "3 min", "a test at idle"),
        }
    }
}
