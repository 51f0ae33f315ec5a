//! From shapes to files, through plotters' bitmap and SVG backends.
//!
//! Both backends count in whole units, so both are given finer units than pixels: the bitmap is
//! painted at twice its size and averaged down, which smooths every edge, and the SVG counts in
//! quarters of a pixel.

use super::palette::Colour;
use super::scene::{Scene, Shape};
use super::text::LINE_PER_EM;
use crate::error::{Fault, Faults};
use plotters::prelude::{BitMapBackend, DrawingBackend, SVGBackend};
use plotters::style::text_anchor::{Pos, VPos};
use plotters::style::{Color, RGBColor, ShapeStyle, TextStyle};
use std::error::Error;

/// The scene as a PNG file.
pub(super) fn png(scene: &Scene) -> Result<Vec<u8>, Faults> {
    let [width, height] = scene.size.map(|side| side as usize);
    let mut fine = vec![0u8; 4 * width * height * 3];
    let units = scene.size.map(|side| side * BitMapBackend::UNITS);
    let backend = BitMapBackend::with_buffer(&mut fine, units.into());
    paint(scene, backend).map_err(defect)?;
    let pixels = halve(&fine, width);
    encode(&pixels, scene.size).map_err(|error| defect(error).into())
}

/// The scene as an SVG document.
pub(super) fn svg(scene: &Scene) -> Result<String, Faults> {
    let [width, height] = scene.size;
    let units = scene.size.map(|side| side * SVGBackend::UNITS);
    let mut document = String::new();
    let backend = SVGBackend::with_string(&mut document, units.into());
    paint(scene, backend).map_err(defect)?;
    // plotters takes the fine units for the size of the picture; the head is ours to set.
    let body = document.split_once('\n').map_or("", |(_, body)| body);
    Ok(format!(
        "<svg width=\"{width}\" height=\"{height}\" viewBox=\"0 0 {} {}\" \
         xmlns=\"http://www.w3.org/2000/svg\" stroke-linejoin=\"round\" stroke-linecap=\"round\">\n{body}",
        units[0], units[1]
    ))
}

type Painted = Result<(), Box<dyn Error>>;

/// What the two backends do in their own ways.
trait Canvas: DrawingBackend + Sized {
    /// Units per pixel.
    const UNITS: u32;

    /// A line through points that differ, each from the one before.
    fn stroke(&mut self, points: &[(i32, i32)], width: u32, colour: Colour) -> Painted;

    /// The size by which plotters gives letters a line of so many units, and how far above the base
    /// line it then takes their top to be.
    fn letters(line: f64) -> (f64, f64);
}

fn paint<C: Canvas<ErrorType: 'static>>(scene: &Scene, mut canvas: C) -> Painted {
    let unit = |v: f64| (v * f64::from(C::UNITS)).round();
    let at = |[x, y]: [f64; 2]| (unit(x) as i32, unit(y) as i32);
    let area = |canvas: &mut C, [left, right]: [f64; 2], [top, bottom]: [f64; 2], colour| {
        let colour = rgb(colour).to_backend_color();
        canvas.draw_rect(at([left, top]), at([right, bottom]), &colour, true)
    };
    let [width, height] = scene.size.map(f64::from);
    area(&mut canvas, [0.0, width], [0.0, height], scene.colours.page)?;
    for shape in &scene.shapes {
        match shape {
            Shape::Area { x, y, colour } => area(&mut canvas, *x, *y, *colour)?,
            Shape::Path {
                points,
                width,
                colour,
            } => {
                let mut points: Vec<(i32, i32)> = points.iter().map(|p| at(*p)).collect();
                points.dedup();
                canvas.stroke(&points, unit(*width).max(1.0) as u32, *colour)?;
            }
            Shape::Triangle { corners, colour } => {
                canvas.fill_polygon(corners.map(at), &rgb(*colour).to_backend_color())?;
            }
            Shape::Words(words) => {
                let (size, rise) = C::letters(f64::from(words.style.size * C::UNITS));
                let mut style =
                    TextStyle::from(words.style.font(size)).pos(Pos::new(words.anchor, VPos::Top));
                style.color = rgb(words.style.colour).to_backend_color();
                let (x, base) = at(words.at);
                canvas.draw_text(&words.text, &style, (x, base - rise as i32))?;
            }
        }
    }
    Ok(canvas.present()?)
}

