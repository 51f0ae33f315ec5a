//! What a row of a Parquet file of captures holds: the card and the samples, and, in files for whoever
//! holds the key, the truth in outline.
//!
//! The tables here are the written description of the format; a change of theirs is a new version.

use super::key;
use crate::domain::{Call, Card, ChannelCard, LeakTruth, Truth, highest_pulse};

/// What the metadata of a file of captures says.
pub const CAPTURES_FORMAT: &str = "waterjacket captures 1";
/// What the metadata of a file of truths says.
pub const TRUTHS_FORMAT: &str = "waterjacket truths 1";
/// What the metadata of a file of captures with their truths says.
pub const LABELLED_FORMAT: &str = "waterjacket labelled captures 1";

/// What stands in a column.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[allow(missing_docs)]
pub enum Kind {
    Text,
    /// Unsigned, 64 bits.
    Whole,
    Real,
    Flag,
    /// A number, or nothing.
    MaybeReal,
    Texts,
    /// Signed, 32 bits.
    Wholes,
    Reals,
    /// A list of channels, each a list of signed 16-bit counts.
    Counts,
}

/// One value of a row; each variant is the [`Kind`] of its name.
#[derive(Clone, Debug, PartialEq)]
#[allow(missing_docs)]
pub enum Cell {
    Text(String),
    Whole(u64),
    Real(f64),
    Flag(bool),
    MaybeReal(Option<f64>),
    Texts(Vec<String>),
    Wholes(Vec<u32>),
    Reals(Vec<f64>),
    Counts(Vec<Vec<i16>>),
}

impl Cell {
    /// What kind of column it stands in.
    pub fn kind(&self) -> Kind {
        match self {
            Cell::Text(_) => Kind::Text,
            Cell::Whole(_) => Kind::Whole,
            Cell::Real(_) => Kind::Real,
            Cell::Flag(_) => Kind::Flag,
            Cell::MaybeReal(_) => Kind::MaybeReal,
            Cell::Texts(_) => Kind::Texts,
            Cell::Wholes(_) => Kind::Wholes,
            Cell::Reals(_) => Kind::Reals,
            Cell::Counts(_) => Kind::Counts,
        }
    }

    /// Number of samples in it.
    pub fn samples(&self) -> usize {
        match self {
            Cell::Counts(channels) => channels.iter().map(Vec::len).sum(),
            _ => 0,
        }
    }
}

/// A column: its name, what stands in it, and what it means.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Column {
    /// Its name.
    pub name: &'static str,
    /// What stands in it.
    pub kind: Kind,
    /// What it means, with the unit.
    pub meaning: &'static str,
}

const fn column(name: &'static str, kind: Kind, meaning: &'static str) -> Column {
    Column {
        name,
        kind,
        meaning,
    }
}

/// Card and samples: what an analyzer may read.
pub const CAPTURE_COLUMNS: [Column; 20] = [
    column("capture", Kind::Text, "the capture's name"),
    column(
        "sample_rate_hz",
        Kind::Real,
        "samples per second of every channel",
    ),
    column("frames", Kind::Whole, "samples in each channel"),
    column("channels", Kind::Texts, "name of each channel"),
    column(
        "measures",
        Kind::Texts,
        "what each channel measures, in the card's words",
    ),
    column("unit", Kind::Texts, "unit of each channel's value"),
    column(
        "scale_per_count",
        Kind::Reals,
        "value per count of each channel",
    ),
    column(
        "offset",
        Kind::Reals,
        "value at count 0; value = offset + scale_per_count * count",
    ),
    column(
        "samples",
        Kind::Counts,
        "counts: a list for each channel, in its order",
    ),
    column("vehicle", Kind::Text, "the (invented) vehicle"),
    column("layout", Kind::Text, "`inline`, `vee` or `flat`"),
    column(
        "firing_order",
        Kind::Wholes,
        "cylinders in the order in which they fire",
    ),
    column(
        "firing_intervals_deg",
        Kind::Reals,
        "crank degrees from each of them to the next",
    ),
    column("displacement_l", Kind::Real, "swept volume, litres"),
    column("compression_ratio", Kind::Real, "geometric"),
    column(
        "shared_coils",
        Kind::Flag,
        "whether two cylinders share a coil",
    ),
    column("mode", Kind::Text, "`cranking` or `idle`"),
    column("plugs_out", Kind::Wholes, "cylinders whose plug is out"),
    column(
        "ignition_enabled",
        Kind::Flag,
        "whether the coils could fire",
    ),
    column("card", Kind::Text, "the whole card as JSON"),
];

