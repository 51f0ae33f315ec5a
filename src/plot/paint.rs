//! From shapes to files, through plotters' bitmap and SVG backends.
//!
//! Both backends count in whole units, so both are given finer units than pixels: the bitmap is
//! painted at twice its size and averaged down, which smooths every edge, and the SVG counts in
//! quarters of a pixel.

use super::palette::Colour;
use super::scene::{Anchor, Scene, Shape, Words};
use super::text;
use crate::error::{Fault, Faults};
use plotters::prelude::{BitMapBackend, DrawingBackend, SVGBackend};
use plotters::style::text_anchor::{HPos, Pos, VPos};
use plotters::style::{Color, IntoFont, RGBColor, ShapeStyle, TextStyle};

/// Units per pixel.
const BITMAP_UNITS: u32 = 2;
const SVG_UNITS: u32 = 4;

/// The scene as a PNG file.
pub(super) fn png(scene: &Scene) -> Result<Vec<u8>, Faults> {
    let [width, height] = scene.size;
    let fine = (width * BITMAP_UNITS, height * BITMAP_UNITS);
    let mut pixels = vec![0u8; fine.0 as usize * fine.1 as usize * 3];
    {
        let mut backend = BitMapBackend::with_buffer(&mut pixels, fine);
        Bitmap(&mut backend).paint(scene)?;
        backend.present().map_err(defect)?;
    }
    encode(
        &halve(&pixels, width as usize, height as usize),
        width,
        height,
    )
    .map_err(|error| defect(error).into())
}

/// The scene as an SVG document.
pub(super) fn svg(scene: &Scene) -> Result<String, Faults> {
    let [width, height] = scene.size;
    let fine = (width * SVG_UNITS, height * SVG_UNITS);
    let mut document = String::new();
    {
        let mut backend = SVGBackend::with_string(&mut document, fine);
        Vector(&mut backend).paint(scene)?;
        backend.present().map_err(defect)?;
    }
    // plotters takes the fine units for the size of the picture; the head is ours to set.
    let body = document.split_once('\n').map_or("", |(_, body)| body);
    Ok(format!(
        "<svg width=\"{width}\" height=\"{height}\" viewBox=\"0 0 {} {}\" \
         xmlns=\"http://www.w3.org/2000/svg\" stroke-linejoin=\"round\" stroke-linecap=\"round\">\n{body}",
        fine.0, fine.1
    ))
}

/// What the two backends do in their own ways.
trait Painter {
    type Backend: DrawingBackend;
    /// Units per pixel.
    const UNITS: u32;

    fn backend(&mut self) -> &mut Self::Backend;
    fn path(&mut self, points: &[[f64; 2]], width: f64, colour: Colour) -> Result<(), Fault>;
    fn words(&mut self, words: &Words) -> Result<(), Fault>;

    /// A place in whole units.
    fn at([x, y]: [f64; 2]) -> (i32, i32) {
        let unit = |v: f64| (v * f64::from(Self::UNITS)).round() as i32;
        (unit(x), unit(y))
    }

    fn paint(&mut self, scene: &Scene) -> Result<(), Fault> {
        let page = scene.size.map(f64::from);
        self.area([0.0, 0.0], page, scene.page)?;
        for shape in &scene.shapes {
            match shape {
                Shape::Area { from, to, colour } => self.area(*from, *to, *colour)?,
                Shape::Path {
                    points,
                    width,
                    colour,
                } => self.path(points, *width, *colour)?,
                Shape::Triangle { corners, colour } => {
                    let corners = corners.map(Self::at);
                    self.backend()
                        .fill_polygon(corners, &rgb(*colour).to_backend_color())
                        .map_err(defect)?;
                }
                Shape::Words(words) => self.words(words)?,
            }
        }
        Ok(())
    }

    fn area(&mut self, from: [f64; 2], to: [f64; 2], colour: Colour) -> Result<(), Fault> {
        self.backend()
            .draw_rect(
                Self::at(from),
                Self::at(to),
                &rgb(colour).to_backend_color(),
                true,
            )
            .map_err(defect)
    }
}

struct Bitmap<'a, 'b>(&'a mut BitMapBackend<'b>);

