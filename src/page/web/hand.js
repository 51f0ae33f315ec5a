// Wheel, pointer and fingers on the sheet and on the overview.

import { clamp } from "./arithmetic.js";
import { across, down, timeAt, valueAt } from "./layout.js";

/** How near a line must be to be taken hold of, pixels. */
const REACH = 7;
/** A pointer that moved less was a click, pixels. */
const STILL = 4;

/** Lets a hand move what is on the desk. */
export class Hand {
  constructor(desk, chart) {
    Object.assign(this, { desk, chart, pointers: new Map(), hold: null });
    const { canvas, overview } = chart;
    canvas.addEventListener("wheel", (event) => this.wheel(event), { passive: false });
    canvas.addEventListener("pointerdown", (event) => this.down(event));
    canvas.addEventListener("pointermove", (event) => this.move(event));
    for (const end of ["pointerup", "pointercancel"]) canvas.addEventListener(end, (event) => this.up(event));
    canvas.addEventListener("dblclick", (event) => this.twice(event));
    overview.addEventListener("pointerdown", (event) => {
      overview.setPointerCapture(event.pointerId);
      this.goTo(event);
    });
    overview.addEventListener("pointermove", (event) => {
      if (overview.hasPointerCapture(event.pointerId)) this.goTo(event);
    });
  }

  /** A pointer's place on the sheet, its time, and the panel it is on. */
  where(event) {
    const box = this.chart.canvas.getBoundingClientRect();
    const [x, y] = [event.clientX - box.left, event.clientY - box.top];
    const { layout } = this.chart;
    const on = this.chart.panels.find(({ panel }) => y >= panel.top && y <= panel.bottom);
    return { x, y, on, time: timeAt(layout, this.desk.view, x), beside: x < layout.left };
  }

  wheel(event) {
    const { desk, chart } = this;
    const { on, time, beside } = this.where(event);
    const lines = event.deltaMode === 1 ? 33 : 1;
    const turn = event.deltaY * lines;
    if (event.deltaX !== 0 && Math.abs(event.deltaX) > Math.abs(event.deltaY)) {
      desk.view.pan(((event.deltaX * lines) / chart.layout.plot) * desk.view.width);
    } else if (beside && on) {
      desk.scale(on.trace, Math.exp(-turn / 400));
    } else {
      // At its widest, the wheel is the page's again.
      if (turn > 0 && desk.view.isFit) return;
      desk.view.zoom(Math.exp(-turn / 300), time);
    }
    event.preventDefault();
    desk.changed();
  }

  down(event) {
    const { desk, chart } = this;
    if (event.button > 0) return;
    const place = this.where(event);
    chart.canvas.setPointerCapture(event.pointerId);
    chart.box.focus({ preventScroll: true });
    this.pointers.set(event.pointerId, place);
    if (this.pointers.size === 2) {
      this.hold = { kind: "pinch" };
      return;
    }
    const cursor = desk.cursors.times.findIndex((t) => t !== null && Math.abs(across(chart.layout, desk.view, t) - place.x) < REACH);
    const level = this.levelAt(place);
    this.hold = { kind: "run", start: place, from: desk.view.from, moved: false };
    if (cursor >= 0) Object.assign(this.hold, { kind: "cursor", cursor });
    else if (level) Object.assign(this.hold, level);
    else if (place.beside && place.on) Object.assign(this.hold, { kind: "shift", trace: place.on.trace, shift: place.on.trace.shift });
  }

  levelAt({ y, on, beside }) {
    if (!on || beside) return null;
    const { trace, panel } = on;
    const level = trace.levels.findIndex((c) => c !== null && Math.abs(down(panel, trace.range, trace.value(c)) - y) < REACH);
    return level >= 0 ? { kind: "level", trace, level } : null;
  }

  move(event) {
    const { desk, chart, hold } = this;
    const place = this.where(event);
    if (!this.pointers.has(event.pointerId)) {
      desk.here = clamp(place.time, desk.view.from, desk.view.to);
      const near = desk.cursors.times.some((t) => t !== null && Math.abs(across(chart.layout, desk.view, t) - place.x) < REACH);
      chart.canvas.style.cursor = near ? "ew-resize" : this.levelAt(place) || place.beside ? "ns-resize" : "";
      desk.changed();
      return;
    }
    if (hold?.kind === "pinch") this.pinch(event, place);
    if (hold?.start && !hold.moved) {
      const distance = Math.hypot(place.x - hold.start.x, place.y - hold.start.y);
      if (distance < STILL) return;
      hold.moved = true;
    }
    if (hold?.kind === "run") {
      const shift = ((hold.start.x - place.x) / chart.layout.plot) * desk.view.width;
      desk.view.show(hold.from + shift, hold.from + shift + desk.view.width);
    } else if (hold?.kind === "cursor") {
      desk.setCursor(hold.cursor, place.time);
    } else if (hold?.kind === "level") {
      const { panel } = chart.panels.find(({ trace }) => trace === hold.trace);
      desk.setLevel(hold.trace, hold.level, valueAt(panel, hold.trace.range, place.y));
    } else if (hold?.kind === "shift") {
      const { panel, trace } = hold.start.on;
      const perPixel = (trace.range[1] - trace.range[0]) / (panel.bottom - panel.top);
      trace.shift = hold.shift + (hold.start.y - place.y) * perPixel;
    }
    desk.changed();
  }

  /** Two fingers: what was between them stays between them. */
  pinch(event, place) {
    const { view } = this.desk;
    const others = [...this.pointers].filter(([id]) => id !== event.pointerId);
    const before = this.pointers.get(event.pointerId);
    if (others.length !== 1) return;
    const [, other] = others[0];
    const [was, is] = [before.x - other.x, place.x - other.x];
    if (Math.abs(was) > 8 && Math.abs(is) > 8) {
      view.zoom(clamp(Math.abs(is / was), 0.2, 5), timeAt(this.chart.layout, view, other.x));
    }
    this.pointers.set(event.pointerId, place);
  }

  up(event) {
    const { desk, hold } = this;
    this.pointers.delete(event.pointerId);
    if (hold?.start && !hold.moved && event.type === "pointerup") {
      const { on, time } = hold.start;
      if (on) desk.selected = on.trace;
      desk.here = clamp(time, desk.view.from, desk.view.to);
      desk.changed();
    }
    if (this.pointers.size === 0) this.hold = null;
  }

  twice(event) {
    const { on, beside } = this.where(event);
    if (beside && on) Object.assign(on.trace, { scale: 1, shift: 0 });
    else this.desk.view.fit();
    this.desk.changed();
  }

  goTo(event) {
    const { desk, chart } = this;
    const { layout } = chart;
    const x = event.clientX - chart.overview.getBoundingClientRect().left;
    const time = desk.view.start + ((x - layout.left) / layout.plot) * desk.view.whole;
    desk.view.show(time - desk.view.width / 2, time + desk.view.width / 2);
    desk.changed();
  }
}
