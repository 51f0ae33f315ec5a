//! The marks of a debrief: lines and numbers at TDCs, flags at syncs, gas and lags of leaks.
//!
//! Words never overlap. Where there is no room for all, those that stand out come first, the others
//! are left out, and the strip's title says so.

use super::layout::{Layout, leaking_cylinders, middle};
use super::palette::{CROSS, HIGHLIGHT, ON_HIGHLIGHT};
use super::scene::{Anchor, Scene, Words};
use super::text;
use super::{Emphasis, Mark, Picture};

/// What is taken of one row, pixel by pixel.
struct Row(Vec<bool>);

impl Row {
    fn new(width: u32) -> Row {
        Row(vec![false; width as usize])
    }

    /// Whether an extent lies within the picture and on nothing taken; if so, it is taken now.
    fn take(&mut self, [from, to]: [f64; 2]) -> bool {
        if from < 0.0 || to > self.0.len() as f64 || from > to {
            return false;
        }
        let range = from.floor() as usize..(to.ceil() as usize).min(self.0.len());
        if self.0[range.clone()].contains(&true) {
            return false;
        }
        self.0[range].fill(true);
        true
    }
}

/// Shades the times at which gas passes a leak.
pub(super) fn gas(scene: &mut Scene, picture: &Picture, layout: &Layout, y: [f64; 2]) {
    let mut spans: Vec<[f64; 2]> = picture
        .marks
        .iter()
        .filter_map(|mark| match mark {
            Mark::LeakEvent {
                gas_start_s,
                gas_end_s,
                ..
            } => Some([gas_start_s.min(*gas_end_s), gas_start_s.max(*gas_end_s)]),
            _ => None,
        })
        .filter(|[from, to]| *from <= layout.span_s[1] && *to >= layout.span_s[0])
        .map(|span| span.map(|t| layout.x_of(t).clamp(layout.x[0], layout.x[1])))
        .map(|[from, to]| [from, to.max(from + 1.0).min(layout.x[1])])
        .collect();
    spans.sort_by(|a, b| a[0].total_cmp(&b[0]));
    for [from, to] in spans {
        scene.area([from, y[0]], [to, y[1]], layout.colours.gas);
    }
}

/// Draws the lines of syncs and TDCs through all panels, and their flags and numbers above; whether
/// there was room for every word.
pub(super) fn lines_and_strip(scene: &mut Scene, picture: &Picture, layout: &Layout) -> bool {
    let Some(bottom) = layout.panels.last().map(|p| p.y[1]) else {
        return true;
    };
    let tdcs = tdcs(scene, picture, layout, bottom);
    let flags = flags(scene, picture, layout, bottom);
    // Numbers come after all lines, so that no line runs through one.
    for chip in &tdcs.chips {
        chip.draw(scene, layout);
    }
    tdcs.all_numbered && flags
}

/// Width of the lines that stand out: fine where they are close, so that they do not hide the traces.
fn heavy(picture: &Picture, layout: &Layout) -> f64 {
    let stands_out = |mark: &&Mark| match mark {
        Mark::Tdc { emphasis, .. } => *emphasis != Emphasis::Plain,
        Mark::Sync { .. } => true,
        Mark::LeakEvent { .. } => false,
    };
    let in_span = picture.marks.iter().filter(|m| m.in_span(layout.span_s));
    let lines = in_span.filter(stands_out).count();
    let apart = (layout.x[1] - layout.x[0]) / lines.max(1) as f64;
    layout.px(if apart < layout.px(40.0) { 1.0 } else { 2.0 })
}

/// A TDC's number in the strip.
struct Chip {
    x: f64,
    emphasis: Emphasis,
    words: Words,
    half_width: f64,
}

struct Tdcs {
    chips: Vec<Chip>,
    all_numbered: bool,
}

