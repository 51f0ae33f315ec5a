// Times, levels and intervals: plain arithmetic, and numbers as text.

/** `value`, or the nearer end where it lies outside of `low` to `high`. */
export function clamp(value, low, high) {
  return Math.min(Math.max(value, low), high);
}

/**
 * What two times on a trace tell, in either order: seconds apart, how often a second, and the engine's
 * speed in rev/min if it is one turn of the crank, or one cycle of 720 degrees, which is two turns.
 */
export function interval(from, to) {
  const seconds = Math.abs(to - from);
  return { seconds, hertz: 1 / seconds, rpmOfTurn: 60 / seconds, rpmOfCycle: 120 / seconds };
}

/** The step of 1, 2 or 5 times a power of ten that puts at most `most` ticks on `span`. */
function niceStep(span, most) {
  const rough = span / Math.max(most, 1);
  const power = 10 ** Math.floor(Math.log10(rough));
  const factor = [1, 2, 5, 10].find((f) => f * power >= rough * (1 - 1e-9));
  return factor * power;
}

/** Multiples of a nice step within `low` to `high`, and the decimals that tell them apart. */
export function ticks(low, high, most) {
  if (!(high > low)) return { values: [], decimals: 0 };
  const step = niceStep(high - low, most);
  const first = Math.ceil(low / step - 1e-9) + 0;
  const last = Math.floor(high / step + 1e-9);
  const values = [];
  for (let i = first; i <= last; i += 1) values.push(i * step);
  return { values, decimals: decimals(step) };
}

/** Decimals that show a change of `step`. */
export function decimals(step) {
  return step > 0 ? clamp(Math.ceil(-Math.log10(step) - 1e-9), 0, 9) : 0;
}

/** A number with so many decimals and a true minus sign; a dash for none. */
export function fixed(value, places) {
  if (value === null || !Number.isFinite(value)) return "\u2013";
  const text = Math.abs(value).toFixed(places);
  return value < 0 && Number(text) !== 0 ? `\u2212${text}` : text;
}

/** A number with three or more significant digits. */
export function significant(value, digits = 4) {
  if (value === null || !Number.isFinite(value)) return "\u2013";
  if (value === 0) return "0";
  const whole = Math.floor(Math.log10(Math.abs(value))) + 1;
  return fixed(value, clamp(digits - whole, 0, 9));
}

/** A span of time in s, ms or \u00b5s, whichever reads best. */
export function span(seconds, digits = 4) {
  const size = Math.abs(seconds);
  if (size >= 1) return `${significant(seconds, digits)} s`;
  if (size >= 1e-3 || size === 0) return `${significant(seconds * 1e3, digits)} ms`;
  return `${significant(seconds * 1e6, digits)} \u00b5s`;
}
