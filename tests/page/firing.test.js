import assert from "node:assert/strict";
import { test } from "node:test";
import { EVEN } from "../../src/page/web/crank.js";
import { Cursors } from "../../src/page/web/cursors.js";
import { countFrom, cycles, firings, place } from "../../src/page/web/firing.js";
import { Trace } from "../../src/page/web/trace.js";

const SIX = [1, 5, 3, 6, 2, 4];
const EVENLY = SIX.map(() => 120);
/** An odd-firing six: 150 and 90 degrees by turns, as the engine of lesson 20 has. */
const ODD = [150, 90, 150, 90, 150, 90];

const near = (a, b, by = 1e-9) => assert.ok(Math.abs(a - b) <= by, `${a} is not ${b}`);
const rounded = (list) => list.map((t) => Math.round(t * 1000));

test("the count starts at the sync and keeps the engine's order", () => {
  assert.deepEqual(countFrom(SIX, EVENLY, 1).map((c) => c.cylinder), SIX);
  const from6 = countFrom(SIX, EVENLY, 6);
  assert.deepEqual(from6.map((c) => c.cylinder), [6, 2, 4, 1, 5, 3]);
  assert.deepEqual(from6.map((c) => c.degrees), [0, 120, 240, 360, 480, 600]);
  assert.deepEqual(countFrom(SIX, EVENLY, 7), [], "a cylinder that is not there");
});

test("an odd-firing engine is counted unevenly, and differently from each sync", () => {
  assert.deepEqual(countFrom(SIX, ODD, 1).map((c) => c.degrees), [0, 150, 240, 390, 480, 630]);
  assert.deepEqual(countFrom(SIX, ODD, 5).map((c) => c.degrees), [0, 90, 240, 330, 480, 570]);
});

test("without marks the cycle between the cursors is repeated, and not sure", () => {
  const { starts, followed } = cycles([2, 2.7], [], [0.9, 3.5]);
  assert.equal(followed, false);
  assert.deepEqual(rounded(starts.map((s) => s.at)), [600, 1300, 2000, 2700, 3400, 4100]);
  assert.deepEqual(starts.map((s) => s.sure), [false, false, true, true, false, false]);
});

test("with marks at both cursors every cycle starts at its own, as far from it as A is", () => {
  // A slowing engine, with one mark missing.
  const marks = [0.5, 1.1, 1.72, 2.36, 3.7];
  const { starts, followed } = cycles([1.11, 1.735], marks, [0.2, 4]);
  assert.equal(followed, true);
  const at = rounded(starts.map((s) => s.at));
  assert.deepEqual(at, [-90, 510, 1110, 1730, 2370, 3010, 3710, 4410]);
  assert.deepEqual(starts.map((s) => s.sure), [false, true, true, true, true, false, true, false]);
});

test("a cursor that all but lies on a mark means the mark", () => {
  const { starts } = cycles([1.102, 1.735], [0.5, 1.1, 1.72], [0.4, 2]);
  assert.deepEqual(rounded(starts.map((s) => s.at)), [-100, 500, 1100, 1720, 2340]);
});

test("marks that lie at one cursor only, or none, are not followed", () => {
  assert.equal(cycles([1, 2], [1, 3], [0, 4]).followed, false);
  assert.equal(cycles([1, 2], [1.5, 2.5], [0, 4]).followed, false);
});

test("a shared coil's second mark of each cycle is passed over", () => {
  const marks = Array.from({ length: 12 }, (_, i) => 0.2 + 0.3 * i);
  const { starts } = cycles([0.8, 1.4], marks, [0.2, 3.4]);
  assert.deepEqual(rounded(starts.map((s) => s.at)), [200, 800, 1400, 2000, 2600, 3200, 3800]);
});

test("rows of odd marks come to an end", () => {
  const marks = Array.from({ length: 500 }, (_, i) => i * 0.0088);
  const { starts } = cycles([2, 2.01], marks, [0, 4.4]);
  assert.ok(starts.length < 1000, `${starts.length}`);
});

