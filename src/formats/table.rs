//! The table of a capture: CSV with the time and one column for each channel, for spreadsheets.
//!
//! Numbers have a fixed count of decimals in each column, the fewest whose step is at most a tenth
//! of a count (of a sample, for the time). A count is then told from its neighbours and can be
//! found again exactly, and no column shows the digits of binary rounding
//! (`101.32500000000002`), which would read as a precision that a 16-bit sample does not have.
//!
//! Limits: taking every n-th sample does not filter, so what is faster than half the new rate
//! turns up as something slower (aliasing).

use crate::domain::Capture;
use crate::error::{Fault, Faults};
use std::io::{self, Write};
use std::ops::Range;

/// More decimals than this are not written; a finer scale gets as many digits as it needs.
const MAX_DECIMALS: usize = 12;

/// A part of a capture, ready to be written as CSV.
pub struct Table<'a> {
    capture: &'a Capture,
    frames: Range<usize>,
    every: usize,
}

impl<'a> Table<'a> {
    /// The samples of `capture` from `from_s` to `to_s` (both included; s from its start; the
    /// whole capture where `None`), and of those the first and then every `every`-th one.
    pub fn of(
        capture: &'a Capture,
        from_s: Option<f64>,
        to_s: Option<f64>,
        every: usize,
    ) -> Result<Self, Faults> {
        let frames = capture.frames();
        let end_s = capture.time_s(frames.saturating_sub(1));
        let (from, to) = (from_s.unwrap_or(0.0), to_s.unwrap_or(end_s));
        let mut faults = Vec::new();
        let mut need = |holds: bool, problem: String, remedy: String| {
            if !holds {
                faults.push(Fault::new(capture.name(), problem, remedy));
            }
        };
        need(
            from <= to && from <= end_s && to >= 0.0,
            format!("no sample lies between {from} s and {to} s"),
            format!("choose a span within 0 s to {end_s} s"),
        );
        need(
            every > 0,
            "every 0th sample was asked for".into(),
            "ask for every 1st sample or fewer".into(),
        );
        if !faults.is_empty() {
            return Err(Faults(faults));
        }
        // The division that makes the times makes the bounds too: comparing with it keeps a
        // sample whose printed time is the bound itself.
        let first = partition(frames, |frame| capture.time_s(frame) < from);
        let end = partition(frames, |frame| capture.time_s(frame) <= to);
        if first >= end {
            let problem = format!("no sample lies between {from} s and {to} s");
            let remedy = format!("samples are {} s apart: widen the span", capture.time_s(1));
            return Err(Fault::new(capture.name(), problem, remedy).into());
        }
        Ok(Table {
            capture,
            frames: first..end,
            every,
        })
    }

    /// Number of rows below the heading.
    pub fn rows(&self) -> usize {
        self.frames.len().div_ceil(self.every)
    }

    /// The heading: `time_s`, then each channel by name and unit, as in `neck_pressure_kPa`.
    pub fn heading(&self) -> Vec<String> {
        let mut heading = vec!["time_s".to_owned()];
        for channel in &self.capture.card.channels {
            let plain = column(&channel.name, &channel.unit);
            let mut name = plain.clone();
            let mut number = 2;
            while heading.contains(&name) {
                name = format!("{plain}_{number}");
                number += 1;
            }
            heading.push(name);
        }
        heading
    }

    /// Writes the table as CSV: fields split by commas, lines ended by LF, `.` for the decimals.
    pub fn write(&self, out: impl Write) -> io::Result<()> {
        let mut csv = csv::Writer::from_writer(out);
        csv.write_record(self.heading())?;
        let card = &self.capture.card;
        let time = Decimals::of(1.0 / card.sample_rate_hz);
        let columns: Vec<_> = card
            .channels
            .iter()
            .zip(&self.capture.samples)
            .map(|(channel, counts)| (channel, counts, Decimals::of(channel.scale_per_count)))
            .collect();
        for frame in self.frames.clone().step_by(self.every) {
            csv.write_field(time.text(self.capture.time_s(frame)))?;
            for (channel, counts, decimals) in &columns {
                csv.write_field(decimals.text(channel.value(counts[frame])))?;
            }
            csv.write_record(None::<&[u8]>)?;
        }
        csv.flush()
    }
}

/// The first of `0..count` for which `before` no longer holds.
fn partition(count: usize, before: impl Fn(usize) -> bool) -> usize {
    let (mut low, mut high) = (0, count);
    while low < high {
        let middle = low + (high - low) / 2;
        if before(middle) {
            low = middle + 1;
        } else {
            high = middle;
        }
    }
    low
}

/// A column's name: letters and digits of the channel's name in lower case, then the unit.
fn column(name: &str, unit: &str) -> String {
    let words = |text: &str| {
        let words = text.split(|c: char| !c.is_alphanumeric());
        words
            .filter(|word| !word.is_empty())
            .collect::<Vec<_>>()
            .join("_")
    };
    let name = words(&name.to_lowercase());
    let unit = words(&unit.replace('/', " per ").replace('%', " percent "));
    match (name.is_empty(), unit.is_empty()) {
        (true, true) => "channel".into(),
        (true, false) => format!("channel_{unit}"),
        (false, true) => name,
        (false, false) => format!("{name}_{unit}"),
    }
}

