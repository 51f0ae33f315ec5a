//! Pictures: data in, picture out.
//!
//! A [`Picture`] shows the traces of a capture, one below another on one time axis; in a debrief, a
//! strip above them numbers the compression TDCs, so that the firing order can be counted from the sync
//! to the pulse. [`Curves`] show what a sweep found, and [`Reliability`], [`Confusion`] and [`Offsets`]
//! how the calls of a class did. [`png()`] and [`svg()`] are pure functions: they read no file, no clock
//! and no environment, and the same picture always gives the same bytes.
//!
//! A drawing turns itself into simple shapes ([`Scene`]), and `paint` turns those into a file.

mod axis;
mod check;
mod confusion;
mod curves;
mod figure;
mod key;
mod marks;
mod offsets;
mod paint;
mod palette;
mod picture;
mod reduce;
mod reliability;
mod row;
mod scene;
mod text;

#[cfg(test)]
mod tests;

use crate::error::Faults;

pub use confusion::Confusion;
pub use curves::{Curve, Curves};
pub use marks::{Emphasis, NumberedTdc};
pub use offsets::Offsets;
pub use palette::{trace_colour, trace_width};
pub use picture::{Picture, Trace};
pub use reliability::{Reliability, Reliable};
pub use scene::Scene;

/// What can be drawn.
pub trait Drawing {
    /// The shapes of which the drawing is made.
    ///
    /// # Errors
    /// Everything that keeps it from being drawn, each with its place in the drawing.
    fn scene(&self) -> Result<Scene, Faults>;
}

/// What a picture is drawn on.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Theme {
    /// On white, for print.
    #[default]
    Light,
    /// On near black, for a dim workshop.
    Dark,
}

/// The drawing as a PNG file: 8-bit RGB, no metadata.
///
/// # Errors
/// Everything that keeps it from being drawn, each with its place in the drawing.
pub fn png(drawing: &impl Drawing) -> Result<Vec<u8>, Faults> {
    paint::png(&drawing.scene()?)
}

/// The drawing as an SVG document, whose text stays text.
///
/// # Errors
/// Everything that keeps it from being drawn, each with its place in the drawing.
pub fn svg(drawing: &impl Drawing) -> Result<String, Faults> {
    paint::svg(&drawing.scene()?)
}
