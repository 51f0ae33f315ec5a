//! Statistics of calls: intervals, scores and comparisons.
//!
//! - Wilson's interval of a proportion (E. B. Wilson, "Probable inference, the law of succession, and
//!   statistical inference", Journal of the American Statistical Association 22, 1927, 209-212) stays
//!   within 0 and 1 and keeps its coverage for the few calls of one student.
//! - The Brier score is the mean squared distance of a stated probability from what came, 1 or 0: 0 is
//!   perfect, 0.25 is what "50%" always earns. This is the usual binary form; Brier's original (Monthly
//!   Weather Review 78, 1950, 1-3), summed over both outcomes, is twice it.
//! - The exact McNemar test (Psychometrika 12, 1947, 153-157) asks whether two graders of the same
//!   captures differ: only captures that one got right and the other wrong tell, and without a
//!   difference each falls to either side like a coin.
//! - The log loss or logarithmic score (I. J. Good, "Rational decisions", Journal of the Royal Statistical Society B 14,
//!   1952, 107-114) is the mean of `-ln` of the probability given to what came: 0 is perfect, 0.69 is what
//!   "50%" always earns. A certainty that fails would cost without bounds, so that probabilities are first
//!   brought within [`CERTAIN`].
//! - The interval of the difference between two accuracies on the same captures is Newcombe's method 10 (R. G.
//!   Newcombe, "Improved confidence intervals for the difference between binomial proportions based on paired
//!   data", Statistics in Medicine 17, 1998, 2635-2650): Wilson's intervals of both, squared and added with
//!   the correlation between them.
//! - Holm's step-down adjustment (Scandinavian Journal of Statistics 6, 1979, 65-70) keeps the chance of even
//!   one false alarm among many tests at the level of one.
//!
//! All are cited from memory; `tests/reference` holds them against statsmodels.

use crate::math;

/// No stated probability counts as surer than this, or as its complement.
pub const CERTAIN: f64 = 0.999;

/// The 97.5 % point of the standard normal distribution, for a two-sided 95 % interval.
const Z_95: f64 = 1.959_963_984_540_054;

/// Wilson's 95 % interval of a proportion `right / n`, low and high; `None` for no trials.
///
/// `right` is at most `n`.
pub fn wilson_95(right: usize, n: usize) -> Option<[f64; 2]> {
    if n == 0 {
        return None;
    }
    let (n, z2) = (n as f64, Z_95 * Z_95);
    let p = right as f64 / n;
    let centre = (p + z2 / (2.0 * n)) / (1.0 + z2 / n);
    let half = Z_95 / (1.0 + z2 / n) * (p * (1.0 - p) / n + z2 / (4.0 * n * n)).sqrt();
    Some([(centre - half).max(0.0), (centre + half).min(1.0)])
}

/// What a stated probability costs by the Brier score, 0 to 1.
pub fn squared_error(stated: f64, came: bool) -> f64 {
    let miss = stated - f64::from(u8::from(came));
    miss * miss
}

/// What a stated probability costs by the log loss, 0 to 6.9.
pub fn log_loss(stated: f64, came: bool) -> f64 {
    let of_what_came = if came { stated } else { 1.0 - stated };
    -math::ln(of_what_came.clamp(1.0 - CERTAIN, CERTAIN))
}

/// The 95 % interval of the difference `second - first` of two shares of the same `n` captures, low and high,
/// of which both got `both` right, the first alone `only_first`, the second alone `only_second`, and
/// neither `neither`; `None` for no captures.
pub fn paired_difference_95(
    both: usize,
    only_first: usize,
    only_second: usize,
    neither: usize,
) -> Option<[f64; 2]> {
    let n = both + only_first + only_second + neither;
    let (first, second) = (both + only_first, both + only_second);
    let ([low_1, high_1], [low_2, high_2]) = (wilson_95(first, n)?, wilson_95(second, n)?);
    let size = n as f64;
    let (p1, p2) = (first as f64 / size, second as f64 / size);
    let [a, b, c, d] = [both, only_first, only_second, neither].map(|cell| cell as f64);
    // The correlation of both outcomes, drawn towards none as by a continuity correction.
    let product = (a + b) * (c + d) * (a + c) * (b + d);
    let excess = a * d - b * c;
    let excess = if excess > 0.0 {
        (excess - size / 2.0).max(0.0)
    } else {
        excess
    };
    let phi = if product > 0.0 {
        excess / product.sqrt()
    } else {
        0.0
    };
    let together = |x: f64, y: f64| (x * x - 2.0 * phi * x * y + y * y).max(0.0).sqrt();
    let difference = p2 - p1;
    let low = difference - together(p2 - low_2, high_1 - p1);
    let high = difference + together(high_2 - p2, p1 - low_1);
    Some([low.max(-1.0), high.min(1.0)])
}

/// Holm's adjusted p-values, in the order given.
pub fn holm(p_values: &[f64]) -> Vec<f64> {
    let mut order: Vec<usize> = (0..p_values.len()).collect();
    order.sort_by(|a, b| p_values[*a].total_cmp(&p_values[*b]));
    let mut adjusted = vec![0.0; p_values.len()];
    let mut least: f64 = 0.0;
    for (rank, i) in order.into_iter().enumerate() {
        least = least.max(((p_values.len() - rank) as f64 * p_values[i]).min(1.0));
        adjusted[i] = least;
    }
    adjusted
}

