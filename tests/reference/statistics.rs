//! The grader's statistics.

use crate::table::{Table, Worst};
use waterjacket::grade::statistics::{brier, cohens_kappa, mcnemar_exact, wilson_95};

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
        let stated: Vec<_> = row.numbers("stated").into_iter().zip(came).collect();
        worst.absolute(
            brier(&stated).unwrap(),
            row.number("score"),
            row.word("stated"),
        );
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

/// Cohen 1960, statsmodels. A ratio of whole numbers: 1e-11.
#[test]
fn cohens_kappa_is_that_of_statsmodels() {
    let mut worst = Worst::default();
    for row in Table::read("kappa").rows() {
        let labels = row.number("labels") as usize;
        let counts = row.numbers("counts_row_by_row");
        let pairs: Vec<_> = counts
            .iter()
            .enumerate()
            .flat_map(|(i, count)| std::iter::repeat_n((i / labels, i % labels), *count as usize))
            .collect();
        let kappa = cohens_kappa(&pairs).unwrap();
        worst.absolute(kappa, row.number("kappa"), row.word("counts_row_by_row"));
    }
    worst.within(1e-11, "kappa");
}
