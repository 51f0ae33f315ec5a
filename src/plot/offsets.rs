//! Offset bars: how many places beside the leaking cylinder the calls stand.

use super::Theme;
use super::figure::{SIDES, TICK, TOP, frame, middle, page, say};
use super::palette::{BLUISH_GREEN, GREY, VERMILLION};
use super::scene::{Anchor, Scene};
use super::text;
use super::ticks::nice_ticks;
use crate::error::{Fault, Faults};

const BOTTOM: f64 = TOP + 300.0;
const HEIGHT: f64 = BOTTOM + 104.0;
/// Farthest offset drawn; engines have few cylinders.
const FARTHEST: i64 = 12;
/// Smallest height of a line in which a number is still read.
const SMALLEST: u32 = 12;
/// Slots narrower than this do not each have room for a sign.
const CLOSE: f64 = 36.0;

/// Number of calls by their offset in the firing order.
#[derive(Clone, Debug, PartialEq)]
pub struct Offsets {
    /// First line.
    pub title: String,
    /// Offset, positive for cylinders that fire after the leaking one, and its number of calls.
    pub counts: Vec<(i64, usize)>,
}

impl Offsets {
    pub(super) fn compose(&self, theme: Theme) -> Result<Scene, Faults> {
        let drawn = self.counts.iter().filter(|(_, n)| *n > 0);
        if let Some((far, _)) = drawn.clone().find(|(k, _)| k.abs() > FARTHEST) {
            let remedy = format!("give offsets from -{FARTHEST} to {FARTHEST}");
            return Err(Fault::new("offsets", format!("{far} is too far"), remedy).into());
        }
        let first = drawn.clone().map(|(k, _)| *k).fold(-2, i64::min);
        let last = drawn.clone().map(|(k, _)| *k).fold(2, i64::max);
        let most = drawn.clone().map(|(_, n)| *n).max().unwrap_or(0).max(1);
        let axes = ["Calls", "Places from the leaking cylinder"];
        let (mut scene, c) = page(theme, HEIGHT, &self.title, axes, BOTTOM + 26.0);
        scene.area([SIDES[0], TOP], [SIDES[1], BOTTOM], c.panel);
        // Head room for the number on the highest bar.
        let top = most as f64 * 1.14;
        let y = |calls: f64| BOTTOM - (BOTTOM - TOP) * calls / top;
        for (calls, label) in nice_ticks(0.0, top, 6).marks {
            // Half a call is none.
            if calls.fract() != 0.0 {
                continue;
            }
            let label = label.split('.').next().unwrap_or_default();
            scene.level(y(calls), SIDES, 1.0, c.grid);
            let at = [SIDES[0] - 9.0, middle(y(calls), TICK)];
            say(&mut scene, label, [TICK, 0], c.soft_ink, at, Anchor::End);
        }
        let slots = (last - first + 1) as f64;
        let slot = (SIDES[1] - SIDES[0]) / slots;
        // In a narrow slot words get smaller, and only every other place has its sign.
        let fits = |size: &u32| text::width(&most.to_string(), *size, true) < slot - 2.0;
        let size = (SMALLEST..=TICK).rev().find(fits).unwrap_or(SMALLEST);
        for (i, offset) in (first..=last).enumerate() {
            let n: usize = drawn
                .clone()
                .filter(|(k, _)| *k == offset)
                .map(|(_, n)| n)
                .sum();
            let centre = SIDES[0] + slot * (i as f64 + 0.5);
            let half = (0.36 * slot).min(44.0);
            let colour = match offset {
                0 => BLUISH_GREEN,
                1 => VERMILLION,
                _ => GREY,
            };
            let height = y(n as f64);
            scene.area([centre - half, height], [centre + half, BOTTOM], colour);
            let above = [centre, height - 8.0];
            say(
                &mut scene,
                &n.to_string(),
                [size, 1],
                c.ink,
                above,
                Anchor::Middle,
            );
            let sign = match offset {
                _ if slot < CLOSE && offset % 2 != 0 => String::new(),
                1.. => format!("+{offset}"),
                _ => offset.to_string().replace('-', "\u{2212}"),
            };
            let below = [centre, BOTTOM + 26.0];
            say(
                &mut scene,
                &sign,
                [TICK, 0],
                c.soft_ink,
                below,
                Anchor::Middle,
            );
        }
        frame(&mut scene, [TOP, BOTTOM], c.frame);
        let zero = SIDES[0] + slot * (0.5 - first as f64);
        for (text, at, anchor) in [
            ("fires before", SIDES[0], Anchor::Start),
            ("right", zero, Anchor::Middle),
            ("fires after", SIDES[1], Anchor::End),
        ] {
            say(
                &mut scene,
                text,
                [TICK, 0],
                c.soft_ink,
                [at, BOTTOM + 52.0],
                anchor,
            );
        }
        Ok(scene)
    }
}