/// Two-sided p-value of the exact McNemar test: `only_first` captures that the first alone got right,
/// `only_second` that the second alone did. 1 if they never differ.
pub fn mcnemar_exact(only_first: usize, only_second: usize) -> f64 {
    let n = only_first + only_second;
    let fewer = only_first.min(only_second);
    // The largest term first, C(n, fewer) / 2^n. Halving whenever it grows keeps it in range: 2^-n alone
    // would vanish beyond a thousand captures.
    let (mut term, mut halvings) = (1.0, n);
    for k in 0..fewer {
        term *= (n - k) as f64 / (k + 1) as f64;
        while term > 1.0 {
            term *= 0.5;
            halvings -= 1;
        }
    }
    for _ in 0..halvings {
        term *= 0.5;
    }
    let mut tail = 0.0;
    for k in (0..=fewer).rev() {
        tail += term;
        term *= k as f64 / (n - k + 1) as f64;
    }
    (2.0 * tail).min(1.0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn nothing_to_count_is_no_number() {
        assert_eq!(wilson_95(0, 0), None);
        assert_eq!(mcnemar_exact(0, 0), 1.0);
    }

    /// scikit-learn 1.9.1, brier_score_loss([1,0,1,1,0], [0.9,0.8,0.5,1.0,0.25]). Tolerance: rounding of
    /// five squares.
    #[test]
    fn brier_agrees_with_scikit_learn() {
        let stated = [
            (0.9, true),
            (0.8, false),
            (0.5, true),
            (1.0, true),
            (0.25, false),
        ];
        let sum: f64 = stated
            .map(|(said, came)| squared_error(said, came))
            .iter()
            .sum();
        assert!((sum / 5.0 - 0.19250000000000003).abs() < 1e-15);
    }

    /// Far beyond what a pack holds, the sum must neither vanish nor become NaN: 10 000 pairs in even
    /// parts cannot differ.
    #[test]
    fn many_pairs_keep_their_test() {
        assert_eq!(mcnemar_exact(5_000, 5_000), 1.0);
        let p = mcnemar_exact(4_900, 5_100);
        // The normal approximation with its correction for continuity, z = 1.99: 0.0466.
        assert!((p - 0.0466).abs() < 2e-4, "{p}");
    }

    /// Newcombe 1998, Table III, method 10, quoted at second hand; the paper counts the other way round, first
    /// less second. It prints four decimals with z = 1.96: 1e-4.
    #[test]
    fn newcombes_own_table_comes_out() {
        for ([both, first, second, neither], [low, high]) in [
            ([36, 12, 2, 0], [0.0569, 0.3404]),
            ([20, 12, 2, 16], [0.0562, 0.3292]),
            ([18, 12, 2, 18], [0.0562, 0.3290]),
            ([35, 14, 0, 1], [0.1461, 0.4175]),
            ([1, 97, 1, 1], [0.8736, 0.9850]),
            ([0, 30, 0, 0], [0.8395, 1.0]),
            ([54, 0, 0, 0], [-0.0664, 0.0664]),
            ([27, 0, 0, 27], [-0.0351, 0.0351]),
        ] {
            let [own_low, own_high] = paired_difference_95(both, first, second, neither).unwrap();
            let cells = [both, first, second, neither];
            assert!((own_low + high).abs() < 1e-4, "{cells:?}: {own_low}");
            assert!((own_high + low).abs() < 1e-4, "{cells:?}: {own_high}");
        }
        assert_eq!(paired_difference_95(0, 0, 0, 0), None);
    }

    #[test]
    fn a_certainty_that_fails_costs_much_but_not_all() {
        assert!((log_loss(0.5, true) - log_loss(0.5, false)).abs() < 1e-15);
        assert!((log_loss(1.0, false) - 6.907_755).abs() < 1e-6);
        assert!(log_loss(1.0, true) > 0.0 && log_loss(1.0, true) < 1.1e-3);
    }

    /// Holm 1979 by hand: 4 * 0.005, 3 * 0.01, 2 * 0.03, and 0.04 raised to the one before it.
    #[test]
    fn holm_steps_down() {
        let adjusted = holm(&[0.01, 0.04, 0.03, 0.005]);
        for (own, due) in adjusted.iter().zip([0.03, 0.06, 0.06, 0.02]) {
            assert!((own - due).abs() < 1e-15, "{adjusted:?}");
        }
        assert_eq!(holm(&[0.9, 0.8]), [1.0, 1.0]);
        assert!(holm(&[]).is_empty());
    }

    proptest! {
        #[test]
        fn the_difference_lies_in_its_interval(a in 0usize..300, b in 0usize..300, c in 0usize..300, d in 1usize..300) {
            let [low, high] = paired_difference_95(a, b, c, d).unwrap();
            let difference = (c as f64 - b as f64) / (a + b + c + d) as f64;
            prop_assert!(-1.0 <= low && low <= difference && difference <= high && high <= 1.0);
            let [back_low, back_high] = paired_difference_95(a, c, b, d).unwrap();
            prop_assert!((low + back_high).abs() < 1e-12 && (high + back_low).abs() < 1e-12);
        }

        #[test]
        fn the_interval_holds_the_accuracy(n in 1usize..5000, part in 0.0..=1.0f64) {
            let right = (part * n as f64) as usize;
            let [low, high] = wilson_95(right, n).unwrap();
            let p = right as f64 / n as f64;
            prop_assert!(0.0 <= low && low <= p + 1e-12 && p <= high + 1e-12 && high <= 1.0);
        }

        #[test]
        fn comparisons_do_not_mind_the_order(b in 0usize..400, c in 0usize..400) {
            let p = mcnemar_exact(b, c);
            prop_assert_eq!(p, mcnemar_exact(c, b));
            prop_assert!(p > 0.0 && p <= 1.0);
        }
    }
}
