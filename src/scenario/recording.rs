//! How captures that shall be alike are recorded: what a quiz or a corpus has in common, so that a
//! file's size says nothing.

use super::section::section;
use super::units::Dimension::*;
use super::{Scenario, Texts};

section! {
    /// What all captures of a set have in common.
    #[derive(Copy)]
    pub struct Recording {
        /// length
        duration_s: f64 = quantity("duration", Time, "4 s", ["1 s", "60 s"]);
        /// samples per second
        sample_rate_hz: f64 = quantity("sample_rate", Frequency, "20 kHz", ["1 kHz", "200 kHz"]);
        /// resolution of the converter
        bits: u32 = integer("bits", 12, [8, 16]);
    }
}

impl Recording {
    /// Has a scenario recorded like this, in SI units whatever it said itself.
    pub(super) fn set(&self, s: &mut Scenario, texts: &mut Texts) {
        let (test, acquisition) = (&mut s.test, &mut s.acquisition);
        texts.put(&mut test.duration_s, Time.in_si(self.duration_s));
        texts.put(
            &mut acquisition.sample_rate_hz,
            Frequency.in_si(self.sample_rate_hz),
        );
        acquisition.bits = self.bits;
    }
}
