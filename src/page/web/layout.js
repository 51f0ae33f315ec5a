// Places on the sheet: the cursors' lane, the truth's TDCs, a panel for each trace, the strip and the time axis.

import { clamp } from "./arithmetic.js";

/** Height of a lane that a finger takes hold of, pixels. */
export const GRIP = 48;
const AXIS = 34;
const GAP = 6;
/** Height that the panels share if that gives each enough: for a usual sheet, and for a share of a wide one. */
const SHARED = 560;
const OF_WIDTH = 0.36;
/**
 * What stands around the cursors' lane and the panels and is to be seen with them, pixels; where the readings stand
 * below the sheet, it gets a share of the window.
 */
const AROUND = 214;
const OF_HEIGHT = 0.5;

/**
 * Where everything stands on a sheet of a width, in a window of a height with the readings `below` it or
 * beside: `count` is the number of panels, `tdc` whether the truth's TDCs have a lane above them, `firing` whether the reader's strip runs below.
 */
export function layOut(width, { height, below }, count, { tdc, firing }) {
  const narrow = width < 560;
  const left = narrow ? 48 : 64;
  const right = narrow ? 8 : 14;
  const top = GRIP + (tdc ? GRIP : 0);
  const strip = firing ? GRIP : 0;
  const seen = (below ? OF_HEIGHT * height - AXIS : height - AROUND) - top - strip;
  const shared = Math.min(Math.max(SHARED, width * OF_WIDTH), seen);
  const each = clamp(Math.floor(shared / Math.max(count, 1)) - GAP, narrow ? 64 : 84, 260);
  const panels = Array.from({ length: count }, (_, i) => ({ top: top + i * (each + GAP), bottom: top + i * (each + GAP) + each }));
  const bottom = top + count * (each + GAP);
  const strips = { ...(tdc && { tdc: GRIP }), ...(firing && { firing: bottom }) };
  const axis = bottom + strip;
  return { width, left, plot: width - left - right, top, bottom, panels, strips, axis, height: axis + AXIS };
}

/** A time's place across the sheet. */
export function across(layout, view, time) {
  return layout.left + ((time - view.from) / view.width) * layout.plot;
}

/** The time at a place across the sheet. */
export function timeAt(layout, view, x) {
  return view.from + ((x - layout.left) / layout.plot) * view.width;
}

/** A value's height in a panel. */
export function down(panel, [low, high], value) {
  return panel.bottom - ((value - low) / (high - low)) * (panel.bottom - panel.top);
}

/** The value at a height in a panel. */
export function valueAt(panel, [low, high], y) {
  return low + ((panel.bottom - y) / (panel.bottom - panel.top)) * (high - low);
}
