// The reading aids of each trace, as boxes, lists and numbers.

import { byId, button, choice, make, tick } from "./element.js";
import { COUPLINGS, SMOOTHINGS } from "./keys.js";

/** One aid of a trace: a label beside what is chosen. */
function labelled(words, control) {
  return make("label", { className: "pair" }, words, control);
}

/** A number that a reader types. */
function number(value, step, onChange) {
  const input = make("input", { type: "number", value, step });
  input.addEventListener("change", () => {
    if (Number.isFinite(input.valueAsNumber)) onChange(input.valueAsNumber);
  });
  return input;
}

/** The box of one trace. */
function box(desk, trace) {
  const swatch = make("span", { className: "swatch", "aria-hidden": "true" });
  swatch.style.borderColor = trace.channel.colour;
  const act = (change) => (value) => {
    desk.selected = trace;
    change(value);
    desk.changed();
  };
  const smoothings = SMOOTHINGS.map((s) => [s, s === 0 ? "none" : `${s * 1000} ms`]);
  const rows = [
    [
      tick("Show", trace.shown, act((shown) => { trace.shown = shown; })),
      tick("Invert", trace.inverted, act((inverted) => { trace.inverted = inverted; })),
      trace.units.length > 1 ? labelled("Unit", choice(trace.units.map((u) => [u, u]), trace.unit, act((unit) => { desk.setUnit(trace, unit); }))) : "",
    ],
    [
      labelled("DC", choice(COUPLINGS, trace.coupling, act((coupling) => { trace.coupling = coupling; }))),
      labelled("Smooth", choice(smoothings, trace.smooth, act((smooth) => { trace.smooth = Number(smooth); }))),
    ],
    [
      labelled("Scale \u00d7", number(Number(trace.scale.toPrecision(3)), "any", act((scale) => { desk.scale(trace, scale / trace.scale); }))),
      labelled(`Offset, ${trace.unit}`, number(Number(trace.shift.toPrecision(3)), "any", act((shift) => { trace.shift = shift; }))),
    ],
    [
      button("Level 1", act(() => desk.layLevel(0))),
      button("Level 2", act(() => desk.layLevel(1))),
      button("As recorded", act(() => trace.reset())),
    ],
  ];
  return make("fieldset", {}, make("legend", {}, swatch, trace.channel.name), ...rows.map((row) => make("div", { className: "row" }, ...row)));
}

/** What the boxes show of a trace; when it changes, they are made again. */
function state(trace) {
  return [trace.shown, trace.inverted, trace.unit, trace.coupling, trace.smooth, trace.scale, trace.shift].join();
}

/** Keeps the boxes in step with the traces, whoever changed them. */
export class Controls {
  constructor(desk) {
    Object.assign(this, { desk, states: [] });
  }

  open() {
    this.states = [];
    byId("aids").replaceChildren(...this.desk.traces.map((trace) => box(this.desk, trace)));
    this.states = this.desk.traces.map(state);
  }

  show() {
    this.desk.traces.forEach((trace, i) => {
      const now = state(trace);
      if (this.states[i] === now) return;
      this.states[i] = now;
      const old = byId("aids").children[i];
      const controls = (fieldset) => [...fieldset.querySelectorAll("input, select, button")];
      // The focus stays on the control that a hand just used.
      const held = controls(old).indexOf(document.activeElement);
      const fresh = box(this.desk, trace);
      old.replaceWith(fresh);
      if (held >= 0) controls(fresh)[held]?.focus({ preventScroll: true });
    });
  }
}