fn tdcs(scene: &mut Scene, picture: &Picture, layout: &Layout, bottom: f64) -> Tdcs {
    let mut chips = Vec::new();
    let mut all_numbered = true;
    let Some(strip) = &layout.strip else {
        return Tdcs {
            chips,
            all_numbered,
        };
    };
    let [top, base] = strip.chips;
    let mut row = Row::new(picture.size[0]);
    let mut ticks = Row::new(picture.size[0]);
    for emphasis in [
        Emphasis::Leaking,
        Emphasis::Called,
        Emphasis::Sync,
        Emphasis::Plain,
    ] {
        let mut these: Vec<(f64, u32)> = picture
            .marks
            .iter()
            .filter(|mark| mark.in_span(layout.span_s))
            .filter_map(|mark| match mark {
                Mark::Tdc {
                    time_s,
                    cylinder,
                    emphasis: e,
                } if *e == emphasis => Some((layout.x_of(*time_s), *cylinder)),
                _ => None,
            })
            .collect();
        these.sort_by(|a, b| a.0.total_cmp(&b.0));
        for (x, cylinder) in these {
            let chip = Chip::new(layout, strip.chips, x, cylinder, emphasis);
            let room = chip.half_width + layout.px(2.0);
            if row.take([x - room, x + room]) {
                chips.push(chip);
                continue;
            }
            all_numbered = false;
            // A TDC without a number keeps a short tick, as long as ticks can be told apart.
            if ticks.take([x - layout.px(2.0), x + layout.px(2.0)]) {
                let y = [base, base + layout.px(6.0)];
                scene.upright(x, y, layout.px(1.0), layout.colours.tdc);
            }
        }
    }
    let c = &layout.colours;
    let heavy = heavy(picture, layout);
    // Only what is told of leads through the traces; the others are ticks of the strip, and lie behind.
    for chip in chips.iter().rev() {
        let y = [top, bottom];
        let tick = [top, base + layout.px(6.0)];
        match chip.emphasis {
            Emphasis::Plain => scene.upright(chip.x, tick, layout.px(1.0), c.tdc),
            Emphasis::Sync => scene.upright(chip.x, tick, layout.px(1.0), c.soft_ink),
            Emphasis::Called => scene.dashed(chip.x, y, heavy, layout.px(6.0), c.ink),
            Emphasis::Leaking => scene.upright(chip.x, y, heavy, c.ink),
        }
    }
    Tdcs {
        chips,
        all_numbered,
    }
}

impl Chip {
    fn new(layout: &Layout, row: [f64; 2], x: f64, cylinder: u32, emphasis: Emphasis) -> Chip {
        let size = layout.sizes.chip;
        let words = Words {
            text: match emphasis {
                Emphasis::Called => format!("{cylinder} {CROSS}"),
                _ => cylinder.to_string(),
            },
            size,
            bold: emphasis != Emphasis::Plain,
            colour: match emphasis {
                Emphasis::Plain => layout.colours.soft_ink,
                Emphasis::Called => layout.colours.ink,
                Emphasis::Sync => layout.colours.page,
                Emphasis::Leaking => ON_HIGHLIGHT,
            },
            at: [x, middle(row, size)],
            anchor: Anchor::Middle,
        };
        let width = text::width(&words.text, size, true) + layout.px(10.0);
        Chip {
            x,
            emphasis,
            words,
            half_width: (width.max(row[1] - row[0]) / 2.0).round(),
        }
    }

    fn draw(&self, scene: &mut Scene, layout: &Layout) {
        let Some(strip) = &layout.strip else { return };
        ground(
            scene,
            layout,
            self.emphasis,
            [self.x - self.half_width, self.x + self.half_width],
            strip.chips,
        );
        scene.words(Words {
            text: self.words.text.clone(),
            ..self.words
        });
    }
}

/// The box of a cylinder number, whose form tells what it is.
pub(super) fn ground(
    scene: &mut Scene,
    layout: &Layout,
    emphasis: Emphasis,
    x: [f64; 2],
    y: [f64; 2],
) {
    let c = &layout.colours;
    let (x, y) = (x.map(f64::round), y.map(f64::round));
    match emphasis {
        Emphasis::Plain => scene.area([x[0], y[0]], [x[1], y[1]], c.page),
        Emphasis::Sync => scene.area([x[0], y[0]], [x[1], y[1]], c.ink),
        Emphasis::Leaking | Emphasis::Called => {
            let frame = layout.px(2.0).max(1.0);
            let ground = match emphasis {
                Emphasis::Leaking => HIGHLIGHT,
                _ => c.page,
            };
            scene.area([x[0], y[0]], [x[1], y[1]], c.ink);
            scene.area(
                [x[0] + frame, y[0] + frame],
                [x[1] - frame, y[1] - frame],
                ground,
            );
        }
    }
}

