//! Offset bars: how many places beside the leaking cylinder the calls stand.

use super::axis::{Axis, Tick, nice_ticks};
use super::figure::{BELOW, BESIDE, SIDES, TICK, TOP, page};
use super::palette::{BLUISH_GREEN, GREY, VERMILLION};
use super::scene::{Scene, around};
use super::{Drawing, Theme};
use crate::error::{Fault, Faults};
use plotters::style::text_anchor::HPos;
use std::collections::BTreeMap;

const BOTTOM: f64 = TOP + 300.0;
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
    /// Number of calls by offset, which is positive for cylinders that fire after the leaking one.
    pub counts: BTreeMap<i64, usize>,
    /// Light or dark.
    pub theme: Theme,
}

impl Drawing for Offsets {
    fn scene(&self) -> Result<Scene, Faults> {
        let drawn = || self.counts.iter().filter(|(_, n)| **n > 0);
        let first = drawn().map(|(k, _)| *k).fold(-2, i64::min);
        let last = drawn().map(|(k, _)| *k).fold(2, i64::max);
        for far in [first, last] {
            if far.abs() > FARTHEST {
                let remedy = format!("give offsets from -{FARTHEST} to {FARTHEST}");
                return Err(Fault::new("offsets", format!("{far} is too far"), remedy).into());
            }
        }
        let most = drawn().map(|(_, n)| *n).fold(1, usize::max);
        let places = ["Calls", "Places from the leaking cylinder"];
        let mut scene = page(
            self.theme,
            &self.title,
            places,
            BOTTOM,
            BOTTOM + 2.0 * BELOW,
        );
        let (c, tick) = (scene.colours, scene.plain(TICK));

        // Head room for the number on the highest bar.
        let values = [0.0, most as f64 * 1.14];
        // Half a call is none.
        let whole = |(calls, _): Tick| (calls.fract() == 0.0).then(|| (calls, calls.to_string()));
        let ticks = nice_ticks(values, 6)
            .into_iter()
            .filter_map(whole)
            .collect();
        let calls = Axis::new(values, [BOTTOM, TOP], ticks);
        calls.draw_upright(&mut scene, tick, BESIDE, &[SIDES]);

        let slot = (SIDES[1] - SIDES[0]) / (last - first + 1) as f64;
        // In a narrow slot words get smaller, and only every other place has its sign.
        let sign = |offset: i64| match offset {
            _ if slot < CLOSE && offset % 2 != 0 => String::new(),
            1.. => format!("+{offset}"),
            _ => offset.to_string().replace('-', "\u{2212}"),
        };
        let signs = (first..=last).map(|k| (k as f64, sign(k))).collect();
        let offsets = Axis::new([first as f64 - 0.5, last as f64 + 0.5], SIDES, signs);
        let mut number = scene.bold(TICK);
        while number.size > SMALLEST && number.width(&most.to_string()) >= slot - 2.0 {
            number.size -= 1;
        }
        for offset in first..=last {
            let n = self.counts.get(&offset).copied().unwrap_or(0);
            let colour = match offset {
                0 => BLUISH_GREEN,
                1 => VERMILLION,
                _ => GREY,
            };
            let (x, y) = (offsets.at(offset as f64), calls.at(n as f64));
            let bar = around(x, (0.36 * slot).min(44.0));
            scene.area(bar, [y, BOTTOM], colour);
            scene.write(n.to_string(), number, [x, y - 8.0], HPos::Center);
        }
        offsets.draw_level(&mut scene, tick, BOTTOM + BELOW, &[]);
        scene.frame(SIDES, [TOP, BOTTOM], 1.0, c.frame);
        for (text, x, anchor) in [
            ("fires before", SIDES[0], HPos::Left),
            ("right", offsets.at(0.0), HPos::Center),
            ("fires after", SIDES[1], HPos::Right),
        ] {
            scene.write(text, tick, [x, BOTTOM + 2.0 * BELOW], anchor);
        }
        Ok(scene)
    }
}
