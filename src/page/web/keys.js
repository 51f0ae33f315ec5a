// The keys, each once: what it does and the words that list it.

import { byId, make } from "./element.js";

/** Magnification of one press. */
const ZOOM = 1.5;
/** Smoothings that one key goes through, s. */
export const SMOOTHINGS = [0, 0.0005, 0.001, 0.002, 0.005, 0.01, 0.02];
/** Couplings that one key goes through. */
export const COUPLINGS = [["dc", "as recorded"], ["mean", "DC removed"], ["ac", "AC, 1 Hz"]];

/** What comes after `value` in a list, round and round. */
function after(list, value) {
  return list[(list.indexOf(value) + 1) % list.length];
}

/** The keys by what `KeyboardEvent.key` calls them; `shown` is how the list calls them. */
const KEYS = [
  { keys: ["ArrowLeft"], shown: "\u2190", words: "back by a tenth of the window; with Shift by all of it", act: (desk, shift) => desk.view.pan(-desk.view.width * (shift ? 1 : 0.1)) },
  { keys: ["ArrowRight"], shown: "\u2192", words: "on by a tenth of the window; with Shift by all of it", act: (desk, shift) => desk.view.pan(desk.view.width * (shift ? 1 : 0.1)) },
  { keys: ["+", "="], shown: "+", words: "closer, around the reading line", act: (desk) => desk.view.zoom(ZOOM, desk.reading) },
  { keys: ["-", "_"], shown: "\u2212", words: "wider", act: (desk) => desk.view.zoom(1 / ZOOM, desk.reading) },
  { keys: ["f", "0"], shown: "F", words: "the whole run", act: (desk) => desk.view.fit() },
  { keys: ["Home"], shown: "Home", words: "to the start of the run", act: (desk) => desk.goTo(desk.view.start) },
  { keys: ["End"], shown: "End", words: "to the end of the run", act: (desk) => desk.goTo(desk.view.end) },
  { keys: [",", "<", ";"], shown: ",", words: "reading line back by a pixel; with Shift by ten", act: (desk, shift) => desk.step(shift ? -10 : -1) },
  { keys: [".", ">", ":"], shown: ".", words: "reading line on by a pixel; with Shift by ten", act: (desk, shift) => desk.step(shift ? 10 : 1) },
  { keys: ["a"], shown: "A", words: "cursor A to the reading line", act: (desk) => desk.setCursor(0, desk.reading) },
  { keys: ["b"], shown: "B", words: "cursor B to the reading line", act: (desk) => desk.setCursor(1, desk.reading) },
  { keys: ["c"], shown: "C", words: "A to B is one engine cycle, or is not", act: (desk) => desk.setCycle(!desk.cursors.cycle) },
  { keys: ["g"], shown: "G", words: "to the strip of firing intervals; there \u2190 and \u2192 go from tick to tick, Enter lays the reading line on one", act: () => byId("firing").focus() },
  { keys: ["z"], shown: "Z", words: "what lies between the cursors fills the window", act: (desk) => desk.showBetween() },
  { keys: ["1"], shown: "1", words: "level cursor 1 of the chosen trace to its value at the reading line", act: (desk) => desk.layLevel(0) },
  { keys: ["2"], shown: "2", words: "level cursor 2 likewise", act: (desk) => desk.layLevel(1) },
  { keys: ["x"], shown: "X", words: "take all cursors off", act: (desk) => desk.clear() },
  { keys: ["ArrowUp"], shown: "\u2191", words: "choose the trace above", act: (desk) => desk.choose(-1) },
  { keys: ["ArrowDown"], shown: "\u2193", words: "choose the trace below", act: (desk) => desk.choose(1) },
  { keys: ["h"], shown: "H", words: "hide the chosen trace; once more shows all", act: (desk) => desk.hide() },
  { keys: ["i"], shown: "I", words: "invert the chosen trace", act: (desk) => desk.aid((t) => { t.inverted = !t.inverted; }) },
  { keys: ["d"], shown: "D", words: "its DC: as recorded, removed, AC coupled", act: (desk) => desk.aid((t) => { t.coupling = after(COUPLINGS.map((c) => c[0]), t.coupling); }) },
  { keys: ["s"], shown: "S", words: "smooth it more, then not at all", act: (desk) => desk.aid((t) => { t.smooth = after(SMOOTHINGS, t.smooth); }) },
  { keys: ["u"], shown: "U", words: "its next unit", act: (desk) => desk.aid((t) => desk.setUnit(t, after(t.units, t.unit))) },
  { keys: ["PageUp"], shown: "Page Up", words: "its scale larger", act: (desk) => desk.aid((t) => desk.scale(t, 1.25)) },
  { keys: ["PageDown"], shown: "Page Down", words: "its scale smaller", act: (desk) => desk.aid((t) => desk.scale(t, 0.8)) },
  { keys: ["r"], shown: "R", words: "it is shown as it was recorded", act: (desk) => desk.aid((t) => t.reset()) },
  { keys: ["[", "p"], shown: "P", words: "the previous capture", act: (desk) => desk.turnTo(-1) },
  { keys: ["]", "n"], shown: "N", words: "the next capture", act: (desk) => desk.turnTo(1) },
  { keys: ["?"], shown: "?", words: "these words", act: () => byId("keys").showModal() },
];

/** Does what a key does; false for one that does nothing. */
function press(desk, key, shift) {
  const found = KEYS.find(({ keys }) => keys.includes(key.length === 1 ? key.toLowerCase() : key));
  if (!found || !desk.view) return false;
  found.act(desk, shift);
  desk.changed();
  return true;
}

/** Listens on the sheet, and to the buttons that do what a key does. */
export function listen(desk, box) {
  box.addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    if (press(desk, event.key, event.shiftKey)) event.preventDefault();
  });
  for (const element of document.querySelectorAll("[data-key]")) {
    element.addEventListener("click", () => press(desk, element.dataset.key, false));
  }
  byId("help").addEventListener("click", () => byId("keys").showModal());
  for (const { shown, words } of KEYS) {
    byId("keys-list").append(make("tr", {}, make("th", { scope: "row" }, make("kbd", {}, shown)), make("td", {}, words)));
  }
}