/// Draws a dashed line and a flag at each sync; whether every flag has its words.
fn flags(scene: &mut Scene, picture: &Picture, layout: &Layout, bottom: f64) -> bool {
    let Some(strip) = &layout.strip else {
        return true;
    };
    let size = layout.sizes.note;
    let mut syncs: Vec<(f64, &String)> = picture
        .marks
        .iter()
        .filter(|mark| mark.in_span(layout.span_s))
        .filter_map(|mark| match mark {
            Mark::Sync { time_s, label } => Some((layout.x_of(*time_s), label)),
            _ => None,
        })
        .collect();
    syncs.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut lines = Row::new(picture.size[0]);
    let before = syncs.len();
    // Lines that would merge into a grey area are left out with their flags.
    syncs.retain(|(x, _)| lines.take([x - layout.px(3.0), x + layout.px(3.0)]));
    let mut all = syncs.len() == before;

    let ink = layout.colours.ink;
    let [top, base] = strip.flags;
    let heavy = heavy(picture, layout);
    let side = layout.px(6.0);
    let reach = layout.px(9.0);
    let mut row = Row::new(picture.size[0]);
    for (x, _) in &syncs {
        scene.upright(*x, strip.flags, layout.px(2.0), ink);
        scene.dashed(*x, [base, bottom], heavy, layout.px(9.0), ink);
        let corners = [[*x, top], [x + reach, top + side], [*x, top + 2.0 * side]];
        scene.triangle(corners, ink);
        row.take([x - layout.px(2.0), x + reach]);
    }
    let gap = layout.px(4.0);
    for (x, label) in syncs {
        let words = |anchor, at| Words {
            text: text::clean(label),
            size,
            bold: false,
            colour: ink,
            at: [at, middle(strip.flags, size) - layout.px(1.0)],
            anchor,
        };
        let right = words(Anchor::Start, x + reach + gap);
        let left = words(Anchor::End, x - layout.px(2.0) - gap);
        let [from, to] = right.extent();
        let [left_from, left_to] = left.extent();
        if to <= layout.x[1] && row.take([from - 1.0, to + gap]) {
            scene.words(right);
        } else if row.take([left_from - gap, left_to + 1.0]) {
            scene.words(left);
        } else {
            all &= label.is_empty();
        }
    }
    all
}

/// Draws the arrow of each leak event from TDC to steepest rise, with its lag; whether every arrow
/// has its words.
pub(super) fn lags(scene: &mut Scene, picture: &Picture, layout: &Layout) -> bool {
    let Some(panel) = layout.panels.iter().find(|p| p.lanes > 0) else {
        return true;
    };
    let cylinders = leaking_cylinders(picture);
    let lane_height = (panel.run[0] - panel.y[0]) / panel.lanes as f64;
    let lane = |cylinder: u32| {
        let rank = cylinders.iter().position(|c| *c == cylinder).unwrap_or(0);
        rank % panel.lanes
    };
    let row_of = |lane: usize| {
        let top = panel.y[0] + lane_height * lane as f64;
        [top + layout.px(3.0), top + lane_height]
    };

    let mut lags: Vec<Lag> = picture
        .marks
        .iter()
        .filter(|mark| mark.in_span(layout.span_s))
        .filter_map(|mark| match mark {
            Mark::LeakEvent {
                tdc_s,
                steepest_s,
                cylinder,
                label,
                ..
            } if steepest_s.is_some() || !label.is_empty() => Some(Lag {
                tdc: layout.x_of(*tdc_s),
                steepest: steepest_s.map(|t| layout.x_of(t)),
                lane: lane(*cylinder),
                cylinder: *cylinder,
                names_cylinder: cylinders.len() > 1,
                label,
            }),
            _ => None,
        })
        .collect();
    // Of an event at an edge, gas may be seen though its TDC and its rise are not.
    lags.retain(|lag| lag.is_seen(layout));
    lags.sort_by(|a, b| a.tdc.total_cmp(&b.tdc));

    let mut rows: Vec<Row> = (0..panel.lanes)
        .map(|_| Row::new(picture.size[0]))
        .collect();
    for lag in &lags {
        lag.draw(scene, layout, row_of(lag.lane), panel.run[1]);
        rows[lag.lane].take(
            lag.extent(layout)
                .map(|x| x.clamp(0.0, f64::from(picture.size[0]))),
        );
    }
    let mut all = true;
    for lag in &lags {
        all &= lag.write(scene, layout, row_of(lag.lane), &mut rows[lag.lane]);
    }
    all
}

