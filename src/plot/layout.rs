//! Where everything stands: found once, before anything is drawn.
//!
//! From top to bottom: title and subtitle; with marks, a strip with a title, a row of flags and a row
//! of cylinder numbers; for each trace its name and its panel; the time axis; the key; the footnote.
//! All panels share their left and right edge, so that one time has one x throughout.

use super::legend::Key;
use super::palette::Colours;
use super::reduce::reduce;
use super::scene::{Anchor, Words};
use super::text;
use super::ticks::{Ticks, nice_ticks};
use super::{Mark, Picture, Trace};
use crate::domain::Measures;
use crate::error::{Fault, Faults};

/// Picture size for which the sizes below are meant, pixels: a width, and a height per trace
/// beside a fixed one. Across the 180 mm between the margins of A4, the smallest words then are 6.6
/// points high.
const NORMAL_WIDTH: f64 = 1200.0;
const NORMAL_HEIGHT: [f64; 2] = [250.0, 165.0];
/// Smallest and greatest scale: below, words cannot be read.
const SCALE: [f64; 2] = [0.7, 5.0];
/// Least height of the part of a panel in which a trace runs, and least width, at scale 1.
const LEAST_PANEL: [f64; 2] = [320.0, 44.0];
/// Height of one lane for lags at scale 1.
const LANE_HEIGHT: f64 = 27.0;
/// Spans shorter than this, s, have their time axis in milliseconds.
const MILLISECONDS_BELOW_S: f64 = 0.25;
/// Share of a panel's height left free above and below its trace.
const MARGIN: f64 = 0.07;
/// Least share of the whole trace's range that a panel shows.
const LEAST_SHARE: f64 = 0.05;

pub(super) struct Layout {
    pub scale: f64,
    pub colours: Colours,
    pub sizes: Sizes,
    /// Left and right edge of all panels.
    pub x: [f64; 2],
    pub span_s: [f64; 2],
    /// Title, subtitle, footnote.
    pub words: Vec<Words>,
    pub strip: Option<Strip>,
    pub panels: Vec<Panel>,
    /// Ticks of the time axis, in its unit.
    pub time: TimeAxis,
    pub key: Key,
}

/// Line heights of all words, whole pixels.
#[derive(Clone, Copy)]
pub(super) struct Sizes {
    pub title: u32,
    pub subtitle: u32,
    pub name: u32,
    pub tick: u32,
    pub chip: u32,
    pub note: u32,
}

/// The rows above the first panel that a debrief has.
pub(super) struct Strip {
    /// Base line of the strip's title.
    pub title_y: f64,
    /// Top and bottom of the row of flags; equal without flags.
    pub flags: [f64; 2],
    /// Top and bottom of the row of cylinder numbers; equal without numbers.
    pub chips: [f64; 2],
}

/// The place of one trace.
pub(super) struct Panel {
    /// Base line of the trace's name.
    pub name_y: f64,
    /// Top and bottom of the frame.
    pub y: [f64; 2],
    /// Top and bottom of the part in which the trace runs; above it lie the lanes for lags.
    pub run: [f64; 2],
    /// Number of lanes, one for each leaking cylinder, up to three.
    pub lanes: usize,
    /// Whether gas is shaded here.
    pub shows_gas: bool,
    /// Values at the bottom and the top of `run`.
    pub range: [f64; 2],
    pub ticks: Ticks,
}

pub(super) struct TimeAxis {
    /// Units per second: 1 or 1000.
    pub per_s: f64,
    pub title: String,
    pub ticks: Ticks,
    /// Base line of the tick labels, and of the axis title.
    pub y: [f64; 2],
}

