//! The reliability diagram: for calls of like confidence, what was said against what came of it.

use super::axis::{Axis, nice_ticks};
use super::figure::{BELOW, BESIDE, SIDES, TICK, TOP, page};
use super::palette::BLUE;
use super::scene::{Scene, Words, around};
use super::{Drawing, Theme};
use crate::error::{Fault, Faults};
use plotters::style::text_anchor::HPos;

const PANEL: [f64; 2] = [TOP, TOP + 400.0];

/// Stated confidence against the share that was right, a point a bin.
#[derive(Clone, Debug, PartialEq)]
pub struct Reliability {
    /// First line.
    pub title: String,
    /// The points; there may be none.
    pub points: Vec<Reliable>,
    /// Light or dark.
    pub theme: Theme,
}

/// Calls of like confidence.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Reliable {
    /// Mean stated confidence, 0 to 1.
    pub said: f64,
    /// Share that was right, 0 to 1.
    pub right: f64,
    /// Interval of that share, low and high.
    pub interval: [f64; 2],
    /// Number of calls.
    pub n: usize,
}

impl Drawing for Reliability {
    fn scene(&self) -> Result<Scene, Faults> {
        let shares = |p: &Reliable| [p.said, p.right, p.interval[0], p.interval[1]];
        if !self
            .points
            .iter()
            .flat_map(shares)
            .all(|s| (0.0..=1.0).contains(&s))
        {
            let problem = "a share is not from 0 to 1";
            return Err(Fault::new("reliability", problem, "give shares from 0 to 1").into());
        }
        let axes = ["Share right (%)", "Stated confidence (%)"];
        let [top, bottom] = PANEL;
        let mut scene = page(self.theme, &self.title, axes, bottom, bottom + BELOW);
        let percent = nice_ticks([0.0, 100.0], 5);
        let said = Axis::new([0.0, 100.0], SIDES, percent.clone());
        let right = Axis::new([0.0, 100.0], [bottom, top], percent);
        let at = |p: [f64; 2]| [said.at(100.0 * p[0]), right.at(100.0 * p[1])];

        let (c, tick) = (scene.colours, scene.plain(TICK));
        right.draw_upright(&mut scene, tick, BESIDE, &[SIDES]);
        said.draw_level(&mut scene, tick, bottom + BELOW, &[PANEL]);
        scene.frame(SIDES, PANEL, 1.0, c.frame);
        // Dashes along the diagonal, on which what is said and what comes of it agree.
        for dash in 0..25 {
            let ends = [f64::from(dash), f64::from(dash) + 0.6].map(|d| d / 25.0);
            scene.path(ends.map(|d| at([d, d])).into(), 2.0, c.soft_ink);
        }
        let above = "more often right than said";
        scene.write(above, tick, at([0.02, 0.93]), HPos::Left);
        scene.write("surer than right", tick, at([0.98, 0.04]), HPos::Right);

        for p in &self.points {
            let [x, y] = at([p.said, p.right]);
            let interval = p.interval.map(|share| at([0.0, share])[1]);
            scene.upright(x, [interval[1], interval[0]], 3.0, BLUE);
            for end in interval {
                scene.level(end, around(x, 8.0), 3.0, BLUE);
            }
            scene.area(around(x, 8.0), around(y, 8.0), c.ink);
            scene.area(around(x, 6.0), around(y, 6.0), BLUE);
        }
        // Words last, so that no other point's line runs through them.
        let ink = tick.coloured(c.ink);
        for p in &self.points {
            let [x, y] = at([p.said, p.right]);
            let label = format!("n = {}", p.n);
            // To the left of its point where the right edge is near.
            let (place, anchor) = if x + 16.0 + ink.width(&label) < SIDES[1] {
                (x + 14.0, HPos::Left)
            } else {
                (x - 14.0, HPos::Right)
            };
            let words = Words::new(label, ink, [place, ink.base(y)], anchor);
            scene.on_ground(words, 2.0, around(y, 10.5), c.panel);
        }
        if self.points.is_empty() {
            scene.centre("no call states a confidence", ink, SIDES, PANEL);
        }
        Ok(scene)
    }
}
