//! The reliability diagram: for calls of like confidence, what was said against what came of it.

use super::Theme;
use super::figure::{SIDES, TICK, TOP, frame, middle, page, say};
use super::palette::{BLUE, Colours};
use super::scene::{Anchor, Scene};
use super::text;
use crate::error::{Fault, Faults};

const BOTTOM: f64 = TOP + 400.0;
const HEIGHT: f64 = BOTTOM + 76.0;
/// Ticks of both axes, per cent.
const TICKS: [u32; 6] = [0, 20, 40, 60, 80, 100];

/// Stated confidence against the share that was right, a point a bin.
#[derive(Clone, Debug, PartialEq)]
pub struct Reliability {
    /// First line.
    pub title: String,
    /// The points; there may be none.
    pub points: Vec<Reliable>,
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

fn x(share: f64) -> f64 {
    SIDES[0] + (SIDES[1] - SIDES[0]) * share
}

fn y(share: f64) -> f64 {
    BOTTOM - (BOTTOM - TOP) * share
}

impl Reliability {
    pub(super) fn compose(&self, theme: Theme) -> Result<Scene, Faults> {
        let shares = self.points.iter().flat_map(|p| {
            let [low, high] = p.interval;
            [p.said, p.right, low, high]
        });
        if shares.clone().any(|s| !(0.0..=1.0).contains(&s)) {
            let problem = "a share is not from 0 to 1";
            return Err(Fault::new("reliability", problem, "give shares from 0 to 1").into());
        }
        let axes = ["Share right (%)", "Stated confidence (%)"];
        let (mut scene, c) = page(theme, HEIGHT, &self.title, axes, BOTTOM);
        ground(&mut scene, &c);
        for point in &self.points {
            let [low, high] = point.interval.map(y);
            let (x, y) = (x(point.said), y(point.right));
            scene.upright(x, [high, low], 3.0, BLUE);
            for end in [low, high] {
                scene.level(end, [x - 8.0, x + 8.0], 3.0, BLUE);
            }
            scene.area([x - 8.0, y - 8.0], [x + 8.0, y + 8.0], c.ink);
            scene.area([x - 6.0, y - 6.0], [x + 6.0, y + 6.0], BLUE);
        }
        // Words last, so that no other point's line runs through them.
        for point in &self.points {
            count(&mut scene, &c, point);
        }
        if self.points.is_empty() {
            let at = [x(0.5), y(0.5)];
            let nothing = "no call states a confidence";
            say(&mut scene, nothing, [TICK, 0], c.ink, at, Anchor::Middle);
        }
        Ok(scene)
    }
}

fn ground(scene: &mut Scene, c: &Colours) {
    scene.area([SIDES[0], TOP], [SIDES[1], BOTTOM], c.panel);
    for tick in TICKS {
        let share = f64::from(tick) / 100.0;
        let label = tick.to_string();
        scene.level(y(share), SIDES, 1.0, c.grid);
        scene.upright(x(share), [TOP, BOTTOM], 1.0, c.grid);
        let beside = [SIDES[0] - 9.0, middle(y(share), TICK)];
        say(scene, &label, [TICK, 0], c.soft_ink, beside, Anchor::End);
        let below = [x(share), BOTTOM + 26.0];
        say(scene, &label, [TICK, 0], c.soft_ink, below, Anchor::Middle);
    }
    frame(scene, [TOP, BOTTOM], c.frame);
    // Dashes along the diagonal, on which what is said and what comes of it agree.
    for dash in 0..25 {
        let ends = [f64::from(dash), f64::from(dash) + 0.6].map(|d| d / 25.0);
        scene.path(ends.map(|d| [x(d), y(d)]).into(), 2.0, c.soft_ink);
    }
    for (text, at, anchor) in [
        ("more often right than said", [0.02, 0.93], Anchor::Start),
        ("surer than right", [0.98, 0.04], Anchor::End),
    ] {
        let at = [x(at[0]), y(at[1])];
        say(scene, text, [TICK, 0], c.soft_ink, at, anchor);
    }
}

/// The number of calls beside a point, to its left where the right edge is near.
fn count(scene: &mut Scene, c: &Colours, point: &Reliable) {
    let label = format!("n = {}", point.n);
    let (px, py) = (x(point.said), y(point.right));
    let width = text::width(&label, TICK, false);
    let right = px + 16.0 + width < SIDES[1];
    let from = if right { px + 14.0 } else { px - 14.0 - width };
    let half = f64::from(TICK) / 2.0 + 1.0;
    let (low, high) = ([from - 2.0, py - half], [from + width + 2.0, py + half]);
    scene.area(low, high, c.panel);
    let at = [from, middle(py, TICK)];
    say(scene, &label, [TICK, 0], c.ink, at, Anchor::Start);
}
