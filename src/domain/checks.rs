//! All by which a document contradicts itself.

use super::engine::EngineData;
use super::name::check_name;
use crate::error::{Fault, Faults};
use std::fmt::Display;

/// Collects faults at the fields of one document.
#[derive(Debug)]
pub struct Checks {
    place: String,
    faults: Vec<Fault>,
}

impl Checks {
    /// Checks of the document that `place` names.
    pub fn of(place: impl Display) -> Self {
        Checks {
            place: place.to_string(),
            faults: Vec::new(),
        }
    }

    /// Notes a fault at `field` unless something `holds`.
    pub fn need(
        &mut self,
        holds: bool,
        field: impl Display,
        problem: impl Display,
        remedy: impl Display,
    ) {
        if !holds {
            let place = format!("{}: {field}", self.place);
            self.faults.push(Fault::new(place, problem, remedy));
        }
    }

    /// Notes a capture's name that is no safe file name.
    pub fn name(&mut self, name: &str) {
        if let Err(fault) = check_name(name) {
            let problem = format!("{}: {}", fault.place, fault.problem);
            self.need(false, "capture", problem, fault.remedy);
        }
    }

    /// Notes cylinders that the engine lacks.
    pub fn cylinders(
        &mut self,
        field: impl Display,
        cylinders: impl IntoIterator<Item = u32>,
        engine: &EngineData,
    ) {
        for cylinder in cylinders {
            self.need(
                engine.firing_place(cylinder).is_some(),
                &field,
                format!("the engine has no cylinder {cylinder}"),
                "name a cylinder of the firing order",
            );
        }
    }

    /// All faults that were noted.
    ///
    /// # Errors
    /// If there are any.
    pub fn finish(self) -> Result<(), Faults> {
        if self.faults.is_empty() {
            Ok(())
        } else {
            Err(Faults(self.faults))
        }
    }
}
