//! What a row of a Parquet file of captures holds: the card and the samples, and, in files for whoever
//! holds the key, the truth in outline.
//!
//! The tables here are the written description of the format; a change of theirs is a new version.

use super::{json, key};
use crate::domain::{Call, Capture, Card, ChannelCard, LeakTruth, Truth, highest_pulse};
use std::borrow::Borrow;

/// What the metadata of a file of captures says.
pub const CAPTURES_FORMAT: &str = "waterjacket captures 1";
/// What the metadata of a file of truths says.
pub const TRUTHS_FORMAT: &str = "waterjacket truths 1";
/// What the metadata of a file of captures with their truths says.
pub const LABELLED_FORMAT: &str = "waterjacket labelled captures 1";

/// A column of rows `R`.
pub struct Column<R> {
    /// Its name.
    pub name: &'static str,
    /// What it means, with the unit.
    pub meaning: &'static str,
    /// What stands in it.
    pub cells: Cells<R>,
}

/// What stands in a column: what a row `R` has there, by its type.
#[allow(missing_docs)]
pub enum Cells<R> {
    Text(fn(&R) -> String),
    /// Unsigned, 64 bits.
    Whole(fn(&R) -> u64),
    Real(fn(&R) -> f64),
    Flag(fn(&R) -> bool),
    /// A number, or nothing.
    MaybeReal(fn(&R) -> Option<f64>),
    Texts(fn(&R) -> Vec<String>),
    /// Signed, 32 bits.
    Wholes(fn(&R) -> Vec<u32>),
    Reals(fn(&R) -> Vec<f64>),
    /// A list of channels, each a list of signed 16-bit counts.
    Counts(fn(&R) -> &[Vec<i16>]),
}

fn column<R>(name: &'static str, meaning: &'static str, cells: Cells<R>) -> Column<R> {
    Column {
        name,
        meaning,
        cells,
    }
}

/// A capture with its truth.
pub struct Labelled {
    /// The capture.
    pub capture: Capture,
    /// Its truth.
    pub truth: Truth,
}

impl Borrow<Truth> for Labelled {
    fn borrow(&self) -> &Truth {
        &self.truth
    }
}

/// Card and samples: what an analyzer may read.
pub fn capture_columns() -> Vec<Column<Labelled>> {
    fn each<T>(card: &Card, of: fn(&ChannelCard) -> T) -> Vec<T> {
        card.channels.iter().map(of).collect()
    }
    vec![
        column(
            "capture",
            "the capture's name",
            Cells::Text(|r| r.capture.card.capture.clone()),
        ),
        column(
            "sample_rate_hz",
            "samples per second of every channel",
            Cells::Real(|r| r.capture.card.sample_rate_hz),
        ),
        column(
            "frames",
            "samples in each channel",
            Cells::Whole(|r| r.capture.card.frames),
        ),
        column(
            "channels",
            "name of each channel",
            Cells::Texts(|r| each(&r.capture.card, |c| c.name.clone())),
        ),
        column(
            "measures",
            "what each channel measures, in the card's words",
            Cells::Texts(|r| each(&r.capture.card, |c| c.measures.to_string())),
        ),
        column(
            "unit",
            "unit of each channel's value",
            Cells::Texts(|r| each(&r.capture.card, |c| c.unit.clone())),
        ),
        column(
            "scale_per_count",
            "value per count of each channel",
            Cells::Reals(|r| each(&r.capture.card, |c| c.scale_per_count)),
        ),
        column(
            "offset",
            "value at count 0; value = offset + scale_per_count * count",
            Cells::Reals(|r| each(&r.capture.card, |c| c.offset)),
        ),
        column(
            "samples",
            "counts: a list for each channel, in its order",
            Cells::Counts(|r| &r.capture.samples),
        ),
        column(
            "vehicle",
            "the (invented) vehicle",
            Cells::Text(|r| r.capture.card.engine.vehicle.clone()),
        ),
        column(
            "layout",
            "`inline`, `vee` or `flat`",
            Cells::Text(|r| r.capture.card.engine.layout.to_string()),
        ),
        column(
            "firing_order",
            "cylinders in the order in which they fire",
            Cells::Wholes(|r| r.capture.card.engine.firing_order.clone()),
        ),
        column(
            "firing_intervals_deg",
            "crank degrees from each of them to the next",
            Cells::Reals(|r| r.capture.card.engine.firing_intervals_deg.clone()),
        ),
        column(
            "displacement_l",
            "swept volume, litres",
            Cells::Real(|r| r.capture.card.engine.displacement_l),
        ),
        column(
            "compression_ratio",
            "geometric",
            Cells::Real(|r| r.capture.card.engine.compression_ratio),
        ),
        column(
            "shared_coils",
            "whether two cylinders share a coil",
            Cells::Flag(|r| r.capture.card.engine.shared_coils),
        ),
        column(
            "mode",
            "`cranking` or `idle`",
            Cells::Text(|r| r.capture.card.set_up.mode.to_string()),
        ),
        column(
            "plugs_out",
            "cylinders whose plug is out",
            Cells::Wholes(|r| r.capture.card.set_up.plugs_out.clone()),
        ),
        column(
            "ignition_enabled",
            "whether the coils could fire",
            Cells::Flag(|r| r.capture.card.set_up.ignition_enabled),
        ),
        column(
            "card",
            "the whole card as JSON",
            Cells::Text(|r| json::text(&r.capture.card)),
        ),
    ]
}

