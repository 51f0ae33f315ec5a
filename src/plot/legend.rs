//! The key below the time axis, which explains the marks that occur, and all words of the margins.

use super::layout::{Layout, Sizes, middle};
use super::palette::{CROSS, ON_HIGHLIGHT};
use super::scene::{Anchor, Scene, Words};
use super::text;
use super::{Emphasis, Mark, Picture};

/// The key: its entries, flowing from left to right in as many rows as they need.
pub(super) struct Key {
    /// Height of all rows, pixels; 0 without entries.
    pub height: f64,
    top: f64,
    row_height: f64,
    entries: Vec<Entry>,
}

struct Entry {
    sign: Sign,
    x: f64,
    row: usize,
    text: String,
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum Sign {
    Sync,
    SyncCylinder,
    Leaking,
    Called,
    Gas,
    Lag,
}

impl Sign {
    const ALL: [Sign; 6] = [
        Sign::Sync,
        Sign::SyncCylinder,
        Sign::Leaking,
        Sign::Called,
        Sign::Gas,
        Sign::Lag,
    ];

    fn explains(self, mark: &Mark) -> bool {
        match (self, mark) {
            (Sign::Sync, Mark::Sync { .. }) => true,
            (Sign::SyncCylinder, Mark::Tdc { emphasis, .. }) => *emphasis == Emphasis::Sync,
            (Sign::Leaking, Mark::Tdc { emphasis, .. }) => *emphasis == Emphasis::Leaking,
            (Sign::Called, Mark::Tdc { emphasis, .. }) => *emphasis == Emphasis::Called,
            (Sign::Gas, Mark::LeakEvent { .. }) => true,
            (Sign::Lag, Mark::LeakEvent { steepest_s, .. }) => steepest_s.is_some(),
            _ => false,
        }
    }

    fn meaning(self) -> &'static str {
        match self {
            Sign::Sync => "sync",
            Sign::SyncCylinder => "cylinder of the sync: count from here",
            Sign::Leaking => "leaking cylinder",
            Sign::Called => "called, but does not leak",
            Sign::Gas => "gas passes the leak",
            Sign::Lag => "lag from TDC to the steepest rise at the neck",
        }
    }
}

/// Width of a sign and its distance from the words, at scale 1.
const SIGN: [f64; 2] = [26.0, 8.0];

impl Key {
    /// The entries that `picture` needs, between the edges `outer`.
    pub fn new(picture: &Picture, sizes: &Sizes, scale: f64, outer: [f64; 2]) -> Key {
        let px = |at_scale_1: f64| (at_scale_1 * scale).round();
        let indent = px(SIGN[0] + SIGN[1]);
        let (mut x, mut row) = (outer[0], 0);
        let mut entries = Vec::new();
        for sign in Sign::ALL {
            let needed = |m: &Mark| sign.explains(m) && m.in_span(picture.span_s);
            if !picture.marks.iter().any(needed) {
                continue;
            }
            let text = text::elide(
                sign.meaning(),
                sizes.note,
                false,
                outer[1] - outer[0] - indent,
            );
            let width = indent + text::width(&text, sizes.note, false);
            if x > outer[0] && x + width > outer[1] {
                (x, row) = (outer[0], row + 1);
            }
            entries.push(Entry { sign, x, row, text });
            x += width + px(30.0);
        }
        let row_height = f64::from(sizes.note) + px(8.0);
        let rows = if entries.is_empty() { 0 } else { row + 1 };
        Key {
            height: row_height * rows as f64,
            top: 0.0,
            row_height,
            entries,
        }
    }

    /// Sets the top of the first row.
    pub fn place(&mut self, top: f64) {
        self.top = top;
    }
}

/// Draws title, subtitle, key and footnote.
pub(super) fn words(scene: &mut Scene, layout: &Layout) {
    for words in &layout.words {
        scene.words(Words {
            text: words.text.clone(),
            ..*words
        });
    }
    for entry in &layout.key.entries {
        let top = layout.key.top + layout.key.row_height * entry.row as f64;
        let row = [
            top + layout.px(2.0),
            top + layout.key.row_height - layout.px(2.0),
        ];
        sign(scene, layout, entry, row);
        scene.words(Words {
            text: entry.text.clone(),
            size: layout.sizes.note,
            bold: false,
            colour: layout.colours.soft_ink,
            at: [
                entry.x + layout.px(SIGN[0] + SIGN[1]),
                middle(row, layout.sizes.note),
            ],
            anchor: Anchor::Start,
        });
    }
}

fn sign(scene: &mut Scene, layout: &Layout, entry: &Entry, row: [f64; 2]) {
    let colours = &layout.colours;
    let x = [entry.x, entry.x + layout.px(SIGN[0])];
    let (centre, y) = ((x[0] + x[1]) / 2.0, ((row[0] + row[1]) / 2.0).round());
    match entry.sign {
        Sign::Sync => {
            let side = layout.px(5.0);
            scene.dashed(centre, row, layout.px(2.0), layout.px(5.0), colours.ink);
            scene.triangle(
                [
                    [centre, row[0]],
                    [centre + side * 1.4, row[0] + side],
                    [centre, row[0] + 2.0 * side],
                ],
                colours.ink,
            );
        }
        Sign::SyncCylinder => boxed(scene, layout, Emphasis::Sync, x, row),
        Sign::Leaking => boxed(scene, layout, Emphasis::Leaking, x, row),
        Sign::Called => boxed(scene, layout, Emphasis::Called, x, row),
        Sign::Gas => scene.area([x[0], row[0]], [x[1], row[1]], colours.gas),
        Sign::Lag => {
            let (head, half) = (layout.px(9.0), layout.px(5.0));
            scene.level(y, x, layout.px(2.0), colours.ink);
            scene.upright(x[0] + layout.px(1.0), row, layout.px(2.0), colours.ink);
            scene.triangle(
                [[x[1], y], [x[1] - head, y - half], [x[1] - head, y + half]],
                colours.ink,
            );
        }
    }
}

fn boxed(scene: &mut Scene, layout: &Layout, emphasis: Emphasis, x: [f64; 2], row: [f64; 2]) {
    super::marks::ground(scene, layout, emphasis, x, row);
    let c = &layout.colours;
    let (text, colour) = match emphasis {
        Emphasis::Leaking => ("n", ON_HIGHLIGHT),
        Emphasis::Called => (CROSS, c.ink),
        _ => ("n", c.page),
    };
    scene.words(Words {
        text: text.into(),
        size: layout.sizes.note,
        bold: true,
        colour,
        at: [(x[0] + x[1]) / 2.0, middle(row, layout.sizes.note)],
        anchor: Anchor::Middle,
    });
}
