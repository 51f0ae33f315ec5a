//! A picture of a capture: where everything stands, and the panels.
//!
//! From top to bottom: title and subtitle; with marks, a strip with a title and a row of cylinder
//! numbers; for each trace its name and its panel; the time axis; the key; the footnote. All panels
//! share their left and right edge, so that one time has one x throughout.

use super::axis::{Axis, nice_ticks};
use super::check::check;
use super::key::key;
use super::marks::{Marks, NumberedTdc, STRIP, strip_title};
use super::palette::{trace_colour, trace_width};
use super::reduce::reduce;
use super::scene::{Scene, Words, around, middle};
use super::text::LINE_PER_EM;
use super::{Drawing, Theme};
use crate::domain::{LeakEvent, Measures};
use crate::error::{Fault, Faults};
use plotters::style::text_anchor::HPos;

/// Heights of a line of words. Across the 180 mm between the margins of A4, the smallest are 6.6 points
/// high.
pub(super) const TITLE: u32 = 43;
pub(super) const SUBTITLE: u32 = 28;
pub(super) const NAME: u32 = 27;
pub(super) const TICK: u32 = 24;
pub(super) const NOTE: u32 = 24;

pub(super) const WIDTH: u32 = 1600;
/// Left and right edge of all words.
pub(super) const OUTER: [f64; 2] = [37.0, 1552.0];
/// Greatest height; the painter needs twelve bytes a pixel.
const TALLEST: f64 = 16_000.0;
/// Height of the part of a panel in which a trace runs: of a few, and of many.
const RUN: [f64; 2] = [197.0, 120.0];
const FEW: usize = 8;
/// Spans shorter than this, s, have their time axis in milliseconds.
const MILLISECONDS_BELOW_S: f64 = 0.25;
/// Share of a panel's height left free above and below its trace.
const MARGIN: f64 = 0.07;
/// Least share of the whole trace's range that a panel shows.
const LEAST_SHARE: f64 = 0.05;

/// All that is to be seen in one picture of a capture.
#[derive(Clone, Debug, PartialEq)]
pub struct Picture {
    /// First line; may be empty.
    pub title: String,
    /// What stands below the title; may be empty.
    pub subtitle: String,
    /// Traces from top to bottom; at least one.
    pub traces: Vec<Trace>,
    /// Compression TDCs, each with its number; empty for a picture that gives nothing away.
    pub tdcs: Vec<NumberedTdc>,
    /// Passages of gas through leaks: shaded on the neck traces, with an arrow from TDC to the steepest
    /// rise; empty for a picture that gives nothing away.
    pub events: Vec<LeakEvent>,
    /// Start and end of the time axis, s.
    pub span_s: [f64; 2],
    /// Light or dark.
    pub theme: Theme,
    /// Small print at the foot; may be empty.
    pub footnote: String,
}

/// One trace: equally spaced samples of one quantity.
#[derive(Clone, Debug, PartialEq)]
pub struct Trace {
    /// What the trace is called, by what it measures, with its unit.
    pub name: String,
    /// The measured quantity, which alone decides the colour.
    pub measures: Measures,
    /// Values per second; the first is that of 0 s.
    pub sample_rate_hz: f64,
    /// A panel shows at least this much of the unit, so that a quiet trace's noise is not blown up to
    /// full height; 0 for no such floor.
    pub least_height: f64,
    /// The values, in the unit; all of them finite.
    pub values: Vec<f32>,
}

/// The place of one trace.
struct Panel<'a> {
    trace: &'a Trace,
    /// Top and bottom of the frame; between its top and that of the value axis lie the lanes for lags.
    y: [f64; 2],
    values: Axis,
}

