// The window of time that is seen.

import { clamp } from "./arithmetic.js";

/** Fewest samples that fill the whole width. */
const FEWEST = 10;

/** A window `from` to `to` on a run from `start` to `end`, s. */
export class View {
  constructor(start, end, rate) {
    this.start = start;
    this.end = end;
    // A run of one sample still has a width to be drawn in.
    this.whole = Math.max(end - start, 1 / rate);
    this.least = Math.min(FEWEST / rate, this.whole);
    this.fit();
  }

  get width() {
    return this.to - this.from;
  }

  get isFit() {
    return this.width >= this.whole * (1 - 1e-9);
  }

  /** Shows the whole run. */
  fit() {
    this.from = this.start;
    this.to = this.start + this.whole;
  }

  /** Shows a stretch, as near as the run allows. */
  show(from, to) {
    const width = clamp(to - from, this.least, this.whole);
    const middle = (from + to) / 2;
    this.from = clamp(middle - width / 2, this.start, this.start + this.whole - width);
    this.to = this.from + width;
  }

  /** Magnifies `times` around a time, which stays where it is seen. */
  zoom(times, at) {
    const width = clamp(this.width / times, this.least, this.whole);
    const share = (at - this.from) / this.width;
    const from = at - share * width;
    this.show(from, from + width);
  }

  /** Moves by seconds, as far as the run goes. */
  pan(seconds) {
    this.show(this.from + seconds, this.to + seconds);
  }
}
