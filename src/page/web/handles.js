// Tabs of the rulers and levels: to be dragged, or moved by the arrow keys.

import { fixed } from "./arithmetic.js";
import { make } from "./element.js";
import { across, down, timeAt, valueAt } from "./layout.js";
import { RULERS } from "./rulers.js";

/** Arrow keys, each with its direction along the time axis and up the value axis. */
const ARROWS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] };

/** The four tabs over the sheet: A and B for the time, 1 and 2 for the levels of the selected trace. */
export class Handles {
  constructor(desk, chart) {
    Object.assign(this, { desk, chart });
    this.rulers = RULERS.map((name, i) => this.tab("ruler", name, `Ruler ${name}`, (event) => this.dragRuler(i, event), (key, fast) => this.keyRuler(i, key, fast)));
    this.levels = [0, 1].map((i) => this.tab("level", String(i + 1), `Level ${i + 1}`, (event) => this.dragLevel(i, event), (key, fast) => this.keyLevel(i, key, fast)));
    chart.onDrawn = () => this.place();
  }

  tab(kind, text, label, onDrag, onKey) {
    const tab = make("div", { className: `handle ${kind}`, role: "slider", tabIndex: 0, hidden: true, "aria-label": label }, text);
    tab.setAttribute("aria-orientation", kind === "ruler" ? "horizontal" : "vertical");
    tab.addEventListener("pointerdown", (event) => {
      tab.setPointerCapture(event.pointerId);
      event.preventDefault();
      tab.focus();
    });
    tab.addEventListener("pointermove", (event) => {
      if (tab.hasPointerCapture(event.pointerId)) onDrag(event);
    });
    tab.addEventListener("keydown", (event) => {
      if (!(event.key in ARROWS) || event.ctrlKey || event.metaKey || event.altKey) return;
      event.preventDefault();
      event.stopPropagation();
      onKey(ARROWS[event.key], event.shiftKey);
    });
    this.chart.box.append(tab);
    return tab;
  }

  dragRuler(i, event) {
    const x = event.clientX - this.chart.canvas.getBoundingClientRect().left;
    this.desk.setRuler(i, timeAt(this.chart.layout, this.desk.view, x));
  }

  /** One pixel a press, ten with Shift; never less than to the next sample. */
  keyRuler(i, [along, up], fast) {
    const { view, capture } = this.desk;
    const pixel = Math.max(view.width / this.chart.layout.plot, 1 / capture.rate);
    const time = this.desk.rulers.times[i] + (along + up) * pixel * (fast ? 10 : 1);
    this.desk.setRuler(i, time);
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

  /** Puts every tab where its ruler or level is drawn. */
  place() {
    const { desk, chart } = this;
    const { view } = desk;
    this.rulers.forEach((tab, i) => {
      const time = desk.rulers.times[i];
      tab.hidden = time === null || time < view.from || time > view.to;
      if (tab.hidden) return;
      tab.style.left = `${across(chart.layout, view, time)}px`;
      this.tell(tab, time, view.start, view.end, `${fixed(time, 5)} s`);
    });
    const own = this.panel();
    this.levels.forEach((tab, i) => {
      const count = own?.trace.levels[i] ?? null;
      const y = count === null ? NaN : down(own.panel, own.trace.range, own.trace.value(count));
      tab.hidden = !(y >= own?.panel.top && y <= own?.panel.bottom);
      if (tab.hidden) return;
      tab.style.top = `${y}px`;
      const value = own.trace.value(count);
      this.tell(tab, value, ...own.trace.range, `${desk.valueText(own.trace, value)} on ${own.trace.channel.name}`);
    });
  }

  tell(tab, now, least, most, text) {
    tab.setAttribute("aria-valuenow", now);
    tab.setAttribute("aria-valuemin", least);
    tab.setAttribute("aria-valuemax", most);
    tab.setAttribute("aria-valuetext", text);
  }
}
