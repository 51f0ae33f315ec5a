// The debrief beside the traces: the verdict, the story, and what of it is drawn.

import { byId, make, tick } from "./element.js";

/** Fills the place of the answer with what happened. */
export function tellStory(desk) {
  const { story } = desk;
  const parts = [make("h3", {}, story.title)];
  if (story.verdict) {
    const { call, verdict, sentence } = story.verdict;
    parts.push(make("p", { className: "note" }, make("strong", {}, `Called ${call}: ${verdict}.`), ` ${sentence}`));
  }
  const words = { tdcs: "TDCs", gas: "Gas passing", lag: "Lag" };
  const ticks = Object.entries(words).map(([name, text]) => tick(text, desk.drawn[name], (drawn) => {
    desk.drawn[name] = drawn;
    desk.changed();
  }));
  parts.push(make("div", { className: "row screen", role: "group", "aria-label": "Drawn into the traces" }, ...ticks));
  const legend = "In the lane TDC: a number in a filled yellow box leaks, a number on dark is the sync, a crossed one was called and does not leak; pointed at, a tick leads its cylinder's TDCs through the traces. While gas passes, the neck traces are shaded; an arrow runs from the leaking TDC to the steepest rise.";
  parts.push(make("p", { className: "soft" }, legend));
  for (const [heading, text] of story.words) {
    if (heading !== "Before you do this on a car") parts.push(make("h3", {}, heading), make("p", {}, text));
  }
  byId("answer").replaceChildren(...parts);
  // What happened comes before what could still be measured.
  document.querySelector(".readings").after(byId("answer"));
}
