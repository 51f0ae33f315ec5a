// The marks of a sync: where a coil trigger, or the pressure in a cylinder, rises.

/** A mark begins at a half of the greatest height, and has ended at a quarter. */
const BEGINS = 0.5;
const ENDS = 0.25;
/** More marks than this are noise, and no sync. */
const MOST = 2000;

/** Times at which a trace rises through half its height, s; an inverted one falls. */
export function syncMarks(values, rate, start, mean) {
  let [low, high] = [Infinity, -Infinity];
  for (const value of values) {
    if (value < low) low = value;
    if (value > high) high = value;
  }
  const inverted = mean - low > high - mean;
  const [rest, height] = inverted ? [high, low - high] : [low, high - low];
  const marks = [];
  // A run that begins within a mark does not show where that began.
  let armed = false;
  for (let i = 0; i < values.length && marks.length <= MOST; i += 1) {
    const share = (values[i] - rest) / height;
    if (armed && share >= BEGINS) marks.push(start + i / rate);
    if (share >= BEGINS) armed = false;
    else if (share < ENDS) armed = true;
  }
  return marks.length <= MOST ? marks : [];
}
