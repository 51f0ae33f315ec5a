// Drawing one trace in its panel, and the axes.

import { decimals, fixed, span, ticks } from "./arithmetic.js";
import { across, down } from "./layout.js";

const FONT = "12px system-ui, sans-serif";
/** Room for one number of the time axis, pixels. */
const TICK_ROOM = 70;
/** Samples this far apart, pixels, are drawn as dots. */
const DOTS_FROM = 6;

/** The line of a trace within the window: least and greatest of each column, or every sample. */
export function drawTrace(paint, layout, panel, view, trace) {
  const { values, pyramid } = trace.series;
  const { gain, zero } = trace.line;
  const range = trace.range;
  const height = (count) => down(panel, range, zero + gain * count);
  const frameAt = (time) => (time - view.start) * trace.rate;
  const perPixel = (view.width * trace.rate) / layout.plot;
  paint.save();
  paint.beginPath();
  paint.rect(layout.left, panel.top, layout.plot, panel.bottom - panel.top);
  paint.clip();
  paint.strokeStyle = trace.channel.colour;
  paint.fillStyle = trace.channel.colour;
  paint.lineWidth = trace.channel.width;
  paint.lineJoin = "bevel";
  if (perPixel > 1) {
    // Upright bars, which a machine without a graphics card fills far faster than it strokes a jagged line.
    // The first sample of the next column ends this one, so that no step between them is lost.
    const wide = 1 / paint.getTransform().a;
    const thick = Math.round(trace.channel.width / wide) * wide;
    for (let x = 0; x < layout.plot; x += wide) {
      const first = Math.floor(frameAt(view.from + (x / layout.plot) * view.width));
      const extent = pyramid.extent(first, Math.floor(first + perPixel * wide) + 2);
      if (extent === null) continue;
      const top = Math.min(height(extent[0]), height(extent[1]));
      const tall = Math.abs(height(extent[0]) - height(extent[1]));
      paint.fillRect(layout.left + x, top - thick / 2, thick, tall + thick);
    }
  } else {
    paint.beginPath();
    const first = Math.max(Math.floor(frameAt(view.from)) - 1, 0);
    const end = Math.min(Math.ceil(frameAt(view.to)) + 2, values.length);
    const x = (frame) => across(layout, view, view.start + frame / trace.rate);
    for (let i = first; i < end; i += 1) paint.lineTo(x(i), height(values[i]));
    paint.stroke();
    if (1 / perPixel >= DOTS_FROM || values.length === 1) {
      for (let i = first; i < end; i += 1) {
        paint.beginPath();
        paint.arc(x(i), height(values[i]), 2.6, 0, 2 * Math.PI);
        paint.fill();
      }
    }
  }
  paint.restore();
}

/** Grid, frame and numbers of a panel, and its name in words. */
export function drawPanel(paint, colours, layout, panel, view, trace, selected) {
  const range = trace.range;
  const right = layout.left + layout.plot;
  const vertical = ticks(range[0], range[1], (panel.bottom - panel.top) / 30);
  paint.font = FONT;
  paint.lineWidth = 1;
  paint.textBaseline = "middle";
  paint.textAlign = "right";
  for (const value of vertical.values) {
    const y = Math.round(down(panel, range, value)) + 0.5;
    if (y < panel.top || y > panel.bottom) continue;
    paint.strokeStyle = colours.faint;
    paint.beginPath();
    paint.moveTo(layout.left, y);
    paint.lineTo(right, y);
    paint.stroke();
    if (y < panel.top + 7 || y > panel.bottom - 7) continue;
    paint.fillStyle = colours.soft;
    paint.fillText(fixed(value, vertical.decimals), layout.left - 6, y);
  }
  const horizontal = ticks(view.from, view.to, layout.plot / TICK_ROOM);
  paint.strokeStyle = colours.faint;
  for (const time of horizontal.values) {
    const x = Math.round(across(layout, view, time)) + 0.5;
    paint.beginPath();
    paint.moveTo(x, panel.top);
    paint.lineTo(x, panel.bottom);
    paint.stroke();
  }
  paint.strokeStyle = colours.line;
  paint.strokeRect(layout.left + 0.5, panel.top + 0.5, layout.plot - 1, panel.bottom - panel.top - 1);
  if (selected) {
    paint.fillStyle = colours.ink;
    paint.fillRect(layout.left - 3, panel.top, 3, panel.bottom - panel.top);
  }
}

/** A panel's words, over its trace: name, unit and whatever was done to it. */
export function drawName(paint, colours, layout, panel, trace) {
  const aids = [
    trace.inverted ? "inverted" : "",
    { dc: "", mean: "DC removed", ac: "AC 1 Hz" }[trace.coupling],
    trace.smooth > 0 ? `smoothed ${trace.smooth * 1000} ms` : "",
    trace.scale !== 1 ? `\u00d7${Number(trace.scale.toPrecision(3))}` : "",
  ].filter(Boolean);
  const text = [`${trace.channel.name}, ${trace.unit}`, ...aids].join(" \u00b7 ");
  paint.font = `600 ${FONT}`;
  paint.textAlign = "left";
  paint.textBaseline = "top";
  paint.lineJoin = "round";
  paint.lineWidth = 5;
  paint.strokeStyle = colours.sheet;
  paint.strokeText(text, layout.left + 8, panel.top + 5);
  paint.fillStyle = colours.ink;
  paint.fillText(text, layout.left + 8, panel.top + 5);
}

/** The time axis below all panels and strips. */
export function drawAxis(paint, colours, layout, view) {
  const { values } = ticks(view.from, view.to, layout.plot / TICK_ROOM);
  const step = values.length > 1 ? values[1] - values[0] : view.width;
  paint.font = FONT;
  paint.fillStyle = colours.soft;
  paint.textBaseline = "top";
  for (const time of values) {
    const x = across(layout, view, time);
    paint.textAlign = "center";
    const text = fixed(time, decimals(step));
    const half = paint.measureText(text).width / 2;
    if (x - half < layout.left - 30 || x + half > layout.width) continue;
    paint.fillText(text, x, layout.axis + 1);
  }
  paint.textAlign = "center";
  paint.fillText("Time, s", layout.left + layout.plot / 2, layout.axis + 15);
}

/** The interval between the cursors, drawn between them as a dimension on a drawing. */
export function drawInterval(paint, colours, layout, view, { times, between }) {
  const [from, to] = [...times].sort((a, b) => a - b).map((time) => across(layout, view, time));
  const [left, right] = [Math.max(from, layout.left), Math.min(to, layout.left + layout.plot)];
  const y = layout.top / 2;
  const text = span(between.seconds);
  paint.font = `600 ${FONT}`;
  const room = paint.measureText(text).width + 12;
  if (right - left < 14) return;
  const middle = (left + right) / 2;
  const half = right - left > room + 24 ? room / 2 : 0;
  paint.strokeStyle = colours.ink;
  paint.fillStyle = colours.ink;
  paint.lineWidth = 1;
  paint.beginPath();
  for (const [end, inner, shown, tip] of [[left, middle - half, left === from, 5], [right, middle + half, right === to, -5]]) {
    paint.moveTo(inner, y);
    paint.lineTo(end, y);
    if (!shown) continue;
    paint.lineTo(end + tip, y - 4);
    paint.moveTo(end, y);
    paint.lineTo(end + tip, y + 4);
  }
  paint.stroke();
  if (half === 0) return;
  paint.textAlign = "center";
  paint.textBaseline = "middle";
  paint.fillText(text, middle, y);
}
