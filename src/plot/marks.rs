//! The marks of a debrief: numbers at TDCs with their lines, the gas of leaks and their lags.
//!
//! Words never overlap. Where there is no room for all, those that stand out come first, the others
//! are left out, and the strip's title says so.

use super::Picture;
use super::axis::Axis;
use super::palette::{CROSS, HIGHLIGHT, ON_HIGHLIGHT};
use super::picture::NOTE;
use super::row::Row;
use super::scene::{Scene, Words, around, middle};
use crate::domain::LeakEvent;
use plotters::style::text_anchor::HPos;
use std::collections::BTreeSet;

/// Height of a line of cylinder numbers.
const NUMBER: u32 = 25;
/// Height of the strip, which has a title and a row of cylinder numbers.
pub(super) const STRIP: f64 = 76.0;
const ROW: [f64; 2] = [32.0, 65.0];
/// Height of one lane for lags.
const LANE: f64 = 36.0;
/// Most lanes for lags; more leaks share them.
const MOST_LANES: usize = 3;

/// A compression TDC: a tick with the cylinder's number above the traces, and a line through them where
/// it stands out.
#[derive(Clone, Debug, PartialEq)]
pub struct NumberedTdc {
    /// When, s.
    pub time_s: f64,
    /// The cylinder that is at its compression TDC.
    pub cylinder: u32,
    /// How strongly it shall stand out.
    pub emphasis: Emphasis,
}

/// How strongly a TDC stands out: by the form of its number and line, and only then by colour.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Emphasis {
    /// A cylinder that leaks: bold in a framed, coloured box, and a heavy line.
    Leaking,
    /// A cylinder that was called, but does not leak: crossed, in a framed box, and a dashed line.
    Called,
    /// The cylinder of the sync, from which the count starts: light on dark, or dark on light.
    Sync,
    /// One of many.
    Plain,
}

impl Emphasis {
    /// Draws a cylinder's number in the box whose form tells what it is.
    pub(super) fn boxed(self, scene: &mut Scene, text: &str, size: u32, x: [f64; 2], y: [f64; 2]) {
        let ([left, right], [top, bottom]) = (x.map(f64::round), y.map(f64::round));
        let c = scene.colours;
        let bold = scene.bold(size);
        let (frame, ground, style) = match self {
            Emphasis::Leaking => (3.0, HIGHLIGHT, bold.coloured(ON_HIGHLIGHT)),
            Emphasis::Called => (3.0, c.page, bold),
            Emphasis::Sync => (0.0, c.ink, bold.coloured(c.page)),
            Emphasis::Plain => (0.0, c.page, scene.plain(size)),
        };
        if frame > 0.0 {
            scene.area([left, right], [top, bottom], c.ink);
        }
        let (x, y) = ([left + frame, right - frame], [top + frame, bottom - frame]);
        scene.area(x, y, ground);
        scene.centre(text, style, x, y);
    }
}

/// The marks of which any part is seen.
pub(super) struct Marks<'a> {
    /// Those that stand out first, each kind by its time.
    pub tdcs: Vec<&'a NumberedTdc>,
    /// By the time of their TDC.
    pub events: Vec<&'a LeakEvent>,
}