struct Lag<'a> {
    tdc: f64,
    steepest: Option<f64>,
    lane: usize,
    cylinder: u32,
    /// Whether several cylinders leak, so that the words should say which.
    names_cylinder: bool,
    label: &'a str,
}

impl Lag<'_> {
    /// Whether any part of the arrow lies within the panel.
    fn is_seen(&self, layout: &Layout) -> bool {
        let steepest = self.steepest.unwrap_or(self.tdc);
        self.tdc.max(steepest) >= layout.x[0] && self.tdc.min(steepest) <= layout.x[1]
    }

    /// From the leftmost to the rightmost part of the arrow within the panel.
    fn extent(&self, layout: &Layout) -> [f64; 2] {
        let steepest = self.steepest.unwrap_or(self.tdc);
        [self.tdc.min(steepest), self.tdc.max(steepest)].map(|x| x.clamp(layout.x[0], layout.x[1]))
    }

    fn draw(&self, scene: &mut Scene, layout: &Layout, row: [f64; 2], bottom: f64) {
        let Some(steepest) = self.steepest else {
            return;
        };
        let ink = layout.colours.ink;
        let inside = |x: f64| x >= layout.x[0] && x <= layout.x[1];
        let y = ((row[0] + row[1]) / 2.0).round();
        scene.level(y, self.extent(layout), layout.px(2.0), ink);
        if inside(self.tdc) {
            scene.upright(
                self.tdc,
                [row[0], row[1] - layout.px(3.0)],
                layout.px(2.0),
                ink,
            );
        }
        if inside(steepest) {
            let length = (steepest - self.tdc).clamp(-layout.px(9.0), layout.px(9.0));
            let half = layout.px(5.0);
            scene.triangle(
                [
                    [steepest, y],
                    [steepest - length, y - half],
                    [steepest - length, y + half],
                ],
                ink,
            );
            scene.dashed(steepest, [y, bottom], layout.px(1.0), layout.px(3.0), ink);
        }
    }

    /// Writes the lag beside its arrow, with the cylinder if several leak and there is room; whether there
    /// was room for the lag.
    fn write(&self, scene: &mut Scene, layout: &Layout, row: [f64; 2], taken: &mut Row) -> bool {
        let [from, to] = self.extent(layout);
        let label = text::clean(self.label);
        if label.is_empty() {
            return true;
        }
        let gap = layout.px(7.0);
        let mut texts = vec![label];
        if self.names_cylinder {
            texts.insert(0, format!("cyl. {}: {}", self.cylinder, texts[0]));
        }
        for text in texts {
            for (anchor, at) in [(Anchor::Start, to + gap), (Anchor::End, from - gap)] {
                let words = Words {
                    text: text.clone(),
                    size: layout.sizes.note,
                    bold: false,
                    colour: layout.colours.ink,
                    at: [at, middle(row, layout.sizes.note)],
                    anchor,
                };
                let [start, end] = words.extent();
                let fits = start > layout.x[0] + gap / 2.0 && end < layout.x[1] - gap / 2.0;
                let margin = gap / 2.0;
                if fits && taken.take([start - margin, end + margin]) {
                    // Lines pass behind the lane; the words get a quiet ground.
                    scene.area(
                        [start - margin, row[0]],
                        [end + margin, row[1] - layout.px(2.0)],
                        layout.colours.panel,
                    );
                    scene.words(words);
                    return true;
                }
            }
        }
        false
    }
}

/// The strip's title, and whether something was left out.
pub(super) fn strip_title(scene: &mut Scene, layout: &Layout, all_labelled: bool) {
    let Some(strip) = &layout.strip else { return };
    let size = layout.sizes.note;
    let numbers = strip.chips[1] > strip.chips[0];
    let title = if numbers {
        "Cylinder at compression TDC"
    } else {
        "Marks"
    };
    let words = |text: String, bold, anchor, at| Words {
        text,
        size,
        bold,
        colour: layout.colours.soft_ink,
        at: [at, strip.title_y],
        anchor,
    };
    let left = words(title.into(), true, Anchor::Start, layout.x[0]);
    let room = layout.x[1] - left.extent()[1] - layout.px(30.0);
    scene.words(left);
    if !all_labelled {
        let note = "not every mark has room for its words; a shorter span shows more";
        let note = text::elide(note, size, false, room);
        scene.words(words(note, false, Anchor::End, layout.x[1]));
    }
}
