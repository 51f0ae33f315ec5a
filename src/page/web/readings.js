// What the cursors, the strip and the reading line read, as tiles, as a table and as a sentence for the ear.

import { decimals, fixed, significant, span } from "./arithmetic.js";
import { byId, make } from "./element.js";

/** A pause after which a change is spoken, ms. */
const PAUSE = 500;

/** What stands where there is nothing to read. */
const NONE = "\u2013";

/** The time of one point, fine enough to tell one sample from the next. */
function timeText(time, rate) {
  return time === null ? NONE : `${fixed(time, decimals(1 / rate))} s`;
}

/** Where the reading line stands among the firings: term and value. */
function placeTiles(desk) {
  const place = desk.cursors.placeOf(desk.here, desk.strip);
  return [
    ["From the sync", place ? `${fixed(place.degrees, 0)}\u00b0` : NONE],
    ["Firing intervals", place ? fixed(place.intervals, 2) : NONE],
    ["Last TDC", place ? String(place.after) : NONE],
    ["Since it", place ? span(place.seconds, 3) : NONE],
  ];
}

/** The level cursors of the chosen trace, if one is laid: term and value. */
function levelTiles({ selected }) {
  const [one, two] = (selected?.levels ?? []).map((count) => selected.value(count));
  if (!selected || (one === null && two === null)) return [];
  const text = (value) => (value === null ? NONE : `${fixed(value, decimals(selected.step))} ${selected.unit}`);
  return [["Level 1", text(one)], ["Level 2", text(two)], ["2 \u2212 1", text(one === null || two === null ? null : two - one)]];
}

/** All tiles: term and value. */
function tilesOf(desk) {
  const { cursors, capture } = desk;
  const [a, b] = cursors.times;
  const between = cursors.between;
  return [
    ["Cursor A", timeText(a, capture.rate)],
    ["Cursor B", timeText(b, capture.rate)],
    ["A to B", between ? `${significant(between.seconds * 1e3, 5)} ms` : NONE],
    ["Frequency", between ? `${significant(between.hertz)} Hz` : NONE],
    ["As one turn", between ? `${significant(between.rpmOfTurn)} rpm` : NONE],
    ["As one cycle", between ? `${significant(between.rpmOfCycle)} rpm` : NONE],
    ["Here", timeText(desk.here, capture.rate)],
    ...placeTiles(desk),
    ...levelTiles(desk),
  ];
}

/** How the strip was laid, or what it still wants. */
function stripText(desk) {
  const { cursors, strip, capture } = desk;
  if (!cursors.cycle) return "Lay cursor A on a mark of the sync and B on the next mark of the same cylinder, and say so here: the firing intervals then stand below the traces.";
  if (!cursors.between) return "Lay cursor A on a mark of the sync, and cursor B on its next a cycle later.";
  if (cursors.sync === null) return "Say which cylinder fires at A, and the firing order is counted from it.";
  if (!strip) return "A and B lie too near for a cycle.";
  const start = capture.order.indexOf(cursors.sync);
  const order = [...capture.order.slice(start), ...capture.order.slice(0, start), cursors.sync];
  const follows = strip.followed
    ? `Each cycle starts at a mark of ${strip.followed}`
    : "No marks of the sync lie at both cursors, so the cycle from A to B is repeated";
  const turns = strip.clock.name
    ? `the crank turns as ${strip.clock.name} tells: a starter draws less the faster it turns`
    : "the crank is taken to turn evenly in between, which it does not quite on a starter, with a plug out or between uneven firings";
  const guessed = strip.list.some(({ sure }) => !sure) ? " Broken ticks have no mark on both sides." : "";
  return `Counted from ${cursors.sync}: ${order.join(" \u00b7 ")}. ${follows}; ${turns}.${guessed}`;
}

/** Keeps the readings up to date. */
export class Readings {
  constructor(desk) {
    this.desk = desk;
    this.spoken = "";
    byId("cycle").addEventListener("change", (event) => desk.setCycle(event.target.checked));
    byId("sync").addEventListener("change", (event) => desk.setSync(Number(event.target.value) || null));
    byId("ahead").addEventListener("change", (event) => desk.setAhead(Number.isFinite(event.target.valueAsNumber) ? event.target.valueAsNumber : null));
  }

  /** A new capture: its cylinders can be said to be the sync. */
  open() {
    const { order } = this.desk.capture;
    const cylinders = [...order].sort((a, b) => a - b);
    byId("sync").replaceChildren(make("option", { value: "" }, "?"), ...cylinders.map((c) => make("option", { value: c }, String(c))));
  }

  show() {
    const { desk } = this;
    const tiles = tilesOf(desk);
    const list = byId("tiles");
    if (list.childElementCount !== tiles.length) {
      list.replaceChildren(...tiles.map(([term]) => make("div", {}, make("dt", {}, term), make("dd"))));
    }
    tiles.forEach(([, value], i) => {
      const place = list.children[i].lastChild;
      place.textContent = value;
      place.className = value === NONE ? "none" : "";
    });
    byId("cycle").checked = desk.cursors.cycle;
    byId("sync").value = desk.cursors.sync ?? "";
    if (document.activeElement !== byId("ahead")) byId("ahead").value = desk.cursors.aheadOn(desk.capture, desk.traces);
    byId("place").textContent = stripText(desk);
    this.table();
    clearTimeout(this.timer);
    this.timer = setTimeout(() => this.speak(tiles), PAUSE);
  }

  table() {
    const { desk } = this;
    const { traces, cursors, view, capture } = desk;
    const frame = (time) => (time === null ? -1 : Math.min(Math.round((time - view.start) * capture.rate), capture.frames - 1));
    const times = [desk.here, ...cursors.times];
    const heads = ["Trace", "Here", "A", "B", "B \u2212 A"];
    const rows = traces.filter((t) => t.shown).map((trace) => {
      const [here, a, b] = times.map((time) => trace.at(frame(time)));
      const cells = [here, a, b, a === null || b === null ? null : b - a];
      return { trace, cells };
    });
    const table = byId("values");
    const key = `${heads.length} ${rows.map(({ trace }) => `${trace.channel.name} ${trace.unit}`).join()}`;
    if (this.key !== key) {
      this.key = key;
      const head = make("tr", {}, ...heads.map((words) => make("th", { scope: "col" }, words)));
      const body = rows.map(({ trace, cells }) => {
        const swatch = make("span", { className: "swatch", "aria-hidden": "true" });
        swatch.style.borderColor = trace.channel.colour;
        const name = make("th", { scope: "row" }, swatch, `${trace.channel.name}, ${trace.unit}`);
        return make("tr", {}, name, ...cells.map(() => make("td")));
      });
      table.replaceChildren(make("thead", {}, head), make("tbody", {}, ...body));
    }
    rows.forEach(({ trace, cells }, i) => {
      const row = table.tBodies[0].rows[i];
      cells.forEach((value, column) => {
        row.cells[column + 1].textContent = value === null ? NONE : fixed(value, decimals(trace.step));
      });
    });
  }

  /** Says what changed, once the hand rests. */
  speak(tiles) {
    const { desk } = this;
    const told = tiles.filter(([, value]) => value !== NONE).map(([term, value]) => `${term} ${value}`);
    const text = `${desk.selected ? `${desk.selected.channel.name}. ` : ""}${told.join(", ")}.`;
    if (text !== this.spoken) byId("said").textContent = text;
    this.spoken = text;
  }
}
