// How the crank turned along a run, as far as a trace tells it.

/** A mean over so long is one step of the clock, s: short beside the rush of current at key-on. */
const STEP = 0.0002;
/** Steps at the start of a run that must be at rest. */
const REST = 25;
/** Key-on reaches its extreme within so many steps; a compression takes longer. */
const RUSH = 50;
/** Share of the extreme that is no rest any more. */
const LEFT_REST = 0.1;

/** A crank that is taken to turn evenly: its angle is the time. */
export const EVEN = { angleAt: (time) => time, timeAt: (angle) => angle, name: null };

/** Means of so many neighbours each. */
function means(values, width) {
  const result = new Float64Array(Math.floor(values.length / width));
  for (let i = 0; i < result.length; i += 1) {
    let sum = 0;
    for (let j = i * width; j < (i + 1) * width; j += 1) sum += values[j];
    result[i] = sum / width;
  }
  return result;
}

/** Rest, extreme and the step of the extreme of a run that begins before key-on; null for another. */
function keyOn(steps) {
  if (steps.length <= REST + RUSH) return null;
  const rest = steps.subarray(0, REST).reduce((sum, v) => sum + v, 0) / REST;
  const away = steps.map((v) => Math.abs(v - rest));
  const at = away.indexOf(away.reduce((most, v) => Math.max(most, v), 0));
  const left = away.findIndex((v) => v > LEFT_REST * away[at]);
  return left >= REST && at - left <= RUSH ? { rest, at, extreme: steps[at] } : null;
}

/**
 * A clock that runs with the crank, from the starter's current or from the battery's voltage under it.
 *
 * A starter draws most while it stands, and in a straight line less the faster it turns (the direct-current
 * motor with a constant field, I = (V - K omega) / R: common textbooks, from memory). The voltage falls by
 * that current. So the speed goes with the distance of the trace from its extreme at key-on; its sum is the
 * angle, in a unit of its own that a cycle of 720 degrees will tell. Null for a run that does not show
 * key-on, or that is cut flat there by the input's range, `most` counts to either side.
 */
export function crankClock(values, rate, start, most, name) {
  const width = Math.max(Math.round(STEP * rate), 1);
  const steps = means(values, width);
  const key = keyOn(steps);
  if (!key || Math.abs(key.extreme) >= most) return null;
  const angles = new Float64Array(steps.length + 1);
  for (let i = 0; i < steps.length; i += 1) {
    const speed = i < key.at ? 0 : Math.max((key.extreme - steps[i]) / (key.extreme - key.rest), 0);
    angles[i + 1] = angles[i] + speed;
  }
  const seconds = width / rate;
  const end = steps.length;
  const angleAt = (time) => {
    const at = Math.min(Math.max((time - start) / seconds, 0), end);
    const i = Math.min(Math.floor(at), end - 1);
    return angles[i] + (angles[i + 1] - angles[i]) * (at - i);
  };
  const timeAt = (angle) => {
    let [low, high] = [0, end];
    while (high - low > 1) {
      const middle = (low + high) >> 1;
      if (angles[middle] <= angle) low = middle;
      else high = middle;
    }
    const grown = angles[high] - angles[low];
    return start + (low + (grown > 0 ? (angle - angles[low]) / grown : 0)) * seconds;
  };
  return { angleAt, timeAt, name };
}
