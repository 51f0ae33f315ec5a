//! A practice job as a file writes it: a vehicle and its faults as in a scenario, the circumstances
//! of every test, and what the workshop knows, reaches and charges.

use super::field::Preset;
use super::forms::{Form, Limits, Old, Written};
use super::section::{Ask, Section, section, visit_document};
use super::units::Dimension::*;
use super::yaml::{self, Document};
use super::{
    Drawn, FaultsSpec, Kind, Quantity, Reading, Source, TestSpec, VehicleSpec, json_schema,
};
use crate::error::{self, Fault, Faults};
use crate::random::Stream;
use serde_json::{Value, json};

/// A job file, before anything is drawn.
#[derive(Clone, Debug)]
pub struct JobSource {
    file: String,
    document: Document,
}

/// A job whose vehicle is drawn.
#[derive(Clone, Debug)]
pub struct JobDrawn {
    /// What the workshop knows.
    pub spec: JobSpec,
    /// The vehicle, its faults and the circumstances of every test, every draw done; nothing is recorded yet.
    pub base: Drawn,
}

section! {
    /// A job file.
    pub struct JobFile {
        /// the vehicle
        vehicle: VehicleSpec = section("vehicle", VehicleSpec::visit);
        /// what is wrong with the vehicle
        faults: FaultsSpec = section("faults", FaultsSpec::visit);
        /// idle, cap and weather
        test: TestSpec = section("test", TestSpec::visit);
        /// what the workshop knows
        job: JobSpec = section("job", JobSpec::visit);
    }
}

section! {
    /// What the workshop knows, reaches and charges.
    pub struct JobSpec {
        /// air left under the neck once the system is topped up and bled
        air_topped_up: Quantity = value("air_topped_up", &Written(Limits::new(Volume, ["10 mL", "5 L"])), "80 mL".into());
        /// coolant while the engine is warm
        coolant_warm: Quantity = value("coolant_warm", &Written(Limits::new(Temperature, ["50 C", "110 C"])), "84 C".into());
        /// pressure that the warm, closed system keeps
        pressure_warm: Quantity = value("pressure_warm", &Written(Limits::new(Pressure, ["0 bar", "1 bar"])), "0.2 bar".into());
        /// what the list calls it; it gives nothing away
        title: String = text("title", "Untitled");
        /// 1 (plain) to 5 (nasty)
        level: u64 = integer("level", Preset::required(), [1, 5]);
        /// the complaint, in the customer's words
        complaint: String = text("complaint", "");
        /// what the yard found before any test
        findings: String = text("findings", "");
        /// what it teaches; only the debrief shows it
        teaches: String = text("teaches", "");
        /// seed of the vehicle
        seed: u64 = integer("seed", 1, [0, u64::MAX]);
        /// how well each cylinder is reached
        places: Vec<PlaceSpec> = list("places", PlaceSpec::visit);
        /// what the work costs
        minutes: MinutesSpec = section("minutes", MinutesSpec::visit);
    }
}

section! {
    /// How well one cylinder is reached; times in whole minutes.
    pub struct PlaceSpec {
        /// the cylinder's number
        cylinder: u32 = cylinder("cylinder");
        /// taking its plug out; putting it back takes half of that
        plug: u32 = value("plug", &Minutes::new(), Preset::required());
        /// clipping on to its coil; leave out where no lead reaches it
        coil: Option<u32> = optional("coil", Minutes::new());
        /// what is in the way
        note: String = text("note", "");
    }
}

section! {
    /// What the work costs, minutes.
    pub struct MinutesSpec {
        /// fitting the neck adapter with its first sensor
        adapter: u32 = minutes("adapter", "8 min");
        /// fitting or changing a neck sensor
        sensor: u32 = minutes("sensor", "3 min");
        /// changing to a transducer of another range, behind the adapter's valve
        range: u32 = minutes("range", "2 min");
        /// changing what closes the neck
        cap: u32 = minutes("cap", "4 min");
        /// clamping on to the starter cable
        clamp: u32 = minutes("clamp", "3 min");
        /// leads on the battery
        leads: u32 = minutes("leads", "2 min");
        /// screwing a transducer into an open plug hole
        transducer: u32 = minutes("transducer", "5 min");
        /// unplugging an injector, or plugging it in again
        injector: u32 = minutes("injector", "4 min");
        /// disabling the fuel pump, or enabling it again
        fuel: u32 = minutes("fuel", "2 min");
        /// topping up and bleeding the system
        top_up: u32 = minutes("top_up", "20 min");
        /// waiting until a warm engine is hand-warm
        cooling: u32 = minutes("cooling", "45 min");
        /// a crank test
        crank: u32 = minutes("crank", "2 min");
        /// warming the engine up
        warm_up: u32 = minutes("warm_up", "10 min");
        /// a test at idle
        idle: u32 = minutes("idle", "3 min");
    }
}