test("the strip runs along the whole run in firing order, ahead of no record and past none", () => {
  const starts = [0, 0.72, 1.44, 2.16].map((at) => ({ at, sure: true }));
  const list = firings(starts, countFrom(SIX, ODD, 1), 8, EVEN, [0.3, 2]);
  assert.deepEqual(list.slice(0, 4).map((f) => f.cylinder), [6, 2, 4, 1]);
  assert.deepEqual(rounded(list.slice(0, 4).map((f) => f.time)), [398, 488, 638, 728]);
  assert.ok(list.every((f, i) => i === 0 || f.time > list[i - 1].time));
  assert.ok(list[0].time > 0.3 && list.at(-1).time <= 2);
  const early = firings(starts, countFrom(SIX, ODD, 1), -8, EVEN, [0, 2.16]);
  assert.deepEqual(rounded(early.filter((f) => f.cylinder === 1).map((f) => f.time)), [712, 1432, 2152]);
});

test("a time is placed behind the firing before it", () => {
  const starts = [2, 2.72, 3.44].map((at) => ({ at, sure: true }));
  const list = firings(starts, countFrom(SIX, ODD, 1), 0, EVEN, [0, 4]);
  const { after, degrees, intervals, seconds } = place(2.26, list, EVEN);
  assert.equal(after, 3);
  near(degrees, 260);
  near(seconds, 0.02);
  near(intervals, 2 + 20 / 150);
  near(place(2.7, list, EVEN).degrees, 700);
  assert.equal(place(1.99, list, EVEN), null);
  assert.equal(place(3.43, list, EVEN), null);
  assert.equal(place(2.3, [], EVEN), null);
});

/** A run of 4 s at 1 kS/s with a coil trigger of cylinder 1 every `cycle` seconds from 0.5 s on. */
function coil(cycle) {
  const counts = new Int16Array(4000);
  for (let t = 0.5; t < 4; t += cycle) counts.fill(8000, Math.round(t * 1000), Math.round(t * 1000) + 4);
  const channel = { name: "Coil trigger 1", measures: "coil_trigger", cylinder: 1, ac: false, unit: "V", scale: 0.0005, offset: 0, least: 0.3 };
  return new Trace(channel, counts, 1000, "metric");
}

test("cursors lay a strip only of what the reader said, in either order", () => {
  const run = { start: 0, end: 3.999 };
  const capture = { order: SIX, intervals: EVENLY, paired: false };
  const traces = [coil(0.72)];
  const cursors = new Cursors();
  assert.equal(cursors.between, null);
  cursors.times = [1.94, 1.22];
  assert.equal(cursors.strip(capture, traces, run), null, "nobody said that it is a cycle");
  cursors.cycle = true;
  assert.equal(cursors.strip(capture, traces, run), null, "nobody named the sync");
  cursors.sync = 1;
  const strip = cursors.strip(capture, traces, run);
  assert.equal(strip.followed, "Coil trigger 1");
  // A coil fires 8 degrees before TDC, which is 8 ms here; with another number, there.
  const own = (list) => rounded(list.filter((f) => f.cylinder === 1).map((f) => f.time));
  assert.deepEqual(own(strip.list), [508, 1228, 1948, 2668, 3388]);
  assert.equal(cursors.strip(capture, traces, run), strip, "it is laid once");
  cursors.ahead = 0;
  assert.deepEqual(own(cursors.strip(capture, traces, run).list), [500, 1220, 1940, 2660, 3380]);
  Object.assign(cursors, { sync: 6, ahead: null });
  const other = cursors.strip(capture, traces, run);
  assert.equal(other.followed, null, "the coil of 1 says nothing of 6");
  assert.equal(cursors.aheadOn(capture, traces), 0);
  const shared = { ...capture, paired: true };
  assert.equal(cursors.strip(shared, traces, run).followed, "Coil trigger 1", "but on a shared coil");
  assert.equal(cursors.aheadOn(shared, traces), 8);
  assert.equal(cursors.placeOf(1.3, other).after, 6);
  assert.equal(cursors.placeOf(null, other), null);
  for (const times of [[2, 2], [2, 2.001]]) {
    cursors.times = times;
    assert.equal(cursors.strip(capture, traces, run), null, "on one spot they enclose nothing");
  }
  cursors.clear();
  assert.equal(cursors.strip(capture, traces, run), null);
});
