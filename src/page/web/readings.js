// What the rulers and the reading line read, as tiles, as a table and as a sentence for the ear.

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

/** Tiles of the interval: term and value. */
function tilesOf(desk) {
  const { rulers, capture } = desk;
  const [a, b] = rulers.times;
  const between = rulers.between;
  return [
    ["Here", timeText(desk.here, capture.rate)],
    ["Ruler A", timeText(a, capture.rate)],
    ["Ruler B", timeText(b, capture.rate)],
    ["A to B", between ? `${significant(between.seconds * 1e3, 5)} ms` : NONE],
    ["Frequency", between ? `${significant(between.hertz)} Hz` : NONE],
    ["As one turn", between ? `${significant(between.rpmOfTurn)} rpm` : NONE],
    ["As one cycle", between ? `${significant(between.rpmOfCycle)} rpm` : NONE],
  ];
}

/** Where the reading line stands in the cycle between the rulers. */
function placeText(desk) {
  const { rulers, capture } = desk;
  if (!rulers.cycle) return "";
  if (!rulers.between) return "Lay ruler A on a firing of the sync cylinder and ruler B on its next.";
  if (rulers.sync === null) return "Say which cylinder fires at A, and the firing order is counted from it.";
  const order = rulers.marks(capture.order, capture.intervals).map((mark) => mark.cylinder);
  const place = desk.here === null ? null : rulers.placeOf(desk.here, capture.order, capture.intervals);
  const count = `Counted from ${rulers.sync}: ${order.join(" \u00b7 ")}.`;
  if (!place) return count;
  return `${count} Here: ${fixed(place.degrees, 0)}\u00b0 into the cycle, ${span(place.secondsAfter)} or ${fixed(place.degreesAfter, 0)}\u00b0 after the firing of ${place.after}.`;
}

/** Keeps the readings up to date. */
export class Readings {
  constructor(desk) {
    this.desk = desk;
    this.spoken = "";
    byId("cycle").addEventListener("change", (event) => desk.setCycle(event.target.checked));
    byId("sync").addEventListener("change", (event) => desk.setSync(Number(event.target.value) || null));
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
    byId("cycle").checked = desk.rulers.cycle;
    byId("sync").value = desk.rulers.sync ?? "";
    byId("place").textContent = placeText(desk);
    this.table();
    clearTimeout(this.timer);
    this.timer = setTimeout(() => this.speak(tiles), PAUSE);
  }

  table() {
    const { desk } = this;
    const { traces, rulers, view, capture } = desk;
    const frame = (time) => (time === null ? -1 : Math.min(Math.round((time - view.start) * capture.rate), capture.frames - 1));
    const times = [desk.here, ...rulers.times];
    const levelled = traces.some((t) => t.shown && t.levels.some((level) => level !== null));
    const heads = ["Trace", "Here", "A", "B", "B \u2212 A", ...(levelled ? ["Level 1", "Level 2", "2 \u2212 1"] : [])];
    const rows = traces.filter((t) => t.shown).map((trace) => {
      const [here, a, b] = times.map((time) => trace.at(frame(time)));
      const cells = [here, a, b, a === null || b === null ? null : b - a];
      if (levelled) {
        const [one, two] = trace.levels.map((count) => trace.value(count));
        cells.push(one, two, one === null || two === null ? null : two - one);
      }
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
    const levels = desk.selected?.levels ?? [];
    const [one, two] = levels.map((count) => desk.selected.value(count));
    if (one !== undefined && one !== null && two !== null) told.push(`levels apart ${desk.valueText(desk.selected, two - one)}`);
    const text = `${desk.selected ? `${desk.selected.channel.name}. ` : ""}${told.join(", ")}. ${placeText(desk)}`;
    if (text !== this.spoken) byId("said").textContent = text;
    this.spoken = text;
  }
}
