import assert from "node:assert/strict";
import { test } from "node:test";
import { countFrom, divide, place } from "../../src/page/web/firing.js";
import { Rulers } from "../../src/page/web/rulers.js";

const SIX = [1, 5, 3, 6, 2, 4];
const EVEN = SIX.map(() => 120);
/** An odd-firing vee six: 150 and 90 degrees by turns, as the engine of lesson 20 has. */
const ODD = [150, 90, 150, 90, 150, 90];

test("the count starts at the sync and keeps the engine's order", () => {
  assert.deepEqual(countFrom(SIX, EVEN, 1).map((c) => c.cylinder), SIX);
  const from6 = countFrom(SIX, EVEN, 6);
  assert.deepEqual(from6.map((c) => c.cylinder), [6, 2, 4, 1, 5, 3]);
  assert.deepEqual(from6.map((c) => c.degrees), [0, 120, 240, 360, 480, 600]);
  assert.deepEqual(countFrom(SIX, EVEN, 7), [], "a cylinder that is not there");
});

test("an odd-firing engine is divided unevenly, and differently from each sync", () => {
  assert.deepEqual(countFrom(SIX, ODD, 1).map((c) => c.degrees), [0, 150, 240, 390, 480, 630]);
  assert.deepEqual(countFrom(SIX, ODD, 5).map((c) => c.degrees), [0, 90, 240, 330, 480, 570]);
});

test("the rulers' cycle is closed by the sync at both ends", () => {
  const marks = divide(2, 2.72, countFrom(SIX, ODD, 1));
  assert.deepEqual(marks.map((m) => m.cylinder), [1, 5, 3, 6, 2, 4, 1]);
  const times = marks.map((m) => Math.round(m.time * 1000));
  assert.deepEqual(times, [2000, 2150, 2240, 2390, 2480, 2630, 2720]);
});

test("a time is placed behind the firing before it", () => {
  const marks = divide(2, 2.72, countFrom(SIX, ODD, 1));
  const { degrees, after, degreesAfter, secondsAfter } = place(2.26, marks);
  assert.equal(after, 3);
  assert.ok(Math.abs(degrees - 260) < 1e-6 && Math.abs(degreesAfter - 20) < 1e-6);
  assert.ok(Math.abs(secondsAfter - 0.02) < 1e-9);
  assert.equal(place(1.99, marks), null);
  assert.equal(place(2.73, marks), null);
  assert.equal(place(2.3, []), null);
});

test("rulers count only what the reader said, in either order", () => {
  const rulers = new Rulers();
  assert.equal(rulers.between, null);
  rulers.times = [2.72, 2];
  assert.deepEqual(rulers.marks(SIX, EVEN), [], "nobody said that it is a cycle");
  rulers.cycle = true;
  assert.deepEqual(rulers.marks(SIX, EVEN), [], "nobody named the sync");
  rulers.sync = 6;
  assert.equal(rulers.marks(SIX, EVEN)[0].time, 2);
  assert.equal(rulers.placeOf(2.13, SIX, EVEN).after, 2);
  rulers.times = [2, 2];
  assert.equal(rulers.between, null, "rulers on one spot enclose nothing");
});