/// How many decimals a column has; `None` for as many as bring the number back exactly.
struct Decimals(Option<usize>);

impl Decimals {
    /// Fewest decimals whose step is at most a tenth of `step`.
    fn of(step: f64) -> Self {
        let mut scaled = step.abs();
        Decimals((0..=MAX_DECIMALS).find(|_| {
            let enough = scaled >= 10.0;
            scaled *= 10.0;
            enough
        }))
    }

    fn text(&self, value: f64) -> String {
        let text = match self.0 {
            Some(decimals) => format!("{value:.decimals$}"),
            None => value.to_string(),
        };
        // A value that rounds to zero from below has no sign to show.
        match text.strip_prefix('-') {
            Some(rest) if rest.bytes().all(|b| matches!(b, b'0' | b'.')) => rest.to_owned(),
            _ => text,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::{ChannelCard, example};
    use proptest::prelude::*;

    fn capture() -> Capture {
        Capture {
            card: example::card(),
            samples: example::channels(),
        }
    }

    fn text(table: &Table) -> String {
        let mut bytes = Vec::new();
        table.write(&mut bytes).unwrap();
        String::from_utf8(bytes).unwrap()
    }

    #[test]
    fn a_span_reads_like_this() {
        let capture = capture();
        let table = Table::of(&capture, Some(0.0005), Some(0.002), 3).unwrap();
        assert_eq!(
            text(&table),
            "time_s,neck_pressure_kPa,coil_trigger_V\n\
             0.00050,100.1600,-0.00977\n\
             0.00125,100.4000,-0.02441\n\
             0.00200,100.6400,-0.03906\n"
        );
        assert_eq!(table.rows(), 3);
    }

    #[test]
    fn the_whole_capture_is_the_default() {
        let capture = capture();
        let table = Table::of(&capture, None, None, 1).unwrap();
        assert_eq!(table.rows(), 1000);
        assert_eq!(text(&table).lines().count(), 1001);
        let few = Table::of(&capture, None, None, usize::MAX).unwrap();
        assert_eq!(few.rows(), 1);
        assert_eq!(text(&few).lines().count(), 2);
        let beyond = Table::of(&capture, Some(-1.0), Some(f64::INFINITY), 1).unwrap();
        assert_eq!(beyond.rows(), 1000);
    }

    #[test]
    fn spans_without_samples_are_refused() {
        let capture = capture();
        for (from, to) in [
            (Some(0.2), Some(0.1)),
            (Some(0.25), None),
            (None, Some(-0.1)),
            (Some(f64::NAN), None),
            (Some(0.0001), Some(0.0002)),
        ] {
            assert!(
                Table::of(&capture, from, to, 1).is_err(),
                "{from:?} to {to:?}"
            );
        }
        let two = Table::of(&capture, Some(1.0), Some(0.5), 0).err().unwrap();
        assert_eq!(two.0.len(), 2, "{two}");
    }

    #[test]
    fn columns_are_named_apart() {
        let mut capture = capture();
        let first = capture.card.channels[0].clone();
        let names = [
            ("Time", "s"),
            ("Neck pressure", "kPa"),
            ("neck-pressure!", "kPa"),
            ("Leak 1: flow", "mg/s"),
            ("=1+1", ""),
            ("\u{d6}l", "%"),
            ("?", "\u{b0}"),
        ];
        capture.card.channels = names
            .map(|(name, unit)| {
                let (name, unit) = (name.into(), unit.into());
                ChannelCard {
                    name,
                    unit,
                    ..first.clone()
                }
            })
            .to_vec();
        capture.samples = vec![vec![0]; names.len()];
        assert_eq!(
            Table::of(&capture, None, None, 1).unwrap().heading(),
            [
                "time_s",
                "time_s_2",
                "neck_pressure_kPa",
                "neck_pressure_kPa_2",
                "leak_1_flow_mg_per_s",
                "1_1",
                "\u{f6}l_percent",
                "channel"
            ]
        );
    }

    #[test]
    fn decimals_follow_the_step() {
        for (step, decimals) in [
            (0.005, Some(4)),
            (0.01, Some(3)),
            (-0.01, Some(3)),
            (1.0, Some(1)),
            (9.0, Some(1)),
            (10.0, Some(0)),
            (1e9, Some(0)),
            (1e-300, None),
            (0.0, None),
        ] {
            assert_eq!(Decimals::of(step).0, decimals, "{step}");
        }
        assert_eq!(Decimals(Some(2)).text(-0.001), "0.00");
        assert_eq!(Decimals(Some(2)).text(-0.01), "-0.01");
        assert_eq!(Decimals(None).text(0.1 + 0.2), "0.30000000000000004");
    }

    proptest! {
        #[test]
        fn every_count_can_be_found_again(count: i16, scale in 1e-9_f64..1e3, offset in -1e3_f64..1e3) {
            let value = offset + scale * f64::from(count);
            let read: f64 = Decimals::of(scale).text(value).parse().unwrap();
            prop_assert_eq!(((read - offset) / scale).round(), f64::from(count));
        }
    }
}