/// The truth in outline, by the capture's name: what nobody may read who is to be graded.
pub const TRUTH_COLUMNS: [Column; 26] = [
    column(
        "leaking",
        Kind::Wholes,
        "cylinders with a leak, whether or not it passed gas",
    ),
    column(
        "leak_area_mm2",
        Kind::Reals,
        "effective area of each of these leaks, fully open",
    ),
    column(
        "opens_at_bar",
        Kind::Reals,
        "pressure above the jacket's at which each lifts",
    ),
    column(
        "gas_in_mg",
        Kind::Reals,
        "gas that each passed into the jacket",
    ),
    column(
        "worn",
        Kind::Wholes,
        "cylinders worn enough to show a low hump",
    ),
    column(
        "supported",
        Kind::Texts,
        "calls that the evidence supports, best first, as in a call sheet",
    ),
    column(
        "visible",
        Kind::Wholes,
        "cylinders whose pulses can be told",
    ),
    column(
        "hidden",
        Kind::Wholes,
        "cylinders that leak and show nothing here",
    ),
    column(
        "sync",
        Kind::Text,
        "`full`, `pair` or `none`: how well a pulse is tied to a cylinder",
    ),
    column(
        "lag_ms",
        Kind::MaybeReal,
        "from TDC to the steepest rise, of the leak with the highest pulse",
    ),
    column("lag_deg", Kind::MaybeReal, "the same in crank degrees"),
    column(
        "pulse_height",
        Kind::MaybeReal,
        "its mean pulse, in the unit of the neck's channel",
    ),
    column(
        "pulse_over_noise",
        Kind::MaybeReal,
        "the same over the noise of that channel",
    ),
    column(
        "clipped_samples",
        Kind::Whole,
        "samples out of range, over all channels",
    ),
    column("difficulty", Kind::Real, "the whole, 0 to 1"),
    column("difficulty_lag", Kind::Real, "its part by lag"),
    column("difficulty_noise", Kind::Real, "its part by noise"),
    column("difficulty_sync", Kind::Real, "its part by the sync"),
    column(
        "difficulty_second_leak",
        Kind::Real,
        "its part by a second leak",
    ),
    column(
        "difficulty_decoy",
        Kind::Real,
        "its part by worn cylinders and misfires",
    ),
    column("difficulty_clipping", Kind::Real, "its part by clipping"),
    column("title", Kind::Text, "the scenario's title"),
    column("seed", Kind::Whole, "seed of the corpus"),
    column("number", Kind::Whole, "index of the capture in the corpus"),
    column("wav_sha256", Kind::Text, "SHA-256 of the capture as a WAV"),
    column(
        "truth",
        Kind::Text,
        "the truth in outline as JSON, as in a line of the key",
    ),
];

/// The columns of a file of truths: the capture's name, then [`TRUTH_COLUMNS`].
pub fn truth_columns() -> Vec<Column> {
    [&CAPTURE_COLUMNS[..1], &TRUTH_COLUMNS].concat()
}

/// The columns of a file of captures with their truths.
pub fn labelled_columns() -> Vec<Column> {
    [&CAPTURE_COLUMNS[..], &TRUTH_COLUMNS].concat()
}

