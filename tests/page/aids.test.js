import assert from "node:assert/strict";
import { test } from "node:test";
import { deflateSync } from "node:zlib";
import { factor, highPassed, mean, smoothed, unitsOf } from "../../src/page/web/aids.js";
import { unpack } from "../../src/page/web/samples.js";
import { Trace } from "../../src/page/web/trace.js";
import { View } from "../../src/page/web/view.js";

const near = (a, b, by = 1e-6) => assert.ok(Math.abs(a - b) <= by, `${a} is not ${b}`);

/** A pressure channel of 0.01 kPa a count, 1 kPa at count 0. */
const CHANNEL = { name: "Neck pressure", unit: "kPa", scale: 0.01, offset: 1, least: 4, colour: "#009e73", width: 1.5 };
const trace = (counts, units = "metric") => new Trace(CHANNEL, Int16Array.from(counts), 1000, units);

test("pressures are read in kPa, psi and bar, and nothing else is", () => {
  assert.deepEqual(unitsOf("kPa"), ["kPa", "psi", "bar"]);
  assert.deepEqual(unitsOf("bar"), ["bar", "kPa", "psi"]);
  assert.deepEqual(unitsOf("A"), ["A"]);
  // 1 psi is 6.894757 kPa: NIST Special Publication 811, appendix B.8.
  near(6.894757 * factor("kPa", "psi"), 1);
  near(factor("bar", "kPa"), 100);
  near(factor("psi", "psi"), 1);
});

test("a mean over neighbours keeps the mean, and shortens at the ends", () => {
  assert.deepEqual([...smoothed([0, 0, 9, 0, 0], 3)], [0, 3, 3, 3, 0]);
  assert.deepEqual([...smoothed([4, 8], 5)], [6, 6]);
  assert.deepEqual([...smoothed([7], 3)], [7]);
  near(mean(smoothed(Int16Array.from({ length: 1000 }, (_, i) => i % 10), 11)), 4.5, 0.02);
  near(mean([]), 0);
});

test("AC coupling lets a held value die away with its time constant", () => {
  // A step through a first-order high-pass at 1 Hz falls to 1/e after 1/(2 pi) s.
  const step = Int16Array.from({ length: 3000 }, (_, i) => (i === 0 ? 0 : 1000));
  const passed = highPassed(step, 1000, 1);
  near(passed[1], 1000, 5);
  near(passed[1 + Math.round(1000 / (2 * Math.PI))], 1000 / Math.E, 5);
  assert.ok(Math.abs(passed[2999]) < 1);
  assert.deepEqual([...highPassed(Int16Array.from([500, 500]), 1000, 1)], [0, 0], "it begins at rest");
});

test("value and count are each other's inverse under every aid", () => {
  const t = trace([0, 100, 200, 100, 0]);
  near(t.at(2), 3);
  for (const inverted of [false, true]) {
    for (const coupling of ["dc", "mean", "ac"]) {
      for (const unit of t.units) {
        Object.assign(t, { inverted, coupling, unit });
        near(t.count(t.value(123)), 123, 1e-9);
      }
    }
  }
  t.reset();
  t.unit = "kPa";
  t.inverted = true;
  near(t.at(2), -3);
  t.coupling = "mean";
  near(t.at(2), -(200 - 80) * 0.01);
  assert.equal(t.at(99), null, "past its end a trace has no value");
  assert.equal(trace([1], "us").unit, "psi");
});

test("a panel holds the trace, and shows a quiet one as quiet", () => {
  const t = trace([0, 100, 200]);
  let [low, high] = t.range;
  assert.ok(low < 1 && high > 3);
  const height = high - low;
  t.scale = 2;
  [low, high] = t.range;
  near(high - low, height / 2);
  t.shift = 1;
  near(t.range[0], low - 1);
  const [from, to] = trace([5, 5, 6]).range;
  assert.ok(to - from >= CHANNEL.least, "noise would be blown up to full height");
});

test("the window keeps what is under the pointer, and stays on the run", () => {
  const view = new View(0, 4, 50_000);
  view.zoom(4, 3);
  near((3 - view.from) / view.width, 0.75);
  near(view.width, 1);
  view.pan(100);
  near(view.to, 4);
  view.zoom(1e9, 2);
  near(view.width, 10 / 50_000, 1e-12);
  view.zoom(1e-9, 2);
  assert.deepEqual([view.from, view.to, view.isFit], [0, 4, true]);
  const one = new View(1, 1, 1000);
  assert.ok(one.width > 0, "a run of one sample has a width");
});

test("samples come back from their packed form, however far they jump", async () => {
  const channels = [[0, 32767, -32768, -1, 5], [7, 7, 7, 7, 7]];
  const bytes = Buffer.alloc(20);
  channels.flat().forEach((value, i) => {
    const before = i % 5 === 0 ? 0 : channels.flat()[i - 1];
    bytes.writeUInt16LE((value - before) & 0xffff, 2 * i);
  });
  const unpacked = await unpack(deflateSync(bytes).toString("base64"), 5);
  assert.deepEqual(unpacked.map((c) => [...c]), channels);
  await assert.rejects(unpack(deflateSync(bytes).toString("base64").slice(0, 12), 5));
});
