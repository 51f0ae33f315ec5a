// Two time cursors, and the strip of firing intervals that a reader lays by them.

import { interval } from "./arithmetic.js";
import { EVEN } from "./crank.js";
import { SHORTEST, countFrom, cycles, firings, place } from "./firing.js";

/** More cycles than a run may have. */
const MOST_CYCLES = 10_000;

/** Names of the two time cursors. */
export const CURSORS = ["A", "B"];

/**
 * Crank degrees from what a sync marks to its TDC: a coil fires 8 before it (common practice while cranking,
 * and what a scenario has unless it says otherwise), the pressure in a cylinder is greatest 3 before it
 * (measured on this program's own cranking captures: it leaks past the rings).
 */
const AHEAD = { coil_trigger: 8, cylinder_pressure: 3 };

/** Channels that tell how the crank turned, the better one first. */
const CRANK = ["starter_current", "battery_voltage"];

/** Where the cursors lie, s, null where one is not laid, and what the reader says of them. */
export class Cursors {
  constructor() {
    this.times = [null, null];
    /** Whether A to B is taken for one engine cycle. */
    this.cycle = false;
    /** The cylinder that the reader says fires at A. */
    this.sync = null;
    /** Degrees from A to that cylinder's TDC, null for the usual ones of its trace. */
    this.ahead = null;
  }

  get bothLie() {
    return this.times[0] !== null && this.times[1] !== null;
  }

  /** The interval between them, null unless both lie apart. */
  get between() {
    const [a, b] = this.times;
    return this.bothLie && a !== b ? interval(a, b) : null;
  }

  /** Takes both off, and what was said of them. */
  clear() {
    Object.assign(this, { times: [null, null], cycle: false });
  }

  /** The trace that marks the sync which the reader named, or its companion on a shared coil. */
  syncTrace({ order, paired }, traces) {
    const marking = (cylinder) => traces.find(({ channel }) => channel.cylinder === cylinder && channel.measures in AHEAD);
    const companion = order[(order.indexOf(this.sync) + order.length / 2) % order.length];
    return marking(this.sync) ?? (paired ? marking(companion) : undefined);
  }

  /** Degrees from A to the TDC of the sync. */
  aheadOn(capture, traces) {
    return this.ahead ?? AHEAD[this.syncTrace(capture, traces)?.channel.measures] ?? 0;
  }

  /**
   * The firings along the whole run, with the clock and the marks they were laid by; null unless the cursors
   * enclose a cycle of a known sync.
   */
  strip(capture, traces, { start, end }) {
    if (!this.cycle || this.sync === null || !(this.between?.seconds >= SHORTEST)) return null;
    const ahead = this.aheadOn(capture, traces);
    const key = [this.times, this.sync, ahead].join();
    if (this.laid?.key !== key) {
      const trace = this.syncTrace(capture, traces);
      const times = [...this.times].sort((a, b) => a - b);
      const clock = this.clock(traces, times, end);
      const angles = (list) => list.map((time) => clock.angleAt(time));
      const { starts, followed } = cycles(angles(times), angles(trace?.marks ?? []), angles([start, end]));
      const list = firings(starts, countFrom(capture.order, capture.intervals, this.sync), ahead, clock, [start, end]);
      this.laid = { key, list, clock, followed: followed ? trace.channel.name : null };
    }
    return this.laid;
  }

  /** How the crank turned, by the first trace that tells it; even if none does, or if it stood between the cursors. */
  clock(traces, [a, b], end) {
    const told = CRANK.flatMap((measures) => traces.filter(({ channel }) => channel.measures === measures && !channel.ac));
    const clock = told.map((trace) => trace.crank).find(Boolean) ?? EVEN;
    return clock.angleAt(b) - clock.angleAt(a) > clock.angleAt(end) / MOST_CYCLES ? clock : EVEN;
  }

  /** Where a time stands among the firings, null outside of them. */
  placeOf(time, strip) {
    return strip && time !== null ? place(time, strip.list, strip.clock) : null;
  }
}
