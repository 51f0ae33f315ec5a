//! The few simple shapes of which a picture is made, in pixels from its upper left corner.

use super::Theme;
use super::palette::{Colour, Colours};
use super::text::Style;
use plotters::style::text_anchor::HPos;

/// All shapes of a picture, from the back to the front.
pub struct Scene {
    pub(super) size: [u32; 2],
    pub(super) colours: Colours,
    /// How much larger than normal words, lines and distances are.
    pub(super) scale: f64,
    pub(super) shapes: Vec<Shape>,
}

pub(super) enum Shape {
    /// A filled rectangle, by its left and right and by its top and bottom.
    Area {
        x: [f64; 2],
        y: [f64; 2],
        colour: Colour,
    },
    /// A line through two or more points.
    Path {
        points: Vec<[f64; 2]>,
        width: f64,
        colour: Colour,
    },
    /// A filled triangle.
    Triangle {
        corners: [[f64; 2]; 3],
        colour: Colour,
    },
    Words(Words),
}

/// One line of text.
pub(super) struct Words {
    pub text: String,
    pub style: Style,
    /// The anchor, on the base line.
    pub at: [f64; 2],
    /// Which part of the text stands at its anchor.
    pub anchor: HPos,
}

impl Words {
    pub fn new(text: impl Into<String>, style: Style, at: [f64; 2], anchor: HPos) -> Words {
        Words {
            text: text.into(),
            style,
            at,
            anchor,
        }
    }

    /// Left and right end, pixels.
    pub fn extent(&self) -> [f64; 2] {
        let width = self.style.width(&self.text);
        let left = match self.anchor {
            HPos::Left => self.at[0],
            HPos::Center => self.at[0] - width / 2.0,
            HPos::Right => self.at[0] - width,
        };
        [left, left + width]
    }
}

/// Half-way between two ends.
pub(super) fn middle([from, to]: [f64; 2]) -> f64 {
    (from + to) / 2.0
}

/// From `half` before a place to `half` after it.
pub(super) fn around(place: f64, half: f64) -> [f64; 2] {
    [place - half, place + half]
}

/// Widths, sizes and dashes are given at a scale of 1; places are not scaled.
impl Scene {
    pub(super) fn new(size: [u32; 2], theme: Theme, scale: f64) -> Scene {
        Scene {
            size,
            colours: theme.colours(),
            scale,
            shapes: Vec::new(),
        }
    }

    /// A distance in whole pixels.
    pub(super) fn px(&self, at_scale_1: f64) -> f64 {
        (at_scale_1 * self.scale).round()
    }

    /// Words of no special weight.
    pub(super) fn plain(&self, size: f64) -> Style {
        Style {
            size: self.px(size) as u32,
            bold: false,
            colour: self.colours.soft_ink,
        }
    }

    /// Words that stand out.
    pub(super) fn bold(&self, size: f64) -> Style {
        Style {
            bold: true,
            colour: self.colours.ink,
            ..self.plain(size)
        }
    }

    pub(super) fn area(&mut self, x: [f64; 2], y: [f64; 2], colour: Colour) {
        self.shapes.push(Shape::Area { x, y, colour });
    }

    /// An upright line, on whole pixels so that it stays sharp.
    pub(super) fn upright(&mut self, x: f64, y: [f64; 2], width: f64, colour: Colour) {
        self.area(self.sharp(x, width), y, colour);
    }

    /// A level line, on whole pixels so that it stays sharp.
    pub(super) fn level(&mut self, y: f64, x: [f64; 2], width: f64, colour: Colour) {
        self.area(x, self.sharp(y, width), colour);
    }

    fn sharp(&self, middle: f64, width: f64) -> [f64; 2] {
        let width = self.px(width).max(1.0);
        let from = (middle - width / 2.0).round();
        [from, from + width]
    }

    /// An upright line of dashes.
    pub(super) fn dashed(&mut self, x: f64, y: [f64; 2], width: f64, dash: f64, colour: Colour) {
        let dash = self.px(dash);
        let mut top = y[0];
        while top < y[1] {
            self.upright(x, [top, (top + dash).min(y[1])], width, colour);
            top += dash * 1.7;
        }
    }

    /// The four edges of a rectangle.
    pub(super) fn frame(&mut self, x: [f64; 2], y: [f64; 2], width: f64, colour: Colour) {
        for edge in y {
            self.level(edge, x, width, colour);
        }
        for edge in x {
            self.upright(edge, y, width, colour);
        }
    }

    pub(super) fn path(&mut self, points: Vec<[f64; 2]>, width: f64, colour: Colour) {
        let width = width * self.scale;
        self.shapes.push(Shape::Path {
            points,
            width,
            colour,
        });
    }

    pub(super) fn triangle(&mut self, corners: [[f64; 2]; 3], colour: Colour) {
        self.shapes.push(Shape::Triangle { corners, colour });
    }

    pub(super) fn words(&mut self, words: Words) {
        if !words.text.is_empty() {
            self.shapes.push(Shape::Words(words));
        }
    }

    pub(super) fn write(
        &mut self,
        text: impl Into<String>,
        style: Style,
        at: [f64; 2],
        anchor: HPos,
    ) {
        self.words(Words::new(text, style, at, anchor));
    }

    /// Text broken to lines between two edges; moves `y` from its top to its bottom.
    pub(super) fn paragraph(&mut self, text: &str, style: Style, x: [f64; 2], y: &mut f64) {
        for line in style.wrap(text, x[1] - x[0]) {
            self.write(line, style, [x[0], *y + style.ascent()], HPos::Left);
            *y += f64::from(style.size) + self.px(3.0);
        }
    }

    /// Adds the shapes of another scene so much further down.
    pub(super) fn append(&mut self, below: Scene, by: f64) {
        self.shapes
            .extend(below.shapes.into_iter().map(|shape| match shape {
                Shape::Area { x, y, colour } => Shape::Area {
                    x,
                    y: y.map(|y| y + by),
                    colour,
                },
                Shape::Path {
                    points,
                    width,
                    colour,
                } => Shape::Path {
                    points: points.into_iter().map(|[x, y]| [x, y + by]).collect(),
                    width,
                    colour,
                },
                Shape::Triangle { corners, colour } => Shape::Triangle {
                    corners: corners.map(|[x, y]| [x, y + by]),
                    colour,
                },
                Shape::Words(words) => Shape::Words(Words {
                    at: [words.at[0], words.at[1] + by],
                    ..words
                }),
            }));
    }
}