impl Layout {
    /// # Errors
    /// A picture too small for what it shall hold; the fault tells the size that would do.
    pub fn new(picture: &Picture) -> Result<Layout, Faults> {
        let [width, height] = picture.size.map(f64::from);
        let traces = picture.traces.len();
        let normal_height = NORMAL_HEIGHT[0] + NORMAL_HEIGHT[1] * traces as f64;
        let scale = (width / NORMAL_WIDTH)
            .min(height / normal_height)
            .clamp(SCALE[0], SCALE[1]);
        let px = |at_scale_1: f64| (at_scale_1 * scale).round();
        let colours = picture.theme.colours();
        let sizes = Sizes::new(scale);
        let outer = [px(28.0), width - px(36.0)];

        let mut words = Vec::new();
        let mut y = px(22.0);
        let mut lines = |text: &str, size: u32, bold: bool, colour, y: &mut f64| {
            for line in text::wrap(text, size, bold, outer[1] - outer[0]) {
                words.push(Words {
                    text: line,
                    size,
                    bold,
                    colour,
                    at: [outer[0], *y + ascent(size)],
                    anchor: Anchor::Start,
                });
                *y += f64::from(size) + px(3.0);
            }
        };
        lines(&picture.title, sizes.title, true, colours.ink, &mut y);
        lines(
            &picture.subtitle,
            sizes.subtitle,
            false,
            colours.soft_ink,
            &mut y,
        );
        if y > px(22.0) {
            y += px(8.0);
        }

        let has = |is: fn(&Mark) -> bool| {
            picture
                .marks
                .iter()
                .any(|m| is(m) && m.in_span(picture.span_s))
        };
        let strip = has(|_| true).then(|| {
            let title_y = y + ascent(sizes.note);
            y += f64::from(sizes.note) + px(6.0);
            let mut row = |needed: bool, height: f64| {
                let top = y;
                y += if needed { height } else { 0.0 };
                [top, y]
            };
            let flags = row(
                has(|m| matches!(m, Mark::Sync { .. })),
                f64::from(sizes.note) + px(5.0),
            );
            let chips = row(
                has(|m| matches!(m, Mark::Tdc { .. })),
                f64::from(sizes.chip) + px(6.0),
            );
            y += px(8.0);
            Strip {
                title_y,
                flags,
                chips,
            }
        });

        // What lies below the panels is stacked from zero here and moved once the panels' height is known.
        let mut below = px(9.0);
        let tick_y = below + ascent(sizes.tick);
        below += f64::from(sizes.tick) + px(3.0);
        let axis_title_y = below + ascent(sizes.name);
        below += f64::from(sizes.name) + px(6.0);
        let mut key = Key::new(picture, &sizes, scale, outer);
        let key_top = below;
        below += key.height;
        let notes = text::wrap(&picture.footnote, sizes.note, false, outer[1] - outer[0]);
        below += if notes.is_empty() { 0.0 } else { px(9.0) };
        let mut footnotes = Vec::new();
        for line in notes {
            footnotes.push(Words {
                text: line,
                size: sizes.note,
                bold: false,
                colour: colours.soft_ink,
                at: [outer[0], below + ascent(sizes.note)],
                anchor: Anchor::Start,
            });
            below += f64::from(sizes.note) + px(3.0);
        }
        below += px(16.0);

        let name_height = f64::from(sizes.name) + px(9.0);
        let gap = px(6.0);
        let lanes = lanes(picture);
        let lane_height = px(LANE_HEIGHT) * lanes as f64;
        let fixed =
            y + below + traces as f64 * name_height + (traces - 1) as f64 * gap + lane_height;
        let run = ((height - fixed) / traces as f64).floor();
        if run < LEAST_PANEL[1] * scale {
            let least = fixed + traces as f64 * (LEAST_PANEL[1] * scale).ceil();
            return Err(too_small(
                picture,
                format!("let it be at least {} high at this width", least.ceil()),
            ));
        }

        let gas_panels = gas_panels(&picture.traces);
        let mut panels = Vec::with_capacity(traces);
        for (i, trace) in picture.traces.iter().enumerate() {
            let lanes = if gas_panels.first() == Some(&i) {
                lanes
            } else {
                0
            };
            let name_y = y + ascent(sizes.name) + px(2.0);
            y += name_height;
            let top = y;
            let run_top = top + px(LANE_HEIGHT) * lanes as f64;
            y = run_top + run;
            let range = value_range(trace, picture.span_s);
            let ticks = range.map_or_else(Ticks::default, |[low, high]| {
                let most = (run / (f64::from(sizes.tick) * 1.75)).floor().max(2.0) as usize;
                // One tick alone says nothing of the scale.
                (most..most + 4)
                    .map(|most| nice_ticks(low, high, most))
                    .find(|ticks| ticks.marks.len() > 1)
                    .unwrap_or_default()
            });
            panels.push(Panel {
                name_y,
                y: [top, y],
                run: [run_top, y],
                lanes,
                shows_gas: gas_panels.contains(&i),
                range: range.unwrap_or([0.0, 1.0]),
                ticks,
            });
            y += gap;
        }
        let bottom = y - gap;

        let widest = panels
            .iter()
            .flat_map(|p| &p.ticks.marks)
            .map(|(_, label)| text::width(label, sizes.tick, false))
            .fold(0.0, f64::max);
        let x = [outer[0] + widest.max(px(30.0)).ceil() + px(10.0), outer[1]];
        if x[1] - x[0] < LEAST_PANEL[0] * scale {
            let least = width + LEAST_PANEL[0] * scale - (x[1] - x[0]);
            return Err(too_small(
                picture,
                format!("let it be at least {} wide", least.ceil()),
            ));
        }

        key.place(bottom + key_top);
        for note in &mut footnotes {
            note.at[1] += bottom;
        }
        words.append(&mut footnotes);
        let time = TimeAxis::new(
            picture.span_s,
            x[1] - x[0],
            sizes.tick,
            [bottom + tick_y, bottom + axis_title_y],
        );
        Ok(Layout {
            scale,
            colours,
            sizes,
            x,
            span_s: picture.span_s,
            words,
            strip,
            panels,
            time,
            key,
        })
    }

