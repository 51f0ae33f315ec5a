//! Promises of the figures of a class.

use super::Figure;
use crate::plot::tests::{assert_scene_legible, assert_well_formed, words_of};
use crate::plot::{Confusion, Offsets, Reliability, Reliable, Theme, figure_png, figure_svg};

fn figures() -> Vec<Figure> {
    let title = || "A title that is longer than the figure is wide, and then some".to_string();
    let matrix = |n: usize| {
        let row = |i: usize| (0..n).map(|j| if i == j { 12 } else { j % 3 }).collect();
        Figure::Confusion(Confusion {
            title: title(),
            rows: (0..n).map(row).collect(),
        })
    };
    let bars = |counts: &[(i64, usize)]| {
        Figure::Offsets(Offsets {
            title: title(),
            counts: counts.to_vec(),
        })
    };
    let points = |at: &[[f64; 2]]| {
        let point = |[said, right]: &[f64; 2]| Reliable {
            said: *said,
            right: *right,
            interval: [(right - 0.2).max(0.0), (right + 0.2).min(1.0)],
            n: 1234,
        };
        Figure::Reliability(Reliability {
            title: title(),
            points: at.iter().map(point).collect(),
        })
    };
    let mut all: Vec<Figure> = (1..=24).map(matrix).collect();
    all.push(bars(&[]));
    all.push(bars(&[(0, 7), (1, 40_000)]));
    all.push(bars(&(-11..=12).map(|k| (k, 99)).collect::<Vec<_>>()));
    all.push(points(&[]));
    all.push(points(&[
        [0.1, 0.0],
        [0.3, 0.6],
        [0.5, 1.0],
        [0.7, 0.3],
        [1.0, 0.7],
    ]));
    all
}

#[test]
fn figures_are_legible_in_both_themes() {
    for figure in figures() {
        for theme in [Theme::Light, Theme::Dark] {
            let scene = figure.compose(theme).unwrap_or_else(|f| panic!("{f}"));
            assert_scene_legible(scene);
            assert_well_formed(&figure_svg(&figure, theme).unwrap());
        }
    }
    assert!(
        figure_png(&figures()[5], Theme::Dark)
            .unwrap()
            .starts_with(b"\x89PNG")
    );
}

/// Each count stands in its cell, and the leaking cylinder's cell is framed.
#[test]
fn a_confusion_says_its_numbers() {
    let rows = vec![vec![31, 2], vec![4, 57]];
    let title = String::new();
    let scene = Figure::Confusion(Confusion { title, rows });
    let words = words_of(scene.compose(Theme::Light).unwrap());
    let at = |text: &str| words.iter().find(|w| w.text == text).unwrap().at;
    assert!(at("31")[1] == at("2")[1] && at("31")[0] < at("2")[0]);
    assert!(at("31")[0] == at("4")[0] && at("31")[1] < at("4")[1]);
    assert!(at("57")[0] == at("2")[0] && at("57")[1] == at("4")[1]);
}

#[test]
fn figures_that_cannot_be_drawn_are_refused() {
    let title = String::new;
    let ragged = vec![vec![1, 2], vec![3]];
    let nan = Reliable {
        said: f64::NAN,
        right: 0.5,
        interval: [0.0, 1.0],
        n: 1,
    };
    for (figure, part) in [
        (
            Figure::Confusion(Confusion {
                title: title(),
                rows: ragged,
            }),
            "not square",
        ),
        (
            Figure::Confusion(Confusion {
                title: title(),
                rows: vec![],
            }),
            "not square",
        ),
        (
            Figure::Offsets(Offsets {
                title: title(),
                counts: vec![(99, 1)],
            }),
            "99 is too far",
        ),
        (
            Figure::Reliability(Reliability {
                title: title(),
                points: vec![nan],
            }),
            "not from 0 to 1",
        ),
    ] {
        let faults = figure_svg(&figure, Theme::Light).unwrap_err().to_string();
        assert!(faults.contains(part), "{faults}");
    }
}
