// How smoothly the page moves: frames a second while six traces of 5 s at 100 kS/s are zoomed and dragged.
//
// Usage: node frames.js WATERJACKET
//
// Renders six-traces.yaml, opens its page in headless Chromium without a graphics card, and prints the figures.
// It is a measurement and not a test, but for a page that hardly moves at all.

import { execFileSync } from "node:child_process";
import { mkdtempSync, readFileSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join, resolve } from "node:path";
import { fileURLToPath } from "node:url";
import { launch, open } from "./browser.js";

const waterjacket = resolve(process.argv[2]);
const scenario = fileURLToPath(new URL("six-traces.yaml", import.meta.url));
/** The page moves for so long, ms. */
const LONG = 6000;

const folder = mkdtempSync(join(tmpdir(), "waterjacket-frames-"));
const chrome = await launch("chrome");
try {
  execFileSync(waterjacket, ["render", scenario, "--out", folder]);
  const card = JSON.parse(readFileSync(join(folder, "six-traces.card.json"), "utf8"));
  const size = [card.channels.length, card.sample_rate_hz, card.frames];
  if (String(size) !== "6,100000,500000") throw new Error(`it must be six traces of 5 s at 100 kS/s, not ${size}`);
  execFileSync(waterjacket, ["page", join(folder, "six-traces"), "--out", join(folder, "six.html")]);
  const { page } = await open(chrome, join(folder, "six.html"));
  const { frames, slowest, ms } = await page.evaluate(async (long) => {
    const canvas = document.getElementById("traces");
    const box = canvas.getBoundingClientRect();
    const began = performance.now();
    let [last, slow, count] = [began, 0, 0];
    for (let now = began; now < began + long; ) {
      // In for a while, along, and out again; every frame changes the window.
      const phase = (now - began) % 3000;
      const turn = phase < 1400 ? { deltaY: -12 } : phase < 1600 ? { deltaX: 25 } : { deltaY: 12 };
      canvas.dispatchEvent(new WheelEvent("wheel", { ...turn, clientX: box.left + 400, clientY: box.top + 80, cancelable: true }));
      now = await new Promise((done) => requestAnimationFrame(done));
      if (count > 0) slow = Math.max(slow, now - last);
      [last, count] = [now, count + 1];
    }
    return { frames: count, slowest: slow, ms: last - began };
  }, LONG);
  const rate = (frames / ms) * 1000;
  console.log(`frames.js: ${rate.toFixed(1)} frames a second over ${(ms / 1000).toFixed(1)} s, the slowest frame ${slowest.toFixed(0)} ms`);
  if (rate < 5) process.exitCode = 1;
} finally {
  await chrome.browser.close();
  rmSync(folder, { recursive: true, force: true });
}
