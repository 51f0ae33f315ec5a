//! A picture of a capture: where everything stands, and the panels.
//!
//! From top to bottom: title and subtitle; with marks, a strip with a title and a row of cylinder
//! numbers; for each trace its name and its panel; the time axis; the key; the footnote. All panels
//! share their left and right edge, so that one time has one x throughout.

use super::axis::{Axis, nice_ticks};
use super::check::check;
use super::key::key;
use super::marks::{Marks, NumberedTdc, Strip};
use super::palette::{trace_colour, trace_width};
use super::reduce::reduce;
use super::scene::{Scene, Words, around, middle};
use super::text::LINE_PER_EM;
use super::{Drawing, Theme};
use crate::domain::{LeakEvent, Measures};
use crate::error::{Fault, Faults};
use plotters::style::text_anchor::HPos;

/// Heights of a line of words at scale 1.
pub(super) const TITLE: f64 = 32.0;
pub(super) const SUBTITLE: f64 = 21.0;
pub(super) const NAME: f64 = 20.0;
pub(super) const TICK: f64 = 18.0;
pub(super) const NOTE: f64 = 18.0;

/// Picture size at scale 1, pixels: a width, and a height per trace beside a fixed one. Across the
/// 180 mm between the margins of A4, the smallest words then are 6.6 points high.
const NORMAL_WIDTH: f64 = 1200.0;
const NORMAL_HEIGHT: [f64; 2] = [250.0, 165.0];
/// Smallest and greatest scale: below, words cannot be read.
const SCALE: [f64; 2] = [0.7, 5.0];
/// Least width of a panel, and least height of its part in which a trace runs, at scale 1.
const LEAST_PANEL: [f64; 2] = [320.0, 44.0];
/// Height of one lane for lags at scale 1.
const LANE: f64 = 27.0;
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
    /// Width and height, pixels; see [`good_size`].
    pub size: [u32; 2],
    /// Light or dark.
    pub theme: Theme,
    /// Small print at the foot; may be empty.
    pub footnote: String,
}

/// One trace: equally spaced samples of one quantity.
#[derive(Clone, Debug, PartialEq)]
pub struct Trace {
    /// What the trace is called, by what it measures.
    pub name: String,
    /// Unit of the values, as it shall be written; may be empty.
    pub unit: String,
    /// The measured quantity, which alone decides the colour.
    pub measures: Measures,
    /// Time of the first value, s.
    pub start_s: f64,
    /// Values per second.
    pub sample_rate_hz: f64,
    /// A panel shows at least this much of the unit, so that a quiet trace's noise is not blown up to
    /// full height; 0 for no such floor.
    pub least_height: f64,
    /// The values, in the unit; all of them finite.
    pub values: Vec<f32>,
}

