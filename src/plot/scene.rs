//! The few simple shapes of which a picture is made, in pixels from its upper left corner.

use super::Theme;
use super::palette::{Colour, Colours};
use super::picture::{NOTE, OUTER, SUBTITLE, TITLE};
use super::text::Style;
use plotters::style::text_anchor::HPos;

/// All shapes of a picture, from the back to the front.
pub struct Scene {
    pub(super) size: [u32; 2],
    pub(super) colours: Colours,
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

/// Top of the title.
const HEAD: f64 = 29.0;

/// Half-way between two ends.
pub(super) fn middle([from, to]: [f64; 2]) -> f64 {
    (from + to) / 2.0
}

/// From `half` before a place to `half` after it.
pub(super) fn around(place: f64, half: f64) -> [f64; 2] {
    [place - half, place + half]
}

/// The edges of a line on whole pixels.
fn sharp(middle: f64, width: f64) -> [f64; 2] {
    let from = (middle - width / 2.0).round();
    [from, from + width]
}

impl Scene {
    /// A scene of a width, whose height follows from what it holds.
    pub(super) fn new(width: u32, theme: Theme) -> Scene {
        Scene {
            size: [width, 0],
            colours: theme.colours(),
            shapes: Vec::new(),
        }
    }

    /// Words of no special weight.
    pub(super) fn plain(&self, size: u32) -> Style {
        Style {
            size,
            bold: false,
            colour: self.colours.soft_ink,
        }
    }

    /// Words that stand out.
    pub(super) fn bold(&self, size: u32) -> Style {
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
        self.area(sharp(x, width), y, colour);
    }

    /// A level line, on whole pixels so that it stays sharp.
    pub(super) fn level(&mut self, y: f64, x: [f64; 2], width: f64, colour: Colour) {
        self.area(x, sharp(y, width), colour);
    }

    /// An upright line of dashes.
    pub(super) fn dashed(&mut self, x: f64, y: [f64; 2], width: f64, dash: f64, colour: Colour) {
        let mut top = y[0];
        while top < y[1] {
            self.upright(x, [top, (top + dash).min(y[1])], width, colour);
            top += dash * 1.7;
        }
    }

    /// The four edges of a rectangle.
    pub(super) fn frame(&mut self, x: [f64; 2], y: [f64; 2], width: f64, colour: Colour) {
        let corners = [sharp(x[0], width)[0], sharp(x[1], width)[1]];
        for edge in y {
            self.level(edge, corners, width, colour);
        }
        for edge in x {
            self.upright(edge, y, width, colour);
        }
    }

    pub(super) fn path(&mut self, points: Vec<[f64; 2]>, width: f64, colour: Colour) {
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
            *y += style.line() + 4.0;
        }
    }

    /// Title and subtitle, from the upper edge; the height below them.
    pub(super) fn head(&mut self, title: &str, subtitle: &str) -> f64 {
        let mut y = HEAD;
        self.paragraph(title, self.bold(TITLE), OUTER, &mut y);
        self.paragraph(subtitle, self.plain(SUBTITLE), OUTER, &mut y);
        if y > HEAD { y + 11.0 } else { y }
    }

    /// Small print below `y`, and the lower edge.
    pub(super) fn foot(&mut self, footnote: &str, mut y: f64) {
        if !footnote.is_empty() {
            y += 12.0;
            self.paragraph(footnote, self.plain(NOTE), OUTER, &mut y);
        }
        self.size[1] = (y + 21.0).ceil() as u32;
    }

    /// Words in the middle of a box.
    pub(super) fn centre(
        &mut self,
        text: impl Into<String>,
        style: Style,
        x: [f64; 2],
        y: [f64; 2],
    ) {
        self.write(
            text,
            style,
            [middle(x), style.base(middle(y))],
            HPos::Center,
        );
    }

    /// Words on a quiet ground that is a margin wider than they are.
    pub(super) fn on_ground(&mut self, words: Words, margin: f64, y: [f64; 2], ground: Colour) {
        let [from, to] = words.extent();
        self.area([from - margin, to + margin], y, ground);
        self.words(words);
    }
}
