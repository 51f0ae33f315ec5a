//! The confusion matrix: true places in the firing order against called ones.

use super::axis::Axis;
use super::figure::{AXIS, BELOW, BESIDE, LEFT, SIDES, TICK, TOP, page};
use super::palette::{BLUE, Colour, mix};
use super::scene::{Scene, around};
use super::{Drawing, Theme};
use crate::error::{Fault, Faults};
use plotters::style::text_anchor::HPos;

/// Largest number of places whose cells still hold a number that can be read.
const MOST: usize = 24;

/// How often each place was called, for each place of the leaking cylinder.
#[derive(Clone, Debug, PartialEq)]
pub struct Confusion {
    /// First line.
    pub title: String,
    /// A row for each true place, a count for each called one; square, 1 to 24 places.
    pub rows: Vec<Vec<usize>>,
    /// Light or dark.
    pub theme: Theme,
}

impl Drawing for Confusion {
    fn scene(&self) -> Result<Scene, Faults> {
        let n = self.rows.len();
        if !(1..=MOST).contains(&n) || self.rows.iter().any(|row| row.len() != n) {
            let remedy = format!("give as many columns as rows, 1 to {MOST}");
            return Err(Fault::new("confusion", "the matrix is not square", remedy).into());
        }
        let side = ((SIDES[1] - SIDES[0]) / n as f64).floor();
        let length = side * n as f64;
        let ([left, top], bottom) = ([SIDES[0], TOP], TOP + length);
        let axes = [
            "Leaking cylinder, by its place in the firing order",
            "Called cylinder, by its place",
        ];
        let mut scene = page(self.theme, &self.title, axes, bottom, bottom + BELOW);
        let c = scene.colours;
        let cell = |start: f64, place: usize| {
            let from = start + side * place as f64;
            [from, from + side]
        };
        let size = ((0.4 * side) as u32).clamp(12, 26);
        for (i, row) in self.rows.iter().enumerate() {
            let total: usize = row.iter().sum();
            let y = cell(top, i);
            for (column, count) in row.iter().enumerate() {
                let x = cell(left, column);
                let share = *count as f64 / total.max(1) as f64;
                let (ground, style) = if *count == 0 {
                    (c.panel, scene.plain(size))
                } else {
                    let ground = mix(c.panel, BLUE, 0.15 + 0.85 * share);
                    (ground, scene.bold(size).coloured(readable_on(ground)))
                };
                scene.area(x, y, ground);
                scene.level(y[0], x, 1.0, c.grid);
                scene.upright(x[0], y, 1.0, c.grid);
                scene.centre(count.to_string(), style, x, y);
            }
            leaking(&mut scene, cell(left, i), y);
            let corner = (0.28 * side).min(18.0);
            neighbour(&mut scene, cell(left, (i + 1) % n)[1], y[1], corner);
        }
        let places = (0..n).map(|i| (i as f64 + 0.5, (i + 1).to_string()));
        let axis = |pixels| Axis::new([0.0, n as f64], pixels, places.clone().collect());
        let tick = scene.plain(size.clamp(14, TICK));
        axis([top, bottom]).draw_upright(&mut scene, tick, BESIDE, &[]);
        axis([left, left + length]).draw_level(&mut scene, tick, bottom + BELOW, &[]);
        if left + length == SIDES[1] {
            scene.frame(SIDES, [top, bottom], 1.0, c.frame);
        }

        let (words, sign) = (scene.plain(AXIS), [LEFT, LEFT + 18.0]);
        let [first, second] = [bottom + 92.0, bottom + 120.0];
        leaking(&mut scene, sign, around(first, 9.0));
        neighbour(&mut scene, sign[1], second + 9.0, 18.0);
        for (text, y) in [
            ("the leaking cylinder", first),
            ("the neighbour after it: lag not allowed for", second),
        ] {
            scene.write(text, words, [LEFT + 28.0, words.base(y)], HPos::Left);
        }
        scene.size[1] = (bottom + 138.0) as u32;
        Ok(scene)
    }
}

/// The frame inside of a cell of the leaking cylinder.
fn leaking(scene: &mut Scene, x: [f64; 2], y: [f64; 2]) {
    let inside = |[from, to]: [f64; 2]| [from + 1.5, to - 1.5];
    scene.frame(inside(x), inside(y), 3.0, scene.colours.ink);
}

/// The filled corner at the lower right of a cell of the neighbour after it.
fn neighbour(scene: &mut Scene, x: f64, y: f64, side: f64) {
    scene.triangle([[x, y], [x - side, y], [x, y - side]], scene.colours.ink);
}

/// Black or white, whichever has the greater contrast; the split is WCAG 2.1's contrast ratio, whose
/// luminance weighs red, green and blue by 0.2126, 0.7152 and 0.0722 (here without its gamma curve, by
/// squares).
fn readable_on(ground: Colour) -> Colour {
    let [r, g, b] = ground.map(|v| (f64::from(v) / 255.0) * (f64::from(v) / 255.0));
    if 0.2126 * r + 0.7152 * g + 0.0722 * b > 0.2 {
        [0, 0, 0]
    } else {
        [255, 255, 255]
    }
}
