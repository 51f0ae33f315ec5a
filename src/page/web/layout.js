// Places on the sheet: lanes above, a panel for each trace, the time axis below.

import { clamp } from "./arithmetic.js";

/** Heights of the lanes above the panels and of the axis below them, pixels. */
export const LANE = 24;
const AXIS = 34;
const GAP = 6;
/** Height that the panels share if that gives each enough: for a usual sheet, and for a share of a wide one. */
const SHARED = 560;
const OF_WIDTH = 0.36;

/**
 * Where everything stands on a sheet of a width: `lanes` names the lanes in use, from the top, and
 * `count` is the number of panels.
 */
export function layOut(width, count, lanes) {
  const narrow = width < 560;
  const left = narrow ? 46 : 64;
  const right = narrow ? 8 : 14;
  const shared = Math.max(SHARED, width * OF_WIDTH);
  const each = clamp(Math.floor(shared / Math.max(count, 1)), narrow ? 92 : 104, 260);
  const top = lanes.length * LANE;
  const panels = Array.from({ length: count }, (_, i) => ({
    top: top + i * (each + GAP),
    bottom: top + i * (each + GAP) + each,
  }));
  const bottom = top + count * (each + GAP);
  const laneTops = Object.fromEntries(lanes.map((name, i) => [name, i * LANE]));
  return { width, left, plot: width - left - right, top, bottom, panels, lanes: laneTops, height: bottom + AXIS };
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
