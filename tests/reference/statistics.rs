//! The grader's statistics.

use crate::table::{Table, Worst};
use waterjacket::grade::calibration::Bins;
use waterjacket::grade::statistics::{
    holm, log_loss, mcnemar_exact, paired_difference_95, squared_error, wilson_95,
};

/// Wilson 1927, statsmodels. A dozen operations; the table has 12 digits: 1e-11.
#[test]
fn wilsons_interval_is_that_of_statsmodels() {
    let mut worst = Worst::default();
    for row in Table::read("wilson").rows() {
        let (right, calls) = (row.number("right"), row.number("calls"));
        let [low, high] = wilson_95(right as usize, calls as usize).unwrap();
        worst.absolute(low, row.number("low"), format!("{right} of {calls}, low"));
        worst.absolute(
            high,
            row.number("high"),
            format!("{right} of {calls}, high"),
        );
    }
    worst.within(1e-11, "Wilson");
}

/// Brier 1950 in the binary form, NumPy. A mean of eight squares: 1e-11.
#[test]
fn briers_score_is_the_mean_square() {
    let mut worst = Worst::default();
    for row in Table::read("brier").rows() {
        let came = row.numbers("came_true").into_iter().map(|c| c == 1.0);
        let stated = row.numbers("stated");
        let sum: f64 = stated
            .iter()
            .zip(came)
            .map(|(p, came)| squared_error(*p, came))
            .sum();
        let score = sum / stated.len() as f64;
        worst.absolute(score, row.number("score"), row.word("stated"));
    }
    worst.within(1e-11, "Brier");
}

/// McNemar 1947, exact, statsmodels (by way of SciPy's binomial distribution). A product of up to nine
/// hundred factors, each rounded to 1e-16, and the table's 12 digits: 1e-11 of the p-value.
#[test]
fn mcnemars_test_is_that_of_statsmodels() {
    let mut worst = Worst::default();
    for row in Table::read("mcnemar").rows() {
        let (first, second) = (row.number("only_first"), row.number("only_second"));
        let p = mcnemar_exact(first as usize, second as usize);
        worst.relative(
            p,
            row.number("p_value"),
            format!("{first} against {second}"),
        );
    }
    worst.within(1e-11, "McNemar");
}

/// Newcombe 1998, method 10, on statsmodels' Wilson intervals. Some dozens of operations, whose squares cancel
/// where both runs agree, and the table's 12 digits: 1e-11.
#[test]
fn newcombes_interval_is_made_of_wilsons() {
    let mut worst = Worst::default();
    for row in Table::read("paired_difference").rows() {
        let cells = ["both", "only_first", "only_second", "neither"];
        let [a, b, c, d] = cells.map(|cell| row.number(cell) as usize);
        let [low, high] = paired_difference_95(a, b, c, d).unwrap();
        worst.absolute(low, row.number("low"), format!("{a} {b} {c} {d}, low"));
        worst.absolute(high, row.number("high"), format!("{a} {b} {c} {d}, high"));
    }
    worst.within(1e-11, "Newcombe");
}

/// Good 1952, SciPy. A mean of eight logarithms: 1e-11.
#[test]
fn the_log_loss_is_that_of_scipy() {
    let mut worst = Worst::default();
    for row in Table::read("log_score").rows() {
        let (stated, came) = (row.numbers("stated"), row.numbers("came_true"));
        let all = stated
            .iter()
            .zip(&came)
            .map(|(p, c)| log_loss(*p, *c == 1.0));
        let score = all.sum::<f64>() / stated.len() as f64;
        worst.absolute(score, row.number("score"), row.word("stated"));
    }
    worst.within(1e-11, "log loss");
}

/// Naeini et al. 2015, SciPy's bins. Sums of forty numbers: 1e-11.
#[test]
fn the_calibration_error_is_that_of_scipys_bins() {
    let mut worst = Worst::default();
    for row in Table::read("calibration_error").rows() {
        let mut tally = Bins::new(10);
        for (said, came) in row.numbers("stated").iter().zip(row.numbers("came_true")) {
            tally.add(*said, came == 1.0);
        }
        let error = tally.calibration().expected_error().unwrap();
        worst.absolute(error, row.number("error"), row.word("stated"));
    }
    worst.within(1e-11, "calibration error");
}

/// Holm 1979, statsmodels. One product each: 1e-11.
#[test]
fn holms_adjustment_is_that_of_statsmodels() {
    let mut worst = Worst::default();
    for row in Table::read("holm").rows() {
        let adjusted = holm(&row.numbers("p_values"));
        for (own, due) in adjusted.iter().zip(row.numbers("adjusted")) {
            worst.absolute(*own, due, row.word("p_values"));
        }
    }
    worst.within(1e-11, "Holm");
}