impl Drawing for Picture {
    fn scene(&self) -> Result<Scene, Faults> {
        check(self)?;
        let mut scene = Scene::new(WIDTH, self.theme);
        let marks = Marks::seen(self);
        let mut y = scene.head(&self.title, &self.subtitle);
        let strip = y;
        if !marks.is_empty() {
            y += STRIP;
        }

        let (name, tick) = (scene.bold(NAME), scene.plain(TICK));
        let run = RUN[usize::from(self.traces.len() > FEW)];
        let first_neck = self.traces.iter().position(Trace::is_at_neck);
        let mut panels = Vec::new();
        for (i, trace) in self.traces.iter().enumerate() {
            let lanes = if i == first_neck.unwrap_or(0) {
                marks.lanes_height()
            } else {
                0.0
            };
            let top = y + name.line() + 12.0;
            let bottom = top + lanes + run;
            panels.push(Panel {
                trace,
                y: [top, bottom],
                values: trace.axis([bottom, top + lanes], self.span_s),
            });
            y = bottom + 8.0;
        }
        let bottom = y - 8.0;
        let labels = panels.iter().flat_map(|p| p.values.ticks());
        let widest = labels.map(|(_, l)| tick.width(l)).fold(40.0, f64::max);
        let x = [OUTER[0] + widest.ceil() + 13.0, OUTER[1]];
        let (time, title) = self.time_axis(&scene, x);

        let c = scene.colours;
        for panel in &panels {
            scene.area(x, panel.y, c.panel);
            if first_neck.is_none() || panel.trace.is_at_neck() {
                let [low, high] = panel.values.pixels;
                marks.gas(&mut scene, &time, [high, low]);
            }
            for (y, _) in panel.values.ticks() {
                scene.level(y, [x[0] - 7.0, x[0]], 1.0, c.frame);
            }
            let beside = x[0] - 12.0;
            panel.values.draw_upright(&mut scene, tick, beside, &[x]);
        }
        for (x, _) in time.ticks() {
            scene.upright(x, [bottom, bottom + 8.0], 1.0, c.frame);
        }
        let grids: Vec<[f64; 2]> = panels.iter().map(|p| p.y).collect();
        y = bottom + 12.0;
        time.draw_level(&mut scene, tick, y + tick.ascent(), &grids);
        y += tick.line() + 4.0;
        scene.write(title, name, [middle(x), y + name.ascent()], HPos::Center);
        y += name.line() + 8.0;

        let mut all_labelled = marks.lines(&mut scene, strip, &time, bottom);
        for panel in &panels {
            panel.draw(&mut scene, &time, self.span_s);
        }
        let panel = &panels[first_neck.unwrap_or(0)];
        all_labelled &= marks.lags(&mut scene, &time, panel.y);
        if !marks.is_empty() {
            strip_title(&mut scene, x, strip, all_labelled);
        }
        key(&mut scene, &marks, OUTER, &mut y);
        scene.foot(&self.footnote, y);
        let [width, height] = scene.size;
        if f64::from(height) > TALLEST {
            let problem = format!("{width} x {height} pixels would be needed");
            let remedy = format!("give fewer traces or words, for a height up to {TALLEST}");
            return Err(Fault::new("picture", problem, remedy).into());
        }
        Ok(scene)
    }
}

impl Picture {
    /// The time axis with as many ticks as their labels have room for, and its title.
    fn time_axis(&self, scene: &Scene, pixels: [f64; 2]) -> (Axis, String) {
        let [start, end] = self.span_s;
        let (per_s, unit) = if end - start < MILLISECONDS_BELOW_S {
            (1000.0, "ms")
        } else {
            (1.0, "s")
        };
        let style = scene.plain(TICK);
        let axis = |most: usize| {
            let mut ticks = nice_ticks(self.span_s.map(|t| t * per_s), most);
            ticks.iter_mut().for_each(|tick| tick.0 /= per_s);
            Axis::new(self.span_s, pixels, ticks)
        };
        let fits = |axis: &Axis| {
            let widest = axis
                .ticks()
                .map(|(_, l)| style.width(l))
                .fold(0.0, f64::max);
            let places: Vec<f64> = axis.ticks().map(|(x, _)| x).collect();
            let room = widest + 1.6 * style.line();
            places.windows(2).all(|pair| pair[1] - pair[0] >= room)
        };
        let axis = (1..=16).rev().map(axis).find(fits);
        let axis = axis.unwrap_or_else(|| Axis::new(self.span_s, pixels, Vec::new()));
        (axis, format!("Time ({unit})"))
    }
}

