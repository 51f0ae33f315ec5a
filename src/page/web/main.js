// The desk: one capture lies on it, and everything else looks at it.

import { clamp, decimals, fixed } from "./arithmetic.js";
import { factor } from "./aids.js";
import { Calls } from "./calls.js";
import { Chart } from "./chart.js";
import { Controls } from "./controls.js";
import { Cursors } from "./cursors.js";
import { byId, make } from "./element.js";
import { Hand } from "./hand.js";
import { Handles } from "./handles.js";
import { listen } from "./keys.js";
import { Readings } from "./readings.js";
import { unpack } from "./samples.js";
import { tellStory } from "./story.js";
import { Strip } from "./strip.js";
import { Trace } from "./trace.js";
import { View } from "./view.js";

/** One capture at a time, with its window, cursors and aids, which it keeps while others are looked at. */
class Desk {
  constructor(data) {
    Object.assign(this, { data, at: 0, view: null, traces: [], selected: null, here: null, story: null, pointedAt: null });
    this.cursors = new Cursors();
    this.drawn = { tdcs: true, gas: true, lag: true };
    this.opened = new Map();
    this.watchers = [];
  }

  get capture() {
    return this.data.captures[this.at];
  }

  /** Where one reads: the reading line, or else the middle. */
  get reading() {
    const { here, view } = this;
    return here !== null && here >= view.from && here <= view.to ? here : (view.from + view.to) / 2;
  }

  /** Tells everybody that something changed. */
  changed() {
    for (const watcher of this.watchers) watcher.show();
  }

  /** Puts a capture on the desk, as it was left. */
  async turn(at) {
    const capture = this.data.captures[at];
    this.wanted = at;
    let state = this.opened.get(at);
    if (!state) {
      const samples = await unpack(byId(`samples-${at}`).textContent, capture.frames);
      const traces = capture.channels.map((channel, i) => new Trace(channel, samples[i], capture.rate, this.data.units, capture.start));
      const view = new View(capture.start, capture.start + (capture.frames - 1) / capture.rate, capture.rate);
      if (capture.debrief) showEvent(view, capture.debrief);
      state = { traces, view, cursors: new Cursors(), selected: traces[0], here: null };
    }
    // Unpacking takes a moment, in which a hand may have turned on.
    if (this.wanted !== at) return;
    const before = this.opened.get(this.at);
    if (before) Object.assign(before, { selected: this.selected, here: this.here });
    this.opened.set(at, state);
    Object.assign(this, { at, ...state, story: capture.debrief, pointedAt: null });
    for (const watcher of this.watchers) watcher.open?.();
    this.changed();
  }

  turnTo(step) {
    const at = this.at + step;
    if (at >= 0 && at < this.data.captures.length) this.turn(at);
  }

  /** The strip of firings that the reader laid, or null. */
  get strip() {
    return this.cursors.strip(this.capture, this.traces, this.view);
  }

  /** Firings that can be pointed at: the reader's own, or else the truth's in a debrief. */
  get firings() {
    const told = this.story && this.drawn.tdcs ? this.story.tdcs : [];
    return this.strip?.list ?? told.map(([cylinder, time]) => ({ cylinder, time }));
  }

  get pointed() {
    return this.firings[this.pointedAt] ?? null;
  }

  setCursor(i, time) {
    this.cursors.times[i] = clamp(time, this.view.start, this.view.start + this.view.whole);
    this.changed();
  }

  setCycle(cycle) {
    this.cursors.cycle = cycle;
    this.changed();
  }

  /** Another cylinder fires at A: its mark lies as far ahead of its TDC as its kind of trace has it. */
  setSync(cylinder) {
    Object.assign(this.cursors, { sync: cylinder, cycle: cylinder !== null || this.cursors.cycle, ahead: null });
    this.changed();
  }

  setAhead(degrees) {
    this.cursors.ahead = degrees;
    this.changed();
  }

  showBetween() {
    if (!this.cursors.between) return;
    const [from, to] = [...this.cursors.times].sort((a, b) => a - b);
    this.view.show(from - (to - from) * 0.06, to + (to - from) * 0.06);
  }

  /** Takes all cursors off. */
  clear() {
    this.cursors.clear();
    this.pointedAt = null;
    for (const trace of this.traces) trace.levels.fill(null);
  }

  setLevel(trace, i, value) {
    this.selected = trace;
    trace.levels[i] = trace.count(value);
    this.changed();
  }

  /** Lays a level on the selected trace where the reading line crosses it. */
  layLevel(i) {
    const trace = this.selected;
    if (!trace) return;
    const frame = clamp(Math.round((this.reading - this.view.start) * this.capture.rate), 0, this.capture.frames - 1);
    trace.levels[i] = trace.series.values[frame];
  }