impl<'a> Marks<'a> {
    pub fn seen(picture: &'a Picture) -> Marks<'a> {
        let [start, end] = picture.span_s;
        let mut tdcs: Vec<_> = picture.tdcs.iter().collect();
        tdcs.retain(|tdc| (start..=end).contains(&tdc.time_s));
        tdcs.sort_by(|a, b| {
            let by_time = a.time_s.total_cmp(&b.time_s);
            a.emphasis.cmp(&b.emphasis).then(by_time)
        });
        let mut events: Vec<_> = picture.events.iter().collect();
        events.retain(|event| {
            let steepest_s = event.steepest_s.unwrap_or(event.tdc_s);
            let first = event.gas_start_s.min(event.tdc_s).min(steepest_s);
            let last = event.gas_end_s.max(event.tdc_s).max(steepest_s);
            first <= end && last >= start
        });
        events.sort_by(|a, b| a.tdc_s.total_cmp(&b.tdc_s));
        Marks { tdcs, events }
    }

    pub fn is_empty(&self) -> bool {
        self.tdcs.is_empty() && self.events.is_empty()
    }

    /// Shades the times at which gas passes a leak.
    pub fn gas(&self, scene: &mut Scene, time: &Axis, y: [f64; 2]) {
        let [left, right] = time.pixels;
        for event in &self.events {
            let span = [event.gas_start_s, event.gas_end_s];
            let [from, to] = span.map(|t| time.at(t).clamp(left, right));
            if span[0] <= time.values[1] && span[1] >= time.values[0] {
                let to = to.max(from + 1.0).min(right);
                scene.area([from, to], y, scene.colours.gas);
            }
        }
    }

    /// Draws the numbers of TDCs in the strip below `top`, with ticks or lines down to `bottom`; whether
    /// there was room for every number.
    pub fn lines(&self, scene: &mut Scene, top: f64, time: &Axis, bottom: f64) -> bool {
        let c = scene.colours;
        let row = ROW.map(|y| top + y);
        let [top, base] = row;
        let mut numbers = Row::new();
        let mut ticks = Row::new();
        let mut numbered = Vec::new();
        for tdc in &self.tdcs {
            let x = time.at(tdc.time_s);
            let mut text = tdc.cylinder.to_string();
            if tdc.emphasis == Emphasis::Called {
                text += &format!(" {CROSS}");
            }
            let width = scene.bold(NUMBER).width(&text) + 13.0;
            let half = (width.max(base - top) / 2.0).round();
            if numbers.take(around(x, half + 3.0)) {
                numbered.push((tdc.emphasis, x, half, text));
            } else if ticks.take(around(x, 3.0)) {
                // A TDC without a number keeps a short tick, as long as ticks can be told apart.
                scene.upright(x, [base, base + 8.0], 1.0, c.tdc);
            }
        }
        // Fine where they are close, so that they do not hide the traces.
        let stand_out = self.tdcs.iter().filter(|t| t.emphasis != Emphasis::Plain);
        let apart = (time.pixels[1] - time.pixels[0]) / stand_out.count().max(1) as f64;
        let heavy = if apart < 53.0 { 1.0 } else { 3.0 };
        // Only what is told of leads through the traces; the others are ticks of the strip, and lie behind.
        for (emphasis, x, ..) in numbered.iter().rev() {
            let (y, tick) = ([top, bottom], [top, base + 8.0]);
            match emphasis {
                Emphasis::Plain => scene.upright(*x, tick, 1.0, c.tdc),
                Emphasis::Sync => scene.upright(*x, tick, 1.0, c.soft_ink),
                Emphasis::Called => scene.dashed(*x, y, heavy, 8.0, c.ink),
                Emphasis::Leaking => scene.upright(*x, y, heavy, c.ink),
            }
        }
        for (emphasis, x, half, text) in &numbered {
            emphasis.boxed(scene, text, NUMBER, around(*x, *half), row);
        }
        numbered.len() == self.tdcs.len()
    }

    /// The leaking cylinders that have a lag to show, ascending.
    fn leaking(&self) -> BTreeSet<u32> {
        let lags = self.events.iter().filter(|e| e.steepest_s.is_some());
        lags.map(|e| e.cylinder).collect()
    }

    /// Number of lanes for lags: one for each leaking cylinder that has some, up to three.
    fn lanes(&self) -> usize {
        self.leaking().len().min(MOST_LANES)
    }

    /// Height of all lanes for lags.
    pub fn lanes_height(&self) -> f64 {
        LANE * self.lanes() as f64
    }

    /// Draws the arrow of each leak event from TDC to steepest rise, with its lag, in lanes
    /// below `top`; from the arrow's head a dashed line falls to `bottom`. Whether every arrow has its words.
    pub fn lags(&self, scene: &mut Scene, time: &Axis, [top, bottom]: [f64; 2]) -> bool {
        let leaking = self.leaking();
        let mut lanes: Vec<Row> = (0..self.lanes()).map(|_| Row::new()).collect();
        let mut lags = Vec::new();
        for event in &self.events {
            let Some(steepest_s) = event.steepest_s else {
                continue;
            };
            let ends = [time.at(event.tdc_s), time.at(steepest_s)];
            let [left, right] = time.pixels;
            let extent = [ends[0].min(ends[1]), ends[0].max(ends[1])];
            // Of an event at an edge, gas may be seen though its TDC and its rise are not.
            if extent[1] < left || extent[0] > right {
                continue;
            }
            let extent = extent.map(|x| x.clamp(left, right));
            let lane = leaking.range(..event.cylinder).count() % lanes.len();
            let start = top + LANE * lane as f64;
            let row = [start + 4.0, start + LANE];
            let tail = [row[0], row[1] - 4.0];
            arrow(scene, ends, tail, middle(row).round(), time.pixels);
            if (left..=right).contains(&ends[1]) {
                let y = [middle(row).round(), bottom];
                scene.dashed(ends[1], y, 1.0, 4.0, scene.colours.ink);
            }
            lanes[lane].take(extent);
            lags.push((event, extent, lane, row));
        }
        let mut all_written = true;
        for (event, extent, lane, row) in lags {
            let (Some(ms), Some(deg)) = (event.lag_ms, event.lag_deg) else {
                continue;
            };
            let lag = format!("{ms:.0} ms · {deg:.0}°");
            let named = format!("cyl. {}: {lag}", event.cylinder);
            // Several leaks are named, where there is room.
            let texts = [named, lag];
            all_written &= texts[usize::from(leaking.len() == 1)..]
                .iter()
                .any(|text| write_beside(scene, time, text, extent, row, &mut lanes[lane]));
        }
        all_written
    }
}

/// Writes the title of the strip below `top`, and whether something was left out.
pub(super) fn strip_title(scene: &mut Scene, x: [f64; 2], top: f64, all_labelled: bool) {
    let style = scene.plain(NOTE);
    let bold = scene.bold(NOTE).coloured(style.colour);
    let base = top + style.ascent();
    let title = "Cylinder at compression TDC";
    scene.write(title, bold, [x[0], base], HPos::Left);
    if !all_labelled {
        let note = "not every mark has room for its words; a shorter span shows more";
        scene.write(note, style, [x[1], base], HPos::Right);
    }
}

/// Writes words after an extent, or before it; whether there was room.
fn write_beside(
    scene: &mut Scene,
    time: &Axis,
    text: &str,
    [from, to]: [f64; 2],
    row: [f64; 2],
    taken: &mut Row,
) -> bool {
    let style = scene.plain(NOTE).coloured(scene.colours.ink);
    let (gap, margin) = (9.0, 9.0 / 2.0);
    for (anchor, x) in [(HPos::Left, to + gap), (HPos::Right, from - gap)] {
        let words = Words::new(text, style, [x, style.base(middle(row))], anchor);
        let [start, end] = words.extent();
        let ground = [start - margin, end + margin];
        if ground[0] > time.pixels[0] && ground[1] < time.pixels[1] && taken.take(ground) {
            // Lines pass behind the lane.
            let y = [row[0], row[1] - 3.0];
            scene.on_ground(words, margin, y, scene.colours.panel);
            return true;
        }
    }
    false
}

/// An arrow from a bar across its tail to its head, of which only what lies within two edges is drawn.
pub(super) fn arrow(
    scene: &mut Scene,
    [tail, head]: [f64; 2],
    bar: [f64; 2],
    y: f64,
    [left, right]: [f64; 2],
) {
    let ink = scene.colours.ink;
    let shaft = [tail.min(head), tail.max(head)].map(|x| x.clamp(left, right));
    scene.level(y, shaft, 3.0, ink);
    if (left..=right).contains(&tail) {
        scene.upright(tail, bar, 3.0, ink);
    }
    if (left..=right).contains(&head) {
        let (length, half) = (12.0, 7.0);
        let back = head - (head - tail).clamp(-length, length);
        scene.triangle([[head, y], [back, y - half], [back, y + half]], ink);
    }
}
