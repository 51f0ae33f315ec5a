//! Figures of a class: how sure its calls were, and where they stand in the firing order.
//!
//! A figure is narrow, so that its words can still be read on a telephone, and two stand side by side
//! on a page.

use super::Theme;
use super::confusion::Confusion;
use super::offsets::Offsets;
use super::palette::{Colour, Colours};
use super::reliability::Reliability;
use super::scene::{Anchor, Scene, Words};
use super::text;
use crate::error::Faults;

/// Width of every figure, pixels.
pub(super) const WIDTH: f64 = 560.0;
/// Left and right edge of the panel.
pub(super) const SIDES: [f64; 2] = [68.0, 536.0];
/// Top of the panel.
pub(super) const TOP: f64 = 96.0;
/// Heights of a line of words.
pub(super) const TITLE: u32 = 25;
pub(super) const AXIS: u32 = 20;
pub(super) const TICK: u32 = 19;

/// A figure of a class.
#[derive(Clone, Debug, PartialEq)]
pub enum Figure {
    /// Stated confidence against what came of it.
    Reliability(Reliability),
    /// True places in the firing order against called ones.
    Confusion(Confusion),
    /// How many places beside the leaking cylinder the calls stand.
    Offsets(Offsets),
}

impl Figure {
    /// The shapes of the figure.
    ///
    /// # Errors
    /// Values that cannot be drawn.
    pub(super) fn compose(&self, theme: Theme) -> Result<Scene, Faults> {
        match self {
            Figure::Reliability(figure) => figure.compose(theme),
            Figure::Confusion(figure) => figure.compose(theme),
            Figure::Offsets(figure) => figure.compose(theme),
        }
    }
}

/// A page with its title, and the axis titles of a panel that ends at `bottom`.
pub(super) fn page(
    theme: Theme,
    height: f64,
    title: &str,
    [up, along]: [&str; 2],
    bottom: f64,
) -> (Scene, Colours) {
    let colours = theme.colours();
    let mut scene = Scene::new([WIDTH as u32, height as u32], colours.page);
    let left = 16.0;
    let ink = colours.ink;
    let middle = (SIDES[0] + SIDES[1]) / 2.0;
    let title = text::elide(title, TITLE, true, WIDTH - 2.0 * left);
    say(
        &mut scene,
        &title,
        [TITLE, 1],
        ink,
        [left, 36.0],
        Anchor::Start,
    );
    say(
        &mut scene,
        up,
        [AXIS, 1],
        ink,
        [left, TOP - 18.0],
        Anchor::Start,
    );
    let below = [middle, bottom + 58.0];
    say(&mut scene, along, [AXIS, 1], ink, below, Anchor::Middle);
    (scene, colours)
}

/// A frame around a panel.
pub(super) fn frame(scene: &mut Scene, [top, bottom]: [f64; 2], colour: Colour) {
    for y in [top, bottom] {
        scene.level(y, SIDES, 1.0, colour);
    }
    for x in SIDES {
        scene.upright(x, [top, bottom], 1.0, colour);
    }
}

/// Words of a size, bold if the weight is 1.
pub(super) fn say(
    scene: &mut Scene,
    text: &str,
    [size, weight]: [u32; 2],
    colour: Colour,
    at: [f64; 2],
    anchor: Anchor,
) {
    scene.words(Words {
        text: text.to_string(),
        size,
        bold: weight > 0,
        colour,
        at,
        anchor,
    });
}

/// Base line of words of a size that stand in the middle of a height.
pub(super) fn middle(y: f64, size: u32) -> f64 {
    super::layout::middle([y, y], size)
}

#[cfg(test)]
mod tests;