/// A size, width and height in pixels, that gives each of `traces` traces enough room.
pub fn good_size(traces: usize) -> [u32; 2] {
    let traces = traces.clamp(1, 40) as u32;
    let each = if traces <= 6 { 220 } else { 200 };
    [1600, 340 + each * traces]
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
        let [width, height] = self.size.map(f64::from);
        let traces = self.traces.len() as f64;
        let normal_height = NORMAL_HEIGHT[0] + NORMAL_HEIGHT[1] * traces;
        let scale = (width / NORMAL_WIDTH).min(height / normal_height);
        let scale = scale.clamp(SCALE[0], SCALE[1]);
        let mut scene = Scene::new(self.size, self.theme, scale);
        let outer = [scene.px(28.0), width - scene.px(36.0)];
        let marks = Marks::seen(self);

        let mut y = scene.px(22.0);
        scene.paragraph(&self.title, scene.bold(TITLE), outer, &mut y);
        scene.paragraph(&self.subtitle, scene.plain(SUBTITLE), outer, &mut y);
        if y > scene.px(22.0) {
            y += scene.px(8.0);
        }
        let strip = (!marks.is_empty()).then(|| Strip::new(&scene, &mut y));

        // What lies below the panels is stacked from zero and moved once the panels' height is known.
        let mut foot = Scene::new(self.size, self.theme, scale);
        let tick_y = scene.px(9.0) + scene.plain(TICK).ascent();
        let below_ticks = scene.px(9.0) + scene.px(TICK) + scene.px(3.0);
        let mut below = below_ticks + scene.px(NAME) + scene.px(6.0);
        key(&mut foot, &marks, outer, &mut below);
        let notes = below + scene.px(9.0);
        let mut end = notes;
        foot.paragraph(&self.footnote, scene.plain(NOTE), outer, &mut end);
        below = if end > notes { end } else { below } + scene.px(16.0);

        let above = scene.px(NAME) + scene.px(9.0);
        let gap = scene.px(6.0);
        let lanes = scene.px(LANE) * marks.lanes() as f64;
        let fixed = y + below + traces * above + (traces - 1.0) * gap + lanes;
        let run = ((height - fixed) / traces).floor();
        let [least_width, least_run] = LEAST_PANEL.map(|side| side * scale);
        if run < least_run {
            let least = (fixed + traces * least_run.ceil()).ceil();
            return Err(self.too_small(format!("let it be at least {least} high at this width")));
        }

        let first_neck = self.traces.iter().position(Trace::is_at_neck);
        let mut panels = Vec::new();
        for (i, trace) in self.traces.iter().enumerate() {
            let top = y + above;
            let lanes = if i == first_neck.unwrap_or(0) {
                lanes
            } else {
                0.0
            };
            y = top + lanes + run;
            panels.push(Panel {
                trace,
                y: [top, y],
                values: trace.axis([y, top + lanes], self.span_s, scene.px(TICK)),
            });
            y += gap;
        }
        let bottom = y - gap;

        let tick = scene.plain(TICK);
        let labels = panels.iter().flat_map(|p| p.values.ticks());
        let widest = labels
            .map(|(_, l)| tick.width(l))
            .fold(scene.px(30.0), f64::max);
        let x = [outer[0] + widest.ceil() + scene.px(10.0), outer[1]];
        if x[1] - x[0] < least_width {
            let least = (width + least_width - (x[1] - x[0])).ceil();
            return Err(self.too_small(format!("let it be at least {least} wide")));
        }
        let (time, title) = self.time_axis(&scene, x);

        let c = scene.colours;
        for panel in &panels {
            scene.area(x, panel.y, c.panel);
            if first_neck.is_none() || panel.trace.is_at_neck() {
                let [low, high] = panel.values.pixels;
                marks.gas(&mut scene, &time, [high, low]);
            }
            for (y, _) in panel.values.ticks() {
                scene.level(y, x, 1.0, c.grid);
                scene.level(y, [x[0] - scene.px(5.0), x[0]], 1.0, c.frame);
            }
            let beside = x[0] - scene.px(9.0);
            panel.values.label_left(&mut scene, tick, beside);
        }
        for (x, _) in time.ticks() {
            for panel in &panels {
                scene.upright(x, panel.y, 1.0, c.grid);
            }
            scene.upright(x, [bottom, bottom + scene.px(6.0)], 1.0, c.frame);
        }
        time.label_below(&mut scene, tick, bottom + tick_y);
        let name = scene.bold(NAME);
        let at = [middle(x), bottom + below_ticks + name.ascent()];
        scene.write(title, name, at, HPos::Center);

        let mut all_labelled = true;
        if let Some(strip) = &strip {
            all_labelled &= marks.lines(&mut scene, strip, &time, bottom);
        }
        for panel in &panels {
            panel.draw(&mut scene, &time, self.span_s);
        }
        let panel = &panels[first_neck.unwrap_or(0)];
        let lane = scene.px(LANE);
        all_labelled &= marks.lags(&mut scene, &time, lane, panel.y);
        if let Some(strip) = &strip {
            strip.title(&mut scene, x, all_labelled);
        }
        scene.append(foot, bottom);
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
            let room = widest + 1.6 * f64::from(style.size);
            places.windows(2).all(|pair| pair[1] - pair[0] >= room)
        };
        let axis = (1..=16).rev().map(axis).find(fits);
        let axis = axis.unwrap_or_else(|| Axis::new(self.span_s, pixels, Vec::new()));
        (axis, format!("Time ({unit})"))
    }

    fn too_small(&self, remedy: String) -> Faults {
        let [width, height] = self.size;
        let traces = self.traces.len();
        let problem =
            format!("{width} x {height} pixels are too few for {traces} traces with their words");
        Fault::new("picture: size", problem, remedy).into()
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
    fn axis(&self, pixels: [f64; 2], span_s: [f64; 2], line: f64) -> Axis {
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
        let most = ((pixels[0] - pixels[1]) / (line * 1.75)).floor().max(2.0) as usize;
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
                let [from, to] = words.extent();
                let margin = scene.px(8.0);
                let half = f64::from(style.size) / 2.0 + scene.px(2.0);
                scene.area([from - margin, to + margin], around(y, half), c.panel);
                scene.words(words);
            }
            [[x, y]] => {
                let half = scene.px(3.0);
                scene.area(around(*x, half), around(*y, half), colour);
            }
            _ => scene.path(points, trace_width(self.trace.measures), colour),
        }
    }

    /// The trace's name and unit above its panel, behind a dash of its colour.
    fn name(&self, scene: &mut Scene, [left, right]: [f64; 2]) {
        let Trace { name, unit, .. } = self.trace;
        let full = if unit.is_empty() {
            name.clone()
        } else {
            format!("{name} ({unit})")
        };
        let style = scene.bold(NAME);
        let start = left + scene.px(30.0);
        let top = self.y[0] - scene.px(NAME) - scene.px(9.0) + scene.px(2.0);
        let base = top + style.ascent();
        let text = style.elide(&full, right - start - scene.px(8.0));
        let words = Words::new(text, style, [start, base], HPos::Left);
        // The lines of the marks run from panel to panel; they stop at the words.
        let ground = [left - scene.px(2.0), words.extent()[1] + scene.px(6.0)];
        let y = [top, self.y[0] - scene.px(1.0)];
        scene.area(ground, y, scene.colours.page);
        let y = base - (0.36 * f64::from(style.size) / LINE_PER_EM).round();
        let colour = trace_colour(self.trace.measures);
        scene.level(y, [left, left + scene.px(22.0)], 4.0, colour);
        scene.words(words);
    }
}