impl JobFile {
    /// The JSON Schema of a job file.
    pub fn schema() -> Value {
        let about =
            "A hidden vehicle with a complaint, and what the workshop knows, reaches and charges.";
        json_schema("waterjacket job", about, JobFile::visit)
    }
}

impl Section<'_> {
    fn minutes(&mut self, ask: Ask<u32>, default: &'static str) -> u32 {
        self.value(ask, &Minutes::new(), default.into())
    }
}

/// Times in whole minutes.
struct Minutes(Limits);

impl Minutes {
    fn new() -> Minutes {
        Minutes(Limits::new(Time, ["0 min", "300 min"]))
    }
}

impl Form for Minutes {
    type Value = u32;

    fn kind(&self) -> Kind {
        self.0.kind()
    }

    fn read(&self, value: &Value, stream: &mut Stream) -> Result<(Value, u32), Fault> {
        let (written, seconds) = self.0.read(value, stream)?;
        Ok((written, (seconds / 60.0).round() as u32))
    }

    fn write(&self, own: &u32, _: Old) -> Value {
        format!("{own} min").into()
    }

    fn least(&self) -> u32 {
        0
    }
}

impl JobSource {
    /// Parses a job file; `file` names it in messages.
    pub fn parse(file: &str, text: &[u8]) -> Result<JobSource, Faults> {
        Ok(JobSource {
            file: file.into(),
            document: yaml::parse(file, text)?,
        })
    }

    /// Draws the vehicle; `seed` overrides the file's own.
    ///
    /// # Errors
    /// All faults of the file, each with its line, column and path. Whether vehicle and faults fit each
    /// other shows when the first test is drawn.
    pub fn draw(&self, seed: Option<u64>) -> Result<JobDrawn, Faults> {
        let tree = &self.document.tree;
        let own = tree.pointer("/job/seed").and_then(Value::as_u64);
        let seed = seed.or(own).unwrap_or(1);
        let reading = Reading::new(&self.file, seed, 0);
        let (file, mut tree, _) = visit_document(&reading, tree.clone(), None, JobFile::visit);
        let JobFile { vehicle, job, .. } = file;
        if reading.sound("vehicle.engine.cylinders") && reading.sound("job") {
            job.check(vehicle.engine.cylinders, &reading);
        }
        let spec = reading.end(job, &self.document)?;
        let base = JobDrawn::base(
            seed,
            tree["vehicle"].take(),
            tree["faults"].take(),
            tree["test"].take(),
        )?;
        Ok(JobDrawn { spec, base })
    }
}

impl JobDrawn {
    /// The scenario of a drawn vehicle before the first test, from the resolved sections.
    ///
    /// # Errors
    /// Sections that no job resolves to.
    pub fn base(seed: u64, vehicle: Value, faults: Value, test: Value) -> Result<Drawn, Faults> {
        let tree = json!({"vehicle": vehicle, "faults": faults, "test": test});
        Source::from_tree("order", tree).begin(Some(seed), 0)
    }
}

impl JobSpec {
    fn check(&self, cylinders: usize, reading: &Reading) {
        let fault = |path: &str, problem, remedy| {
            reading.fault(path, Fault::of(error::Kind::Conflict, problem, remedy));
        };
        for (i, place) in self.places.iter().enumerate() {
            let path = format!("job.places[{i}].cylinder");
            let c = place.cylinder;
            if c as usize > cylinders {
                let problem = format!("there is no cylinder {c}");
                fault(&path, problem, "name the cylinders of this engine");
            } else if self.places[..i].iter().any(|p| p.cylinder == c) {
                fault(
                    &path,
                    format!("cylinder {c} stands here twice"),
                    "name it once",
                );
            }
        }
        if self.places.len() < cylinders {
            let problem = format!("{} places for {cylinders} cylinders", self.places.len());
            fault("job.places", problem, "say how each cylinder is reached");
        }
    }
}