impl Trace {
    fn is_at_neck(&self) -> bool {
        matches!(self.measures, Measures::NeckPressure | Measures::NeckPulse)
    }

    /// The value axis for a span, without ticks if there are no values in it.
    ///
    /// A stretch in which little happens is not blown up to full height, where it would look as if much
    /// did: the range is at least [`LEAST_SHARE`] of that of the whole trace, and the trace's own floor.
    fn axis(&self, pixels: [f64; 2], span_s: [f64; 2]) -> Axis {
        let seen = extent(reduce(self, span_s, 1).into_iter().map(|p| p.1));
        let all = extent(self.values.iter().map(|v| f64::from(*v)));
        let (Some([low, high]), Some([all_low, all_high])) = (seen, all) else {
            return Axis::new([0.0, 1.0], pixels, Vec::new());
        };
        let spread = (high - low)
            .max(LEAST_SHARE * (all_high - all_low))
            .max(self.least_height);
        let largest = low.abs().max(high.abs());
        let half = if spread > 1e-6 * largest {
            spread * (0.5 + MARGIN)
        } else if largest > 0.0 {
            0.1 * largest
        } else {
            1.0
        };
        let values = around(low + (high - low) / 2.0, half);
        let most = ((pixels[0] - pixels[1]) / (1.75 * f64::from(TICK)))
            .floor()
            .max(2.0) as usize;
        // One tick alone says nothing of the scale.
        let ticks = (most..most + 4)
            .map(|most| nice_ticks(values, most))
            .find(|ticks| ticks.len() > 1);
        Axis::new(values, pixels, ticks.unwrap_or_default())
    }
}

/// Least and greatest of some values.
fn extent(values: impl Iterator<Item = f64>) -> Option<[f64; 2]> {
    values.fold(None, |extent, v| {
        let [low, high] = extent.unwrap_or([v, v]);
        Some([low.min(v), high.max(v)])
    })
}

impl Panel<'_> {
    /// Frame, name and trace, over the lines of the marks.
    fn draw(&self, scene: &mut Scene, time: &Axis, span_s: [f64; 2]) {
        let c = scene.colours;
        let x = time.pixels;
        scene.frame(x, self.y, 1.0, c.frame);
        self.name(scene, x);
        let colour = trace_colour(self.trace.measures);
        let columns = (x[1] - x[0]) as usize;
        let points: Vec<[f64; 2]> = reduce(self.trace, span_s, columns)
            .into_iter()
            .map(|(t, v)| [time.at(t), self.values.at(v)])
            .collect();
        match points.as_slice() {
            [] => {
                let style = scene.plain(NOTE);
                let y = middle(self.values.pixels);
                let at = [middle(x), style.base(y)];
                let words = Words::new("no samples in this span", style, at, HPos::Center);
                let row = around(y, 15.0);
                scene.on_ground(words, 11.0, row, c.panel);
            }
            [[x, y]] => {
                let half = 4.0;
                scene.area(around(*x, half), around(*y, half), colour);
            }
            _ => scene.path(points, trace_width(self.trace.measures) * 4.0 / 3.0, colour),
        }
    }

    /// The trace's name and unit above its panel, behind a dash of its colour.
    fn name(&self, scene: &mut Scene, [left, right]: [f64; 2]) {
        let style = scene.bold(NAME);
        let start = left + 40.0;
        let top = self.y[0] - style.line() - 9.0;
        let base = top + style.ascent();
        let text = style.elide(&self.trace.name, right - start - 11.0);
        let words = Words::new(text, style, [start, base], HPos::Left);
        // The lines of the marks run from panel to panel; they stop at the words.
        let dash = [left, left + 29.0];
        let colour = trace_colour(self.trace.measures);
        let y = base - (0.36 * style.line() / LINE_PER_EM).round();
        let row = [top, self.y[0] - 1.0];
        scene.area([left - 3.0, start], row, scene.colours.page);
        scene.level(y, dash, 5.0, colour);
        scene.on_ground(words, 8.0, row, scene.colours.page);
    }
}
