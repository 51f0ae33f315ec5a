//! The key below the time axis, which explains the marks that are seen.

use super::marks::{Emphasis, Marks, arrow};
use super::palette::CROSS;
use super::picture::NOTE;
use super::scene::{Scene, middle};
use plotters::style::text_anchor::HPos;

/// Width of a sign, and from its start to the words.
const SIGN: f64 = 35.0;
const INDENT: f64 = 46.0;

#[derive(Clone, Copy)]
enum Sign {
    Number(Emphasis, &'static str),
    Gas,
    Lag,
}

impl Sign {
    const ALL: [(Sign, &'static str); 5] = [
        (
            Sign::Number(Emphasis::Sync, "n"),
            "cylinder of the sync: count from here",
        ),
        (Sign::Number(Emphasis::Leaking, "n"), "leaking cylinder"),
        (
            Sign::Number(Emphasis::Called, CROSS),
            "called, but does not leak",
        ),
        (Sign::Gas, "gas passes the leak"),
        (Sign::Lag, "lag from TDC to the steepest rise at the neck"),
    ];

    fn is_seen(self, marks: &Marks) -> bool {
        match self {
            Sign::Number(emphasis, _) => marks.tdcs.iter().any(|t| t.emphasis == emphasis),
            Sign::Gas => !marks.events.is_empty(),
            Sign::Lag => marks.events.iter().any(|e| e.steepest_s.is_some()),
        }
    }

    fn draw(self, scene: &mut Scene, x: [f64; 2], y: [f64; 2]) {
        match self {
            Sign::Number(emphasis, text) => emphasis.boxed(scene, text, NOTE, x, y),
            Sign::Gas => scene.area(x, y, scene.colours.gas),
            Sign::Lag => {
                let ends = [x[0] + 1.0, x[1]];
                arrow(scene, ends, y, middle(y).round(), x);
            }
        }
    }
}

/// Draws the entries that the marks need, flowing from left to right between two edges in as many rows
/// as they need; moves `y` from the top of the first to the bottom of the last.
pub(super) fn key(scene: &mut Scene, marks: &Marks, [left, right]: [f64; 2], y: &mut f64) {
    let style = scene.plain(NOTE);
    let height = style.line() + 11.0;
    let mut x = left;
    for (sign, meaning) in Sign::ALL.iter().filter(|(sign, _)| sign.is_seen(marks)) {
        let width = INDENT + style.width(meaning);
        if x > left && x + width > right {
            x = left;
            *y += height;
        }
        let row = [*y + 3.0, *y + height - 3.0];
        sign.draw(scene, [x, x + SIGN], row);
        let at = [x + INDENT, style.base(middle(row))];
        scene.write(*meaning, style, at, HPos::Left);
        x += width + 40.0;
    }
    if x > left {
        *y += height;
    }
}