  /** Puts the reading line somewhere, and moves the window with it. */
  goTo(time) {
    const { view } = this;
    this.here = clamp(time, view.start, view.start + view.whole);
    if (this.here < view.from) view.pan(this.here - view.from);
    if (this.here > view.to) view.pan(this.here - view.to);
  }

  /** Moves the reading line by pixels of a usual sheet, by a sample at least. */
  step(pixels) {
    this.goTo(this.reading + pixels * Math.max(this.view.width / 800, 1 / this.capture.rate));
  }

  choose(step) {
    const shown = this.traces.filter((trace) => trace.shown);
    if (shown.length === 0) return;
    this.selected = shown[clamp(shown.indexOf(this.selected) + step, 0, shown.length - 1)];
  }

  hide() {
    if (!this.selected) return;
    if (this.selected.shown) {
      this.selected.shown = false;
    } else {
      for (const trace of this.traces) trace.shown = true;
    }
  }

  aid(change) {
    if (this.selected) change(this.selected);
  }

  scale(trace, times) {
    trace.scale = clamp(Math.abs(trace.scale * times) || 1, 0.05, 500);
  }

  /** Another unit; what was laid and shifted stays where it is. */
  setUnit(trace, unit) {
    trace.shift *= factor(trace.unit, unit);
    trace.unit = unit;
  }

  valueText(trace, value) {
    return `${fixed(value, decimals(trace.step))} ${trace.unit}`;
  }
}

/** A debrief begins at a cycle and a half around an event in the middle, so that the order is seen once whole. */
function showEvent(view, story) {
  const felt = story.events.filter((event) => event.steepest !== null && event.steepest < view.end);
  const event = felt[Math.floor(felt.length / 2)];
  if (!event) return;
  const own = story.tdcs.filter(([cylinder]) => cylinder === event.cylinder).map(([, time]) => time);
  const cycle = own.length > 1 ? (own.at(-1) - own[0]) / (own.length - 1) : view.whole;
  view.show(event.tdc - 0.9 * cycle, event.tdc + 0.6 * cycle);
}

/** Work order, cautions and the choice among captures. */
class Folder {
  constructor(desk, data) {
    Object.assign(this, { desk, data });
    const select = byId("capture");
    data.captures.forEach((capture, i) => select.append(make("option", { value: i }, capture.name)));
    select.addEventListener("change", () => desk.turn(Number(select.value)));
    byId("previous").addEventListener("click", () => desk.turnTo(-1));
    byId("next").addEventListener("click", () => desk.turnTo(1));
    byId("chooser").hidden = data.captures.length < 2;
  }

  open() {
    const { capture, at } = this.desk;
    byId("name").textContent = capture.name;
    byId("name").hidden = this.data.title === capture.name;
    byId("capture").value = at;
    byId("previous").disabled = at === 0;
    byId("next").disabled = at === this.data.captures.length - 1;
    const count = capture.order.join("-");
    byId("chart").setAttribute("aria-label", `Traces of ${capture.name}, firing order ${count}. Arrow keys move along the run, the question mark lists all keys.`);
    byId("work").replaceChildren(...capture.work.map(([term, words]) => make("div", {}, make("dt", {}, term), make("dd", {}, words))));
    byId("cautions").replaceChildren(...capture.cautions.map((caution) => make("li", {}, caution)));
  }

  show() {}
}

/** The button that turns the page light or dark, against or with the reader's setting. */
function themes(chart) {
  const root = document.documentElement;
  const isDark = () => (root.style.colorScheme || (matchMedia("(prefers-color-scheme: dark)").matches ? "dark" : "light")) === "dark";
  const name = () => { byId("theme").textContent = isDark() ? "Light page" : "Dark page"; };
  byId("theme").addEventListener("click", () => {
    root.style.colorScheme = isDark() ? "light" : "dark";
    name();
    chart.recolour();
  });
  name();
}

async function start() {
  const data = JSON.parse(byId("data").textContent);
  const desk = new Desk(data);
  const chart = new Chart(desk, byId("chart"), byId("traces"), byId("overview"));
  new Handles(desk, chart);
  new Hand(desk, chart);
  new Strip(desk, chart, byId("firing"));
  listen(desk, byId("chart"));
  themes(chart);
  const answer = data.answer === "nothing" ? { open: () => desk.story && tellStory(desk), show() {} } : new Calls(desk, data);
  const sheet = { open() {}, show: () => chart.ask() };
  desk.watchers = [new Folder(desk, data), new Controls(desk), new Readings(desk), answer, sheet];
  await desk.turn(0);
  byId("trouble").hidden = true;
}

/** Says that what the file holds cannot be shown. */
function tellTrouble(error) {
  byId("trouble").hidden = false;
  byId("trouble").textContent = `What this file holds cannot be shown: ${error.message}. It may have been damaged; copy it again.`;
}

addEventListener("unhandledrejection", (event) => tellTrouble(event.reason));
start();
