// One trace: a channel of a capture, and the reading aids laid on it.

import { factor, highPassed, mean, smoothed, unitsOf } from "./aids.js";
import { crankClock } from "./crank.js";
import { Pyramid } from "./pyramid.js";
import { syncMarks } from "./sync.js";

/** Corner of the AC coupling that a reader may choose, Hz. */
const AC_CORNER = 1;
/** Free room below a trace in its panel, and above it for its name, as shares of the trace's height. */
const BELOW = 0.08;
const ABOVE = 0.24;

/** A channel with its samples and how it is read. */
export class Trace {
  constructor(channel, samples, rate, units, start = 0) {
    Object.assign(this, { channel, rate, start });
    this.raw = { values: samples, pyramid: new Pyramid(samples) };
    this.mean = mean(samples);
    this.shown = true;
    this.inverted = false;
    this.coupling = "dc";
    this.smooth = 0;
    this.scale = 1;
    this.shift = 0;
    this.unit = this.units.includes("psi") && units === "us" ? "psi" : channel.unit;
    /** Two levels in counts, null where none is laid. */
    this.levels = [null, null];
  }

  /** Whether it tells what comes through the coolant. */
  get isNeck() {
    return this.channel.measures === "neck_pressure" || this.channel.measures === "neck_pulse";
  }

  get units() {
    return unitsOf(this.channel.unit);
  }

  /** Times at which a sync marks, s. */
  get marks() {
    this.marked ??= syncMarks(this.raw.values, this.rate, this.start, this.mean);
    return this.marked;
  }

  /** The clock of the crank that the trace tells, null if it tells none. */
  get crank() {
    const step = this.channel.least / 40 / Math.abs(this.channel.scale);
    if (this.clock === undefined) this.clock = crankClock(this.raw.values, this.rate, this.start, 32767 - step, this.channel.name);
    return this.clock;
  }

  /** The counts to be drawn, with their pyramid: made when first asked for. */
  get series() {
    const coupled = this.coupling === "ac";
    if (!coupled && this.smooth === 0) return this.raw;
    const key = `${coupled} ${this.smooth}`;
    if (this.made?.key !== key) {
      let { values } = this.raw;
      if (coupled) values = highPassed(values, this.rate, AC_CORNER);
      const width = 2 * Math.round((this.smooth * this.rate) / 2) + 1;
      if (this.smooth > 0) values = smoothed(values, width);
      this.made = { key, values, pyramid: new Pyramid(values) };
    }
    return this.made;
  }

  /** What a count is worth: value = zero + gain * count, in the unit that is read. */
  get line() {
    const { scale, offset, unit } = this.channel;
    const gain = scale * factor(unit, this.unit) * (this.inverted ? -1 : 1);
    if (this.coupling === "ac") return { gain, zero: 0 };
    const zero = this.coupling === "mean" ? -this.mean * scale : offset;
    return { gain, zero: zero * factor(unit, this.unit) * (this.inverted ? -1 : 1) };
  }

  value(count) {
    const { gain, zero } = this.line;
    return count === null || count === undefined ? null : zero + gain * count;
  }

  count(value) {
    const { gain, zero } = this.line;
    return gain === 0 ? 0 : (value - zero) / gain;
  }

  /** The value at a frame, null outside of the capture. */
  at(frame) {
    return this.value(this.series.values[frame]);
  }

  /** The least change that the converter could show, in the unit that is read. */
  get step() {
    const steps = this.channel.least / 40;
    return Math.abs(steps * factor(this.channel.unit, this.unit));
  }

  /** Low and high end of the panel. */
  get range() {
    const [low, high] = this.series.pyramid.extent(0, this.series.values.length);
    const ends = [this.value(low), this.value(high)].sort((a, b) => a - b);
    const least = Math.abs(this.channel.least * factor(this.channel.unit, this.unit)) || 1;
    const height = Math.max(ends[1] - ends[0], least);
    const half = (height * (1 + BELOW + ABOVE)) / 2;
    const middle = (ends[0] + ends[1]) / 2 + ((ABOVE - BELOW) / 2) * height - this.shift;
    return [middle - half / this.scale, middle + half / this.scale];
  }

  /** Everything back as it was recorded. */
  reset() {
    Object.assign(this, { inverted: false, coupling: "dc", smooth: 0, scale: 1, shift: 0 });
  }
}