    /// So many pixels at normal size, in whole pixels of this picture.
    pub fn px(&self, at_scale_1: f64) -> f64 {
        (at_scale_1 * self.scale).round()
    }

    /// Where a time stands; beyond the edges for a time beyond the span.
    pub fn x_of(&self, time_s: f64) -> f64 {
        let share = (time_s - self.span_s[0]) / (self.span_s[1] - self.span_s[0]);
        self.x[0] + share * (self.x[1] - self.x[0])
    }

    /// Pixel columns of a panel.
    pub fn columns(&self) -> usize {
        (self.x[1] - self.x[0]) as usize
    }
}

impl Panel {
    /// Where a value stands.
    pub fn y_of(&self, value: f64) -> f64 {
        let share = (value - self.range[0]) / (self.range[1] - self.range[0]);
        self.run[1] - share * (self.run[1] - self.run[0])
    }
}

impl Sizes {
    fn new(scale: f64) -> Sizes {
        let size = |at_scale_1: f64| (at_scale_1 * scale).round() as u32;
        Sizes {
            title: size(32.0),
            subtitle: size(21.0),
            name: size(20.0),
            tick: size(18.0),
            chip: size(19.0),
            note: size(18.0),
        }
    }
}

impl TimeAxis {
    /// As many ticks as their labels have room for.
    fn new(span_s: [f64; 2], width: f64, size: u32, y: [f64; 2]) -> TimeAxis {
        let (per_s, unit) = if span_s[1] - span_s[0] < MILLISECONDS_BELOW_S {
            (1000.0, "ms")
        } else {
            (1.0, "s")
        };
        let ticks = (1..=16)
            .rev()
            .map(|most| nice_ticks(span_s[0] * per_s, span_s[1] * per_s, most))
            .find(|ticks| {
                let widest = ticks
                    .marks
                    .iter()
                    .map(|(_, l)| text::width(l, size, false))
                    .fold(0.0, f64::max);
                let apart = ticks.step / per_s / (span_s[1] - span_s[0]) * width;
                apart >= widest + 1.6 * f64::from(size)
            })
            .unwrap_or_default();
        TimeAxis {
            per_s,
            title: format!("Time ({unit})"),
            ticks,
            y,
        }
    }
}