impl<'b> Painter for Bitmap<'_, 'b> {
    type Backend = BitMapBackend<'b>;
    const UNITS: u32 = BITMAP_UNITS;

    fn backend(&mut self) -> &mut BitMapBackend<'b> {
        self.0
    }

    /// Wide lines of plotters have ragged edges, and holes where they fold back on themselves. So a
    /// line is drawn as smooth ones of one unit, moved around a disc as wide as the line; upright
    /// strokes, of which a reduced trace mostly consists, are filled at once.
    fn path(&mut self, points: &[[f64; 2]], width: f64, colour: Colour) -> Result<(), Fault> {
        let width = (width * f64::from(Self::UNITS)).round().max(1.0) as i32;
        let (before, after) = (width / 2, width - width / 2);
        let disc = disc_edge(width);
        let style = ShapeStyle::from(&rgb(colour));
        let mut points: Vec<(i32, i32)> = points.iter().map(|p| Self::at(*p)).collect();
        points.dedup();
        for pair in points.windows(2) {
            let ((x0, y0), (x1, y1)) = (pair[0], pair[1]);
            if x0 == x1 {
                let from = (x0 - before, y0.min(y1) - before);
                let to = (x0 + after, y0.max(y1) + after);
                self.0.draw_rect(from, to, &style, true).map_err(defect)?;
                continue;
            }
            for (dx, dy) in &disc {
                let (from, to) = ((x0 + dx, y0 + dy), (x1 + dx, y1 + dy));
                self.0.draw_line(from, to, &style).map_err(defect)?;
            }
        }
        Ok(())
    }

    fn words(&mut self, words: &Words) -> Result<(), Fault> {
        let size = words.size * Self::UNITS;
        // plotters sets the base line half a line below the top.
        let (_, base) = Self::at(words.at);
        let (left, _) = Self::at([words.extent()[0], 0.0]);
        let style = text_style(words, f64::from(size), HPos::Left);
        self.0
            .draw_text(&words.text, &style, (left, base - (size / 2) as i32))
            .map_err(defect)
    }
}

struct Vector<'a, 'b>(&'a mut SVGBackend<'b>);

impl<'b> Painter for Vector<'_, 'b> {
    type Backend = SVGBackend<'b>;
    const UNITS: u32 = SVG_UNITS;

    fn backend(&mut self) -> &mut SVGBackend<'b> {
        self.0
    }

    fn path(&mut self, points: &[[f64; 2]], width: f64, colour: Colour) -> Result<(), Fault> {
        let style = ShapeStyle {
            color: rgb(colour).to_rgba(),
            filled: false,
            stroke_width: (width * f64::from(Self::UNITS)).round().max(1.0) as u32,
        };
        let mut points: Vec<(i32, i32)> = points.iter().map(|p| Self::at(*p)).collect();
        points.dedup();
        if points.len() == 1 {
            points.push(points[0]);
        }
        self.0.draw_path(points, &style).map_err(defect)
    }

    fn words(&mut self, words: &Words) -> Result<(), Fault> {
        let em = f64::from(words.size * Self::UNITS) / text::LINE_PER_EM;
        let anchor = match words.anchor {
            Anchor::Start => HPos::Left,
            Anchor::Middle => HPos::Center,
            Anchor::End => HPos::Right,
        };
        // plotters divides the size by 1.24 and sets the base line 0.76 em below the top.
        let style = text_style(words, (em * 1.24).round(), anchor);
        let (x, base) = Self::at(words.at);
        self.0
            .draw_text(&words.text, &style, (x, base - (0.76 * em).round() as i32))
            .map_err(defect)
    }
}

fn text_style(words: &Words, size: f64, h_pos: HPos) -> TextStyle<'static> {
    text::register_fonts();
    let font = (text::FAMILY, size, text::style(words.bold)).into_font();
    let mut style = TextStyle::from(font).pos(Pos::new(h_pos, VPos::Top));
    style.color = rgb(words.colour).to_backend_color();
    style
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
    let mut offsets = Vec::new();
    for y in 0..width {
        for x in 0..width {
            let within =
                inside(x - 1, y) && inside(x + 1, y) && inside(x, y - 1) && inside(x, y + 1);
            if inside(x, y) && !within {
                offsets.push((x - width / 2, y - width / 2));
            }
        }
    }
    offsets
}

/// Averages each square of four RGB pixels into one.
fn halve(fine: &[u8], width: usize, height: usize) -> Vec<u8> {
    let row = width * 2 * 3;
    let mut pixels = Vec::with_capacity(width * height * 3);
    for rows in fine.chunks_exact(row * 2) {
        let (upper, lower) = rows.split_at(row);
        for (a, b) in upper.chunks_exact(6).zip(lower.chunks_exact(6)) {
            for c in 0..3 {
                let sum =
                    u16::from(a[c]) + u16::from(a[c + 3]) + u16::from(b[c]) + u16::from(b[c + 3]);
                pixels.push(((sum + 2) / 4) as u8);
            }
        }
    }
    pixels
}

/// No time stamp and no other metadata, so that the same pixels always give the same file.
fn encode(pixels: &[u8], width: u32, height: u32) -> Result<Vec<u8>, png::EncodingError> {
    let mut file = Vec::new();
    let mut encoder = png::Encoder::new(&mut file, width, height);
    encoder.set_color(png::ColorType::Rgb);
    encoder.set_depth(png::BitDepth::Eight);
    encoder.set_compression(png::Compression::Balanced);
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
