// Reading aids: what a hand may do to a trace to see it better. None of them knows the answer.

/** Units in which a pressure may be read, per kPa (psi: NIST Special Publication 811, appendix B). */
const PER_KPA = { kPa: 1, psi: 1 / 6.894757293168, bar: 0.01 };

/** Units that a trace may be read in, the card's own first. */
export function unitsOf(unit) {
  return unit in PER_KPA ? [unit, ...Object.keys(PER_KPA).filter((u) => u !== unit)] : [unit];
}

/** The factor from one unit to another of the same trace. */
export function factor(from, to) {
  return from === to ? 1 : PER_KPA[to] / PER_KPA[from];
}

/** The mean of all values. */
export function mean(values) {
  let sum = 0;
  for (const value of values) sum += value;
  return values.length > 0 ? sum / values.length : 0;
}

/** A mean over `width` neighbours, an odd number, centred; fewer of them at both ends. */
export function smoothed(values, width) {
  const half = Math.floor(width / 2);
  const length = values.length;
  const result = new Float32Array(length);
  let sum = 0;
  for (let i = 0; i < Math.min(half, length); i += 1) sum += values[i];
  for (let i = 0; i < length; i += 1) {
    if (i + half < length) sum += values[i + half];
    if (i - half - 1 >= 0) sum -= values[i - half - 1];
    result[i] = sum / (Math.min(i + half, length - 1) - Math.max(i - half, 0) + 1);
  }
  return result;
}

/** A first-order high-pass by the bilinear transform, as AC coupling at the input is; it begins at rest. */
export function highPassed(values, rate, corner) {
  const k = Math.tan((Math.PI * corner) / rate);
  const gain = 1 / (1 + k);
  const pole = (1 - k) / (1 + k);
  const result = new Float32Array(values.length);
  let before = values[0] ?? 0;
  let out = 0;
  for (let i = 0; i < values.length; i += 1) {
    out = gain * (values[i] - before) + pole * out;
    before = values[i];
    result[i] = out;
  }
  return result;
}