/// The truth in outline, by the capture's name: what nobody may read who is to be graded.
pub fn truth_columns<R: Borrow<Truth>>() -> Vec<Column<R>> {
    fn leaks<T>(truth: &Truth, of: fn(&LeakTruth) -> T) -> Vec<T> {
        truth.leaks.iter().map(of).collect()
    }
    vec![
        column(
            "leaking",
            "cylinders with a leak, whether or not it passed gas",
            Cells::Wholes(|r| leaks(r.borrow(), |l| l.cylinder)),
        ),
        column(
            "leak_area_mm2",
            "effective area of each of these leaks, fully open",
            Cells::Reals(|r| leaks(r.borrow(), |l| l.area_mm2)),
        ),
        column(
            "opens_at_bar",
            "pressure above the jacket's at which each lifts",
            Cells::Reals(|r| leaks(r.borrow(), |l| l.opens_at_bar)),
        ),
        column(
            "gas_in_mg",
            "gas that each passed into the jacket",
            Cells::Reals(|r| leaks(r.borrow(), |l| l.gas_in_mg)),
        ),
        column(
            "worn",
            "cylinders worn enough to show a low hump",
            Cells::Wholes(|r| r.borrow().weak_cylinders.clone()),
        ),
        column(
            "supported",
            "calls that the evidence supports, best first, as in a call sheet",
            Cells::Texts(|r| {
                r.borrow()
                    .evidence
                    .supported
                    .iter()
                    .map(Call::to_string)
                    .collect()
            }),
        ),
        column(
            "visible",
            "cylinders whose pulses can be told",
            Cells::Wholes(|r| r.borrow().evidence.visible.into()),
        ),
        column(
            "hidden",
            "cylinders that leak and show nothing here",
            Cells::Wholes(|r| r.borrow().evidence.hidden.into()),
        ),
        column(
            "sync",
            "`full`, `pair` or `none`: how well a pulse is tied to a cylinder",
            Cells::Text(|r| r.borrow().evidence.sync.to_string()),
        ),
        column(
            "lag_ms",
            "from TDC to the steepest rise, of the leak with the highest pulse",
            Cells::MaybeReal(|r| highest_pulse(&r.borrow().leaks)?.lag_ms),
        ),
        column(
            "lag_deg",
            "the same in crank degrees",
            Cells::MaybeReal(|r| highest_pulse(&r.borrow().leaks)?.lag_deg),
        ),
        column(
            "pulse_height",
            "its mean pulse, in the unit of the neck's channel",
            Cells::MaybeReal(|r| highest_pulse(&r.borrow().leaks)?.pulse_height),
        ),
        column(
            "pulse_over_noise",
            "the same over the noise of that channel",
            Cells::MaybeReal(|r| highest_pulse(&r.borrow().leaks)?.pulse_over_noise),
        ),
        column(
            "clipped_samples",
            "samples out of range, over all channels",
            Cells::Whole(|r| r.borrow().channels.iter().map(|c| c.clipped_samples).sum()),
        ),
        column(
            "difficulty",
            "the whole, 0 to 1",
            Cells::Real(|r| r.borrow().difficulty.total),
        ),
        column(
            "difficulty_lag",
            "its part by lag",
            Cells::Real(|r| r.borrow().difficulty.lag),
        ),
        column(
            "difficulty_noise",
            "its part by noise",
            Cells::Real(|r| r.borrow().difficulty.noise),
        ),
        column(
            "difficulty_sync",
            "its part by the sync",
            Cells::Real(|r| r.borrow().difficulty.sync),
        ),
        column(
            "difficulty_second_leak",
            "its part by a second leak",
            Cells::Real(|r| r.borrow().difficulty.second_leak),
        ),
        column(
            "difficulty_decoy",
            "its part by worn cylinders and misfires",
            Cells::Real(|r| r.borrow().difficulty.decoy),
        ),
        column(
            "difficulty_clipping",
            "its part by clipping",
            Cells::Real(|r| r.borrow().difficulty.clipping),
        ),
        column(
            "title",
            "the scenario's title",
            Cells::Text(|r| r.borrow().title.clone()),
        ),
        column(
            "seed",
            "seed of the corpus",
            Cells::Whole(|r| r.borrow().seed),
        ),
        column(
            "number",
            "index of the capture in the corpus",
            Cells::Whole(|r| r.borrow().number),
        ),
        column(
            "wav_sha256",
            "SHA-256 of the capture as a WAV",
            Cells::Text(|r| r.borrow().wav_sha256.clone()),
        ),
        column(
            "truth",
            "the truth in outline as JSON, as in a line of the key",
            Cells::Text(|r| key::line(r.borrow()).trim_end().into()),
        ),
    ]
}

/// The columns of a file of truths: the capture's name, then [`truth_columns`].
pub fn named_truth_columns() -> Vec<Column<Truth>> {
    let mut columns = truth_columns();
    let name = Cells::Text(|t: &Truth| t.capture.clone());
    columns.insert(0, column("capture", "the capture's name", name));
    columns
}

/// The columns of a file of captures with their truths.
pub fn labelled_columns() -> Vec<Column<Labelled>> {
    let mut columns = capture_columns();
    columns.extend(truth_columns());
    columns
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_column_has_a_name_of_its_own() {
        let mut names: Vec<&str> = labelled_columns().iter().map(|c| c.name).collect();
        let all = names.len();
        names.sort_unstable();
        names.dedup();
        assert_eq!((names.len(), all), (46, 46));
        assert_eq!(named_truth_columns().len(), 27);
    }
}
