//! Promises of the figures of a class.

use crate::plot::tests::{assert_legible, assert_well_formed, words};
use crate::plot::{Confusion, Drawing, Offsets, Reliability, Reliable, Theme, png, svg};

const TITLE: &str = "A title that is longer than the figure is wide, and then some";

fn confusion(rows: Vec<Vec<usize>>, theme: Theme) -> Confusion {
    let title = TITLE.into();
    Confusion { title, rows, theme }
}

fn matrix(n: usize, theme: Theme) -> Confusion {
    let row = |i: usize| (0..n).map(|j| if i == j { 12 } else { j % 3 }).collect();
    confusion((0..n).map(row).collect(), theme)
}

fn offsets(counts: &[(i64, usize)], theme: Theme) -> Offsets {
    Offsets {
        title: TITLE.into(),
        counts: counts.iter().copied().collect(),
        theme,
    }
}

fn reliability(points: &[[f64; 2]], theme: Theme) -> Reliability {
    let point = |[said, right]: &[f64; 2]| Reliable {
        said: *said,
        right: *right,
        interval: [(right - 0.2).max(0.0), (right + 0.2).min(1.0)],
        n: 1234,
    };
    Reliability {
        title: TITLE.into(),
        points: points.iter().map(point).collect(),
        theme,
    }
}

#[test]
fn figures_are_legible_in_both_themes() {
    fn check(figure: &impl Drawing) {
        assert_legible(figure);
        assert_well_formed(&svg(figure).unwrap());
    }
    for theme in [Theme::Light, Theme::Dark] {
        for n in 1..=24 {
            check(&matrix(n, theme));
        }
        let wide: Vec<(i64, usize)> = (-11..=12).map(|k| (k, 99)).collect();
        for counts in [&[][..], &[(0, 7), (1, 40_000)], &wide] {
            check(&offsets(counts, theme));
        }
        let points = [[0.1, 0.0], [0.3, 0.6], [0.5, 1.0], [0.7, 0.3], [1.0, 0.7]];
        check(&reliability(&[], theme));
        check(&reliability(&points, theme));
    }
    assert!(
        png(&matrix(6, Theme::Dark))
            .unwrap()
            .starts_with(b"\x89PNG")
    );
}

/// Each count stands in its cell, and the leaking cylinder's cell is framed.
#[test]
fn a_confusion_says_its_numbers() {
    let words = words(&confusion(vec![vec![31, 2], vec![4, 57]], Theme::Light));
    let at = |text: &str| words.iter().find(|w| w.text == text).unwrap().at;
    assert!(at("31")[1] == at("2")[1] && at("31")[0] < at("2")[0]);
    assert!(at("31")[0] == at("4")[0] && at("31")[1] < at("4")[1]);
    assert!(at("57")[0] == at("2")[0] && at("57")[1] == at("4")[1]);
}

#[test]
fn figures_that_cannot_be_drawn_are_refused() {
    fn refused(figure: &impl Drawing, part: &str) {
        let faults = svg(figure).unwrap_err().to_string();
        assert!(faults.contains(part), "{faults}");
    }
    let light = Theme::Light;
    refused(&confusion(vec![vec![1, 2], vec![3]], light), "not square");
    refused(&confusion(vec![], light), "not square");
    refused(&matrix(25, light), "1 to 24");
    refused(&offsets(&[(99, 1)], light), "99 is too far");
    refused(&offsets(&[(-13, 1)], light), "-13 is too far");
    refused(&reliability(&[[f64::NAN, 0.5]], light), "not from 0 to 1");
    refused(&reliability(&[[1.1, 0.5]], light), "not from 0 to 1");
}
