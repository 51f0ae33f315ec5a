//! The few simple shapes of which a picture is made, in pixels from its upper left corner.

use super::palette::Colour;
use super::text;

/// All shapes, from the back to the front.
pub(super) struct Scene {
    pub size: [u32; 2],
    pub page: Colour,
    pub shapes: Vec<Shape>,
}

pub(super) enum Shape {
    /// A filled rectangle.
    Area {
        from: [f64; 2],
        to: [f64; 2],
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
    /// Height of the line, pixels.
    pub size: u32,
    pub bold: bool,
    pub colour: Colour,
    /// The anchor, on the base line.
    pub at: [f64; 2],
    pub anchor: Anchor,
}

/// Which part of the text stands at its place.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Anchor {
    Start,
    Middle,
    End,
}

impl Words {
    /// Left and right end, pixels.
    pub fn extent(&self) -> [f64; 2] {
        let width = text::width(&self.text, self.size, self.bold);
        let left = match self.anchor {
            Anchor::Start => self.at[0],
            Anchor::Middle => self.at[0] - width / 2.0,
            Anchor::End => self.at[0] - width,
        };
        [left, left + width]
    }
}

impl Scene {
    pub fn new(size: [u32; 2], page: Colour) -> Self {
        Scene {
            size,
            page,
            shapes: Vec::new(),
        }
    }

    pub fn area(&mut self, from: [f64; 2], to: [f64; 2], colour: Colour) {
        self.shapes.push(Shape::Area { from, to, colour });
    }

    /// An upright line, on whole pixels so that it stays sharp.
    pub fn upright(&mut self, x: f64, [top, bottom]: [f64; 2], width: f64, colour: Colour) {
        let width = width.round().max(1.0);
        let x = (x - width / 2.0).round();
        self.area([x, top], [x + width, bottom], colour);
    }

    /// An upright line of dashes.
    pub fn dashed(
        &mut self,
        x: f64,
        [top, bottom]: [f64; 2],
        width: f64,
        dash: f64,
        colour: Colour,
    ) {
        let mut y = top;
        while y < bottom {
            self.upright(x, [y, (y + dash).min(bottom)], width, colour);
            y += dash * 1.7;
        }
    }

    /// A level line, on whole pixels so that it stays sharp.
    pub fn level(&mut self, y: f64, [left, right]: [f64; 2], width: f64, colour: Colour) {
        let width = width.round().max(1.0);
        let y = (y - width / 2.0).round();
        self.area([left, y], [right, y + width], colour);
    }

    pub fn path(&mut self, points: Vec<[f64; 2]>, width: f64, colour: Colour) {
        self.shapes.push(Shape::Path {
            points,
            width,
            colour,
        });
    }

    pub fn triangle(&mut self, corners: [[f64; 2]; 3], colour: Colour) {
        self.shapes.push(Shape::Triangle { corners, colour });
    }

    pub fn words(&mut self, words: Words) {
        if !words.text.is_empty() {
            self.shapes.push(Shape::Words(words));
        }
    }
}
