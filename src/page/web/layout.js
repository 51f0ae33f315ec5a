// Places on the sheet: the cursors' lane above, a panel for each trace, strips and the time axis below.

import { clamp } from "./arithmetic.js";

/** Height of a lane that a finger takes hold of, pixels. */
export const GRIP = 48;
/** Height of the truth's own lane, pixels. */
export const TRUTH = 26;
const AXIS = 34;
const GAP = 6;
/** Height that the panels share if that gives each enough: for a usual sheet, and for a share of a wide one. */
const SHARED = 560;
const OF_WIDTH = 0.36;
/** What stands above and below the panels and is to be seen with them, pixels; a telephone keeps half its height. */
const AROUND = 262;
const OF_HEIGHT = 0.5;

/**
 * Where everything stands on a sheet of a width, in a window of a height: `count` is the number of panels,
 * and `strips` has the height of each strip below them, from the top, by its name.
 */
export function layOut(width, height, count, strips) {
  const narrow = width < 560;
  const left = narrow ? 48 : 64;
  const right = narrow ? 8 : 14;
  const heights = Object.values(strips).reduce((sum, h) => sum + h, 0);
  const seen = narrow ? OF_HEIGHT * height - GRIP - AXIS : height - AROUND;
  const shared = Math.min(Math.max(SHARED, width * OF_WIDTH), seen - heights);
  const each = clamp(Math.floor(shared / Math.max(count, 1)) - GAP, narrow ? 64 : 84, 260);
  const panels = Array.from({ length: count }, (_, i) => {
    const top = GRIP + i * (each + GAP);
    return { top, bottom: top + each };
  });
  const bottom = GRIP + count * (each + GAP);
  const tops = {};
  let below = bottom;
  for (const [name, tall] of Object.entries(strips)) {
    tops[name] = below;
    below += tall;
  }
  return { width, left, plot: width - left - right, top: GRIP, bottom, panels, strips: tops, axis: below, height: below + AXIS };
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
