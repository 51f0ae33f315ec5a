//! The panels: ground, grid, axes, and the traces themselves.

use super::layout::{Layout, Panel, ascent, middle};
use super::marks;
use super::palette::{Colour, trace_colour, trace_width};
use super::reduce::reduce;
use super::scene::{Anchor, Scene, Words};
use super::text;
use super::{Picture, Trace};

/// What lies behind the marks: panel grounds, shaded gas, grids, and the axes with their labels.
pub(super) fn ground(scene: &mut Scene, picture: &Picture, layout: &Layout) {
    let [left, right] = layout.x;
    let c = &layout.colours;
    for panel in &layout.panels {
        scene.area([left, panel.y[0]], [right, panel.y[1]], c.panel);
        if panel.shows_gas {
            marks::gas(scene, picture, layout, panel.run);
        }
        for (value, label) in &panel.ticks.marks {
            let y = panel.y_of(*value);
            scene.level(y, [left, right], layout.px(1.0), c.grid);
            scene.level(y, [left - layout.px(5.0), left], layout.px(1.0), c.frame);
            scene.words(Words {
                text: label.clone(),
                size: layout.sizes.tick,
                bold: false,
                colour: c.soft_ink,
                at: [left - layout.px(9.0), middle([y, y], layout.sizes.tick)],
                anchor: Anchor::End,
            });
        }
    }
    time_axis(scene, layout);
}

fn time_axis(scene: &mut Scene, layout: &Layout) {
    let c = &layout.colours;
    let axis = &layout.time;
    let Some(bottom) = layout.panels.last().map(|p| p.y[1]) else {
        return;
    };
    let page = f64::from(scene.size[0]);
    for (time, label) in &axis.ticks.marks {
        let x = layout.x_of(time / axis.per_s);
        for panel in &layout.panels {
            scene.upright(x, panel.y, layout.px(1.0), c.grid);
        }
        scene.upright(
            x,
            [bottom, bottom + layout.px(6.0)],
            layout.px(1.0),
            c.frame,
        );
        // A long label at an edge moves inwards rather than be cut off.
        let half = text::width(label, layout.sizes.tick, false) / 2.0 + layout.px(2.0);
        scene.words(Words {
            text: label.clone(),
            size: layout.sizes.tick,
            bold: false,
            colour: c.soft_ink,
            at: [x.clamp(half, (page - half).max(half)), axis.y[0]],
            anchor: Anchor::Middle,
        });
    }
    scene.words(Words {
        text: axis.title.clone(),
        size: layout.sizes.name,
        bold: true,
        colour: c.ink,
        at: [(layout.x[0] + layout.x[1]) / 2.0, axis.y[1]],
        anchor: Anchor::Middle,
    });
}

/// Frames, names and traces, over the lines of the marks.
pub(super) fn traces(scene: &mut Scene, picture: &Picture, layout: &Layout) {
    let c = &layout.colours;
    let [left, right] = layout.x;
    for (trace, panel) in picture.traces.iter().zip(&layout.panels) {
        let line = layout.px(1.0);
        for y in panel.y {
            scene.level(y, [left, right], line, c.frame);
        }
        for x in layout.x {
            scene.upright(x, panel.y, line, c.frame);
        }
        let colour = trace_colour(trace.measures);
        name(scene, layout, panel, trace, colour);

        let points: Vec<[f64; 2]> = reduce(trace, picture.span_s, layout.columns())
            .into_iter()
            .map(|(t, v)| [layout.x_of(t), panel.y_of(v)])
            .collect();
        match points.as_slice() {
            [] => {
                let words = Words {
                    text: "no samples in this span".into(),
                    size: layout.sizes.note,
                    bold: false,
                    colour: c.soft_ink,
                    at: [(left + right) / 2.0, middle(panel.run, layout.sizes.note)],
                    anchor: Anchor::Middle,
                };
                let [from, to] = words.extent();
                let half = f64::from(words.size) / 2.0 + layout.px(2.0);
                let y = (panel.run[0] + panel.run[1]) / 2.0;
                let margin = layout.px(8.0);
                scene.area([from - margin, y - half], [to + margin, y + half], c.panel);
                scene.words(words);
            }
            [[x, y]] => {
                let half = layout.px(3.0);
                scene.area([x - half, y - half], [x + half, y + half], colour);
            }
            _ => scene.path(points, trace_width(trace.measures) * layout.scale, colour),
        }
    }
}

/// The trace's name and unit above its panel, behind a dash of its colour.
fn name(scene: &mut Scene, layout: &Layout, panel: &Panel, trace: &Trace, colour: Colour) {
    let size = layout.sizes.name;
    let [left, right] = layout.x;
    let start = left + layout.px(30.0);
    let full = if trace.unit.is_empty() {
        trace.name.clone()
    } else {
        format!("{} ({})", trace.name, trace.unit)
    };
    let words = Words {
        text: text::elide(&full, size, true, right - start - layout.px(8.0)),
        size,
        bold: true,
        colour: layout.colours.ink,
        at: [start, panel.name_y],
        anchor: Anchor::Start,
    };
    // The lines of the marks run from panel to panel; they stop at the words.
    let end = words.extent()[1];
    let top = panel.name_y - ascent(size);
    scene.area(
        [left - layout.px(2.0), top],
        [end + layout.px(6.0), panel.y[0] - layout.px(1.0)],
        layout.colours.page,
    );
    let y = panel.name_y - (0.36 * f64::from(size) / text::LINE_PER_EM).round();
    scene.level(y, [left, left + layout.px(22.0)], layout.px(4.0), colour);
    scene.words(words);
}