/// From the top of a line of text to its base line. Source: the `hhea` table of DejaVu Sans 2.37.
pub(super) fn ascent(size: u32) -> f64 {
    (f64::from(size) * 1901.0 / 2384.0).round()
}

/// Base line of words whose capitals stand in the middle of a row (capitals are 0.73 em high).
pub(super) fn middle(row: [f64; 2], size: u32) -> f64 {
    ((row[0] + row[1]) / 2.0 + 0.365 * f64::from(size) / text::LINE_PER_EM).round()
}

/// The traces on which gas is shaded: those of the neck, or all if there is none.
fn gas_panels(traces: &[Trace]) -> Vec<usize> {
    let neck: Vec<usize> = (0..traces.len())
        .filter(|i| {
            matches!(
                traces[*i].measures,
                Measures::NeckPressure | Measures::NeckPulse
            )
        })
        .collect();
    if neck.is_empty() {
        (0..traces.len()).collect()
    } else {
        neck
    }
}

/// One lane for each leaking cylinder that has a lag to show in the span.
fn lanes(picture: &Picture) -> usize {
    leaking_cylinders(picture).len().min(3)
}

/// Cylinders of all leak events in the span that have something to write in a lane, ascending.
pub(super) fn leaking_cylinders(picture: &Picture) -> Vec<u32> {
    let mut cylinders: Vec<u32> = picture
        .marks
        .iter()
        .filter(|m| m.in_span(picture.span_s))
        .filter_map(|m| match m {
            Mark::LeakEvent {
                steepest_s,
                cylinder,
                label,
                ..
            } if steepest_s.is_some() || !label.is_empty() => Some(*cylinder),
            _ => None,
        })
        .collect();
    cylinders.sort_unstable();
    cylinders.dedup();
    cylinders
}

/// The values at the bottom and top of a trace's panel; `None` without values in the span.
///
/// A stretch in which little happens is not blown up to full height, where it would look as if much
/// did: the range is at least [`LEAST_SHARE`] of that of the whole trace, and the trace's own floor.
fn value_range(trace: &Trace, span_s: [f64; 2]) -> Option<[f64; 2]> {
    let [low, high] = extent(reduce(trace, span_s, 1).iter().map(|p| p.1))?;
    let [all_low, all_high] = extent(trace.values.iter().map(|v| f64::from(*v)))?;
    let spread = (high - low)
        .max(LEAST_SHARE * (all_high - all_low))
        .max(trace.least_height);
    let largest = low.abs().max(high.abs());
    let half = if spread > 1e-6 * largest {
        spread * (0.5 + MARGIN)
    } else if largest > 0.0 {
        0.1 * largest
    } else {
        1.0
    };
    let centre = low + (high - low) / 2.0;
    Some([centre - half, centre + half])
}

/// Least and greatest of some values.
fn extent(values: impl Iterator<Item = f64>) -> Option<[f64; 2]> {
    values.fold(None, |extent, v| {
        let [low, high] = extent.unwrap_or([v, v]);
        Some([low.min(v), high.max(v)])
    })
}

impl Mark {
    /// Whether any part of the mark lies in the span.
    pub(super) fn in_span(&self, [start, end]: [f64; 2]) -> bool {
        let (first, last) = match self {
            Mark::Tdc { time_s, .. } | Mark::Sync { time_s, .. } => (*time_s, *time_s),
            Mark::LeakEvent {
                gas_start_s,
                gas_end_s,
                tdc_s,
                steepest_s,
                ..
            } => {
                let steepest = steepest_s.unwrap_or(*tdc_s);
                (
                    gas_start_s.min(*tdc_s).min(steepest),
                    gas_end_s.max(*tdc_s).max(steepest),
                )
            }
        };
        first <= end && last >= start
    }
}

fn too_small(picture: &Picture, remedy: String) -> Faults {
    let [width, height] = picture.size;
    Fault::new(
        "picture: size",
        format!(
            "{width} x {height} pixels are too few for {} traces with their words",
            picture.traces.len()
        ),
        remedy,
    )
    .into()
}
