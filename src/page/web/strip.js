// The strip of firing intervals: pointed at, held, or walked along by keys, it shows where a cylinder's TDCs lie.

import { clamp, fixed } from "./arithmetic.js";
import { GRIP } from "./layout.js";

/** Where a key goes from a firing, among so many. */
const STEPS = { ArrowLeft: (at) => at - 1, ArrowDown: (at) => at - 1, ArrowRight: (at) => at + 1, ArrowUp: (at) => at + 1, Home: () => 0, End: (_, last) => last };

/** Listens over the strip that the chart draws. */
export class Strip {
  constructor(desk, chart, bar) {
    Object.assign(this, { desk, chart, bar });
    for (const kind of ["pointerdown", "pointermove"]) bar.addEventListener(kind, (event) => this.point(event));
    bar.addEventListener("pointerleave", () => this.leave());
    bar.addEventListener("pointercancel", () => this.leave());
    bar.addEventListener("focus", () => this.go(this.isHeld ? this.nearest(desk.reading) : null));
    bar.addEventListener("blur", () => this.set(null));
    bar.addEventListener("keydown", (event) => this.key(event));
    chart.whenDrawn.push(() => this.place());
  }

  /** Whether keys are on it; a finger that touched it and left holds nothing. */
  get isHeld() {
    return this.bar.matches(":focus-visible");
  }

  set(at) {
    if (this.desk.pointedAt === at) return;
    this.desk.pointedAt = at;
    this.desk.changed();
  }

  /** The firing nearest to a time. */
  nearest(time) {
    const { firings } = this.desk;
    const distance = (at) => Math.abs(firings[at].time - time);
    return firings.reduce((best, _, at) => (best !== null && distance(best) <= distance(at) ? best : at), null);
  }

  point(event) {
    const { desk, chart } = this;
    const x = event.clientX - chart.canvas.getBoundingClientRect().left - chart.layout.left;
    this.set(this.nearest(desk.view.from + (x / chart.layout.plot) * desk.view.width));
  }

  /** A pointer that leaves takes its guides along; keys that hold a tick keep them. */
  leave() {
    if (!this.isHeld) this.set(null);
  }

  /** To a firing, which is brought into the window. */
  go(at) {
    const { firings, view } = this.desk;
    if (at === null) return;
    const { time } = firings[at];
    if (time < view.from || time > view.to) view.show(time - view.width / 2, time + view.width / 2);
    this.set(at);
  }

  key(event) {
    const { desk } = this;
    if (event.ctrlKey || event.metaKey || event.altKey || desk.firings.length === 0) return;
    const last = desk.firings.length - 1;
    if (event.key in STEPS) {
      this.go(clamp(STEPS[event.key](desk.pointedAt ?? 0, last), 0, last));
    } else if (event.key === "Enter" && desk.pointed) {
      desk.goTo(desk.pointed.time);
      desk.changed();
    } else {
      return;
    }
    event.preventDefault();
    event.stopPropagation();
  }

  /** Lays the bar over what is drawn, and tells which tick is held. */
  place() {
    const { bar, desk, chart } = this;
    const { layout } = chart;
    const { firings, pointed } = desk;
    bar.hidden = firings.length === 0;
    if (bar.hidden) return;
    bar.style.top = `${layout.strips.firing ?? layout.strips.tdc}px`;
    bar.style.height = `${GRIP}px`;
    bar.setAttribute("aria-valuemin", 1);
    bar.setAttribute("aria-valuemax", firings.length);
    bar.setAttribute("aria-valuenow", (desk.pointedAt ?? this.nearest(desk.reading)) + 1);
    const told = pointed ? `cylinder ${pointed.cylinder}, TDC at ${fixed(pointed.time, 4)} s` : `${firings.length} TDCs`;
    bar.setAttribute("aria-valuetext", told);
  }
}
