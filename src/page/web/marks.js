// What is drawn over the traces: the reader's count, and in a debrief the TDCs, the gas and the lag.

import { across, LANE } from "./layout.js";

/** Least room between two numbers of a lane, pixels. */
const ROOM = 15;

/** A number in a lane: plain, or in a box of some colour. */
function numbered(paint, colours, x, top, text, form) {
  const middle = top + LANE / 2;
  paint.font = `${form === "plain" ? "" : "600 "}13px system-ui, sans-serif`;
  paint.textAlign = "center";
  paint.textBaseline = "middle";
  const half = Math.max(paint.measureText(text).width / 2 + 4, 9);
  const grounds = { leaking: [colours.mark, colours.ink], sync: [colours.ink, colours.ink], called: [colours.sheet, colours.ink] };
  if (form in grounds) {
    [paint.fillStyle, paint.strokeStyle] = grounds[form];
    paint.lineWidth = 1;
    paint.beginPath();
    paint.rect(x - half, top + 3, 2 * half, LANE - 6);
    paint.fill();
    paint.stroke();
  }
  paint.fillStyle = { leaking: colours.onMark, sync: colours.sheet }[form] ?? colours.ink;
  paint.fillText(text, x, middle + 0.5);
}

/** A line through all panels. */
function upright(paint, layout, x, colour, width, dash) {
  paint.strokeStyle = colour;
  paint.lineWidth = width;
  paint.setLineDash(dash);
  paint.beginPath();
  paint.moveTo(x, layout.top);
  paint.lineTo(x, layout.bottom - 6);
  paint.stroke();
  paint.setLineDash([]);
}

/** Marks within the window, each with its place. */
function seen(marks, layout, view) {
  const placed = marks.map((mark) => ({ ...mark, x: across(layout, view, mark.time) }));
  return placed.filter((m) => m.x >= layout.left - 1 && m.x <= layout.left + layout.plot + 1);
}

/** The reader's own count between the rulers: a dashed line and a number for each firing. */
export function drawCount(paint, colours, layout, view, marks) {
  let before = -Infinity;
  for (const mark of seen(marks, layout, view)) {
    upright(paint, layout, mark.x, colours.ink, 1, [2, 4]);
    if (mark.x - before < ROOM) continue;
    numbered(paint, colours, mark.x, layout.lanes.count, String(mark.cylinder), "plain");
    before = mark.x;
  }
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
      if (form !== "plain" || !crowded) {
        const plain = form === "plain" || form === "sync";
        upright(paint, layout, tdc.x, plain ? colours.line : colours.ink, form === "leaking" ? 1.5 : 1, form === "called" ? [6, 4] : []);
      }
      const text = form === "called" ? `${tdc.cylinder}\u2717` : String(tdc.cylinder);
      const room = form === "called" ? ROOM + 8 : ROOM + 3;
      if (taken.some((x) => Math.abs(x - tdc.x) < room)) continue;
      numbered(paint, colours, tdc.x, layout.lanes.tdc, text, form);
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
