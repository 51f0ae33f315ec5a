//! How captures that shall be alike are recorded: what a quiz or a corpus has in common, so that a
//! file's size says nothing.

use super::Source;
use super::section::Section;
use super::units::Dimension::*;
use crate::error::Faults;

/// What all captures of a set have in common.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Recording {
    /// Length, s.
    pub duration_s: f64,
    /// Samples per second.
    pub sample_rate_hz: f64,
    /// Resolution.
    pub bits: u64,
}

impl Recording {
    /// Asks for the section `recording`.
    pub(crate) fn read(s: &mut Section) -> Self {
        s.section("recording", "how every capture is recorded", |s| {
            Recording {
                duration_s: s.quantity("duration", Time, "4 s", ["1 s", "60 s"], "length"),
                sample_rate_hz: s.quantity(
                    "sample_rate",
                    Frequency,
                    "20 kHz",
                    ["1 kHz", "200 kHz"],
                    "samples per second",
                ),
                bits: s.integer("bits", Some(12), [8, 16], "resolution of the converter"),
            }
        })
    }

    /// The scenario, recorded like this.
    ///
    /// # Errors
    /// A scenario in whose tree the fields cannot stand.
    pub fn of(&self, source: &Source) -> Result<Source, Faults> {
        source
            .with("test.duration", format!("{} s", self.duration_s).into())?
            .with(
                "acquisition.sample_rate",
                format!("{} Hz", self.sample_rate_hz).into(),
            )?
            .with("acquisition.bits", self.bits.into())
    }
}
