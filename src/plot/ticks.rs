//! Round numbers along an axis.

use crate::math;

/// Round values within a range, equally spaced, with the words that stand beside them.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Ticks {
    /// From one tick to the next: 1, 2 or 5 times a power of ten.
    pub step: f64,
    /// Value and label of each tick, ascending.
    pub marks: Vec<(f64, String)>,
}

/// As many ticks from `low` to `high` as there are steps of 1, 2 or 5 times a power of ten, but no
/// more than about `most` (at least one interval is kept when `most` is small).
///
/// Labels share one number of decimals, use a true minus sign and never say "−0"; very large and very
/// small values are written as `1.5e9`. Without a range (`low >= high`, or a value that is not
/// finite) there are no ticks.
pub fn nice_ticks(low: f64, high: f64, most: usize) -> Ticks {
    let span = high - low;
    if !(span > 0.0 && span.is_finite()) {
        return Ticks::default();
    }
    let (step, exponent) = nice_step(span / most.max(1) as f64);
    if !(step > 0.0 && step.is_finite()) {
        return Ticks::default();
    }
    let slack = 1e-9;
    let first = (low / step - slack).ceil();
    let count = ((high / step + slack).floor() - first + 1.0).max(0.0) as usize;
    let value = |i: usize| {
        let value = (first + i as f64) * step;
        if value == 0.0 { 0.0 } else { value }
    };
    let largest = low.abs().max(high.abs());
    let marks = (0..count.min(most.max(1) + 2))
        .map(|i| (value(i), label(value(i), exponent, largest)))
        .collect();
    Ticks { step, marks }
}

/// The smallest step of 1, 2 or 5 times a power of ten that is no smaller than `least`, and the
/// power.
fn nice_step(least: f64) -> (f64, i32) {
    // The logarithm may be off by one near a power of ten, so start below and take the first to fit.
    let guess = (math::ln(least) / math::ln(10.0)).floor() as i32 - 1;
    (guess..guess + 4)
        .flat_map(|exponent| [1.0, 2.0, 5.0].map(|m| (m * power_of_ten(exponent), exponent)))
        .find(|(step, _)| *step >= least * (1.0 - 1e-9))
        .unwrap_or((f64::NAN, 0))
}

/// Exact to the last bit, unlike a logarithm's inverse.
fn power_of_ten(exponent: i32) -> f64 {
    format!("1e{exponent}").parse().unwrap_or(f64::NAN)
}

fn label(value: f64, exponent: i32, largest: f64) -> String {
    let text = if exponent < -6 || largest >= 1e6 {
        if value == 0.0 {
            "0".to_string()
        } else {
            let own = (math::ln(value.abs()) / math::ln(10.0) + 1e-9).floor() as i32;
            let digits = (own - exponent).clamp(0, 12) as usize;
            format!("{value:.digits$e}")
        }
    } else {
        let decimals = (-exponent).max(0) as usize;
        format!("{value:.decimals$}")
    };
    text.replace('-', "\u{2212}")
}

#[cfg(test)]
mod tests {
    use super::*;

    fn labels(low: f64, high: f64, most: usize) -> Vec<String> {
        nice_ticks(low, high, most)
            .marks
            .into_iter()
            .map(|(_, l)| l)
            .collect()
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
            assert!(nice_ticks(low, high, 5).marks.is_empty(), "{low} to {high}");
        }
    }

    #[test]
    fn ticks_stay_within_the_range_and_near_the_wanted_number() {
        let mut low = -7.3;
        for i in 0..400 {
            let high = low + 1e-5 * math::pow(1.09, f64::from(i));
            for most in 1..12 {
                let ticks = nice_ticks(low, high, most);
                assert!(ticks.marks.len() <= most + 1, "{low} to {high}: {ticks:?}");
                assert!(
                    ticks.step * (most as f64) < 2.6 * (high - low),
                    "{low} to {high}: {ticks:?}"
                );
                for (value, _) in &ticks.marks {
                    let slack = 1e-8 * ticks.step;
                    assert!(*value >= low - slack && *value <= high + slack);
                }
            }
            low += 0.113;
        }
    }
}
