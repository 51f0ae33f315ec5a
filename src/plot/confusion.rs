//! The confusion matrix: true places in the firing order against called ones.

use super::Theme;
use super::figure::{AXIS, SIDES, TICK, TOP, frame, middle, page, say};
use super::palette::{BLUE, Colour, mix};
use super::scene::{Anchor, Scene};
use crate::error::{Fault, Faults};

/// Largest number of places whose cells still hold a number that can be read.
const MOST: usize = 24;
/// Height of the legend's two lines.
const LEGEND: f64 = 62.0;

/// How often each place was called, for each place of the leaking cylinder.
#[derive(Clone, Debug, PartialEq)]
pub struct Confusion {
    /// First line.
    pub title: String,
    /// A row for each true place, a count for each called one; square, 1 to 24 places.
    pub rows: Vec<Vec<usize>>,
}

impl Confusion {
    pub(super) fn compose(&self, theme: Theme) -> Result<Scene, Faults> {
        let n = self.rows.len();
        if !(1..=MOST).contains(&n) || self.rows.iter().any(|row| row.len() != n) {
            let remedy = format!("give as many columns as rows, 1 to {MOST}");
            return Err(Fault::new("confusion", "the matrix is not square", remedy).into());
        }
        let side = ((SIDES[1] - SIDES[0]) / n as f64).floor();
        let bottom = TOP + side * n as f64;
        let axes = [
            "Leaking cylinder, by its place in the firing order",
            "Called cylinder, by its place",
        ];
        let height = bottom + 76.0 + LEGEND;
        let (mut scene, c) = page(theme, height, &self.title, axes, bottom);
        scene.area([SIDES[0], TOP], [SIDES[1], bottom], c.panel);
        let size = ((0.4 * side) as u32).clamp(12, 26);
        for (i, row) in self.rows.iter().enumerate() {
            let total: usize = row.iter().sum();
            let cell = |column: usize| {
                let from = [SIDES[0] + side * column as f64, TOP + side * i as f64];
                (from, from.map(|edge| edge + side))
            };
            for (column, count) in row.iter().enumerate() {
                let (from, to) = cell(column);
                let share = *count as f64 / total.max(1) as f64;
                let ground = match count {
                    0 => c.panel,
                    _ => mix(c.panel, BLUE, 0.15 + 0.85 * share),
                };
                scene.area(from, to, ground);
                scene.level(from[1], [from[0], to[0]], 1.0, c.grid);
                scene.upright(from[0], [from[1], to[1]], 1.0, c.grid);
                let at = [from[0] + side / 2.0, middle(from[1] + side / 2.0, size)];
                let (ink, weight) = match count {
                    0 => (c.soft_ink, 0),
                    _ => (readable_on(ground), 1),
                };
                let text = count.to_string();
                say(&mut scene, &text, [size, weight], ink, at, Anchor::Middle);
            }
            let right = cell(i);
            outline(&mut scene, right, 3.0, c.ink);
            corner(
                &mut scene,
                cell((i + 1) % n).1,
                (0.28 * side).min(18.0),
                c.ink,
            );
            let place = (i + 1).to_string();
            let tick = TICK.min(size.max(14));
            let beside = [SIDES[0] - 9.0, middle(right.0[1] + side / 2.0, tick)];
            say(
                &mut scene,
                &place,
                [tick, 0],
                c.soft_ink,
                beside,
                Anchor::End,
            );
            let below = [right.0[0] + side / 2.0, bottom + 26.0];
            say(
                &mut scene,
                &place,
                [tick, 0],
                c.soft_ink,
                below,
                Anchor::Middle,
            );
        }
        if side * n as f64 == SIDES[1] - SIDES[0] {
            frame(&mut scene, [TOP, bottom], c.frame);
        }
        let mut y = bottom + 92.0;
        for (sign, words) in [
            (0, "the leaking cylinder"),
            (1, "the neighbour after it: lag not allowed for"),
        ] {
            let (from, to) = ([16.0, y - 9.0], [34.0, y + 9.0]);
            match sign {
                0 => outline(&mut scene, (from, to), 3.0, c.ink),
                _ => corner(&mut scene, to, 18.0, c.ink),
            }
            let at = [44.0, middle(y, AXIS)];
            say(&mut scene, words, [AXIS, 0], c.soft_ink, at, Anchor::Start);
            y += 28.0;
        }
        Ok(scene)
    }
}

/// A frame inside of a cell.
fn outline(scene: &mut Scene, (from, to): ([f64; 2], [f64; 2]), width: f64, colour: Colour) {
    let half = width / 2.0;
    for y in [from[1] + half, to[1] - half] {
        scene.level(y, [from[0], to[0]], width, colour);
    }
    for x in [from[0] + half, to[0] - half] {
        scene.upright(x, [from[1], to[1]], width, colour);
    }
}

/// A filled corner at the lower right of a cell.
fn corner(scene: &mut Scene, [x, y]: [f64; 2], side: f64, colour: Colour) {
    scene.triangle([[x, y], [x - side, y], [x, y - side]], colour);
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
