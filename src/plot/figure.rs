//! What the figures of a class have in common: how sure its calls were, and where they stand in the
//! firing order.
//!
//! A figure is narrow, so that its words can still be read on a telephone, and two stand side by side
//! on a page.

use super::Theme;
use super::scene::{Scene, middle};
use plotters::style::text_anchor::HPos;

const WIDTH: u32 = 560;
/// Left edge of the words.
pub(super) const LEFT: f64 = 16.0;
/// Left and right edge of the panel.
pub(super) const SIDES: [f64; 2] = [68.0, 536.0];
/// Top of the panel.
pub(super) const TOP: f64 = 96.0;
/// From the left of the panel to the words beside it, and from its bottom to the base line below it.
pub(super) const BESIDE: f64 = SIDES[0] - 9.0;
pub(super) const BELOW: f64 = 26.0;
/// Heights of a line of words.
const TITLE: u32 = 25;
pub(super) const AXIS: u32 = 20;
pub(super) const TICK: u32 = 19;

/// A page with a title and a panel that ends at `bottom`. Above it stands the title of the upright axis;
/// below `foot`, the last base line of the level axis, stands that of its own.
pub(super) fn page(theme: Theme, title: &str, axes: [&str; 2], bottom: f64, foot: f64) -> Scene {
    let mut scene = Scene::new(WIDTH, theme);
    scene.size[1] = (foot + 50.0) as u32;
    let (bold, plain) = (scene.bold(TITLE), scene.bold(AXIS));
    let title = bold.elide(title, f64::from(WIDTH) - 2.0 * LEFT);
    scene.write(title, bold, [LEFT, 36.0], HPos::Left);
    scene.write(axes[0], plain, [LEFT, TOP - 18.0], HPos::Left);
    scene.write(axes[1], plain, [middle(SIDES), foot + 32.0], HPos::Center);
    scene.area(SIDES, [TOP, bottom], scene.colours.panel);
    scene
}

#[cfg(test)]
mod tests;