/// The cells of [`CAPTURE_COLUMNS`].
pub fn capture_cells(card: &Card, samples: Vec<Vec<i16>>) -> Vec<Cell> {
    let texts = |of: fn(&ChannelCard) -> String| card.channels.iter().map(of).collect();
    let reals = |of: fn(&ChannelCard) -> f64| card.channels.iter().map(of).collect();
    let engine = &card.engine;
    vec![
        Cell::Text(card.capture.clone()),
        Cell::Real(card.sample_rate_hz),
        Cell::Whole(card.frames),
        Cell::Texts(texts(|c| c.name.clone())),
        Cell::Texts(texts(|c| c.measures.to_string())),
        Cell::Texts(texts(|c| c.unit.clone())),
        Cell::Reals(reals(|c| c.scale_per_count)),
        Cell::Reals(reals(|c| c.offset)),
        Cell::Counts(samples),
        Cell::Text(engine.vehicle.clone()),
        Cell::Text(engine.layout.to_string()),
        Cell::Wholes(engine.firing_order.clone()),
        Cell::Reals(engine.firing_intervals_deg.clone()),
        Cell::Real(engine.displacement_l),
        Cell::Real(engine.compression_ratio),
        Cell::Flag(engine.shared_coils),
        Cell::Text(card.set_up.mode.to_string()),
        Cell::Wholes(card.set_up.plugs_out.clone()),
        Cell::Flag(card.set_up.ignition_enabled),
        Cell::Text(super::json::text(card)),
    ]
}

/// The cells of [`TRUTH_COLUMNS`].
pub fn truth_cells(truth: &Truth) -> Vec<Cell> {
    let leaks = |of: fn(&LeakTruth) -> f64| truth.leaks.iter().map(of).collect();
    let highest = highest_pulse(&truth.leaks);
    let d = truth.difficulty;
    let line = key::line(truth);
    vec![
        Cell::Wholes(truth.leaks.iter().map(|l| l.cylinder).collect()),
        Cell::Reals(leaks(|l| l.area_mm2)),
        Cell::Reals(leaks(|l| l.opens_at_bar)),
        Cell::Reals(leaks(|l| l.gas_in_mg)),
        Cell::Wholes(truth.weak_cylinders.clone()),
        Cell::Texts(
            truth
                .evidence
                .supported
                .iter()
                .map(Call::to_string)
                .collect(),
        ),
        Cell::Wholes(truth.evidence.visible.into()),
        Cell::Wholes(truth.evidence.hidden.into()),
        Cell::Text(truth.evidence.sync.to_string()),
        Cell::MaybeReal(highest.and_then(|l| l.lag_ms)),
        Cell::MaybeReal(highest.and_then(|l| l.lag_deg)),
        Cell::MaybeReal(highest.and_then(|l| l.pulse_height)),
        Cell::MaybeReal(highest.and_then(|l| l.pulse_over_noise)),
        Cell::Whole(truth.channels.iter().map(|c| c.clipped_samples).sum()),
        Cell::Real(d.total),
        Cell::Real(d.lag),
        Cell::Real(d.noise),
        Cell::Real(d.sync),
        Cell::Real(d.second_leak),
        Cell::Real(d.decoy),
        Cell::Real(d.clipping),
        Cell::Text(truth.title.clone()),
        Cell::Whole(truth.seed),
        Cell::Whole(truth.number),
        Cell::Text(truth.wav_sha256.clone()),
        Cell::Text(line.trim_end().into()),
    ]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::example;

    fn kinds(cells: &[Cell]) -> Vec<Kind> {
        cells.iter().map(Cell::kind).collect()
    }

    #[test]
    fn every_column_has_its_cell_and_its_name_alone() {
        let capture = capture_cells(&example::card(), vec![vec![1, 2]]);
        assert_eq!(kinds(&capture), CAPTURE_COLUMNS.map(|c| c.kind));
        let truth = truth_cells(&example::truth());
        assert_eq!(kinds(&truth), TRUTH_COLUMNS.map(|c| c.kind));
        let mut names: Vec<&str> = labelled_columns().iter().map(|c| c.name).collect();
        names.sort_unstable();
        names.dedup();
        assert_eq!(names.len(), CAPTURE_COLUMNS.len() + TRUTH_COLUMNS.len());
    }
}
