//! An axis: where a value stands, and the round numbers beside it.

use super::scene::Scene;
use super::text::Style;
use crate::math;
use plotters::style::text_anchor::HPos;

/// The digits of round numbers.
const DIGITS: [u8; 3] = [1, 2, 5];

/// A value, and the words that stand beside it.
pub(super) type Tick = (f64, String);

/// A range of values laid along a range of pixels.
pub(super) struct Axis {
    /// Values at its two ends.
    pub values: [f64; 2],
    /// Pixels at its two ends; those of an upright axis fall.
    pub pixels: [f64; 2],
    /// Whether equal ratios, not equal differences, stand equally far apart; needs values above zero.
    pub geometric: bool,
    /// Ascending.
    pub ticks: Vec<Tick>,
}

impl Axis {
    /// An axis of equal differences.
    pub fn new(values: [f64; 2], pixels: [f64; 2], ticks: Vec<Tick>) -> Axis {
        Axis {
            values,
            pixels,
            geometric: false,
            ticks,
        }
    }

    /// An axis of equal ratios with ticks at 1, 2 and 5 in every decade.
    pub fn geometric(values: [f64; 2], pixels: [f64; 2]) -> Axis {
        let [low, high] = values;
        let decade = |value: f64| math::ln(value) / math::ln(10.0);
        let ticks = (decade(low).floor() as i32..=decade(high).ceil() as i32)
            .flat_map(|decade| DIGITS.map(|digit| decimal(digit, decade)))
            .filter(|x| *x >= low * (1.0 - 1e-9) && *x <= high * (1.0 + 1e-9))
            .map(|x| (x, x.to_string()))
            .collect();
        Axis {
            geometric: true,
            ..Axis::new(values, pixels, ticks)
        }
    }

    /// Where a value stands, pixels.
    pub fn at(&self, value: f64) -> f64 {
        let scale = |v: f64| if self.geometric { math::ln(v) } else { v };
        let ([low, high], [from, to]) = (self.values.map(scale), self.pixels);
        from + (scale(value) - low) / (high - low) * (to - from)
    }

    /// Where each tick stands, pixels, with its words.
    pub fn ticks(&self) -> impl Iterator<Item = (f64, &str)> {
        self.ticks
            .iter()
            .map(|(value, label)| (self.at(*value), label.as_str()))
    }

    /// Writes the ticks of an upright axis to the left of `x`, and draws its grid over some widths.
    pub fn draw_upright(&self, scene: &mut Scene, style: Style, x: f64, grids: &[[f64; 2]]) {
        for (y, label) in self.ticks() {
            for grid in grids {
                scene.level(y, *grid, 1.0, scene.colours.grid);
            }
            scene.write(label, style, [x, style.base(y)], HPos::Right);
        }
    }

    /// Writes the ticks of a level axis on a base line, and draws its grid over some heights. A long label
    /// at an edge moves inwards rather than be cut off.
    pub fn draw_level(&self, scene: &mut Scene, style: Style, base: f64, grids: &[[f64; 2]]) {
        let page = f64::from(scene.size[0]);
        for (x, label) in self.ticks() {
            for grid in grids {
                scene.upright(x, *grid, 1.0, scene.colours.grid);
            }
            let half = style.width(label) / 2.0 + 3.0;
            let at = [x.clamp(half, (page - half).max(half)), base];
            scene.write(label, style, at, HPos::Center);
        }
    }
}

/// As many ticks within a range as there are steps of 1, 2 or 5 times a power of ten, but no more than
/// about `most` (at least one interval is kept when `most` is small).
///
/// Labels share one number of decimals, use a true minus sign and never say "−0"; very large and very
/// small values are written as `1.5e9`. Without a range (no value above the first, or one that is not
/// finite) there are no ticks.
pub(super) fn nice_ticks([low, high]: [f64; 2], most: usize) -> Vec<Tick> {
    let most = most.max(1);
    let Some((step, exponent)) = nice_step((high - low) / most as f64) else {
        return Vec::new();
    };
    let slack = 1e-9;
    let first = (low / step - slack).ceil();
    let count = ((high / step + slack).floor() - first + 1.0).max(0.0) as usize;
    let largest = low.abs().max(high.abs());
    (0..count.min(most + 2))
        // Adding zero makes a plus zero of a minus one.
        .map(|i| (first + i as f64) * step + 0.0)
        .map(|value| (value, label(value, exponent, largest)))
        .collect()
}