impl Canvas for BitMapBackend<'_> {
    const UNITS: u32 = 2;

    /// Wide lines of plotters have ragged edges, and holes where they fold back on themselves. So a
    /// line is drawn as smooth ones of one unit, moved around a disc as wide as the line; upright
    /// strokes, of which a reduced trace mostly consists, are filled at once.
    fn stroke(&mut self, points: &[(i32, i32)], width: u32, colour: Colour) -> Painted {
        let width = width as i32;
        let (before, after) = (width / 2, width - width / 2);
        let disc = disc_edge(width);
        let style = ShapeStyle::from(&rgb(colour));
        for pair in points.windows(2) {
            let ((x0, y0), (x1, y1)) = (pair[0], pair[1]);
            if x0 == x1 {
                let from = (x0 - before, y0.min(y1) - before);
                let to = (x0 + after, y0.max(y1) + after);
                self.draw_rect(from, to, &style, true)?;
                continue;
            }
            for (dx, dy) in &disc {
                self.draw_line((x0 + dx, y0 + dy), (x1 + dx, y1 + dy), &style)?;
            }
        }
        Ok(())
    }

    /// plotters sets the base line half a line below the top.
    fn letters(line: f64) -> (f64, f64) {
        (line, line / 2.0)
    }
}

impl Canvas for SVGBackend<'_> {
    const UNITS: u32 = 4;

    fn stroke(&mut self, points: &[(i32, i32)], width: u32, colour: Colour) -> Painted {
        let style = ShapeStyle::from(&rgb(colour)).stroke_width(width);
        // A point alone is a line from itself to itself.
        let alone = points.first().filter(|_| points.len() == 1);
        Ok(self.draw_path(points.iter().chain(alone).copied(), &style)?)
    }

    /// plotters divides the size by 1.24 and sets the base line 0.76 em below the top.
    fn letters(line: f64) -> (f64, f64) {
        let em = line / LINE_PER_EM;
        ((em * 1.24).round(), (0.76 * em).round())
    }
}

fn rgb([r, g, b]: Colour) -> RGBColor {
    RGBColor(r, g, b)
}

/// Offsets along the edge of a disc of whole units; swept along a line, the edge covers all that the
/// disc does.
fn disc_edge(width: i32) -> Vec<(i32, i32)> {
    // Twice the distance from the centre, so that it is whole for even and odd widths.
    let twice = |d: i32| 2 * d + 1 - width;
    let inside = |x: i32, y: i32| twice(x) * twice(x) + twice(y) * twice(y) < width * width;
    let within = |x: i32, y: i32| {
        inside(x - 1, y) && inside(x + 1, y) && inside(x, y - 1) && inside(x, y + 1)
    };
    (0..width * width)
        .map(|i| (i % width, i / width))
        .filter(|(x, y)| inside(*x, *y) && !within(*x, *y))
        .map(|(x, y)| (x - width / 2, y - width / 2))
        .collect()
}

/// Averages each square of four RGB pixels into one; `width` is that of the result.
fn halve(fine: &[u8], width: usize) -> Vec<u8> {
    let mut pixels = Vec::with_capacity(fine.len() / 4);
    let mut sums = vec![0u16; width * 6];
    for rows in fine.chunks_exact(width * 12) {
        let (upper, lower) = rows.split_at(width * 6);
        for ((sum, a), b) in sums.iter_mut().zip(upper).zip(lower) {
            *sum = u16::from(*a) + u16::from(*b);
        }
        pixels.extend(sums.chunks_exact(6).flat_map(|pair| {
            let mean = |c: usize| ((pair[c] + pair[c + 3] + 2) / 4) as u8;
            [mean(0), mean(1), mean(2)]
        }));
    }
    pixels
}

/// No time stamp and no other metadata, so that the same pixels always give the same file.
fn encode(pixels: &[u8], [width, height]: [u32; 2]) -> Result<Vec<u8>, png::EncodingError> {
    let mut file = Vec::new();
    let mut encoder = png::Encoder::new(&mut file, width, height);
    encoder.set_color(png::ColorType::Rgb);
    encoder.set_depth(png::BitDepth::Eight);
    encoder.set_compression(png::Compression::Fast);
    let mut writer = encoder.write_header()?;
    writer.write_image_data(pixels)?;
    writer.finish()?;
    Ok(file)
}

fn defect(error: impl std::fmt::Display) -> Fault {
    Fault::new(
        "picture",
        format!("the painter failed: {error}"),
        "this is a defect of the program; please report it with the command that led to it",
    )
}
