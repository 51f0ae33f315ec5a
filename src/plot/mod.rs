//! Pictures of captures: data in, picture out.
//!
//! Traces stand one below another on one time axis, each with a value axis of its own. In a debrief,
//! a strip above them numbers the compression TDCs, so that the firing order can be counted from the
//! sync to the pulse. [`png()`] and [`svg()`] are pure functions: they read no file, no clock and no
//! environment, and the same picture always gives the same bytes.
//!
//! `check` refuses what cannot be drawn, `layout` finds every place, `panels`, `marks` and `legend`
//! turn the picture into simple shapes (`scene`), and `paint` turns those into a file.

mod check;
mod confusion;
mod curves;
mod figure;
mod layout;
mod legend;
mod marks;
mod offsets;
mod paint;
mod palette;
mod panels;
mod reduce;
mod reliability;
mod scene;
mod text;
mod ticks;

#[cfg(test)]
mod tests;

use crate::domain::Measures;
use crate::error::Faults;
use layout::Layout;
use scene::Scene;

pub use confusion::Confusion;
pub use curves::{Curve, Curves};
pub use figure::Figure;
pub use offsets::Offsets;
pub use palette::{trace_colour, trace_width};
pub use reliability::{Reliability, Reliable};
pub use ticks::{Ticks, nice_ticks};

/// All that is to be seen in one picture.
#[derive(Clone, Debug, PartialEq)]
pub struct Picture {
    /// First line; may be empty.
    pub title: String,
    /// What stands below the title; may be empty.
    pub subtitle: String,
    /// Traces from top to bottom; at least one.
    pub traces: Vec<Trace>,
    /// Marks of a debrief; empty for a picture that gives nothing away.
    pub marks: Vec<Mark>,
    /// Start and end of the time axis, s.
    pub span_s: [f64; 2],
    /// Width and height, pixels; see [`good_size`].
    pub size: [u32; 2],
    /// Light or dark.
    pub theme: Theme,
    /// Small print at the foot; may be empty.
    pub footnote: String,
}

/// One trace: equally spaced samples of one quantity.
#[derive(Clone, Debug, PartialEq)]
pub struct Trace {
    /// What the trace is called, by what it measures.
    pub name: String,
    /// Unit of the values, as it shall be written; may be empty.
    pub unit: String,
    /// The measured quantity, which alone decides the colour.
    pub measures: Measures,
    /// Time of the first value, s.
    pub start_s: f64,
    /// Values per second.
    pub sample_rate_hz: f64,
    /// A panel shows at least this much of the unit, so that a quiet trace's noise is not blown up to
    /// full height; 0 for no such floor.
    pub least_height: f64,
    /// The values, in the unit; all of them finite.
    pub values: Vec<f32>,
}

/// Something known about the capture, drawn over its traces.
#[derive(Clone, Debug, PartialEq)]
pub enum Mark {
    /// A compression TDC: a tick with the cylinder's number above the traces, and a line through them where it
    /// stands out.
    Tdc {
        /// When, s.
        time_s: f64,
        /// The cylinder that is at its compression TDC.
        cylinder: u32,
        /// How strongly it shall stand out.
        emphasis: Emphasis,
    },
    /// One passage of gas through a leak: shaded on the neck traces, with an arrow from TDC to the
    /// steepest rise.
    LeakEvent {
        /// When gas began to pass, s.
        gas_start_s: f64,
        /// When gas stopped passing, s.
        gas_end_s: f64,
        /// Compression TDC of the leaking cylinder, s.
        tdc_s: f64,
        /// Steepest rise at the neck sensor, s; `None` if it cannot be seen.
        steepest_s: Option<f64>,
        /// The leaking cylinder.
        cylinder: u32,
        /// What is written beside the arrow, as `22 ms · 19°`; may be empty.
        label: String,
    },
    /// A synchronising mark: a dashed line through all traces, with a flag above them.
    Sync {
        /// When, s.
        time_s: f64,
        /// What is written on the flag; may be empty.
        label: String,
    },
}

/// How strongly a TDC stands out: by the form of its number and line, and only then by colour.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Emphasis {
    /// One of many.
    Plain,
    /// A cylinder that leaks: bold in a framed, coloured box, and a heavy line.
    Leaking,
    /// A cylinder that was called, but does not leak: crossed, in a framed box, and a dashed line.
    Called,
    /// The cylinder of the sync, from which the count starts: light on dark, or dark on light.
    Sync,
}

/// What the picture is drawn on.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Theme {
    /// On white, for print.
    #[default]
    Light,
    /// On near black, for a dim workshop.
    Dark,
}

/// A size, width and height in pixels, that gives each of `traces` traces enough room.
pub fn good_size(traces: usize) -> [u32; 2] {
    let traces = traces.clamp(1, 40) as u32;
    let each = if traces <= 6 { 220 } else { 200 };
    [1600, 340 + each * traces]
}

/// The picture as a PNG file: 8-bit RGB, no metadata.
///
/// # Errors
/// Everything that keeps the picture from being drawn, each with its place in [`Picture`].
pub fn png(picture: &Picture) -> Result<Vec<u8>, Faults> {
    paint::png(&compose(picture)?)
}

/// The picture as an SVG document, whose text stays text.
///
/// # Errors
/// Everything that keeps the picture from being drawn, each with its place in [`Picture`].
pub fn svg(picture: &Picture) -> Result<String, Faults> {
    paint::svg(&compose(picture)?)
}

/// Curves as a PNG file.
///
/// # Errors
/// Values that cannot be drawn.
pub fn curves_png(curves: &Curves) -> Result<Vec<u8>, Faults> {
    paint::png(&curves.compose()?)
}

/// Curves as an SVG document.
///
/// # Errors
/// Values that cannot be drawn.
pub fn curves_svg(curves: &Curves) -> Result<String, Faults> {
    paint::svg(&curves.compose()?)
}

/// A figure as a PNG file.
///
/// # Errors
/// Values that cannot be drawn.
pub fn figure_png(figure: &Figure, theme: Theme) -> Result<Vec<u8>, Faults> {
    paint::png(&figure.compose(theme)?)
}

/// A figure as an SVG document.
///
/// # Errors
/// Values that cannot be drawn.
pub fn figure_svg(figure: &Figure, theme: Theme) -> Result<String, Faults> {
    paint::svg(&figure.compose(theme)?)
}

/// Every shape of the picture, from the back to the front.
fn compose(picture: &Picture) -> Result<Scene, Faults> {
    check::check(picture)?;
    let layout = Layout::new(picture)?;
    let mut scene = Scene::new(picture.size, layout.colours.page);
    panels::ground(&mut scene, picture, &layout);
    let all_labelled = marks::lines_and_strip(&mut scene, picture, &layout);
    panels::traces(&mut scene, picture, &layout);
    let all_labelled = marks::lags(&mut scene, picture, &layout) && all_labelled;
    marks::strip_title(&mut scene, &layout, all_labelled);
    legend::words(&mut scene, &layout);
    Ok(scene)
}
