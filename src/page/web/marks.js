// What is drawn of the firings: the reader's own strip, and in a debrief the TDCs, the gas and the lag.

import { fixed } from "./arithmetic.js";
import { across, GRIP } from "./layout.js";

/** Least room between two numbers of a strip, pixels. */
const ROOM = 16;
/** Height of a number's box, and how far its middle stands from the far edge of a strip, pixels. */
const BOX = 20;
const EDGE = 14;
/** Lengths of a tick, pixels: of the sync, which begins a cycle, and of the others. */
const LONG = 18;
const SHORT = 10;

/** A number around a place: plain, or in a box of some colour. */
function numbered(paint, colours, x, middle, text, form) {
  paint.font = `${form === "plain" || form === "guessed" ? "" : "600 "}13px system-ui, sans-serif`;
  paint.textAlign = "center";
  paint.textBaseline = "middle";
  const half = Math.max(paint.measureText(text).width / 2 + 4, 9);
  const grounds = { leaking: [colours.mark, colours.ink], sync: [colours.ink, colours.ink], called: [colours.sheet, colours.ink], pointed: [colours.sheet, colours.focus] };
  if (form in grounds) {
    [paint.fillStyle, paint.strokeStyle] = grounds[form];
    paint.lineWidth = form === "pointed" ? 2 : 1;
    paint.beginPath();
    paint.rect(x - half, middle - BOX / 2, 2 * half, BOX);
    paint.fill();
    paint.stroke();
  }
  paint.fillStyle = { leaking: colours.onMark, sync: colours.sheet, guessed: colours.soft }[form] ?? colours.ink;
  paint.fillText(text, x, middle + 0.5);
}

/** An upright line from one height to another. */
function upright(paint, x, top, bottom, colour, width, dash = []) {
  paint.strokeStyle = colour;
  paint.lineWidth = width;
  paint.setLineDash(dash);
  paint.beginPath();
  paint.moveTo(x, top);
  paint.lineTo(x, bottom);
  paint.stroke();
  paint.setLineDash([]);
}

/** Marks within the window, each with its place. */
function seen(marks, layout, view) {
  const placed = marks.map((mark) => ({ ...mark, x: across(layout, view, mark.time) }));
  return placed.filter((m) => m.x >= layout.left - 1 && m.x <= layout.left + layout.plot + 1);
}

/**
 * The reader's strip: a tick at each TDC, hanging from the traces, and the cylinder's number where there is
 * room; first those of the sync. What only repeats a cycle is broken and pale.
 */
export function drawFirings(paint, colours, layout, view, list) {
  const top = layout.strips.firing;
  const shown = seen(list, layout, view);
  paint.fillStyle = colours.line;
  paint.fillRect(layout.left, top, layout.plot, 1);
  for (const { x, index, sure } of shown) {
    upright(paint, x, top, top + (index === 0 ? LONG : SHORT), sure ? colours.ink : colours.soft, index === 0 ? 2 : 1.5, sure ? [] : [2, 2]);
  }
  const crowded = shown.length > 1 && layout.plot / shown.length < ROOM;
  const taken = [];
  for (const { x, cylinder, index, sure } of shown.toSorted((a, b) => Math.sign(a.index) - Math.sign(b.index))) {
    if ((crowded && index > 0) || taken.some((other) => Math.abs(other - x) < ROOM)) continue;
    numbered(paint, colours, x, top + GRIP - EDGE, String(cylinder), index === 0 && sure ? "sync" : sure ? "plain" : "guessed");
    taken.push(x);
  }
}

/** Guides through the traces at every TDC of the cylinder whose tick is pointed at, and its number and time. */
export function drawGuides(paint, colours, layout, view, list, pointed) {
  for (const { x } of seen(list.filter(({ cylinder }) => cylinder === pointed.cylinder), layout, view)) {
    upright(paint, x, layout.top, layout.bottom, colours.focus, 1);
  }
  const [own] = seen([pointed], layout, view);
  if (!own) return;
  const { firing, tdc } = layout.strips;
  upright(paint, own.x, layout.top - (firing ? 0 : LONG), layout.bottom + (firing ? LONG : 0), colours.focus, 2);
  const text = `${pointed.cylinder}: ${fixed(pointed.time, 3)} s`;
  paint.font = "600 13px system-ui, sans-serif";
  const half = paint.measureText(text).width / 2 + 8;
  const x = Math.min(Math.max(own.x, layout.left + half), layout.left + layout.plot - half);
  numbered(paint, colours, x, firing ? firing + GRIP - EDGE : tdc + EDGE, text, "pointed");
}

