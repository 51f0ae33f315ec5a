// Two rulers across time, and the engine cycle between them.

import { interval } from "./arithmetic.js";
import { countFrom, divide, place } from "./firing.js";

/** Names of the two rulers. */
export const RULERS = ["A", "B"];

/** Where the rulers lie, s; null where one is not laid. */
export class Rulers {
  constructor() {
    this.times = [null, null];
    /** Whether A to B is taken for one engine cycle. */
    this.cycle = false;
    /** The cylinder that the reader says fires at A. */
    this.sync = null;
  }

  get bothLie() {
    return this.times[0] !== null && this.times[1] !== null;
  }

  /** The interval between them, null unless both lie apart. */
  get between() {
    const [a, b] = this.times;
    return this.bothLie && a !== b ? interval(a, b) : null;
  }

  /** The firings between the rulers; none unless they enclose a cycle of a known sync. */
  marks(order, intervals) {
    if (!this.cycle || !this.between || this.sync === null) return [];
    const [from, to] = [...this.times].sort((a, b) => a - b);
    return divide(from, to, countFrom(order, intervals, this.sync));
  }

  /** Where a time stands in the cycle, null outside of it. */
  placeOf(time, order, intervals) {
    return place(time, this.marks(order, intervals));
  }
}
