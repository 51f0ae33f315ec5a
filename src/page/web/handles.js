// Grips of the time and level cursors: to be dragged, or moved by the arrow keys.

import { fixed } from "./arithmetic.js";
import { CURSORS } from "./cursors.js";
import { make } from "./element.js";
import { across, down, GRIP, timeAt, valueAt } from "./layout.js";

/** Arrow keys, each with its direction along the time axis and up the value axis. */
const ARROWS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] };

/** The four grips beside the panels: A and B for the time, 1 and 2 for the levels of the selected trace. */
export class Handles {
  constructor(desk, chart) {
    Object.assign(this, { desk, chart });
    this.cursors = CURSORS.map((name, i) => this.grip("cursor", name, `Cursor ${name}`, (event) => this.dragCursor(i, event), (key, fast) => this.keyCursor(i, key, fast)));
    this.levels = [0, 1].map((i) => this.grip("level", String(i + 1), `Level cursor ${i + 1}`, (event) => this.dragLevel(i, event), (key, fast) => this.keyLevel(i, key, fast)));
    chart.whenDrawn.push(() => this.place());
  }

  grip(kind, text, label, onDrag, onKey) {
    const grip = make("div", { className: `handle ${kind}`, role: "slider", tabIndex: 0, hidden: true, "aria-label": label }, make("span", {}, text));
    grip.setAttribute("aria-orientation", kind === "cursor" ? "horizontal" : "vertical");
    grip.addEventListener("pointerdown", (event) => {
      grip.setPointerCapture(event.pointerId);
      event.preventDefault();
      grip.focus();
    });
    grip.addEventListener("pointermove", (event) => {
      if (grip.hasPointerCapture(event.pointerId)) onDrag(event);
    });
    grip.addEventListener("keydown", (event) => {
      if (!(event.key in ARROWS) || event.ctrlKey || event.metaKey || event.altKey) return;
      event.preventDefault();
      event.stopPropagation();
      onKey(ARROWS[event.key], event.shiftKey);
    });
    this.chart.box.append(grip);
    return grip;
  }

  dragCursor(i, event) {
    const x = event.clientX - this.chart.canvas.getBoundingClientRect().left;
    this.desk.setCursor(i, timeAt(this.chart.layout, this.desk.view, x));
  }

  /** One pixel a press, ten with Shift; never less than to the next sample. */
  keyCursor(i, [along, up], fast) {
    const { view, capture } = this.desk;
    const pixel = Math.max(view.width / this.chart.layout.plot, 1 / capture.rate);
    const time = this.desk.cursors.times[i] + (along + up) * pixel * (fast ? 10 : 1);
    this.desk.setCursor(i, time);
    if (time < view.from || time > view.to) view.pan(time < view.from ? time - view.from : time - view.to);
    this.desk.changed();
  }

  panel() {
    return this.chart.panels.find(({ trace }) => trace === this.desk.selected);
  }

  dragLevel(i, event) {
    const { trace, panel } = this.panel();
    const y = event.clientY - this.chart.canvas.getBoundingClientRect().top;
    this.desk.setLevel(trace, i, valueAt(panel, trace.range, y));
  }

  keyLevel(i, [along, up], fast) {
    const { trace, panel } = this.panel();
    const pixel = (trace.range[1] - trace.range[0]) / (panel.bottom - panel.top);
    this.desk.setLevel(trace, i, trace.value(trace.levels[i]) + (along + up) * pixel * (fast ? 10 : 1));
  }

  /** Puts every grip beside its cursor: those of the time above the panels, outward, so that both can be taken hold of. */
  place() {
    const { desk, chart } = this;
    const { view } = desk;
    this.cursors.forEach((grip, i) => {
      const time = desk.cursors.times[i];
      grip.hidden = time === null || time < view.from || time > view.to;
      if (grip.hidden) return;
      const x = across(chart.layout, view, time);
      // Outward, but never over the sheet's edge.
      const before = time < (desk.cursors.times[1 - i] ?? Infinity) || x + GRIP > chart.layout.width;
      grip.classList.toggle("after", !before);
      grip.style.left = `${before ? x - GRIP : x}px`;
      this.tell(grip, time, view.start, view.end, `${fixed(time, 5)} s`);
    });
    const own = this.panel();
    this.levels.forEach((grip, i) => {
      const count = own?.trace.levels[i] ?? null;
      const y = count === null ? NaN : down(own.panel, own.trace.range, own.trace.value(count));
      grip.hidden = !(y >= own?.panel.top && y <= own?.panel.bottom);
      if (grip.hidden) return;
      grip.style.top = `${y}px`;
      const value = own.trace.value(count);
      this.tell(grip, value, ...own.trace.range, `${desk.valueText(own.trace, value)} on ${own.trace.channel.name}`);
    });
  }

  tell(grip, now, least, most, text) {
    grip.setAttribute("aria-valuenow", now);
    grip.setAttribute("aria-valuemin", least);
    grip.setAttribute("aria-valuemax", most);
    grip.setAttribute("aria-valuetext", text);
  }
}