/** What a cylinder's TDC looks like in a debrief. */
function formOf(cylinder, story) {
  if (story.leaking.includes(cylinder)) return "leaking";
  if (story.verdict?.cylinders.includes(cylinder)) return "called";
  return story.syncs.includes(cylinder) ? "sync" : "plain";
}

/** The compression TDC of each cylinder; where there is no room for all numbers, those that matter most. */
export function drawTdcs(paint, colours, layout, view, story) {
  const weights = ["leaking", "called", "sync", "plain"];
  const tdcs = seen(story.tdcs.map(([cylinder, time]) => ({ cylinder, time, form: formOf(cylinder, story) })), layout, view);
  const crowded = tdcs.length > 1 && layout.plot / tdcs.length < ROOM;
  const taken = [];
  for (const form of weights) {
    for (const tdc of tdcs.filter((t) => t.form === form)) {
      const told = form === "leaking" || form === "called";
      if (told) upright(paint, tdc.x, layout.top - SHORT, layout.bottom - 6, colours.ink, form === "leaking" ? 1.5 : 1, form === "called" ? [6, 4] : []);
      else if (!crowded) upright(paint, tdc.x, layout.top - SHORT, layout.top, colours.ink, 1.5);
      const text = form === "called" ? `${tdc.cylinder}\u2717` : String(tdc.cylinder);
      const room = form === "called" ? ROOM + 8 : ROOM + 3;
      if (taken.some((x) => Math.abs(x - tdc.x) < room)) continue;
      numbered(paint, colours, tdc.x, layout.strips.tdc + EDGE, text, form);
      taken.push(tdc.x);
    }
  }
}

/** The panels of neck traces shaded while gas passes. */
export function drawGas(paint, colours, layout, view, story, panels) {
  paint.fillStyle = colours.gas;
  for (const event of story.events) {
    const [from, to] = event.gas.map((time) => across(layout, view, time));
    const left = Math.max(from, layout.left);
    const width = Math.max(Math.min(to, layout.left + layout.plot) - left, to >= layout.left && from <= layout.left + layout.plot ? 1 : 0);
    if (width > 0) for (const panel of panels) paint.fillRect(left, panel.top, width, panel.bottom - panel.top);
  }
}

/** An arrow from each leaking TDC to the steepest rise that it caused, with the lag. */
export function drawLags(paint, colours, layout, view, story, panel) {
  const y = panel.bottom - 14;
  let before = -Infinity;
  paint.font = "600 12px system-ui, sans-serif";
  for (const event of story.events) {
    if (event.steepest === null) continue;
    const [from, to] = [event.tdc, event.steepest].map((time) => across(layout, view, time));
    if (Math.max(from, to) < layout.left || Math.min(from, to) > layout.left + layout.plot) continue;
    paint.strokeStyle = colours.ink;
    paint.fillStyle = colours.ink;
    paint.lineWidth = 1.5;
    const tip = to > from ? -5 : 5;
    paint.beginPath();
    paint.moveTo(from, y);
    paint.lineTo(to, y);
    paint.moveTo(to + tip, y - 4);
    paint.lineTo(to, y);
    paint.lineTo(to + tip, y + 4);
    paint.stroke();
    const width = paint.measureText(event.label).width;
    const x = Math.max(from, to) + 5;
    if (x - before < 4 || x + width > layout.left + layout.plot) continue;
    paint.textAlign = "left";
    paint.textBaseline = "middle";
    paint.lineWidth = 4;
    paint.strokeStyle = colours.sheet;
    paint.strokeText(event.label, x, y);
    paint.fillText(event.label, x, y);
    before = x + width;
  }
}