/// The smallest step of 1, 2 or 5 times a power of ten that is no smaller than `least`, and the power;
/// `None` if there is no such number.
fn nice_step(least: f64) -> Option<(f64, i32)> {
    if !(least > 0.0 && least.is_finite()) {
        return None;
    }
    // The logarithm may be off by one near a power of ten, so start below and take the first to fit.
    let guess = (math::ln(least) / math::ln(10.0)).floor() as i32 - 1;
    (guess..guess + 4)
        .flat_map(|exponent| DIGITS.map(|digit| (decimal(digit, exponent), exponent)))
        .find(|(step, _)| *step >= least * (1.0 - 1e-9) && *step > 0.0 && step.is_finite())
}

/// Exact to the last bit, unlike a logarithm's inverse.
fn decimal(digit: u8, exponent: i32) -> f64 {
    format!("{digit}e{exponent}").parse().unwrap_or(f64::NAN)
}

fn label(value: f64, exponent: i32, largest: f64) -> String {
    let scientific = exponent < -6 || largest >= 1e6;
    let text = if !scientific {
        let decimals = (-exponent).max(0) as usize;
        format!("{value:.decimals$}")
    } else if value == 0.0 {
        "0".into()
    } else {
        let own = (math::ln(value.abs()) / math::ln(10.0) + 1e-9).floor() as i32;
        let digits = (own - exponent).clamp(0, 12) as usize;
        format!("{value:.digits$e}")
    };
    text.replace('-', "\u{2212}")
}

#[cfg(test)]
mod tests {
    use super::*;

    fn labels(low: f64, high: f64, most: usize) -> Vec<String> {
        let ticks = nice_ticks([low, high], most);
        ticks.into_iter().map(|(_, label)| label).collect()
    }

    #[test]
    fn steps_are_one_two_or_five() {
        assert_eq!(
            labels(0.0, 4.0, 8),
            [
                "0.0", "0.5", "1.0", "1.5", "2.0", "2.5", "3.0", "3.5", "4.0"
            ]
        );
        assert_eq!(labels(0.0, 4.0, 4), ["0", "1", "2", "3", "4"]);
        assert_eq!(labels(9.3, 12.7, 5), ["10", "11", "12"]);
        assert_eq!(labels(-3.0, 23.0, 6), ["0", "5", "10", "15", "20"]);
        assert_eq!(labels(0.12, 0.31, 4), ["0.15", "0.20", "0.25", "0.30"]);
        assert_eq!(labels(-180.0, 700.0, 4), ["0", "500"]);
    }

    #[test]
    fn the_minus_is_a_minus_and_zero_has_none() {
        assert_eq!(
            labels(-0.2, 0.2, 4),
            ["\u{2212}0.2", "\u{2212}0.1", "0.0", "0.1", "0.2"]
        );
        assert_eq!(labels(-1e-3, 1e-3, 2), ["\u{2212}0.001", "0.000", "0.001"]);
    }

    #[test]
    fn huge_and_tiny_values_stay_short() {
        assert_eq!(labels(0.0, 3e38, 3), ["0", "1e38", "2e38", "3e38"]);
        assert_eq!(labels(0.0, 2e-9, 2), ["0", "1e\u{2212}9", "2e\u{2212}9"]);
        assert_eq!(
            labels(999_000.0, 1_001_000.0, 2),
            ["9.99e5", "1.000e6", "1.001e6"]
        );
    }

    #[test]
    fn no_range_no_ticks() {
        for (low, high) in [
            (1.0, 1.0),
            (2.0, 1.0),
            (f64::NAN, 1.0),
            (0.0, f64::INFINITY),
            (f64::MIN, f64::MAX),
        ] {
            assert!(nice_ticks([low, high], 5).is_empty(), "{low} to {high}");
        }
    }

    #[test]
    fn ticks_stay_within_the_range_and_near_the_wanted_number() {
        let mut low = -7.3;
        for i in 0..400 {
            let high = low + 1e-5 * math::pow(1.09, f64::from(i));
            for most in 1..12 {
                let ticks = nice_ticks([low, high], most);
                assert!(ticks.len() <= most + 1, "{low} to {high}: {ticks:?}");
                for pair in ticks.windows(2) {
                    let step = pair[1].0 - pair[0].0;
                    assert!(step * (most as f64) < 2.6 * (high - low), "{ticks:?}");
                    let slack = 1e-8 * step;
                    assert!(pair[0].0 >= low - slack && pair[1].0 <= high + slack);
                }
            }
            low += 0.113;
        }
    }

    #[test]
    fn ratios_stand_equally_far_apart() {
        let axis = Axis::geometric([50.0, 1500.0], [110.0, 1170.0]);
        let apart = |low: f64, high: f64| axis.at(high) - axis.at(low);
        assert!((apart(50.0, 150.0) - apart(500.0, 1500.0)).abs() < 1e-9);
        let labels: Vec<&str> = axis.ticks().map(|tick| tick.1).collect();
        assert_eq!(labels, ["50", "100", "200", "500", "1000"]);
    }
}
